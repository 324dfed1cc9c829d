"""The proof of bent strips: what they hit, what they touch, what their mechanics say; how far apart pieces stand."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.made import Made
from panelwright.assemblies.resolve.flat_patterns import BentStrip
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.plates.geometry.bending import RoundPiece
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.materials.stock import Stock
from panelwright.plates.tolerances import CONTACT_TOLERANCE, OVERLAP_VOLUME

from .interference import Slab

__all__ = ["Placed", "area_of", "hinge_findings", "listed", "nearest", "placed_pieces", "strip_overlaps", "strip_touches"]

Floats = NDArray[np.float64]

MOST_NAMES = 3
"""Up to how many plates of a group are named one by one."""

AROUND = 64
"""Chords of a full turn for bounding boxes; what they miss of a round is added."""


def hinge_findings(made: Sequence[Made]) -> list[Finding]:
    """Errors and warnings of every hinge's mechanics, with the plates that it joins, and a note on what isn't proven."""
    found: list[Finding] = []
    for item in made:
        strip = item.layout.strip
        if strip is None:
            continue
        a, b = item.contact.names
        numbers = strip.figures
        for level, text in strip.remarks:
            if level == "note":
                continue
            where = f"of {a!r}" if a == b else f"between {a!r} and {b!r}"
            message = f"{item.joint.kind} {where}, inner radius {strip.bend.radius:.2f} mm: {text}"
            found.append(Finding(level, "HINGE", (a, b), message, strip.bend.middle, numbers))
    return [*found, *_unproven(made)]


def _unproven(made: Sequence[Made]) -> list[Finding]:
    """One note for each stock that doesn't state what the stress in the links of its hinges is judged by."""
    by_stock: dict[Stock, list[Made]] = {}
    for item in made:
        strip = item.layout.strip
        if strip is not None and not {"shear_stress_mpa", "shear_limit_mpa"} <= strip.numbers.keys():
            by_stock.setdefault(strip.bend.first.body.plate.stock, []).append(item)
    found: list[Finding] = []
    for stock, items in by_stock.items():
        strips = [item.layout.strip for item in items if item.layout.strip is not None]
        plates = tuple(dict.fromkeys(name for item in items for name in item.contact.names))
        which = "the living hinge" if len(items) == 1 else f"{len(items)} living hinges"
        lacks = [name for name, value in (("modulus", stock.rigidity), ("strength", stock.shear_strength)) if value is None]
        known = [strip.numbers.get("shear_stress_mpa") for strip in strips]
        stress = max((value for value in known if value is not None), default=None)
        is_that = "" if stress is None else f", up to {stress:.3g} MPa,"
        wanted = " and ".join(f"shear_{name}=" for name in lacks)
        found.append(
            Finding(
                "note",
                "HINGE",
                plates,
                f"not proven: the shear stress{is_that} in the links of {which} of stock {stock.name or stock.material!r}, "
                f"which states no shear {' and no shear '.join(lacks)}; state {wanted} in MPa, or cut a trial piece",
                strips[0].bend.middle,
                {"hinges": float(len(strips)), **({} if stress is None else {"shear_stress_mpa": stress})},
            )
        )
    return found


def strip_overlaps(strips: Sequence[BentStrip], slabs: Sequence[Slab]) -> list[Finding]:
    """Bent strips that share material with a plate or with each other, by the kernel's booleans; slits don't count."""
    from panelwright.plates._kernel.solids.bent_solid import bent_solid
    from panelwright.plates._kernel.solids.booleans import common_of

    @cache
    def solid_of(number: int) -> tuple[Any, Frame]:
        """The solid of a strip, made where something is near."""
        piece = strips[number].piece
        return bent_solid([piece], piece.thickness), Frame()

    boxes = [_box(strip.piece) for strip in strips]
    found: list[Finding] = []

    def look(strip: BentStrip, other: str, text: str, pair: tuple[object, Frame], number: int) -> None:
        volume, place = common_of(solid_of(number), pair)
        if volume <= OVERLAP_VOLUME:
            return
        at = "" if place is None else f" around ({place[0]:.1f}, {place[1]:.1f}, {place[2]:.1f})"
        found.append(
            Finding(
                "error",
                "OVERLAP",
                (*dict.fromkeys(strip.plates), other),
                f"{_called(strip)} and {text} share {volume:.3f} mm³{at}; move one of them",
                place,
                {"volume_mm3": volume, "limit_mm3": OVERLAP_VOLUME},
            )
        )

    for number, strip in enumerate(strips):
        low, high = boxes[number]
        for slab in slabs:
            if (low < slab.high).all() and (high > slab.low).all():
                look(strip, slab.name, f"plate {slab.name!r}", (slab.solid, slab.frame), number)
    for i, j in combinations(range(len(strips)), 2):
        if (boxes[i][0] < boxes[j][1]).all() and (boxes[i][1] > boxes[j][0]).all():
            look(strips[i], strips[j].plates[0], _called(strips[j]), solid_of(j), i)
    return found


def _called(strip: BentStrip) -> str:
    a, b = strip.plates
    return f"the bent strip between {a!r} and {b!r}" if a != b else f"bent part {a!r}"


