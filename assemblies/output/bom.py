"""The bill of materials as CSV: panels first, then bought parts, then the sheets that all is cut from."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from panelwright.assemblies.data.product import Product
from panelwright.plates.materials.stock import Stock

if TYPE_CHECKING:
    from panelwright.assemblies.sheets.plan import CutSheet

__all__ = ["COLUMNS", "bom_csv", "harmless"]

COLUMNS = (
    "kind",
    "name",
    "quantity",
    "stock",
    "thickness_mm",
    "width_mm",
    "height_mm",
    "area_mm2",
    "mass_kg",
    "notes",
)
"""Columns of the file; sizes, area and mass are those of one piece."""


def bom_csv(product: Product, sheets: Sequence[CutSheet] = ()) -> str:
    r"""The bill of materials of a product: CSV by RFC 4180, one row a panel, one a bought part, one a kind of sheet used.

    Text that a spreadsheet would take for a formula is led by an apostrophe.  A mass nobody knows is an empty cell.
    Notes say which plates a panel is for, and for which of them its pieces have to be turned over, as mirror images; so they do
    of offcuts that lie turned over.

    >>> from panelwright.assemblies.data.product import Hardware
    >>> print(bom_csv(Product("tray", (), (), (), (Hardware("ISO 4762 M3 × 16", 4),), ())).replace("\r", ""))
    kind,name,quantity,stock,thickness_mm,width_mm,height_mm,area_mm2,mass_kg,notes
    hardware,ISO 4762 M3 × 16,4,,,,,,,
    <BLANKLINE>
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for panel in product.panels:
        width, height = panel.bbox_mm
        sizes = (panel.stock.t, width, height, panel.area_mm2, panel.mass_kg)
        plates = tuple(dict.fromkeys(panel.plates))  # several copies of a product name the same plates
        notes = [] if plates == (panel.name,) else ["for " + ", ".join(plates)]
        if panel.turned_over:
            notes.append("turn over for " + ", ".join(panel.turned_over))
        if panel.members:
            notes.append("cut flat, then bent")
        writer.writerow(
            [
                "panel",
                harmless(panel.name),
                panel.quantity,
                harmless(panel.stock.material),
                *map(_number, sizes),
                harmless("; ".join(notes)),
            ]
        )
    for item in product.hardware:
        name, note = harmless(item.designation), harmless(item.note)
        writer.writerow(["hardware", name, item.quantity, *[""] * 5, _number(item.mass_kg), note])
    for row in _sheet_rows(sheets):
        writer.writerow(row)
    return text.getvalue()


def _sheet_rows(sheets: Sequence[CutSheet]) -> Iterator[list[object]]:
    """One row for each kind of sheet, with what has to be turned over; mass is that of a whole one."""
    kinds: dict[tuple[Stock, str], list[CutSheet]] = {}
    for sheet in sheets:
        kinds.setdefault((sheet.stock, sheet.kind.sheet.id), []).append(sheet)
    for (stock, name), some in kinds.items():
        area = some[0].kind.sheet.area_mm2
        mass = None if stock.density is None else area * stock.t * 1e-9 * stock.density
        sizes = (stock.t, *some[0].size, area, mass)
        note = "as " + ", ".join(sheet.name for sheet in some)
        if some[0].kind.is_turned_over:
            note += "; turn this offcut over" if len(some) == 1 else "; turn these offcuts over"
        yield ["sheet", harmless(name), len(some), harmless(stock.material), *map(_number, sizes), note]


def _number(value: float | None) -> str:
    """A number without an exponent, to 1e-6."""
    if value is None:
        return ""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def harmless(text: str) -> str:
    """A text as a cell that no spreadsheet takes for a formula.

    >>> harmless("=1+1"), harmless("base")
    ("'=1+1", 'base')
    """
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r", "\n")) else text
