"""Orders: how many of which variants of a family are wanted, laid out and cut in one run.

A small TOML file beside the table:

    design = "tile_tray.py"
    table = "sizes.csv"

    [order]              # variant = how many
    travel = 12
    "wall high" = 3
"""

from __future__ import annotations

from pathlib import Path

from panelwright.assemblies.loading.design_file import load_design
from panelwright.assemblies.sheets.job_file import JobFile, Wanted, job_table, pins_of
from panelwright.assemblies.shop.checked_tables import nearest

from .variant_table import read_variants

__all__ = ["is_order", "read_order"]


def is_order(path: Path) -> bool:
    """Whether a TOML file is an order rather than a job file; what cannot be read is neither.  Raises `ShopError` for that."""
    return "order" in job_table(path, "order").data


def read_order(path: Path, shop: Path | None) -> JobFile:
    """What an order asks for; design and table are looked up beside it, each product is called after its variant.

    `shop` is the shop file that the design is loaded with, None for the one beside it.  Raises `ShopError` naming the key that
    is wrong, with the nearest variant for one that the table does not have, and `DesignError` for a design or table that is not
    as it should be.
    """
    top = job_table(path, "order")
    top.only(("design", "table", "order", "pins"))
    design_name, table_name = top.text("design"), top.text("table")
    if design_name is None or table_name is None:
        raise top.error('an order needs design = "….py" and the table of its variants, table = "….csv"')
    file = path.parent / design_name
    design = load_design(file, shop=shop)
    variants = {variant.name: variant for variant in read_variants(str(path.parent / table_name), design)}
    asked = top.table("order")
    wanted: list[Wanted] = []
    for name in asked.data:
        if name not in variants:
            near = nearest(name, variants)
            hint = f"did you mean {near!r}?" if near else f"{table_name} has {', '.join(list(variants)[:8])}"
            raise asked.error(f"there is no variant {name!r}; {hint}", value=name)
        count = asked.count(name)
        assert count is not None  # the key is there
        wanted.append(Wanted(file, count, variants[name].settings, name))
    if not wanted:
        raise asked.error("nothing is ordered; give at least one variant with its number, such as travel = 2")
    return JobFile(tuple(wanted), pins_of(top))
