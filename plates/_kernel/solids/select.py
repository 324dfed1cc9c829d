"""CadQuery's selector strings, applied to corners and to the faces of a plate as designed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from panelwright.plates._kernel.values.guard import guarded
from panelwright.plates._validate import shown
from panelwright.plates.errors import SelectionError
from panelwright.plates.geometry.bending import Roll
from panelwright.plates.geometry.curves import Loop, Point
from panelwright.plates.geometry.frame import Frame, Vector

from .picking import Seen, picked_by
from .selector_syntax import SelectorSyntaxError, parsed

__all__ = ["FaceTable", "kind_of", "select_points"]

Place = tuple[Any, ...]


def _picked(selector: str, seen: Sequence[Seen]) -> list[int]:
    try:
        steps = parsed(selector)
    except SelectorSyntaxError as problem:
        raise SelectionError(
            f"selector {shown(selector)} is not understood; use CadQuery's selector syntax, such as '>Z' or '|X and <Y'",
            value=selector,
        ) from problem
    return picked_by(steps, seen)


@dataclass(frozen=True)
class _Corner:
    middle: Vector
    kind: str = "Vertex"
    normal: Vector | None = None


def select_points(points: Sequence[Point], selector: str) -> list[int]:
    """Numbers of the points that a CadQuery vertex selector picks, in rising order."""
    return _picked(selector, [_Corner((x, y, 0.0)) for x, y in points])


def kind_of(surface: Any) -> str:
    """What selectors call one of the kernel's types of surfaces: EXTRUSION for GeomAbs_SurfaceOfExtrusion, and so on."""
    word: str = surface.name
    return word.removeprefix("GeomAbs_").removeprefix("SurfaceOf").removesuffix("Surface").upper()


class _Face:
    """A face of a placed plate as selectors see it; each thing is asked of the kernel when it is needed, and once."""

    def __init__(self, shape: Any) -> None:
        from OCP.TopoDS import TopoDS

        self._shape = TopoDS.Face_s(shape)

    @cached_property
    def kind(self) -> str:
        from OCP.BRepAdaptor import BRepAdaptor_Surface

        return kind_of(BRepAdaptor_Surface(self._shape, False).GetType())

    @cached_property
    def normal(self) -> Vector | None:
        from OCP.BRepGProp import BRepGProp_Face
        from OCP.gp import gp_Pnt, gp_Vec

        if self.kind != "PLANE":
            return None
        normal = gp_Vec()
        BRepGProp_Face(self._shape).Normal(0.0, 0.0, gp_Pnt(), normal)  # a plane's is the same everywhere
        normal.Normalize()
        return normal.X(), normal.Y(), normal.Z()

    @cached_property
    def middle(self) -> Vector:
        from OCP.BRepGProp import BRepGProp
        from OCP.GProp import GProp_GProps

        properties = GProp_GProps()
        with guarded("measuring a face"):
            BRepGProp.SurfaceProperties_s(self._shape, properties)
        middle = properties.CentreOfMass()
        return middle.X(), middle.Y(), middle.Z()


class FaceTable:
    """The faces of one placed plate as selectors see them, each with its place in the plate.

    A place is ("show",), ("back",) or ("edge", loop number, segment number).
    """

    def __init__(self, loops: Sequence[Loop], thickness: float, frame: Frame, roll: Roll | None = None) -> None:
        self._faces: list[_Face] = []
        self._places: list[Place] = []
        if roll is None:
            self._add_flat(loops, thickness, frame)
        else:
            self._add_round(loops, thickness, frame, roll)

    def _add_round(self, loops: Sequence[Loop], thickness: float, frame: Frame, roll: Roll) -> None:
        from .bent_solid import round_faces

        for place, face in round_faces(roll.piece(tuple(loops), frame, thickness)):
            self._places.append(place)
            self._faces.append(_Face(face))

    def _add_flat(self, loops: Sequence[Loop], thickness: float, frame: Frame) -> None:
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
            self._faces.append(_Face(face.Moved(location)))
            faces.Next()

    def select(self, selector: str) -> list[Place]:
        """The places that a CadQuery face selector picks, in a stable order."""
        return sorted((self._places[number] for number in _picked(selector, self._faces)), key=_order)  # pyright: ignore[reportArgumentType]  a cached property is read alike


def _order(place: Place) -> tuple[int, ...]:
    return (0,) if place[0] == "show" else (1,) if place[0] == "back" else (2, int(place[1]), int(place[2]))
