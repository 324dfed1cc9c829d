"""The command line: `panelwright build`, `check`, `picture` and `booklet`, and the shop's commands (`shop/commands.py`).

Exit codes: 0 if all is well (warnings allowed), 1 if the proof found an error, 2 for wrong use or a design that
fails, 130 after Ctrl-C.  Standard output carries the result only; progress and whatever the design prints go to
standard error.

Nothing but the standard library is imported before it is needed: `--help` must answer at once.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import re
import sys
import textwrap
import traceback
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from panelwright.assemblies.product.cautions import CAUTION, caution_for

from .explain_command import add_explain, explained
from .paper_arguments import add_booklet, add_picture
from .preview_arguments import add_preview
from .sheet_arguments import add_nest, add_sheet_options
from .shop_commands import COMMANDS, add_commands, run_command
from .terminal import Progress, drop_stdout, ending_as_interrupt, stdout_to_stderr, tell, write

if TYPE_CHECKING:
    from panelwright.assemblies.data.product import Product
    from panelwright.assemblies.loading.design_file import Design
    from panelwright.assemblies.sheets.laid import LaidSheets

__all__ = ["CAUTION", "main"]

FINE, FOUND_ERRORS, FAILED, INTERRUPTED = 0, 1, 2, 130

DEBIAN_PACKAGES = {
    "libGL.so": "libgl1",
    "libGLU.so": "libglu1-mesa",
    "libEGL.so": "libegl1",
    "libX11.so": "libx11-6",
    "libXext.so": "libxext6",
    "libXrender.so": "libxrender1",
}
"""Which package brings which of the shared libraries that the geometry kernel loads."""

MISSING_LIBRARY = re.compile(r"(lib[\w+.-]*?\.so)([.\d]*): cannot open shared object file")


class UsageError(Exception):
    """A command line that says nothing the program can do."""


class _Parser(argparse.ArgumentParser):
    """Raises instead of ending the program, so that `--json` can report wrong use too."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message}\n{self.format_usage().strip()}")


