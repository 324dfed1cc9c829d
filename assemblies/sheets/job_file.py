"""Job files: which products to cut in one run, how many of each, with which parameters, and which parts go where.

A small TOML file beside the designs:

    [[products]]
    design = "tile_tray.py"
    copies = 2
    set = { width = 300 }

    [[pins]]                # a part that has to lie at one place
    panel = "tile tray/base"
    sheet = "600 × 400"
    x_mm = 20
    y_mm = 20
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from panelwright.assemblies.nest.job import Pin
from panelwright.assemblies.shop.checked_tables import Table
from panelwright.assemblies.shop.shop_file import parsed, read_text
from panelwright.plates.errors import DesignError, ShopError

__all__ = ["JobFile", "Wanted", "job_table", "pin_named", "pins_of", "read_job", "wanted_on_line"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """One product that is asked for: its design file, how many copies, and its parameters as texts such as "width=300".

    `label` is what its parts are called after, "" for the product's own name.
    """

    design: Path
    copies: int = 1
    settings: tuple[str, ...] = ()
    label: str = ""


@dataclass(frozen=True, slots=True)
class JobFile:
    """All that is asked for: products, and pins as (panel, pin)."""

    wanted: tuple[Wanted, ...]
    pins: tuple[tuple[str, Pin], ...] = ()


def read_job(path: Path) -> JobFile:
    """What a job file asks for; designs are looked up beside it.  Raises `ShopError` naming the key that is wrong."""
    top = job_table(path)
    top.only(("products", "pins"))
    wanted = tuple(_product(table, path.parent) for table in top.tables("products"))
    if not wanted:
        raise top.error('there are no [[products]]; give at least one with its design = "….py"')
    return JobFile(wanted, pins_of(top))


def job_table(path: Path, kind: str = "job file") -> Table:
    """The TOML of a file of that kind, not looked at yet.  Raises `ShopError` if it cannot be read."""
    try:
        text = read_text(path)
    except ShopError as error:
        raise ShopError(str(error).replace("shop file", kind), value=str(path)) from error
    return Table(path.name, "", parsed(text, path.name))


def pins_of(top: Table) -> tuple[tuple[str, Pin], ...]:
    """The pins of a job file as (panel, pin)."""
    return tuple(_pin(table) for table in top.tables("pins"))


def _product(table: Table, folder: Path) -> Wanted:
    table.only(("design", "copies", "set"))
    design = table.text("design")
    if design is None:
        raise table.error(f"{table.where} has no design; give the name of its file")
    settings = tuple(f"{name}={_as_text(value)}" for name, value in table.table("set").data.items())
    return Wanted(folder / design, table.count("copies") or 1, settings)


def _as_text(value: Any) -> str:
    """A TOML value as the command line would give it."""
    return str(value).lower() if isinstance(value, bool) else str(value)


def _pin(table: Table) -> tuple[str, Pin]:
    table.only(("panel", "sheet", "copy", "x_mm", "y_mm", "turn_deg"))
    panel, sheet = table.text("panel"), table.text("sheet")
    x, y = (table.number(key, may_be_negative=True) for key in ("x_mm", "y_mm"))
    if panel is None or sheet is None or x is None or y is None:
        raise table.error(f"{table.where} needs panel, sheet, x_mm and y_mm", value=dict(table.data))
    turn = table.number("turn_deg", may_be_negative=True)
    return panel, Pin(sheet, x, y, turn_deg=turn or 0.0, copy=table.count("copy") or 1)


def pin_named(pin: Pin, names: Sequence[str]) -> Pin:
    """The pin with its sheet's name as the nest has it: a letter x does for the sign ×, and capitals don't matter.

    >>> pin_named(Pin("600 x 400", 0, 0), ["offcut 380 × 400", "600 × 400"]).sheet
    '600 × 400'
    """

    def folded(name: str) -> str:
        return "".join(name.casefold().replace("×", "x").split())

    found = next((name for name in names if folded(name) == folded(pin.sheet)), pin.sheet)
    return replace(pin, sheet=found)


def wanted_on_line(designs: Sequence[str], copies: Sequence[int], settings: Sequence[str]) -> tuple[Wanted, ...]:
    """What is asked for on the command line: design files, one number of copies for all or one for each, settings for one.

    >>> [w.copies for w in wanted_on_line(["tray.py", "rack.py"], [2, 1], [])]
    [2, 1]
    """
    if len(copies) not in (0, 1, len(designs)):
        raise DesignError(
            f"{len(copies)} numbers of copies are given for {len(designs)} designs; give one for all or one for each",
            value=len(copies),
            limit=len(designs),
        )
    if settings and len(designs) > 1:
        raise DesignError(
            "settings are given for several designs; write a job file with a `set` for each product, or give one design",
            value=list(settings),
        )
    numbers = [1] * len(designs) if not copies else list(copies) * (len(designs) if len(copies) == 1 else 1)
    return tuple(Wanted(Path(design), number, tuple(settings)) for design, number in zip(designs, numbers, strict=True))
