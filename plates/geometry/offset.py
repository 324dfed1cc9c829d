"""From finished shapes to the beam's path: half a kerf into the waste, arcs kept as arcs.

Words used here: a *side* is one segment moved half a kerf to the right of travel, where the waste is.  At a corner
where sides *gap* they are mitred, or joined by an arc about the corner if it turns by more than `MITRE_LIMIT_DEG`; at
a corner where they *close* each is trimmed where they meet.  Most loops need no more.  Where a side vanishes or the
path would cross itself, the untrimmed path goes through the planar arrangement, and what is kept is the boundary of the
points within half a kerf of the material.  Those are the points that the untrimmed path winds round: each stretch of
the loop nearer to a point than half a kerf adds one turn about it.

An inner arc of just the beam's own radius, such as a relief for the very cutter whose width the kerf is, becomes a point
that the path visits.

Guarantees: a beam of the given kerf whose centre follows the path leaves the finished part; lines and arcs come out as
lines and arcs; ellipses and splines within 1e-4 mm of the true parallel.  Not guaranteed: inner corners, which no beam
can cut sharper than its radius, and loops that lie nearer to each other than the kerf.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NoReturn

import numpy as np
from numpy.typing import NDArray
from panelwright.plates._validate import positive
from panelwright.plates.errors import KerfError, OutlineError
from panelwright.plates.tolerances import (
    COSINE_ROUNDING,
    CROSSING_CHORD,
    CURVE_FOLLOW,
    NEEDLE_SINE,
    POINT_TOLERANCE,
    ROUNDING,
    SAME_PLACE,
    TANGENT_SINE,
    TURN_ROUNDING,
)

from .arrangement import boundary, winding_numbers
from .biarcs import as_arcs
from .curves import Arc, EllipseArc, Line, Loop, Point, Segment, Spline
from .parallel import moved_curve, parallel_point, smooth_parts, turns_too_tightly
from .polygons import ring_of

__all__ = ["MITRE_LIMIT_DEG", "cut_paths"]

MITRE_LIMIT_DEG = 100.0
"""Corners that turn further are joined by an arc: a mitre would reach more than 1.6 half kerfs past the corner."""

MITRE_COSINE = math.cos(math.radians(MITRE_LIMIT_DEG)) - 1e-9


def cut_paths(loops: Sequence[Loop], kerf: float, *, panel: str) -> tuple[Loop, ...]:
    """The path of the beam's centre for each finished loop, in the same order and orientation.

    `loops` are outer loops (counter-clockwise) and holes (clockwise) in mm, `kerf` is the full width of the cut in mm
    and `panel` the name that errors speak of.  A kerf of 0 returns the loops as they are.

    Raises `KerfError` for a hole that closes up or falls into pieces, and for an outline whose notch is too narrow for
    the beam: any segment as long as the kerf or longer whose own side is gone altogether counts as such.

    >>> from panelwright.plates.geometry.curves import loop_through
    >>> tile = loop_through([(0, 0), (50, 0), (50, 30), (0, 30)])
    >>> slot = loop_through([(10, 10), (10, 14), (12, 14), (12, 10)])
    >>> [path.bounds for path in cut_paths([tile, slot], 0.2, panel="tile tray")]
    [(-0.1, -0.1, 50.1, 30.1), (10.1, 10.1, 11.9, 13.9)]
    >>> cut_paths([loop_through([(0, 0), (0, 4), (0.15, 4), (0.15, 0)])], 0.2, panel="tile tray")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.KerfError: panel 'tile tray': the hole of 0.15 × 4 mm around (0.075, 2) closes up under \
