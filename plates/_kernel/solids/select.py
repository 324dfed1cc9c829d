"""CadQuery's selector strings, applied to corners and to the faces of a plate as designed."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from panelwright.plates._validate import shown
from panelwright.plates.errors import SelectionError
from panelwright.plates.geometry.bending import Roll
from panelwright.plates.geometry.curves import Loop, Point
from panelwright.plates.geometry.frame import Frame

__all__ = ["FaceTable", "select_points"]

Place = tuple[Any, ...]


def _filter(selector: str, objects: Sequence[Any]) -> list[Any]:
    import cadquery as cq
    from pyparsing import ParseBaseException

    try:
        syntax: Any = cq.selectors.StringSyntaxSelector
        return list(syntax(selector).filter(list(objects)))
    except (ParseBaseException, TypeError, AttributeError) as problem:
        raise SelectionError(
            f"selector {shown(selector)} is not understood; use CadQuery's selector syntax, such as '>Z' or '|X and <Y'",
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

    def __init__(self, loops: Sequence[Loop], thickness: float, frame: Frame, roll: Roll | None = None) -> None:
        self._faces: list[Any] = []
        self._places: list[Place] = []
        if roll is None:
            self._add_flat(loops, thickness, frame)
        else:
            self._add_round(loops, thickness, frame, roll)
        for face in self._faces:
            # every selector asks for the centres of all faces, and the kernel integrates for each
            face.Center = cache(face.Center)

    def _add_round(self, loops: Sequence[Loop], thickness: float, frame: Frame, roll: Roll) -> None:
        import cadquery as cq

        from .bent_solid import round_faces

        for place, face in round_faces(roll.piece(tuple(loops), frame, thickness)):
            self._places.append(place)
            self._faces.append(cq.Shape.cast(face))

    def _add_flat(self, loops: Sequence[Loop], thickness: float, frame: Frame) -> None:
        import cadquery as cq
        from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
        from OCP.gp import gp_Vec
        from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
        from OCP.TopExp import TopExp_Explorer
        from OCP.TopLoc import TopLoc_Location
        from panelwright.plates._kernel.values.place import transformation_of

        from .build import face_of, wire_of

        wires = [wire_of(loop) for loop in loops]
        prism = BRepPrimAPI_MakePrism(face_of(loops[0], loops[1:], wires=wires), gp_Vec(0, 0, thickness))
        places: list[tuple[Any, Place]] = [(prism.LastShape(), ("show",)), (prism.FirstShape(), ("back",))]
        for i, wire in enumerate(wires):
            edges, j = TopExp_Explorer(wire, TopAbs_EDGE), 0
            while edges.More():
                # a wire's edges were put in it in the order of the loop's segments
                places.append((prism.Generated(edges.Current()).First(), ("edge", i, j)))
                edges.Next()
                j += 1
        by_hash: dict[int, list[tuple[Any, Place]]] = {}
        for shape, place in places:
            by_hash.setdefault(hash(shape), []).append((shape, place))
        location = TopLoc_Location(transformation_of(frame))
        faces = TopExp_Explorer(prism.Shape(), TopAbs_FACE)
        while faces.More():
            # faces of the solid look outward, those that the prism names may not, and selectors ask for that
            face = faces.Current()
            self._places.append(next(place for shape, place in by_hash[hash(face)] if shape.IsSame(face)))
            self._faces.append(cq.Shape.cast(face.Moved(location)))
            faces.Next()

    def select(self, selector: str) -> list[Place]:
        """The places that a CadQuery face selector picks, in a stable order."""
        picked = _filter(selector, self._faces)
        chosen = {id(face) for face in picked}
        return sorted((p for f, p in zip(self._faces, self._places, strict=True) if id(f) in chosen), key=_order)


def _order(place: Place) -> tuple[int, ...]:
    return (0,) if place[0] == "show" else (1,) if place[0] == "back" else (2, int(place[1]), int(place[2]))