@dataclass
class _Outcome:
    """What a run came to, before it is put into words."""

    code: int = FINE
    out: str | None = None
    product: Product | None = None
    builds: bool = False
    sheets: LaidSheets | None = None
    booked: str = ""
    error: BaseException | None = None
    message: str = ""
    text: str | None = None


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line with the given arguments (None: the program's own) and return the exit code."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    as_json = "--json" in arguments
    with ending_as_interrupt():
        try:
            outcome = _run(arguments)
        except KeyboardInterrupt as error:
            outcome = _Outcome(INTERRUPTED, error=error, message="stopped; old output untouched")
        except Exception as error:  # the last place where anything can be told in words
            outcome = _failure(error, arguments)
        try:
            if as_json and outcome.text is None:
                write(sys.stdout, json.dumps(_json_of(outcome), indent=2) + "\n")
            else:
                _report(outcome)
        except KeyboardInterrupt:
            return INTERRUPTED
        except BrokenPipeError:
            drop_stdout()
        except OSError as error:
            drop_stdout()
            with contextlib.suppress(OSError):
                write(sys.stderr, f"panelwright: the result could not be printed: {error.strerror}\n")
            return outcome.code or FAILED
    return outcome.code


def _parser() -> tuple[_Parser, dict[str, _Parser]]:
    parser = _Parser(
        prog="panelwright",
        description="Build or check a slotted flat-sheet product written as a Python design file.",
        epilog="`panelwright build DESIGN.py --help` also lists the design's own parameters.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="store_true", help="print the version and stop")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", parser_class=_Parser)
    build = commands.add_parser(
        "build",
        usage="panelwright build DESIGN.py --out DIR [--set NAME=VALUE ...] [--shop FILE] [--json] [--anyway] [--no-hardware] "
        "[--no-sheets | sheet options]",
        help="prove a design and write its STEP, panels, sheets, bill of materials, report and manifest",
        description="Prove a design and write its output folder; errors found keep the old folder as it is.",
        add_help=False,
        allow_abbrev=False,
    )
    check = commands.add_parser(
        "check",
        usage="panelwright check DESIGN.py [--set NAME=VALUE ...] [--shop FILE] [--json]",
        help="prove a design and write nothing",
        description="Prove a design and report what was found.",
        add_help=False,
        allow_abbrev=False,
    )
    designs = {"build": build, "check": check, "picture": add_picture(commands), "booklet": add_booklet(commands)}
    for name, command in designs.items():
        command.add_argument("design", nargs="?", metavar="DESIGN.py", help="file that defines design(...)")
        if name != "check":
            kind, what = ("DIR", "folder") if name == "build" else ("FILE", "file")
            command.add_argument("--out", metavar=kind, help=f"{what} to write or replace")
        command.add_argument(
            "--set",
            dest="settings",
            metavar="NAME=VALUE",
            nargs="+",
            action="extend",
            default=[],
            help="set parameters of the design",
        )
        command.add_argument("--shop", metavar="FILE", help="shop file to use instead of the shop.toml beside the design")
        command.add_argument("--json", action="store_true", help="print one JSON object instead of text")
        if name in ("build", "booklet"):
            command.add_argument("--anyway", action="store_true", help="write even if the proof found errors")
        if name in ("build", "picture"):
            shown = "STEP and the report's 3D view" if name == "build" else "picture"
            command.add_argument("--no-hardware", action="store_true", help=f"leave screws and nuts out of the {shown}")
        command.add_argument("--traceback", action="store_true", help="show where a failure came from, in full")
        command.add_argument("-h", "--help", action="store_true", help="show this and the design's parameters")
    build.add_argument("--no-sheets", action="store_true", help="do not lay the panels out on sheets")
    add_sheet_options(build)
    add_nest(commands)
    add_preview(commands)
    add_commands(commands)
    add_explain(commands)
    return parser, designs


def _run(arguments: list[str]) -> _Outcome:
    parser, commands = _parser()
    try:
        chosen = parser.parse_args(arguments)
    except SystemExit:  # argparse has printed the general help
        return _Outcome(text="")
    if chosen.version:
        return _Outcome(text=f"panelwright {_version()}\n")
    if chosen.command is None:
        known = ", ".join((*commands, "nest", "preview", *COMMANDS, "explain"))
        raise UsageError(f"give a command: {known}\n{parser.format_usage().strip()}")
    if chosen.command in COMMANDS:
        with stdout_to_stderr():
            text = run_command(chosen)
        return _Outcome(text=text)
    if chosen.command == "explain":
        return _Outcome(text=explained(chosen))
    if chosen.command == "nest":
        from .nest_command import run_nest

        is_whole, text = run_nest(chosen)
        return _Outcome(FINE if is_whole else FOUND_ERRORS, text=text)
    if chosen.command == "preview":
        from .preview_command import run_preview

        return _Outcome(run_preview(chosen), text="")
    command = commands[chosen.command]
    if chosen.design is None and chosen.settings and "=" not in chosen.settings[-1]:
        chosen.design = chosen.settings.pop()  # `--set width=300 tray.py` took the file for a setting
    if chosen.help:
        return _help(command, chosen.design, chosen.shop)
    if chosen.design is None:
        command.error("give a design file")
    if getattr(chosen, "out", "") is None:
        target = "folder to write, --out DIR" if chosen.command == "build" else "file to write, --out FILE"
        command.error(f"give the {target}")
    if chosen.command == "picture":
        from .picture_command import draw

        is_whole, text = draw(chosen)
        return _Outcome(FINE if is_whole else FOUND_ERRORS, text=text)
    return _make(chosen)


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("panelwright")
    except PackageNotFoundError:  # run from its folder
        return "unknown"


def _help(command: _Parser, design_path: str | None, shop: str | None) -> _Outcome:
    text = command.format_help()
    if design_path is None:
        return _Outcome(text=f"{text}\ngive DESIGN.py too to see the parameters that it takes\n")
    from panelwright.assemblies.loading.design_file import load_design

    with stdout_to_stderr():
        design = load_design(design_path, shop=shop)
    return _Outcome(text=f"{text}\n{_parameter_help(design)}")


def _parameter_help(design: Design) -> str:
    """The design's docstring and parameters in words."""
    lines = [textwrap.indent(design.doc, "  ") + "\n"] if design.doc else []
    for parameter in design.parameters:
        default = getattr(parameter.default, "name", parameter.default)
        shown = {True: "true", False: "false"}[default] if isinstance(default, bool) else default
        shown = "none" if shown is None else f"{shown:.12g}" if isinstance(shown, float) else shown
        lines.append(f"  {parameter.name}={shown}  ({parameter.reader.kind})")
        lines += textwrap.wrap(parameter.help, 78, initial_indent=" " * 6, subsequent_indent=" " * 6)
    if not design.parameters:
        lines.append("  takes no parameters")
    return f"design {design.path.name}:\n" + "\n".join(lines) + "\n"


def _make(chosen: argparse.Namespace) -> _Outcome:
    """Load, resolve, prove and write; the outcome of `build`, `check` and `booklet`."""
    from panelwright.assemblies.loading.design_file import load_design, parse_settings, run
    from panelwright.assemblies.proof.room_on_sheets import with_room
    from panelwright.assemblies.sheets.request import Batch
    from panelwright.assemblies.shop.in_force import find_shop_file

    from .lay_sheets import booking_asked, laid_for, settle_asked

    out = getattr(chosen, "out", None)
    lays_out = chosen.command == "build" and not chosen.no_sheets
    stages = ["load", "resolve and prove", *["lay out sheets"] * lays_out, *["write"] * (out is not None)]
    with Progress(stages) as progress, stdout_to_stderr():
        progress.next()
        if lays_out:
            settle_asked(Path(chosen.design), chosen)
        design = load_design(chosen.design, shop=chosen.shop)
        settings = parse_settings(design, chosen.settings)
        if out is not None:
            _check_target(chosen, design)
        assembly = run(design, settings)
        progress.next()
        with design.surroundings():
            product = assembly.product()
        if not lays_out and chosen.command != "check":
            product = with_room(product, design.shop, lays_out=False)
        elif lays_out and chosen.margin is not None:
            product = with_room(product, design.shop, margin=chosen.margin)
        code = FOUND_ERRORS if product.errors else FINE
        if out is None or (product.errors and not chosen.anyway):
            return _Outcome(code, product=product, builds=out is not None)
        sheets, booked = None, ""
        if lays_out:
            progress.next()
            if not product.errors:
                sheets = laid_for([Batch(product)], design.shop, chosen, progress.tell)
        progress.next()
        if chosen.command == "booklet":
            from .booklet_command import write_booklet

            write_booklet(product, chosen, design.values(settings), design.doc)
        else:
            from panelwright.assemblies.output.folder import write_product

            if chosen.no_hardware:
                product = replace(product, show_hardware=False)
            along = None
            if sheets is not None:
                booking = booking_asked([Batch(product)], sheets, find_shop_file(design.path, chosen.shop), chosen)
                along, booked = booking.along, booking.words
            write_product(product, out, file=design.path.name, parameters=design.values(settings), sheets=sheets, along=along)
    return _Outcome(code, out=out, product=product, sheets=sheets, booked=booked)


def _check_target(chosen: argparse.Namespace, design: Design) -> None:
    """Refuse what cannot be written before the long work begins."""
    if chosen.command == "booklet":
        from .booklet_command import check_booklet

        check_booklet(chosen)
    else:
        from panelwright.assemblies.output.folder import check_out

        from .lay_sheets import check_asked

        tell(check_out(chosen.out))
        check_asked(chosen, design.shop)


def _failure(error: BaseException, arguments: list[str]) -> _Outcome:
    """An exception in words: its own if it is ours, the lines of the design if it is not."""
    library = _missing_library(error)
    if library:
        message = library
    elif isinstance(error, UsageError) or _is_ours(error):
        message = "\n".join([str(error), *getattr(error, "__notes__", ())])
    else:
        message = f"{type(error).__name__}: {error}"
        design = next((argument for argument in arguments if argument.endswith(".py")), None)
        if design is not None:
            from panelwright.assemblies.loading.design_file import design_lines

            message += "".join(f"\n  {line}" for line in design_lines(error, Path(design)))
        message += "\nthis is a fault of the toolkit rather than of the design; --traceback shows all of it"
    if "--traceback" in arguments:
        message = "".join(traceback.format_exception(error)) + message
    return _Outcome(FAILED, error=error, message=message)


def _is_ours(error: BaseException) -> bool:
    from panelwright.plates.errors import PanelwrightError

    return isinstance(error, PanelwrightError)


def _missing_library(error: BaseException | None) -> str:
    """What to install if a shared library of the geometry kernel is what is missing; empty if that is not it."""
    seen: set[int] = set()
    while error is not None and id(error) not in seen:
        seen.add(id(error))
        found = MISSING_LIBRARY.search(str(error)) if isinstance(error, ImportError) else None
        if found:
            library = "".join(found.groups())
            package = DEBIAN_PACKAGES.get(found.group(1))
            how = (
                f"on Debian and Ubuntu the package {package} brings it: sudo apt install {package}"
                if package
                else f"install the package that brings it (on Debian, `apt-file search {library}` names it)"
            )
            return f"the geometry kernel cannot load {library}; {how}"
        error = error.__cause__ or error.__context__
    return ""


def _json_of(outcome: _Outcome) -> dict[str, Any]:
    product = outcome.product
    panels: list[Any] = []
    findings: list[Any] = []
    if product is not None:
        from panelwright.assemblies.product.json_entries import finding_entry, panel_entry

        panels = [panel_entry(panel) for panel in product.panels]
        findings = [finding_entry(finding) for finding in product.findings]
    error = None
    if outcome.error is not None:
        plates = list(getattr(outcome.error, "plates", ()))
        error = {"type": type(outcome.error).__name__, "message": outcome.message, "plates": plates}
    return {
        "ok": outcome.code == FINE,
        "out": outcome.out,
        "product": product.name if product is not None else None,
        "panels": panels,
        "findings": findings,
        "error": error,
        **({} if outcome.sheets is None else {**outcome.sheets.entries({}), "booked": outcome.booked}),
    }


def _report(outcome: _Outcome) -> None:
    if outcome.text is not None:
        write(sys.stdout, outcome.text)
    elif outcome.product is not None:
        write(sys.stdout, _in_words(outcome, outcome.product))
    else:
        write(sys.stderr, f"panelwright: {outcome.message}\n")


def _in_words(outcome: _Outcome, product: Product) -> str:
    rows = [("panel", "stock", "pieces", "size (mm)")]
    for panel in product.panels:
        width, height = panel.bbox_mm
        size = f"{width:.2f} × {height:.2f} × {panel.stock.t:g}"
        rows.append((panel.name, panel.stock.material, str(panel.quantity), size))
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    lines = [f"{product.name}: {_counted(product.parts, 'plate')}, {_counted(product.joints, 'joint')}", ""]
    for name, stock, pieces, size in rows:
        lines.append(f"  {name:<{widths[0]}}  {stock:<{widths[1]}}  {pieces:>{widths[2]}}  {size}")
    lines.append("")
    order = ("error", "warning", "info")
    lines += [str(finding) for finding in sorted(product.findings, key=lambda found: order.index(found.level))]
    if not product.findings:
        lines.append("the proof found nothing wrong")
    if outcome.sheets is not None:
        lines += ["", *outcome.sheets.words(), ""]
    if outcome.out is not None:
        lines.append(f"written to {outcome.out}")
        lines += [outcome.booked] * bool(outcome.booked)
        lines.append(caution_for(panel.stock for panel in product.panels))
    elif outcome.code == FOUND_ERRORS and outcome.builds:
        lines.append("nothing written: mend the errors first")
    return "\n".join(lines) + "\n"


def _counted(things: Sequence[object], word: str) -> str:
    return f"{len(things)} {word}{'' if len(things) == 1 else 's'}"


if __name__ == "__main__":
    sys.exit(main())
