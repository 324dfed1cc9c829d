"""Solids, faces and wires back to loops."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from panelwright.plates._kernel.values.guard import guarded
from panelwright.plates.errors import KernelError, OutlineError
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Loop, Point, Segment, Spline
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.geometry.region import sorted_loops
from panelwright.plates.tolerances import ANGLE_TOLERANCE, CHAIN_GAP, COSINE_ROUNDING, KERNEL_CORNER, SAME_PLACE, TURN_ROUNDING

__all__ = ["loops_of_face", "loops_of_plate", "volume_of"]


def loops_of_plate(solid: Any, thickness: float) -> tuple[Loop, ...]:
    """The loops of a plate's show face, read from its solid (or compound of solids): outer first, holes clockwise."""
    from OCP.TopAbs import TopAbs_FACE, TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer

    loops: list[Loop] = []
    solids = TopExp_Explorer(solid, TopAbs_SOLID)
    while solids.More():
        faces, found = TopExp_Explorer(solids.Current(), TopAbs_FACE), []
        while faces.More():
            found.append(faces.Current())
            faces.Next()
        # a prism lists its far end last, so looking from the back finds it at once
        top = next((face for face in reversed(found) if _is_level(face, thickness)), None)
        if top is None:
            raise KernelError("the solid has no show face; its outline may be degenerate")
        loops.extend(_wires(top))
        solids.Next()
    return sorted_loops(loops)


def _is_level(face: Any, height: float) -> bool:
    """Whether all corners of a face lie at one height."""
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_VERTEX
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    vertices = TopExp_Explorer(face, TopAbs_VERTEX)
    while vertices.More():
        if abs(BRep_Tool.Pnt_s(TopoDS.Vertex_s(vertices.Current())).Z() - height) > SAME_PLACE:
            return False
        vertices.Next()
    return True


def _wires(face: Any) -> list[Loop]:
    from OCP.BRepTools import BRepTools
    from OCP.TopAbs import TopAbs_WIRE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    with guarded("reading the loops of a face"):
        face = TopoDS.Face_s(face)
        outer = BRepTools.OuterWire_s(face)
        explorer = TopExp_Explorer(face, TopAbs_WIRE)
        loops = []
        while explorer.More():
            wire = TopoDS.Wire_s(explorer.Current())
            loop = loop_of_wire(wire)
            loops.append(loop.counter_clockwise() if wire.IsSame(outer) else loop.clockwise())
            explorer.Next()
    return loops


def loop_of_wire(wire: Any, frame: Frame | None = None) -> Loop:
    """A closed planar wire as a loop, in the plane of `frame` (the world's XY without one).

    Raises `OutlineError` for an open wire or one that leaves the plane.
    """
    from OCP.BRep import BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.BRepTools import BRepTools_WireExplorer
    from OCP.GeomAbs import GeomAbs_CurveType
    from OCP.TopAbs import TopAbs_REVERSED

    explorer, curve = BRepTools_WireExplorer(wire), BRepAdaptor_Curve()
    flat = _flattening(frame)
    segments: list[Segment | None] = []
    corners: list[Point] = []
    while explorer.More():
        edge = explorer.Current()
        curve.Initialize(edge)
        corners.append(flat(BRep_Tool.Pnt_s(explorer.CurrentVertex())))
        if curve.GetType() == GeomAbs_CurveType.GeomAbs_Line:
            segments.append(None)  # a straight segment is known by its corners
        else:
            segments.append(_curved(curve, edge, frame, flat, backward=edge.Orientation() == TopAbs_REVERSED))
        explorer.Next()
    if not segments:
        raise OutlineError("the outline holds no edge; draw a closed one")
    if len(segments) == 1 and segments[0] is None:
        raise OutlineError("the outline is a single straight edge; draw a closed one")
    after = corners[1:] + corners[:1]
    return Loop(_chained([s or Line(p, q) for s, p, q in zip(segments, corners, after, strict=True)]))


def _chained(segments: list[Segment]) -> tuple[Segment, ...]:
    """Close rounding gaps between neighbours; report real ones."""
    closed: list[Segment] = []
    for number, segment in enumerate(segments):
        after = segments[(number + 1) % len(segments)]
        gap = math.dist(segment.end, after.start)
        if gap > CHAIN_GAP:
            x, y = segment.end
            raise OutlineError(f"the outline is open by {gap:.4f} mm at ({x:.3f}, {y:.3f}); close it", value=gap, limit=1e-4)
        if gap == 0.0:
            closed.append(segment)
        elif isinstance(segment, Line):
            closed.append(Line(segment.start, after.start))
        elif isinstance(segment, Arc):
            closed.append(Arc(segment.start, after.start, segment.center, segment.sweep))
        elif isinstance(segment, Spline):
            closed.append(replace(segment, poles=(*segment.poles[:-1], after.start)))
        else:
            closed.append(segment)
    return tuple(closed)


def _flattening(frame: Frame | None) -> Callable[[Any], Point]:
    """The function that takes kernel points into the plane of a frame, or drops z without one."""
    if frame is None:
        return lambda point: (point.X(), point.Y())

    def flat(point: Any) -> Point:
        spot = (point.X(), point.Y(), point.Z())
        x, y, z = frame.local(spot)
        if abs(z) > KERNEL_CORNER:
            raise OutlineError(
                f"the outline leaves its plane by {z:.4f} mm at ({spot[0]:.3f}, {spot[1]:.3f}, {spot[2]:.3f}); draw it flat",
                value=z,
                limit=1e-5,
            )
        return (x, y)

    return flat


