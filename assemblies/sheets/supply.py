"""What there is to cut from: the sheets and offcuts of one stock, as the nest wants them and as the shop file calls them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final, Literal

from panelwright.plates.errors import NestError, ShopError
from panelwright.plates.motion import Motion
from panelwright.plates.stock import Stock

from ..nest.job import Sheet
from ..shop.shelf import Machine, Shelf
from ..shop.shop_file import Shop

__all__ = ["ShelfPlace", "Supply", "SupplyKind", "supply_of"]

ShelfPlace = tuple[Literal["sheets", "offcuts"], int]
"""Where in the shop file a kind of sheet is listed: which of the two lists, and its place in it."""

BED_TOLERANCE: Final = 1e-6
"""By how many mm a sheet may exceed the bed: rounding."""


@dataclass(frozen=True, slots=True)
class SupplyKind:
    """Sheets of one size, or offcuts of one shape: for the nest, the price of one or None, and where the shop lists them."""

    sheet: Sheet
    price: float | None = None
    place: ShelfPlace | None = None


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
        return replace(self, kinds=tuple(replace(kind, sheet=_turned_over(kind.sheet)) for kind in self.kinds))

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
    fitting = [kind for kind in kinds if _goes_on(kind.sheet.size, machine.bed_mm)]
    bed = machine.bed_mm or (0.0, 0.0)
    left_out = [kind.sheet.id for kind in kinds if kind not in fitting]
    if not fitting:
        raise NestError(
            f"sheets of {_called(stock)} are {', '.join(left_out)} mm and the machine's bed is {_size(*bed)} mm; cut them down "
            f"and give the sizes that go on the bed in {_file(shop)}",
            value=kinds[0].sheet.size,
            limit=bed,
        )
    notes = tuple(f"{name} of {_called(stock)} is larger than the machine's bed and was left out" for name in left_out)
    return Supply(stock, tuple(fitting), shelf, notes)


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


def _turned_over(sheet: Sheet) -> Sheet:
    x0, _, x1, _ = sheet.loops[0].bounds
    motion = Motion.mirror_x().then(Motion.shift(x0 + x1, 0.0))
    return replace(sheet, loops=tuple(loop.moved(motion) for loop in sheet.loops))


def _goes_on(size: tuple[float, float], bed: tuple[float, float] | None) -> bool:
    if bed is None:
        return True
    long, short = max(size), min(size)
    return long <= max(bed) + BED_TOLERANCE and short <= min(bed) + BED_TOLERANCE


def _called(stock: Stock) -> str:
    return stock.name or f"{stock.material} {stock.thickness:g} mm"


def _size(width: float, height: float) -> str:
    return f"{width:g} × {height:g}"


def _file(shop: Shop | None) -> str:
    return (shop.file if shop is not None else "") or "the shop file"
