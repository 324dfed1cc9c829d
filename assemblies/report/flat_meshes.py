"""Triangles and edges of a flat plate, from its loops as they were read back from its solid: no mesher needed.

The broad faces are triangulated in the plane, and each segment of a loop gives one face of the cut edge.  The kernel's own mesh
(`plates/_kernel/drawing/facets.py`) is for everything else, and for a shape whose triangles don't add up to its area.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from panelwright.plates.geometry.curves import Arc, Line, Loop, Point, Segment
from panelwright.plates.tolerances import AREA_SHARE

if TYPE_CHECKING:
    from panelwright.plates._kernel.drawing.facets import Facets

__all__ = ["flat_facets"]

MICROMETRES: Final = 1000.0

SMOOTH_DEG: Final = 1.0
"""Jump of direction in degrees up to which one segment runs into the next without a crease."""


def flat_facets(loops: Sequence[Loop], thickness: float, *, deflection: float, turn_deg: float) -> Facets | None:
    """The facets of a plate with these loops and this thickness in mm, its back at z = 0; None if it cannot be triangulated.

    `deflection` and `turn_deg` bound the chords of curves as in `facets_of`.  The show face and the back come first.

    >>> from panelwright.plates import rectangle
    >>> board = flat_facets(rectangle(40, 20).loops, 3.0, deflection=0.03, turn_deg=18)
    >>> len(board.points), len(board.faces), len(board.edges)
    (8, 6, 12)
    """
    from panelwright.plates._kernel.drawing.facets import Facets

    rings = [[_chords(segment, deflection, turn_deg) for segment in loop] for loop in loops]
    triangles = _triangles([[point for chain in ring for point in chain[:-1]] for ring in rings], loops)
    if triangles is None:
        return None
    number: dict[tuple[int, int, int], int] = {}

    def index(point: Point, z: float) -> int:
        spot = (round(point[0] * MICROMETRES), round(point[1] * MICROMETRES), round(z * MICROMETRES))
        return number.setdefault(spot, len(number))

    show: list[int] = []
    back: list[int] = []
    for a, b, c in triangles:
        show += (index(a, thickness), index(b, thickness), index(c, thickness))
        back += (index(a, 0.0), index(c, 0.0), index(b, 0.0))
    faces, edges = [tuple(show), tuple(back)], []
    for loop, ring in zip(loops, rings, strict=True):
        for k, chain in enumerate(ring):
            low, high = [index(p, 0.0) for p in chain], [index(p, thickness) for p in chain]
            edges += [tuple(low), tuple(high)]
            side: list[int] = []
            for i in range(len(chain) - 1):
                side += (low[i], low[i + 1], high[i + 1], low[i], high[i + 1], high[i])
            faces.append(tuple(side))
            if _has_crease(loop.segments[k - 1], loop.segments[k]):
                edges.append((low[0], high[0]))
    return Facets(tuple(number), tuple(faces), tuple(edges))


def _chords(segment: Segment, deflection: float, turn_deg: float) -> list[Point]:
    """Points along a segment, both ends among them."""
    if isinstance(segment, Line):
        return [segment.start, segment.end]
    if isinstance(segment, Arc):
        by_turn = math.ceil(abs(math.degrees(segment.sweep)) / turn_deg - 1e-9)
        count = max(by_turn, segment.chord_count(deflection), 1)
        return [segment.start, *(segment.point_at(i / count) for i in range(1, count)), segment.end]
    return [*segment.chords(deflection), segment.end]


def _has_crease(before: Segment, after: Segment) -> bool:
    (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
    return abs(math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))) > SMOOTH_DEG


Triangle = tuple[Point, Point, Point]


def _triangles(rings: Sequence[Sequence[Point]], loops: Sequence[Loop]) -> list[Triangle] | None:
    """Counter-clockwise triangles that fill the outer rings less the holes, with no corners but theirs."""
    import shapely

    outers = [ring for ring, loop in zip(rings, loops, strict=True) if loop.area > 0]
    holes = [ring for ring, loop in zip(rings, loops, strict=True) if loop.area < 0]
    if len(outers) != 1:
        return None
    polygon = shapely.Polygon(outers[0], holes)
    if not polygon.is_valid:
        return None
    found: list[Triangle] = []
    area = 0.0
    for triangle in shapely.constrained_delaunay_triangles(polygon).geoms:
        a, b, c, _ = triangle.exterior.coords
        twice = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        area += abs(twice) / 2
        found.append((a, b, c) if twice > 0 else (a, c, b))
    return found if abs(area - polygon.area) <= AREA_SHARE * polygon.area else None
