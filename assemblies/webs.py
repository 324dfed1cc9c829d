"""Material that is too narrow: webs between cuts, and slivers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from panelwright.plates.curves import Loop, Point

__all__ = ["thin_places"]

SLACK = 0.95
"""A web counts as thin below this share of the thickness: half a clearance off a web of one thickness is no fault."""

SLIVER = 0.1
"""Share of the thickness below which a web is a sliver that burns or breaks off."""


def thin_places(loops: Sequence[Loop], thickness: float) -> list[tuple[Literal["web", "sliver"], Point, float]]:
    """Places where material is narrower than the sheet is thick: kind, a point in it, and about how wide it is in mm.

    What a square brush of almost one thickness cannot paint from inside is thin: the region is shrunk by half of it and
    grown again, with mitred corners so that sharp corners come back, and what is missing then is too narrow.

    >>> from panelwright.plates import circle, rectangle
    >>> [(kind, round(width, 1)) for kind, _, width in thin_places(rectangle(40, 20).cut(circle(10).at(0, 4)).loops, 3)]
    [('web', 1.0)]
    """
    import shapely

    outers = [shapely.Polygon(loop.points()) for loop in loops if loop.area > 0]
    holes = [shapely.Polygon(loop.points()) for loop in loops if loop.area < 0]
    region = shapely.union_all(outers).difference(shapely.union_all(holes)) if holes else shapely.union_all(outers)
    missed = region.difference(_painted(region, SLACK * thickness))
    found: list[tuple[Literal["web", "sliver"], Point, float]] = []
    for piece in getattr(missed, "geoms", [missed]):
        if piece.area < 0.02 * thickness**2:
            continue
        spot = shapely.maximum_inscribed_circle(piece, tolerance=thickness / 50).coords[0]
        width = _width_of(piece, region, thickness)
        found.append(("sliver" if width < SLIVER * thickness else "web", (spot[0], spot[1]), width))
    for loop in loops:
        for segment in loop:
            if segment.length < 0.01:
                found.append(("sliver", segment.start, segment.length))
    return sorted(found, key=lambda item: (item[0], round(item[1][0], 3), round(item[1][1], 3)))


def _painted(region: Any, width: float) -> Any:
    """What a brush of a width reaches without leaving the region."""
    mitred = {"join_style": "mitre", "mitre_limit": 10.0}
    return region.buffer(-width / 2, **mitred).buffer(width / 2 + 1e-6, **mitred)


def _width_of(piece: Any, region: Any, thickness: float) -> float:
    """The widest brush that still reaches a missed piece, by halving, to 1 % of the thickness.

    Measuring the piece itself would say less: of a nub on a wide body it is the tip only.  Half a percent of its area may stay
    unpainted, since no brush reaches into a cusp.
    """
    around = region.intersection(piece.buffer(2 * thickness, quad_segs=4))
    low, high = 0.0, SLACK * thickness
    while high - low > 0.01 * thickness:
        middle = (low + high) / 2
        if piece.difference(_painted(around, middle)).area < 0.005 * piece.area:
            low = middle
        else:
            high = middle
    return (low + high) / 2
