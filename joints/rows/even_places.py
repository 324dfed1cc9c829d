"""Where things go along a joint line: evenly over what is free, a web apart, alike from both ends where the line is.

What is free is a list of stretches.  At an end of a stretch more may be *wanted*: a web to the end of the plate, which is kept
if there is room for it.  All of this goes by nominal sizes, never by clearance, so that another clearance moves nothing.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Sequence

from panelwright.plates.geometry.probe import Interval
from panelwright.plates.tolerances import ROUNDING, SAME_PLACE

__all__ = ["Wanted", "largest_share", "room_for", "spread", "widest"]

Wanted = Sequence[tuple[float, float]]
"""For each stretch what is wanted free at its low end and at its high end, mm."""


def room_for(free: Sequence[Interval], width: float, gap: float | None = None) -> int:
    """How many things of `width` mm fit at most, `gap` mm apart from each other (by default their own width).

    >>> room_for([(0, 35)], 10), room_for([(0, 35)], 10, 2)
    (2, 3)
    """
    apart = width if gap is None else gap
    return sum(max(0, math.floor((high - low + apart + ROUNDING) / (width + apart))) for low, high in free)


def widest(free: Sequence[Interval], count: int, web: float, wanted: Wanted = ()) -> float:
    """The greatest width at which `count` things fit, `web` mm apart and what is wanted free at the ends; else 0 or less.

    >>> widest([(0, 17)], 1, 4, [(4, 4)]), widest([(0, 40), (60, 80)], 3, 4)
    (9.0, 18.0)
    """
    own = wanted or [(0.0, 0.0)] * len(free)
    lengths = [high - low - a - b for (low, high), (a, b) in zip(free, own, strict=True)]
    return _fullest(count, len(free), lambda k, number: (lengths[k] + web) / number - web)


def largest_share(free: Sequence[Interval], count: int, width: float, web: float, wanted: Wanted = ()) -> float:
    """The greatest share of their sizes at which `count` things of `width`, their webs and what is wanted at the ends fit.

    >>> largest_share([(0, 10)], 2, 4, 4, [(4, 4)])
    0.5
    """
    own = wanted or [(0.0, 0.0)] * len(free)

    def share(k: int, number: int) -> float:
        low, high = free[k]
        return (high - low) / (number * width + (number - 1) * web + sum(own[k]))

    return _fullest(count, len(free), share)


def _fullest(count: int, stretches: int, value: Callable[[int, int], float]) -> float:
    """The greatest least value that dealing out `count` things leaves; `value` of a stretch falls with each one more."""
    heap = [(-value(k, 1), k, 1) for k in range(stretches)]
    heapq.heapify(heap)
    least = math.inf if heap else 0.0
    for _ in range(count if heap else 0):
        negative, k, number = heapq.heappop(heap)
        least = min(least, -negative)
        heapq.heappush(heap, (-value(k, number + 1), k, number + 1))
    return least


def spread(free: Sequence[Interval], count: int, width: float, web: float = 0.0, wanted: Wanted = ()) -> list[float] | None:
    """Middles of `count` things of `width` mm, spread evenly over the free stretches; None if they don't fit.

    Each thing sits in the middle of an equal share of the free length, so the gaps at the ends are half the gaps between; where
    that would leave less than `web` between two, or less than is `wanted` at an end, the others give way.  Where there is no
    room for all webs, all are thinner in the same proportion.  Where a stretch ends inside a share, the things of each stretch
    are spread anew within it; stretches that are alike from both ends get numbers that are, if there are such.

    >>> spread([(0, 100)], 2, 10)
    [25.0, 75.0]
    >>> spread([(0, 31)], 2, 12, web=4), spread([(0, 40)], 2, 12, web=4, wanted=[(4, 4)])
    ([7.5, 23.5], [10.0, 30.0])
    >>> spread([(0, 20), (30, 50), (60, 80), (90, 110)], 2, 8)
    [10.0, 100.0]
    >>> spread([(0, 8)], 1, 10) is None
    True
    """
    own = wanted or [(0.0, 0.0)] * len(free)
    usable = [(span, ends) for span, ends in zip(free, own, strict=True) if span[1] - span[0] >= width - ROUNDING]
    lengths = [high - low for (low, high), _ in usable]
    with_webs = [
        max(0, math.floor((length - sum(ends) + web + ROUNDING) / (width + web)))
        for length, (_, ends) in zip(lengths, usable, strict=True)
    ]
    most = with_webs if sum(with_webs) >= count else [max(1, math.floor((n + ROUNDING) / width)) for n in lengths]
    numbers = _numbers(lengths, most, count)
    if numbers is None:
        return None
    return [
        middle
        for (span, ends), number in zip(usable, numbers, strict=True)
        for middle in _within(span, number, width, web, ends)
    ]


def _within(span: Interval, number: int, width: float, web: float, wanted: tuple[float, float]) -> list[float]:
    """Middles of things in one stretch."""
    if number == 0:
        return []
    low, high = span
    share = (high - low) / number
    slack = high - low - number * width
    least = {"low": wanted[0], "between": web if number > 1 else 0.0, "high": wanted[1]}
    weight = {"low": 1, "between": 2, "high": 1}
    times = {"low": 1, "between": number - 1, "high": 1}
    needed = sum(least[gap] * times[gap] for gap in least)
    if needed >= slack:
        gaps = {gap: least[gap] * slack / needed if needed else 0.0 for gap in least}
    else:
        # those that would be too narrow are held at their least, until what is left over is enough for the others
        held: set[str] = set()
        while True:
            loose = [gap for gap in least if gap not in held]
            unit = (slack - sum(least[gap] * times[gap] for gap in held)) / sum(weight[gap] * times[gap] for gap in loose)
            gaps = {gap: least[gap] if gap in held else weight[gap] * unit for gap in least}
            thin = [gap for gap in loose if times[gap] and gaps[gap] < least[gap] - ROUNDING]
            if not thin:
                break
            held.update(thin)
        if not held:
            return [low + share * (i + 0.5) for i in range(number)]
    return [low + gaps["low"] + width / 2 + i * (width + gaps["between"]) for i in range(number)]


def _numbers(lengths: Sequence[float], most: Sequence[int], count: int) -> list[int] | None:
    """How many things go on each stretch: by length, remainders to the largest shares left; None if there is no room."""
    total = sum(lengths)
    if total <= 0 or sum(most) < count:
        return None
    n = len(lengths)
    numbers = [min(math.floor(count * length / total + SAME_PLACE), top) for length, top in zip(lengths, most, strict=True)]
    room = list(most)
    middle = n // 2 if n % 2 else None
    left = count - sum(numbers)
    is_alike = all(abs(lengths[i] - lengths[n - 1 - i]) < SAME_PLACE and most[i] == most[n - 1 - i] for i in range(n // 2))
    if is_alike and left % 2 and middle is not None and room[middle]:
        # only the stretch in the middle can hold an odd one
        step = 1 if numbers[middle] < room[middle] else -1
        numbers[middle] += step
        left -= step
        room[middle] = room[middle] if step > 0 else numbers[middle]
    # alike from both ends: dealt out to stretches and their mirror images at once, two to the one in the middle
    pairs = is_alike and left % 2 == 0
    units: list[tuple[int, ...]] = [(i, n - 1 - i) for i in range((n + 1) // 2)] if pairs else [(i,) for i in range(n)]
    while left > 0:
        step = 2 if pairs else 1
        adds = {unit: (step if unit[0] == unit[-1] else 1) for unit in units}
        options = [unit for unit in units if numbers[unit[0]] + adds[unit] <= room[unit[0]]]
        if not options:
            units, pairs = [(i,) for i in range(n)], False
            continue
        shares = {unit: lengths[unit[0]] / (numbers[unit[0]] + adds[unit]) for unit in options}
        best = [unit for unit in options if shares[unit] > max(shares.values()) - SAME_PLACE]
        for unit in _evenly(best, min(left // step, len(best)), outwards=not pairs):
            for i in set(unit):
                numbers[i] += adds[unit]
                left -= adds[unit]
    return numbers


def _evenly(units: Sequence[tuple[int, ...]], count: int, *, outwards: bool) -> list[tuple[int, ...]]:
    """So many of some, evenly apart; one that falls between two goes to the outer one, seen from the middle if `outwards`."""
    found: list[tuple[int, ...]] = []
    for i in range(count):
        place = (2 * i + 1) * len(units)  # in units of 1 / (2 · count), so that ties are exact
        index = place // (2 * count)
        is_between = place % (2 * count) == 0
        if is_between and (not outwards or 2 * i + 1 <= count):
            index -= 1
        found.append(units[max(0, index)])
    return found
