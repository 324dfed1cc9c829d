"""What the shop has: its stocks as measured, its machine, its sheets and offcuts, and how its file is edited.

Comes in: `shop.toml`.  Goes out: `Shop` and stocks that know where each of their numbers comes from.
Names are loaded when first used, so that `panelwright --help` answers at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .in_force import stock, using
    from .shelf import Machine, Offcut, Sheet, Shelf
    from .shop_file import Shop

__all__ = ["Machine", "Offcut", "Sheet", "Shelf", "Shop", "stock", "using"]

_HOMES = {
    "Machine": "shelf",
    "Offcut": "shelf",
    "Sheet": "shelf",
    "Shelf": "shelf",
    "Shop": "shop_file",
    "stock": "in_force",
    "using": "in_force",
}


def __getattr__(name: str) -> object:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{home}"), name)
