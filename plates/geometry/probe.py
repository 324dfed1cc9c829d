"""Asking a flat region where material is: along a line, and at points."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from panelwright.plates.tolerances import MEASURED_CHORD, ROUNDING, SEARCH_SLACK

from .arrangement import Floats
from .curves import Arc, Loop, Point
from .region import LoopIndex

__all__ = ["Interval", "Probe", "common", "without"]

Interval = tuple[float, float]

BLOCK = 64
"""Edges that are looked at together: few enough to leave most of a plate alone, many enough for arrays to pay."""


class Probe:
    """A region given by its loops (material on their left), ready for many questions.

    >>> from panelwright.plates import hole, rectangle
    >>> lid = Probe(rectangle(20, 10).cut(hole(4)).loops)
    >>> [(round(a, 3), round(b, 3)) for a, b in lid.along((-20.0, 0.0), (1.0, 0.0))]
    [(10.0, 18.0), (22.0, 30.0)]
    """

    def __init__(self, loops: Sequence[Loop], tolerance: float = MEASURED_CHORD) -> None:
        self.loops = tuple(loops)
        self._tolerance = tolerance

    @cached_property
    def rings(self) -> tuple[Floats, ...]:
        """Each loop as corners of a polygon: (n, 2) arrays, without repeating the first."""
        return tuple(np.concatenate(_chords(loop, self._tolerance)) for loop in self.loops)

    @cached_property
    def edges(self) -> Floats:
        """All loops as chords: an (n, 4) array of x0, y0, x1, y1."""
        return np.concatenate([np.empty((0, 4)), *(np.hstack([r, np.roll(r, -1, axis=0)]) for r in self.rings)])

    @cached_property
    def box(self) -> Floats:
        """The least x and y of all chords, and the greatest: a (2, 2) array.  Holes are not asked, since they lie within."""
        outer = [loop for loop in self.loops if loop.area > 0] or self.loops
        corners = np.concatenate([chords for loop in outer for chords in _chords(loop, self._tolerance)])
        return np.array([corners.min(axis=0), corners.max(axis=0)])

    @cached_property
    def _blocks(self) -> tuple[Floats, Floats, Floats]:
        """Edges in blocks of neighbours, and the middle and half the size of each block's box."""
        edges = self.edges
        # points without length fill the last block up; no line crosses them
        fill = np.repeat(edges[-1:, [0, 1, 0, 1]], -len(edges) % BLOCK, axis=0)
        blocks = np.concatenate([edges, fill]).reshape(-1, BLOCK, 4)
        corners = blocks.reshape(len(blocks), -1, 2)
        low, high = corners.min(axis=1), corners.max(axis=1)
        return blocks, (low + high) / 2, (high - low) / 2

    @cached_property
    def _index(self) -> LoopIndex:
        return LoopIndex(self.loops)

    def along(self, origin: Point, direction: Point) -> list[Interval]:
        """Stretches of material on the line through `origin` along the unit vector `direction`, in mm from the origin.

        A line that runs exactly along a border sees the side to its right; step off the border to choose.
        """
        dx, dy = direction
        blocks, middles, halves = self._blocks
        x, y = (middles - origin).T
        reach = halves @ (abs(dy), abs(dx)) + SEARCH_SLACK
        edges = blocks[np.abs(dx * y - dy * x) <= reach].reshape(-1, 4)
        px, py = edges[:, 0::2] - origin[0], edges[:, 1::2] - origin[1]
        off = dx * py - dy * px
        crossing = (off[:, 0] < 0) != (off[:, 1] < 0)
        off, run = off[crossing], (dx * px + dy * py)[crossing]
        spots = np.sort(run[:, 0] + (run[:, 1] - run[:, 0]) * off[:, 0] / (off[:, 0] - off[:, 1]))
        pairs = spots[: len(spots) // 2 * 2].reshape(-1, 2).tolist()
        return joined([(a, b) for a, b in pairs])

    def covers(self, points: Sequence[Point]) -> list[bool]:
        """Whether there is material at each point."""
        winding = self._index.winding(np.array(points, dtype=float).reshape(-1, 2))
        return [bool(number > 0) for number in winding]


def _chords(loop: Loop, tolerance: float) -> list[Floats]:
    """Each segment's points from its start up to, but without, its end."""
    if loop.is_of_lines_and_arcs:
        return [_arc(s, tolerance) if isinstance(s, Arc) else np.array([s.start], dtype=float) for s in loop]
    return [np.array(points, dtype=float) for points in loop.chords(tolerance)]


def _arc(segment: Arc, tolerance: float) -> Floats:
    """An arc's points, all at once, since it takes many."""
    count, radius = segment.chord_count(tolerance), segment.radius
    turns = segment.start_angle + segment.sweep * np.arange(count) / count
    points = np.column_stack([np.cos(turns), np.sin(turns)]) * radius + segment.center
    points[0] = segment.start
    return points


def joined(intervals: Sequence[Interval]) -> list[Interval]:
    """Sorted intervals, those that touch made one, those without length dropped."""
    found: list[Interval] = []
    for low, high in sorted(intervals):
        if high - low < ROUNDING:
            continue
        if found and low <= found[-1][1] + ROUNDING:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found


def common(a: Sequence[Interval], b: Sequence[Interval]) -> list[Interval]:
    """The stretches that lie in both.

    >>> common([(0, 5), (7, 9)], [(4, 8)])
    [(4, 5), (7, 8)]
    """
    return joined([(max(p, r), min(q, s)) for p, q in a for r, s in b if min(q, s) > max(p, r)])


def without(a: Sequence[Interval], blocked: Sequence[Interval]) -> list[Interval]:
    """What is left of `a` once `blocked` is taken out.

    >>> without([(0, 10)], [(4, 6), (9, 12)])
    [(0, 4), (6, 9)]
    """
    left = list(a)
    for low, high in blocked:
        left = [piece for p, q in left for piece in ((p, min(q, low)), (max(p, high), q)) if piece[1] - piece[0] > ROUNDING]
    return joined(left)
