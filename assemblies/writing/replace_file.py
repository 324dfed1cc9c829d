"""Replacing one file: whole, or not at all."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Callable, Generator
from pathlib import Path
from typing import BinaryIO

from panelwright.plates.errors import OutputError

from .locks import hold
from .recover import clear_files, hidden_name
from .replace_folder import describe_os_error

__all__ = ["file_in_waiting", "write_file"]


def write_file(target: Path, data: bytes, *, just_before: Callable[[], None] | None = None) -> None:
    """Write a file whole or not at all: into a new one beside it, which then takes its place and its permissions.

    `just_before` is called right before that and may still raise.  Raises `OutputError` if the file system refuses; then,
    and after any interrupt, what was there before is untouched.  What killed runs have left beside it goes.
    """
    with file_in_waiting(target, data) as put_in_place:
        put_in_place(just_before)


@contextlib.contextmanager
def file_in_waiting(target: Path, data: bytes) -> Generator[Callable[[Callable[[], None] | None], None]]:
    """The file under another name, on the disk already; gives what puts it in place."""
    with contextlib.ExitStack() as after:
        with _refusals_told(target):
            clear_files(target)
            file, held = _new_sibling(target)
            fresh = Path(file.name)
            after.callback(fresh.unlink, missing_ok=True)
            if held is not None:
                after.callback(os.close, held)
            with file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())

        def put_in_place(just_before: Callable[[], None] | None) -> None:
            with _refusals_told(target):
                if target.exists():
                    shutil.copymode(target, fresh)
                if just_before is not None:
                    just_before()
                os.replace(fresh, target)

        yield put_in_place


@contextlib.contextmanager
def _refusals_told(target: Path) -> Generator[None]:
    """Say in words of our own what the file system refuses."""
    try:
        yield
    except OSError as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(
            f"{str(target)!r} could not be written: {describe_os_error(error)}; what was there before is untouched",
            value=str(target),
        ) from error


def _new_sibling(target: Path) -> tuple[BinaryIO, int | None]:
    """A new file beside another one, open for writing, and the handle that tells other runs that somebody writes it."""
    for number in range(1000):
        with contextlib.suppress(FileExistsError):
            file = target.with_name(hidden_name(target, "new", number)).open("xb")
            try:
                return file, hold(Path(file.name))
            except FileExistsError:
                file.close()
    raise OutputError(f"too many left-over files beside {str(target)!r}; remove those named '.{target.name}.*'")
