"""What of a sheet is worth keeping: the largest empty rectangles along its axes.

A grid of cells finds where they are, a cell being taken if anything touches it; then each side is pushed out to what stops
it, on the true outlines.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from panelwright.plates.tolerances import ROUNDING

from .result import Leftover

if TYPE_CHECKING:
    import shapely

__all__ = ["leftovers"]

CELLS: Final = 120
"""Cells along the longer side of a sheet, unless the least leftover asks for finer ones."""

CELLS_IN_LEAST: Final = 8
"""Cells along the shorter side of the least leftover, at least, so that hardly any is missed."""

MOST_CELLS: Final = 400
"""Cells along the longer side at most: time goes with the square."""

MOST_LEFTOVERS: Final = 4
"""Rectangles that are looked for on one sheet."""

GRAIN_OF_SIZE: Final = 1e-3
"""Sizes are given in whole micrometres, rounded down."""


def leftovers(
    sheet: shapely.Polygon, pieces: Sequence[shapely.Polygon], spacing: float, least: tuple[float, float]
) -> tuple[Leftover, ...]:
    """Disjoint empty rectangles of at least `least` (width, height, either way round) mm, the largest first, four at most.

    Each lies on the sheet and keeps `spacing` mm from every piece.  Found one after the other, each the largest on a grid
    of cells, so a rectangle that is larger by less than a cell may be missed.

    >>> import shapely
    >>> leftovers(shapely.box(0, 0, 600, 300), [shapely.box(5, 5, 250, 295)], 2, (100, 100))
    (Leftover(x=252.0, y=0.0, width=348.0, height=300.0),)
    """
    import shapely

    x0, y0, x1, y1 = sheet.bounds
    frame = shapely.box(x0 - 1, y0 - 1, x1 + 1, y1 + 1)
    taken: Any = shapely.union_all([frame.difference(sheet), *(piece.buffer(spacing) for piece in pieces)])
    found: list[Leftover] = []
    while len(found) < MOST_LEFTOVERS:
        best = _largest(taken, (x0, y0, x1, y1), least)
        if best is None:
            break
        found.append(best)
        kept = shapely.box(best.x, best.y, best.x + best.width, best.y + best.height)
        taken = shapely.union(taken, kept.buffer(spacing, join_style="mitre"))
    return tuple(sorted(found, key=lambda one: (-one.area_mm2, one.x, one.y)))


def _largest(taken: shapely.Geometry, bounds: tuple[float, float, float, float], least: tuple[float, float]) -> Leftover | None:
    import numpy as np
    import shapely

    x0, y0, x1, y1 = bounds
    longer = max(x1 - x0, y1 - y0)
    cell = max(min(longer / CELLS, min(least) / CELLS_IN_LEAST), longer / MOST_CELLS)
    xs = np.linspace(x0, x1, max(1, math.ceil((x1 - x0) / cell)) + 1)
    ys = np.linspace(y0, y1, max(1, math.ceil((y1 - y0) / cell)) + 1)
    # cells are drawn in by a little, so that those which only touch what is taken stay free
    inset = 1e-6
    left, low = np.meshgrid(xs[:-1] + inset, ys[:-1] + inset)
    right, high = np.meshgrid(xs[1:] - inset, ys[1:] - inset)
    shapely.prepare(taken)
    is_free = ~shapely.intersects(taken, shapely.box(left, low, right, high))
    best: Leftover | None = None
    for i0, j0, i1, j1 in _rectangles(is_free.tolist()):
        wide, high_ = float(xs[i1] - xs[i0]), float(ys[j1] - ys[j0])
        one_cell = 2 * cell
        if not _is_enough(wide + one_cell, high_ + one_cell, least):
            continue
        grown = _pushed_out(taken, (float(xs[i0]), float(ys[j0]), float(xs[i1]), float(ys[j1])), bounds)
        if _is_enough(grown.width, grown.height, least) and (best is None or grown.area_mm2 > best.area_mm2):
            best = grown
    return best


def _is_enough(width: float, height: float, least: tuple[float, float]) -> bool:
    low, high = sorted((width, height))
    return low >= min(least) - ROUNDING and high >= max(least) - ROUNDING


def _rectangles(is_free: Sequence[Sequence[bool]]) -> list[tuple[int, int, int, int]]:
    """The largest maximal rectangles of free cells as (column, row, column after, row after): a sweep of columns' heights."""
    heights = [0] * len(is_free[0])
    found: list[tuple[int, tuple[int, int, int, int]]] = []
    for row, cells in enumerate(is_free):
        heights = [height + 1 if free else 0 for height, free in zip(heights, cells, strict=True)]
        stack: list[tuple[int, int]] = []  # (first column, height), heights rising
        for column, height in enumerate([*heights, 0]):
            start = column
            while stack and stack[-1][1] >= height:
                start, tall = stack.pop()
                if tall:
                    found.append((-(column - start) * tall, (start, row + 1 - tall, column, row + 1)))
            stack.append((start, height))
    return [rectangle for _, rectangle in sorted(found)[:CANDIDATES]]


CANDIDATES: Final = 12
"""Largest rectangles of cells that are pushed out to see which becomes the largest."""


def _pushed_out(
    taken: shapely.Geometry, rectangle: tuple[float, float, float, float], bounds: tuple[float, float, float, float]
) -> Leftover:
    """The rectangle with each side in turn as far out as nothing stops it; never smaller."""
    import shapely

    a, b, c, d = rectangle
    x0, y0, x1, y1 = bounds
    tiny = 1e-6

    def stop(strip: shapely.Polygon) -> Any:
        """What is taken in the way, as bounds, or None."""
        hit = shapely.intersection(taken, strip)
        return None if hit.is_empty else hit.bounds

    if (hit := stop(shapely.box(x0, b + tiny, a, d - tiny))) is not None:
        x0 = hit[2]
    a = x0
    if (hit := stop(shapely.box(c, b + tiny, x1, d - tiny))) is not None:
        x1 = hit[0]
    c = x1
    if (hit := stop(shapely.box(a + tiny, y0, c - tiny, b))) is not None:
        y0 = hit[3]
    b = y0
    if (hit := stop(shapely.box(a + tiny, d, c - tiny, y1))) is not None:
        y1 = hit[1]
    d = y1
    left, low = math.ceil(a / GRAIN_OF_SIZE - 1e-3) * GRAIN_OF_SIZE, math.ceil(b / GRAIN_OF_SIZE - 1e-3) * GRAIN_OF_SIZE
    width = math.floor((c - left) / GRAIN_OF_SIZE + 1e-3) * GRAIN_OF_SIZE
    height = math.floor((d - low) / GRAIN_OF_SIZE + 1e-3) * GRAIN_OF_SIZE
    return Leftover(round(left, 3), round(low, 3), round(width, 3), round(height, 3))
