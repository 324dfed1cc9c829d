"""The plane across a joint line: strips, slabs and shadows.

Everything in a joint is prismatic along its line, so what one plate's piece takes away from another is found in the plane
across it.  The piece is a convex polygon; it is clipped to the slab that the other plate fills and projected onto the other
plate's own axis.  A laser cuts square to its sheet, so that interval is the cut, at any angle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from panelwright.plates.geometry.curves import Point
from panelwright.plates.tolerances import ROUNDING

__all__ = ["Reach", "Section", "clip", "shadow"]

Interval = tuple[float, float]

FAR = 1e5
"""Further than any plate reaches, mm: where a strip goes on without end."""


def clip(polygon: Sequence[Point], normal: Point, low: float, high: float) -> list[Point]:
    """The part of a convex polygon with `low` ≤ p · normal ≤ `high`.

    >>> clip([(0, 0), (4, 0), (4, 4), (0, 4)], (1, 0), 1, 2)
    [(1.0, 0.0), (2.0, 0.0), (2.0, 4.0), (1.0, 4.0)]
    """
    kept: list[Point] = [(float(x), float(y)) for x, y in polygon]
    for sign, limit in ((1.0, low), (-1.0, -high)):
        source, kept = kept, []
        for (x0, y0), (x1, y1) in zip(source, source[1:] + source[:1], strict=True):
            a = sign * (x0 * normal[0] + y0 * normal[1]) - limit
            b = sign * (x1 * normal[0] + y1 * normal[1]) - limit
            if a >= 0:
                kept.append((x0, y0))
            if (a >= 0) != (b >= 0) and a != b and a != 0 and b != 0:
                share = a / (a - b)
                kept.append((x0 + (x1 - x0) * share, y0 + (y1 - y0) * share))
        distinct: list[Point] = []
        for point in kept:
            if not distinct or math.dist(point, distinct[-1]) > ROUNDING:
                distinct.append(point)
        if len(distinct) > 1 and math.dist(distinct[0], distinct[-1]) <= ROUNDING:
            distinct.pop()
        kept = distinct
    return _rotated_to_lowest(kept)


def _rotated_to_lowest(polygon: list[Point]) -> list[Point]:
    if not polygon:
        return polygon
    first = min(range(len(polygon)), key=lambda i: (polygon[i][1], polygon[i][0]))
    return polygon[first:] + polygon[:first]


def shadow(piece: Sequence[Point], normal: Point, low: float, high: float, axis: Point) -> tuple[float, float] | None:
    """The interval along `axis` that `piece` covers inside the slab `low` ≤ p · normal ≤ `high`; None if it misses it.

    For a strip of thickness a that goes right through a slab of thickness b at dihedral angle φ the interval is
    a/sin φ + b·|cot φ| long (plane trigonometry); at 90° that is a.

    >>> phi = math.radians(60)
    >>> along, across = (math.cos(phi), math.sin(phi)), (-math.sin(phi), math.cos(phi))
    >>> corners = ((-99, 0), (99, 0), (99, 3), (-99, 3))
    >>> strip = [(s * along[0] + t * across[0], s * along[1] + t * across[1]) for s, t in corners]
    >>> low, high = shadow(strip, (0, 1), 0, 5, (1, 0))
    >>> math.isclose(high - low, 3 / math.sin(phi) + 5 / math.tan(phi))
    True
    """
    inside = clip(piece, normal, low, high)
    if not inside:
        return None
    spots = [x * axis[0] + y * axis[1] for x, y in inside]
    return (min(spots), max(spots))


class Reach(NamedTuple):
    """A plate that ends at a joint line: the w of its border as designed, and where it is flush with the other's far face.

    It comes from lower w if it `rises`, from higher w otherwise.
    """

    border: float
    end: float
    rises: bool

    @property
    def missing(self) -> Interval | None:
        """What the plate is short of its end, if anything."""
        low, high = (self.border, self.end) if self.rises else (self.end, self.border)
        return (low, high) if high - low > ROUNDING else None

    def beyond(self, footprint: Interval) -> Interval:
        """The footprint, drawn out to wherever the plate ends."""
        if self.rises:
            return (footprint[0], max(footprint[1], self.border, self.end))
        return (min(footprint[0], self.border, self.end), footprint[1])


@dataclass(frozen=True, slots=True)
class Section:
    """Two strips across a joint line, in the first plate's own axes: v along it, z through its thickness.

    The first plate fills 0 ≤ z ≤ `first_t`; the second fills `base` ≤ p · `normal` ≤ `base` + `second_t`, its normal being a
    unit vector with a part along v.

    >>> square = Section(5.0, 3.0, (1.0, 0.0), 0.0)
    >>> square.passage, square.footprint(3.0), square.angle_deg
    ((0.0, 3.0), (0.0, 5.0), 90.0)
    """

    first_t: float
    second_t: float
    normal: Point
    base: float

    @property
    def _ahead(self) -> tuple[Point, float]:
        """The second plate's normal turned so that the first one runs into it, and the near face's distance along it."""
        if self.normal[0] >= 0:
            return self.normal, self.base
        return (-self.normal[0], -self.normal[1]), -(self.base + self.second_t)

    @property
    def axis(self) -> Point:
        """The second plate's own axis w, turned so that it rises with z."""
        (nv, nz), _ = self._ahead
        return (-nz, nv)

    @property
    def angle_deg(self) -> float:
        """Dihedral angle between the plates, from 0 to 180°."""
        (nv, nz), _ = self._ahead
        return math.degrees(math.atan2(nv, nz))

    @property
    def wedge_gap(self) -> float:
        """How far the lagging corner of the first plate's square edge stays off the second one's face, mm."""
        return self.first_t * abs(self.normal[1])

    @property
    def passage(self) -> Interval:
        """The v at which the first plate's leading corner meets the near face, and at which it is flush with the far one."""
        (nv, nz), near = self._ahead
        lead = max(0.0, self.first_t * nz)
        return ((near - lead) / nv, (near + self.second_t - lead) / nv)

    @property
    def cotangent(self) -> float:
        """Cotangent of the dihedral angle: how far the second plate's faces recede along v for each mm of z."""
        (nv, nz), _ = self._ahead
        return nz / nv

    def crossing(self, z: float) -> Interval:
        """The v at which a line at height `z` of the first plate meets the near face of the second, and its far face.

        >>> [round(v, 9) for v in Section(5.0, 3.0, (0.6, 0.8), 0.0).crossing(3.0)]
        [-4.0, 1.0]
        """
        (nv, nz), near = self._ahead
        return ((near - z * nz) / nv, (near + self.second_t - z * nz) / nv)

    def band(self, low: float, high: float) -> Interval:
        """The shadow on w of what goes right through between two heights of the first plate."""
        av, az = self.axis
        spots = [v * av + z * az for z in (low, high) for v in self.crossing(z)]
        return (min(spots), max(spots))

    def footprint(self, end: float) -> Interval:
        """The shadow on w of the first plate's strip that ends at v = `end`, inside the second plate."""
        normal, near = self._ahead
        strip = [(-FAR, 0.0), (end, 0.0), (end, self.first_t), (-FAR, self.first_t)]
        found = shadow(strip, normal, near, near + self.second_t, self.axis)
        return found if found is not None else (0.0, 0.0)

    @property
    def shadow_in_second(self) -> Interval:
        """The shadow on w of the first plate where it goes right through."""
        return self.footprint(FAR)

    @property
    def shadow_in_first(self) -> Interval:
        """The shadow on v of the second plate where it goes right through."""
        found = shadow(self._second_strip(-FAR, FAR), (0.0, 1.0), 0.0, self.first_t, (1.0, 0.0))
        assert found is not None  # an endless strip that isn't parallel crosses the slab
        return found

    def _second_strip(self, low: float, high: float) -> list[Point]:
        (nv, nz), near = self._ahead
        (av, az) = self.axis
        return [
            (w * av + h * nv, w * az + h * nz)
            for w, h in ((low, near), (high, near), (high, near + self.second_t), (low, near + self.second_t))
        ]

    def reach(self, column: Interval, footprint: Interval) -> Reach | None:
        """How the second plate ends at the line; None if it goes on to both sides.

        `column` is where the second plate has material on w.
        """
        _, near = self._ahead
        nz, az = self._ahead[0][1], self.axis[1]
        heights = (near * nz, (near + self.second_t) * nz)
        slack = 1e-3
        goes_up, goes_down = column[1] > footprint[1] + slack, column[0] < footprint[0] - slack
        if goes_up == goes_down:
            return None
        if goes_down:
            return Reach(column[1], (self.first_t - max(heights)) / az, rises=True)
        return Reach(column[0], -min(heights) / az, rises=False)

    def bite(self, reach: Reach | None) -> float:
        """The least v at which the second plate, as far as it reaches, lies in the first one's way."""
        if reach is None:
            return self.passage[0]
        low, high = (-FAR, max(reach.border, reach.end)) if reach.rises else (min(reach.border, reach.end), FAR)
        found = shadow(self._second_strip(low, high), (0.0, 1.0), 0.0, self.first_t, (1.0, 0.0))
        return self.passage[0] if found is None else max(found[0], self.passage[0])
