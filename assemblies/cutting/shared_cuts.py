"""Shared cuts: where the cuts of two neighbouring parts fall on one line, it is cut once.

Parts that are nested exactly one kerf apart have cut paths that coincide along their straight sides.  The part that comes first
keeps the whole of its cut; others leave out what is cut already, and so become open paths.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from typing import Final

from panelwright.plates.geometry.curves import Line

from .chains import Stretch, of_lines_and_arcs, without_stretches
from .path import CutPath

__all__ = ["merged"]

TOLERANCE: Final = 0.01
"""How far apart in mm two lines may be to count as one: a twentieth of a usual kerf."""

LEAST: Final = 0.5
"""Shorter overlaps, in mm, are not worth an interruption of the cut."""


def merged(paths: Sequence[CutPath], tolerance: float = TOLERANCE) -> tuple[list[CutPath], float]:
    """The paths with every line that outlines of several parts share cut once, and the length in mm that this saves.

    Only closed outside cuts are looked at, and only their straight sides; all other paths come back as they are.  What is cut
    is the same to within `tolerance`.

    >>> from panelwright.plates import rectangle
    >>> tiles = [CutPath("outside", rectangle(50, 50).at(x, 0).loops[0].segments, n) for n, x in enumerate((0, 50))]
    >>> cut, saved = merged(tiles)
    >>> [path.is_closed for path in cut], saved
    ([True, False], 50.0)
    """
    import shapely

    lines: list[tuple[int, float, Line]] = []  # path, distance along it, line
    for i, path in enumerate(paths):
        if path.kind != "outside" or not path.is_closed:
            continue
        at = 0.0
        for segment in of_lines_and_arcs(path.segments):
            if isinstance(segment, Line) and segment.length > LEAST:
                lines.append((i, at, segment))
            at += segment.length
    shapes = [shapely.LineString([line.start, line.end]) for _, _, line in lines]
    stretches: dict[int, list[Stretch]] = defaultdict(list)
    near = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=tolerance).T.tolist() if shapes else []
    for j, k in sorted(near):
        (first, _, line), (second, at, other) = lines[j], lines[k]
        if paths[first].piece == paths[second].piece or first >= second:
            continue
        overlap = _overlap(line, other, tolerance)
        if overlap is not None:
            stretches[second].append((at + overlap[0], at + overlap[1]))
    found: list[CutPath] = []
    for i, path in enumerate(paths):
        if i not in stretches:
            found.append(path)
            continue
        chains = without_stretches(of_lines_and_arcs(path.segments), stretches[i])
        found += [CutPath(path.kind, chain, path.piece) for chain in chains]
    saved = math.fsum(path.length_mm for path in paths) - math.fsum(path.length_mm for path in found)
    return found, round(saved, 9) + 0.0


def _overlap(line: Line, other: Line, tolerance: float) -> Stretch | None:
    """From where to where along `other` the two lines are one; None if they are not."""
    (ax, ay), (bx, by) = other.start, other.end
    length = other.length
    dx, dy = (bx - ax) / length, (by - ay) / length
    along, across = [], []
    for x, y in (line.start, line.end):
        along.append((x - ax) * dx + (y - ay) * dy)
        across.append((y - ay) * dx - (x - ax) * dy)
    low, high = max(0.0, min(along)), min(length, max(along))
    if high - low < LEAST:
        return None
    # the distance at both ends of what they share
    slope = (across[1] - across[0]) / (along[1] - along[0])
    if max(abs(across[0] + slope * (s - along[0])) for s in (low, high)) > tolerance:
        return None
    return low, high
