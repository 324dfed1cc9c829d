"""Writing files of the shop: whole or not at all, comments kept, and nobody else's edit lost.

An edit reads the file, changes it and puts the new text in its place in one rename, under a lock that all edits by this
toolkit in the same folder take.  An editor knows nothing of the lock, so the file is compared once more right before the
rename; between the two lies a moment of microseconds in which a save by another program would be lost.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any, BinaryIO

from panelwright.plates.errors import OutputError, ShopError

from .._replace import describe_os_error, one_at_a_time
from .shop_file import Shop, parsed

__all__ = ["edit_shop", "write_file"]

HEAD = "# The shop: stocks as measured, and the machine.  Lengths in mm, speeds in mm/s.\n"
"""What a shop file begins with that the toolkit creates."""


def edit_shop(path: str | Path, change: Callable[[Any], None]) -> Shop:
    """Change a shop file and return the shop that it now describes; a missing file is created.

    `change` gets the file as a `tomlkit` document and changes it in place.  Comments, order and line ends stay.  If `change`
    raises, or what comes out is no valid shop file, the file is left as it was.

    Raises `ShopError` if the file is wrong before or after, or was changed by somebody else meanwhile, and `OutputError` if
    the file system refuses.
    """
    import tomlkit

    given = Path(path)
    target = given.resolve()
    if not target.parent.is_dir():
        raise OutputError(f"there is no folder {str(given.parent)!r} to write {given.name!r} in; create it", value=str(path))
    with one_at_a_time(target.parent):
        before = _bytes(target)
        text = HEAD if before is None else _text(before, given)
        Shop.from_text(text, given.name)
        doc = tomlkit.parse(text.replace("\r\n", "\n"))
        change(doc)
        changed = tomlkit.dumps(doc)
        if parsed(changed, given.name) != doc.unwrap():
            raise ShopError(
                f"{str(given)!r} is written in a way that cannot be edited without harm; nothing was written, so enter the "
                "values yourself",
                value=str(given),
            )
        shop = Shop.from_text(changed, given.name)
        if "\r\n" in text:
            changed = changed.replace("\n", "\r\n")
        mark = b"\xef\xbb\xbf" if before is not None and before.startswith(b"\xef\xbb\xbf") else b""

        def unchanged() -> None:
            if _bytes(target) != before:
                raise ShopError(
                    f"{str(given)!r} was changed by another program meanwhile; nothing was written, so run this again",
                    value=str(given),
                )

        write_file(target, mark + changed.encode("utf-8"), just_before=unchanged)
    return shop


def write_file(target: Path, data: bytes, *, just_before: Callable[[], None] | None = None) -> None:
    """Write a file whole or not at all: into a new one beside it, which then takes its place and its permissions.

    `just_before` is called right before that and may still raise.  Raises `OutputError` if the file system refuses; then,
    and after any interrupt, what was there before is untouched.
    """
    fresh: Path | None = None
    try:
        with _new_sibling(target) as file:
            fresh = Path(file.name)
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, fresh)
        if just_before is not None:
            just_before()
        os.replace(fresh, target)
    except BaseException as error:
        if fresh is not None:
            with contextlib.suppress(OSError):
                fresh.unlink()
        if isinstance(error, OSError) and not isinstance(error, OutputError):
            raise OutputError(
                f"{str(target)!r} could not be written: {describe_os_error(error)}; what was there before is untouched",
                value=str(target),
            ) from error
        raise


def _new_sibling(target: Path) -> BinaryIO:
    """A new file beside another one, open for writing."""
    for number in range(1000):
        with contextlib.suppress(FileExistsError):
            return target.with_name(f".{target.name[:100]}.new-{os.getpid()}-{number}").open("xb")
    raise OutputError(f"too many left-over files beside {str(target)!r}; remove those named '.{target.name}.*'")


def _bytes(target: Path) -> bytes | None:
    """What a file holds, None if there is none."""
    try:
        return target.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise ShopError(
            f"shop file {str(target)!r} cannot be read: {error.strerror or error}", value=str(target)
        ) from error


def _text(data: bytes, path: Path) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ShopError(f"shop file {str(path)!r} is not UTF-8; save it as UTF-8", value=str(path)) from error