a kerf of 0.2 mm; make it wider than the kerf, leave it out, or cut with a finer beam
    """
    kerf = positive(kerf, f"kerf of panel {panel!r}", zero_is_fine=True)
    if kerf == 0.0:
        return tuple(loops)
    return tuple(_path(loop, kerf, panel) for loop in loops)


def _path(loop: Loop, kerf: float, panel: str) -> Loop:
    is_hole = loop.area < 0
    if is_hole and _narrow(loop) <= kerf * (1 + 1e-6):
        _swallowed(loop, "closes up", kerf, panel, least=_narrow(loop))
    if loop.is_circle:
        return Loop((_moved_circle(loop.segments[0], kerf / 2),))  # type: ignore[arg-type]  # is_circle says so
    parts = [part for s in loop for part in smooth_parts(s) if not isinstance(part, Line) or part.length > POINT_TOLERANCE]
    path = _trimmed(parts, kerf / 2)
    if path is None or (path.area < 0) is not is_hole:
        return _untangled(loop, kerf, panel)
    return path


def _moved_circle(circle: Arc, half: float) -> Arc:
    moved = parallel_point(circle, half, 0.0)
    return Arc(moved, moved, circle.center, circle.sweep)


def _narrow(loop: Loop) -> float:
    x0, y0, x1, y1 = loop.bounds
    return min(x1 - x0, y1 - y0)


@dataclass(slots=True)
class _Side:
    """One segment moved sideways.  `start` and `end` are trimmed or extended at the corners; `whole` keeps both."""

    source: Segment
    first: Point
    last: Point
    start: Point
    end: Point
    whole: tuple[Point, Point]
    radius: float = 0.0  # of a moved arc; 0 for one that has shrunk to nothing
    low: float = 0.0  # shares of a curve that are left
    high: float = 1.0

    @property
    def is_point(self) -> bool:
        """Whether this is an inner arc of just the beam's radius: there the beam only has to get to its centre."""
        return isinstance(self.source, Arc) and self.radius == 0.0 and self.whole == (self.source.center, self.source.center)


def _side(segment: Segment, half: float) -> _Side:
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        length = math.hypot(x1 - x0, y1 - y0)
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        start, end = (x0 + uy * half, y0 - ux * half), (x1 + uy * half, y1 - ux * half)
        return _Side(segment, (ux, uy), (ux, uy), start, end, (start, end))
    first, last = segment.tangent_at(0.0), segment.tangent_at(1.0)
    (x0, y0), (x1, y1) = segment.start, segment.end
    start = (x0 + first[1] * half, y0 - first[0] * half)
    end = (x1 + last[1] * half, y1 - last[0] * half)
    radius = 0.0
    if isinstance(segment, Arc):
        radius = segment.radius + math.copysign(half, segment.sweep)
        if abs(radius) < 10 * POINT_TOLERANCE:
            start = end = segment.center
        radius = max(0.0, radius) if radius >= 10 * POINT_TOLERANCE else 0.0
    return _Side(segment, first, last, start, end, (start, end), radius)


def _emit(side: _Side, half: float, out: list[Segment]) -> bool:
    """Append what is left of a side; False if it vanished or runs backwards."""
    source, start, end = side.source, side.start, side.end
    if isinstance(source, Line):
        ahead = (end[0] - start[0]) * side.first[0] + (end[1] - start[1]) * side.first[1]
        if math.dist(start, end) > ROUNDING:
            out.append(Line(start, end))
        return ahead > POINT_TOLERANCE
    if isinstance(source, Arc):
        if side.is_point:
            return True
        if side.radius == 0.0:
            out.extend(Line(p, q) for p, q in ((start, source.center), (source.center, end)) if math.dist(p, q) > ROUNDING)
            return False
        sign = math.copysign(1.0, source.sweep)
        sweep = abs(source.sweep) - _turned(source.center, side.whole[0], start, sign)
        sweep -= _turned(source.center, end, side.whole[1], sign)
        if math.dist(start, end) > ROUNDING or sweep > 1.0:
            out.append(Arc(start, end, source.center, sweep * sign))
        return sweep * side.radius > POINT_TOLERANCE
    if side.high - side.low < ROUNDING:
        return False
    moved = moved_curve(source, half, side.low, side.high)
    out.append(replace(moved, poles=(start, *moved.poles[1:-1], end)))
    return True


