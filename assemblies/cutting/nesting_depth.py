"""Which cut lies inside which: a part, or a piece of waste, falls free only after all that lies in it is done.

A cut lies inside a closed one if its start does; and whatever is cut out of a part comes before the part's own outline, also
where that outline is no closed path any more, as with holding bridges.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from panelwright.plates.curves import Loop

from .path import CutPath

__all__ = ["holders_of", "is_inside_another"]

FOLLOW_TOLERANCE: Final = 0.05
"""Distance in mm between a path and the polygon that stands for it here; parts lie further apart than that."""


def holders_of(paths: Sequence[CutPath]) -> list[list[int]]:
    """For each path the closed cuts, as places in `paths`, that may only come after it because it lies in them."""
    import numpy as np
    import shapely

    closed = [i for i, path in enumerate(paths) if path.kind != "mark" and path.is_closed]
    found: list[list[int]] = [[] for _ in paths]
    if not closed:
        return found
    polygons = [shapely.Polygon(Loop(paths[i].segments).points(FOLLOW_TOLERANCE)) for i in closed]
    sizes = np.array([polygon.area for polygon in polygons])
    areas = dict(zip(closed, sizes, strict=True))
    starts = shapely.points([path.segments[0].point_at(0.5) for path in paths])
    inner, outer = shapely.STRtree(polygons).query(starts, predicate="within")
    for i, k in zip(inner.tolist(), outer.tolist(), strict=True):
        holder = closed[k]
        if holder != i and paths[i].kind != "mark" and areas.get(i, 0.0) < areas[holder]:
            found[i].append(holder)
    return found


def is_inside_another(paths: Sequence[CutPath]) -> list[bool]:
    """For each path whether it must be cut before some outline: it is an inside cut, or lies in a window of another part."""
    return [bool(holders) or path.kind == "inside" for path, holders in zip(paths, holders_of(paths), strict=True)]
