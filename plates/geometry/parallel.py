"""Ellipses and splines moved sideways, for the beam's path.

Lines and arcs move to lines and arcs, but the parallel of an ellipse or spline is neither, so it is followed here by a
chain of cubics with exact ends and tangents, halved until it keeps within `CURVE_FOLLOW` of the true parallel.
Where such a curve has to be trimmed against itself or against far neighbours, the planar arrangement takes tangent arcs
instead (`plates.biarcs`).

This stands in for the kernel's `BRepOffsetAPI_MakeOffset`: on an ellipse of 40 × 12 mm moved in by 2.5 mm that gave
chords 0.016 mm off, and on a closed spline an empty shape or a parallel 0.07 mm off, in each case without an error.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from panelwright.plates.tolerances import CURVE_FOLLOW, DERIVATIVE_STEP, POINT_TOLERANCE

from .biarcs import smooth_stops
from .curves import EllipseArc, Point, Segment, Spline

__all__ = ["moved_curve", "parallel_point", "smooth_parts", "turns_too_tightly"]

Curve = EllipseArc | Spline


def parallel_point(segment: Segment, distance: float, share: float) -> Point:
    """The point `distance` mm to the right of the segment at a share of its way."""
    x, y = segment.point_at(share)
    tx, ty = segment.tangent_at(share)
    return (x + ty * distance, y - tx * distance)


def smooth_parts(segment: Segment) -> tuple[Segment, ...]:
    """The segment cut at the knots where a spline may have a corner; others come back as they are."""
    if not isinstance(segment, Spline):
        return (segment,)
    degree, knots = segment.degree, segment.knots
    parts: list[Segment] = []
    first = 0
    inner = sorted(set(knots[degree + 1 : -degree - 1]))
    for knot in [k for k in inner if k > knots[0] and k < knots[-1]]:
        if knots.count(knot) < degree:
            continue
        last = knots.index(knot) - 1  # the pole that lies on the curve at this knot
        parts.append(_between(segment, first, last))
        first = last + knots.count(knot) - degree
    return (*parts, _between(segment, first, len(segment.poles) - 1)) if parts else (segment,)


def _between(spline: Spline, first: int, last: int) -> Spline:
    degree = spline.degree
    inner = spline.knots[first + degree + 1 : last + 1]
    low, high = spline.knots[first + degree], spline.knots[last + 1]
    weights = None if spline.weights is None else spline.weights[first : last + 1]
    ends = ((low,) * (degree + 1), (high,) * (degree + 1))
    return Spline(degree, spline.poles[first : last + 1], (*ends[0], *inner, *ends[1]), weights)


def turns_too_tightly(segment: Segment, distance: float) -> bool:
    """Whether the parallel of a smooth curve runs backwards somewhere: its radius there is below `distance`."""
    stops = smooth_stops(segment, 0.0, 1.0)
    for low, high in pairwise(stops):
        for index in range(33):
            share = low + (high - low) * min(max(index / 32, 1e-4), 1 - 1e-4)
            if _speed(lambda s: parallel_point(segment, distance, s), segment.tangent_at(share), share) <= 0:
                return True
    return False


def _speed(point_at: Callable[[float], Point], tangent: Point, share: float, step: float = DERIVATIVE_STEP) -> float:
    (x0, y0), (x1, y1) = point_at(share - step), point_at(share + step)
    return ((x1 - x0) * tangent[0] + (y1 - y0) * tangent[1]) / (2 * step)


def moved_curve(segment: Curve, distance: float, first: float = 0.0, last: float = 1.0) -> Spline:
    """The parallel `distance` mm to the right of a smooth curve, between two shares of its way, as a cubic spline.

    Within `CURVE_FOLLOW` of the true parallel, checked at three points a piece to half of that.  The curve must not
    turn too tightly.

    >>> circle = EllipseArc((0.0, 0.0), (5.0, 0.0), 1.0, 0.0, math.pi / 2)
    >>> outer = moved_curve(circle, 1.0)
    >>> max(abs(math.dist(outer.point_at(i / 50), (0.0, 0.0)) - 6.0) for i in range(51)) < 2e-5
    True
    """

    def place(share: float) -> Point:
        return parallel_point(segment, distance, share)

    stops = smooth_stops(segment, first, last)
    poles: list[Point] = [place(first)]
    knots: list[float] = [first] * 4
    for low, high in pairwise(stops):
        _follow(segment, place, low, high, poles, knots, depth=0)
    knots.append(last)
    return Spline(3, tuple(poles), tuple(knots))


def _follow(
    segment: Segment,
    place: Callable[[float], Point],
    low: float,
    high: float,
    poles: list[Point],
    knots: list[float],
    depth: int,
) -> None:
    inset = 2 * DERIVATIVE_STEP * (high - low)  # just inside, where curvature has not jumped yet
    start, end = place(low), place(high)
    (ax, ay), (bx, by) = segment.tangent_at(low + inset), segment.tangent_at(high - inset)
    step = DERIVATIVE_STEP * (high - low)
    a = (high - low) / 3 * _speed(place, (ax, ay), low + inset, step)
    b = (high - low) / 3 * _speed(place, (bx, by), high - inset, step)
    net = (start, (start[0] + ax * a, start[1] + ay * a), (end[0] - bx * b, end[1] - by * b), end)
    if depth < 12 and any(_miss(segment, place, net, at, low, high) > CURVE_FOLLOW / 2 for at in (0.25, 0.5, 0.75)):
        middle = 0.5 * (low + high)
        _follow(segment, place, low, middle, poles, knots, depth + 1)
        _follow(segment, place, middle, high, poles, knots, depth + 1)
        return
    poles.extend(net[1:])
    knots.extend([high] * 3)


def _miss(
    segment: Segment,
    place: Callable[[float], Point],
    net: tuple[Point, ...],
    at: float,
    low: float,
    high: float,
) -> float:
    """Distance between a cubic at parameter `at` and the true parallel, measured square to the parallel."""
    other = 1 - at
    mix = (other**3, 3 * other**2 * at, 3 * other * at**2, at**3)
    x = sum(m * p[0] for m, p in zip(mix, net, strict=True))
    y = sum(m * p[1] for m, p in zip(mix, net, strict=True))
    share = low + (high - low) * at
    scale = (high - low) / max(math.dist(net[0], net[3]), POINT_TOLERANCE)
    for _ in range(3):
        px, py = place(share)
        tx, ty = segment.tangent_at(share)
        share = min(max(share + ((x - px) * tx + (y - py) * ty) * scale, low), high)
    px, py = place(share)
    tx, ty = segment.tangent_at(share)
    return abs((x - px) * ty - (y - py) * tx)
