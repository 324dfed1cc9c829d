"""What a strip that bends between two plates tells: where it bends, its slits, and what is wrong with it.

A hinge's own strip (`joints/kinds/hinges`) satisfies `Strip`; the resolver and the proof know nothing else of hinges.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal, Protocol

from panelwright.joints.meeting.side import Bend
from panelwright.plates.geometry.curves import Arc, Line, Loop, Point, Segment, loop_through

__all__ = ["SLIT_RUN_OUT", "Free", "Place", "Slit", "Stretch", "Strip"]

SLIT_RUN_OUT = 1.0
"""How far a slit runs out over the border that it opens, mm."""

Place = Callable[[float, float], Point]
"""Where a point (u, s) of the strip lies in the panel; keeps lengths."""

Free = Callable[[float, float], Sequence["Stretch"]]
"""Where between two s slits may be."""


@dataclass(frozen=True, slots=True)
class Slit:
    """A slit in strip coordinates: corners of its middle line, from where the material ends to where it begins again, and its
    width, mm.

    `open_start` and `open_end` say that it runs out there, by `SLIT_RUN_OUT`; `column` is the number of its column.
    """

    points: tuple[Point, ...]
    width: float
    is_round: bool = False
    open_start: bool = False
    open_end: bool = False
    column: int = 0

    @property
    def length(self) -> float:
        """Length along the middle line, mm."""
        return sum(math.dist(p, q) for p, q in pairwise(self.points))

    def loop(self, place: Place) -> Loop:
        """The slit as a counter-clockwise loop in the panel."""
        half = self.width / 2
        if self.is_round:
            return self._obround(place)
        right = [place(*point) for point in _moved_aside(self.points, -half)]
        left = [place(*point) for point in _moved_aside(self.points, half)]
        return loop_through([*right, *reversed(left)]).counter_clockwise()

    def _obround(self, place: Place) -> Loop:
        (u0, s0), (u1, s1) = self.points[0], self.points[-1]
        length, half = self.length, self.width / 2
        du, ds = (u1 - u0) / length * half, (s1 - s0) / length * half
        first, last = (u0 + du, s0 + ds), (u1 - du, s1 - ds)
        a, b = place(first[0] + ds, first[1] - du), place(last[0] + ds, last[1] - du)
        c, d = place(last[0] - ds, last[1] + du), place(first[0] - ds, first[1] + du)
        turns_left = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) > 0
        sweep = math.pi if turns_left else -math.pi
        segments: list[Segment] = [Line(a, b), Arc(b, c, place(*last), sweep), Line(c, d), Arc(d, a, place(*first), sweep)]
        return Loop(tuple(segments)).counter_clockwise()

    def path(self, place: Place) -> tuple[Segment, ...]:
        """The middle line that a beam as wide as the slit follows: half its width short of closed ends.

        An open end starts half a width outside the border, where the path round the panel passes.
        """
        half = self.width / 2
        at_start = SLIT_RUN_OUT - half if self.open_start else half
        at_end = SLIT_RUN_OUT - half if self.open_end else half
        first = _towards(self.points[0], self.points[1], at_start)
        last = _towards(self.points[-1], self.points[-2], at_end)
        corners = [place(*point) for point in (first, *self.points[1:-1], last)]
        return tuple(Line(p, q) for p, q in pairwise(corners))


@dataclass(frozen=True, slots=True)
class Stretch:
    """Where slits of one column may be: an interval of u, and whether either end is a border that slits may open."""

    low: float
    high: float
    opens_low: bool = False
    opens_high: bool = False


class Strip(Protocol):
    """The bent strip between two plates, as the resolver and the proof see it; s counts from the first plate's edge."""

    @property
    def kind(self) -> str:
        """The kind of joint that it belongs to, for messages."""
        ...

    @property
    def bend(self) -> Bend:
        """Where it bends."""
        ...

    @property
    def panel(self) -> str | None:
        """What the panel is to be called, if the design says."""
        ...

    @property
    def bridge(self) -> float:
        """What stays between two slits of one column, mm."""
        ...

    @property
    def figures(self) -> dict[str, float]:
        """What a finding about it tells, with units in the keys."""
        ...

    @property
    def numbers(self) -> dict[str, Any]:
        """Its settled sizes and what its mechanics say, for people and for the manifest."""
        ...

    @property
    def remarks(self) -> tuple[tuple[Literal["error", "warning", "note"], str], ...]:
        """What is wrong with it, and what would help."""
        ...

    def slits(self, free: Free | None) -> list[Slit]:
        """The slits, where `free` says that they may be (None: everywhere)."""
        ...

    def in_place(self, free: Free | None) -> Strip:
        """The same settled anew, with links that count only where `free` lets slits be."""
        ...


def _towards(start: Point, end: Point, by: float) -> Point:
    share = by / math.dist(start, end)
    return (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)


def _moved_aside(points: Sequence[Point], by: float) -> list[Point]:
    """A chain of straight legs moved to its left, mitred at its corners, ends square to their legs."""
    ways: list[tuple[float, float]] = []
    for (u0, s0), (u1, s1) in pairwise(points):
        length = math.hypot(u1 - u0, s1 - s0)
        ways.append(((u1 - u0) / length, (s1 - s0) / length))
    moved: list[tuple[float, float]] = []
    for number, (u, s) in enumerate(points):
        (a, b), (c, d) = ways[max(0, number - 1)], ways[min(number, len(ways) - 1)]
        # the sum of both normals, long enough to be `by` away from either leg
        share = by / (1 + a * c + b * d)
        moved.append((u - (b + d) * share, s + (a + c) * share))
    return moved
