"""Constant inputs: a panel with a living hinge of many slits, as an assembly, and as the bare kernel makes its solids."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from panelwright.assemblies import Assembly
from panelwright.assemblies.data.parts import Part
from panelwright.joints import join, living_hinge
from panelwright.plates import Stock, bent_on, rectangle
from panelwright.plates.geometry.curves import Line, Point

__all__ = ["PLATE", "RADIUS", "kernel_bent", "kernel_faces", "kernel_flat", "panel_points", "wrapped_stand"]

STOCK = Stock("birch plywood", 3.0, kerf=0.2)
PLATE = 60.0
RADIUS = 80.0
PERIOD = 18.0
"""One slit and one bridge of a column, mm: links are as long then as two thicknesses, the least that is advised."""


def wrapped_stand(slits: int) -> Assembly:
    """Two plates and a quarter turn between them with about so many slits, in 40 columns, whatever their number."""
    height = PERIOD * max(1, round(slits / 40))
    stand = Assembly("jar shelf", stock=STOCK)
    front = stand.add("front", rectangle(PLATE, height))
    side = stand.add("side", rectangle(PLATE, height), bent_on(front.face(">X"), radius=RADIUS, angle_deg=90.0))
    join(front.face(">X"), side, living_hinge(link=3.0, slit_length=PERIOD - STOCK.t))
    return stand


def panel_points(part: Part) -> list[list[Point]]:
    """Corners of the panel's loops, outer one first; all are polygons."""
    found = []
    for loop in part.loops:
        assert all(isinstance(segment, Line) for segment in loop)
        found.append([segment.start for segment in loop])
    return found


def kernel_flat(loops: Sequence[Sequence[Point]], thickness: float) -> Any:
    """The flat panel as the bare kernel makes it: one face, one prism."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Vec

    wires = []
    for corners in loops:
        polygon = BRepBuilderAPI_MakePolygon()
        for x, y in corners:
            polygon.Add(gp_Pnt(x, y, 0.0))
        polygon.Close()
        wires.append(polygon.Wire())
    face = BRepBuilderAPI_MakeFace(gp_Pln(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1)), wires[0], True)
    for wire in wires[1:]:
        face.Add(wire)
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0, 0, thickness)).Shape()


class _Bare:
    """The bent panel: bend lines at x = PLATE / 2 and a quarter turn later, the show face outside."""

    def __init__(self, thickness: float) -> None:
        from OCP.Geom import Geom_CylindricalSurface
        from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt

        self.t = thickness
        self.low = PLATE / 2
        self.middle = RADIUS + thickness / 2
        self.high = self.low + self.middle * math.pi / 2
        # the axis runs along −y, so that angles grow from +z towards +x
        axes = gp_Ax3(gp_Pnt(self.low, 0, -RADIUS), gp_Dir(0, 1, 0), gp_Dir(0, 0, 1))
        self.cylinders = [Geom_CylindricalSurface(axes, RADIUS + z) for z in (0.0, thickness)]

    def point(self, spot: Point, z: float) -> Any:
        from OCP.gp import gp_Pnt

        x, y = spot
        if x <= self.low:
            return gp_Pnt(x, y, z)
        phi = min((x - self.low) / self.middle, math.pi / 2)
        beyond = max(0.0, x - self.high)
        radius = RADIUS + z
        return gp_Pnt(
            self.low + radius * math.sin(phi) + beyond * math.cos(phi),
            y,
            -RADIUS + radius * math.cos(phi) - beyond * math.sin(phi),
        )

    def edge(self, start: Point, end: Point, z: float) -> Any:
        """A straight edge, or an arc where the panel's segment runs round the cylinder."""
        from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
        from OCP.GC import GC_MakeArcOfCircle

        a, b = self.point(start, z), self.point(end, z)
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        if self.low < middle[0] < self.high and abs(start[0] - end[0]) > 1e-9:
            return BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(a, self.point(middle, z), b).Value()).Edge()
        return BRepBuilderAPI_MakeEdge(a, b).Edge()

    def wall(self, start: Point, end: Point) -> Any:
        from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire

        wire = BRepBuilderAPI_MakeWire()
        wire.Add(self.edge(start, end, 0.0))
        wire.Add(BRepBuilderAPI_MakeEdge(self.point(end, 0.0), self.point(end, self.t)).Edge())
        wire.Add(self.edge(end, start, self.t))
        wire.Add(BRepBuilderAPI_MakeEdge(self.point(start, self.t), self.point(start, 0.0)).Edge())
        return BRepBuilderAPI_MakeFace(wire.Wire(), True).Face()

    def cover(self, loops: Sequence[Sequence[Point]], level: int) -> Any:
        """A face of the strip: wires in the cylinder's own parameters."""
        from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
        from OCP.BRepLib import BRepLib
        from OCP.GCE2d import GCE2d_MakeSegment
        from OCP.gp import gp_Pnt2d

        surface = self.cylinders[level]
        wires = []
        for corners in loops:
            wire = BRepBuilderAPI_MakeWire()
            spots = [gp_Pnt2d((x - self.low) / self.middle, y) for x, y in corners]
            for a, b in zip(spots, spots[1:] + spots[:1], strict=True):
                wire.Add(BRepBuilderAPI_MakeEdge(GCE2d_MakeSegment(a, b).Value(), surface).Edge())
            wires.append(wire.Wire())
        face = BRepBuilderAPI_MakeFace(surface, wires[0], True)
        for wire in wires[1:]:
            face.Add(wire)
        found = face.Face()
        BRepLib.BuildCurves3d_s(found)
        return found

    def plate(self, corners: Sequence[Point], z: float) -> Any:
        from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon

        polygon = BRepBuilderAPI_MakePolygon()
        for spot in corners:
            polygon.Add(self.point(spot, z))
        polygon.Close()
        return BRepBuilderAPI_MakeFace(polygon.Wire(), True).Face()


