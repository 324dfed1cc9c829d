"""Filling sheets: the best place for the next piece, and a whole order of pieces put down one after the other.

A piece goes to the corner of its free region that lies furthest back, by one of a few rules; windows of pieces that lie
there come first. Nothing here is random: the same order on the same sheets gives the same places.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from panelwright.plates.tolerances import SAME_AREA

from .fitting_places import SLACK, Fits, InnerFit, NoFit
from .shapes.paths import Box, Path, Spot, shifted, without
from .variants import Room, Variant

__all__ = ["RULES", "Item", "Laid", "Rule", "SheetCopy", "Table", "fill"]

Rule = Literal["long", "mixed", "short"]
RULES: Final[tuple[Rule, ...]] = ("long", "mixed", "short")
"""Towards which side pieces are pushed: along the sheet's longer side first, both, or along the shorter first."""

STEPS: Final = (
    *sorted(
        ((dx, dy) for dx in range(-SLACK - 1, SLACK + 2) for dy in range(-SLACK - 1, SLACK + 2)),
        key=lambda step: (step[0] ** 2 + step[1] ** 2, step),
    ),
    *((k * dx, k * dy) for k in (2, 3, 4, 6, 9) for dx in range(-2, 3) for dy in range(-2, 3) if max(abs(dx), abs(dy)) == 2),
)
"""Grid steps from a place found with slack to those near it that may be strictly allowed, the nearest first: in sharp corners
borders that overlap by the slack meet further away."""


@dataclass(frozen=True, slots=True, eq=False)
class Item:
    """One copy of a piece."""

    piece: int
    copy: int
    variants: tuple[Variant, ...]
    area: float
    sides: tuple[float, float]


class Laid(NamedTuple):
    """An item where it lies: `x` and `y` are its origin, in grid steps.  What can't be moved has no item."""

    variant: Variant
    x: int
    y: int
    item: Item | None


@dataclass(frozen=True, slots=True, eq=False)
class SheetCopy:
    """One sheet: its rooms, what lies there for good (pinned pieces, holes), and how much it costs to begin it."""

    sheet: int
    copy: int
    rooms: tuple[Room, ...]
    fixed: tuple[Laid, ...]
    area: float
    room_area: float
    is_offcut: bool
    box: Box
    has_pins: bool

    @property
    def is_upright(self) -> bool:
        """Whether it is higher than wide."""
        x0, y0, x1, y1 = self.box
        return y1 - y0 > x1 - x0

    def extent(self, laid: Sequence[Laid]) -> float:
        """How much of the sheet's longer side the pieces take up, as a share."""
        return max(map(self.extent_of, laid), default=0.0)

    def extent_of(self, laid: Laid) -> float:
        """How far along the sheet's longer side a piece reaches, as a share of it."""
        x0, y0, x1, y1 = self.box
        if self.is_upright:
            return (laid.variant.box[3] + laid.y - y0) / (y1 - y0)
        return (laid.variant.box[2] + laid.x - x0) / (x1 - x0)


@dataclass(frozen=True, slots=True, eq=False)
class _Free:
    """Where one variant may go in one room: the free region, and what bounds it."""

    variant: Variant
    paths: Sequence[Path]
    fit: InnerFit
    corner: Spot
    beside: Sequence[tuple[NoFit, int, int]]

    def allows(self, x: int, y: int) -> bool:
        """Whether the variant at (x, y) lies in the room and overlaps nothing, strictly."""
        dx, dy = self.corner
        return self.fit.allows(x - dx, y - dy) and not any(no_fit.forbids(x - u, y - v) for no_fit, u, v in self.beside)


