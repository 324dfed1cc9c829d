"""The family's folder: ours or refused, one run at a time in it, and what belongs where."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Generator
from pathlib import Path

from panelwright.assemblies.writing.locks import hold
from panelwright.assemblies.writing.replace_folder import describe_os_error, real_folder
from panelwright.plates.errors import OutputError

from .one_variant import PICTURES, VARIANTS

__all__ = ["CSV", "JSON", "PAGE", "PANELS", "held_folder", "left_over", "records_file", "spool_file"]

CSV, PANELS, JSON, PAGE = "family.csv", "panels.csv", "family.json", "family.html"
"""The files that tell of all variants."""

STATE = ".family"
"""A folder in it for what later runs need: rows, and the lock."""


def records_file(out: Path) -> Path:
    """Where the rows are kept."""
    return out / STATE / "rows.jsonl"


def spool_file(out: Path) -> Path:
    """Where the variants of the run stand, as the table was read."""
    return out / STATE / "variants.jsonl"


@contextlib.contextmanager
def held_folder(out: str | Path) -> Generator[Path]:
    """The folder, made if it is missing, with no other family written into it during the block.

    Raises `OutputError` for a folder that holds anything but a family, where another family is at work, and if the file system
    refuses.
    """
    folder = real_folder(Path(out))
    try:
        if folder.is_dir() and any(folder.iterdir()) and not (folder / STATE).is_dir():
            raise OutputError(
                f"output folder {str(out)!r} holds files but no family; give a new or empty folder, or remove it yourself",
                value=str(out),
            )
        (folder / STATE).mkdir(parents=True, exist_ok=True)
        lock = folder / STATE / "lock"
        lock.touch()
        try:
            handle = hold(lock)
        except FileExistsError:
            raise OutputError(
                f"another family is being written to {str(out)!r}; wait for it, or give another folder", value=str(out)
            ) from None
        for name in (VARIANTS, PICTURES):
            (folder / name).mkdir(exist_ok=True)
    except OSError as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(
            f"output folder {str(out)!r} could not be written: {describe_os_error(error)}", value=str(out)
        ) from error
    try:
        yield folder
    finally:
        for name in (VARIANTS, PICTURES):
            with contextlib.suppress(OSError):
                (folder / name).rmdir()  # an empty one tells nothing
        if handle is not None:
            os.close(handle)


def left_over(out: Path, written: set[str]) -> list[str]:
    """Names of output folders of variants that an earlier run wrote and this one did not, sorted."""
    try:
        found = [entry.name for entry in (out / VARIANTS).iterdir() if entry.is_dir() and not entry.name.startswith(".")]
    except OSError:
        return []
    return sorted(set(found) - written)
