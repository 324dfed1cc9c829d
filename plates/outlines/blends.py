"""What replaces a corner between two segments, each a straight edge or an arc: an arc tangent to both, or a straight cut."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from panelwright.plates.geometry.curves import Arc, Line, Point, Segment
from panelwright.plates.tolerances import TURN_AGREES

__all__ = ["Blend", "chamfer", "corner_angle", "fillet"]


@dataclass(frozen=True)
class Blend:
    """A segment instead of a corner, and how much it takes of the segments before and after it, mm along them."""

    segment: Segment
    back: float
    ahead: float


def corner_angle(before: Segment, after: Segment) -> float:
    """Signed turn in radians from one segment to the next, positive to the left."""
    ax, ay = before.tangent_at(1.0)
    bx, by = after.tangent_at(0.0)
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def chamfer(before: Line | Arc, after: Line | Arc, size: float) -> Blend | None:
    """A straight cut, `size` mm along both segments.  None if one of them is shorter and an arc, which has no such point."""
    for segment in (before, after):
        if isinstance(segment, Arc) and size > segment.length:
            return None
    return Blend(Line(_along(before, -size), _along(after, size)), size, size)


def fillet(before: Line | Arc, after: Line | Arc, radius: float) -> Blend | None:
    """The arc of `radius` mm that is tangent to both segments, next to their corner.  None if no such arc touches both.

    Its centre lies at `radius` from both, on the side to which the corner turns: where the two lines or circles that run
    at that distance meet (plane geometry).

    >>> corner = fillet(Line((-5, 0), (0, 0)), Line((0, 0), (0, 5)), 2)
    >>> [round(value, 9) for value in corner.segment.center], abs(corner.back - corner.ahead) < 1e-9
    ([-2.0, 2.0], True)
    """
    turn = corner_angle(before, after)
    side = math.copysign(1.0, turn)
    if isinstance(before, Line) and isinstance(after, Line):
        setback = radius * math.tan(abs(turn) / 2)
        start, end, (tx, ty) = _along(before, -setback), _along(after, setback), before.tangent_at(1.0)
        center = (start[0] - ty * side * radius, start[1] + tx * side * radius)
        return Blend(Arc(start, end, center, turn), setback, setback)
    found: list[Blend] = []
    for center in _meetings(_beside(before, side * radius), _beside(after, side * radius)):
        start, end = _foot(before, center), _foot(after, center)
        back, ahead = _run(before, start, before.end), _run(after, after.start, end)
        first, last = (math.atan2(p[1] - center[1], p[0] - center[0]) for p in (start, end))
        sweep = side * ((side * (last - first)) % math.tau)
        # an arc turns as much as the corner and what it takes of its neighbours; others touch the same circles elsewhere
        replaced = _bent(before) * back + turn + _bent(after) * ahead
        fits = back <= before.length + TURN_AGREES and ahead <= after.length + TURN_AGREES
        if fits and min(back, ahead) > 0 and abs(sweep - replaced) < TURN_AGREES:
            found.append(Blend(Arc(start, end, center, sweep), back, ahead))
    return min(found, key=lambda blend: blend.back + blend.ahead, default=None)


def _along(segment: Line | Arc, run: float) -> Point:
    """The point `run` mm after a segment's start, or before its end if that is negative."""
    if isinstance(segment, Arc):
        share = run / segment.length
        return segment.point_at(share if run >= 0 else 1 + share)
    (x, y), (tx, ty) = segment.start if run >= 0 else segment.end, segment.tangent_at(0.0)
    return (x + tx * run, y + ty * run)


def _bent(segment: Line | Arc) -> float:
    """Turn in radians per mm of travel, positive to the left."""
    return 0.0 if isinstance(segment, Line) else math.copysign(1 / segment.radius, segment.sweep)


def _beside(segment: Line | Arc, distance: float) -> Line | tuple[Point, float]:
    """The line, or the circle's centre and radius, at a distance to the left of a segment; a radius below 0 is none."""
    if isinstance(segment, Line):
        tx, ty = segment.tangent_at(0.0)
        (x0, y0), (x1, y1) = segment.start, segment.end
        return Line((x0 - ty * distance, y0 + tx * distance), (x1 - ty * distance, y1 + tx * distance))
    return segment.center, segment.radius - math.copysign(distance, distance * segment.sweep)


def _meetings(a: Line | tuple[Point, float], b: Line | tuple[Point, float]) -> Iterator[Point]:
    """Where a line and a circle meet, or two circles; at most two points."""
    if isinstance(a, Line):
        a, b = b, a
    if isinstance(a, Line) or a[1] <= 0:
        return
    (x, y), radius = a
    if isinstance(b, Line):
        (px, py), (ux, uy) = b.start, b.tangent_at(0.0)
        foot = (x - px) * ux + (y - py) * uy
        base, way = (px + foot * ux, py + foot * uy), (ux, uy)
        off = math.dist(base, (x, y))
    else:
        (bx, by), other = b
        apart = math.dist((x, y), (bx, by))
        if other <= 0 or apart == 0:
            return
        ux, uy = (bx - x) / apart, (by - y) / apart
        off = (apart * apart + radius * radius - other * other) / (2 * apart)
        base, way = (x + off * ux, y + off * uy), (-uy, ux)
    under = radius * radius - off * off
    if under < 0:
        return
    for root in (-math.sqrt(under), math.sqrt(under)):
        yield (base[0] + root * way[0], base[1] + root * way[1])


def _foot(segment: Line | Arc, center: Point) -> Point:
    """The point of a segment's line or circle nearest to a centre."""
    if isinstance(segment, Line):
        (x, y), (tx, ty) = segment.start, segment.tangent_at(0.0)
        run = (center[0] - x) * tx + (center[1] - y) * ty
        return (x + run * tx, y + run * ty)
    (x, y), radius = segment.center, segment.radius
    apart = math.dist(center, segment.center)
    return (x + (center[0] - x) * radius / apart, y + (center[1] - y) * radius / apart)


def _run(segment: Line | Arc, start: Point, end: Point) -> float:
    """From one point of a segment's line or circle to another, mm along its travel; on a circle never below 0."""
    if isinstance(segment, Line):
        tx, ty = segment.tangent_at(0.0)
        return (end[0] - start[0]) * tx + (end[1] - start[1]) * ty
    x, y = segment.center
    first, last = (math.atan2(p[1] - y, p[0] - x) for p in (start, end))
    return segment.radius * (math.copysign(1.0, segment.sweep) * (last - first) % math.tau)
