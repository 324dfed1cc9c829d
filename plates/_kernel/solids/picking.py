"""What a selector picks: CadQuery's rules and tolerances, on plain numbers.

The rules are those of CadQuery 2's selector classes (`cadquery/selectors.py`), with their tolerance and where it applies: to
the angle between two directions in radians, to the length of the product of a direction as written and a unit normal, and to
how far the middles of one rank lie apart along the direction as written.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

from panelwright.plates.geometry.frame import Vector, cross, dot
from panelwright.plates.tolerances import SELECTOR_TOLERANCE

from .selector_syntax import Along, Combine, OfType, Ranked, Selector

__all__ = ["Seen", "picked_by"]


class Seen(Protocol):
    """What a selector sees of a face or a corner."""

    @property
    def kind(self) -> str:
        """The kind of its surface, such as "PLANE"."""
        ...

    @property
    def normal(self) -> Vector | None:
        """The unit vector that a flat face looks along; None for all else."""
        ...

    @property
    def middle(self) -> Vector:
        """Its centre of area in mm; where a corner lies."""
        ...


def picked_by(selector: Selector, seen: Sequence[Seen]) -> list[int]:
    """Numbers of those that a selector picks, in rising order.

    Where any part of the selector counts beyond the end of what there is, the whole picks nothing, as in CadQuery.
    """
    picks: list[set[int]] = []
    for step in selector:
        if isinstance(step, Ranked):
            rank = _rank(step, seen)
            if rank is None:
                return []
            picks.append(rank)
        elif isinstance(step, OfType):
            picks.append({number for number, one in enumerate(seen) if one.kind == step.kind})
        elif isinstance(step, Along):
            picks.append(_along(step, seen))
        else:
            _combine(step, picks, len(seen))
    return sorted(picks.pop())


def _combine(step: Combine, picks: list[set[int]], count: int) -> None:
    last = picks.pop()
    if step.word == "not":
        picks.append(set(range(count)) - last)
    elif step.word == "and":
        picks[-1] &= last
    elif step.word == "or":
        picks[-1] |= last
    else:
        picks[-1] -= last


def _along(step: Along, seen: Sequence[Seen]) -> set[int]:
    found = set()
    for number, one in enumerate(seen):
        normal = one.normal
        if normal is None:
            continue
        if step.sign == "|":
            holds = math.hypot(*cross(step.direction, normal)) < SELECTOR_TOLERANCE
        else:
            angle = math.atan2(math.hypot(*cross(step.direction, normal)), dot(step.direction, normal))
            off = {"+": angle, "-": math.pi - angle, "#": abs(angle - math.pi / 2)}[step.sign]
            holds = off < SELECTOR_TOLERANCE
        if holds:
            found.add(number)
    return found


def _rank(step: Ranked, seen: Sequence[Seen]) -> set[int] | None:
    """Those at one place along a direction; None where there is no such place."""
    counted = _along(Along("|", step.direction), seen) if step.is_parallel else range(len(seen))
    heights = sorted((dot(seen[number].middle, step.direction), number) for number in counted)
    ranks: list[set[int]] = []
    start = math.nan
    for height, number in heights:
        if abs(height - start) <= SELECTOR_TOLERANCE:
            ranks[-1].add(number)
        else:
            ranks.append({number})
            start = height
    if not step.is_upward:
        ranks.reverse()
    return ranks[step.index] if -len(ranks) <= step.index < len(ranks) else None
