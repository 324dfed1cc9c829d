"""What other plates cover of a plate's faces once the product stands: where nobody sees a mark.

A plate covers what its section right outside a face shows.  A section of a flat plate is a strip of it, seen at a slant:
between the two lines in which the plane of the section crosses its broad faces, so it comes from frames and loops alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Product
from panelwright.plates.errors import JointError
from panelwright.plates.geometry.curves import around
from panelwright.plates.geometry.frame import Vector
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.geometry.polygons import region_of
from panelwright.plates.tolerances import COVER_SINE

if TYPE_CHECKING:
    import shapely

__all__ = [
    "FACES",
    "TOUCH",
    "Covered",
    "FaceName",
    "common_to",
    "covered_regions",
    "footprint",
    "material_of",
    "may_touch",
    "moved",
]

TOUCH: Final = 0.15
"""Plates no further apart than this, in mm, rest on each other: half a usual clearance and rounding."""

CHORD: Final = 0.02
"""How far polygons may be from curved borders, in mm."""

FAR: Final = 1e5
"""Beyond every plate, in mm."""

FaceName = Literal["show", "back"]

FACES: Final[tuple[tuple[FaceName, float], ...]] = (("show", 1.0), ("back", -1.0))
"""The broad faces, and which way along local z they look."""


@dataclass(frozen=True, slots=True)
class Covered:
    """What is covered of a plate's show face and of its back: shapely regions in the plate's own coordinates, in mm."""

    show: shapely.Geometry
    back: shapely.Geometry


def covered_regions(product: Product, plate: str) -> Covered:
    """What other flat plates cover of the two broad faces of a flat plate, where no cut of its own lies.

    Bent plates neither cover nor are covered, as far as this tells.  Raises `JointError` for a plate that is not there.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import Frame, Stock, rectangle
    >>> pile = Assembly("pile", stock=Stock("MDF", 4))
    >>> lower, upper = pile.add("lower", rectangle(60, 40)), pile.add("upper", rectangle(20, 10), Frame((0, 0, 4)), loose=True)
    >>> found = covered_regions(pile.product(), "lower")
    >>> found.show.area, found.back.area
    (200.0, 0.0)
    """
    import shapely

    parts = {name: part for part in product.parts for name in part.plates}
    if plate not in parts:
        raise JointError(f"there is no plate {plate!r}; there are {', '.join(parts)}", plates=(plate,), value=plate)
    part = parts[plate]
    if part.unrolled is not None:
        return Covered(shapely.Polygon(), shapely.Polygon())
    own = material_of(part)
    near = [other for other in product.parts if other is not part and other.unrolled is None and may_touch(part, other)]
    solids = [(other, material_of(other)) for other in near]
    # a buffer of nothing leaves areas only, of what may also share lines
    show, back = (
        shapely.union_all([footprint(part, face, other, shape) for other, shape in solids]).intersection(own).buffer(0)
        for face, _ in FACES
    )
    return Covered(show, back)


def material_of(part: Part) -> Any:
    """A flat part's shape in its own plane."""
    import shapely

    shape = region_of(part.loops, CHORD)
    shapely.prepare(shape)
    return shape


def may_touch(a: Part, b: Part) -> bool:
    """Whether the boxes of two plates meet."""
    first, second = _corners(a), _corners(b)
    return all(
        min(p[i] for p in first) <= max(p[i] for p in second) + TOUCH
        and min(p[i] for p in second) <= max(p[i] for p in first) + TOUCH
        for i in range(3)
    )


def _corners(part: Part) -> list[Vector]:
    x0, y0, x1, y1 = around(loop.bounds for loop in part.loops)
    return [part.frame.point((x, y, z)) for x in (x0, x1) for y in (y0, y1) for z in (0.0, part.stock.t)]


def footprint(part: Part, face: FaceName, other: Part, material: Any) -> Any:
    """Section of another plate right outside a face of this one, in this one's plane; `material` is the other's shape."""
    import shapely

    t, outwards = other.stock.t, dict(FACES)[face]
    height = (part.stock.t if face == "show" else 0.0) + outwards * TOUCH
    # the plane of the section in the other's coordinates: a·x + b·y + c·z = d
    a, b, c = other.frame.local_direction(part.frame.direction((0.0, 0.0, 1.0)))
    x, y, z = other.frame.local(part.frame.point((0.0, 0.0, height)))
    d = a * x + b * y + c * z
    slant = math.hypot(a, b)

    def seen(px: float, py: float, pz: float) -> tuple[float, float]:
        return part.frame.local(other.frame.point((px, py, pz)))[:2]

    if slant < COVER_SINE:
        return _mapped(material, seen, (0.0, 0.0, 0.0)) if 0.0 <= d / c <= t else shapely.Polygon()
    # along the section's lines, and from a point of the one at height z to that at height 0
    along = (-b / slant, a / slant)

    def at(level: float, u: float) -> tuple[float, float]:
        s = (d - c * level) / slant
        return (a / slant * s + along[0] * u, b / slant * s + along[1] * u)

    if abs(c) < COVER_SINE:
        line = shapely.LineString([at(t / 2, -FAR), at(t / 2, FAR)]).intersection(material)
        pieces = [piece for piece in getattr(line, "geoms", [line]) if piece.geom_type == "LineString" and piece.length > 0]
        return shapely.union_all(
            [
                shapely.Polygon([seen(x, y, level) for (x, y), level in ((p, 0.0), (q, 0.0), (q, t), (p, t))])
                for p, q in ((piece.coords[0], piece.coords[-1]) for piece in pieces)
            ]
        )
    strip = shapely.Polygon([at(0.0, -FAR), at(0.0, FAR), at(t, FAR), at(t, -FAR)])
    return _mapped(material.intersection(strip), seen, (d / c, -a / c, -b / c))


def _mapped(shape: Any, seen: Any, height: tuple[float, float, float]) -> Any:
    """A shape of the other plate's plane in this one's, where its points have the height k0 + k1·x + k2·y."""
    from shapely import affinity

    k0, k1, k2 = height
    (ox, oy), (ux, uy), (vx, vy) = seen(0.0, 0.0, k0), seen(1.0, 0.0, k0 + k1), seen(0.0, 1.0, k0 + k2)
    return affinity.affine_transform(shape, [ux - ox, vx - ox, uy - oy, vy - oy, ox, oy])


def moved(region: Any, motion: Motion) -> Any:
    """A shapely region carried by a motion."""
    from shapely import affinity

    return affinity.affine_transform(region, [motion.a, motion.b, motion.c, motion.d, motion.e, motion.f])


def common_to(regions: Sequence[tuple[Any, Motion | None]]) -> Any:
    """What all of some regions have in common once each is carried onto the panel; nothing if one has no way there."""
    import shapely

    if not regions or any(motion is None for _, motion in regions):
        return shapely.Polygon()
    return shapely.intersection_all([moved(region, motion) for region, motion in regions if motion is not None])
