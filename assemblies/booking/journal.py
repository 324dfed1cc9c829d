"""Output folder and shop file changed together: sheets that are written are booked, and what is booked is written.

Both are made ready under their hidden names first.  Then a journal beside the shop file says what is about to happen, the
folder takes its place, the shop file takes its own, and the journal goes.  Whatever fails in between undoes the folder.  A run
that is killed in between leaves the journal, and the next one that lays out sheets finishes the booking if the folder was
written, or forgets it if it wasn't.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Callable, Generator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from panelwright.assemblies.output.folder import MANIFEST, put_right
from panelwright.assemblies.shop.edit import edit_in_waiting, edit_shop_locked, shop_folder
from panelwright.assemblies.shop.shop_file import Shop
from panelwright.assemblies.writing.locks import one_at_a_time
from panelwright.assemblies.writing.recover import clear_files
from panelwright.assemblies.writing.replace_file import write_file
from panelwright.plates.errors import PanelwrightError, ShopError

from .booking import Booking
from .identity import Job

__all__ = ["BookedAlong", "settle"]


@dataclass(frozen=True, slots=True)
class BookedAlong:
    """A booking that is made with the exchange of the output folder (see `_replace.Along`); its job must be named."""

    booking: Booking
    shop_file: Path
    again: bool = False

    @property
    def folder(self) -> Path:
        """Where the shop file lies."""
        return shop_folder(self.shop_file)

    @contextlib.contextmanager
    def prepared(self, fresh: Path, target: Path) -> Generator[Callable[[], None]]:
        """Make the edit ready and write the journal; gives what puts the shop file in place."""
        job, journal = self.booking.job, _journal(self.shop_file)
        assert job is not None
        if journal.exists():
            raise ShopError(
                f"another run was killed while it brought {str(self.shop_file)!r} up to date; run this again, which settles "
                "that first",
                value=str(self.shop_file),
            )
        change = self.booking.change(self.shop_file.name, again=self.again)
        with edit_in_waiting(self.shop_file, change) as (shop, put_in_place):
            entry = {
                "out": str(target),
                "manifest": _digest(fresh / MANIFEST),
                "job": {"id": job.id, "what": job.what, "times": shop.booked[job.id].times},
                "used": [[*kind, count] for kind, count in sorted(self.booking.used.items())],
                "kept": [list(one) for one in self.booking.kept],
            }
            write_file(journal, json.dumps(entry, ensure_ascii=False, indent=1).encode("utf-8", "backslashreplace"))
            try:
                yield put_in_place
            finally:
                journal.unlink(missing_ok=True)


def settle(shop_file: Path) -> tuple[str, ...]:
    """Finish or forget what a run that was killed was about to book in a shop file; gives words on what was done."""
    journal = _journal(shop_file)
    for file in (shop_file.resolve(), journal):
        clear_files(file)
    if not journal.exists():
        return ()
    folders = [path for path in (shop_folder(shop_file), Path(_read(journal)["out"]).parent) if path.is_dir()]
    with one_at_a_time(*folders):
        if not journal.exists():  # another run was faster
            return ()
        said = _settled(shop_file, _read(journal))
        journal.unlink(missing_ok=True)
    return tuple(said)


def _settled(shop_file: Path, entry: dict[str, Any]) -> list[str]:
    out = Path(entry["out"])
    booking = Booking(
        {(stock, (place[0], place[1]), (size[0], size[1])): count for stock, place, size, count in entry["used"]},
        tuple((stock, width, height) for stock, width, height in entry["kept"]),
        Job(entry["job"]["id"], entry["job"]["what"]),
    )
    said = list(put_right(out))
    run = f"a run that wrote {str(out)!r} was killed before {str(shop_file)!r} was up to date"
    before = Shop.read(shop_file).booked.get(entry["job"]["id"]) if shop_file.exists() else None
    if before is not None and before.times >= entry["job"]["times"]:
        return said
    if _digest(out / MANIFEST) != entry["manifest"]:
        return [*said, f"a run was killed before {str(out)!r} was written, so nothing is booked for it"]
    try:
        edit_shop_locked(shop_file, booking.change(shop_file.name, again=True))
    except PanelwrightError as error:
        return [*said, f"{run}, and that cannot be made up for: {error}; take off yourself what the folder's bom.csv lists"]
    return [*said, f"{run}; now it is: {booking}"]


def _journal(shop_file: Path) -> Path:
    real = shop_file.resolve()
    return real.with_name(f".{real.name}.booking")


def _read(journal: Path) -> dict[str, Any]:
    try:
        return dict(json.loads(journal.read_text(encoding="utf-8")))
    except (OSError, ValueError) as error:
        raise ShopError(f"{str(journal)!r}, the note of an unfinished booking, cannot be read: {error}; remove it") from error


def _digest(file: Path) -> str:
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except OSError:
        return ""
