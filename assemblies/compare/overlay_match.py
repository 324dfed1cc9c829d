"""How an old panel is laid on a new one so that the least changes, and what is then added and taken away."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from panelwright.plates.geometry.motion import Motion
from panelwright.plates.tolerances import CHORD_TOLERANCE, SAME_AREA

from .version import Shape

__all__ = ["Overlay", "laid_over", "lies_inside"]

GOOD_ENOUGH = 0.5
"""Share of the two areas that may differ before an old panel is also tried turned and turned over."""

LEAST_KEPT = 0.5
"""An old panel of which less would remain is no piece to be trimmed: what is cut from it is another part."""

LEAST_TRIM = 0.1
"""Strips narrower than that, mm, come off no piece that is laid back on the machine: about half a laser's kerf.

Common practice, no source.
"""

THINNEST = 2 * CHORD_TOLERANCE
"""What is thinner, mm, is no material but what chords of the same curve, begun elsewhere, leave between them."""


@dataclass(frozen=True)
class Overlay:
    """An old shape laid on a new one by `motion`, both as drawn."""

    before: Shape
    after: Shape
    motion: Motion

    @cached_property
    def moved(self) -> Any:
        """The old region where it comes to lie on the new one."""
        return _moved(self.before.region, self.motion)

    @cached_property
    def added(self) -> Any:
        """Where there is material now and was none."""
        return _without_slivers(self.after.region.difference(self.moved))

    @cached_property
    def removed(self) -> Any:
        """Where there was material and is none now."""
        return _without_slivers(self.moved.difference(self.after.region))

    @cached_property
    def kept(self) -> Any:
        """Where there is material in both."""
        return self.moved.intersection(self.after.region)


def laid_over(before: Shape, after: Shape, hints: Sequence[Motion] = ()) -> Overlay:
    """The old panel on the new one, so that the least material differs; `hints` are motions to be tried first.

    Tried are the corners, edges and middles of the boxes laid on each other as drawn, then, if more than `GOOD_ENOUGH` of the
    material differs, quarter turns and, where both faces are good, mirror images.  Among equals the first wins.
    """
    wanted = _differing(before, after, Motion())
    best, least = Motion(), wanted
    limit = GOOD_ENOUGH * (before.area_mm2 + after.area_mm2)
    for part, motions in enumerate((_upright(before, after, hints), _turned(before, after))):
        if part and least <= limit:
            break
        for motion in motions:
            area = _differing(before, after, motion)
            if area < least - SAME_AREA:
                best, least = motion, area
    return Overlay(before, after, best)


def lies_inside(before: Shape, after: Shape, hints: Sequence[Motion] = ()) -> Motion | None:
    """A motion that carries the old panel to where it covers all of the new one and trimming will do; None if none tried does.

    Only a panel of a like sheet will do, of which at least `LEAST_KEPT` remains and no strip narrower than `LEAST_TRIM` comes
    off; one with marks is never trimmed, since they would have to come off too.
    """
    if not before.sheet.is_like(after.sheet) or before.marks or after.marks:
        return None
    if not LEAST_KEPT * before.area_mm2 <= after.area_mm2 < before.area_mm2:
        return None
    (w, h), (wide, high) = sorted(before.size_mm), sorted(after.size_mm)
    if wide > w + THINNEST or high > h + THINNEST:
        return None
    candidates = tuple(_hole_free((*_upright(before, after, hints), *_turned(before, after)), before, after))
    whole = (after.coarse.difference(_moved(before.coarse, motion)) for motion in candidates)
    near = (m for m, missing in zip(candidates, whole, strict=True) if _without_slivers(missing).is_empty)
    return next((motion for motion in near if _can_be_trimmed(Overlay(before, after, motion))), None)


def _hole_free(motions: Sequence[Motion], before: Shape, after: Shape) -> Iterator[Motion]:
    """The motions under which the old box covers the new one, and no old opening's middle lies in new material."""
    import shapely

    spots = before.opening_middles
    shapely.prepare(after.coarse)
    wide, high = after.size_mm
    for motion in motions:
        ends = zip(motion.apply((0.0, 0.0)), motion.apply(before.size_mm), strict=True)
        (x0, x1), (y0, y1) = map(sorted, ends)
        if x0 > THINNEST or y0 > THINNEST or x1 < wide - THINNEST or y1 < high - THINNEST:
            continue
        x = motion.a * spots[:, 0] + motion.b * spots[:, 1] + motion.e
        y = motion.c * spots[:, 0] + motion.d * spots[:, 1] + motion.f
        if not shapely.contains_xy(after.coarse, x, y).any():
            yield motion


def _can_be_trimmed(overlay: Overlay) -> bool:
    return overlay.added.is_empty and all(2 * piece.area / piece.length >= LEAST_TRIM for piece in overlay.removed.geoms)


def _differing(before: Shape, after: Shape, motion: Motion) -> float:
    common = _moved(before.region, motion).intersection(after.region).area
    return float(before.region.area + after.region.area - 2 * common)


def _upright(before: Shape, after: Shape, hints: Sequence[Motion]) -> Iterator[Motion]:
    yield from _once([*hints, *_offsets(before, after, Motion())])


def _turned(before: Shape, after: Shape) -> Iterator[Motion]:
    turns = (0.0, 180.0) if after.sheet.has_grain else (0.0, 90.0, 180.0, 270.0)
    mirrors = [Motion()]
    if after.sheet.both_faces_good and not before.marks and not after.marks:
        mirrors.append(Motion.mirror_x())
    for mirror in mirrors:
        for turn in turns:
            if turn or mirror.flips:
                yield from _once(_offsets(before, after, mirror.then(Motion.turn(turn))))


def _once(motions: Sequence[Motion]) -> Iterator[Motion]:
    seen = set()
    for motion in motions:
        key = tuple(round(v, 4) for v in (motion.a, motion.b, motion.c, motion.d, motion.e, motion.f))
        if key not in seen:
            seen.add(key)
            yield motion


def _offsets(before: Shape, after: Shape, turn: Motion) -> list[Motion]:
    """The turned box of the old panel laid to the corners, the edges and the middle of the new one's."""
    corners = [turn.apply(spot) for spot in ((0.0, 0.0), (before.size_mm[0], before.size_mm[1]))]
    left, right = sorted(x for x, _ in corners)
    low, high = sorted(y for _, y in corners)
    across, up = after.size_mm[0] - (right - left), after.size_mm[1] - (high - low)
    return [turn.then(Motion.shift(sx * across - left, sy * up - low)) for sx in (0.0, 0.5, 1.0) for sy in (0.0, 0.5, 1.0)]


def _moved(region: Any, motion: Motion) -> Any:
    from shapely.affinity import affine_transform

    if motion == Motion():
        return region
    return affine_transform(region, [motion.a, motion.b, motion.c, motion.d, motion.e, motion.f])


def _without_slivers(region: Any) -> Any:
    """The region without pieces that are no thicker than what chords leave between them."""
    import shapely

    pieces = [piece for piece in getattr(region, "geoms", [region]) if piece.geom_type == "Polygon"]
    return shapely.MultiPolygon(
        [p for p in pieces if p.area > 0 and 2 * p.area / p.length > THINNEST and not math.isnan(p.area)]
    )
