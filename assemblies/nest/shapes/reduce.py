"""Outlines with fewer corners that still cover the piece: what makes a search over hundreds of layouts affordable.

A piece is grown by half the spacing, so that pieces which merely touch keep the whole of it.  Then notches that nothing
could use are filled, and corners are dropped one by one, always outwards and always where that adds the least area: a
reflex corner is
cut across, and a short side between two other corners is replaced by the point where its neighbours meet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from panelwright.plates.geometry.curves import Bounds, Point
from panelwright.plates.tolerances import RELATIVE_ROUNDING, SHEET_SLACK

from .paths import MICRONS, Path, rounded

if TYPE_CHECKING:
    import shapely

__all__ = ["MOST_CORNERS", "inner_paths", "outer_path", "scale_of"]

MOST_CORNERS: Final = 40
"""Corners of a reduced outline at most, unless dropping more would double its area."""

NOTCH_SHARE: Final = 0.12
"""Width of the widest notch that is filled, as a share of the size of a typical piece: 14 mm among those of 100 × 150 mm."""

NOTCH_AREA: Final = 0.02
"""Largest area of a notch that is filled, as a share of its piece's, unless there are too many corners."""

STEP_AREA: Final = 0.0004
"""Area that dropping one corner may add, as a share of the piece's."""

WHOLE_AREA: Final = 0.004
"""Area that dropping corners may add in all, as a share of the piece's, while there are no more than MOST_CORNERS."""

ROOM_STEP: Final = 0.1
"""Width in mm of the rim that a room with a curved border may lose to have fewer corners."""

MITRE_LIMIT: Final = 2.0
"""How far a sharp corner of a grown piece may stick out, in half spacings; beyond, it is cut off square, outside the round."""

ROUNDING_ROOM: Final = (0.0, 0.75e-3, 1.5e-3)
"""By how many mm an outline is made larger, or a room smaller, before its corners are rounded to the grid.  Rounding moves
corners, and so the sides, by half the diagonal of a cell at most, which is 0.71 µm; the last is for what it crosses."""


def scale_of(areas: Sequence[float]) -> float:
    """Side in mm of a square as large as the mean of the pieces."""
    return math.sqrt(sum(areas) / len(areas))


def outer_path(piece: shapely.Polygon, spacing: float, scale: float, *, in_box: bool = False) -> Path:
    """The reduced outline of a piece, grown by half the spacing and without its windows, on the grid.

    Guarantees that the path covers the piece grown by half the spacing.  `scale` is the size of a typical piece, in mm.  Sharp
    corners of what is grown may stick out of the piece's box by more than half the spacing; `in_box` cuts them off there.
    """
    import shapely

    border: Any = shapely.Polygon(piece.exterior)
    if spacing > 0:
        border = shapely.Polygon(border.buffer(spacing / 2, join_style="mitre", mitre_limit=MITRE_LIMIT).exterior)
        if in_box:
            x0, y0, x1, y1 = piece.bounds
            half = spacing / 2
            border = border.intersection(
                shapely.box(x0 - half, y0 - half, x1 + half, y1 + half)
            )  # no corner holds two parts together
    filled = _without_notches(border, NOTCH_SHARE * scale, NOTCH_AREA * border.area)
    if len(_ring(filled)) > MOST_CORNERS:  # a comb of fingers: better a straight side than hundreds of corners to compare
        filled = _without_notches(border, NOTCH_SHARE * scale, border.area)
    reduced = shapely.Polygon(_fewer_corners(_ring(filled), filled.area))
    path = _rounded_outwards(reduced, border)
    if path is None:  # rounding closes a notch or crosses two sides: the hull has neither
        path = _rounded_outwards(border.convex_hull, border)
    assert path is not None  # a convex outline grown by more than rounding moves its corners
    return path


def inner_paths(hole: shapely.Polygon, inset: float) -> list[Path]:
    """The room in a window or on a sheet once `inset` mm are kept free along its border, as outlines on the grid.

    Guarantees that no path leaves that room.  A negative inset widens a convex one; one with corners that reach into it stays
    as it is, since a grown piece could pass such a corner nearer than the piece itself may.
    """
    if inset < 0 and hole.convex_hull.area > hole.area * (1 + RELATIVE_ROUNDING):
        inset = 0.0
    room = hole.buffer(-inset, join_style="mitre", mitre_limit=5.0) if inset else hole
    found: list[Path] = []
    for whole in getattr(room, "geoms", [room]):
        if whole.is_empty:
            continue
        part = _coarser(whole)
        found.extend(_rounded_inwards(part))
    return found


def _rounded_outwards(polygon: shapely.Polygon, border: shapely.Polygon) -> Path | None:
    """A path on the grid that covers `border`, which `polygon` covers: the nearest, or else the nearest of it made larger."""
    import shapely

    for by in ROUNDING_ROOM:
        larger = polygon.buffer(by, join_style="mitre", mitre_limit=MITRE_LIMIT) if by else polygon
        path = rounded(_ring(shapely.Polygon(larger.exterior)))
        if _covers(path, border):
            return path
    return None


