"""Where a flat region is narrower than its sheet is thick.

A round brush is drawn along inside the region.  What it cannot paint is either a *web*, with borders on both sides, whose
width is the distance between the two; or a *tip*, with one border that turns round it.  Tips are what a brush with square
corners is for: sharp corners come back under it, and what does not is a nub that is too narrow.  Beside a small hole the brush
can paint a web from both ends, so distances between loops are measured as well.

Guarantees: two loops nearer to each other than the limit are found, and widths of webs are true to about 0.01 mm; the
measuring ends in an answer for every region, however its offsets cross.  Not guaranteed: nubs and corners of less than a
fiftieth of a square thickness, and a neck of one loop between two bays that are round and less wide than the brush.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Any, Literal

import numpy as np
from panelwright.plates.tolerances import BRUSH_SMEAR, FILM_AREA, ON_BORDER, RELATIVE_ROUNDING

from .curves import Loop, Point
from .polygons import ring_of, sound

__all__ = ["SLACK", "SLIVER", "thin_places"]

SLACK = 0.95
"""A web counts as thin below this share of the thickness: what a caliper can't tell from one thickness is no fault."""

SLIVER = 0.1
"""Share of the thickness below which a web is a sliver that burns or breaks off."""


def thin_places(
    loops: Sequence[Loop], thickness: float, slack: float = SLACK
) -> list[tuple[Literal["web", "sliver"], Point, float]]:
    """Places where material is narrower than the sheet is thick: kind, a point in it, and about how wide it is in mm.

    What is narrower than the share `slack` of the thickness counts.

    >>> from panelwright.plates import hole, rectangle
    >>> [(kind, round(width, 1)) for kind, _, width in thin_places(rectangle(40, 20).cut(hole(10).at(0, 4)).loops, 3)]
    [('web', 1.0)]
    """

    limit = slack * thickness
    rings = np.array([ring_of(loop) for loop in loops])
    pairs = _close_pairs(rings, limit)
    region = _region(loops, rings, {number for pair in pairs for number in pair})
    border = _Border(region)
    found: list[tuple[Literal["web", "sliver"], Point, float]] = []
    webs: list[tuple[Any, float]] = []
    for piece in _polygons(_less(region, _painted(region, limit, "round"))):
        width = border.between_sides(piece) if piece.area > 1e-4 * thickness**2 else None
        if width is not None and width < limit:
            webs.append((piece, width))
            found.append(_told(piece, width, thickness))
        elif width is None:
            around = border.near(piece, 2 * thickness)
            for tip in _polygons(_less(piece, _painted(around, limit, "mitre"))):
                if tip.area >= 0.02 * thickness**2:
                    found.append(_told(tip, _width_of(tip, around, thickness, limit), thickness))
    found.extend(_painted_over(rings, pairs, webs, thickness, limit))
    for loop in loops:
        for segment in loop:
            if segment.length < 0.01:
                found.append(("sliver", segment.start, segment.length))
    return sorted(found, key=lambda item: (item[0], round(item[1][0], 3), round(item[1][1], 3)))


def _close_pairs(rings: Any, limit: float) -> list[tuple[int, int]]:
    """Numbers of rings that are nearer to each other than the limit."""
    import shapely

    first, second = shapely.STRtree(rings).query(rings, predicate="dwithin", distance=limit)
    return sorted((a, b) for a, b in zip(first.tolist(), second.tolist(), strict=True) if a < b)


def _painted_over(
    rings: Any, pairs: Sequence[tuple[int, int]], webs: Sequence[tuple[Any, float]], thickness: float, limit: float
) -> list[tuple[Literal["web", "sliver"], Point, float]]:
    """Webs between two loops that the brush has painted from both ends: no missed piece between the two is as narrow."""
    import shapely

    if not pairs:
        return []
    first, second = np.array(pairs).T
    lines = shapely.shortest_line(rings[first], rings[second])
    middles = shapely.line_interpolate_point(lines, 0.5, normalized=True)
    beside: dict[int, set[int]] = {}
    tree = shapely.STRtree([piece for piece, _ in webs])
    for ring, web in zip(*tree.query(rings, predicate="dwithin", distance=BRUSH_SMEAR).tolist(), strict=True):
        beside.setdefault(ring, set()).add(web)
    found: list[tuple[Literal["web", "sliver"], Point, float]] = []
    for a, b, width, middle in zip(first.tolist(), second.tolist(), shapely.length(lines).tolist(), middles, strict=True):
        between = beside.get(a, set()) & beside.get(b, set())
        if width < limit and not any(webs[web][1] <= width + 2 * BRUSH_SMEAR for web in between):
            found.append(("sliver" if width < SLIVER * thickness else "web", (middle.x, middle.y), width))
    return found


def _told(piece: Any, width: float, thickness: float) -> tuple[Literal["web", "sliver"], Point, float]:
    import shapely

    x, y = shapely.maximum_inscribed_circle(piece, tolerance=thickness / 50).coords[0]
    return ("sliver" if width < SLIVER * thickness else "web"), (x, y), width