def kernel_faces(loops: Sequence[Sequence[Point]], thickness: float) -> list[Any]:
    """All faces of the bent panel, each from edges and wires of its own."""
    bare = _Bare(thickness)
    border, *holes = loops
    parts = _parts(border, bare.low, bare.high)
    found = []
    for level, z in ((0, 0.0), (1, thickness)):
        found += [bare.cover([parts[1], *holes], level), bare.plate(parts[0], z), bare.plate(parts[2], z)]
    for corners in (*parts, *holes):
        for start, end in _sides(corners):
            if start[0] != end[0] or start[0] not in (bare.low, bare.high):
                found.append(bare.wall(start, end))
    return found


def kernel_bent(loops: Sequence[Sequence[Point]], thickness: float) -> Any:
    """The bent panel as the kernel's users make it, given all loops: faces sewn to a shell, and a solid of that."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeSolid, BRepBuilderAPI_Sewing
    from OCP.BRepLib import BRepLib
    from OCP.TopAbs import TopAbs_SHELL
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    sewing = BRepBuilderAPI_Sewing(1e-5)
    for face in kernel_faces(loops, thickness):
        sewing.Add(face)
    sewing.Perform()
    explorer = TopExp_Explorer(sewing.SewedShape(), TopAbs_SHELL)
    solid = BRepBuilderAPI_MakeSolid(TopoDS.Shell_s(explorer.Current())).Solid()
    BRepLib.OrientClosedSolid_s(solid)
    return solid


def _sides(corners: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    yield from zip(corners, [*corners[1:], corners[0]], strict=True)


def _parts(border: Sequence[Point], low: float, high: float) -> list[list[Point]]:
    """The outer loop's plates and strip: parted at the two bend lines, which its two long sides cross."""
    found: list[list[Point]] = [[], [], []]
    for start, end in _sides(border):
        found[_home(start, low, high)].append(start)
        for at in sorted((low, high), key=lambda x: abs(x - start[0])):
            if min(start[0], end[0]) < at < max(start[0], end[0]):
                number = 0 if at == low else 1
                found[number].append((at, start[1]))
                found[number + 1].append((at, start[1]))
    return found


def _home(spot: Point, low: float, high: float) -> int:
    return 0 if spot[0] <= low else 1 if spot[0] < high else 2
