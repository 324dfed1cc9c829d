"""The output folder: everything that the shop needs for one product, written at once or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.product.json_documents import document_text
from panelwright.assemblies.report import report_html
from panelwright.assemblies.sheets.laid import LaidSheets
from panelwright.assemblies.variation.fit_over_sheet import FitOverSheet
from panelwright.assemblies.writing.file_names import file_name_fault
from panelwright.assemblies.writing.recover import recover, recover_locked
from panelwright.assemblies.writing.replace_folder import Along, carry_over, describe_os_error, folder_in_waiting, real_folder
from panelwright.plates.errors import OutputError

from .bom import bom_csv
from .manifest import files_of, manifest_of

__all__ = ["MANIFEST", "REPORT", "check_out", "put_right", "write_folder", "write_product"]

MANIFEST = "manifest.json"
"""The file that tells which files of a folder are ours."""

REPORT = "report.html"
"""The page that shows all of it."""

_LONGEST_NAME = 200
"""Most bytes of a panel's name: with its ending it stays below the 255 that file systems take."""


def check_out(out: str | Path) -> tuple[str, ...]:
    """Raise `OutputError` now if `write_product` would refuse the folder: cheap, before the long work.

    Refused are: a file, a folder without write permission, and a folder with something in it but no manifest of ours,
    since it may hold somebody's work.  What runs that were killed have left there is put right; gives words on it.
    """
    target = real_folder(Path(out))
    said = _recovered(target, Path(out))
    _listed(target, Path(out))
    return said


def write_product(
    product: Product,
    out: str | Path,
    *,
    file: str | None = None,
    parameters: Mapping[str, Any] | None = None,
    sources: Mapping[str, str] | None = None,
    sheets: LaidSheets | None = None,
    fits: FitOverSheet | None = None,
    along: Along | None = None,
) -> list[Path]:
    """Write a product to a folder and return the files written, sorted, the manifest among them.

    `file` is the name of the design file, `parameters` what it ran with and `sources` its checksums, for the manifest; `sheets`
    are its panels laid out on sheets, if they are; `fits` tell how it comes out over real sheet, for the report; `along` is a
    change that is made if and only if the folder is written.  Missing parents are created.  A folder that an earlier build
    wrote is replaced as a whole; files in it that its manifest does not list are carried over.  Through a symbolic link the
    folder that it leads to is replaced.

    The bytes depend on the arguments, the versions in the manifest and SOURCE_DATE_EPOCH only.  Findings do not stop
    the writing: ask `product.errors` before.

    Raises `OutputError` if the folder is refused (see `check_out`) or the file system fails, and `KernelError` if the
    STEP cannot be made.  On any failure or interrupt the old folder is untouched and nothing else is left behind.
    """
    _check_names(product.panels)

    def contents() -> Iterator[tuple[str, bytes]]:
        listed: list[str] = []
        for path, data in _product_files(product, sheets):
            listed.append(path)
            yield path, data
        # the report tells what the manifest tells, all but checksums
        yield REPORT, report_html(product, manifest({}), sheets=sheets, files=listed, fits=fits)

    def manifest(digests: Mapping[str, str]) -> dict[str, Any]:
        return manifest_of(product, digests, file=file, parameters=parameters, sources=sources, sheets=sheets)

    return write_folder(out, contents, manifest, along=along)


def write_folder(
    out: str | Path,
    contents: Callable[[], Iterable[tuple[str, bytes]]],
    manifest: Callable[[Mapping[str, str]], Mapping[str, Any]],
    *,
    along: Along | None = None,
) -> list[Path]:
    """Write files and their manifest to a folder that is ours, all at once; returns the files written, sorted.

    `contents` gives the files as paths in the folder, with "/", and bytes; `manifest` makes the manifest of their SHA-256.
    `along` is a change that is made if and only if the folder is written.  Raises `OutputError` as `write_product` does.
    """
    out = Path(out)
    target = real_folder(out)
    _recovered(target, out)
    _listed(target, out)

    def finish(fresh: Path) -> None:
        # Read again: another build may have written the folder meanwhile.
        listed = _listed(target, out)
        if target.is_dir():
            carry_over(target, fresh, listed)

    with folder_in_waiting(target, finish, along) as fresh:
        digests: dict[str, str] = {}
        for path, data in contents():
            place = fresh / path
            place.parent.mkdir(exist_ok=True)
            place.write_bytes(data)
            digests[path] = hashlib.sha256(data).hexdigest()
        digests = dict(sorted(digests.items()))
        # A lone surrogate, from a name that is not UTF-8, becomes an escape that JSON knows too.
        (fresh / MANIFEST).write_bytes(document_text(manifest(digests)).encode("utf-8", "backslashreplace"))
    return sorted(out / path for path in (*digests, MANIFEST))


def _product_files(product: Product, sheets: LaidSheets | None) -> Iterator[tuple[str, bytes]]:
    """All files but the report and the manifest."""
    from panelwright.plates._kernel.files.step import step_bytes

    yield "assembly.step", step_bytes(product.name, product.shown)
    yield "bom.csv", bom_csv(product, sheets.plan.sheets if sheets else ()).encode("utf-8", "backslashreplace")
    yield from _panel_files(product)
    if sheets is not None:
        yield from sheets.files()


def _panel_files(product: Product) -> Iterator[tuple[str, bytes]]:
    from panelwright.assemblies.files.dxf import panel_dxf
    from panelwright.assemblies.files.svg import panel_svg

    for panel in product.panels:
        yield f"panels/{panel.name}.dxf", panel_dxf(panel)
        yield f"panels/{panel.name}.svg", panel_svg(panel)


def _recovered(target: Path, out: Path) -> tuple[str, ...]:
    """Put right what killed runs have left; words on it."""
    try:
        return recover(target, ours_of)
    except OSError as error:
        raise OutputError(
            f"a run that was killed left parts of {str(out)!r} beside it that cannot be put right: {describe_os_error(error)}",
            value=str(out),
        ) from error


def put_right(target: Path) -> tuple[str, ...]:
    """What `check_out` puts right, for whoever holds the lock of the folder that `target` lies in; words on it."""
    return recover_locked(target, ours_of)


def ours_of(folder: Path) -> frozenset[str] | None:
    """The files of a folder that an earlier run listed, its manifest among them; None if it has no list."""
    try:
        files = files_of((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError):
        return None
    return None if files is None else files | {MANIFEST}


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
        fault = file_name_fault(name)
        if fault or len(name.encode("utf-8", "replace")) > _LONGEST_NAME:
            why = fault or f"is longer than {_LONGEST_NAME} bytes"
            raise OutputError(f"panel {name!r} cannot name a file: it {why}; rename the plate", plates=(name,), value=name)
        same = unicodedata.normalize("NFC", name).casefold()
        if same in taken:
            raise OutputError(
                f"panels {taken[same]!r} and {name!r} would be one file on some systems; rename one plate",
                plates=(taken[same], name),
                value=name,
            )
        taken[same] = name
