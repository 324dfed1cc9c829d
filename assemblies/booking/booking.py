"""Bringing the shop file up to date after cutting: sheets that were used go, offcuts worth keeping come."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from panelwright.assemblies.sheets.plan import SheetPlan
from panelwright.assemblies.shop.edit import edit_shop
from panelwright.assemblies.shop.shop_file import Shop
from panelwright.assemblies.shop.supply import ShelfPlace
from panelwright.plates.errors import ShopError

from .identity import Job

__all__ = ["Booking", "Used", "book", "booking_of", "bookings", "check_new"]

Used = tuple[str, ShelfPlace, tuple[float, float]]
"""A kind of sheet on the shelf: its stock, where the shop file lists it, and its width and height in mm."""

MOST_JOBS: Final = 200
"""Jobs that a shop file remembers: the latest."""


@dataclass(frozen=True, slots=True)
class Booking:
    """What is to be changed in a shop file: numbers of sheets used, offcuts kept as (stock, width, height) in mm, and the job.

    Without a job nobody can tell whether it was booked before.
    """

    used: Mapping[Used, int]
    kept: tuple[tuple[str, float, float], ...]
    job: Job | None = None

    def __str__(self) -> str:
        sheets, offcuts = sum(self.used.values()), len(self.kept)
        return f"{sheets} sheet{'' if sheets == 1 else 's'} taken off, {offcuts} offcut{'' if offcuts == 1 else 's'} put there"

    def change(self, file: str, *, again: bool = False) -> Callable[[Any], None]:
        """What makes the change in a shop file called `file`, for `edit_shop`.

        It raises `ShopError`, and changes nothing, if the file has fewer sheets now than are used, and unless `again`, if it
        has the job already.
        """

        def change(doc: Any) -> None:
            if self.job is not None:
                _note_job(doc, self.job, file, again=again)
            stocks = doc.get("stocks", {})
            for name in sorted({name for name, *_ in self.used}):
                if name not in stocks:
                    raise ShopError(f"{file} has no stock {name!r} any more; nothing was changed", value=name)
                _take(stocks[name], name, {kind: count for kind, count in self.used.items() if kind[0] == name}, file)
                _put(stocks[name], [(width, height) for stock, width, height in self.kept if stock == name])

        return change


def booking_of(plan: SheetPlan, job: Job | None = None) -> Booking:
    """The booking that a plan comes to."""
    used, kept = bookings(plan)
    return Booking(used, tuple(kept), job)


def bookings(plan: SheetPlan) -> tuple[Counter[Used], list[tuple[str, float, float]]]:
    """How many of each kind on the shelf a plan uses, and the offcuts that it leaves as (stock, width, height) in mm.

    Sheets that no shop file lists are not counted, nor is what is left of them.
    """
    used: Counter[Used] = Counter()
    kept: list[tuple[str, float, float]] = []
    for sheet in plan.sheets:
        if sheet.kind.place is not None:
            used[(sheet.stock.name, sheet.kind.place, sheet.size)] += 1
            kept += [(sheet.stock.name, left.width, left.height) for left in sheet.leftovers]
    return used, kept


def book(plan: SheetPlan, path: str | Path, *, job: Job | None = None, again: bool = False) -> Shop:
    """Take the sheets of a plan off the counts of a shop file and put its offcuts there; returns the shop as it is then.

    Sheets of which the file gives no count ("as many as needed") stay as they are.  Comments stay.  A `job` is remembered in
    the file.  Raises `ShopError`, and changes nothing, if the file has fewer sheets now than the plan uses, as after a second
    booking of the same plan, or if it has the job already and it is not wanted `again`.
    """
    return edit_shop(path, booking_of(plan, job).change(Path(path).name, again=again))


def check_new(job: Job, shop: Shop) -> None:
    """Raise `ShopError` if the shop file has a job already."""
    before = shop.booked.get(job.id)
    if before is not None:
        raise _booked_before(job, shop.file, before.times)


def _booked_before(job: Job, file: str, times: int) -> ShopError:
    often = "" if times == 1 else f" {times} times"
    return ShopError(
        f"{job.what}: {file} says that these very parts were cut and booked already{often}, as job {job.id}; give --again if "
        "they are to be cut once more, or leave out --update-shop",
        value=job.id,
        limit=times,
    )


def _note_job(doc: Any, job: Job, file: str, *, again: bool) -> None:
    """Count the job among those that were booked, the latest last."""
    import tomlkit

    if "booked" not in doc:
        doc.add("booked", tomlkit.table())
    jobs = doc["booked"]
    times = int(jobs[job.id]["times"]) if job.id in jobs else 0
    if times and not again:
        raise _booked_before(job, file, times)
    entry = tomlkit.inline_table()
    entry.update({"what": job.what, "times": times + 1})
    if times:
        del jobs[job.id]
    jobs.add(job.id, entry)
    for oldest in list(jobs)[:-MOST_JOBS]:
        del jobs[oldest]


def _take(table: Any, name: str, used: dict[Used, int], file: str) -> None:
    """Lower the counts; an offcut of which none is left is taken off the list."""
    gone: list[int] = []
    for (_, (listing, index), size), count in sorted(used.items()):
        entries = table.get(listing, [])
        entry = entries[index] if index < len(entries) and _size_of(entries[index]) == size else None
        there = 0 if entry is None else entry.get("count", 1 if listing == "offcuts" else None)
        if entry is None or (there is not None and there < count):
            raise ShopError(
                f"{file} has {there} of {size[0]:g} × {size[1]:g} mm as number {index + 1} in {listing} of stock {name!r}, and "
                f"{count} would be used; it was changed or booked since, so nothing was changed",
                value=there,
                limit=count,
            )
        if there is None:
            continue
        if listing == "offcuts" and there == count:
            gone.append(index)
        else:
            entry["count"] = there - count
    for index in sorted(gone, reverse=True):
        del table["offcuts"][index]


def _size_of(entry: Any) -> tuple[float, float]:
    """Width and height of what an entry of either list describes."""
    outline = entry.get("outline_mm")
    if outline is None:
        return (entry["width_mm"], entry["height_mm"])
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return (max(xs) - min(xs), max(ys) - min(ys))


def _put(table: Any, sizes: list[tuple[float, float]]) -> None:
    """Add offcuts, all rectangles, as a list of tables."""
    import tomlkit

    if not sizes:
        return
    if not table.get("offcuts"):
        table.pop("offcuts", None)
        table.add("offcuts", tomlkit.aot())
    for width, height in sizes:
        entry = tomlkit.table()
        outline: list[list[float]] = [[0, 0], [width, 0], [width, height], [0, height]]
        entry.add("outline_mm", [[_short(x), _short(y)] for x, y in outline])
        table["offcuts"].append(entry)


def _short(value: float) -> float | int:
    """A whole number of mm without its point; others to a hundredth, rounded down so that no offcut is said to be larger."""
    hundredths = int(value * 100 + 1e-6)
    return hundredths // 100 if hundredths % 100 == 0 else hundredths / 100
