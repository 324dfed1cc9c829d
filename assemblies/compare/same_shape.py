"""Whether two panels are one shape, and how the one is carried onto the other.

A shape is the same whether it is drawn turned or, where both faces are good and nothing is engraved, turned over.  How a plate
stands is compared by motions: those that carry a shape onto itself leave a plate where it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cached_property

from panelwright.plates.geometry.congruence import all_carrying
from panelwright.plates.geometry.curves import Arc, Segment
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.tolerances import CONTACT_TOLERANCE, LEAST_LINE

from .version import Shape

__all__ = ["Carriers", "Likeness"]

MOST_MOTIONS = 64
"""So many ways onto itself are looked at, of each hand: a ring of more teeth than that is round for whoever looks."""


def _near_keys(a: Shape, b: Shape) -> bool:
    (loops, segments, area, border), (others, their, wide, long) = a.key, b.key
    # a value on the border between two tenths may be rounded to either side
    return (loops, segments) == (others, their) and abs(area - wide) < 0.15 and abs(border - long) < 0.15


class Carriers:
    """The motions that carry one shape onto another: direct ones, and those that turn left into right."""

    def __init__(self, first: Shape, second: Shape) -> None:
        self.first, self.second = first, second

    def _found(self, *, is_mirrored: bool) -> tuple[Motion, ...]:
        if not _near_keys(self.first, self.second):
            return ()
        a, b = self.first, self.second
        found = []
        for motion in all_carrying(a.loops, b.loops, is_mirrored=is_mirrored, has_grain=a.sheet.has_grain):
            if _marks_match(a.marks, b.marks, motion):
                found.append(motion)
            if len(found) == MOST_MOTIONS:
                break
        return tuple(found)

    @cached_property
    def direct(self) -> tuple[Motion, ...]:
        """Those that leave the show face where it is."""
        return self._found(is_mirrored=False)

    @cached_property
    def mirrored(self) -> tuple[Motion, ...]:
        """Those that turn left into right."""
        return self._found(is_mirrored=True)

    @property
    def is_same_panel(self) -> bool:
        """Whether a piece of the one will do for the other, turned over where its sheet allows it."""
        if not self.first.sheet.is_like(self.second.sheet):
            return False
        return bool(self.direct) or (self._may_flip and bool(self.mirrored))

    @property
    def is_same_shape(self) -> bool:
        """Whether they are the same shape or mirror images, whatever they are cut from."""
        return bool(self.direct) or bool(self.mirrored)

    @property
    def _may_flip(self) -> bool:
        return self.first.sheet.both_faces_good and not self.first.marks

    @cached_property
    def is_round(self) -> bool:
        """Whether every turn about the middle carries it too: nothing but circles about one centre."""
        circles = [loop.segments[0] for loop in self.first.loops if loop.is_circle]
        centers = [circle.center for circle in circles if isinstance(circle, Arc)]
        return (
            len(centers) == len(self.first.loops)
            and not self.first.marks
            and not self.first.sheet.has_grain
            and all(math.dist(center, centers[0]) < CONTACT_TOLERANCE for center in centers)
        )

    def has(self, motion: Motion) -> bool:
        """Whether this motion carries the first onto the second, but for what is too little to count."""
        if self.is_round:
            return bool(self.direct) and math.dist(motion.apply(self.first.middle), self.second.middle) < LEAST_LINE
        wide, high = self.first.size_mm
        spots = ((0.0, 0.0), (wide, 0.0), (0.0, high))
        known = self.mirrored if motion.flips else self.direct
        return any(all(math.dist(motion.apply(p), other.apply(p)) < LEAST_LINE for p in spots) for other in known)


class Likeness:
    """Which shapes of two versions are the same, each pair looked at once."""

    def __init__(self) -> None:
        self._known: dict[tuple[int, int], Carriers] = {}
        self._kept: list[Shape] = []  # ids are those of living objects only as long as these live

    def of(self, first: Shape, second: Shape) -> Carriers:
        """The motions that carry the first onto the second."""
        key = (id(first), id(second))
        if key not in self._known:
            self._kept += [first, second]
            self._known[key] = Carriers(first, second)
        return self._known[key]


def _marks_match(a: Sequence[Sequence[Segment]], b: Sequence[Sequence[Segment]], motion: Motion) -> bool:
    """Whether what is engraved on the one comes to lie on what is engraved on the other; never the wrong way round."""
    if not a and not b:
        return True
    if len(a) != len(b) or motion.flips:
        return False
    moved, there = (_spots(chains) for chains in ([[s.moved(motion) for s in chain] for chain in a], b))
    if len(moved) != len(there):
        return False
    import shapely

    tree = shapely.STRtree(shapely.points(there))
    near = tree.query(shapely.points(moved), predicate="dwithin", distance=CONTACT_TOLERANCE)
    return len(set(near[0].tolist())) == len(moved) and len(set(near[1].tolist())) == len(there)


def _spots(chains: Iterable[Sequence[Segment]]) -> list[tuple[float, float]]:
    return [spot for chain in chains for s in chain for spot in (s.start, s.point_at(0.5), s.end)]
