"""Where the product stands while it is put together: the part that the others are built on lies flat, facing them.

The frame of the bench comes from the shapes alone, so that what is found does not depend on how the design turns the product,
in which order plates were added, or what they are called.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.geometry.frame import Frame, Vector, scaled

from .rigid import Floats

__all__ = ["Standing", "bench_of"]

Whole = NDArray[np.int64]

STEPS = 1e4
"""Places count as the same within so many parts of a mm, and weights within so many parts of themselves."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What matters of a part: its frame, the middle of its material, its area in mm², and how much speaks for building on
    it."""

    frame: Frame
    middle: Vector
    area: float
    weight: float


def bench_of(parts: Sequence[Standing]) -> tuple[Frame, tuple[int, ...]]:
    """The frame that takes the product's coordinates to the bench, and the parts in an order that only shapes decide.

    Of parts that speak alike for building on them, and of the two sides of one, that is taken from which everything else looks
    first in order; where all look the same from several, the product is symmetric, and the lowest is taken.

    >>> flat = Standing(Frame(), (0.0, 0.0, 1.5), 400.0, 800.0)
    >>> wall = Standing(Frame.facing((0, 0, 13), show=(0, -1, 0), right=(1, 0, 0)), (0.0, 0.0, 13.0), 200.0, 200.0)
    >>> bench, order = bench_of([wall, flat])
    >>> bench.z, order
    ((0.0, 0.0, 1.0), (1, 0))
    """
    if not parts:
        return Frame(), ()
    most = max(part.weight for part in parts)
    middles = np.array([part.middle for part in parts], float)
    normals = np.array([part.frame.z for part in parts], float)
    areas = np.array([part.area for part in parts], float)
    found: list[tuple[tuple[bytes, ...], Frame, Whole]] = []
    for number, part in enumerate(parts):
        if part.weight < most * (1 - 1 / STEPS):
            continue
        total = float((middles - middles[number]).sum(axis=0) @ normals[number])
        for sign in (1.0, -1.0):
            if total * sign < -1 / STEPS:
                continue  # what is built on it stands on its upper side
            bench = Frame(part.middle, part.frame.x, scaled(part.frame.y, sign), scaled(part.frame.z, sign)).inverse
            rows = _rows(middles, normals, areas, bench)
            order = np.lexsort(rows.T[::-1])
            low = _steps(np.array([*reversed(part.middle), *reversed(bench.inverse.z)]) * (1, 1, 1, -1, -1, -1))
            found.append(((_sortable(rows[order]), _sortable(low)), bench, order))
    _, bench, order = min(found, key=lambda one: one[0])
    return bench, tuple(int(i) for i in order)


def _rows(middles: Floats, normals: Floats, areas: Floats, bench: Frame) -> Whole:
    """Of each part where it stands, upwards first, which way it looks, and its area; all in whole steps."""
    turn = np.array([bench.x, bench.y, bench.z])
    spots, looks = middles @ turn + np.array(bench.origin), normals @ turn
    rough = _steps(looks)
    first = np.argmax(np.abs(rough) > 1, axis=1)
    looks *= np.sign(rough[np.arange(len(rough)), first])[:, None]
    return _steps(np.column_stack([spots[:, ::-1], looks, areas]))


def _steps(values: Floats) -> Whole:
    # off the middle between two steps, where round sizes lie and rounding would decide
    return np.floor(values * STEPS + 0.37).astype(np.int64)


def _sortable(rows: Whole) -> bytes:
    """Whole numbers as bytes that sort as they do."""
    return (rows + (1 << 62)).astype(">i8").tobytes()
