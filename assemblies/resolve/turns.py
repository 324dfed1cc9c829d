"""Several joints want the same stretch of a line: they take turns, with a web of material between."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from panelwright.joints.spec.pattern import Wish
from panelwright.plates.geometry.probe import Interval, joined
from panelwright.plates.tolerances import SAME_PLACE

__all__ = ["by_turns"]


def by_turns(wishes: Sequence[Wish], clashes: Mapping[tuple[int, int], Sequence[Interval]], web: float) -> list[list[Interval]]:
    """What each joint gets of the line: its own free stretches where it is alone, turns where it is not.

    `clashes` holds, for pairs of numbers in rising order, the intervals in which both cannot have material at one place.  All
    are on one coordinate, mm.  Where joints clash, a stretch is divided into as many cells as they want things there, each as
    wide as its joint's things need; where there is no room for one of each, those get it that have the least so far.
    Joints of equal pitch keep it, a part of it apart.  The order is that of `wishes`: a caller who sorts them by something of
    their own gets the same turns whatever the order of joins.  What one joint gets keeps `web` mm away from what another one
    gets that it clashes with.

    >>> one = Wish(free=((0.0, 100.0),), count=2, width=10.0)
    >>> [[(low, high) for low, high in cells] for cells in by_turns([one, one], {(0, 1): [(0.0, 100.0)]}, 4.0)]
    [[(0.0, 22.0), (52.0, 74.0)], [(26.0, 48.0), (78.0, 100.0)]]
    """
    cells: list[list[Interval]] = [[] for _ in wishes]
    stretches = _stretches(wishes, clashes)
    for (i, *others), low, high in stretches:
        if not others:
            cells[i].append((low, high))
    for group, low, high in sorted(stretches, key=lambda stretch: stretch[1:]):
        if len(group) == 1:
            continue
        # half a web on either side belongs to each cell, but not at an end where nobody goes on
        goes_on = (
            any(abs(end - low) < SAME_PLACE for _, _, end in stretches),
            any(abs(start - high) < SAME_PLACE for _, start, _ in stretches),
        )
        padded = (low if goes_on[0] else low - web / 2, high if goes_on[1] else high + web / 2)
        pitches = {wishes[i].pitch for i in group}
        pitch = pitches.pop() if len(pitches) == 1 else None
        if pitch is None:
            group = _those_that_fit(group, wishes, cells, padded[1] - padded[0], web)
        shares = _spaced(group, wishes, (low, high), pitch) if pitch else _divided(group, wishes, padded, web)
        for i, cell in shares:
            cells[i].append((max(low, cell[0]), min(high, cell[1])))
    found: list[list[tuple[float, float]]] = []
    for i, own in enumerate(cells):
        clashing = [j for j in range(len(wishes)) if (min(i, j), max(i, j)) in clashes]
        theirs = joined([cell for j in clashing for cell in cells[j]])
        found.append(joined([_kept_apart(cell, theirs, web) for cell in joined(own)]))
    return found


def _kept_apart(cell: Interval, others: Sequence[Interval], web: float) -> Interval:
    """A cell less its half of whatever is missing to a web from those before and behind."""
    low = max([cell[0], *((high + cell[0] + web) / 2 for _, high in others if high < cell[0] + SAME_PLACE)])
    high = min([cell[1], *((low + cell[1] - web) / 2 for low, _ in others if low > cell[1] - SAME_PLACE)])
    return (low, high)


def _stretches(
    wishes: Sequence[Wish], clashes: Mapping[tuple[int, int], Sequence[Interval]]
) -> list[tuple[tuple[int, ...], float, float]]:
    """The longest stretches on which the same joints are free and clash, each with those joints."""
    intervals = [*(free for wish in wishes for free in wish.free), *(one for found in clashes.values() for one in found)]
    stops = sorted({stop for interval in intervals for stop in interval})
    whole: list[tuple[tuple[int, ...], float, float]] = []
    for low, high in itertools.pairwise(stops):
        middle = (low + high) / 2
        if high - low < SAME_PLACE:
            continue
        active = [i for i, wish in enumerate(wishes) if _covers(wish.free, middle)]
        clashing = [pair for pair, found in clashes.items() if _covers(found, middle)]
        whole.extend((group, low, high) for group in _groups(active, clashing))
    merged: list[tuple[tuple[int, ...], float, float]] = []
    for group, low, high in sorted(whole):
        if merged and merged[-1][0] == group and low - merged[-1][2] < SAME_PLACE:
            merged[-1] = (group, merged[-1][1], high)
        else:
            merged.append((group, low, high))
    return merged


def _covers(intervals: Sequence[Interval], spot: float) -> bool:
    return any(low < spot < high for low, high in intervals)


def _groups(active: Sequence[int], clashing: Sequence[tuple[int, int]]) -> Iterator[tuple[int, ...]]:
    """Joints that clash with each other, directly or through others."""
    left = list(active)
    while left:
        group = [left.pop(0)]
        for member in group:
            near = [i for i in left if (min(i, member), max(i, member)) in clashing]
            group += near
            left = [i for i in left if i not in near]
        yield tuple(sorted(group))


def _those_that_fit(
    group: Sequence[int], wishes: Sequence[Wish], cells: Sequence[Sequence[Interval]], length: float, web: float
) -> tuple[int, ...]:
    """The joints of a group that find room beside each other: those first that have the least of what they want."""

    def has(i: int) -> Fraction:
        things = sum(max(0, math.floor((high - low + web + SAME_PLACE) / (wishes[i].width + web))) for low, high in cells[i])
        return Fraction(things, wishes[i].count)

    chosen: list[int] = []
    for i in sorted(group, key=lambda i: (has(i), i)):
        need = wishes[i].width + web
        if need <= length + SAME_PLACE:
            chosen.append(i)
            length -= need
    return tuple(sorted(chosen))


def _divided(group: Sequence[int], wishes: Sequence[Wish], line: Interval, web: float) -> Iterator[tuple[int, Interval]]:
    """Cells in turn over a stretch, as many for each joint as it wants things on this part of its line."""
    if not group:
        return
    length = line[1] - line[0]
    turns: dict[int, int] = {}
    for i in group:
        total = sum(high - low for low, high in wishes[i].free)
        turns[i] = max(1, math.floor(wishes[i].count * length / total + 0.5 + SAME_PLACE))
    needs = {i: wishes[i].width + web for i in group}
    while sum(turns[i] * needs[i] for i in group) > length + SAME_PLACE and max(turns.values()) > 1:
        turns[max(group, key=lambda i: (turns[i], i))] -= 1
    order = sorted((Fraction(2 * m + 1, 2 * turns[i]), i) for i in group for m in range(turns[i]))
    unit = length / sum(needs[i] for _, i in order)
    at = line[0]
    for _, i in order:
        yield i, (at, at + needs[i] * unit)
        at += needs[i] * unit


def _spaced(group: Sequence[int], wishes: Sequence[Wish], line: Interval, pitch: float) -> Iterator[tuple[int, Interval]]:
    """Cells of one pitch, each joint's a part of the pitch after those of the one before, centred on the stretch."""
    step = pitch / len(group)
    low, high = line
    number = math.floor((high - low - max(wishes[i].width for i in group)) / step + SAME_PLACE) + 1
    first = (low + high) / 2 - step * (number - 1) / 2
    for n in range(number):
        yield group[n % len(group)], (first + step * (n - 0.5), first + step * (n + 0.5))
