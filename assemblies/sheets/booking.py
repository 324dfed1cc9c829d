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


Used = tuple[str, ShelfPlace, tuple[float, float]]
"""A kind of sheet on the shelf: its stock, where the shop file lists it, and its width and height in mm."""


def bookings(plan: SheetPlan) -> tuple[Counter[Used], list[tuple[str, float, float]]]:
    """How many of each kind on the shelf a plan uses, and the offcuts that it leaves as (stock, width, height) in mm.

    Sheets that no shop file lists are not counted, nor is what is left of them.
    """
    used: Counter[Used] = Counter()
    kept: list[tuple[str, float, float]] = []
    for sheet in plan.sheets:
        if sheet.kind.place is not None:
            used[(sheet.stock.name, sheet.kind.place, sheet.size)] += 1
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
        for name in sorted({name for name, *_ in used}):
            if name not in stocks:
                raise ShopError(f"{file} has no stock {name!r} any more; nothing was changed", value=name)
            _take(stocks[name], name, {kind: count for kind, count in used.items() if kind[0] == name}, file)
            _put(stocks[name], [(width, height) for stock, width, height in kept if stock == name])

    return edit_shop(path, change)


def _take(table: Any, name: str, used: dict[Used, int], file: str) -> None:
    """Lower the counts; an offcut of which none is left is taken off the list."""
    gone = []
    for (_, (listing, index), size), count in sorted(used.items()):
        entries = table.get(listing, [])
        entry = entries[index] if index < len(entries) and _size_of(entries[index]) == size else None
        there = 0 if entry is None else entry.get("count", 1 if listing == "offcuts" else None)
        if entry is None or (there is not None and there < count):
            raise ShopError(
                f"{file} has {there} of {size[0]:g} × {size[1]:g} mm as number {index + 1} in {listing} of stock {name!r}, and "
                f"{count} would be used; it was changed or booked since, so nothing was changed",
                value=there,
                limit=count,
            )
        if there is None:
            continue
        if listing == "offcuts" and there == count:
            gone.append(index)
        else:
            entry["count"] = there - count
    for index in sorted(gone, reverse=True):
        del table["offcuts"][index]


def _size_of(entry: Any) -> tuple[float, float]:
    """Width and height of what an entry of either list describes."""
    outline = entry.get("outline_mm")
    if outline is None:
        return (entry["width_mm"], entry["height_mm"])
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return (max(xs) - min(xs), max(ys) - min(ys))


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