class Table:
    """Where sheets are filled: finds the best place for a piece among those that lie there."""

    def __init__(self, fits: Fits) -> None:
        self._fits = fits

    def best(self, sheet: SheetCopy, laid: Sequence[Laid], item: Item, rule: Rule, variants: Sequence[Variant]) -> Laid | None:
        """The item in its best place, or None if there is no room for it."""
        every = (*sheet.fixed, *laid)
        across = (rule == "short") != sheet.is_upright
        for is_window in (True, False):
            free = [*self._in_windows(every, variants)] if is_window else [*self._on_sheet(sheet, every, variants)]
            firsts = [(min(_costs(region, rule, across)), index) for index, region in enumerate(free)]
            if not firsts:
                continue
            (_, x, y), index = min(firsts)
            spot = _settled(free[index], x, y)
            if spot is not None:
                return Laid(free[index].variant, *spot, item)
            rest = sorted((cost, index) for index, region in enumerate(free) for cost in _costs(region, rule, across))
            for (_, x, y), index in rest:
                spot = _settled(free[index], x, y)
                if spot is not None:
                    return Laid(free[index].variant, *spot, item)
        return None

    def _in_windows(self, every: Sequence[Laid], variants: Sequence[Variant]) -> Iterator[_Free]:
        for owner in every:
            for room in owner.variant.windows:
                inside = [laid for laid in every if _is_in(laid, room, owner)]
                for variant in variants:
                    region = self._free(room, (owner.x, owner.y), inside, variant)
                    if region is not None:
                        yield region

    def _on_sheet(self, sheet: SheetCopy, every: Sequence[Laid], variants: Sequence[Variant]) -> Iterator[_Free]:
        for room in sheet.rooms:
            for variant in variants:
                region = self._free(room, (0, 0), every, variant)
                if region is not None:
                    yield region

    def _free(self, room: Room, corner: Spot, every: Sequence[Laid], variant: Variant) -> _Free | None:
        fit = self._fits.within(room, variant)
        paths = fit.soft
        if not paths:
            return None
        dx, dy = corner
        if dx or dy:
            paths = [shifted(path, dx, dy) for path in paths]
        fx0, fy0, fx1, fy1 = fit.box
        bx0, by0, bx1, by1 = variant.box
        # the box of all that the variant could touch in this room
        left, low, right, high = fx0 + dx + bx0, fy0 + dy + by0, fx1 + dx + bx1, fy1 + dy + by1
        beside: list[tuple[NoFit, int, int]] = []
        cuts: list[Path] = []
        for other, x, y, _ in every:
            ox0, oy0, ox1, oy1 = other.box
            if x + ox1 < left or x + ox0 > right or y + oy1 < low or y + oy0 > high:
                continue
            no_fit = self._fits.beside(other, variant)
            beside.append((no_fit, x, y))
            cuts.extend([(px + x, py + y) for px, py in path] for path in no_fit.soft)
        paths = without(paths, cuts)
        return _Free(variant, paths, fit, corner, beside) if paths else None


def _is_in(laid: Laid, room: Room, owner: Laid) -> bool:
    """Whether something may lie in a window: what does not is around it or beside it, and out of the way."""
    x0, y0, x1, y1 = room.box
    bx0, by0, bx1, by1 = laid.variant.box
    dx, dy = laid.x - owner.x, laid.y - owner.y
    return x0 <= bx0 + dx and y0 <= by0 + dy and bx1 + dx <= x1 and by1 + dy <= y1


def _costs(region: _Free, rule: Rule, across: bool) -> Iterator[tuple[tuple[int, int], int, int]]:
    """What each corner of a region is worth, less being better, and where it is."""
    x0, y0, x1, y1 = region.variant.box
    for path in region.paths:
        for x, y in path:
            u, v, w = (y + y1, x + x1, y + y0) if across else (x + x1, y + y1, x + x0)
            yield ((2 * u + v, w) if rule == "mixed" else (u, v)), x, y


def _settled(region: _Free, x: int, y: int) -> Spot | None:
    """The nearest place that is strictly allowed."""
    return next(((x + dx, y + dy) for dx, dy in STEPS if region.allows(x + dx, y + dy)), None)


def fill(
    table: Table,
    order: Sequence[Item],
    layout: Mapping[SheetCopy, Sequence[Laid]],
    sheets: Sequence[SheetCopy],
    rule: Rule,
    ways: Mapping[int, Sequence[Variant]],
) -> tuple[dict[SheetCopy, tuple[Laid, ...]], list[Item]]:
    """Lay items one by one on the first of the sheets that has room.

    `ways` has for each piece, by its number, how it may be laid.  Gives the sheets anew, with what lay there and what was
    added, and the items for which there was no room.
    """
    filled = {sheet: list(layout.get(sheet, ())) for sheet in sheets}
    left: list[Item] = []
    rooms = {sheet: sheet.room_area - sum(laid.variant.area for laid in filled[sheet]) for sheet in sheets}
    refused: set[tuple[SheetCopy, int]] = set()
    for item in order:
        for sheet in sheets:
            if (sheet, item.piece) in refused or item.area > rooms[sheet] + SAME_AREA:
                continue
            laid = table.best(sheet, filled[sheet], item, rule, ways[item.piece])
            if laid is not None:
                filled[sheet].append(laid)
                if laid.variant.windows:  # what was refused may go in there
                    refused = {(other, piece) for other, piece in refused if other is not sheet}
                rooms[sheet] -= laid.variant.area
                break
            refused.add((sheet, item.piece))
        else:
            left.append(item)
    return {sheet: tuple(laid) for sheet, laid in filled.items()}, left
