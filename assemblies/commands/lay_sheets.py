"""Laying out sheets from the command line: progress on the terminal, the shop file brought up to date afterwards."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from panelwright.plates.errors import ShopError

from .sheet_arguments import paper_asked, rules_asked
from .terminal import tell

if TYPE_CHECKING:
    from panelwright.assemblies.booking.journal import BookedAlong
    from panelwright.assemblies.nest import Pin, Progress
    from panelwright.assemblies.sheets.laid import LaidSheets
    from panelwright.assemblies.sheets.request import Batch
    from panelwright.assemblies.shop.shop_file import Shop

__all__ = ["BookingAsked", "booking_asked", "check_asked", "laid_for", "settle_asked"]


def check_asked(chosen: argparse.Namespace, shop: Shop | None) -> None:
    """Refuse options that make no sense before the long work begins."""
    rules_asked(chosen)
    paper_asked(chosen)
    if chosen.update_shop and (shop is None or not shop.file):
        raise ShopError("there is no shop file to bring up to date; put a shop.toml beside the design or give --shop FILE")
    for option, is_given in (("--again", chosen.again), ("--book-stopped", chosen.book_stopped)):
        if is_given and not chosen.update_shop:
            raise ShopError(f"{option} says how to book; give --update-shop too", value=option)


def settle_asked(design: Path, chosen: argparse.Namespace) -> None:
    """Settle what a killed run left unfinished in the shop file, before anybody reads it; tells of it."""
    from panelwright.assemblies.booking.journal import settle
    from panelwright.assemblies.shop.in_force import find_shop_file

    shop_file = find_shop_file(design, chosen.shop)
    if shop_file is not None:
        tell(settle(shop_file))


def laid_for(
    batches: Sequence[Batch],
    shop: Shop | None,
    chosen: argparse.Namespace,
    show: Callable[[str], None],
    *,
    pins: Mapping[str, Pin] | None = None,
) -> LaidSheets:
    """Lay out some products as the options ask; `show` is told how far that is, `pins` are places chosen for panels.

    Raises `ShopError` at once if the shop file is to be brought up to date and has the same job already.
    """
    from panelwright.assemblies.booking.booking import check_new
    from panelwright.assemblies.booking.identity import job_of
    from panelwright.assemblies.sheets.costs import cost_of
    from panelwright.assemblies.sheets.laid import LaidSheets
    from panelwright.assemblies.sheets.laying import lay_sheets
    from panelwright.assemblies.sheets.request import PieceRules

    def report(stock: str, progress: Progress) -> None:
        left = f", {progress.unplaced} parts left over" if progress.unplaced else ""
        show(f"{stock}: {progress.sheets_taken:.2f} sheets after {progress.iterations} of {progress.effort} attempts{left}")

    if chosen.update_shop and not chosen.again and shop is not None:
        check_new(job_of(batches), shop)
    pieces = {panel: PieceRules(pin) for panel, pin in (pins or {}).items()}
    plan = lay_sheets(batches, shop, replace(rules_asked(chosen), pieces=pieces), report=report)
    return LaidSheets(plan, cost_of(plan, batches, shop), paper_asked(chosen))


@dataclass(frozen=True, slots=True)
class BookingAsked:
    """What is booked as the output is written, if anything is, and what is to be said of it, "" if nothing is asked for."""

    along: BookedAlong | None = None
    words: str = ""


def booking_asked(
    batches: Sequence[Batch], sheets: LaidSheets, shop_file: Path | None, chosen: argparse.Namespace
) -> BookingAsked:
    """How the shop file is brought up to date with the output, if the options ask for that."""
    from panelwright.assemblies.booking.booking import booking_of
    from panelwright.assemblies.booking.identity import job_of
    from panelwright.assemblies.booking.journal import BookedAlong

    if not chosen.update_shop or shop_file is None:
        return BookingAsked()
    if any(use.interrupted for use in sheets.plan.uses) and not chosen.book_stopped:
        return BookingAsked(
            words=f"{shop_file}: not brought up to date, since the search was stopped; --book-stopped does it then too"
        )
    booking = booking_of(sheets.plan, job_of(batches))
    # sheets that the file does not list leave nothing to book, and no job to remember
    return BookingAsked(BookedAlong(booking, shop_file, chosen.again) if booking.used else None, f"{shop_file}: {booking}")
