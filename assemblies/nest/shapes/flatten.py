"""Curved outlines as polygons: one that covers the true shape, for finding places, and one that follows it, for checking.

Material lies to the left of every loop.  An arc that turns left bulges out of the material and gets tangents; one that
turns right bulges into it and gets chords.  Either way the polygon holds the whole of the shape, and straight sides stay
where they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

from panelwright.plates.geometry.curves import Arc, Line, Loop, Point
from panelwright.plates.geometry.polygons import line_of, polygon_of

if TYPE_CHECKING:
    import shapely

__all__ = ["covering_polygon", "following_polygon"]

COVER_TOLERANCE: Final = 0.02
"""Largest distance in mm by which the covering polygon stands off a curve: a tenth of a usual kerf."""

FOLLOW_TOLERANCE: Final = 0.01
"""Largest distance in mm between a curve and the polygon that follows it."""


def following_polygon(loops: Sequence[Loop], tolerance: float = FOLLOW_TOLERANCE) -> shapely.Polygon:
    """The polygon whose corners lie on the loops, no further than `tolerance` mm from them."""
    return polygon_of(loops[0], loops[1:], tolerance)


def covering_polygon(loops: Sequence[Loop], tolerance: float = COVER_TOLERANCE) -> shapely.Polygon:
    """A polygon that holds the whole shape and stands off its curves by `tolerance` mm at most.

    `loops` is the outer loop, counter-clockwise, then the holes, clockwise.

    >>> from panelwright.plates import disc
    >>> lid = disc(100).loops
    >>> covering_polygon(lid).area > lid[0].area > following_polygon(lid).area
    True
    """
    import shapely

    outer, *holes = [list(_corners(loop, tolerance)) for loop in loops]
    polygon = shapely.Polygon(outer, holes)
    if not polygon.is_valid:  # tangents of a wall thinner than the tolerance cross each other
        polygon = following_polygon(loops, tolerance / 2)
        pads = [_pad(segment, tolerance / 2) for loop in loops for segment in loop if not isinstance(segment, Line)]
    else:
        pads = [_pad(segment, tolerance) for loop in loops for segment in loop if not isinstance(segment, Line | Arc)]
    if pads:
        polygon = shapely.union_all([polygon, *pads])
    return polygon  # pyright: ignore[reportReturnType]  a union of what touches is one polygon


def _corners(loop: Loop, tolerance: float) -> Iterator[Point]:
    for segment in loop:
        if isinstance(segment, Arc) and segment.sweep > 0:
            yield from _tangent_corners(segment, tolerance)
        else:
            yield from segment.chords(tolerance)


def _tangent_corners(arc: Arc, tolerance: float) -> Iterator[Point]:
    """The start of an arc and where the tangents along it meet, evenly spaced."""
    radius = arc.radius
    most = 2.0 * math.acos(radius / (radius + tolerance))
    count = max(2 if not arc.is_full else 4, math.ceil(arc.sweep / most))
    share = arc.sweep / count
    cx, cy = arc.center
    reach = radius / math.cos(share / 2)
    if not arc.is_full:
        yield arc.start
    for index in range(count):
        angle = arc.start_angle + share * (index + 0.5)
        yield (cx + reach * math.cos(angle), cy + reach * math.sin(angle))


def _pad(segment: Any, tolerance: float) -> shapely.Polygon:
    """A strip along a curve that the curve cannot leave: its chords, which stay within `tolerance`, made as wide."""
    # a round end of 8 chords a quarter reaches 0.995 of its radius, so chords twice as fine as the strip is wide are well
    # inside
    return line_of([segment], tolerance / 2).buffer(tolerance, quad_segs=8)
