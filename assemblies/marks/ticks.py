"""Alignment ticks: short marks on a face at the corners of each place where another plate rests on it, for gluing up.

Where a plate stands on a face, its two broad faces cross that face in two lines; as far as they run through its material they
are the borders of what it covers.  Where a plate lies on a face, the straight sides of its outline are.  Each end of each
stretch of such a border gets a tick along it.  Only what is left of the face is marked, at a distance from every cut.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Product
from panelwright.plates.geometry.curves import Line
from panelwright.plates.geometry.frame import Vector, cross, dot, minus, plus, scaled
from panelwright.plates.tolerances import COVER_SINE

from .covered import FACES, TOUCH, FaceName, material_of, may_touch

__all__ = ["TICK", "Ticks", "alignment_ticks"]

TICK: Final = 5.0
"""Length of a tick in mm, at most a third of the border that it marks."""

CLEAR: Final = 0.6
"""Distance in mm that ticks keep from cuts: they may be near, since what stands there covers them."""

LEAST: Final = 1.0
"""Ticks shorter than this, in mm, are left out: nobody would see them."""


SLANT: Final = 0.1
"""Plates that lean on a face at a lesser sine have no border there that a tick could mark."""


@dataclass(frozen=True, slots=True)
class Ticks:
    """Ticks on one face of one plate, as lines in the plate's own coordinates, as seen from the show face."""

    plate: str
    face: FaceName
    lines: tuple[Line, ...]


def alignment_ticks(product: Product) -> list[Ticks]:
    """The ticks of every flat plate, by plate and face, in the order of plates; bent ones neither get nor give any."""
    flat = [part for part in product.parts if part.unrolled is None]
    shapes = {part.name: material_of(part) for part in flat}
    found: list[Ticks] = []
    for part in flat:
        room = shapes[part.name].buffer(-CLEAR)
        near = [other for other in flat if other is not part and may_touch(part, other)]
        for face, outwards in FACES:
            height = part.stock.t if face == "show" else 0.0
            lines: list[Line] = []
            for other in near:
                for border in _borders(part, height, outwards, other, shapes[other.name]):
                    lines += _ticks(border, room)
            if lines:
                found.append(Ticks(part.name, face, tuple(_once(lines))))
    return found


Stretch = tuple[tuple[float, float], tuple[float, float]]
"""Two ends in the plate's own plane."""


def _borders(part: Part, height: float, outwards: float, other: Part, material: Any) -> Iterator[Stretch]:
    """Where the broad faces of another plate meet the face at `height` of this one, as stretches in this one's plane.

    The other plate counts where it has material right outside the face, so where it only passes through a slot it counts too,
    and there the cut leaves no room for a tick.
    """
    import shapely

    normal, other_normal = part.frame.direction((0, 0, 1)), other.frame.direction((0, 0, 1))
    along = cross(normal, other_normal)
    sine = math.sqrt(dot(along, along))
    if sine < COVER_SINE:
        yield from _sides(part, height + outwards * TOUCH, other)
    if sine < SLANT:
        return
    along = scaled(along, 1 / sine)
    surface = part.frame.point((0, 0, height + outwards * TOUCH))
    for z in (0.0, other.stock.t):
        start = _meeting(surface, normal, other.frame.point((0, 0, z)), other_normal, along)
        (x, y, _), (dx, dy, _) = other.frame.local(start), other.frame.local_direction(along)
        far = 1e4
        line = shapely.LineString([(x - far * dx, y - far * dy), (x + far * dx, y + far * dy)])
        for piece in getattr(met := line.intersection(material), "geoms", [met]):
            if piece.geom_type != "LineString" or piece.length < LEAST:
                continue
            ends = [part.frame.local(other.frame.point((px, py, z))) for px, py in piece.coords[:: len(piece.coords) - 1]]
            yield (ends[0][0], ends[0][1]), (ends[1][0], ends[1][1])


def _sides(part: Part, height: float, other: Part) -> Iterator[Stretch]:
    """Straight sides of the outline of a plate that lies on this one, if it has material at that height."""
    levels = [part.frame.local(other.frame.point((0, 0, z)))[2] for z in (0.0, other.stock.t)]
    if not min(levels) <= height <= max(levels):
        return
    for line in (segment for loop in other.loops if loop.area > 0 for segment in loop if isinstance(segment, Line)):
        (x0, y0, _), (x1, y1, _) = (part.frame.local(other.frame.point((*end, 0.0))) for end in (line.start, line.end))
        if line.length >= LEAST:
            yield (x0, y0), (x1, y1)


def _meeting(p: Vector, n: Vector, q: Vector, m: Vector, along: Vector) -> Vector:
    """A point of the line in which the plane through p across n and the plane through q across m meet."""
    # from p, go in the first plane and across the line until the second plane is reached
    way = cross(n, along)
    return plus(p, scaled(way, dot(minus(q, p), m) / dot(way, m)))


def _ticks(border: Stretch, room: Any) -> Iterator[Line]:
    """A tick at each end of a border, as far as it lies in the room."""
    import shapely

    length = math.dist(*border)
    reach = min(TICK, length / 3)
    for (sx, sy), (ex, ey) in (border, border[::-1]):
        tip = (sx + (ex - sx) * reach / length, sy + (ey - sy) * reach / length)
        left = shapely.LineString([(sx, sy), tip]).intersection(room)
        for piece in getattr(left, "geoms", [left]):
            if piece.geom_type == "LineString" and piece.length >= LEAST:
                (x0, y0), (x1, y1) = piece.coords[0], piece.coords[-1]
                yield Line((round(x0, 6), round(y0, 6)), (round(x1, 6), round(y1, 6)))


def _once(lines: Sequence[Line]) -> list[Line]:
    """The lines without repetitions, whichever way they run."""
    seen: dict[tuple[Any, ...], Line] = {}
    for line in lines:
        ends = [(round(x, 3), round(y, 3)) for x, y in (line.start, line.end)]
        seen.setdefault(tuple(sorted(ends)), line)
    return list(seen.values())
