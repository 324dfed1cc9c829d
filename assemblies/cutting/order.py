"""The order in which a machine follows the paths of a sheet: nothing loose is cut, and little travel in between.

First all marks, while the sheet lies still; then what is cut inside something, the inner before the outer; then the outlines
that lie in nothing.  Within each of the three the order is found by nearest neighbours, mended by moving and turning round
short runs of paths (or-opt and 2-opt), and last the point at which each ring is begun is chosen for all of them at once
(dynamic programming).  All of it is deterministic, and its work is bounded by the number of paths.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from panelwright.plates.geometry.curves import Arc, Point, Segment

from .nesting_depth import may_only_follow
from .path import CutPath
from .tour import improved, nearest_first

__all__ = ["cutting_order", "travel_mm"]

MOST_STARTS: Final = 16
"""Points at which a ring may be begun that are looked at, spread evenly over its corners."""

CIRCLE_STARTS: Final = 8
"""Points of a circle at which it may be begun."""


def travel_mm(paths: Sequence[CutPath], start: Point = (0.0, 0.0)) -> float:
    """Distance in mm that the machine travels without cutting, from `start` through all paths in the order given."""
    total, at = 0.0, start
    for path in paths:
        total += math.dist(at, path.start)
        at = path.end
    return total


def cutting_order(paths: Sequence[CutPath], start: Point = (0.0, 0.0)) -> tuple[CutPath, ...]:
    """The same paths in the order of cutting, from `start`; rings begin where it suits, open paths may be turned round.

    What holds of the result:

    - Marks come first.
    - A ring is cut after every path that lies in it, and a part's outline after all other cuts of that part.
    - Parts whose outlines touch, as with shared cuts, hang together; nothing is cut in such a group once it has come loose.
    - The paths are those given; only where rings begin, and which way open paths run, may be new.
    - Where the order given keeps these rules too, the machine travels no further than in that order, sorted into marks, cuts
      inside others, and outlines that lie in nothing.

    >>> from panelwright.plates import disc
    >>> def hole(x):
    ...     return CutPath("inside", disc(4).at(x, 0).loops[0].segments, 0)
    >>> [round(path.bounds[0]) for path in cutting_order([hole(90), hole(10), hole(50)])]
    [8, 48, 88]
    """
    holders, later = may_only_follow(paths)
    groups: tuple[list[int], list[int], list[int]] = ([], [], [])
    for i, path in enumerate(paths):
        groups[0 if path.kind == "mark" else 1 if holders[i] or path.kind == "inside" else 2].append(i)
    ordered: list[CutPath] = []
    at = start
    for group in groups:
        if not group:
            continue
        place = {i: k for k, i in enumerate(group)}
        outlines: dict[int, list[int]] = {}
        for k, i in enumerate(group):
            if paths[i].kind == "outside":
                outlines.setdefault(paths[i].piece, []).append(k)
        after = [
            sorted(
                {
                    *(place[h] for h in later[i] if h in place),
                    *(outlines.get(paths[i].piece, ()) if paths[i].kind == "inside" else ()),
                }
            )
            for i in group
        ]
        ordered += _ordered([paths[i] for i in group], after, at)
        at = ordered[-1].end
    return tuple(ordered)


def _ordered(paths: Sequence[CutPath], after: Sequence[Sequence[int]], start: Point) -> list[CutPath]:
    """One group in a good order: never worse than as given, if that keeps the rules."""
    import numpy as np

    starts = [_starts(path) for path in paths]
    middles = np.array([np.mean([point for point, _ in some], axis=0) for some in starts])
    order = improved(nearest_first(middles, after, start), middles, after, start)
    order, chosen = _begun(order, starts, start)
    # once more with the points that were chosen: near neighbours of middles need not be near where rings begin
    chosen_points = np.array([starts[i][chosen[i]][0] for i in range(len(paths))])
    order, chosen = _begun(improved(order, chosen_points, after, start), starts, start)
    found = [_from(paths[i], starts[i][chosen[i]]) for i in order]
    if _is_allowed(range(len(paths)), after) and travel_mm(paths, start) < travel_mm(found, start):
        return list(paths)
    return found


def _is_allowed(order: Sequence[int], after: Sequence[Sequence[int]]) -> bool:
    place = {i: k for k, i in enumerate(order)}
    return all(place[i] < place[later] for i, some in enumerate(after) for later in some)


Start = tuple[Point, tuple[int, float]]
"""A point at which a path may be begun; in front of which of its segments, or how far round a circle.  (−1, 0) is its end."""


def _starts(path: CutPath) -> list[Start]:
    segments = path.segments
    if not path.is_closed:
        return [(path.start, (0, 0.0)), (path.end, (-1, 0.0))]
    if len(segments) == 1:
        if isinstance(segments[0], Arc):
            shares = [k / CIRCLE_STARTS for k in range(CIRCLE_STARTS)]
            return [(segments[0].point_at(share), (0, share)) for share in shares]
        return [(path.start, (0, 0.0))]
    count = min(len(segments), MOST_STARTS)
    corners = [k * len(segments) // count for k in range(count)]
    return [(segments[k].start, (k, 0.0)) for k in corners]


def _from(path: CutPath, start: Start) -> CutPath:
    """The path begun there."""
    (index, share), segments = start[1], path.segments
    moved: tuple[Segment, ...]
    if index < 0:
        moved = tuple(segment.reversed() for segment in reversed(segments))
    elif share:
        circle = segments[0]
        assert isinstance(circle, Arc)
        moved = (Arc(start[0], start[0], circle.center, circle.sweep),)
    else:
        moved = (*segments[index:], *segments[:index])
    return path if moved == segments else CutPath(path.kind, moved, path.piece)


def _begun(order: Sequence[int], starts: Sequence[Sequence[Start]], start: Point) -> tuple[list[int], dict[int, int]]:
    """Where to begin each path so that the travel in this order is least: exact, by dynamic programming."""
    import numpy as np

    entries, exits = [], []
    for i in order:
        points: Any = np.array([point for point, _ in starts[i]])
        entries.append(points)
        exits.append(points[::-1] if any(where[0] < 0 for _, where in starts[i]) else points)
    cost = np.hypot(*(entries[0] - np.array(start)).T)
    back: list[Any] = []
    for k in range(1, len(order)):
        gaps = entries[k][None, :, :] - exits[k - 1][:, None, :]
        total = cost[:, None] + np.hypot(gaps[..., 0], gaps[..., 1])
        back.append(total.argmin(axis=0))
        cost = total.min(axis=0)
    choice = int(cost.argmin())
    chosen = {order[-1]: choice}
    for k in range(len(order) - 2, -1, -1):
        choice = int(back[k][choice])
        chosen[order[k]] = choice
    return list(order), chosen
