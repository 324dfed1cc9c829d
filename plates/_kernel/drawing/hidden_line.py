"""Which edges of placed solids can be seen from a direction, exactly: no pixels, no triangles.

The kernel's own hidden-line removal works on the curves themselves, so a straight edge comes back as a line,
a round hole seen aslant as arcs of an ellipse, and lengths are true projected millimetres.  The projection is
parallel: x runs to the right of the picture and y up, both in mm, and the world's origin is at (0, 0).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from panelwright.plates.errors import KernelError, PlacementError
from panelwright.plates.geometry.curves import TURN, Arc, EllipseArc, Line, Point, Segment, Spline
from panelwright.plates.geometry.frame import Frame, Vector, cross, dot, minus, scaled, unit
from panelwright.plates.tolerances import ANGLE_TOLERANCE, POINT_TOLERANCE

__all__ = ["Outlook", "VisibleEdges", "placed", "sorted_segments", "visible_edges", "world_bounds"]


@dataclass(frozen=True, slots=True)
class Outlook:
    """Where a picture is taken from: unit vectors to the right, up, and out of it towards the viewer.

    >>> Outlook.towards((0.0, -1.0, 0.0), up=(0.0, 0.0, 1.0)).project((5.0, 9.0, 2.0))
    (5.0, 2.0)
    """

    right: Vector
    up: Vector
    viewer: Vector

    @classmethod
    def towards(cls, viewer: Vector, *, up: Vector) -> Outlook:
        """The outlook of somebody far away in direction `viewer`, with `up` (made square to it) upwards.

        Raises `PlacementError` if the two are parallel.
        """
        out = unit(viewer)
        lean = unit(up)
        level = minus(lean, scaled(out, dot(lean, out)))
        if math.sqrt(dot(level, level)) < ANGLE_TOLERANCE:
            raise PlacementError(
                f"up {up} runs along the line of sight {viewer}; give an up that does not",
                value=up,
                limit=viewer,
            )
        upwards = unit(level)
        return cls(cross(upwards, out), upwards, out)

    def project(self, point: Vector) -> Point:
        """Where a point in the world appears, in mm."""
        return (dot(point, self.right), dot(point, self.up))


@dataclass(frozen=True, slots=True)
class VisibleEdges:
    """What can be seen of one solid.

    `sharp` holds the edges where two faces meet at an angle, `outline` the limits of round faces (where the
    surface turns away from the viewer) and `smooth` the lines where one face runs into the next without a
    crease.  Segments are in mm in the picture's plane; each list is sorted, and each segment starts at its
    lower left end.
    """

    sharp: tuple[Segment, ...]
    outline: tuple[Segment, ...]
    smooth: tuple[Segment, ...]

    @property
    def creases(self) -> tuple[Segment, ...]:
        """What a draughtsman would draw: sharp edges and outlines."""
        return self.sharp + self.outline


def placed(solid: Any, frame: Frame) -> Any:
    """A deep copy of a solid, moved from its local frame to where it stands.

    The copy shares nothing with the original, so meshing or drawing it leaves the original's bounding box
    alone.  Raises `KernelError` for something that is no shape.
    """
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf

    shape = getattr(solid, "wrapped", solid)
    motion = gp_Trsf()
    motion.SetDisplacement(gp_Ax3(), gp_Ax3(gp_Pnt(*frame.origin), gp_Dir(*frame.z), gp_Dir(*frame.x)))
    try:
        mover = BRepBuilderAPI_Transform(shape, motion, True, False)
        return mover.Shape()
    except Exception as error:  # kernel exceptions share no other base
        kind = type(shape).__name__
        raise KernelError(f"the kernel cannot copy a {kind} to draw it; give a solid") from error


def world_bounds(solid: Any, frame: Frame) -> tuple[Vector, Vector]:
    """Least and most world coordinates in mm of a solid where it stands, without gaps or tolerances."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    # Exact limits of the curves, and the triangulation (which a viewer may have left behind) not consulted.
    BRepBndLib.AddOptimal_s(placed(solid, frame), box, False, False)
    if box.IsVoid():
        raise KernelError("the kernel finds no extent in a solid to draw; give a solid with faces")
    x0, y0, z0, x1, y1, z1 = box.Get()
    return (x0, y0, z0), (x1, y1, z1)


