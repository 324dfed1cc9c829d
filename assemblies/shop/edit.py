"""Writing files of the shop: whole or not at all, comments kept, and nobody else's edit lost.

An edit reads the file, changes it and puts the new text in its place in one rename, under a lock that all edits by this
toolkit in the same folder take.  An editor knows nothing of the lock, so the file is compared once more right before the
rename; between the two lies a moment of microseconds in which a save by another program would be lost.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Generator
from pathlib import Path
from typing import Any

from panelwright.assemblies.writing.locks import one_at_a_time
from panelwright.assemblies.writing.replace_file import file_in_waiting
from panelwright.plates.errors import OutputError, ShopError

from .shop_file import Shop, parsed

__all__ = ["edit_in_waiting", "edit_shop", "edit_shop_locked", "shop_folder"]

HEAD = "# The shop: stocks as measured, and the machine.  Lengths in mm, speeds in mm/s.\n"
"""What a shop file begins with that the toolkit creates."""


def edit_shop(path: str | Path, change: Callable[[Any], None]) -> Shop:
    """Change a shop file and return the shop that it now describes; a missing file is created.

    `change` gets the file as a `tomlkit` document and changes it in place.  Comments, order and line ends stay.  If `change`
    raises, or what comes out is no valid shop file, the file is left as it was.

    Raises `ShopError` if the file is wrong before or after, or was changed by somebody else meanwhile, and `OutputError` if
    the file system refuses.
    """
    with one_at_a_time(shop_folder(path)):
        return edit_shop_locked(path, change)


def edit_shop_locked(path: str | Path, change: Callable[[Any], None]) -> Shop:
    """The same for whoever holds the lock of `shop_folder` already."""
    with edit_in_waiting(path, change) as (shop, put_in_place):
        put_in_place()
    return shop


def shop_folder(path: str | Path) -> Path:
    """The folder that a shop file really lies in, which edits lock.  Raises `OutputError` if there is none."""
    given = Path(path)
    folder = given.resolve().parent
    if not folder.is_dir():
        raise OutputError(f"there is no folder {str(given.parent)!r} to write {given.name!r} in; create it", value=str(path))
    return folder


@contextlib.contextmanager
def edit_in_waiting(path: str | Path, change: Callable[[Any], None]) -> Generator[tuple[Shop, Callable[[], None]]]:
    """An edit made ready but for its last step: gives the shop that it comes to, and what puts the file in place.

    For whoever holds the lock of `shop_folder`.  Without that last step the file stays as it was.  Raises as `edit_shop` does.
    """
    import tomlkit

    given = Path(path)
    target = given.resolve()
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

    with file_in_waiting(target, mark + changed.encode("utf-8")) as put_in_place:
        yield shop, lambda: put_in_place(unchanged)


def _bytes(target: Path) -> bytes | None:
    """What a file holds, None if there is none."""
    try:
        return target.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise ShopError(f"shop file {str(target)!r} cannot be read: {error.strerror or error}", value=str(target)) from error


def _text(data: bytes, path: Path) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ShopError(f"shop file {str(path)!r} is not UTF-8; save it as UTF-8", value=str(path)) from error
