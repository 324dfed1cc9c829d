"""Single files that commands write: refused early where they could not be written, put in place whole."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from panelwright.plates.errors import OutputError

from .replace_file import write_file

__all__ = ["check_file", "write_files"]


def check_file(path: str | Path, suffixes: Iterable[str]) -> Path:
    """The path, if a file of one of these kinds can be written there: cheap, before the long work.

    Raises `OutputError` for another kind of file, for a folder, and where there is no right to write.

    >>> check_file("tray.jpg", [".png", ".svg"])
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.OutputError: 'tray.jpg' is no kind of file that is written here; end it in .png or .svg
    """
    target, shown = Path(path), repr(str(path))
    endings = tuple(suffixes)
    if target.suffix.lower() not in endings:
        raise OutputError(
            f"{shown} is no kind of file that is written here; end it in {' or '.join(endings)}",
            value=str(path),
            limit=endings,
        )
    try:
        if target.is_dir():
            raise OutputError(f"{shown} is a folder; give the name of a file", value=str(path))
        parent = next(folder for folder in target.absolute().parents if folder.exists())
    except (OSError, ValueError) as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(f"{shown} leads nowhere: {error}", value=str(path)) from error
    if not parent.is_dir():
        raise OutputError(f"{shown} would lie in a file, {str(parent)!r}; give another place", value=str(path))
    if not os.access(parent, os.W_OK | os.X_OK):
        raise OutputError(f"{shown} cannot be written: no right to write in {str(parent)!r}", value=str(path))
    return target


def write_files(files: Iterable[tuple[Path, bytes]]) -> list[str]:
    """Write files, each whole or not at all, making missing folders; gives their paths in the order written.

    Raises `OutputError` if the file system refuses.
    """
    written: list[str] = []
    for path, data in files:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise OutputError(
                f"folder {str(path.parent)!r} cannot be made: {error.strerror or error}", value=str(path.parent)
            ) from error
        write_file(path, data)
        written.append(str(path))
    return written
