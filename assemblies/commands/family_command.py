"""The command `panelwright family`: one design at all sizes of a table, each proven, and written unless it is to be checked."""

from __future__ import annotations

import os
import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from panelwright.assemblies.console.outcome import FINE, FOUND_ERRORS, INTERRUPTED, Outcome
from panelwright.assemblies.console.shared_options import (
    Chosen,
    anyway_option,
    command,
    help_option,
    json_option,
    no_hardware_option,
    out_option,
    shop_option,
    traceback_option,
)
from panelwright.assemblies.console.shown import Progress, Table
from panelwright.assemblies.console.terminal import stdout_to_stderr
from panelwright.assemblies.data.verdict import counted

from .lay_sheets import sheet_options_without

if TYPE_CHECKING:
    from panelwright.assemblies.family.family_files import Bad
    from panelwright.assemblies.family.family_run import FamilyMade
    from panelwright.assemblies.family.one_variant import Asked

__all__ = ["family"]

TIME_LIMIT_S = 300.0
"""Seconds that a variant may take unless more are asked for."""

MOST_SHOWN = 20
"""Variants with errors, and panels that serve several, that are listed on the terminal."""


@command("Prove and write one design at all the sizes of a table.")
@click.argument("design", metavar="DESIGN.py")
@click.argument("table", metavar="TABLE")
@out_option("Folder", required=True)
@click.option("--check", is_flag=True, help="Prove only: write rows and pictures, but no output folders.")
@click.option("--resume", is_flag=True, help="Keep what an earlier run made of the same inputs; make the rest.")
@click.option("--jobs", metavar="N", type=int, help="Variants made at once, 1 to 256 (default: as many as processors).")
@click.option("--time-limit", metavar="S", type=float, help="Stop a variant after S seconds, over 0 (default: 300).")
@click.option(
    "--memory-limit",
    metavar="MB",
    type=int,
    help="Stop a variant that takes more memory, in MB, 64 or more (default: its share of the machine's).",
)
@click.option("--no-pictures", is_flag=True, help="Draw no pictures of the variants.")
@anyway_option
@no_hardware_option("STEP and the reports' 3D view")
@click.option("--no-sheets", is_flag=True, help="Do not lay the panels out on sheets.")
@shop_option("the shop.toml beside the design")
@json_option
@traceback_option
@help_option
@sheet_options_without("--time-limit", "--update-shop", "--again", "--book-stopped")
def family(**given: Any) -> Outcome:
    """Prove a design at all the sizes of TABLE and write an output folder for each, in DIR/variants, with one list of them
    all.  TABLE is a .csv or .toml file, or FILE.py:function; a variant that fails is a row like others and stops nothing.
    """
    return run_family(Chosen(**given))


def run_family(chosen: Chosen) -> Outcome:
    """Run it; exit code 1 if any variant has errors."""
    from panelwright.assemblies.family.family_run import make_family
    from panelwright.assemblies.family.pool import Limits, memory_share
    from panelwright.plates._validate import positive, whole

    jobs = whole(_processors() if chosen.jobs is None else chosen.jobs, "--jobs", most=256)
    seconds = positive(TIME_LIMIT_S if chosen.time_limit is None else chosen.time_limit, "--time-limit", unit="s")
    memory = memory_share(jobs)
    if chosen.memory_limit is not None:
        memory = whole(chosen.memory_limit, "--memory-limit in MB", least=64, most=2**30) * 2**20
    asked = _asked(chosen)
    with Progress(("read the table", "prove" if chosen.check else "prove and write", "sum up")) as progress, stdout_to_stderr():
        made = make_family(
            asked,
            chosen.table,
            jobs=jobs,
            limits=Limits(seconds, memory),
            resume=chosen.resume,
            tell=progress.tell,
            stage=progress.next,
        )
    return _said(made, chosen)


def _processors() -> int:
    """Processors that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _asked(chosen: Chosen) -> Asked:
    from panelwright.assemblies.family.one_variant import Asked

    from .lay_sheets import paper_asked, rules_asked

    chosen = Chosen(**{**vars(chosen), "time_limit": None})  # a search that ends by the clock gives other bytes each time
    rules = rules_asked(chosen)
    return Asked(
        chosen.design,
        chosen.shop,
        chosen.out,
        is_check=chosen.check,
        anyway=chosen.anyway,
        shows_hardware=not chosen.no_hardware,
        has_pictures=not chosen.no_pictures,
        rules=None if chosen.check or chosen.no_sheets else rules,
        paper=paper_asked(chosen),
    )


def _said(made: FamilyMade, chosen: Chosen) -> Outcome:
    from panelwright.assemblies.product.json_documents import document, document_text

    summary = made.summary
    code = INTERRUPTED if made.is_stopped else FOUND_ERRORS if summary.bad else FINE
    if chosen.json:
        entries = {**summary.entries, "kept": made.kept, "ok": code == FINE, "out": chosen.out}
        return Outcome(code, text=document_text(document("panelwright.family", entries)))
    words = ", ".join(f"{count} {verdict}" for verdict, count in sorted(summary.verdicts.items()))
    lines: list[str | Table] = [f"{Path(chosen.design).name}: {counted(summary.count, 'variant')}: {words}"]
    lines += [f"{made.kept} kept from an earlier run"] * bool(made.kept)
    shared = [panel for panel in summary.panels if panel.is_shared]
    if shared:
        lines += ["", *(f"{panel.words()}, {counted(panel.pieces, 'piece')}" for panel in shared[:MOST_SHOWN])]
        lines += [f"and {len(shared) - MOST_SHOWN} more: panels.csv lists them all"] * (len(shared) > MOST_SHOWN)
    if summary.bad:
        lines += ["", *(f"{bad.name}: {bad.words}" for bad in summary.bad[:MOST_SHOWN])]
        lines += [f"and {len(summary.bad) - MOST_SHOWN} more"] * (len(summary.bad) > MOST_SHOWN)
    if made.left_over:
        listed = ", ".join(made.left_over[:MOST_SHOWN]) + (", …" if len(made.left_over) > MOST_SHOWN else "")
        lines += [
            "",
            f"{counted(len(made.left_over), 'folder')} in variants/ not written by this run, and left there: {listed}",
        ]
    lines += ["", f"written to {chosen.out}"]
    if made.is_stopped:
        lines.append("stopped; what is finished is whole, and --resume goes on from there")
    elif summary.bad:
        lines.append(f"next: {_first_step(summary.bad[0], chosen)}")
    return Outcome(code, told=tuple(lines))


def _first_step(bad: Bad, chosen: Chosen) -> str:
    """What shows the first variant that failed by itself."""
    more = ("--set", *bad.settings) if bad.settings else ()
    shop = () if chosen.shop is None else ("--shop", chosen.shop)
    return f"{shlex.join(('panelwright', 'check', chosen.design, *shop, *more))} tells all of {bad.name}"
