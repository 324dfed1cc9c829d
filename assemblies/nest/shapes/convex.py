"""Shapes as a few convex parts, and sums of those: much less work than sweeping one whole border along another.

The Minkowski sum of two unions is the union of the sums of their parts, and that of two convex parts is found by merging their
sides in order of direction (the textbook construction).  Most pieces have sides along two axes only and fall into few
rectangles.  All coordinates are whole, so nothing is rounded.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from .paths import Path, Spot, without_repeats

__all__ = ["convex_parts", "convex_sum"]

MOST_PARTS: Final = 14
"""Beyond so many parts sweeping the border is as quick."""


def convex_parts(path: Path) -> list[Path] | None:
    """Convex counter-clockwise paths whose union is a counter-clockwise path; None if it has no few such parts.

    >>> ell = [(0, 0), (9, 0), (9, 3), (3, 3), (3, 9), (0, 9)]
    >>> convex_parts(ell)
    [[(0, 0), (9, 0), (9, 3), (0, 3)], [(0, 3), (3, 3), (3, 9), (0, 9)]]
    >>> convex_parts([(0, 0), (9, 0), (0, 9), (0, 9)])
    [[(0, 0), (9, 0), (0, 9)]]
    """
    corners = _without_straight(path)
    if all(_turn(corners[i - 1], corners[i], corners[(i + 1) % len(corners)]) > 0 for i in range(len(corners))):
        return [corners]
    if any(a[0] != b[0] and a[1] != b[1] for a, b in zip(corners, corners[1:] + corners[:1], strict=True)):
        return None
    parts = _rectangles(corners)
    return parts if len(parts) <= MOST_PARTS else None


def convex_sum(a: Sequence[Spot], b: Sequence[Spot]) -> Path:
    """The Minkowski sum of two convex counter-clockwise paths.

    >>> convex_sum([(0, 0), (4, 0), (4, 1), (0, 1)], [(0, 0), (2, 0), (0, 3)])
    [(0, 0), (6, 0), (6, 1), (4, 4), (0, 4)]
    """
    first, second = _from_lowest(a), _from_lowest(b)
    i = k = 0
    x, y = first[0][0] + second[0][0], first[0][1] + second[0][1]
    found: Path = []
    while i < len(first) or k < len(second):
        found.append((x, y))
        u, v = _side(first, i), _side(second, k)
        side = 0
        if i < len(first) and k < len(second):
            side = u[0] * v[1] - u[1] * v[0]
        # of two sides the one that turns less comes next; parallel ones are gone along together
        takes_first = i < len(first) and (k == len(second) or side >= 0)
        takes_second = k < len(second) and (i == len(first) or side <= 0)
        if takes_first:
            x, y, i = x + u[0], y + u[1], i + 1
        if takes_second:
            x, y, k = x + v[0], y + v[1], k + 1
    return found


def _side(path: Sequence[Spot], index: int) -> Spot:
    if index >= len(path):
        return (0, 0)
    (ax, ay), (bx, by) = path[index], path[(index + 1) % len(path)]
    return (bx - ax, by - ay)


def _from_lowest(path: Sequence[Spot]) -> list[Spot]:
    """The path begun at its lowest, and there leftmost, corner: from it on sides turn from 0° to 360°."""
    start = min(range(len(path)), key=lambda i: (path[i][1], path[i][0]))
    return [*path[start:], *path[:start]]


def _turn(a: Spot, b: Spot, c: Spot) -> int:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _without_straight(path: Path) -> Path:
    """The path without corners in which it goes straight on, and each corner once."""
    corners = without_repeats(path)  # a corner beside its like turns nowhere, and both would go
    found = [p for i, p in enumerate(corners) if _turn(corners[i - 1], p, corners[(i + 1) % len(corners)]) != 0]
    return found if len(found) >= 3 else corners


def _rectangles(corners: Path) -> list[Path]:
    """Rectangles that fill a path with sides along the axes: one for each run of levels with the same stretch inside."""
    levels = sorted({y for _, y in corners})
    upright = [(a[0], min(a[1], b[1]), max(a[1], b[1])) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    open_: dict[tuple[int, int], int] = {}  # stretch that is being filled: from which level on
    found: list[Path] = []
    for low, high in pairwise(levels):
        crossed = sorted(x for x, start, stop in upright if start <= low and stop >= high and stop > start)
        stretches = list(zip(crossed[::2], crossed[1::2], strict=True))
        for stretch in [one for one in open_ if one not in stretches]:
            found.append(_box(stretch, open_.pop(stretch), low))
        for stretch in stretches:
            open_.setdefault(stretch, low)
    found += [_box(stretch, start, levels[-1]) for stretch, start in open_.items()]
    return sorted(found)


def _box(stretch: tuple[int, int], low: int, high: int) -> Path:
    x0, x1 = stretch
    return [(x0, low), (x1, low), (x1, high), (x0, high)]
