"""Bought parts: screws and nuts as solids where they sit, what they hit, what they weigh, how many to buy."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Bought
from panelwright.joints.spec.fasteners import NutBody, ScrewBody
from panelwright.plates.geometry.frame import Frame, Vector, cross, dot, minus
from panelwright.plates.tolerances import CONTACT_TOLERANCE, COSINE_ROUNDING, OVERLAP_VOLUME

from .interference import Slab

__all__ = ["hardware_overlaps"]


Floats = NDArray[np.float64]


class _Body:
    """A fastener ready for interference questions: convex pieces that hold it, as points in the product's frame."""

    def __init__(self, part: Bought) -> None:
        self.part = part
        self.pieces = [_placed(piece, part.frame) for piece in _convex_pieces(part.fastener.body)]
        everything = np.vstack(self.pieces)
        self.low, self.high = everything.min(axis=0), everything.max(axis=0)

    @cached_property
    def middle(self) -> Vector:
        x, y, z = ((self.low + self.high) / 2).tolist()
        return (x, y, z)

    def is_near(self, low: Floats, high: Floats) -> bool:
        return bool((self.low < high - CONTACT_TOLERANCE).all() and (self.high > low + CONTACT_TOLERANCE).all())

    def may_hit(self, slab: Slab) -> bool:
        """Whether a shadow of the fastener on the plate's plane meets the plate: if not, nothing is shared."""
        import shapely

        for piece in self.pieces:
            flat = (piece - np.array(slab.frame.origin)) @ np.array([slab.frame.x, slab.frame.y, slab.frame.z]).T
            low, high = max(0.0, float(flat[:, 2].min())), min(slab.t, float(flat[:, 2].max()))
            if high - low <= CONTACT_TOLERANCE:
                continue
            shadow = shapely.MultiPoint(flat[:, :2]).convex_hull
            if slab.area_within(shadow) * (high - low) > OVERLAP_VOLUME:
                return True
        return False


def _placed(points: Floats, frame: Frame) -> Floats:
    axes = np.array([frame.x, frame.y, frame.z])
    placed: Floats = points @ axes + np.array(frame.origin)
    return placed


def _convex_pieces(body: ScrewBody | NutBody) -> list[Floats]:
    if isinstance(body, NutBody):
        radius = body.s / math.sqrt(3) if body.sides == 6 else body.s / math.sqrt(2)
        first = 30.0 if body.sides == 6 else 45.0
        return [_prism(radius, body.sides, first, 0.0, body.m)]
    n = 48
    outside = 1 / math.cos(math.pi / n)  # round a circle, so that nothing is missed
    head = _prism(body.dk / 2 * outside, n, 0.0, -body.proud, min(0.0, body.k - body.proud))
    shank = _prism(body.d / 2 * outside, n, 0.0, 0.0, body.reach)
    if body.head != "countersunk":
        return [head, shank]
    # the cone's end that sinks into the hole
    sunk = body.k - body.proud
    return [head, _prism((body.d / 2 + sunk) * outside, n, 0.0, 0.0, sunk), shank]


def _prism(radius: float, sides: int, first_deg: float, low: float, high: float) -> Floats:
    angles = np.radians(first_deg + 360.0 / sides * np.arange(sides))
    ring = np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])
    return np.vstack([np.column_stack([ring, np.full(sides, z)]) for z in (low, high)])


def hardware_overlaps(bought: Sequence[Bought], slabs: Sequence[Slab]) -> list[Finding]:
    """Fasteners that share material with a plate or with each other; a nut's own screw does not count."""
    from panelwright.plates._kernel.solids.booleans import common_of

    bodies = [_Body(part) for part in bought]
    findings: list[Finding] = []
    for body in bodies:
        part = body.part
        for slab in slabs:
            if not body.is_near(slab.low, slab.high) or not body.may_hit(slab):
                continue
            volume, place = common_of((part.solid, part.frame), (slab.solid, slab.frame))
            if volume > OVERLAP_VOLUME:
                text = f"{part.fastener.kind} {part.name!r} and plate {slab.name!r}"
                findings.append(_overlap((slab.name,), text, volume, place or body.middle))
    for a, b in _near_pairs(bodies):
        if _on_one_thread(a.part, b.part):
            continue
        volume, place = common_of((a.part.solid, a.part.frame), (b.part.solid, b.part.frame))
        if volume > OVERLAP_VOLUME:
            text = f"{a.part.fastener.kind} {a.part.name!r} and {b.part.fastener.kind} {b.part.name!r}"
            findings.append(_overlap((), text, volume, place or a.middle))
    return findings


def _near_pairs(bodies: Sequence[_Body]) -> list[tuple[_Body, _Body]]:
    """Pairs whose bounding boxes meet, in a stable order."""
    if not bodies:
        return []
    low, high = np.array([body.low for body in bodies]), np.array([body.high for body in bodies]) - CONTACT_TOLERANCE
    meet = (low[:, None, :] < high[None, :, :]).all(axis=2)
    first, second = np.nonzero(np.triu(meet & meet.T, 1))
    return [(bodies[i], bodies[j]) for i, j in zip(first.tolist(), second.tolist(), strict=True)]


def _on_one_thread(a: Bought, b: Bought) -> bool:
    """Whether one is a screw, the other a nut, and both lie on one axis."""
    if a.fastener.kind == b.fastener.kind:
        return False
    off = cross(minus(a.frame.origin, b.frame.origin), a.frame.z)
    return dot(a.frame.z, b.frame.z) > 1 - COSINE_ROUNDING and dot(off, off) < CONTACT_TOLERANCE**2


def _overlap(plates: tuple[str, ...], text: str, volume: float, place: Vector) -> Finding:
    x, y, z = place
    return Finding(
        "error",
        "OVERLAP",
        plates,
        f"{text} share {volume:.3f} mm³ around ({x:.1f}, {y:.1f}, {z:.1f}); move the screw, or what is in its way",
        place,
        {"volume_mm3": volume, "limit_mm3": OVERLAP_VOLUME},
    )
