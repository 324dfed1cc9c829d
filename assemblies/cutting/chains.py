"""Rings broken into open chains: stretches of them, told by the distance travelled, are left out."""

from __future__ import annotations

import math
from collections.abc import Sequence

from panelwright.plates.geometry.biarcs import as_arcs
from panelwright.plates.geometry.curves import Arc, Line, Segment
from panelwright.plates.tolerances import BROKEN_RING_ARCS, ROUNDING

__all__ = ["Stretch", "of_lines_and_arcs", "without_stretches"]

Stretch = tuple[float, float]
"""From where to where along a path, in mm travelled."""


def of_lines_and_arcs(segments: Sequence[Segment]) -> list[Line | Arc]:
    """The same path in lines and arcs, which can be measured along and cut anywhere."""
    return [piece for segment in segments for piece in as_arcs(segment, BROKEN_RING_ARCS)]


def without_stretches(ring: Sequence[Line | Arc], stretches: Sequence[Stretch]) -> list[tuple[Segment, ...]]:
    """What is left of a closed ring, as open chains in the order of travel, the first one behind the first stretch.

    Stretches must lie between 0 and the ring's length; they may touch or overlap.  Without any the ring comes back as one
    chain; if they cover all of it, nothing does.

    >>> from panelwright.plates import rectangle
    >>> square = of_lines_and_arcs(rectangle(10, 10).loops[0].segments)
    >>> [round(sum(s.length for s in chain), 6) for chain in without_stretches(square, [(4, 6), (24, 26)])]
    [18.0, 18.0]
    """
    merged: list[list[float]] = []
    for low, high in sorted(stretches):
        if merged and low <= merged[-1][1] + ROUNDING:
            merged[-1][1] = max(merged[-1][1], high)
        elif high - low > ROUNDING:
            merged.append([low, high])
    if not merged:
        return [tuple(ring)]
    total = math.fsum(segment.length for segment in ring)
    found: list[tuple[Segment, ...]] = []
    for (_, low), (high, _) in zip(merged, [*merged[1:], [merged[0][0] + total, 0.0]], strict=True):
        if high - low > ROUNDING:
            found.append(_between(ring, low, high))
    return [chain for chain in found if chain]


def _between(ring: Sequence[Line | Arc], low: float, high: float) -> tuple[Segment, ...]:
    """The ring from one distance to another, once round at most."""
    total = math.fsum(segment.length for segment in ring)
    chain: list[Segment] = []
    for turn in (0.0, total):
        at = turn
        for segment in ring:
            a, b = max(low, at), min(high, at + segment.length)
            if b - a > ROUNDING:
                chain.append(_part(segment, (a - at) / segment.length, (b - at) / segment.length))
            at += segment.length
    return tuple(chain)


def _part(segment: Line | Arc, a: float, b: float) -> Line | Arc:
    """A segment from one share of its length to another."""
    if a <= 0.0 and b >= 1.0:
        return segment
    start = segment.start if a <= 0.0 else segment.point_at(a)
    end = segment.end if b >= 1.0 else segment.point_at(b)
    if isinstance(segment, Line):
        return Line(start, end)
    return Arc(start, end, segment.center, segment.sweep * (b - a))
