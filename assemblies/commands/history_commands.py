"""The commands that look at what was built before, and at what changed since: what each takes."""

from __future__ import annotations

from typing import Any

import click
from panelwright.assemblies.console.outcome import Outcome
from panelwright.assemblies.console.shared_options import (
    Chosen,
    Settings,
    anyway_option,
    command,
    help_option,
    json_option,
    no_hardware_option,
    set_option,
    shop_option,
    traceback_option,
)

from .design_commands import tolerance_options
from .lay_sheets import sheet_options_without

__all__ = ["compare", "verify"]


@command("Tell what changed between two versions, and which panels to cut again.")
@click.argument("before", metavar="A")
@click.argument("after", metavar="B")
@set_option
@click.option(
    "--set-before",
    cls=Settings,
    multiple=True,
    metavar="NAME=VALUE ...",
    help="Set parameters of A only; the others keep their defaults.",
)
@click.option(
    "--set-after",
    cls=Settings,
    multiple=True,
    metavar="NAME=VALUE ...",
    help="Set parameters of B only; the others keep their defaults.",
)
@shop_option("the shop.toml beside each design")
@click.option("--sheets", is_flag=True, help="Lay out designs on sheets too, to tell their number, machine time and cost.")
@click.option("--exit-code", is_flag=True, help="End with exit code 1 if a piece has to be cut.")
@click.option("--markdown", is_flag=True, help="Print a summary for a pull request instead of text.")
@click.option("--out", metavar="DIR", help="Write a page and a picture of every changed panel to this folder (default: none).")
@json_option
@traceback_option
@help_option
def compare(**given: Any) -> Outcome:
    """Compare two versions of a product by the shapes of its plates and where they stand.  A and B are folders that were built,
    their manifests, design files, or one of these at a git revision, such as tray.py@v1.2.
    """
    from .compare_command import run_compare

    return run_compare(Chosen(**given))


@command("Tell whether an output folder is what its manifest says, and whether the same comes out again.")
@click.argument("folder", metavar="DIR")
@click.option(
    "--rebuild",
    metavar="DESIGN.py",
    help="Also build this design with the parameters that the folder tells, and compare all files; give the other options as "
    "they were given to build (default: only look at the folder).",
)
@shop_option("the shop.toml beside the design")
@anyway_option
@no_hardware_option("STEP and the report's 3D view, as in the folder")
@click.option("--no-sheets", is_flag=True, help="Do not lay the panels out on sheets, as in the folder.")
@tolerance_options
@sheet_options_without("--update-shop", "--again", "--book-stopped")
@json_option
@traceback_option
@help_option
def verify(**given: Any) -> Outcome:
    """Hold every file of an output folder against the SHA-256 in its manifest; with --rebuild, build it again in a folder that
    goes again, and tell which files differ, and which of the inputs recorded: design, parameters, stocks, versions.
    """
    from .verify_command import run_verify

    return run_verify(Chosen(**given))