def _turned(center: Point, a: Point, b: Point, sign: float) -> float:
    """Angle from a to b about the centre in the given direction, 0 to 2π (a hair below 0 for a hair back)."""
    ax, ay, bx, by = a[0] - center[0], a[1] - center[1], b[0] - center[0], b[1] - center[1]
    angle = sign * math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    return angle if angle > -1e-3 else angle + math.tau


def _raw(parts: Sequence[Segment], half: float, *, trim: bool) -> tuple[list[Segment], bool, bool]:
    """The path with its corners joined; whether every side is left and runs forwards; whether it turns one way only."""
    sides = [_side(part, half) for part in parts]
    bridges: list[tuple[Segment, ...]] = []
    clean = True
    left = right = False
    for a, b in zip(sides, sides[1:] + sides[:1], strict=True):
        bridge, turn = _join(a, b, half, trim=trim)
        bridges.append(bridge)
        left, right, clean = left or turn > 0, right or turn < 0, clean and turn != -2
    out: list[Segment] = []
    for side, bridge in zip(sides, bridges, strict=True):
        clean = _emit(side, half, out) and clean
        out.extend(bridge)
        if isinstance(side.source, Arc):
            left, right = left or side.source.sweep > 0, right or side.source.sweep < 0
        elif not isinstance(side.source, Line):
            left = right = True
    return out, clean, not (left and right)


def _join(a: _Side, b: _Side, half: float, *, trim: bool) -> tuple[tuple[Segment, ...], int]:
    """Join two sides at the corner between them.

    Returns the segments that bridge them, and how the corner turns: 0 straight on, 1 gap, −1 closed and trimmed, −2
    closed but not trimmed (then the bridge runs by way of the corner itself).
    """
    (ax, ay), (bx, by) = a.last, b.first
    sine, cosine = ax * by - ay * bx, ax * bx + ay * by
    corner = a.source.end
    if cosine < 0 and abs(sine) < TANGENT_SINE:  # turns right round: which way only shows further along
        (px, py), (qx, qy), (vx, vy) = a.source.point_at(0.99), b.source.point_at(0.01), corner
        sine = math.copysign(max(abs(sine), 1e-12), (vx - px) * (qy - vy) - (vy - py) * (qx - vx))
    point = (0.0, 0.0)
    if cosine > -1 + COSINE_ROUNDING:
        point = (corner[0] + half * (ay + by) / (1 + cosine), corner[1] - half * (ax + bx) / (1 + cosine))
    if cosine > 0 and abs(sine) < TANGENT_SINE:
        a.end = b.start = a.whole[1] if a.is_point else b.whole[0] if b.is_point else point
        return (), 0
    if sine > 0:
        # a mitre beside a point would run there and back on one line
        if cosine < MITRE_COSINE or a.is_point or b.is_point:
            sweep = math.atan2(sine, cosine)
            return (Arc(a.whole[1], b.whole[0], corner, sweep),), 1
        bridge: list[Segment] = []
        if isinstance(a.source, Line):
            a.end = point
        else:
            bridge.append(Line(a.whole[1], point))
        if isinstance(b.source, Line):
            b.start = point
        else:
            bridge.append(Line(point, b.whole[0]))
        return tuple(bridge), 1
    met = None
    if trim or sine > -NEEDLE_SINE:
        met = _meet(a, b, half, point, -half * sine / (1 + cosine) if cosine > -1 + COSINE_ROUNDING else math.inf)
    if met is None:
        return (Line(a.whole[1], corner), Line(corner, b.whole[0])), -2
    a.end = b.start = met
    return (), -1


