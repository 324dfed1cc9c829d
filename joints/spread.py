"""Where tabs go along a joint line: evenly over what is free."""

from __future__ import annotations

import math
from collections.abc import Sequence

from panelwright.plates.probe import Interval

__all__ = ["room_for", "spread"]

TIE = 1e-6
"""Shares of a line nearer to each other than this are equal, mm: rounding from how the product stands must not choose."""


def room_for(free: Sequence[Interval], width: float) -> int:
    """How many things of `width` mm fit at most, a width apart from each other.

    >>> room_for([(0, 35)], 10)
    2
    """
    return sum(max(0, math.floor((high - low + width + 1e-9) / (2 * width))) for low, high in free)


def spread(free: Sequence[Interval], count: int, width: float) -> list[float] | None:
    """Middles of `count` things of `width` mm, spread evenly over the free stretches; None if they don't fit.

    Each thing sits in the middle of an equal share of the free length, so the gaps at the ends are half the gaps between.
    Where a stretch ends inside a share, the things of each stretch are spread anew within it.

    >>> spread([(0, 100)], 2, 10)
    [25.0, 75.0]
    >>> spread([(0, 8)], 1, 10) is None
    True
    """
    usable = [(low, high) for low, high in free if high - low >= width - 1e-9]
    total = sum(high - low for low, high in usable)
    if total <= 0:
        return None
    # each stretch takes its share by length; remainders go to the longest remaining gap, left to right
    numbers = [math.floor(count * (high - low) / total + TIE) for low, high in usable]
    room = [max(1, math.floor((high - low + 1e-9) / width)) for low, high in usable]
    numbers = [min(n, most) for n, most in zip(numbers, room, strict=True)]
    while sum(numbers) < count:
        options = [i for i in range(len(usable)) if numbers[i] < room[i]]
        if not options:
            return None
        shares = {i: (usable[i][1] - usable[i][0]) / (numbers[i] + 1) for i in options}
        best = next(i for i in options if shares[i] > max(shares.values()) - TIE)
        numbers[best] += 1
    middles: list[float] = []
    for (low, high), number in zip(usable, numbers, strict=True):
        share = (high - low) / number if number else 0.0
        middles.extend(low + share * (i + 0.5) for i in range(number))
    return middles
