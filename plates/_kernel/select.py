"""CadQuery's selector strings, applied to corners and to the faces of a plate as designed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ..curves import Loop, Point
from ..errors import SelectionError
from ..frame import Frame

__all__ = ["FaceTable", "select_points"]


def _filter(selector: str, objects: Sequence[Any]) -> list[Any]:
    import cadquery as cq
    from pyparsing import ParseBaseException

    try:
        syntax: Any = cq.selectors.StringSyntaxSelector
        return list(syntax(selector).filter(list(objects)))
    except (ParseBaseException, TypeError, AttributeError) as problem:
        raise SelectionError(
            f"selector {selector!r} is not understood; use CadQuery's selector syntax, such as '>Z' or '|X and <Y'",
            value=selector,
        ) from problem
    except (IndexError, ValueError):
        return []  # CadQuery's way to say that nothing matches


def select_points(points: Sequence[Point], selector: str) -> list[int]:
    """Numbers of the points that a CadQuery vertex selector picks."""
    import cadquery as cq

    vertices = [cq.Vertex.makeVertex(x, y, 0.0) for x, y in points]
    picked = _filter(selector, vertices)
    return [i for i, vertex in enumerate(vertices) if any(vertex.isSame(other) for other in picked)]


class FaceTable:
    """The faces of one placed plate as CadQuery sees them, each with its place in the plate.

    A place is ("show",), ("back",) or ("edge", loop number, segment number).
    """

    def __init__(self, loops: Sequence[Loop], thickness: float, frame: Frame) -> None:
        import cadquery as cq
        from OCP.TopLoc import TopLoc_Location

        from ..region import pieces
        from .build import plate_solid
        from .place import transformation_of

        self._loops = tuple(loops)
        self._thickness = thickness
        self._frame = frame
        solid = plate_solid(pieces(loops), thickness).Located(TopLoc_Location(transformation_of(frame)))
        self._faces = cq.Shape.cast(solid).Faces()

    def select(self, selector: str) -> list[tuple[Any, ...]]:
        """The places that a CadQuery face selector picks, in a stable order."""
        return sorted((self._place(face) for face in _filter(selector, self._faces)), key=str)

    def _place(self, face: Any) -> tuple[Any, ...]:
        """Show face, back face, or the segment whose middle lies on an edge of this face at local z = 0."""
        tops = 0
        middles = []
        for edge in face.Edges():
            low = [self._frame.local(vertex.toTuple())[2] for vertex in edge.Vertices()]
            if all(abs(z) < 1e-6 for z in low):
                first, last = edge.bounds()
                halfway = edge.positionAt((first + last) / 2, mode="parameter")
                middles.append(self._frame.local(halfway.toTuple()))
            elif all(abs(z - self._thickness) < 1e-6 for z in low):
                tops += 1
        if not middles:
            return ("show",)
        if not tops:
            return ("back",)
        x, y, _ = middles[0]
        return ("edge", *self._nearest(x, y))

    def _nearest(self, x: float, y: float) -> tuple[int, int]:
        def gap(key: tuple[int, int]) -> float:
            mx, my = self._loops[key[0]].segments[key[1]].point_at(0.5)
            return (mx - x) ** 2 + (my - y) ** 2

        return min(((i, j) for i, loop in enumerate(self._loops) for j in range(len(loop))), key=gap)
