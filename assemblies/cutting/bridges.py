"""Holding bridges: gaps in a cut that keep a part in its sheet until somebody breaks it out."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate, pairwise
from typing import Final

from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.curves import Arc, Line, Point
from panelwright.plates.tolerances import RELATIVE_ROUNDING

from .chains import Stretch, of_lines_and_arcs, without_stretches
from .path import CutPath

__all__ = ["with_bridges"]

GUARD: Final = 1.0
"""Distance in mm that a bridge keeps from the ends of a straight stretch: corners break out badly (common practice)."""

LEAST_SHARE: Final = 3.0
"""The path must be this many times as long as all gaps together, or little is cut."""

PLACES: Final = 64
"""Places that are tried where a bridge has to go round corners."""

HALVINGS: Final = 40
"""Steps of the search for the ends of a gap that is not straight: far below a micrometre."""


def with_bridges(path: CutPath, *, width_mm: float, kerf_mm: float, count: int) -> tuple[CutPath, ...]:
    """A closed cut as open ones, with `count` bridges of `width_mm` between them, as wide as that after cutting.

    The bridges are spread evenly along the path, each on the middle of its share of it or else on the straight stretch nearest
    to there, away from corners; where there is none, on an arc, and at last round corners, where that leaves the least uncut.
    The beam takes half a kerf from both sides of a bridge, so gaps are a kerf wider, measured straight from end to end.

    Raises `SizeError` for a path that is too short for that, or too jagged.

    >>> from panelwright.plates import rectangle
    >>> board = CutPath("outside", rectangle(100, 60).loops[0].segments, 0)
    >>> [round(part.length_mm, 3) for part in with_bridges(board, width_mm=0.8, kerf_mm=0.2, count=2)]
    [159.0, 159.0]
    """
    gap = width_mm + kerf_mm
    ring = _Ring(of_lines_and_arcs(path.segments))
    if ring.length < LEAST_SHARE * count * gap:
        raise SizeError(
            f"a cut of {ring.length:.1f} mm is too short for {count} bridges of {width_mm:g} mm; give fewer or narrower ones",
            value=ring.length,
            limit=LEAST_SHARE * count * gap,
        )
    share = ring.length / count
    stretches: list[Stretch] = []
    for k in range(count):
        found = ring.gap_between(k * share + gap, (k + 1) * share - gap, gap)
        if found is None:
            raise SizeError(
                f"a cut of {ring.length:.1f} mm turns too sharply for {count} bridges of {width_mm:g} mm; "
                "give fewer or narrower ones",
                value=width_mm,
            )
        stretches.append(found)
    chains = without_stretches(ring.segments, stretches)
    return tuple(CutPath(path.kind, chain, path.piece) for chain in chains)


class _Ring:
    """A closed path on which places are told by the distance travelled."""

    def __init__(self, segments: Sequence[Line | Arc]) -> None:
        self.segments = segments
        self._ends = list(accumulate(segment.length for segment in segments))
        self.length = self._ends[-1]

    def gap_between(self, low: float, high: float, gap: float) -> Stretch | None:
        """Where to leave a gap of that size, its middle between two distances; None if there is no such place."""
        wanted = (low + high) / 2
        for kind in (Line, Arc):
            places = self._clear_places(low, high, gap, kind)
            if places:
                found = self._widened(min(places, key=lambda place: abs(place - wanted)), low, high, gap)
                if found is not None:
                    return found
        tried = [
            (stretch[1] - stretch[0], abs(place - wanted), stretch)
            for k in range(PLACES + 1)
            for place in (low + (high - low) * k / PLACES,)
            for stretch in (self._widened(place, low, high, gap),)
            if stretch is not None
        ]
        # what differs by less than a hundredth of a gap is as good, so that the middle of the share is kept to
        return min(tried, key=lambda one: (round(one[0] / gap, 2), one[1]))[2] if tried else None

    def _clear_places(self, low: float, high: float, gap: float, kind: type[Line | Arc]) -> list[float]:
        """On each segment of a kind the place nearest to the middle where the gap stays clear of the segment's ends."""
        wanted, at = (low + high) / 2, 0.0
        found: list[float] = []
        for segment in self.segments:
            guard = min(GUARD, segment.length / 4) + gap / 2
            a, b = max(low, at + guard), min(high, at + segment.length - guard)
            at += segment.length
            if a <= b and isinstance(segment, kind):
                found.append(min(max(wanted, a), b))
        return found

    def _widened(self, middle: float, low: float, high: float, gap: float) -> Stretch | None:
        """The shortest stretch about `middle` whose ends are `gap` apart, not much beyond `low` and `high`."""
        least, most = gap / 2, min(middle - low, high - middle) + gap / 2
        if math.dist(self._at(middle - least), self._at(middle + least)) >= gap * (1 - RELATIVE_ROUNDING):
            return middle - least, middle + least
        # ends further apart on the path may come nearer again, so the first step that suffices is looked for
        steps = [least + (most - least) * k / PLACES for k in range(PLACES + 1)]
        for before, after in pairwise(steps):
            if math.dist(self._at(middle - after), self._at(middle + after)) >= gap:
                for _ in range(HALVINGS):
                    half = (before + after) / 2
                    is_wide = math.dist(self._at(middle - half), self._at(middle + half)) >= gap
                    before, after = (before, half) if is_wide else (half, after)
                return middle - after, middle + after
        return None

    def _at(self, distance: float) -> Point:
        k = min(bisect_right(self._ends, distance), len(self.segments) - 1)
        segment = self.segments[k]
        return segment.point_at(min(1.0, max(0.0, 1 - (self._ends[k] - distance) / segment.length)))
