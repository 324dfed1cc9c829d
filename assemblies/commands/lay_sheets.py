"""Laying out sheets from the command line: the options for it, progress, the shop file brought up to date afterwards."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

import click
from panelwright.assemblies.console.shared_options import Chosen, Sheet
from panelwright.assemblies.console.terminal import tell
from panelwright.assemblies.data.verdict import counted

if TYPE_CHECKING:
    from panelwright.assemblies.booking.journal import BookedAlong
    from panelwright.assemblies.nest import Pin, Progress
    from panelwright.assemblies.paper.press import Paper
    from panelwright.assemblies.sheets.laid import LaidSheets
    from panelwright.assemblies.sheets.request import Batch, SheetRules
    from panelwright.assemblies.shop.shop_file import Shop

__all__ = [
    "BookingAsked",
    "booking_asked",
    "check_asked",
    "laid_for",
    "paper_asked",
    "rules_asked",
    "settle_asked",
    "sheet_options",
    "sheet_options_without",
]

C = TypeVar("C", bound=Callable[..., Any])
T = TypeVar("T")


class _Option(NamedTuple):
    """An option for sheets, and what gives it to a command."""

    name: str
    give: Callable[[Any], Any]


def _sheet(name: str, **more: Any) -> _Option:
    return _Option(name, click.option(name, cls=Sheet, **more))


_OPTIONS: tuple[_Option, ...] = (
    _sheet("--effort", metavar="N", type=int, help="Attempts at a better layout, 0 or more (default: 400, a few seconds)."),
    _sheet("--seed", metavar="N", type=int, help="Another whole number, 0 or more, gives another layout (default: 1)."),
    _sheet(
        "--time-limit",
        metavar="S",
        type=float,
        help="End the search after S seconds, over 0; not reproducible (default: no limit).",
    ),
    _sheet(
        "--compact",
        metavar="S",
        type=int,
        help="Whole seconds, 1 or more, that spyrrow works on the last sheet, if it is installed (default: none).",
    ),
    _sheet("--spacing", metavar="MM", type=float, help="Distance of parts in mm, 0 or more (default: the machine's, or 2)."),
    _sheet(
        "--margin",
        metavar="MM",
        type=float,
        help="Distance from the sheet's borders in mm, 0 or more (default: the machine's, or 5).",
    ),
    _sheet(
        "--turn-step",
        metavar="DEG",
        type=float,
        help="Step of turns where there is no grain, in degrees: 0.5 or more, and 360 a multiple of it (default: 90).",
    ),
    _sheet(
        "--least-offcut",
        metavar="MM MM",
        type=float,
        nargs=2,
        help="Smallest offcut worth keeping, width and height in mm, over 0 (default: 100 100).",
    ),
    _sheet(
        "--face-up",
        type=click.Choice(["back", "show"]),
        help="Face that lies up and gets the part marks (default: back).",
    ),
    _sheet("--no-marks", is_flag=True, help="Put no part numbers and names on the parts."),
    _sheet("--ticks", is_flag=True, help="Mark where other plates are glued on."),
    _sheet("--bridges", metavar="N", type=int, help="Hold every part in its sheet by N bridges, 1 or more (default: none)."),
    _sheet(
        "--bridge-width",
        metavar="MM",
        type=float,
        help="Width of a bridge after cutting in mm, over 0; with --bridges (default: 0.8).",
    ),
    _sheet(
        "--bridge-windows",
        metavar="MM",
        type=float,
        help="Hold the waste of windows of that size in mm, 0 or more, as well; with --bridges (default: it falls out).",
    ),
    _sheet("--shared-cuts", is_flag=True, help="Lay parts one kerf apart and cut lines between them once."),
    _sheet(
        "--paper",
        metavar="NAME",
        help="Also write each sheet at 1:1 on pages of A4 or letter (default: no pages).",
    ),
    _sheet("--update-shop", is_flag=True, help="Book sheets used and offcuts kept in the shop file."),
    _sheet("--again", is_flag=True, help="Book the same parts once more that were booked before; with --update-shop."),
    _sheet("--book-stopped", is_flag=True, help="Book also if Ctrl-C stopped the search; with --update-shop."),
)


def sheet_options(command: C) -> C:
    """Give a command the options that say how sheets are laid out and cut."""
    return sheet_options_without()(command)


def sheet_options_without(*left_out: str) -> Callable[[C], C]:
    """What gives a command the options that say how sheets are laid out and cut, but for those named."""

    def given(command: C) -> C:
        for option in reversed(_OPTIONS):
            if option.name not in left_out:
                command = option.give(command)
        return command

    return given


def check_asked(chosen: Chosen, shop: Shop | None) -> None:
    """Refuse options that make no sense before the long work begins."""
    from panelwright.plates.errors import ShopError

    rules_asked(chosen)
    paper_asked(chosen)
    if chosen.update_shop and (shop is None or not shop.file):
        raise ShopError("there is no shop file to bring up to date; put a shop.toml beside the design or give --shop FILE")
    for option, is_given in (("--again", chosen.again), ("--book-stopped", chosen.book_stopped)):
        if is_given and not chosen.update_shop:
            raise ShopError(f"{option} says how to book; give --update-shop too", value=option)


def settle_asked(design: Path, chosen: Chosen) -> None:
    """Settle what a killed run left unfinished in the shop file, before anybody reads it; tells of it."""
    from panelwright.assemblies.booking.journal import settle
    from panelwright.assemblies.shop.in_force import find_shop_file

    shop_file = find_shop_file(design, chosen.shop)
    if shop_file is not None:
        tell(settle(shop_file))


def laid_for(
    batches: Sequence[Batch],
    shop: Shop | None,
    chosen: Chosen,
    show: Callable[[str, float], None],
    *,
    pins: Mapping[str, Pin] | None = None,
) -> LaidSheets:
    """Lay out some products as the options ask; `show` is told how far that is, in words and as a
    share, `pins` are places chosen for panels.

    Raises `ShopError` at once if the shop file is to be brought up to date and has the same job already.
    """
    from panelwright.assemblies.booking.booking import check_new
    from panelwright.assemblies.booking.identity import job_of
    from panelwright.assemblies.sheets.costs import cost_of
    from panelwright.assemblies.sheets.laid import LaidSheets
    from panelwright.assemblies.sheets.laying import lay_sheets
    from panelwright.assemblies.sheets.request import PieceRules

    def report(stock: str, progress: Progress) -> None:
        left = f", {counted(progress.unplaced, 'part')} left over" if progress.unplaced else ""
        attempts = f"{progress.iterations} of {counted(progress.effort, 'attempt')}"
        words = f"{stock}: {progress.sheets_taken:.2f} sheets after {attempts}{left}"
        show(words, progress.iterations / progress.effort if progress.effort else 1.0)

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


def booking_asked(batches: Sequence[Batch], sheets: LaidSheets, shop_file: Path | None, chosen: Chosen) -> BookingAsked:
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


def rules_asked(chosen: Chosen) -> SheetRules:
    """The rules that the options come to.  Raises errors of `SheetRules` and `Bridges` for values out of range."""
    from panelwright.assemblies.sheets.request import Bridges, SheetRules
    from panelwright.plates.errors import SizeError

    bridges = None
    if chosen.bridges is not None:
        plain_bridges = Bridges()
        width = plain_bridges.width_mm if chosen.bridge_width is None else chosen.bridge_width
        bridges = Bridges(chosen.bridges, width, chosen.bridge_windows)
    elif chosen.bridge_width is not None or chosen.bridge_windows is not None:
        value = chosen.bridge_windows if chosen.bridge_width is None else chosen.bridge_width
        raise SizeError("a size for bridges is given, but not how many; give --bridges N too", value=value)
    plain = SheetRules()

    def asked(value: T | None, default: T) -> T:
        return default if value is None else value

    return SheetRules(
        spacing=chosen.spacing,
        margin=chosen.margin,
        turn_step_deg=asked(chosen.turn_step, plain.turn_step_deg),
        seed=asked(chosen.seed, plain.seed),
        effort=asked(chosen.effort, plain.effort),
        time_limit_s=chosen.time_limit,
        compact_s=chosen.compact,
        least_offcut=plain.least_offcut if chosen.least_offcut is None else (chosen.least_offcut[0], chosen.least_offcut[1]),
        face_up=asked(chosen.face_up, plain.face_up),
        is_marked=not chosen.no_marks,
        ticks=chosen.ticks,
        bridges=bridges,
        shared_cuts=chosen.shared_cuts,
    )


def paper_asked(chosen: Chosen) -> Paper | None:
    """The paper that the sheets are to be printed on, None if none is asked for."""
    if chosen.paper is None:
        return None
    from panelwright.assemblies.paper.press import paper_of

    return paper_of(chosen.paper)
