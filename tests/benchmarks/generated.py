"""Seeded nesting jobs: tabbed panels with slots, frames, discs with bores and brackets, on sheets of 600 × 300 mm."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator

from panelwright.assemblies.nest import NestJob, Piece, Sheet
from panelwright.plates.geometry.curves import Point, loop_through
from panelwright.plates.outlines.planar_cuts import combine

__all__ = ["generated_job"]

SEEDS = {30: 16, 120: 7}
"""Seeds of the two jobs that were measured before the engine was written, by number of pieces."""

TAB_DEPTH = 3.0
STYLES = ("finger", "notch", "tabs", "tabs", "plain")

Ring = list[Point]


def generated_job(count: int, seed: int | None = None, *, effort: int, search_seed: int = 1) -> NestJob:
    """A job of `count` pieces that may be turned by quarter turns, with spacing 2 mm, margin 5 mm and sheets enough."""
    pieces = tuple(_pieces(count, SEEDS.get(count, 7) if seed is None else seed))
    return NestJob(pieces, (Sheet.rectangle("600 × 300", 600, 300, 40),), effort=effort, seed=search_seed)


def _pieces(count: int, seed: int) -> Iterator[Piece]:
    rng = random.Random(seed)
    total = number = 0
    while total < count:
        rings = _rings(rng)
        quantity = min(2 if rng.random() < 0.5 else 1, count - total)
        yield Piece.from_rings(f"piece {number}", rings, quantity)
        total += quantity
        number += 1


def _rings(rng: random.Random) -> list[Ring]:
    kind = rng.random()

    def size(least: float, most: float) -> float:
        return round(rng.uniform(least, most), 1)

    if kind < 0.66:
        return _slotted(rng, size(40, 280), size(40, 180))
    if kind < 0.76:
        width, height = size(160, 280), size(120, 200)
        rim = size(15, 25)
        return [_panel(rng, width, height), _rectangle(rim, rim, width - rim, height - rim)]
    if kind < 0.88:
        radius = size(15, 60)
        return [_polygon(radius / math.cos(math.pi / 64), 64), _polygon(4, 24)]
    width, height = size(80, 240), size(80, 180)
    arm, foot = size(25, 0.5 * width), size(25, 0.5 * height)
    return [[(0, 0), (width, 0), (width, foot), (arm, foot), (arm, height), (0, height)]]


def _slotted(rng: random.Random, width: float, height: float) -> list[Ring]:
    """A panel with up to three slots, of which those near its border or each other are left out."""
    rings = [_panel(rng, width, height)]
    for _ in range(rng.randint(0, 3)):
        x, y = rng.uniform(10, max(11, width - 30)), rng.uniform(10, max(11, height - 15))
        is_inside = x > 8 and y > 8 and x + 26 < width and y + 11 < height
        if is_inside and all(abs(x - ring[0][0]) > 23 or abs(y - ring[0][1]) > 8 for ring in rings[1:]):
            rings.append(_rectangle(x, y, x + 18, y + 3))
    return rings


def _panel(rng: random.Random, width: float, height: float) -> Ring:
    """A rectangle with tabs outside it or notches inside it, a style for each side."""
    sides = [rng.choice(STYLES) for _ in range(4)]
    adds, cuts = [], []
    for side, style in enumerate(sides):
        for a, b, depth in _teeth(style, (width, height)[side % 2]):
            out, into = max(depth, 0.0), max(-depth, 0.0)
            place = (
                (a, -out, b, into),
                (width - into, a, width + out, b),
                (a, height - into, b, height + out),
                (-out, a, into, b),
            )[side]
            (adds if depth > 0 else cuts).append(loop_through(_rectangle(*place)))
    regions = combine([loop_through(_rectangle(0, 0, width, height))], adds=adds, cuts=cuts)
    outer = max(regions.loops, key=lambda loop: loop.area)
    return [segment.start for segment in outer]


def _teeth(style: str, length: float) -> Iterator[tuple[float, float, float]]:
    """Where tabs stand along a side, and how far out; notches have negative depths."""
    if style in ("finger", "notch"):
        count = max(3, int(length // 14))
        count -= count % 2 == 0
        width = length / count
        for index in range(1, count, 2):
            yield index * width, (index + 1) * width, TAB_DEPTH if style == "finger" else -TAB_DEPTH
    elif style == "tabs":
        count = 1 if length < 90 else 2 if length < 180 else 3
        width = min(18.0, length * 0.3)
        for index in range(count):
            middle = length * (index + 1) / (count + 1)
            yield middle - width / 2, middle + width / 2, TAB_DEPTH


def _rectangle(x0: float, y0: float, x1: float, y1: float) -> Ring:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _polygon(radius: float, corners: int) -> Ring:
    angles = [2 * math.pi * index / corners for index in range(corners)]
    return [(radius * math.cos(angle), radius * math.sin(angle)) for angle in angles]
