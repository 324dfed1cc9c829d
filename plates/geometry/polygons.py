"""Loops and chains of segments as shapely shapes: the one place where curves become chords for them.

`polygon_of` says what was drawn, be it valid or not; `region_of` says where material is, and is always valid.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from panelwright.plates.tolerances import CHORD_TOLERANCE

from .curves import Loop, Point, Segment, points_along

if TYPE_CHECKING:
    import shapely

__all__ = ["line_of", "polygon_of", "region_of", "ring_of", "sound"]

Seen = Callable[[Point], Point]
"""Where points go, such as into the (u, v) of a joint line."""


def ring_of(loop: Loop, tolerance: float = CHORD_TOLERANCE) -> shapely.LinearRing:
    """A loop as a closed line no further than `tolerance` mm from it."""
    import shapely

    return shapely.LinearRing(loop.points(tolerance))


def line_of(segments: Sequence[Segment], tolerance: float) -> shapely.LineString:
    """A chain of segments as a line no further than `tolerance` mm from it; it closes only if the chain does."""
    import shapely

    return shapely.LineString(points_along(segments, tolerance))


def polygon_of(
    outer: Loop, holes: Sequence[Loop] = (), tolerance: float = CHORD_TOLERANCE, *, seen: Seen | None = None
) -> shapely.Polygon:
    """What a loop encloses less its holes, whichever way round they run, no further than `tolerance` mm from them.

    Nothing is mended: where a loop crosses itself or another, so does the polygon.  `seen` moves the corners first.

    >>> from panelwright.plates import disc, rectangle
    >>> lid = rectangle(20, 10).cut(disc(4))
    >>> round(polygon_of(lid.outer, lid.holes).area, 1), polygon_of(lid.outer).area
    (187.5, 200.0)
    """
    import shapely

    return shapely.Polygon(*_rings([outer, *holes], tolerance, seen))


def region_of(loops: Sequence[Loop], tolerance: float = CHORD_TOLERANCE, *, seen: Seen | None = None) -> Any:
    """Where there is material, with outer loops counter-clockwise and holes clockwise: a polygon or several, always valid.

    Chords may cross where a wall is no thicker than `tolerance`; what they run round counts once.  `seen` moves the corners
    first.

    >>> from panelwright.plates import disc, rectangle
    >>> apart = [*rectangle(20, 10).loops, *rectangle(4, 4).at(30, 0).loops]
    >>> region_of(apart).geom_type, region_of(apart).area
    ('MultiPolygon', 216.0)
    """
    import shapely

    outers = [loop for loop in loops if loop.area > 0]
    holes = [loop for loop in loops if loop.area < 0]
    if len(outers) == 1:
        return sound(polygon_of(outers[0], holes, tolerance, seen=seen))
    whole, out = (
        shapely.union_all([sound(polygon_of(loop, (), tolerance, seen=seen)) for loop in some]) for some in (outers, holes)
    )
    return whole.difference(out)


def sound(region: Any) -> Any:
    """A shapely region with rings that cross themselves mended: what they run round counts once.

    Nothing can be subtracted from or by such a ring.
    """
    import shapely

    return region if region.is_valid else shapely.make_valid(region, method="structure", keep_collapsed=False)


def _rings(loops: Sequence[Loop], tolerance: float, seen: Seen | None) -> tuple[list[Point], list[list[Point]]]:
    corners = [loop.points(tolerance) for loop in loops]
    if seen is not None:
        corners = [[seen(point) for point in ring] for ring in corners]
    return corners[0], corners[1:]
