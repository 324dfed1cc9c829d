"""What two parts share where the proof found an overlap: its solid as triangles, for the 3D view."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from itertools import combinations
from typing import Any

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Bought, Part
from panelwright.assemblies.data.product import Product
from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.frame import Frame, Vector
from panelwright.plates.tolerances import CONTACT_TOLERANCE, OVERLAP_VOLUME

__all__ = ["MOST_SHOWN", "shared_solids"]

MOST_SHOWN = 40
"""Overlaps whose volume is worked out: a product with more has one cause for many, and each takes a boolean of the kernel."""

Solid = tuple[Any, Frame]


def shared_solids(product: Product) -> list[tuple[int, Any]]:
    """For each overlap found, the finding's number and the solid that is shared, in the product's frame; some at most.

    Left out is what the kernel cannot intersect, and an overlap within one bent panel.
    """
    from panelwright.plates._kernel.solids.booleans import shared_of

    found: list[tuple[int, Any]] = []
    for number, finding in enumerate(product.findings):
        if finding.code != "OVERLAP" or len(found) >= MOST_SHOWN:
            continue
        meant = finding.numbers.get("volume_mm3", 0.0)
        held: list[tuple[float, Any]] = []
        for one, other in _pairs(finding, product):
            with contextlib.suppress(KernelError):
                solid, volume = shared_of((one.solid, one.frame), (other.solid, other.frame))
                if volume > OVERLAP_VOLUME:
                    held.append((abs(volume - meant), solid))
        if held:
            found.append((number, min(held, key=lambda one: one[0])[1]))
    return found


def _pairs(finding: Finding, product: Product) -> Sequence[tuple[Part | Bought, Part | Bought]]:
    """The pairs of parts that a finding may be about: it names plates; screws and nuts are told by its place and volume."""
    parts: list[Part | Bought] = [part for part in product.parts if set(part.plates) & set(finding.plates)]
    if len(parts) >= 2:
        return list(combinations(parts, 2))
    place = finding.place
    near = [bought for bought in product.bought if place is not None and _holds(bought, place)]
    return [(part, bought) for part in parts for bought in near] if parts else list(combinations(near, 2))


def _holds(bought: Bought, place: Vector) -> bool:
    from panelwright.plates._kernel.drawing.hidden_line import world_bounds

    low, high = world_bounds(bought.solid, bought.frame)
    return all(a - CONTACT_TOLERANCE <= x <= b + CONTACT_TOLERANCE for a, x, b in zip(low, place, high, strict=True))