def _meet(a: _Side, b: _Side, half: float, point: Point, trim: float) -> Point | None:
    """Where two untrimmed sides meet nearest to their corner; `point` and `trim` are right for two lines."""
    if isinstance(a.source, Line) and isinstance(b.source, Line):
        return point if trim <= min(a.source.length, b.source.length) else None
    if isinstance(a.source, EllipseArc | Spline) or isinstance(b.source, EllipseArc | Spline):
        return _meet_curves(a, b, half, trim)
    if any(side.radius == 0.0 and isinstance(side.source, Arc) for side in (a, b)):
        return None
    found = [p for p in _crossings(a, b) if _holds(a, p) and _holds(b, p)]
    return min(found, key=lambda p: math.dist(p, a.source.end), default=None)


def _crossings(a: _Side, b: _Side) -> tuple[Point, ...]:
    """Points common to the full line or circle of two sides, at least one of them a circle."""
    if not isinstance(a.source, Arc):
        a, b = b, a
    assert isinstance(a.source, Arc)
    (cx, cy), radius = a.source.center, a.radius
    if isinstance(b.source, Arc):
        (ox, oy), other = b.source.center, b.radius
        gap = math.hypot(ox - cx, oy - cy)
        if gap < POINT_TOLERANCE:
            return ()
        ux, uy = (ox - cx) / gap, (oy - cy) / gap
        along = (gap * gap + radius * radius - other * other) / (2 * gap)
        x, y, ux, uy = cx + ux * along, cy + uy * along, -uy, ux
    else:
        (x, y), (ux, uy) = b.whole[0], b.first
        along = (cx - x) * ux + (cy - y) * uy
        x, y = x + ux * along, y + uy * along
        along = math.hypot(x - cx, y - cy)
    square = radius * radius - along * along
    if square < 0:
        return ()
    off = math.sqrt(square)
    return ((x - ux * off, y - uy * off), (x + ux * off, y + uy * off))


def _holds(side: _Side, point: Point) -> bool:
    """Whether a point of a side's full line or circle lies on the untrimmed side."""
    source = side.source
    if isinstance(source, Arc):
        turned = _turned(source.center, side.whole[0], point, math.copysign(1.0, source.sweep))
        return turned <= abs(source.sweep) + TURN_ROUNDING
    (x0, y0), (ux, uy) = side.whole[0], side.first
    return -ROUNDING <= (point[0] - x0) * ux + (point[1] - y0) * uy <= source.length + ROUNDING


def _meet_curves(a: _Side, b: _Side, half: float, trim: float) -> Point | None:
    """Newton's method on the shares of both sides; narrows `high` of the first and `low` of the second."""
    if not math.isfinite(trim):
        return None
    s, t = 1 - trim / a.source.length, trim / b.source.length
    step = 1e-6
    for _ in range(30):
        if not (step < s <= 1 and 0 <= t < 1 - step):
            return None
        (px, py), (qx, qy) = parallel_point(a.source, half, s), parallel_point(b.source, half, t)
        x, y = qx - px, qy - py
        if math.hypot(x, y) < 1e-10:
            a.high, b.low = s, t  # lines and arcs take no notice
            return (px, py)
        ps, qt = parallel_point(a.source, half, s - step), parallel_point(b.source, half, t + step)
        ax, ay = (px - ps[0]) / step, (py - ps[1]) / step
        bx, by = (qt[0] - qx) / step, (qt[1] - qy) / step
        turn = ax * by - ay * bx
        if turn == 0.0:
            return None
        s += (x * by - y * bx) / turn
        t += (x * ay - y * ax) / turn
    return None


def _trimmed(parts: Sequence[Segment], half: float) -> Loop | None:
    """The path made by joining neighbours alone, or None if a side vanishes or the path crosses itself."""
    if any(isinstance(p, EllipseArc | Spline) and turns_too_tightly(p, half) for p in parts):
        return None
    segments, clean, turns_one_way = _raw(parts, half, trim=True)
    if not clean:
        return None
    path = Loop(tuple(segments))
    if turns_one_way:  # convex and every side forwards: cannot cross itself
        return path
    return path if ring_of(path, CROSSING_CHORD).is_simple else None


