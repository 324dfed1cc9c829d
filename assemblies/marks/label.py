"""Lettering that finds room for itself on a panel: as large as is sensible, off every cut, upright or on its side.

The panel is laid under a grid.  Cells that keep the clear distance from all cuts are free, and a sum table over them tells for
every size of box where it has room.  The text that says most is tried first, each from the largest height down; of the
places with room the one nearest to the middle of the panel is taken, and checked once more on the exact outline.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from panelwright.plates.curves import Line, Loop, Segment
from panelwright.plates.errors import SizeError
from panelwright.plates.lettering import lettering, lettering_width
from panelwright.plates.motion import Motion

if TYPE_CHECKING:
    import shapely

__all__ = ["CLEAR", "HEIGHTS", "Label", "label_of"]

HEIGHTS: Final = (6.0, 5.0, 4.0, 3.5, 3.0, 2.5, 2.0)
"""Heights of letters in mm that are tried: below 2 mm a beam's own width blurs them (common practice, no source)."""

CLEAR: Final = 1.5
"""Distance in mm that lettering keeps from every cut path and mark: scorched edges hide less (common practice, no source)."""

MOST_CELLS: Final = 160
"""Cells of the grid along the panel's longer side."""

LEAST_CELL: Final = 0.4
"""Cells are no finer than this, in mm."""

CHORD: Final = 0.05
"""How far polygons may be from curved cuts, in mm; the clear distance is widened by as much."""


@dataclass(frozen=True, slots=True)
class Label:
    """Lettering on a panel: the text, the height of its letters in mm, and its strokes in the panel's coordinates."""

    text: str
    height: float
    strokes: tuple[tuple[Line, ...], ...]


def label_of(
    texts: Sequence[str],
    cuts: Sequence[Loop],
    keep_off: Sequence[Sequence[Segment]] = (),
    *,
    is_mirrored: bool = False,
) -> Label | None:
    """The first of the texts that finds room among the cut paths of a panel, at the largest height it has room for.

    `keep_off` are other paths, such as slits and marks.  `is_mirrored` gives lettering that reads right once the panel is
    drawn as its mirror image, left for right.  None if none of the texts fits.  Raises `SizeError` for a letter that the font
    lacks.

    >>> from panelwright.plates import rectangle
    >>> found = label_of(["A left wall", "A"], rectangle(20, 12).loops)
    >>> found.text, found.height
    ('A', 6.0)
    """
    mirror = Motion.mirror_x() if is_mirrored else Motion()
    loops = [loop.moved(mirror) for loop in cuts]
    others = [[segment.moved(mirror) for segment in chain] for chain in keep_off if chain]
    grid = _Grid(loops, others)
    for text in texts:
        for height in HEIGHTS:
            strokes = grid.lettered(text, height)
            if strokes is not None:
                back = mirror.inverse
                return Label(text, height, tuple(tuple(line.moved(back) for line in chain) for chain in strokes))
    return None


class _Grid:
    """Free cells of a panel, and where boxes of cells have room."""

    def __init__(self, loops: Sequence[Loop], others: Sequence[Sequence[Segment]]) -> None:
        import numpy as np
        import shapely

        self._free = _free_region(loops, others)
        x0, y0, x1, y1 = loops[0].bounds
        self._middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        self._cell = max(LEAST_CELL, max(x1 - x0, y1 - y0) / MOST_CELLS)
        columns, rows = max(1, int((x1 - x0) / self._cell)), max(1, int((y1 - y0) / self._cell))
        # the grid lies in the middle of the panel's box, so that a symmetric panel gets a symmetric grid
        self._left, self._low = self._middle[0] - columns * self._cell / 2, self._middle[1] - rows * self._cell / 2
        # a cell is free if its four corners are, and the region is no finer than a cell nearly everywhere; boxes are checked
        xs, ys = (np.arange(n + 1) * self._cell + low for n, low in ((columns, self._left), (rows, self._low)))
        corners = np.zeros((rows + 1, columns + 1), bool)
        if not self._free.is_empty:
            shapely.prepare(self._free)
            corners = shapely.contains_xy(self._free, *np.meshgrid(xs, ys))
        cells = corners[:-1, :-1] & corners[1:, :-1] & corners[:-1, 1:] & corners[1:, 1:]
        self._sums = np.zeros((rows + 1, columns + 1), int)
        self._sums[1:, 1:] = cells.cumsum(axis=0).cumsum(axis=1)

    def lettered(self, text: str, height: float) -> tuple[tuple[Line, ...], ...] | None:
        """The strokes of a text in the best place for it, None if there is none: level, or else to be read from the right."""
        width = lettering_width(text, height)
        for turn, size in ((0.0, (width, height)), (90.0, (height, width))):
            at = self._place(size)
            if at is None:
                continue
            # turned by a quarter, the text's lower left corner is the lower right one of its box
            corner = Motion.shift(at[0] + (size[0] if turn else 0.0), at[1])
            placed = Motion.turn(turn).then(corner)
            return tuple(tuple(line.moved(placed) for line in chain) for chain in lettering(text, height))
        return None

    def _place(self, size: tuple[float, float]) -> tuple[float, float] | None:
        """Lower left corner of the box of that size that is free and nearest to the middle."""
        import numpy as np
        import shapely

        wide, high = (max(1, math.ceil(side / self._cell - 1e-9)) for side in size)
        rows, columns = self._sums.shape
        if wide >= columns or high >= rows:
            return None
        s: Any = self._sums
        full = s[high:, wide:] - s[:-high, wide:] - s[high:, :-wide] + s[:-high, :-wide] == wide * high
        if not full.any():
            return None
        row, column = np.nonzero(full)
        x, y = self._left + (column + wide / 2) * self._cell, self._low + (row + high / 2) * self._cell
        away = np.round(np.hypot(x - self._middle[0], y - self._middle[1]), 6)
        for k in np.lexsort((x, y, away))[:TRIED]:
            at = (float(x[k]) - size[0] / 2, float(y[k]) - size[1] / 2)
            if self._free.covers(shapely.box(*at, at[0] + size[0], at[1] + size[1])):
                return at
        return None


TRIED: Final = 50
"""Places that are checked exactly before a box counts as one without room: thin cuts may run between corners of cells."""


def _free_region(loops: Sequence[Loop], others: Sequence[Sequence[Segment]]) -> shapely.Geometry:
    """Where lettering may be: inside the outlines, at the clear distance from them and from all other paths."""
    import shapely

    clear = CLEAR + CHORD
    outers = [shapely.Polygon(loop.points(CHORD)) for loop in loops if loop.area > 0]
    holes = [shapely.Polygon(loop.points(CHORD)) for loop in loops if loop.area < 0]
    lines = [shapely.LineString([*(p for s in chain for p in s.chords(CHORD)), chain[-1].end]) for chain in others]
    taken = shapely.union_all([*(hole.buffer(clear) for hole in holes), *(line.buffer(clear) for line in lines)])
    return shapely.union_all(outers).buffer(-clear).difference(taken)


def lacks(text: str) -> bool:
    """Whether the font lacks a letter of a text.

    >>> lacks("jar shelf"), lacks("Töpfe")
    (False, True)
    """
    try:
        lettering(text, 1.0)
    except SizeError:
        return True
    return False
