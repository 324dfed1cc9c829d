"""The product: collect plates, join them, prove that they fit, write what the shop needs.

Names are loaded when first used, so that `panelwright --help` answers at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .bodies.bodies import carcass, divider_grid, tray
    from .design.bent_sheet import bend
    from .design.collected import PlacedAssembly
    from .product.assembly import Assembly
    from .sheets.costs import cost_of
    from .sheets.laying import lay_sheets
    from .sheets.request import Batch, Bridges, SheetRules
    from .shop.in_force import stock
    from .shop.shop_file import Shop

__all__ = [
    "Assembly",
    "Batch",
    "Bridges",
    "PlacedAssembly",
    "SheetRules",
    "Shop",
    "bend",
    "carcass",
    "cost_of",
    "divider_grid",
    "lay_sheets",
    "stock",
    "tray",
]

_HOMES = {
    "Assembly": "product.assembly",
    "Batch": "sheets.request",
    "Bridges": "sheets.request",
    "PlacedAssembly": "design.collected",
    "SheetRules": "sheets.request",
    "Shop": "shop.shop_file",
    "bend": "design.bent_sheet",
    "carcass": "bodies.bodies",
    "cost_of": "sheets.costs",
    "divider_grid": "bodies.bodies",
    "lay_sheets": "sheets.laying",
    "stock": "shop.in_force",
    "tray": "bodies.bodies",
}


def __getattr__(name: str) -> object:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{home}"), name)
