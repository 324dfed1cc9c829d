"""How many links of a strip really twist: counted from its slits as they come out, row by row.

The bridges of even and of odd columns stand half a period apart; between two such levels lies one *row* of links, side by side
across the bend.  Every row has to take the whole bend by itself.  A link is the sheet between the slits of two neighbouring
columns where they overlap, and it is *free* if at either end just one of the two slits goes on: then one end hangs on the
sheet on one side, the other end on that on the other.  Where slits stop short of a tab, a slot or a hole, both may end at one
level, and the sheet beyond is solid across the link: it is *locked*, and the others of its row turn the more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from panelwright.joints.spec.strip import Slit
from panelwright.plates.geometry.probe import Interval

from .slits import SLOPE_DEG, Lattice

__all__ = ["LinkRow", "link_rows", "plain_rows"]

STICK_OUT = 0.5
"""How far, in bridges, a slit has to go on beyond the end of its neighbour for a link to turn there: half of what it does
in a plain strip (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class LinkRow:
    """One row of links: `level` is the u of its middle, `free` how many of its links turn, mm for their lengths.

    `shortest` and `total` are the least and the sum of the lengths of the free ones.
    """

    level: float
    free: int
    shortest: float
    total: float


def plain_rows(lattice: Lattice, span: Interval) -> tuple[LinkRow, ...]:
    """The rows of a strip that nothing stands in the way of."""
    length = lattice.link_length
    return tuple(LinkRow(u, lattice.series, length, lattice.series * length) for u in _levels(lattice, span))


def link_rows(lattice: Lattice, span: Interval, slits: Sequence[Slit]) -> tuple[LinkRow, ...]:
    """The rows of a strip with these slits.  A strip of one column counts as one link wherever its slit is.

    >>> from .slits import Stretch, slits_of
    >>> lattice = Lattice("staggered", 5, 3.0, 0.2, 18.0, 3.0)
    >>> everywhere = [Stretch(0.0, 39.0, True, True)]
    >>> plan = slits_of(lattice, (0.0, 39.0), 16.0, lambda s0, s1: everywhere)
    >>> link_rows(lattice, (0.0, 39.0), plan) == plain_rows(lattice, (0.0, 39.0))
    True
    >>> under_a_tab = [Stretch(3.0, 39.0, False, True)]
    >>> plan = slits_of(lattice, (0.0, 39.0), 16.0, lambda s0, s1: under_a_tab if s0 < 6 else everywhere)
    >>> [row.free for row in link_rows(lattice, (0.0, 39.0), plan)]
    [2, 4, 4, 4]
    """
    slope = math.cos(math.radians(SLOPE_DEG)) if lattice.pattern == "chevron" else 1.0
    columns: list[list[Interval]] = [[] for _ in range(lattice.columns)]
    for slit in slits:
        columns[slit.column].append((slit.points[0][0], slit.points[-1][0]))
    found: list[LinkRow] = []
    for level in _levels(lattice, span):
        here = [next(((a, b) for a, b in column if a < level < b), None) for column in columns]
        if lattice.columns == 1:
            lengths = [lattice.link_length] if here[0] is not None else []
        else:
            reach = STICK_OUT * lattice.bridge
            lengths = [_free_length(a, b, reach) / slope for a, b in pairwise(here) if a and b]
        free = [length for length in lengths if length > 0]
        found.append(LinkRow(level, len(free), min(free, default=0.0), sum(free)))
    return tuple(found)


def _levels(lattice: Lattice, span: Interval) -> list[float]:
    first = span[0] + lattice.bridge / 2 + lattice.period / 4
    return [first + i * lattice.period / 2 for i in range(lattice.parallel(span[1] - span[0]))]


def _free_length(a: Interval, b: Interval, beyond: float) -> float:
    """Length of the link between two slits that overlap, 0 if it is locked."""
    low, high = max(a[0], b[0]), min(a[1], b[1])
    first_goes_on = (a[0] < low - beyond, a[1] > high + beyond)
    second_goes_on = (b[0] < low - beyond, b[1] > high + beyond)
    turns = first_goes_on[0] != second_goes_on[0] and first_goes_on[1] != second_goes_on[1]
    return high - low if turns and first_goes_on[0] != first_goes_on[1] else 0.0
