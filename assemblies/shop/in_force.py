"""Which shop a design's `stock("birch 4")` means.

The command line puts a shop in force round the loading and running of a design: the file given by `--shop`, else the
`shop.toml` beside the design, else the shipped stocks.  It is held in a context variable, the one piece of state in the
toolkit that changes: it is only ever set by `using`, which sets it back, and each thread and task sees its own.  Code that
wants none of that asks a shop itself: `Shop.read(path)["birch 4"]`.
"""

from __future__ import annotations

import contextlib
from collections.abc import Generator
from contextvars import ContextVar
from pathlib import Path

from panelwright.plates.materials.stock import Stock

from .shop_file import FILE_NAME, Shop

__all__ = ["find_shop", "find_shop_file", "shop_in_force", "stock", "using"]

_IN_FORCE: ContextVar[Shop | None] = ContextVar("shop in force", default=None)


def stock(name: str) -> Stock:
    """The stock of that name in the shop in force.

    That is the file that the command line was given by `--shop`, else the `shop.toml` beside the design, else the
    shipped stocks; a shipped stock that the file does not replace is found too.  Shipped stocks are uncalibrated, which every
    build says.

    Raises `ShopError`, with the nearest name, for a stock that neither has.

    >>> stock("birch 4").thickness
    4.0
    >>> with using(Shop.from_text('[stocks."birch 4"]\\nbased_on = "birch 4"\\nmeasured_mm = 3.9\\nkerf_mm = 0.18')):
    ...     stock("birch 4").t
    3.9
    """
    shop = _IN_FORCE.get()
    return (Shop.of_shipped() if shop is None else shop)[name]


def shop_in_force() -> Shop | None:
    """The shop in force, None for the shipped stocks alone."""
    return _IN_FORCE.get()


@contextlib.contextmanager
def using(shop: Shop | None) -> Generator[None]:
    """Put a shop in force for the time of a `with` block; None means the shipped stocks."""
    token = _IN_FORCE.set(shop)
    try:
        yield
    finally:
        _IN_FORCE.reset(token)


def find_shop(design: Path, given: str | Path | None = None) -> Shop | None:
    """The shop for a design file: the file given, else the one beside the design, else None.

    Raises `ShopError` for a file that is missing or wrong.
    """
    path = find_shop_file(design, given)
    return None if path is None else Shop.read(path)


def find_shop_file(design: Path, given: str | Path | None = None) -> Path | None:
    """Where that shop's file lies; one that is given need not exist."""
    if given is not None:
        return Path(given)
    beside = design.resolve().parent / FILE_NAME
    return beside if beside.exists() else None
