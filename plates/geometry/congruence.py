"""Whether two flat shapes are the same panel: turned, and turned over where the stock allows it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence

from panelwright.plates.tolerances import LEAST_LINE, RELATIVE_ROUNDING, SAME_AREA, SAME_PANEL

from .curves import Arc, EllipseArc, Loop, Motion, Point, Spline

__all__ = ["all_carrying", "carrying", "centroid", "same_panel"]


def same_panel(a: Sequence[Loop], b: Sequence[Loop], *, may_flip: bool, has_grain: bool) -> bool:
    """Whether some motion carries the loops of `a` onto those of `b`.

    `may_flip` allows mirror images (turned over); `has_grain` allows only half turns and flips along or across the grain.

    >>> from panelwright.plates import hole, rectangle
    >>> left = rectangle(30, 20).cut(hole(3).at(10, 5)).loops
    >>> right = rectangle(30, 20).cut(hole(3).at(-10, 5)).loops
    >>> same_panel(left, right, may_flip=True, has_grain=True), same_panel(left, right, may_flip=False, has_grain=True)
    (True, False)
    """
    if len(a) != len(b) or not all(
        abs(p - q) < SAME_AREA for p, q in zip(sorted(x.area for x in a), sorted(x.area for x in b), strict=True)
    ):
        return False
    return any(carrying(a, b, is_mirrored=side, has_grain=has_grain) for side in ((False, True) if may_flip else (False,)))


def carrying(a: Sequence[Loop], b: Sequence[Loop], *, is_mirrored: bool, has_grain: bool) -> Motion | None:
    """A motion that carries the loops of `a` onto those of `b`, by the least turn; None if there is none.

    `is_mirrored` asks for one that turns left into right; `has_grain` allows only half turns.

    >>> from panelwright.plates import hole, rectangle
    >>> left = rectangle(30, 20).cut(hole(3).at(10, 5)).loops
    >>> found = carrying(left, [loop.moved(Motion.shift(7, 0)) for loop in left], is_mirrored=False, has_grain=True)
    >>> [round(side, 6) for side in found.apply((1.0, 2.0))]
    [8.0, 2.0]
    >>> carrying(left, left, is_mirrored=True, has_grain=True) is None
    True
    """
    return next(all_carrying(a, b, is_mirrored=is_mirrored, has_grain=has_grain), None)


def all_carrying(a: Sequence[Loop], b: Sequence[Loop], *, is_mirrored: bool, has_grain: bool) -> Iterator[Motion]:
    """Every motion that carries the loops of `a` onto those of `b`, by the least turn first; see `carrying`.

    A bare disc or ring has one of them, though every turn about its middle is one.

    >>> from panelwright.plates import rectangle
    >>> tile = rectangle(20, 20).loops
    >>> len(list(all_carrying(tile, tile, is_mirrored=False, has_grain=False)))
    4
    """
    mirror = Motion.mirror_x() if is_mirrored else Motion()
    moved = [loop.moved(mirror) for loop in a]
    middle_a, middle_b = centroid(moved), centroid(b)
    marks_a, marks_b = _landmarks(moved, middle_a), _landmarks(b, middle_b)
    if sorted(marks_a) != sorted(marks_b) or any(len(marks_a[key]) != len(marks_b[key]) for key in marks_a):
        # rounding may sort one landmark into another class; the shape test below decides, from all angles in turn
        marks_a, marks_b = _merged(marks_a), _merged(marks_b)
    back = Motion.shift(-middle_a[0], -middle_a[1])
    forth = Motion.shift(*middle_b)
    angles = [0.0, 180.0] if has_grain else sorted(_angles(marks_a, marks_b), key=abs)
    motions = (back.then(Motion.turn(angle)).then(forth) for angle in angles)
    yield from (mirror.then(motion) for motion in motions if _coincide(moved, b, motion))


def centroid(loops: Sequence[Loop]) -> Point:
    """Middle of the area, by chords that turn with the shape."""
    total = sx = sy = 0.0
    for loop in loops:
        points = loop.points(1e-3)
        for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True):
            cross = x0 * y1 - x1 * y0
            total += cross
            sx += (x0 + x1) * cross
            sy += (y0 + y1) * cross
    return (sx / (3 * total), sy / (3 * total))


def _landmarks(loops: Sequence[Loop], middle: Point) -> dict[tuple[float, ...], list[float]]:
    """Directions in degrees of corners and circle middles, by their distance from the middle and what starts there."""
    found: dict[tuple[float, ...], list[float]] = defaultdict(list)
    for loop in loops:
        for segment in loop:
            point = segment.center if isinstance(segment, Arc | EllipseArc) and segment.is_full else segment.start
            radius = math.dist(point, middle)
            if radius > LEAST_LINE:
                angle = math.degrees(math.atan2(point[1] - middle[1], point[0] - middle[0]))
                found[(round(radius, 2), round(segment.length, 2), float(len(loop)))].append(angle)
    return found


def _merged(marks: dict[tuple[float, ...], list[float]]) -> dict[tuple[float, ...], list[float]]:
    return {(0.0,): [angle for angles in marks.values() for angle in angles]}


def _angles(a: dict[tuple[float, ...], list[float]], b: dict[tuple[float, ...], list[float]]) -> list[float]:
    if not a or not b:
        return [0.0]  # a bare disc or ring: every turn is the same
    key = min(a, key=lambda k: (len(a[k]), k))
    turns = {round(angle - a[key][0], 9) for angle in b.get(key, [])}
    # near a quarter turn the exact one is meant: angles from atan2 carry rounding that long plates would magnify
    return sorted(round(turn / 90) * 90.0 if abs(turn / 90 - round(turn / 90)) < RELATIVE_ROUNDING else turn for turn in turns)


def _coincide(a: Sequence[Loop], b: Sequence[Loop], motion: Motion) -> bool:
    moved = [loop.moved(motion) for loop in a]
    left = list(b)
    for loop in moved:
        twin = next((other for other in left if _same_loop(loop, other)), None)
        if twin is None:
            return False
        left.remove(twin)
    return True


def _same_loop(a: Loop, b: Loop) -> bool:
    if len(a) != len(b) or any(abs(p - q) > SAME_PANEL for p, q in zip(a.bounds, b.bounds, strict=True)):
        return False
    if len(a) == 1:
        return abs(a.area - b.area) < SAME_AREA and abs(a.length - b.length) < SAME_PANEL * 10
    first = min(range(len(b)), key=lambda i: math.dist(b.segments[i].start, a.segments[0].start))
    for i, segment in enumerate(a):
        other = b.segments[(first + i) % len(b)]
        if type(segment) is not type(other) or math.dist(segment.start, other.start) > SAME_PANEL:
            return False
        shares = (0.5,) if not isinstance(segment, Spline) else (0.2, 0.4, 0.6, 0.8)
        if any(math.dist(segment.point_at(s), other.point_at(s)) > SAME_PANEL for s in shares):
            return False
    return True
