"""Which cut lies inside which: a part, or a piece of waste, falls free only after all that lies in it is done.

A cut lies inside a closed one if a point that it encloses does, or, of an open cut, one that it runs through.  Whatever is cut
out of a part comes before the part's own outline, also where that is no closed path any more, as with holding bridges.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from panelwright.plates.geometry.polygons import line_of

from .path import CutPath
from .touching_outlines import joined_by

__all__ = ["holders_of", "is_inside_another", "may_only_follow"]

FOLLOW_TOLERANCE: Final = 0.05
"""Distance in mm between a path and the polygon that stands for it here; parts lie further apart than that."""


def holders_of(paths: Sequence[CutPath]) -> list[list[int]]:
    """For each path the closed cuts, as places in `paths`, that may only come after it because it lies in them."""
    return _holders(paths, *_lines_and_spots(paths))


def is_inside_another(paths: Sequence[CutPath]) -> list[bool]:
    """For each path whether it must be cut before some outline: it is an inside cut, or lies in a window of another part."""
    return [bool(holders) or path.kind == "inside" for path, holders in zip(paths, holders_of(paths), strict=True)]


def may_only_follow(paths: Sequence[CutPath]) -> tuple[list[list[int]], list[list[int]]]:
    """`holders_of`, and with them for each path the outlines that join its place to the sheet (see `touching`)."""
    lines, spots = _lines_and_spots(paths)
    holders = _holders(paths, lines, spots)
    joined = joined_by(paths, lines, spots)
    return holders, [sorted({*some, *others}) for some, others in zip(holders, joined, strict=True)]


def _lines_and_spots(paths: Sequence[CutPath]) -> tuple[list[Any], list[Any]]:
    """For each path a line that follows it, and a point in what it encloses or, if it is open, on itself."""
    import shapely

    lines = [line_of(path.segments, FOLLOW_TOLERANCE) for path in paths]
    spots: list[Any] = []
    for path, line in zip(paths, lines, strict=True):
        # never a point of a closed cut itself: that may lie on the outline of a neighbour which it touches
        ring = shapely.Polygon(line.coords) if path.is_closed and len(line.coords) > 3 else line
        spots.append(shapely.point_on_surface(ring) if ring is not line else shapely.Point(path.segments[0].point_at(0.5)))
    return lines, spots


def _holders(paths: Sequence[CutPath], lines: Sequence[Any], spots: Sequence[Any]) -> list[list[int]]:
    import shapely

    closed = [i for i, path in enumerate(paths) if path.kind != "mark" and path.is_closed]
    found: list[list[int]] = [[] for _ in paths]
    if not closed:
        return found
    polygons = [shapely.Polygon(lines[i].coords) for i in closed]
    areas = dict(zip(closed, shapely.area(polygons).tolist(), strict=True))
    inner, outer = shapely.STRtree(polygons).query(spots, predicate="within")
    for i, k in zip(inner.tolist(), outer.tolist(), strict=True):
        holder = closed[k]
        if holder != i and paths[i].kind != "mark" and areas.get(i, 0.0) < areas[holder]:
            found[i].append(holder)
    return found
