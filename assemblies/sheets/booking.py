"""Bringing the shop file up to date after cutting: sheets that were used go, offcuts worth keeping come."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

from panelwright.plates.errors import ShopError

from ..shop.edit import edit_shop
from ..shop.shop_file import Shop
from .plan import SheetPlan
from .supply import ShelfPlace

__all__ = ["book", "bookings"]


def bookings(plan: SheetPlan) -> tuple[Counter[tuple[str, ShelfPlace]], list[tuple[str, float, float]]]:
    """How many of each kind on the shelf a plan uses, and the offcuts that it leaves as (stock, width, height) in mm.

    Sheets that no shop file lists are not counted, nor is what is left of them.
    """
    used: Counter[tuple[str, ShelfPlace]] = Counter()
    kept: list[tuple[str, float, float]] = []
    for sheet in plan.sheets:
        if sheet.kind.place is not None:
            used[(sheet.stock.name, sheet.kind.place)] += 1
            kept += [(sheet.stock.name, left.width, left.height) for left in sheet.leftovers]
    return used, kept


def book(plan: SheetPlan, path: str | Path) -> Shop:
    """Take the sheets of a plan off the counts of a shop file and put its offcuts there; returns the shop as it is then.

    Sheets of which the file gives no count ("as many as needed") stay as they are.  Comments stay.  Raises `ShopError`, and
    changes nothing, if the file has fewer sheets now than the plan uses, as after a second booking of the same plan.
    """
    used, kept = bookings(plan)

    def change(doc: Any) -> None:
        stocks, file = doc.get("stocks", {}), Path(path).name
        for name in sorted({name for name, _ in used}):
            if name not in stocks:
                raise ShopError(f"{file} has no stock {name!r} any more; nothing was changed", value=name)
            _take(stocks[name], name, {place: count for (stock, place), count in used.items() if stock == name}, file)
            _put(stocks[name], [(width, height) for stock, width, height in kept if stock == name])

    return edit_shop(path, change)


def _take(table: Any, name: str, used: dict[ShelfPlace, int], file: str) -> None:
    """Lower the counts; an offcut of which none is left is taken off the list."""
    gone = []
    for (listing, index), count in sorted(used.items()):
        entries = table.get(listing, [])
        there = entries[index].get("count", 1 if listing == "offcuts" else None) if index < len(entries) else 0
        if there is None:
            continue
        if there < count:
            raise ShopError(
                f"{file} has {there} of number {index + 1} in {listing} of stock {name!r}, and {count} would be used; it was "
                "changed or booked since, so nothing was changed",
                value=there,
                limit=count,
            )
        if listing == "offcuts" and there == count:
            gone.append(index)
        else:
            entries[index]["count"] = there - count
    for index in sorted(gone, reverse=True):
        del table["offcuts"][index]


def _put(table: Any, sizes: list[tuple[float, float]]) -> None:
    """Add offcuts, all rectangles, as a list of tables."""
    import tomlkit

    if not sizes:
        return
    if not table.get("offcuts"):
        table.pop("offcuts", None)
        table.add("offcuts", tomlkit.aot())
    for width, height in sizes:
        entry = tomlkit.table()
        outline: list[list[float]] = [[0, 0], [width, 0], [width, height], [0, height]]
        entry.add("outline_mm", [[_short(x), _short(y)] for x, y in outline])
        table["offcuts"].append(entry)


def _short(value: float) -> float | int:
    """A whole number of mm without its point; others to a hundredth, rounded down so that no offcut is said to be larger."""
    hundredths = int(value * 100 + 1e-6)
    return hundredths // 100 if hundredths % 100 == 0 else hundredths / 100
