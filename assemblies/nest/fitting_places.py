"""Where a piece may go: beside another piece without overlapping it, and in a room without leaving it.

The *no-fit region* of piece B beside piece A holds all places of B's origin, relative to A's, at which they overlap; on its
border they touch.  The *inner-fit region* of B in a room holds all places at which B lies wholly in it.  Both come from
sweeping one border along the other (Minkowski sums), on whole micrometres.

Polygon clipping loses regions without width, which is what an exact fit leaves.  So each region comes twice: `soft`, which lets
pieces overlap by `SLACK` and is good for finding places, and a strict test that a place found has to pass.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from .shapes.convex import convex_parts, convex_sum
from .shapes.paths import (
    Box,
    Path,
    area_of,
    box_of,
    grown,
    is_outside,
    is_strictly_inside,
    shifted,
    swept,
    turned,
    united,
    without,
)
from .variants import Room, Variant

__all__ = ["SLACK", "Fits", "InnerFit", "NoFit"]

SLACK: Final = 2
"""Grid steps by which pieces may overlap while a place is looked for."""

ROUNDING: Final = 3
"""Grid steps by which a no-fit region is made larger where pieces are turned by other than quarter turns.  The piece, the
region and the larger region are rounded to the grid one after the other, each time by half the diagonal of a cell at most: 2.13
steps in all."""

PINHOLE: Final = 1e-4
"""Holes in a no-fit region smaller than this share of it are closed: nothing fits there but the rounding of a sweep."""


MOST_CORNERS_KEPT: Final = 2_000_000
"""Corners of no-fit regions that are kept, about 250 MB, once as swept and once as turned; beyond, all are dropped and computed
again when asked for.  Only a job with many turns allowed comes so far, and what is computed again is the same."""


@dataclass(frozen=True, slots=True, eq=False)
class NoFit:
    """Where one piece overlaps another."""

    soft: tuple[Path, ...]
    strict: tuple[Path, ...]
    box: Box

    def forbids(self, x: int, y: int) -> bool:
        """Whether the pieces overlap with the second at (x, y), touching left out."""
        x0, y0, x1, y1 = self.box
        return x0 < x < x1 and y0 < y < y1 and is_strictly_inside((x, y), self.strict)


class InnerFit(Protocol):
    """Where a piece lies wholly in a room."""

    @property
    def soft(self) -> Sequence[Path]:
        """The places, and those nearer than SLACK to them; empty if there is none."""
        ...

    @property
    def box(self) -> Box:
        """Of the places."""
        ...

    def allows(self, x: int, y: int) -> bool:
        """Whether the piece at (x, y) lies in the room, touching allowed."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class _RectangleFit:
    box: Box

    @property
    def soft(self) -> Sequence[Path]:
        x0, y0, x1, y1 = self.box
        if x1 < x0 or y1 < y0:
            return []
        x0, y0, x1, y1 = x0 - SLACK, y0 - SLACK, x1 + SLACK, y1 + SLACK
        return [[(x0, y0), (x1, y0), (x1, y1), (x0, y1)]]

    def allows(self, x: int, y: int) -> bool:
        x0, y0, x1, y1 = self.box
        return x0 <= x <= x1 and y0 <= y <= y1


@dataclass(frozen=True, slots=True, eq=False)
class _PolygonFit:
    soft: Sequence[Path]
    box: Box
    inside: Path
    crossing: Sequence[Path]

    def allows(self, x: int, y: int) -> bool:
        return not is_outside((x, y), self.inside) and not is_strictly_inside((x, y), self.crossing)


