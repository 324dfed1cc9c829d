"""Room for lettering on a panel: where boxes fit that keep the clear distance from whatever is cut or marked.

The panel is laid under a grid.  Cells with free corners are free, and a sum table over them tells for every size of box where
it has room; of the places with room the one nearest to the middle of the panel is taken, and checked once more on the exact
region.  A coarse grid is asked first.  A fine one decides whether there is no room, since cells that grow with a panel's longer
side step over the middle of a long rail.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from panelwright.plates.geometry.curves import Loop, Point, Segment
from panelwright.plates.geometry.polygons import line_of, polygon_of

if TYPE_CHECKING:
    import shapely

__all__ = ["CHORD", "CLEAR", "Room", "free_region"]

CLEAR: Final = 1.5
"""Distance in mm that lettering keeps from what the beam takes away, and from marks: scorched edges hide less (common practice,
no source)."""

CHORD: Final = 0.05
"""How far polygons may be from curved cuts, in mm; the clear distance is widened by as much."""

MOST_CELLS: Final = 160
"""Cells of the coarse grid along the panel's longer side."""

MOST_FINE_CELLS: Final = 1_000_000
"""Cells of the fine grid: what a panel of 400 × 400 mm needs, in some milliseconds."""

LEAST_CELL: Final = 0.4
"""Cells are no finer than this, in mm."""

TRIED: Final = 50
"""Places that are checked exactly before a box counts as one without room: thin cuts may run between corners of cells."""


def free_region(
    loops: Sequence[Loop], others: Sequence[Sequence[Segment]] = (), *, kerf: float = 0.0, bends: Sequence[Loop] = ()
) -> shapely.Geometry:
    """Where lettering may be: inside the cut paths `loops`, clear of what a beam as wide as `kerf` mm takes away along them.

    `others` are slits and marks, which are kept off alike; `bends` are parts that will be bent, and hold no lettering.

    >>> from panelwright.plates import rectangle
    >>> [round(side, 2) for side in free_region(rectangle(20, 10).loops, kerf=0.2).bounds]
    [-8.35, -3.35, 8.35, 3.35]
    """
    import shapely

    clear = CLEAR + CHORD + kerf / 2
    outers = [polygon_of(loop, tolerance=CHORD) for loop in loops if loop.area > 0]
    holes = [polygon_of(loop, tolerance=CHORD) for loop in loops if loop.area < 0]
    lines = [line_of(chain, CHORD) for chain in others if chain]
    taken = [*(hole.buffer(clear) for hole in holes), *(line.buffer(clear) for line in lines)]
    taken += [polygon_of(loop, tolerance=CHORD) for loop in bends if loop.area > 0]
    return shapely.union_all(outers).buffer(-clear).difference(shapely.union_all(taken))


class Room:
    """Where boxes have room in a region, nearest to its `middle`; `bounds` are those of the panel."""

    def __init__(self, region: shapely.Geometry, bounds: tuple[float, float, float, float]) -> None:
        import shapely

        shapely.prepare(region)
        self._region = region
        self._bounds = bounds
        x0, y0, x1, y1 = bounds
        cells = [max(LEAST_CELL, max(x1 - x0, y1 - y0) / MOST_CELLS)]
        fine = max(LEAST_CELL, math.sqrt((x1 - x0) * (y1 - y0) / MOST_FINE_CELLS))
        self._cells = cells if fine >= cells[0] else [*cells, fine]
        self._grids: list[_Grid] = []

    def place(self, size: tuple[float, float]) -> Point | None:
        """Lower left corner of a box of that width and height in mm, None if there is no room for it."""
        import shapely

        low_x, low_y, high_x, high_y = self._region.bounds if not self._region.is_empty else (0.0, 0.0, -1.0, -1.0)
        if size[0] > high_x - low_x or size[1] > high_y - low_y:
            return None
        for number, cell in enumerate(self._cells):
            if number == len(self._grids):
                self._grids.append(_Grid(self._region, self._bounds, cell))
            for at in self._grids[number].places(size):
                if self._region.covers(shapely.box(*at, at[0] + size[0], at[1] + size[1])):
                    return at
        return None


class _Grid:
    """Free cells of a region, and where boxes of cells have room."""

    def __init__(self, region: shapely.Geometry, bounds: tuple[float, float, float, float], cell: float) -> None:
        import numpy as np

        x0, y0, x1, y1 = bounds
        self._middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        self._cell = cell
        columns, rows = max(1, int((x1 - x0) / cell)), max(1, int((y1 - y0) / cell))
        # the grid lies in the middle of the panel's box, so that a symmetric panel gets a symmetric grid
        self._left, self._low = self._middle[0] - columns * cell / 2, self._middle[1] - rows * cell / 2
        corners = _inside(region, (self._left, self._low), cell, (rows + 1, columns + 1))
        # boxes are checked on the region itself, which is no finer than a cell nearly everywhere
        cells = corners[:-1, :-1] & corners[1:, :-1] & corners[:-1, 1:] & corners[1:, 1:]
        self._sums = np.zeros((rows + 1, columns + 1), np.int32)
        self._sums[1:, 1:] = cells.cumsum(axis=0, dtype=np.int32).cumsum(axis=1)

    def places(self, size: tuple[float, float]) -> list[Point]:
        """Lower left corners of boxes of that size that seem free, those nearest to the middle first."""
        import numpy as np

        wide, high = (max(1, math.ceil(side / self._cell - 1e-9)) for side in size)
        rows, columns = self._sums.shape
        if wide >= columns or high >= rows:
            return []
        s: Any = self._sums
        full = s[high:, wide:] - s[:-high, wide:] - s[high:, :-wide] + s[:-high, :-wide] == wide * high
        row, column = np.nonzero(full)
        x, y = self._left + (column + wide / 2) * self._cell, self._low + (row + high / 2) * self._cell
        away = np.round(np.hypot(x - self._middle[0], y - self._middle[1]), 6)
        if len(away) > TRIED:
            near = away <= np.partition(away, TRIED)[TRIED]
            x, y, away = x[near], y[near], away[near]
        return [(float(x[k]) - size[0] / 2, float(y[k]) - size[1] / 2) for k in np.lexsort((x, y, away))[:TRIED]]


def _inside(region: shapely.Geometry, corner: Point, cell: float, shape: tuple[int, int]) -> Any:
    """Which points of a grid lie in a region: in each row, those with an odd number of its borders to the left of them."""
    import numpy as np
    import shapely

    rows, columns = shape
    chains = [shapely.get_coordinates(ring) for ring in shapely.get_rings(shapely.get_parts(region))]
    crossings = np.zeros((rows, columns + 1), np.int32)
    if chains:
        x0, y0, x1, y1 = np.vstack([np.hstack([chain[:-1], chain[1:]]) for chain in chains]).T
        first, last = (np.ceil((end(y0, y1) - corner[1]) / cell).clip(0, rows).astype(int) for end in (np.minimum, np.maximum))
        count = last - first
        edge = np.repeat(np.arange(len(count)), count)
        row = first[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
        x = x0[edge] + (corner[1] + row * cell - y0[edge]) * (x1 - x0)[edge] / (y1 - y0)[edge]
        np.add.at(crossings, (row, np.ceil((x - corner[0]) / cell).clip(0, columns).astype(int)), 1)
    return crossings.cumsum(axis=1)[:, :columns] % 2 == 1