def strip_touches(
    strips: Sequence[BentStrip], slabs: Sequence[Slab], is_known: Callable[[str, str], bool]
) -> Iterator[tuple[str, str]]:
    """Pairs of a strip's first plate and a plate of another panel that the strip touches.

    Pairs of which `is_known` says that they hold together are left out: to measure how far they are apart takes long.
    """
    from panelwright.plates._kernel.solids.bent_solid import bent_solid
    from panelwright.plates._kernel.solids.booleans import gap_of

    near = 2 * CONTACT_TOLERANCE
    for strip in strips:
        low, high = _box(strip.piece)
        solid: Any = None
        for slab in slabs:
            if slab.name in strip.members or (low > slab.high + near).any() or (high < slab.low - near).any():
                continue
            if is_known(strip.plates[0], slab.name):
                continue
            if solid is None:
                solid = bent_solid([strip.piece], strip.piece.thickness)
            if gap_of((solid, Frame()), (slab.solid, slab.frame)) <= near:
                yield strip.plates[0], slab.name


def _box(piece: RoundPiece) -> tuple[Floats, Floats]:
    """Bounding box of a strip, no smaller than it is."""
    spots = [piece.flat(segment.start) for loop in piece.loops for segment in loop]
    us = [u for _, u in spots]
    count = max(2, round(abs(piece.angle) / (2 * np.pi) * AROUND) + 1)
    points: list[tuple[float, float, float]] = []
    for s in np.linspace(0.0, piece.length, count).tolist():
        for u in (min(us), max(us)):
            spot = (
                piece.origin[0] + s * piece.across[0] + u * piece.along[0],
                piece.origin[1] + s * piece.across[1] + u * piece.along[1],
            )
            points += [piece.point(spot, z) for z in (0.0, piece.thickness)]
    rise = piece.radius_at(0.0 if piece.sign > 0 else piece.thickness) * (1 - np.cos(abs(piece.angle) / (count - 1) / 2))
    # nothing bulges along the axis
    rise *= np.sqrt(np.maximum(0.0, 1.0 - np.square(piece.axis[1])))
    array = np.array(points)
    return array.min(axis=0) - rise, array.max(axis=0) + rise


@dataclass(frozen=True, slots=True)
class Placed:
    """A flat plate or the plain strip of a bend where it stands: box, area in mm², thickness in mm, what makes its solid."""

    name: str
    low: Floats
    high: Floats
    area: float
    t: float
    solid: Callable[[], tuple[Any, Frame]]

    def box_gap(self, other: Placed) -> float:
        """How far apart in mm the boxes of two are, which they are at least."""
        apart = np.maximum(0.0, np.maximum(self.low - other.high, other.low - self.high))
        return float(np.hypot.reduce(apart))


def placed_pieces(slabs: Sequence[Slab], resolved: Resolved) -> list[Placed]:
    """All that the product is made of, slits left out."""
    areas = {part.name: part.area_mm2 for part in resolved.flats}
    found = [Placed(slab.name, slab.low, slab.high, areas[slab.name], slab.t, partial(_solid_of_slab, slab)) for slab in slabs]
    for strip in resolved.strips:
        low, high = _box(strip.piece)
        area = abs(sum(loop.area for loop in strip.piece.loops))
        found.append(Placed(strip.plates[0], low, high, area, strip.piece.thickness, partial(_solid_of_strip, strip.piece)))
    return found


def _solid_of_slab(slab: Slab) -> tuple[Any, Frame]:
    return slab.solid, slab.frame


def _solid_of_strip(piece: RoundPiece) -> tuple[Any, Frame]:
    from panelwright.plates._kernel.solids.bent_solid import bent_solid

    return bent_solid([piece], piece.thickness), Frame()


def area_of(group: Sequence[str], placed: Sequence[Placed]) -> float:
    """Area in mm² of all plates and bends of a group."""
    return sum(item.area for item in placed if item.name in group)


def listed(group: Sequence[str]) -> str:
    """The plates of a group by name, of a large one the first and how many more there are."""
    if len(group) <= MOST_NAMES:
        return ", ".join(map(repr, group))
    named = group[: MOST_NAMES - 1]
    return f"{', '.join(map(repr, named))} and {len(group) - len(named)} more"


def nearest(group: Sequence[str], placed: Sequence[Placed]) -> tuple[float, Placed]:
    """How far in mm a group stands off the plate nearest to it, and which that is."""
    from panelwright.plates._kernel.solids.booleans import gap_of

    own = [item for item in placed if item.name in group]
    pairs = sorted(
        ((one.box_gap(other), other.name, one.name, one, other) for one in own for other in placed if other.name not in group),
        key=lambda pair: pair[:3],
    )
    best: tuple[float, Placed] | None = None
    for at_least, _, _, one, other in pairs:
        if best is not None and at_least >= best[0] - CONTACT_TOLERANCE:
            break
        gap = gap_of(one.solid(), other.solid())
        if best is None or gap < best[0] - CONTACT_TOLERANCE:
            best = gap, other
    assert best is not None  # a group is told of beside others only
    return best