def visible_edges(solids: Sequence[tuple[Any, Frame]], outlook: Outlook) -> list[VisibleEdges]:
    """The visible edges of each solid, in the order given, without what is covered by any of them.

    `solids` are shapes in their local frames and the frames that they stand in.  The solids may touch; where
    an edge of one lies in a face of another, flush, it counts as visible.  Raises `KernelError` if
    hidden-line removal fails.

    Lines, circles and B-splines are exact.  The kernel itself gives an ellipse seen aslant as 14 chords.
    """
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.HLRAlgo import HLRAlgo_Projector
    from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape
    from OCP.HLRBRep import HLRBRep_TypeOfResultingEdge as Kind

    if not solids:
        return []
    shapes = [placed(solid, frame) for solid, frame in solids]
    plane = gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*outlook.viewer), gp_Dir(*outlook.right))
    try:
        removal = HLRBRep_Algo()
        for shape in shapes:
            removal.Add(shape, 0)
        removal.Projector(HLRAlgo_Projector(plane))
        removal.Update()
        removal.Hide()
        reader = HLRBRep_HLRToShape(removal)
        found = []
        for shape in shapes:
            sharp = _segments(reader.CompoundOfEdges(shape, Kind.HLRBRep_Sharp, True, False))
            outline = _segments(reader.CompoundOfEdges(shape, Kind.HLRBRep_OutLine, True, False))
            smooth = _segments(reader.CompoundOfEdges(shape, Kind.HLRBRep_Rg1Line, True, False))
            smooth += _segments(reader.CompoundOfEdges(shape, Kind.HLRBRep_RgNLine, True, False))
            found.append(VisibleEdges(sorted_segments(sharp), sorted_segments(outline), sorted_segments(smooth)))
    except KernelError:
        raise
    except Exception as error:  # kernel exceptions share no other base
        raise KernelError(f"hidden-line removal failed on {len(shapes)} solids: {error}") from error
    return found


def _segments(compound: Any) -> list[Segment]:
    """The curves of a compound of projected edges; a null compound holds none."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.BRepLib import BRepLib
    from OCP.TopAbs import TopAbs_EDGE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    if compound is None or compound.IsNull():
        return []
    # The kernel gives projected edges only as curves on a plane; adaptors read curves in space.
    BRepLib.BuildCurves3d_s(compound)
    found = []
    explorer = TopExp_Explorer(compound, TopAbs_EDGE)
    while explorer.More():
        segment = _segment(BRepAdaptor_Curve(TopoDS.Edge_s(explorer.Current())))
        if segment is not None:
            found.append(segment)
        explorer.Next()
    return found


def _segment(curve: Any) -> Segment | None:
    """One projected edge as a segment; None if it runs along the line of sight and shrinks to a point."""
    from OCP.GeomAbs import GeomAbs_CurveType as Curve

    first, last = curve.FirstParameter(), curve.LastParameter()
    start, end = _flat(curve.Value(first)), _flat(curve.Value(last))
    kind = curve.GetType()
    if kind == Curve.GeomAbs_Line:
        return Line(start, end) if math.dist(start, end) > POINT_TOLERANCE else None
    if kind == Curve.GeomAbs_Circle:
        circle = curve.Circle()
        sweep = (last - first) * math.copysign(1.0, circle.Axis().Direction().Z())
        whole = abs(sweep) > TURN - ANGLE_TOLERANCE
        arc = Arc(start, start if whole else end, _flat(circle.Location()), sweep)
        return arc if arc.length > POINT_TOLERANCE else None
    if kind == Curve.GeomAbs_Ellipse:
        ellipse = curve.Ellipse()
        sign = math.copysign(1.0, ellipse.Axis().Direction().Z())
        long, along = ellipse.MajorRadius(), ellipse.XAxis().Direction()
        bow = EllipseArc(
            _flat(ellipse.Location()),
            (along.X() * long, along.Y() * long),
            ellipse.MinorRadius() / long,
            sign * first,
            sign * last,
        )
        return bow if bow.length > POINT_TOLERANCE else None
    if kind == Curve.GeomAbs_BSplineCurve:
        return _spline(curve, first, last)
    raise KernelError(f"hidden-line removal gave a curve of kind {kind}; lines, arcs or splines are expected")


def _spline(curve: Any, first: float, last: float) -> Segment | None:
    """A stretch of a B-spline; a straight one, such as a circle seen edge on, becomes a line."""
    spline = curve.BSpline().Copy()
    if spline.IsPeriodic():
        spline.SetNotPeriodic()
    spline.Segment(first, last)
    poles = tuple(_flat(spline.Pole(index)) for index in range(1, spline.NbPoles() + 1))
    low, high = min(poles), max(poles)
    if math.dist(low, high) <= POINT_TOLERANCE:
        return None
    run = (high[0] - low[0], high[1] - low[1])
    reach = math.hypot(*run)
    if all(abs((x - low[0]) * run[1] - (y - low[1]) * run[0]) / reach <= POINT_TOLERANCE for x, y in poles):
        return Line(low, high)
    counted = range(1, spline.NbKnots() + 1)
    knots = tuple(spline.Knot(index) for index in counted for _ in range(spline.Multiplicity(index)))
    weights = tuple(spline.Weight(i) for i in range(1, len(poles) + 1)) if spline.IsRational() else None
    return Spline(spline.Degree(), poles, knots, weights)


def _flat(point: Any) -> Point:
    return (point.X(), point.Y())


def _key(point: Point) -> Point:
    # Rounded, or noise in the last digit would decide which end comes first; adding 0 turns -0 into 0.
    return (round(point[0], 6) + 0.0, round(point[1], 6) + 0.0)


def sorted_segments(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """The segments turned and sorted so that the result doesn't depend on the kernel's own order."""
    turned = [s if _key(s.start) <= _key(s.end) else s.reversed() for s in segments]
    return tuple(sorted(turned, key=lambda s: (_key(s.start), _key(s.end), _key(s.point_at(0.5)))))