def _rounded_inwards(room: shapely.Polygon) -> list[Path]:
    """Paths on the grid that lie in a room: the nearest to its border, or else to that of the room made smaller."""
    for by in ROUNDING_ROOM:
        smaller = room.buffer(-by, join_style="mitre") if by else room
        parts = [part for part in getattr(smaller, "geoms", [smaller]) if not part.is_empty]
        paths = [path for path in (rounded(_ring(part)) for part in parts) if len(path) >= 3]
        if all(_is_covered(path, room) for path in paths):
            return paths
    return []


def _coarser(room: shapely.Polygon) -> shapely.Polygon:
    """The room with fewer corners, none outside it, if it has many: borders of curves."""
    if len(room.exterior.coords) <= 2 * MOST_CORNERS:
        return room
    smaller = room.buffer(-ROOM_STEP, join_style="mitre").simplify(ROOM_STEP)
    return smaller if smaller.geom_type == "Polygon" and not smaller.is_empty else room  # pyright: ignore[reportReturnType]  as it asks


def _ring(polygon: shapely.Polygon) -> list[Point]:
    """Corners of the border, counter-clockwise, those that lie in a straight side left out, from a fixed start."""
    import shapely

    ring = shapely.remove_repeated_points(shapely.orient_polygons(polygon).exterior.simplify(0.0), 1e-6)
    corners = [(float(x), float(y)) for x, y in list(ring.coords)[:-1]]
    corners = [p for i, p in enumerate(corners) if abs(_cross(corners[i - 1], p, corners[(i + 1) % len(corners)])) > 1e-9]
    first = corners.index(min(corners))
    return corners[first:] + corners[:first]


def _in_mm(path: Path) -> shapely.Polygon:
    import shapely

    return shapely.Polygon([(x / MICRONS, y / MICRONS) for x, y in path])


def _covers(path: Path, polygon: shapely.Polygon) -> bool:

    mine = _in_mm(path)
    return bool(mine.is_valid and mine.buffer(1e-9, join_style="mitre").covers(polygon))


def _is_covered(path: Path, polygon: shapely.Polygon) -> bool:
    import shapely

    mine = _in_mm(path)
    return bool(mine.is_valid and shapely.Polygon(polygon.exterior).buffer(1e-9, join_style="mitre").covers(mine))


def _without_notches(border: shapely.Polygon, width: float, most: float) -> shapely.Polygon:
    """The border with those notches filled that are narrower than `width` and smaller than `most` mm²."""
    import shapely

    closed = border.buffer(width / 2, join_style="mitre").buffer(-width / 2, join_style="mitre").union(border)
    gains = closed.difference(border)
    small = [part for part in getattr(gains, "geoms", [gains]) if 0 < part.area < most]
    if not small:
        return border
    filled: Any = shapely.union_all([border, *small], grid_size=1e-6)
    return shapely.Polygon(filled.exterior) if filled.geom_type == "Polygon" else border


def _cross(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _fewer_corners(corners: list[Point], area: float) -> list[Point]:
    """Drop corners outwards, each time the cheapest, until the next would cost too much.

    None may reach over the box of the piece, since boxes are what fits side by side.
    """
    import shapely

    left = WHOLE_AREA * area
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    box = (min(xs) - SHEET_SLACK, min(ys) - SHEET_SLACK, max(xs) + SHEET_SLACK, max(ys) + SHEET_SLACK)
    drops = [_drop(corners, i, box) for i in range(len(corners))]
    while len(corners) > 4:
        is_crowded = len(corners) > MOST_CORNERS
        for index in sorted(range(len(corners)), key=lambda i: drops[i][0]):
            cost, fresh = drops[index]
            if math.isinf(cost) or not (is_crowded or cost <= min(left, STEP_AREA * area)):
                return corners
            following = (index + 1) % len(corners)
            shorter = [fresh if k == following else p for k, p in enumerate(corners) if k != index]
            if shapely.Polygon(shorter).is_valid:
                break
        else:
            return corners
        corners, left = shorter, left - cost
        del drops[index]
        for k in range(index - 3, index + 2):
            drops[k % len(corners)] = _drop(corners, k % len(corners), box)
    return corners


def _drop(corners: list[Point], i: int, box: Bounds) -> tuple[float, Point]:
    """Area that dropping corner `i` outwards adds, infinite where it can't be done, and what then stands for corner i + 1.

    At a reflex corner that is corner i + 1 itself.
    """
    count = len(corners)
    a, b, c, d = corners[i - 1], corners[i], corners[(i + 1) % count], corners[(i + 2) % count]
    turn = _cross(a, b, c)
    if turn <= 0:
        return (-turn / 2, c)
    # sides a-b and d-c drawn out until they meet beyond b-c, if they do
    (ux, uy), (vx, vy) = (b[0] - a[0], b[1] - a[1]), (c[0] - d[0], c[1] - d[1])
    bend = ux * vy - uy * vx
    if _cross(b, c, d) <= 0 or bend > -1e-12:
        return (math.inf, c)
    along = ((c[0] - b[0]) * vy - (c[1] - b[1]) * vx) / bend
    if along <= 0:
        return (math.inf, c)
    meet = (b[0] + along * ux, b[1] + along * uy)
    if not (box[0] <= meet[0] <= box[2] and box[1] <= meet[1] <= box[3]):
        return (math.inf, c)
    return (abs(_cross(b, meet, c)) / 2, meet)
