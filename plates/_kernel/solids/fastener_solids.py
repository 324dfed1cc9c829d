"""Simple solids of screws and nuts about the z axis: no thread, sharp corners, but the right size."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

from panelwright.plates._kernel.values.guard import guarded
from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.curves import Arc, Line, Loop, Point, loop_through

from .build import plate_solid, wire_of

__all__ = ["nut_solid", "screw_solid", "volume_of"]


def screw_solid(head: str, *, d: float, dk: float, k: float, proud: float, reach: float, key: float, key_depth: float) -> Any:
    """A screw with its tip at z = `reach` and its head, "cap", "button" or "countersunk", from z = -`proud`.

    `d` and `dk` are the diameters of shank and head, `k` is the head's height, `key` and `key_depth` the size of its hexagon
    socket, in mm.
    """
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    with guarded("making a screw"):
        # the profile stands in the plane of x and y, y along the screw, and is turned upright with its solid
        face = BRepBuilderAPI_MakeFace(wire_of(_profile(head, d / 2, dk / 2, k, proud, reach)), True).Face()
        turned = BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 1, 0))).Shape()
        upright = _moved(turned, quarter=True, z=0.0)
        socket = _moved(plate_solid([(_hexagon(key), ())], key_depth), quarter=False, z=-proud)
        cut = BRepAlgoAPI_Cut(upright, socket)
        if not cut.IsDone():
            raise KernelError("the kernel could not cut a screw's socket")
        found = TopExp_Explorer(cut.Shape(), TopAbs_ShapeEnum.TopAbs_SOLID)
        return TopoDS.Solid_s(found.Current())


def nut_solid(sides: int, *, s: float, m: float, bore: float) -> Any:
    """A nut from z = 0 to `m`: a square or hexagon prism, `s` mm across flats, two of them square to x, with a round bore."""
    radius = bore / 2
    outer = _hexagon(s) if sides == 6 else loop_through([(-s / 2, -s / 2), (s / 2, -s / 2), (s / 2, s / 2), (-s / 2, s / 2)])
    hole = Loop((Arc((radius, 0.0), (radius, 0.0), (0.0, 0.0), -math.tau),))
    return plate_solid([(outer, (hole,))], m)


def volume_of(solid: Any) -> float:
    """Volume of a solid in mm³, by the kernel's integration."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    with guarded("measuring a volume"):
        properties = GProp_GProps()
        BRepGProp.VolumeProperties_s(solid, properties)
        return float(properties.Mass())


def _hexagon(s: float) -> Loop:
    """Two of its flats square to x."""
    corner = s / math.sqrt(3)
    angles = [math.radians(30 + 60 * i) for i in range(6)]
    return loop_through([(corner * math.cos(a), corner * math.sin(a)) for a in angles])


def _profile(head: str, shank: float, rim: float, k: float, proud: float, reach: float) -> Loop:
    """Half of the section through the axis, as radius and height along the screw, counter-clockwise."""
    neck = -proud + k
    below: list[Point] = [(shank, neck), (shank, reach), (0.0, reach)]
    if head == "button":
        # a dome that meets the surface at the rim: its centre lies on the axis
        radius = (rim * rim + k * k) / (2 * k)
        center = (0.0, -proud + radius)
        top, edge = (0.0, -proud), (rim, neck)
        turn = math.atan2(edge[1] - center[1], edge[0]) + math.pi / 2
        points: list[Point] = [edge, *below, top]
        return Loop((Arc(top, edge, center, turn), *(Line(p, q) for p, q in pairwise(points))))
    corners: list[Point] = [(0.0, -proud), (rim, -proud)]
    if head == "cap":
        corners.append((rim, neck))
    elif head != "countersunk":
        raise KernelError(f"screw head {head!r} is not known; it is cap, button or countersunk", value=head)
    return loop_through([*corners, *below])


def _moved(shape: Any, *, quarter: bool, z: float) -> Any:
    """The shape with y turned to z if asked, then raised by `z`, its coordinates rewritten."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from panelwright.plates._kernel.values.place import transformation_of
    from panelwright.plates.geometry.frame import Frame

    # x stays, y becomes z, z becomes -y
    frame = Frame((0.0, 0.0, z), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)) if quarter else Frame((0.0, 0.0, z))
    return BRepBuilderAPI_Transform(shape, transformation_of(frame), True).Shape()