def _untangled(loop: Loop, kerf: float, panel: str) -> Loop:
    """The path through the planar arrangement; raises `KerfError` if the kerf swallows part of the loop."""
    owners: list[int] = []
    parts: list[Segment] = []
    for number, segment in enumerate(loop):
        for part in smooth_parts(segment):
            pieces = [p for p in as_arcs(part, CURVE_FOLLOW) if p.length > POINT_TOLERANCE]
            parts.extend(pieces)
            owners.extend([number] * len(pieces))
    is_hole = loop.area < 0
    raw = Loop(tuple(_raw(parts, kerf / 2, trim=False)[0]))
    least = -1 if is_hole else 0

    def near_material(points: NDArray[np.float64]) -> NDArray[np.bool_]:
        return np.greater(winding_numbers([raw], points), least)

    try:
        found = [path for path in boundary([raw], near_material) if abs(path.area) > 1e-6 * path.length]
    except OutlineError as error:
        what = "becomes too narrow to follow" if is_hole else "has a notch or pocket too narrow to follow"
        _swallowed(loop, what, kerf, panel, cause=error)
    if not found and is_hole:
        _swallowed(loop, "closes up", kerf, panel, least=_narrow(loop))
    if len(found) != 1 or (found[0].area < 0) is not is_hole:
        what = f"falls into {len(found)} pieces" if is_hole else "has a notch or pocket whose mouth closes"
        _swallowed(loop, what, kerf, panel)
    alive = {owner for owner, part in zip(owners, parts, strict=True) if _survives(_side(part, kerf / 2), found[0])}
    for number, segment in enumerate(loop):
        if number not in alive and segment.length >= kerf - POINT_TOLERANCE:
            x, y = segment.point_at(0.5)
            _swallowed(loop, f"has a notch near ({x:.6g}, {y:.6g}) that closes up", kerf, panel, least=segment.length)
    return found[0].canonical()


def _survives(side: _Side, path: Loop) -> bool:
    """Whether some of an untrimmed side is part of the path."""
    source = side.source
    if isinstance(source, Line):
        (x0, y0), (ux, uy) = side.whole[0], side.first
        for segment in path:
            if isinstance(segment, Line):
                ends = [(p[0] - x0, p[1] - y0) for p in (segment.start, segment.end)]
                if all(abs(x * uy - y * ux) < SAME_PLACE for x, y in ends):
                    near, far = sorted(x * ux + y * uy for x, y in ends)
                    if min(far, source.length) - max(near, 0.0) > POINT_TOLERANCE:
                        return True
        return False
    if side.is_point:
        return any(math.dist(segment.start, side.whole[0]) < SAME_PLACE for segment in path)
    if side.radius == 0.0 or not isinstance(source, Arc):
        return False
    return any(
        isinstance(segment, Arc)
        and math.dist(segment.center, source.center) < SAME_PLACE
        and abs(segment.radius - side.radius) < SAME_PLACE
        and (_holds(side, segment.point_at(0.5)) or segment.length > source.length)
        for segment in path
    )


def _swallowed(
    loop: Loop,
    what: str,
    kerf: float,
    panel: str,
    *,
    least: float | None = None,
    cause: Exception | None = None,
) -> NoReturn:
    x0, y0, x1, y1 = loop.bounds
    kind = "hole" if loop.area < 0 else "outline"
    raise KerfError(
        f"panel {panel!r}: the {kind} of {x1 - x0:.6g} × {y1 - y0:.6g} mm around ({(x0 + x1) / 2:.6g}, "
        f"{(y0 + y1) / 2:.6g}) {what} under a kerf of {kerf:.6g} mm; make it wider than the kerf, leave it out, or cut "
        "with a finer beam",
        plates=(panel,),
        value=least,
        limit=kerf,
    ) from cause
