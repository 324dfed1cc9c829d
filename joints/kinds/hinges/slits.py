"""Patterns of slits that make a flat strip flexible.

Strip coordinates: u along the bend's axis, s across it from one bend line to the other, in mm.  Slits stand in columns
along u, a *link* apart; neighbouring columns are shifted by half a *period*, so that the ends of their slits overlap and
the sheet between them twists.  A *bridge* is what stays between two slits of one column.

- ``staggered``: straight slits of the beam's own width, each cut in one pass.
- ``obround``: the same columns with wide slits that end in half circles, which spread the stress and shed dust.
- ``chevron``: slits of the beam's width that all follow one zigzag: links are aslant, so the strip also gives a little when
  it is bent about the other axis or pulled along its own.

Guarantees: a slit either runs out over a plain border or ends at least a bridge away from it, and keeps out of whatever else
the plan is told of.  Columns with bridges on both borders have whole bridges there, so that links next to a border are as
long as all others.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from panelwright.joints.spec.strip import SLIT_RUN_OUT, Slit, Stretch
from panelwright.plates.geometry.curves import Point
from panelwright.plates.geometry.probe import Interval
from panelwright.plates.tolerances import ROUNDING

__all__ = ["PATTERNS", "Lattice", "Pattern", "slits_of"]

Pattern = Literal["staggered", "obround", "chevron"]

PATTERNS: tuple[Pattern, ...] = ("staggered", "obround", "chevron")


SLOPE_DEG = 20.0
"""How far the legs of chevrons lean away from the axis."""

SLOPE = math.tan(math.radians(SLOPE_DEG))


@dataclass(frozen=True, slots=True)
class Lattice:
    """Settled sizes of a pattern, mm.

    `columns` of slits across the bend, `link` between two columns, `width` of a slit, `period` along the axis, `bridge` between
    two slits of one column.
    """

    pattern: Pattern
    columns: int
    link: float
    width: float
    period: float
    bridge: float

    @property
    def pitch(self) -> float:
        """From column to column, mm."""
        return self.link + self.width

    @property
    def slit_length(self) -> float:
        """Length along the axis of a slit that is closed at both ends, mm."""
        return self.period - self.bridge

    @property
    def link_width(self) -> float:
        """Width of the bar that twists, square to its own length, mm."""
        if self.pattern == "chevron":
            return self.pitch * math.cos(math.radians(SLOPE_DEG)) - self.width
        return self.link

    @property
    def link_length(self) -> float:
        """Free length of a link: what slits of neighbouring columns overlap by, mm."""
        overlap = (self.slit_length - self.bridge) / 2
        return overlap / math.cos(math.radians(SLOPE_DEG)) if self.pattern == "chevron" else overlap

    @property
    def swing(self) -> float:
        """How far a slit leaves its column to either side, mm."""
        return SLOPE * self.period / 8 if self.pattern == "chevron" else 0.0

    @property
    def series(self) -> int:
        """How many columns of links twist one after another."""
        return max(1, self.columns - 1)

    def periods(self, height: float) -> int:
        """How many periods there are over a height in mm: from the bridge at one border to that at the other."""
        return max(1, round((height - self.bridge) / self.period))

    def parallel(self, height: float) -> int:
        """How many links twist side by side over a height in mm."""
        return 2 * self.periods(height)


def slits_of(lattice: Lattice, span: Interval, length: float, free: Callable[[float, float], Sequence[Stretch]]) -> list[Slit]:
    """All slits of a strip, column by column.

    `span` is the strip's interval of u, `length` its size across; the columns stand in its middle.  `free(s0, s1)` says where
    between two s slits may be.

    >>> lattice = Lattice("staggered", 2, 3.0, 0.2, 18.0, 4.0)
    >>> plan = slits_of(lattice, (0.0, 40.0), 6.4, lambda s0, s1: [Stretch(0.0, 40.0, True, True)])
    >>> [(round(slit.points[0][0], 3), round(slit.points[-1][0], 3)) for slit in plan]
    [(4.0, 18.0), (22.0, 36.0), (-1.0, 9.0), (13.0, 27.0), (31.0, 41.0)]
    """
    found: list[Slit] = []
    aside = lattice.width / 2 + lattice.swing
    for column in range(lattice.columns):
        s = length / 2 + (column - (lattice.columns - 1) / 2) * lattice.pitch
        # bridges stand at whole periods in one column, first and last right at the borders, and half-way between in the next
        offset = 0.0 if column % 2 == 0 else lattice.period / 2
        for stretch in free(s - aside, s + aside):
            for low, high in _wanted(lattice, span, offset):
                slit = _kept(lattice, span, s, (low, high), stretch, column)
                if slit is not None:
                    found.append(slit)
    return found


def _wanted(lattice: Lattice, span: Interval, offset: float) -> list[Interval]:
    """Intervals of u between the bridges of a column, one beyond either end of the span included."""
    half = lattice.bridge / 2
    first = span[0] + half + offset
    spots = [first + i * lattice.period for i in range(-1, lattice.periods(span[1] - span[0]) + 2)]
    return [(low + half, high - half) for low, high in pairwise(spots)]


def _kept(lattice: Lattice, span: Interval, s: float, wanted: Interval, stretch: Stretch, column: int) -> Slit | None:
    """What is left of a slit inside a stretch; None if that is next to nothing."""
    low, high = wanted
    bridge = lattice.bridge
    # a slit that would only nick the border leaves it whole
    opens_low = stretch.opens_low and low < stretch.low - ROUNDING < high - bridge
    opens_high = stretch.opens_high and high > stretch.high + ROUNDING > low + bridge
    start = stretch.low - SLIT_RUN_OUT if opens_low else max(low, stretch.low + (bridge if stretch.opens_low else 0.0))
    end = stretch.high + SLIT_RUN_OUT if opens_high else min(high, stretch.high - (bridge if stretch.opens_high else 0.0))
    if end - start < bridge + lattice.width - ROUNDING:
        return None
    points = [(start, s), (end, s)]
    if lattice.pattern == "chevron":
        points = [(u, s + off) for u, off in _zigzag(lattice, span[0] + bridge / 2, start, end)]
    return Slit(tuple(points), lattice.width, lattice.pattern == "obround", opens_low, opens_high, column)


def _zigzag(lattice: Lattice, origin: float, start: float, end: float) -> list[Point]:
    """Corners of one wave for all columns, half a period long, between two u."""
    leg = lattice.period / 4

    def height(u: float) -> float:
        turn = ((u - origin) / leg) % 2.0
        return SLOPE * leg * (abs(turn - 1.0) - 0.5)

    first = math.floor((start - origin) / leg) + 1
    last = math.ceil((end - origin) / leg) - 1
    corners = [origin + i * leg for i in range(first, last + 1)]
    near = lattice.width
    inner = [u for u in corners if start + near < u < end - near]
    return [(u, height(u)) for u in (start, *inner, end)]
