"""What a search works on: the job as items, sheets to fill, and a table that finds places; and the way back to placements."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from panelwright.plates.errors import NestError

from .filling import Item, Laid, SheetCopy, Table
from .fitting_places import Fits
from .job import NestJob, Piece, Sheet
from .result import Placement
from .shapes.paths import MICRONS, Box, area_of, box_of, rounded, united, without
from .variants import Room, Shapes, Variant
from .verifying import SheetChecker

__all__ = ["Ground", "pinned_placements"]


class Ground:
    """A job made ready for a search.

    `items` are the copies of pieces that want a place, pinned ones left out; `sheets` are the copies of sheets that could
    be of use, in the order in which they are filled: offcuts first, the smaller ones before the larger, then full sheets,
    the larger ones
    first.

    Raises `NestError` for a piece that fits on none of the sheets even if it is empty, and for pins that break a rule.
    """

    def __init__(self, job: NestJob) -> None:
        self.job = job
        self._checker = SheetChecker(job)
        self._shapes = Shapes(job)
        _check_pins(job, self._checker)
        variants = {piece.id: self._shapes.of(piece) for piece in job.pieces if piece.pin is None}
        free = sum(piece.quantity for piece in job.pieces if piece.pin is None)
        pinned = {piece.id: self._shapes.pinned(piece, piece.pin) for piece in job.pieces if piece.pin is not None}
        self.sheets = self._copies(pinned, free)
        rooms = [room.box for sheet in self.sheets for room in sheet.rooms]
        for piece in job.pieces:
            if piece.id in variants and not any(_is_as_large(room, way.box) for room in rooms for way in variants[piece.id]):
                variants[piece.id] = self._shapes.within_box(piece)
        fits = Fits(self._shapes.bases)
        self.table = Table(fits)
        self.items = self._items(variants, fits)

    def placements(self, sheet: SheetCopy, laid: Iterable[Laid], *, copy: int | None = None) -> list[Placement]:
        """Where the items lie, in mm; pinned pieces left out.  `copy` is the number of the sheet's copy, if not its own."""
        name = self.job.sheets[sheet.sheet].id
        number = sheet.copy if copy is None else copy
        return [
            Placement(
                self.job.pieces[item.piece].id,
                item.copy,
                name,
                number,
                x / MICRONS,
                y / MICRONS,
                variant.turn_deg,
                variant.flipped,
            )
            for variant, x, y, item in laid
            if item is not None
        ]

    def is_clear(self, sheet: SheetCopy, laid: Iterable[Laid]) -> bool:
        """Whether what lies on a sheet keeps all distances, measured on the pieces as they are."""
        name = self.job.sheets[sheet.sheet].id
        fixed = [p for p in pinned_placements(self.job) if (p.sheet, p.sheet_copy) == (name, sheet.copy)]
        return not self._checker.problems([*fixed, *self.placements(sheet, laid)])

    def _copies(self, pinned: Mapping[str, Variant], free: int) -> tuple[SheetCopy, ...]:
        found: list[SheetCopy] = []
        for index, sheet in enumerate(self.job.sheets):
            rooms, holes = self._shapes.rooms(sheet), self._shapes.obstacles(sheet)
            here = [piece for piece in self.job.pieces if piece.pin is not None and piece.pin.sheet == sheet.id]
            taken = {piece.pin.copy for piece in here if piece.pin is not None}
            blank = [number for number in range(1, sheet.count + 1) if number not in taken][:free]
            for number in sorted({*taken, *blank}):
                pins = [pinned[p.id] for p in here if p.pin is not None and p.pin.copy == number]
                found.append(_sheet_copy(index, number, sheet, rooms, holes, pins))
        sheets = self.job.sheets
        return tuple(
            sorted(found, key=lambda c: (not c.is_offcut, c.area if c.is_offcut else -c.area, sheets[c.sheet].id, c.copy))
        )

    def _items(self, variants: Mapping[str, Sequence[Variant]], fits: Fits) -> tuple[Item, ...]:
        rooms = {room.key: room for sheet in self.sheets for room in sheet.rooms}
        items: list[Item] = []
        for index, piece in enumerate(self.job.pieces):
            if piece.pin is not None:
                continue
            able = tuple(v for v in variants[piece.id] if any(fits.within(room, v).soft for room in rooms.values()))
            if not able:
                raise _too_large(piece, self.job)
            x0, y0, x1, y1 = able[0].box
            sides = (max(x1 - x0, y1 - y0) / MICRONS, min(x1 - x0, y1 - y0) / MICRONS)
            area = min(variant.area for variant in able)
            items += [Item(index, copy, able, area, sides) for copy in range(1, piece.quantity + 1)]
        return tuple(items)


def _is_as_large(room: Box, piece: Box) -> bool:
    return room[2] - room[0] >= piece[2] - piece[0] and room[3] - room[1] >= piece[3] - piece[1]


def pinned_placements(job: NestJob) -> list[Placement]:
    """Where the pinned pieces lie."""
    return [
        Placement(piece.id, 1, pin.sheet, pin.copy, pin.x, pin.y, pin.turn_deg, pin.flipped)
        for piece in job.pieces
        if (pin := piece.pin) is not None
    ]


def _sheet_copy(
    index: int, number: int, sheet: Sheet, rooms: Sequence[Room], holes: Sequence[Variant], pins: Sequence[Variant]
) -> SheetCopy:
    fixed = tuple(Laid(variant, 0, 0, None) for variant in (*holes, *pins))
    inside = [room.path for room in rooms]
    blocked = [laid.variant.outer for laid in fixed]
    windows = [room.path for laid in fixed for room in laid.variant.windows]
    left = without(inside, united(blocked)) if blocked else inside
    room_area = sum(area_of(path) for path in [*left, *windows]) / MICRONS**2
    x0, y0, x1, y1 = sheet.loops[0].bounds
    box = box_of(rounded([(x0, y0), (x1, y1)]))
    return SheetCopy(index, number, tuple(rooms), fixed, sheet.area_mm2, room_area, sheet.is_offcut, box, bool(pins))


def _check_pins(job: NestJob, checker: SheetChecker) -> None:
    pinned = pinned_placements(job)
    for sheet, copy in sorted({(p.sheet, p.sheet_copy) for p in pinned}):
        problems = checker.problems([p for p in pinned if (p.sheet, p.sheet_copy) == (sheet, copy)])
        if problems:
            first = problems[0]
            more = f", and {len(problems) - 1} more problems with pins on that sheet" if len(problems) > 1 else ""
            raise NestError(
                f"pinned piece {first.message}{more}; move the pin", plates=first.pieces, value=first.value, limit=first.limit
            )


def _too_large(piece: Piece, job: NestJob) -> NestError:
    largest = max(job.sheets, key=lambda sheet: sheet.area_mm2)
    x0, y0, x1, y1 = piece.loops[0].bounds
    width, height = largest.size
    turns = f"turned in steps of {piece.turn_step_deg:g}°" if piece.turn_step_deg < 360.0 else "not turned"
    return NestError(
        f"piece {piece.id!r} of {x1 - x0:g} × {y1 - y0:g} mm fits on no sheet, {turns}; the largest is {largest.id!r}, "
        f"{width:g} × {height:g} mm with a margin of {job.margin:g} mm; split the piece, allow more turns, lower the margin "
        "or add a larger sheet",
        plates=(piece.id,),
        value=(x1 - x0, y1 - y0),
        limit=(width, height),
    )
