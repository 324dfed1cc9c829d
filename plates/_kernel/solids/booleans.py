"""Booleans and distances between placed solids: the slow reference, and the way for oblique plates."""

from __future__ import annotations

from typing import Any

from panelwright.plates._kernel.values.guard import guarded
from panelwright.plates._kernel.values.place import transformation_of
from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.frame import Frame, Vector

__all__ = ["common_of", "common_parts_of", "gap_of", "placed_solid", "shared_of"]

Placed = tuple[Any, Frame]


def placed_solid(placed: Placed) -> Any:
    """The solid where it stands."""
    from OCP.TopLoc import TopLoc_Location

    solid, frame = placed
    return solid.Located(TopLoc_Location(transformation_of(frame)))


def common_of(a: Placed, b: Placed) -> tuple[float, Vector | None]:
    """Volume in mm³ shared by two solids, by the kernel's boolean, and its centre of mass."""
    if _box_of(a).IsOut(_box_of(b)):  # twenty times as fast as a boolean that finds nothing
        return 0.0, None
    properties = _mass(_common(a, b))
    volume = float(properties.Mass())
    if volume <= 0:
        return 0.0, None
    center = properties.CentreOfMass()
    return volume, (center.X(), center.Y(), center.Z())


def shared_of(a: Placed, b: Placed) -> tuple[Any, float]:
    """What two solids share, as a shape where they stand, and its volume in mm³."""
    shape = _common(a, b)
    return shape, float(_mass(shape).Mass())


def common_parts_of(a: Placed, b: Placed) -> list[tuple[float, Vector]]:
    """Each piece that two solids share, by the kernel's boolean: its volume in mm³ and its centre of mass, largest first."""
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer

    found: list[tuple[float, Vector]] = []
    explorer = TopExp_Explorer(_common(a, b), TopAbs_ShapeEnum.TopAbs_SOLID)
    while explorer.More():
        properties = _mass(explorer.Current())
        center = properties.CentreOfMass()
        found.append((float(properties.Mass()), (center.X(), center.Y(), center.Z())))
        explorer.Next()
    return sorted(found, key=lambda part: (-round(part[0], 6), *(round(value, 6) for value in part[1])))


def _box_of(placed: Placed) -> Any:
    """A box along the axes that holds a solid with its tolerances; round a curve it may be wider, never smaller."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.Add_s(placed_solid(placed), box, False)
    return box


def _common(a: Placed, b: Placed) -> Any:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    with guarded("intersecting two plates"):
        operation = BRepAlgoAPI_Common(placed_solid(a), placed_solid(b))
        if not operation.IsDone():
            raise KernelError("the kernel could not intersect two plates")
        return operation.Shape()


def _mass(shape: Any) -> Any:
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    with guarded("measuring what two plates share"):
        properties = GProp_GProps()
        BRepGProp.VolumeProperties_s(shape, properties)
    return properties


def gap_of(a: Placed, b: Placed) -> float:
    """Least distance in mm between two solids."""
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    with guarded("measuring the distance of two plates"):
        measure = BRepExtrema_DistShapeShape(placed_solid(a), placed_solid(b))
        if not measure.IsDone():
            raise KernelError("the kernel could not measure the distance of two plates")
        return float(measure.Value())
