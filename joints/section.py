"""The plane across a joint line: strips, slabs and shadows.

Everything in a joint is prismatic along its line, so what one plate's piece takes away from another is found in the plane
across it.  The piece is a convex polygon; it is clipped to the slab that the other plate fills and projected onto the other
plate's own axis.  A laser cuts square to its sheet, so that interval is the cut, at any angle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from panelwright.plates.curves import Point

__all__ = ["clip", "shadow"]


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
            if not distinct or math.dist(point, distinct[-1]) > 1e-12:
                distinct.append(point)
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
