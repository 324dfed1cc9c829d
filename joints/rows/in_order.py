"""Things of several widths in a fixed order along a line, each with stretches of its own, as near to even as they can be."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from panelwright.plates.geometry.probe import Interval

__all__ = ["Placeable", "in_order"]

ROUNDING = 1e-9
"""Room that is missing by less than this is there, mm."""


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
    [13.0, 29.5]
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
        for i in astray:
            # each to the nearest stretch from which the rest still finds room; there is one, since there was room before
            by_distance = sorted(allowed[i], key=lambda span: (max(span[0] - found[i], found[i] - span[1]), span))
            allowed[i] = next(
                [span] for span in by_distance if _has_room([*allowed[:i], [span], *allowed[i + 1 :]])
            )


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
    """Places in order, nearest to the wishes by least squares, moved in between the first and the last place of each."""
    blocks: list[list[float]] = []  # sum and number of those that press on each other
    for wish in wishes:
        blocks.append([wish, 1])
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] > blocks[-1][0] / blocks[-1][1]:
            total, number = blocks.pop()
            blocks[-1][0] += total
            blocks[-1][1] += number
    level = [total / number for total, number in blocks for _ in range(int(number))]
    lows = _first_places(allowed)
    highs = [-at for at in reversed(_first_places([[(-high, -low) for low, high in spans] for spans in reversed(allowed)]))]
    return [min(max(at, low), high) for at, low, high in zip(level, lows, highs, strict=True)]


def _first_places(allowed: Sequence[Sequence[Interval]]) -> list[float]:
    found: list[float] = []
    at = float("-inf")
    for spans in allowed:
        at = min(max(at, low) for low, high in spans if high >= at - ROUNDING)
        found.append(at)
    return found
