"""Loops to wires, faces and solids."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from panelwright.plates._kernel.values.guard import guarded
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Loop, Point, Segment, Spline
from panelwright.plates.tolerances import POINT_TOLERANCE, ROUNDING

__all__ = ["curve_of", "edge_of", "face_of", "plate_solid", "wire_of"]


def wire_of(loop: Loop, z: float = 0.0) -> Any:
    """A closed `TopoDS_Wire` at height `z`, travelled like the loop, neighbours sharing their vertex."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakePolygon
    from OCP.gp import gp_Pnt

    segments = loop.segments
    if all(isinstance(segment, Line) for segment in segments):
        polygon = BRepBuilderAPI_MakePolygon()
        for segment in segments:
            x, y = segment.start
            polygon.Add(gp_Pnt(x, y, z))
        polygon.Close()
        return polygon.Wire()
    from OCP.BRep import BRep_Builder
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
    from OCP.TopoDS import TopoDS_Wire

    builder, wire = BRep_Builder(), TopoDS_Wire()
    builder.MakeWire(wire)
    vertices = [BRepBuilderAPI_MakeVertex(gp_Pnt(*segment.start, z)).Vertex() for segment in segments]
    for number, segment in enumerate(segments):
        builder.Add(wire, edge_of(segment, z, vertices[number], vertices[(number + 1) % len(vertices)]))
    wire.Closed(True)
    return wire


def edge_of(segment: Segment, z: float = 0.0, first: Any = None, last: Any = None) -> Any:
    """A `TopoDS_Edge` for one segment, oriented along its travel, between two given vertices or its own."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeVertex
    from OCP.gp import gp_Pnt

    if first is None:
        first = BRepBuilderAPI_MakeVertex(gp_Pnt(*segment.start, z)).Vertex()
        last = first if math.dist(segment.start, segment.end) < POINT_TOLERANCE else None
        last = last or BRepBuilderAPI_MakeVertex(gp_Pnt(*segment.end, z)).Vertex()
    if isinstance(segment, Line):
        return BRepBuilderAPI_MakeEdge(first, last).Edge()
    curve, low, high, backward = curve_of(segment, z)
    ends = (last, first) if backward else (first, last)
    maker = BRepBuilderAPI_MakeEdge(curve, *ends, low, high)
    with guarded(f"making an edge from a {type(segment).__name__}"):
        edge = maker.Edge()
    return edge.Reversed() if backward else edge


def curve_of(segment: Arc | EllipseArc | Spline, z: float) -> tuple[Any, float, float, bool]:
    """The kernel's curve, its parameter range, and whether the segment runs against it."""
    from OCP.Geom import Geom_BSplineCurve, Geom_Circle, Geom_Ellipse
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    up = gp_Dir(0, 0, 1)
    if isinstance(segment, Arc):
        segment = _through_its_ends(segment)
        axes = gp_Ax2(gp_Pnt(*segment.center, z), up, gp_Dir(1, 0, 0))
        backward = segment.sweep < 0
        start: Point = segment.end if backward else segment.start
        low = math.atan2(start[1] - segment.center[1], start[0] - segment.center[0])
        return Geom_Circle(axes, segment.radius), low, low + abs(segment.sweep), backward
    if isinstance(segment, EllipseArc):
        size = math.hypot(*segment.major)
        axes = gp_Ax2(gp_Pnt(*segment.center, z), up, gp_Dir(*segment.major, 0))
        low, high = sorted((segment.first, segment.last))
        return Geom_Ellipse(axes, size, size * segment.ratio), low, high, segment.last < segment.first
    from OCP.TColgp import TColgp_Array1OfPnt
    from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal

    distinct = sorted(set(segment.knots))
    poles = TColgp_Array1OfPnt(1, len(segment.poles))
    weights = TColStd_Array1OfReal(1, len(segment.poles))
    for number, pole in enumerate(segment.poles, start=1):
        poles.SetValue(number, gp_Pnt(*pole, z))
        weights.SetValue(number, 1.0 if segment.weights is None else segment.weights[number - 1])
    knots = TColStd_Array1OfReal(1, len(distinct))
    multiplicities = TColStd_Array1OfInteger(1, len(distinct))
    for number, knot in enumerate(distinct, start=1):
        knots.SetValue(number, knot)
        multiplicities.SetValue(number, segment.knots.count(knot))
    curve = Geom_BSplineCurve(poles, weights, knots, multiplicities, segment.degree, False)
    return curve, distinct[0], distinct[-1], False


def _through_its_ends(arc: Arc) -> Arc:
    """The arc with its centre moved so that both ends lie on it exactly, as the kernel demands to 1e-7 mm.

    Where circles nearly touch, their crossing is known less well than that, and ends are snapped to shared corners.
    """
    if arc.is_full:
        return arc
    start_x, start_y = arc.start[0] - arc.center[0], arc.start[1] - arc.center[1]
    cosine, sine = math.cos(arc.sweep), math.sin(arc.sweep)
    reached = (
        arc.center[0] + start_x * cosine - start_y * sine,
        arc.center[1] + start_x * sine + start_y * cosine,
    )
    chord = math.dist(arc.start, arc.end)
    if math.dist(reached, arc.end) <= ROUNDING or chord < 1e-3:
        return arc
    half_turn = arc.sweep / 2
    rise = chord / 2 * math.cos(half_turn) / math.sin(half_turn)
    dx, dy = (arc.end[0] - arc.start[0]) / chord, (arc.end[1] - arc.start[1]) / chord
    middle = ((arc.start[0] + arc.end[0]) / 2, (arc.start[1] + arc.end[1]) / 2)
    return Arc(arc.start, arc.end, (middle[0] - dy * rise, middle[1] + dx * rise), arc.sweep)


def face_of(outer: Loop, holes: Sequence[Loop] = (), z: float = 0.0, *, wires: Sequence[Any] | None = None) -> Any:
    """A planar `TopoDS_Face` that looks up, bounded by a counter-clockwise loop and clockwise holes.

    `wires` are the wires of these loops, outer first, if the caller has them already.
    """
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt

    with guarded("making a face from an outline"):
        first, *others = wires or [wire_of(loop, z) for loop in (outer, *holes)]
        maker = BRepBuilderAPI_MakeFace(gp_Pln(gp_Pnt(0, 0, z), gp_Dir(0, 0, 1)), first, True)
        for wire in others:
            maker.Add(wire)
        return maker.Face()


def plate_solid(pieces: Sequence[tuple[Loop, Sequence[Loop]]], thickness: float) -> Any:
    """The solid over z from 0 to `thickness`: one prism for each piece, a compound if there are several."""
    from OCP.BRep import BRep_Builder
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Vec
    from OCP.TopoDS import TopoDS_Compound

    with guarded("extruding a plate"):
        solids = [BRepPrimAPI_MakePrism(face_of(outer, holes), gp_Vec(0, 0, thickness)).Shape() for outer, holes in pieces]
        if len(solids) == 1:
            return solids[0]
        compound, builder = TopoDS_Compound(), BRep_Builder()
        builder.MakeCompound(compound)
        for solid in solids:
            builder.Add(compound, solid)
        return compound
