"""What a run came to: its exit code, and its result or its failure in words and as JSON."""

from __future__ import annotations

import re
import shlex
import traceback
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from panelwright.assemblies.data.verdict import at_least, counted, folded, verdict
from panelwright.assemblies.product.cautions import caution_for
from panelwright.assemblies.product.json_documents import document_text

from .result_document import result_document
from .shared_options import Chosen
from .shown import Table

if TYPE_CHECKING:
    from panelwright.assemblies.data.findings import Finding
    from panelwright.assemblies.data.product import Product
    from panelwright.assemblies.sheets.laid import LaidSheets
    from panelwright.assemblies.variation.fit_over_sheet import FitOverSheet

__all__ = [
    "DEBIAN_PACKAGES",
    "FAILED",
    "FINE",
    "FOUND_ERRORS",
    "INTERRUPTED",
    "Outcome",
    "after_picture",
    "failure",
    "next_step",
]

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


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a run came to, before it is put into words.

    `told` is what a command has to say beside that; None if it is the product that is to be told.  `text` comes out as it is.
    `then` is what to do next, told before the verdict.
    """

    code: int = FINE
    out: str | None = None
    product: Product | None = None
    builds: bool = False
    sheets: LaidSheets | None = None
    booked: str = ""
    error: BaseException | None = None
    message: str = ""
    text: str | None = None
    told: tuple[str | Table, ...] | None = None
    then: str = ""
    fits: FitOverSheet | None = None
    lists_joints: bool = False

    @classmethod
    def of(cls, found: dict[str, Any], told: Sequence[str | Table], *, as_json: bool, code: int = FINE) -> Outcome:
        """An outcome that says `found` if JSON is asked for, else `told`."""
        if as_json:
            return cls(code, text=document_text(found))
        return cls(code, told=tuple(told))

    @property
    def is_failure(self) -> bool:
        """Whether there is only a message to tell."""
        return self.product is None and self.told is None and self.text is None

    def words(self) -> tuple[str | Table, ...]:
        """What people are told; in the case of a failure, its message."""
        if self.told is not None:
            return self.told
        if self.product is None:
            return (f"panelwright: {self.message}",)
        return tuple(_of_product(self, self.product))

    def json(self) -> dict[str, Any]:
        """The object that `--json` prints."""
        return result_document(
            self.product,
            is_fine=self.code == FINE,
            out=self.out,
            sheets=self.sheets,
            booked=self.booked,
            error=self.error,
            message=self.message,
            fits=self.fits,
        )


def _of_product(outcome: Outcome, product: Product) -> list[str | Table]:
    from panelwright.assemblies.product.joint_words import found_joints, joint_rows
    from panelwright.assemblies.product.json_entries import stock_name

    rows = [("panel", "stock", "pieces", "size (mm)")]
    for panel in product.panels:
        width, height = panel.bbox_mm
        size = f"{width:.2f} × {height:.2f} × {panel.stock.t:g}"
        rows.append((panel.name, stock_name(panel.stock), str(panel.quantity), size))
    plates, joints = counted(len(product.parts), "plate"), counted(len(product.joints), "joint")
    lines: list[str | Table] = [f"{product.name}: {plates}, {joints}", "", Table(rows, right=(2,), has_head=True)]
    found = found_joints(product)
    lines += ["", *found] if found else []
    if outcome.lists_joints and product.joints:
        lines += ["", Table(joint_rows(product), right=(5,), has_head=True)]
    lines += [] if outcome.fits is None else ["", *_of_fits(outcome.fits)]
    lines += ["", *folded(product.findings)] if product.findings else []
    if outcome.sheets is not None:
        lines += ["", *outcome.sheets.words(), ""]
    if outcome.out is not None:
        lines.append(f"written to {outcome.out}")
        lines += [outcome.booked] * bool(outcome.booked)
        lines.append(caution_for(panel.stock for panel in product.panels))
    elif outcome.code == FOUND_ERRORS and outcome.builds:
        lines.append("nothing written: mend the errors first")
    lines += [""] * (not product.findings and outcome.out is None)
    return [*lines, *[outcome.then] * bool(outcome.then), verdict(product.findings)]


def next_step(chosen: Chosen, product: Product, *, has_sheets: bool = False) -> str:
    """What to do after `check`, `build` or `booklet`, in one line: commands to be copied, with the settings of this run.

    >>> from panelwright.assemblies.data.product import Product
    >>> tray = Product("tray", (), (), (), (), ())
    >>> next_step(Chosen(command="check", design="my tray.py", settings=("width=300",), shop=None), tray)
    "next: panelwright build 'my tray.py' --out out --set width=300 writes what the machine cuts"
    """
    call = partial(_call, chosen)
    stops = at_least(product.findings, getattr(chosen, "level", "error"))
    if stops:
        return f"next: panelwright explain {stops[0].code} tells what mends it, {call('preview', '--open')} shows where"
    if chosen.command == "check":
        return f"next: {call('build', '--out', 'out')} writes what the machine cuts"
    out = shlex.quote(chosen.out)
    if chosen.command == "booklet":
        return f"next: print {out} at 100 %, and measure its two bars of 100 mm"
    cut = f"what lies in {out}/{'sheets' if has_sheets else 'panels'}"
    if any(finding.code == "UNCALIBRATED" for finding in product.findings):
        return f"next: open {out}/report.html to look at it; measure the sheet, as UNCALIBRATED tells, before you cut {cut}"
    return f"next: open {out}/report.html to look at it; try one joint on scrap, then cut {cut}"


def after_picture(chosen: Chosen, failures: Sequence[Finding]) -> str:
    """What to do after `picture`, which proves nothing, in one line.

    >>> after_picture(Chosen(command="picture", design="tray.py", settings=(), shop=None), ())
    'next: panelwright check tray.py proves it; a picture proves nothing'
    """
    if failures:
        explain = f"panelwright explain {failures[0].code}"
        return f"next: {explain} tells what mends it, {_call(chosen, 'check')} lists all that is wrong"
    return f"next: {_call(chosen, 'check')} proves it; a picture proves nothing"


def _call(chosen: Chosen, command: str, *options: str) -> str:
    """A command for the same design with the settings of this run, to be copied."""
    settings = ("--set", *chosen.settings) if chosen.settings else ()
    shop = () if chosen.shop is None else ("--shop", chosen.shop)
    return shlex.join(("panelwright", command, chosen.design, *options, *shop, *settings))


def _of_fits(fits: FitOverSheet) -> list[str | Table]:
    from panelwright.assemblies.variation.fit_words import fit_table, fit_words

    before, after = fit_words(fits)
    lines: list[str | Table] = [*before, ""]
    if fits.rows:
        rows = fit_table(fits)
        lines += [Table(rows, right=tuple(range(3, len(rows[0]))), has_head=True), ""]
    return [*lines, *after]


def failure(error: BaseException, arguments: Sequence[str]) -> Outcome:
    """An exception in words: its own if it is ours, the lines of the design if it is not."""
    library = _missing_library(error)
    if library:
        message = library
    elif isinstance(error, click.ClickException):
        message = _wrong_use(error)
    elif _is_ours(error):
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
    return Outcome(FAILED, error=error, message=message)


def _wrong_use(error: click.ClickException) -> str:
    """What Click says of a command line, and how the command is used."""
    context = getattr(error, "ctx", None)
    return error.format_message() + ("" if context is None else f"\n{context.get_usage()}")


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
