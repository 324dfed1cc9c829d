"""Short tours through points, some of which may only come after others: nearest neighbours, or-opt and 2-opt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from panelwright.plates.geometry.curves import Point
from panelwright.plates.tolerances import ROUNDING

__all__ = ["improved", "nearest_first"]

NEIGHBOURS: Final = 8
"""Nearest other points that are tried as neighbours in the tour."""

LONGEST_RUN: Final = 3
"""Points that or-opt moves at once, at most."""

ROUNDS: Final = 30
"""Times that all points are gone through, at most."""


def nearest_first(points: Any, after: Sequence[Sequence[int]], start: Point) -> list[int]:
    """Always the nearest point next, of those whose turn it may be.

    `points` is an array of shape (n, 2) in mm; `after[i]` are the points that may only come after point i.
    Where that cannot be kept, because points wait for each other, the first of them in the list comes next.

    >>> import numpy as np
    >>> places = np.array([(3.0, 0.0), (1.0, 0.0), (2.0, 0.0)])
    >>> nearest_first(places, [[], [], []], (0, 0)), nearest_first(places, [[], [0], [1]], (0, 0))
    ([1, 2, 0], [2, 1, 0])
    >>> nearest_first(places, [[1], [0], []], (0, 0))
    [2, 0, 1]
    """
    import numpy as np

    count = len(points)
    waiting = [0] * count
    for some in after:
        for later in some:
            waiting[later] += 1
    x, y = points[:, 0].copy(), points[:, 1].copy()
    is_shut = np.array([0.0 if number == 0 else math.inf for number in waiting])
    is_done = [False] * count
    at = start
    order: list[int] = []
    for _ in range(count):
        i = int(((x - at[0]) ** 2 + (y - at[1]) ** 2 + is_shut).argmin())
        if math.isinf(is_shut[i]):
            # outlines that cross each other may each wait for the other: no path is lost for that
            i = next(k for k in range(count) if not is_done[k])
        order.append(i)
        is_done[i] = True
        is_shut[i] = math.inf
        at = (float(x[i]), float(y[i]))
        for later in after[i]:
            waiting[later] -= 1
            if waiting[later] == 0 and not is_done[later]:
                is_shut[later] = 0.0
    return order


def improved(order: Sequence[int], points: Any, after: Sequence[Sequence[int]], start: Point) -> list[int]:
    """The tour with runs of points moved, and stretches turned round, as long as that shortens it; the rules stay kept.

    Points that have to keep an order stay where they are among each other: they are not moved, and no stretch with two of
    them is turned round.
    """
    tour = _Tour(order, points, after, start)
    for _ in range(ROUNDS):
        gained = sum([tour.turn_round(i) or tour.move(i) for i in list(tour.order)])
        if not gained:
            break
    return tour.order


class _Tour:
    """A tour being improved: the points in order, and the place of each in it."""

    def __init__(self, order: Sequence[int], points: Any, after: Sequence[Sequence[int]], start: Point) -> None:
        self.order = list(order)
        self._place = {i: k for k, i in enumerate(self.order)}
        self._xy: list[Point] = [(float(x), float(y)) for x, y in points]
        self._start = start
        bound = {i for i, some in enumerate(after) if some} | {later for some in after for later in some}
        self._is_bound = [i in bound for i in range(len(self._xy))]
        self._near = _neighbours(points)

    def turn_round(self, i: int) -> bool:
        """Turn round one stretch that begins behind i, or ends before it, if that is shorter (2-opt)."""
        order, gap = self.order, self._gap
        p = self._place[i]
        here = self._gap_after(p)
        if p + 1 < len(order):
            for c in self._near[i]:
                direct = gap(i, c)
                if direct >= here:
                    break
                q = self._place[c]
                if q > p + 1:
                    last = order[q + 1] if q + 1 < len(order) else None
                    old, new = here + self._gap_after(q), direct + (0.0 if last is None else gap(order[p + 1], last))
                    if old - new > ROUNDING and self._reverse(p + 1, q):
                        return True
        before = self._gap_before(p)
        for c in self._near[i]:
            direct = gap(i, c)
            if direct >= before:
                break
            q = self._place[c]
            if q < p - 1:
                old, new = before + self._gap_before(q), direct + self._between(q - 1, order[p - 1])
                if old - new > ROUNDING and self._reverse(q, p - 1):
                    return True
        return False

    def move(self, i: int) -> bool:
        """Move a short run that begins with i elsewhere, turned round or not, if that is shorter (or-opt)."""
        order, gap = self.order, self._gap
        p = self._place[i]
        for length in range(1, LONGEST_RUN + 1):
            q = p + length - 1
            if q >= len(order) or any(self._is_bound[k] for k in order[p : q + 1]):
                return False
            first, last = order[p], order[q]
            behind = order[q + 1] if q + 1 < len(order) else None
            saved = self._gap_before(p) + self._gap_after(q) - (0.0 if behind is None else self._between(p - 1, behind))
            if saved <= ROUNDING:
                continue
            for end, other in ((first, last), (last, first)):
                for c in self._near[end]:
                    direct = gap(end, c)
                    if direct >= saved:
                        break
                    k = self._place[c]
                    if p <= k <= q:
                        continue
                    # end beside c: behind it, or before it
                    if k + 1 != p:
                        after_c = order[k + 1] if k + 1 < len(order) else None
                        added = direct + (0.0 if after_c is None else gap(other, after_c) - gap(c, after_c))
                        if saved - added > ROUNDING:
                            return self._moved(p, q, k + 1, is_turned=end is last and length > 1)
                    if k != q + 1:
                        added = direct + self._between(k - 1, other) - self._gap_before(k)
                        if saved - added > ROUNDING:
                            return self._moved(p, q, k, is_turned=end is first and length > 1)
        return False

    def _gap(self, i: int, k: int) -> float:
        return math.dist(self._xy[i], self._xy[k])

    def _gap_after(self, p: int) -> float:
        """From the point at place p to the next; 0 at the end of the tour."""
        return self._gap(self.order[p], self.order[p + 1]) if p + 1 < len(self.order) else 0.0

    def _gap_before(self, p: int) -> float:
        return self._between(p - 1, self.order[p])

    def _between(self, p: int, i: int) -> float:
        """From the point at place p, or the start before the first one, to point i."""
        return math.dist(self._start if p < 0 else self._xy[self.order[p]], self._xy[i])

    def _reverse(self, p: int, q: int) -> bool:
        """Turn round what is at the places p to q; False if points that keep an order forbid it."""
        stretch = self.order[p : q + 1]
        if sum(self._is_bound[i] for i in stretch) > 1:
            return False
        self.order[p : q + 1] = stretch[::-1]
        self._renumber(p, q)
        return True

    def _moved(self, p: int, q: int, k: int, *, is_turned: bool) -> bool:
        """Put what is at the places p to q in front of what is at place k."""
        run = self.order[p : q + 1]
        del self.order[p : q + 1]
        k = k - len(run) if k > q else k
        self.order[k:k] = run[::-1] if is_turned else run
        self._renumber(min(p, k), max(q, k + len(run) - 1))
        return True

    def _renumber(self, p: int, q: int) -> None:
        for k in range(p, q + 1):
            self._place[self.order[k]] = k


def _neighbours(points: Any) -> list[list[int]]:
    """For each point its nearest others, the nearest first; of equal ones the first in the list."""
    import numpy as np

    count = min(NEIGHBOURS, len(points) - 1)
    found: list[list[int]] = []
    for low in range(0, len(points), CHUNK):
        some = points[low : low + CHUNK]
        squares = ((some[:, None, :] - points[None, :, :]) ** 2).sum(axis=2)
        squares[np.arange(len(some)), np.arange(low, low + len(some))] = np.inf
        found += squares.argsort(axis=1, kind="stable")[:, :count].tolist()
    return found


CHUNK: Final = 256
"""Points whose distances to all others are held at once."""
