"""What there is to cut from: the sheets and offcuts of one stock, as the nest wants them and as the shop file calls them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

from panelwright.assemblies.nest.job import Sheet
from panelwright.assemblies.nest.shapes.flatten import following_polygon
from panelwright.plates.errors import NestError, ShopError
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.materials.stock import Stock
from panelwright.plates.tolerances import AREA_SHARE, SHEET_SLACK

from .shelf import Machine, Shelf
from .shop_file import Shop

__all__ = ["ShelfPlace", "Supply", "SupplyKind", "supply_of"]

ShelfPlace = tuple[Literal["sheets", "offcuts"], int]
"""Where in the shop file a kind of sheet is listed: which of the two lists, and its place in it."""


@dataclass(frozen=True, slots=True)
class SupplyKind:
    """Sheets of one size, or offcuts of one shape: for the nest, the price of one or None, and where the shop lists them.

    `is_turned_over`: whether it lies on its show face and so is another shape than the shop lists: it has to be turned over.
    """

    sheet: Sheet
    price: float | None = None
    place: ShelfPlace | None = None
    is_turned_over: bool = False


@dataclass(frozen=True, slots=True)
class Supply:
    """All that panels of one stock may be cut from.

    `shelf` is the shop's, None for a stock that only the design states; `notes` say what was left out, and why.
    """

    stock: Stock
    kinds: tuple[SupplyKind, ...]
    shelf: Shelf | None = None
    notes: tuple[str, ...] = field(default=())

    @property
    def turned_over(self) -> Supply:
        """The same sheets lying on their other face, each in its own box: left and right have changed places."""
        return replace(self, kinds=tuple(_kind_turned_over(kind) for kind in self.kinds))

    def kind(self, sheet_id: str) -> SupplyKind:
        """The kind of that name."""
        return next(kind for kind in self.kinds if kind.sheet.id == sheet_id)


def supply_of(stock: Stock, shop: Shop | None, most: int) -> Supply | None:
    """The sheets of a stock: those of the shop that has it, else sheets of the size that the stock states, as many as needed.

    `most` stands in for "as many as needed": the number of pieces, since none needs more than a sheet.  Gives None if nobody
    says how large sheets are.  Raises `NestError` if there are sizes, but not one sheet is left or goes on the machine's bed.

    >>> birch = Stock("birch plywood", 4, sheet=(600, 400))
    >>> [(kind.sheet.id, kind.sheet.count) for kind in supply_of(birch, None, 12).kinds]
    [('600 × 400', 12)]
    >>> supply_of(Stock("card", 2), None, 12) is None
    True
    """
    shelf = _shelf_of(stock, shop)
    machine = Machine() if shop is None else shop.machine
    if shelf is None or not (shelf.sheets or shelf.offcuts):
        if stock.sheet is None:
            return None
        width, height = stock.sheet
        kinds = [SupplyKind(Sheet.rectangle(_size(width, height), width, height, most))]
    else:
        kinds = _listed(shelf, most)
        if not kinds:
            raise NestError(
                f"no sheet and no offcut of {_called(stock)} is left; put what there is into {_file(shop)}, "
                "or leave the sheets out",
                value=0,
            )
    notes: list[str] = []
    usable: list[SupplyKind] = []
    for kind in kinds:
        if _goes_on(kind.sheet.size, machine.bed_mm):
            usable.append(kind)
            continue
        assert machine.bed_mm is not None  # nothing is too large for a bed that nobody has stated
        if kind.sheet.is_offcut:
            notes.append(f"{kind.sheet.id} of {_called(stock)} is larger than the machine's bed and was left out")
            continue
        cut, number = _cut_down(kind, machine.bed_mm, may_turn=stock.grain is None)
        usable.append(cut)
        notes.append(
            f"sheets of {_called(stock)} are larger than the machine's bed; first cut {number} of {_size(*cut.sheet.size)} mm "
            f"from each of {kind.sheet.id} mm"
        )
    if not usable:
        raise NestError(
            f"{', '.join(kind.sheet.id for kind in kinds)} mm of {_called(stock)} is larger than the machine's bed, "
            f"{_size(*(machine.bed_mm or (0.0, 0.0)))} mm; cut it down and give the new outline in {_file(shop)}",
            value=kinds[0].sheet.size,
            limit=machine.bed_mm,
        )
    return Supply(stock, tuple(usable), shelf, tuple(notes))


def _cut_down(kind: SupplyKind, bed: tuple[float, float], *, may_turn: bool) -> tuple[SupplyKind, int]:
    """The largest piece of a sheet that goes on the bed, and how many of it each sheet gives.

    The shop lists whole sheets, so such pieces have no place on its shelf.
    """
    width, height = kind.sheet.size
    sizes = [(min(width, a), min(height, b)) for a, b in ((bed, bed[::-1]) if may_turn else (bed,))]
    w, h = max(sizes, key=lambda size: size[0] * size[1])
    number = int(width / w + 1e-9) * int(height / h + 1e-9)
    sheet = Sheet.rectangle(f"{_size(w, h)} of {kind.sheet.id}", w, h, kind.sheet.count * number)
    return SupplyKind(sheet, None if kind.price is None else kind.price / number), number


def _shelf_of(stock: Stock, shop: Shop | None) -> Shelf | None:
    if shop is None or not stock.name:
        return None
    try:
        shelf = shop.shelf(stock.name)
    except ShopError:
        return None
    # a design may change a stock that it took by name; its sheets stay those of the shop as long as it is the same board
    same = (shelf.stock.material, shelf.stock.thickness) == (stock.material, stock.thickness)
    return shelf if same else None


def _listed(shelf: Shelf, most: int) -> list[SupplyKind]:
    kinds: list[SupplyKind] = []
    names: set[str] = set()

    def named(name: str) -> str:
        number = 2
        unique = name
        while unique in names:
            unique, number = f"{name} ({number})", number + 1
        names.add(unique)
        return unique

    for index, offcut in enumerate(shelf.offcuts):
        if offcut.count:
            name = named(f"offcut {_size(*offcut.outline.size)}")
            sheet = Sheet(name, offcut.outline.loops, offcut.count, offcut=True)
            kinds.append(SupplyKind(sheet, 0.0, ("offcuts", index)))
    for index, full in enumerate(shelf.sheets):
        count = most if full.count is None else min(full.count, most)
        if count:
            name = named(_size(full.width_mm, full.height_mm))
            sheet = Sheet.rectangle(name, full.width_mm, full.height_mm, count)
            kinds.append(SupplyKind(sheet, full.price, ("sheets", index)))
    return kinds


def _kind_turned_over(kind: SupplyKind) -> SupplyKind:
    sheet = _turned_over(kind.sheet)
    before, after = following_polygon(kind.sheet.loops), following_polygon(sheet.loops)
    is_other = float(before.symmetric_difference(after).area) > AREA_SHARE * kind.sheet.area_mm2
    return replace(kind, sheet=sheet, is_turned_over=is_other)


def _turned_over(sheet: Sheet) -> Sheet:
    x0, _, x1, _ = sheet.loops[0].bounds
    motion = Motion.mirror_x().then(Motion.shift(x0 + x1, 0.0))
    return replace(sheet, loops=tuple(loop.moved(motion) for loop in sheet.loops))


def _goes_on(size: tuple[float, float], bed: tuple[float, float] | None) -> bool:
    if bed is None:
        return True
    long, short = max(size), min(size)
    return long <= max(bed) + SHEET_SLACK and short <= min(bed) + SHEET_SLACK


def _called(stock: Stock) -> str:
    return stock.name or f"{stock.material} {stock.thickness:g} mm"


def _size(width: float, height: float) -> str:
    return f"{width:g} × {height:g}"


def _file(shop: Shop | None) -> str:
    return (shop.file if shop is not None else "") or "the shop file"
