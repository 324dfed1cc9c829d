"""The options of the command line that say how sheets are laid out and cut, and the command `panelwright nest`."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from panelwright.assemblies.paper.press import Paper
    from panelwright.assemblies.sheets.request import SheetRules

__all__ = ["add_nest", "add_sheet_options", "paper_asked", "rules_asked"]

T = TypeVar("T")


def add_sheet_options(command: argparse.ArgumentParser) -> None:
    """Add the options, as a group of their own."""
    group = command.add_argument_group("sheet options")
    group.add_argument("--effort", metavar="N", type=int, help="attempts at a better layout (default: 400, a few seconds)")
    group.add_argument("--seed", metavar="N", type=int, help="another number gives another layout (default: 1)")
    group.add_argument("--time-limit", metavar="S", type=float, help="end the search after S seconds: not reproducible")
    group.add_argument("--compact", metavar="S", type=int, help="S seconds of spyrrow, if installed, on the last sheet")
    group.add_argument("--spacing", metavar="MM", type=float, help="least distance of parts (default: the machine's, or 2)")
    group.add_argument("--margin", metavar="MM", type=float, help="least distance from borders (default: the machine's, or 5)")
    group.add_argument("--turn-step", metavar="DEG", type=float, help="step of turns where there is no grain (default: 90)")
    group.add_argument(
        "--least-offcut", metavar="MM", type=float, nargs=2, help="smallest offcut worth keeping (default: 100 100)"
    )
    group.add_argument("--face-up", choices=("back", "show"), help="face that lies up and gets the part marks (default: back)")
    group.add_argument("--no-marks", action="store_true", help="no part numbers and names on the parts")
    group.add_argument("--ticks", action="store_true", help="mark where other plates are glued on")
    group.add_argument("--bridges", metavar="N", type=int, help="hold every part in its sheet by N bridges")
    group.add_argument("--bridge-width", metavar="MM", type=float, help="width of a bridge after cutting (default: 0.8)")
    group.add_argument("--bridge-windows", metavar="MM", type=float, help="hold windows of that size and above as well")
    group.add_argument("--shared-cuts", action="store_true", help="lay parts one kerf apart, cut lines between them once")
    group.add_argument("--paper", metavar="NAME", help="also write each sheet on pages of A4 or letter, at 1:1")
    group.add_argument("--update-shop", action="store_true", help="book sheets used and offcuts kept in the shop file")
    group.add_argument("--again", action="store_true", help="book the same parts once more that were booked before")
    group.add_argument("--book-stopped", action="store_true", help="book also if Ctrl-C stopped the search")


def add_nest(commands: Any) -> argparse.ArgumentParser:
    """Add the command's parser to a set of subparsers."""
    nest: argparse.ArgumentParser = commands.add_parser(
        "nest",
        usage="panelwright nest (DESIGN.py ... | JOB.toml) --out DIR [--copies N ...] [--set NAME=VALUE ...] [--shop FILE] "
        "[--json] [sheet options]",
        help="lay out the panels of one or more products, in several copies, on the shop's sheets",
        description="Prove the products and lay out all their panels on the shop's sheets.  A job file lists products "
        "with their copies and parameters, and parts that have to lie at one place.",
        allow_abbrev=False,
    )
    nest.add_argument("wanted", nargs="+", metavar="DESIGN.py", help="design files, or one job file")
    nest.add_argument("--out", metavar="DIR", required=True, help="folder to write or replace")
    nest.add_argument("--copies", metavar="N", type=int, nargs="+", default=[], help="copies of all designs, or of each")
    nest.add_argument(
        "--set", dest="settings", metavar="NAME=VALUE", nargs="+", action="extend", default=[], help="parameters of the design"
    )
    nest.add_argument("--shop", metavar="FILE", help="shop file to use instead of the shop.toml beside the first design")
    nest.add_argument("--json", action="store_true", help="print one JSON object instead of text")
    nest.add_argument("--traceback", action="store_true", help="show where a failure came from, in full")
    add_sheet_options(nest)
    return nest


def rules_asked(chosen: argparse.Namespace) -> SheetRules:
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


def paper_asked(chosen: argparse.Namespace) -> Paper | None:
    """The paper that the sheets are to be printed on, None if none is asked for."""
    if chosen.paper is None:
        return None
    from panelwright.assemblies.paper.press import paper_of

    return paper_of(chosen.paper)