def _curved(curve: Any, edge: Any, frame: Frame | None, flat: Callable[[Any], Point], *, backward: bool) -> Segment:
    from OCP.GeomAbs import GeomAbs_CurveType

    low, high = curve.FirstParameter(), curve.LastParameter()
    kind = curve.GetType()

    def turn_sign(axis: Any) -> float:
        direction = (axis.X(), axis.Y(), axis.Z())
        return math.copysign(1.0, direction[2] if frame is None else frame.local_direction(direction)[2])

    segment: Segment
    if kind == GeomAbs_CurveType.GeomAbs_Circle:
        circle = curve.Circle()
        sweep = (high - low) * turn_sign(circle.Axis().Direction())
        start = flat(curve.Value(low))
        end = start if abs(sweep) > math.tau - TURN_ROUNDING else flat(curve.Value(high))
        flat(curve.Value(0.5 * (low + high)))
        segment = Arc(start, end, flat(circle.Location()), sweep)
    elif kind == GeomAbs_CurveType.GeomAbs_Ellipse:
        ellipse = curve.Ellipse()
        sign = turn_sign(ellipse.Axis().Direction())
        center = flat(ellipse.Location())
        tip = flat(ellipse.Location().Translated(_vector(ellipse.XAxis().Direction(), ellipse.MajorRadius())))
        major = (tip[0] - center[0], tip[1] - center[1])
        segment = EllipseArc(center, major, ellipse.MinorRadius() / ellipse.MajorRadius(), sign * low, sign * high)
    else:
        segment = _spline_of(edge, flat, low, high)
    return segment.reversed() if backward else segment


def _vector(direction: Any, length: float) -> Any:
    from OCP.gp import gp_Vec

    return gp_Vec(direction).Multiplied(length)


def _spline_of(edge: Any, flat: Any, low: float, high: float) -> Spline:
    """Any other curve as a B-spline, exactly (Bézier, B-spline, conics) or within 1e-6 mm (offset curves)."""
    from OCP.BRep import BRep_Tool
    from OCP.Geom import Geom_OffsetCurve, Geom_TrimmedCurve
    from OCP.GeomAbs import GeomAbs_C1
    from OCP.GeomConvert import GeomConvert, GeomConvert_ApproxCurve

    # the edge's location is part of where its points lie, and this overload applies it
    curve = Geom_TrimmedCurve(BRep_Tool.Curve_s(edge, 0.0, 1.0), low, high)
    if isinstance(curve.BasisCurve(), Geom_OffsetCurve):
        spline = GeomConvert_ApproxCurve(curve, 1e-6, GeomAbs_C1, 200, 8).Curve()
    else:
        spline = GeomConvert.CurveToBSplineCurve_s(curve)
    if spline.IsPeriodic():
        spline.SetNotPeriodic()
    poles = tuple(flat(spline.Pole(i)) for i in range(1, spline.NbPoles() + 1))
    knots = tuple(spline.Knot(i) for i in range(1, spline.NbKnots() + 1) for _ in range(spline.Multiplicity(i)))
    weights = tuple(spline.Weight(i) for i in range(1, spline.NbPoles() + 1)) if spline.IsRational() else None
    return Spline(spline.Degree(), poles, knots, weights)


def loops_of_face(face: Any) -> tuple[tuple[Loop, ...], Frame]:
    """The loops of any planar `TopoDS_Face` in its own plane, and the frame of that plane.

    A face in the world's XY plane keeps its coordinates.  Raises `OutlineError` for a face that is not flat.
    """
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_REVERSED, TopAbs_WIRE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    surface = BRepAdaptor_Surface(face)
    if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Plane:
        raise OutlineError("the face is curved; a plate's outline must be flat")
    plane = surface.Plane()
    normal = plane.Axis().Direction()
    up = (normal.X(), normal.Y(), normal.Z())
    if face.Orientation() == TopAbs_REVERSED:
        up = (-up[0], -up[1], -up[2])
    spot = plane.Location()
    if abs(up[0]) < ANGLE_TOLERANCE and abs(up[1]) < ANGLE_TOLERANCE:
        # a face drawn in a level plane is taken as it is seen from above, wherever its normal points
        frame = Frame(origin=(0.0, 0.0, spot.Z()))
    else:
        # where the kernel puts a plane's own axes is chance; the world's origin and X, laid onto the plane, are not
        height = spot.X() * up[0] + spot.Y() * up[1] + spot.Z() * up[2]
        right = (0.0, 1.0, 0.0) if abs(up[0]) > 1 - COSINE_ROUNDING else (1.0, 0.0, 0.0)
        frame = Frame.facing((up[0] * height, up[1] * height, up[2] * height), show=up, right=right)
    loops: list[Loop] = []
    explorer = TopExp_Explorer(face, TopAbs_WIRE)
    while explorer.More():
        loops.append(loop_of_wire(TopoDS.Wire_s(explorer.Current()), frame))
        explorer.Next()
    outer = max(loops, key=lambda loop: abs(loop.area))
    kept = [loop.counter_clockwise() if loop is outer else loop.clockwise() for loop in loops]
    return sorted_loops(kept), frame


def volume_of(solid: Any) -> float:
    """Volume in mm³ by the kernel's own integration, independent of the loops."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    properties = GProp_GProps()
    with guarded("measuring a volume"):
        BRepGProp.VolumeProperties_s(solid, properties)
    return float(properties.Mass())