class Fits:
    """No-fit and inner-fit regions, each computed when first asked for.

    Regions depend only on the two shapes and on how one is turned to the other, and swapping the two turns a region by
    180°: about one in eight has to be swept.
    """

    def __init__(self, bases: Sequence[Path]) -> None:
        self._bases = bases
        self._parts = [convex_parts(base) for base in bases]
        self._cores: dict[tuple[int, int, float, bool], tuple[list[Path], list[Path]]] = {}
        self._no_fits: dict[tuple[int, int], NoFit] = {}
        self._inner_fits: dict[tuple[int, int], InnerFit] = {}
        self._corners_of_cores = 0
        self._corners_of_no_fits = 0

    def beside(self, a: Variant, b: Variant) -> NoFit:
        """Where `b` overlaps `a`, relative to it."""
        key = (a.key, b.key)
        found = self._no_fits.get(key)
        if found is None:
            found = self._no_fit(a, b)
            self._corners_of_no_fits += _corners(found.soft, found.strict)
            if self._corners_of_no_fits > MOST_CORNERS_KEPT:
                self._no_fits.clear()
                self._corners_of_no_fits = _corners(found.soft, found.strict)
            self._no_fits[key] = found
        return found

    def within(self, room: Room, b: Variant) -> InnerFit:
        """Where `b` lies in the room."""
        key = (room.key, b.key)
        found = self._inner_fits.get(key)
        if found is None:
            found = self._inner_fits[key] = _inner_fit(room, b)
        return found

    def _no_fit(self, a: Variant, b: Variant) -> NoFit:
        exact = a.is_square and b.is_square
        if a.shape <= b.shape:
            core = self._core(a.shape, b.shape, (b.turn_deg - a.turn_deg) % 360.0, exact)
            turn_deg = a.turn_deg
        else:
            core = self._core(b.shape, a.shape, (a.turn_deg - b.turn_deg) % 360.0, exact)
            turn_deg = b.turn_deg + 180.0
        soft, strict = (tuple(turned(path, turn_deg) for path in paths) for paths in core)
        return NoFit(soft, strict, _common_box(strict))

    def _core(self, a: int, b: int, turn_deg: float, exact: bool) -> tuple[list[Path], list[Path]]:
        """The soft and the strict region of two shapes, the first not turned."""
        key = (a, b, turn_deg, exact)
        found = self._cores.get(key)
        if found is None:
            strict = self._strict(a, b, turn_deg)
            if not exact:
                strict = grown(strict, ROUNDING)
            found = (grown(strict, -SLACK), strict)
            self._corners_of_cores += _corners(*found)
            if self._corners_of_cores > MOST_CORNERS_KEPT:
                self._cores.clear()
                self._corners_of_cores = _corners(*found)
            self._cores[key] = found
        return found

    def _strict(self, a: int, b: int, turn_deg: float) -> list[Path]:
        first, second = self._parts[a], self._parts[b]
        if first is None or second is None or turn_deg % 90.0:
            return _no_fit_paths(self._bases[a], turned(self._bases[b], turn_deg))
        others = [turned(part, turn_deg + 180.0) for part in second]
        return _without_pinholes(united([convex_sum(part, other) for part in first for other in others]))


def _no_fit_paths(a: Path, b: Path) -> list[Path]:
    """All places of b's origin at which it overlaps a: borders crossing, or one inside the other."""
    mirrored = turned(b, 180.0)
    return _without_pinholes(united([*swept(mirrored, a), shifted(a, *mirrored[0]), shifted(mirrored, *a[0])]))


def _without_pinholes(paths: Sequence[Path]) -> list[Path]:
    areas = [area_of(path) for path in paths]
    least = PINHOLE * max(areas)
    return [path for path, area in zip(paths, areas, strict=True) if area > 0 or -area > least]


def _inner_fit(room: Room, b: Variant) -> InnerFit:
    rx0, ry0, rx1, ry1 = room.box
    bx0, by0, bx1, by1 = b.box
    box = (rx0 - bx0, ry0 - by0, rx1 - bx1, ry1 - by1)
    if room.is_rectangle or box[2] < box[0] or box[3] < box[1]:
        return _RectangleFit(box)
    ix, iy = b.inside
    mirrored = turned(b.outer, 180.0)
    wider = grown([room.path], SLACK)
    soft = without([shifted(path, -ix, -iy) for path in wider], [p for path in wider for p in swept(mirrored, path)])
    return _PolygonFit(soft, box, shifted(room.path, -ix, -iy), swept(mirrored, room.path))


def _corners(*regions: Sequence[Path]) -> int:
    return sum(len(path) for paths in regions for path in paths)


def _common_box(paths: Sequence[Path]) -> Box:
    boxes = [box_of(path) for path in paths]
    return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))
