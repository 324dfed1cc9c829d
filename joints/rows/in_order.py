"""Things of several widths in a fixed order along a line, each with stretches of its own, as near to even as they can be."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from panelwright.plates.geometry.probe import Interval
from panelwright.plates.tolerances import ROUNDING

__all__ = ["Placeable", "in_order"]


@dataclass(frozen=True, slots=True)
class Placeable:
    """One thing: where its middle would like to be, how wide it is in mm, and the stretches in which it may lie."""

    wish: float
    width: float
    free: Sequence[Interval]

    @property
    def middles(self) -> list[Interval]:
        """Where its middle may be."""
        half = self.width / 2
        fitting = [span for span in self.free if span[1] - span[0] >= self.width - ROUNDING]
        return [(low + half, max(low, high - self.width) + half) for low, high in fitting]


def in_order(things: Sequence[Placeable], web: float) -> list[float] | None:
    """Middles of things that stay in their order with `web` mm between neighbours; None if there is no room for that.

    Each is where it wishes if it can be, things that press on each other share what they miss, and what meets something that is
    not free goes to the nearer side of it, as long as all others find room then.  The same line seen from its other end gives
    the same places.

    >>> line = [(0, 100)]
    >>> in_order([Placeable(20, 10, line), Placeable(25, 10, line), Placeable(80, 10, line)], 4)
    [15.5, 29.5, 80.0]
    >>> in_order([Placeable(20, 10, [(0, 18), (40, 100)]), Placeable(25, 10, line)], 4)
    [13.0, 27.0]
    >>> in_order([Placeable(50, 60, line), Placeable(50, 60, line)], 4) is None
    True
    """
    if not things:
        return []
    # measured so that neighbours may have the same place: then the order is all that is left to keep
    shifts = [0.0]
    for before, after in itertools.pairwise(things):
        shifts.append(shifts[-1] + (before.width + after.width) / 2 + web)
    allowed = [[(low - s, high - s) for low, high in thing.middles] for thing, s in zip(things, shifts, strict=True)]
    wishes = [thing.wish - s for thing, s in zip(things, shifts, strict=True)]
    if not _has_room(allowed):
        return None
    while True:
        found = _settled(wishes, allowed)
        astray = [i for i, at in enumerate(found) if not _lies_in(at, allowed[i])]
        if not astray:
            return [at + s for at, s in zip(found, shifts, strict=True)]
        # those that have the least way to go move first, so that it makes no difference from which end the line is seen
        ways = {i: _off(found[i], _nearest(found[i], i, allowed)) for i in astray}
        for i in astray:
            if ways[i] <= min(ways.values()) + ROUNDING:
                allowed[i] = [_nearest(found[i], i, allowed)]


def _off(at: float, span: Interval) -> float:
    return max(span[0] - at, at - span[1])


def _nearest(at: float, i: int, allowed: Sequence[Sequence[Interval]]) -> Interval:
    """The nearest stretch for one thing from which the rest still finds room; there is one, since there was room before."""
    by_distance = sorted(allowed[i], key=lambda span: (_off(at, span), span))
    return next(span for span in by_distance if _has_room([*allowed[:i], [span], *allowed[i + 1 :]]))


def _lies_in(at: float, spans: Sequence[Interval]) -> bool:
    return any(low - ROUNDING <= at <= high + ROUNDING for low, high in spans)


def _has_room(allowed: Sequence[Sequence[Interval]]) -> bool:
    """Whether things can stay in order: each in the first place that those before it leave."""
    at = float("-inf")
    for spans in allowed:
        options = [max(at, low) for low, high in spans if high >= at - ROUNDING]
        if not options:
            return False
        at = min(options)
    return True


def _settled(wishes: Sequence[float], allowed: Sequence[Sequence[Interval]]) -> list[float]:
    """Places in order, nearest to the wishes by least squares, each between its first and its last place.

    Neighbours that press on each other go to the mean of their wishes, or as near to it as all of them can: pooling neighbours
    is exact for any convex cost, bounds among them (isotonic regression; from memory).  Bounds rise along the line, so those
    of a pool are the first place of its last thing and the last place of its first.
    """
    lows = _first_places(allowed)
    highs = [-at for at in reversed(_first_places([[(-high, -low) for low, high in spans] for spans in reversed(allowed)]))]
    pools: list[tuple[float, int, float, float]] = []  # sum of wishes and number of those that press, first and last place

    def middle(pool: tuple[float, int, float, float]) -> float:
        total, number, low, high = pool
        return min(max(total / number, low), high)

    for wish, low, high in zip(wishes, lows, highs, strict=True):
        pools.append((wish, 1, low, high))
        while len(pools) > 1 and middle(pools[-2]) > middle(pools[-1]):
            later, earlier = pools.pop(), pools.pop()
            pools.append((earlier[0] + later[0], earlier[1] + later[1], later[2], earlier[3]))
    return [middle(pool) for pool in pools for _ in range(pool[1])]


def _first_places(allowed: Sequence[Sequence[Interval]]) -> list[float]:
    found: list[float] = []
    at = float("-inf")
    for spans in allowed:
        at = min(max(at, low) for low, high in spans if high >= at - ROUNDING)
        found.append(at)
    return found
