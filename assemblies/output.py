"""The output folder: everything that the shop needs for one product, written at once or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import unicodedata
from collections.abc import Iterator, Mapping
from itertools import chain
from pathlib import Path
from typing import Any

from panelwright.plates.errors import OutputError

from ._replace import carry_over, folder_in_waiting, real_folder
from .bom import bom_csv
from .manifest import files_of, manifest_of, manifest_text
from .product import Panel, Product
from .report import report_html
from .sheets.laid import LaidSheets

__all__ = ["MANIFEST", "REPORT", "check_out", "write_product"]

MANIFEST = "manifest.json"
"""The file that tells which files of a folder are ours."""

REPORT = "report.html"
"""The page that shows all of it."""

RESERVED = frozenset({"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))})
"""File names that mean devices on Windows."""


def check_out(out: str | Path) -> None:
    """Raise `OutputError` now if `write_product` would refuse the folder: cheap, before the long work.

    Refused are: a file, a folder without write permission, and a folder with something in it but no manifest of ours,
    since it may hold somebody's work.
    """
    _listed(real_folder(Path(out)), Path(out))


def write_product(
    product: Product,
    out: str | Path,
    *,
    file: str | None = None,
    parameters: Mapping[str, Any] | None = None,
    sheets: LaidSheets | None = None,
) -> list[Path]:
    """Write a product to a folder and return the files written, sorted, the manifest among them.

    `file` is the name of the design file and `parameters` what it ran with, for the manifest; `sheets` are its panels laid out
    on sheets, if they are.  Missing parents are
    created.  A folder that an earlier build wrote is replaced as a whole; files in it that its manifest does not list
    are carried over.  Through a symbolic link the folder that it leads to is replaced.

    The bytes depend on the arguments, the versions in the manifest and SOURCE_DATE_EPOCH only.  Findings do not stop
    the writing: ask `product.errors` before.

    Raises `OutputError` if the folder is refused (see `check_out`) or the file system fails, and `KernelError` if the
    STEP cannot be made.  On any failure or interrupt the old folder is untouched and nothing else is left behind.
    """
    out = Path(out)
    target = real_folder(out)
    _listed(target, out)
    _check_names(product.panels)

    def finish(fresh: Path) -> None:
        # Read again: another build may have written the folder meanwhile.
        listed = _listed(target, out)
        if target.is_dir():
            carry_over(target, fresh, listed)

    with folder_in_waiting(target, finish) as fresh:
        written = _write_files(product, fresh, sheets)
        # the report tells what the manifest tells, all but checksums
        told = manifest_of(product, {}, file=file, parameters=parameters, sheets=sheets)
        (fresh / REPORT).write_bytes(report_html(product, told))
        digests = {path: hashlib.sha256((fresh / path).read_bytes()).hexdigest() for path in sorted([*written, REPORT])}
        manifest = manifest_of(product, digests, file=file, parameters=parameters, sheets=sheets)
        # A lone surrogate, from a name that is not UTF-8, becomes an escape that JSON knows too.
        (fresh / MANIFEST).write_bytes(manifest_text(manifest).encode("utf-8", "backslashreplace"))
    return sorted(out / path for path in (*digests, MANIFEST))


def _write_files(product: Product, folder: Path, sheets: LaidSheets | None) -> list[str]:
    """Write everything but the report and the manifest; returns the paths relative to the folder, with "/"."""
    from panelwright.plates._kernel.step import write_step

    write_step(folder / "assembly.step", product.name, product.shown)
    (folder / "bom.csv").write_bytes(bom_csv(product, sheets.plan.sheets if sheets else ()).encode("utf-8", "backslashreplace"))
    written = ["assembly.step", "bom.csv"]
    for path, data in chain(_panel_files(product), sheets.files() if sheets else ()):
        place = folder / path
        place.parent.mkdir(exist_ok=True)
        place.write_bytes(data)
        written.append(path)
    return written


def _panel_files(product: Product) -> Iterator[tuple[str, bytes]]:
    from .dxf import panel_dxf
    from .svg import panel_svg

    for panel in product.panels:
        yield f"panels/{panel.name}.dxf", panel_dxf(panel)
        yield f"panels/{panel.name}.svg", panel_svg(panel)


def _listed(target: Path, out: Path) -> frozenset[str]:
    """The files of an existing folder that are ours; empty for a missing or empty folder."""
    files = None
    for _ in range(5):  # another build may exchange the folder between two of these questions
        with contextlib.suppress(OSError, UnicodeDecodeError):
            if not target.is_dir() or not any(target.iterdir()):
                return frozenset()
            files = files_of((target / MANIFEST).read_text(encoding="utf-8"))
            break
    if files is None:
        raise OutputError(
            f"output folder {str(out)!r} holds files but no {MANIFEST} of an earlier build; "
            "give a new or empty folder, or remove it yourself",
            value=str(out),
        )
    return files | {MANIFEST}


def _check_names(panels: tuple[Panel, ...]) -> None:
    """Refuse panel names that are no plain file name everywhere, or that some file systems take for each other."""
    taken: dict[str, str] = {}
    for panel in panels:
        name = panel.name
        control = any(unicodedata.category(char) in ("Cc", "Cs") for char in name)
        if (
            not name.strip(". ")
            or name != name.strip(" ")
            or name.startswith(".")
            or name.endswith(".")
            or control
            or set(name) & set('/\\:*?"<>|')
            or name.casefold().partition(".")[0] in RESERVED
            or len(name.encode("utf-8", "replace")) > 200
        ):
            raise OutputError(f"panel {name!r} cannot name a file; rename the plate", plates=(name,), value=name)
        same = unicodedata.normalize("NFC", name).casefold()
        if same in taken:
            raise OutputError(
                f"panels {taken[same]!r} and {name!r} would be one file on some systems; rename one plate",
                plates=(taken[same], name),
                value=name,
            )
        taken[same] = name
