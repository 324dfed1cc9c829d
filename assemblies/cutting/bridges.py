"""Holding bridges: gaps in a cut that keep a part in its sheet until somebody breaks it out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from panelwright.plates.curves import Arc, Line
from panelwright.plates.errors import SizeError

from .chains import of_lines_and_arcs, without_stretches
from .path import CutPath

__all__ = ["with_bridges"]

GUARD: Final = 1.0
"""Distance in mm that a bridge keeps from the ends of a straight stretch: corners break out badly (common practice)."""

LEAST_SHARE: Final = 3.0
"""The path must be this many times as long as all gaps together, or little is cut."""


def with_bridges(path: CutPath, *, width_mm: float, kerf_mm: float, count: int) -> tuple[CutPath, ...]:
    """A closed cut as open ones, with `count` bridges of `width_mm` between them, as wide as that after cutting.

    The bridges are spread evenly along the path, each on the middle of its share of it or else on the straight stretch nearest
    to there, away from corners.  The beam takes half a kerf from both sides of a bridge, so gaps in the path are a kerf wider.

    Raises `SizeError` for a path that is too short for that.

    >>> from panelwright.plates import rectangle
    >>> board = CutPath("outside", rectangle(100, 60).loops[0].segments, 0)
    >>> [round(part.length_mm, 3) for part in with_bridges(board, width_mm=0.8, kerf_mm=0.2, count=2)]
    [159.0, 159.0]
    """
    gap = width_mm + kerf_mm
    ring = of_lines_and_arcs(path.segments)
    total = math.fsum(segment.length for segment in ring)
    if total < LEAST_SHARE * count * gap:
        raise SizeError(
            f"a cut of {total:.1f} mm is too short for {count} bridges of {width_mm:g} mm; give fewer or narrower ones",
            value=total,
            limit=LEAST_SHARE * count * gap,
        )
    share = total / count
    middles = [_middle(ring, k * share + gap, (k + 1) * share - gap, gap) for k in range(count)]
    stretches = []
    for middle in middles:
        low, high = middle - gap / 2, middle + gap / 2
        # a stretch over the ring's start is one at its end and one at its start
        stretches += [(low, high)] if low >= 0 and high <= total else [(low % total, total), (0.0, high % total)]
    chains = without_stretches(ring, stretches)
    return tuple(CutPath(path.kind, chain, path.piece) for chain in chains)


def _middle(ring: Sequence[Line | Arc], low: float, high: float, gap: float) -> float:
    """Where a bridge goes between two distances along the ring: straight stretches first, then any but a corner."""
    wanted = (low + high) / 2
    for only_straight in (True, False):
        best: float | None = None
        at = 0.0
        for segment in ring:
            guard = min(GUARD, segment.length / 4) + gap / 2
            a, b = max(low, at + guard), min(high, at + segment.length - guard)
            at += segment.length
            if b < a or (only_straight and not isinstance(segment, Line)):
                continue
            place = min(max(wanted, a), b)
            if best is None or abs(place - wanted) < abs(best - wanted):
                best = place
        if best is not None:
            return best
    return wanted
