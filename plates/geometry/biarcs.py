"""Ellipses and splines as tangent arcs."""

from __future__ import annotations

import math
from itertools import pairwise

from panelwright.plates.tolerances import DERIVATIVE_STEP, ROUNDING

from .curves import Arc, EllipseArc, Line, Point, Segment, Spline

__all__ = ["as_arcs", "smooth_stops"]


def smooth_stops(segment: Segment, first: float, last: float) -> list[float]:
    """Shares at which a curve's curvature may jump, and the ends."""
    stops = {first, last}
    if isinstance(segment, Spline):
        low, high = segment.knots[segment.degree], segment.knots[-segment.degree - 1]
        stops.update(s for k in set(segment.knots) if first < (s := (k - low) / (high - low)) < last)
    else:
        stops.update(first + (last - first) * i / 4 for i in range(1, 4))
    return sorted(stops)


def as_arcs(segment: Segment, tolerance: float) -> tuple[Line | Arc, ...]:
    """Tangent arcs (and lines) that follow an ellipse or a smooth spline within `tolerance` mm.

    >>> quarter = EllipseArc((0.0, 0.0), (5.0, 0.0), 0.5, 0.0, math.pi / 2)
    >>> arcs = as_arcs(quarter, 1e-4)
    >>> arcs[0].start == quarter.start and arcs[-1].end == quarter.end
    True
    """
    if isinstance(segment, Line | Arc):
        return (segment,)
    found: list[Line | Arc] = []
    stops = smooth_stops(segment, 0.0, 1.0)
    for low, high in pairwise(stops):
        _arcs_between(segment, low, high, tolerance, found, depth=0)
    return tuple(found)


def _arcs_between(segment: Segment, low: float, high: float, tolerance: float, found: list[Line | Arc], depth: int) -> None:
    start, end = segment.point_at(low), segment.point_at(high)
    # a spline's curvature may jump at a knot, and its slope is taken just inside; an ellipse's is exact anywhere
    inset = 0.0 if isinstance(segment, EllipseArc) else DERIVATIVE_STEP * (high - low)
    pair = _biarc(start, segment.tangent_at(low + inset), end, segment.tangent_at(high - inset))
    far = (
        math.inf
        if pair is None
        else max(min(_off(piece, segment.point_at(low + (high - low) * i / 8)) for piece in pair) for i in range(1, 8))
    )
    if pair is not None and (far <= tolerance / 2 or depth >= 14):
        found.extend(pair)
        return
    if depth >= 14:
        found.append(Line(start, end))
        return
    middle = 0.5 * (low + high)
    _arcs_between(segment, low, middle, tolerance, found, depth + 1)
    _arcs_between(segment, middle, high, tolerance, found, depth + 1)


def _off(piece: Line | Arc, point: Point) -> float:
    """Distance of a point from the full line or circle of a piece."""
    if isinstance(piece, Arc):
        return abs(math.dist(point, piece.center) - piece.radius)
    (x0, y0), (x1, y1) = piece.start, piece.end
    return abs((point[0] - x0) * (y1 - y0) - (point[1] - y0) * (x1 - x0)) / piece.length


def _biarc(start: Point, leave: Point, end: Point, arrive: Point) -> tuple[Line | Arc, ...] | None:
    """Two arcs that join tangentially, with equal tangent lengths at both ends; None if the ends turn too far.

    The tangent length d solves |v|² − 2d v·(t₁+t₂) + 2d²(t₁·t₂ − 1) = 0 with v from start to end.
    """
    vx, vy = end[0] - start[0], end[1] - start[1]
    sx, sy = leave[0] + arrive[0], leave[1] + arrive[1]
    dot = leave[0] * arrive[0] + leave[1] * arrive[1]
    along = vx * sx + vy * sy
    size = vx * vx + vy * vy
    if along <= 0 or dot < 0.2:
        return None
    curve = 2 * (1 - dot)
    length = size / (along + math.sqrt(along * along + curve * size))
    middle = (
        0.5 * (start[0] + end[0] + length * (leave[0] - arrive[0])),
        0.5 * (start[1] + end[1] + length * (leave[1] - arrive[1])),
    )
    first = _arc_from(start, leave, middle)
    back = _arc_from(end, (-arrive[0], -arrive[1]), middle)
    return (first, back.reversed())


def _arc_from(start: Point, leave: Point, end: Point) -> Line | Arc:
    """The arc, or line, that leaves `start` in a unit direction and reaches `end`."""
    vx, vy = end[0] - start[0], end[1] - start[1]
    across = leave[0] * vy - leave[1] * vx
    size = vx * vx + vy * vy
    if abs(across) <= 1e-7 * size or abs(across) <= ROUNDING:
        return Line(start, end)
    radius = size / (2 * across)  # signed: positive with the centre to the left
    center = (start[0] - leave[1] * radius, start[1] + leave[0] * radius)
    return Arc(start, end, center, 2 * math.atan2(across, leave[0] * vx + leave[1] * vy))
