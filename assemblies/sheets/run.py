"""Laying out sheets from the command line: progress on the terminal, the shop file brought up to date afterwards."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from panelwright.plates.errors import ShopError

from .arguments import paper_asked, rules_asked

if TYPE_CHECKING:
    from ..nest import Pin, Progress
    from ..shop.shop_file import Shop
    from .laid import LaidSheets
    from .request import Batch

__all__ = ["book_asked", "check_asked", "laid_for"]


def check_asked(chosen: argparse.Namespace, shop: Shop | None) -> None:
    """Refuse options that make no sense before the long work begins."""
    rules_asked(chosen)
    paper_asked(chosen)
    if chosen.update_shop and (shop is None or not shop.file):
        raise ShopError("there is no shop file to bring up to date; put a shop.toml beside the design or give --shop FILE")


def laid_for(
    batches: Sequence[Batch],
    shop: Shop | None,
    chosen: argparse.Namespace,
    tell: Callable[[str], None],
    *,
    pins: Mapping[str, Pin] | None = None,
) -> LaidSheets:
    """Lay out some products as the options ask; `tell` is told how far that is, `pins` are places chosen for panels."""
    from .costs import cost_of
    from .laid import LaidSheets
    from .laying import lay_sheets
    from .request import PieceRules

    def report(stock: str, progress: Progress) -> None:
        left = f", {progress.unplaced} parts left over" if progress.unplaced else ""
        tell(f"{stock}: {progress.sheets_taken:.2f} sheets after {progress.iterations} of {progress.effort} attempts{left}")

    pieces = {panel: PieceRules(pin) for panel, pin in (pins or {}).items()}
    plan = lay_sheets(batches, shop, replace(rules_asked(chosen), pieces=pieces), report=report)
    return LaidSheets(plan, cost_of(plan, batches, shop), paper_asked(chosen))


def book_asked(sheets: LaidSheets, shop_file: Path | None, chosen: argparse.Namespace) -> str:
    """Bring the shop file up to date if the options ask for it; says what was done, "" if nothing was."""
    if not chosen.update_shop or shop_file is None:
        return ""
    from .booking import book, bookings

    used, kept = bookings(sheets.plan)
    book(sheets.plan, shop_file)
    return f"{shop_file}: {sum(used.values())} sheets taken off, {len(kept)} offcuts put there"