def _region(loops: Sequence[Loop], rings: Any, close: set[int]) -> Any:
    """The region inside the loops, less those holes that no narrow place can have to do with.

    These are round about, so that no material reaches into them, and `close` to no other loop: most holes of most plates.
    """
    import shapely

    areas = shapely.polygons(rings)
    hollow = shapely.area(shapely.convex_hull(areas)) > shapely.area(areas) * (1 + RELATIVE_ROUNDING) + FILM_AREA
    outer = np.array([loop.area > 0 for loop in loops])
    near = np.isin(np.arange(len(rings)), sorted(close))
    holes = rings[~outer & (near | hollow)]
    if outer.sum() == 1:
        return sound(shapely.Polygon(rings[outer][0], holes))
    return _less(sound(shapely.union_all(areas[outer])), sound(shapely.union_all(shapely.polygons(holes))))


def _painted(region: Any, width: float, style: Literal["round", "mitre"]) -> Any:
    """What a brush of a width reaches without leaving the region; with square corners if it is mitred."""
    joins: dict[str, Any] = {"join_style": style, "mitre_limit": 10.0, "quad_segs": 8}
    with np.errstate(invalid="ignore"):  # what the offset of a degenerate ring sets on its way is of no concern
        shrunk = sound(region.buffer(-width / 2, **joins))
        return sound(shrunk.buffer(width / 2 + BRUSH_SMEAR, **joins))


def _less(whole: Any, part: Any) -> Any:
    """`whole` without `part`, on ever coarser grids of coordinates (mm) should rounding stand in the way of a finer one."""
    import shapely

    for grid in (None, 1e-6, 1e-4):
        try:
            return shapely.difference(whole, part, grid_size=grid)
        except shapely.errors.GEOSException:
            continue
    return shapely.difference(whole.buffer(0), part.buffer(0), grid_size=1e-3)


def _polygons(region: Any) -> list[Any]:
    """The polygons of a region, without the lines and points that a subtraction may leave."""
    return [piece for piece in getattr(region, "geoms", [region]) if piece.geom_type == "Polygon" and not piece.is_empty]


class _Border:
    """A region's border, asked about small pieces of the region without a look at all of it."""

    def __init__(self, region: Any) -> None:
        import shapely

        self._shells = [shapely.Polygon(piece.exterior) for piece in _polygons(region)]
        self._holes = [shapely.Polygon(ring) for piece in _polygons(region) for ring in piece.interiors]
        self._hole_tree = shapely.STRtree(self._holes)
        rings = [ring for piece in _polygons(region) for ring in (piece.exterior, *piece.interiors)]
        corners = [np.asarray(ring.coords) for ring in rings]
        pairs = [np.stack([points[:-1], points[1:]], axis=1) for points in corners]
        self._edges = shapely.linestrings(np.concatenate(pairs)) if pairs else np.array([])
        self._edge_tree = shapely.STRtree(self._edges)  # pyright: ignore[reportArgumentType]  shapely declares too little

    def between_sides(self, piece: Any) -> float | None:
        """How far the stretches of border on either side of a piece are apart, mm; None if there is one stretch only."""
        import shapely

        sides: list[Any] = []
        for ring in (piece.exterior, *piece.interiors):
            points = np.asarray(ring.coords)
            middles = (points[:-1] + points[1:]) / 2
            near, _ = self._edge_tree.query(shapely.points(middles), predicate="dwithin", distance=ON_BORDER)
            on = np.zeros(len(middles), dtype=bool)
            on[near] = True
            sides.extend(_stretches(points, on))
        if len(sides) < 2:
            return None
        return float(min(shapely.distance(a, b) for a, b in combinations(sides, 2)))

    def near(self, piece: Any, reach: float) -> Any:
        """The region within about `reach` mm of a piece of it."""
        import shapely

        room = piece.buffer(reach, quad_segs=4)
        shell = shapely.union_all([shapely.clip_by_rect(shell, *room.bounds) for shell in self._shells])
        close = shapely.intersection(sound(shell), room)
        holes = [self._holes[number] for number in sorted(self._hole_tree.query(room).tolist())]
        return _less(close, shapely.union_all(holes)) if holes else close


def _stretches(points: Any, on: Any) -> list[Any]:
    """The runs of a closed ring's edges that lie on the border, as lines; a ring that does so all round is one."""
    import shapely

    if on.all():
        return [shapely.LineString(points)]
    if not on.any():
        return []
    first = int(np.flatnonzero(~on)[0])
    turned = np.roll(on, -first)
    ring = np.concatenate([points[:-1], points[:-1]])[first : first + len(points)]
    starts = np.flatnonzero(np.diff(turned.astype(int)) == 1) + 1
    stops = np.flatnonzero(np.diff(np.append(turned, False).astype(int)) == -1) + 1
    return [shapely.LineString(ring[a : b + 1]) for a, b in zip(starts.tolist(), stops.tolist(), strict=True)]


def _width_of(piece: Any, around: Any, thickness: float, limit: float) -> float:
    """The widest brush that still reaches a nub, by halving, to 1 % of the thickness.

    Measuring the piece itself would say less: of a nub on a wide body it is the tip only.  Half a percent of its area may stay
    unpainted, since no brush reaches into a cusp.
    """
    low, high = 0.0, limit
    while high - low > 0.01 * thickness:
        middle = (low + high) / 2
        if _less(piece, _painted(around, middle, "mitre")).area < 0.005 * piece.area:
            low = middle
        else:
            high = middle
    return (low + high) / 2
