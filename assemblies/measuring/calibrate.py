"""From a cut coupon to numbers: what caliper and hand say becomes thickness, kerf and fits, each with its uncertainty.

Every ± here is one within which the truth lies at least 95 times in 100.  It joins, as the root of the sum of squares, the
caliper's limit of error and what repeated readings tell: Student's t times their standard deviation, over √m for a mean of m
readings, times √(1 + 1/m) for the thickness, since a joint meets one place of the sheet and not the mean of all.
A fit adds half a step of the comb.  One reading alone tells nothing of the spread; then only the caliper counts.

Not covered: a beam whose kerf differs along x and y, or over the bed; a sheet that differs from the one measured.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from panelwright.assemblies.shop.shelf import Shelf
from panelwright.assemblies.shop.shop_file import Shop
from panelwright.plates._validate import positive
from panelwright.plates.errors import ShopError, SizeError
from panelwright.plates.materials.believed_thickness import require_believed
from panelwright.plates.materials.stock import FITS, FitName, Stock
from panelwright.plates.tolerances import ROUNDING

from .coupon import GAUGE, STEP, STRIP_WIDTH, STRIPS

__all__ = ["CALIPER", "Calibration", "Measured", "Readings", "calibrate", "kerf_of_strips", "record"]

CALIPER = 0.02
"""Limit of error of a digital caliper in mm: what makers state for lengths up to 100 mm, from memory."""

MOST_KERF = 0.7
"""A kerf above this, mm, means a strip left out of the row (that alone makes 0.8): published CO2 kerfs reach 0.254."""

LIKELY = (-0.5, 0.8)
"""Clearances in mm outside which a slot or tab was misread: a press fit and a loose one lie well within."""

_STUDENT = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262)
"""Student's t, two-sided 95 %, for 1, 2, … degrees of freedom; the last is kept for more, a little on the safe side."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A value in mm, its ± in mm, and how it came about."""

    value: float
    plus_minus: float
    how: str

    def __str__(self) -> str:
        return f"{self.value:.3f} ± {self.plus_minus:.3f} mm ({self.how})"


@dataclass(frozen=True, slots=True)
class Readings:
    """What somebody with a cut coupon and a caliper says.  Lengths in mm.

    - `thickness`: of the sheet, in one place or, better, several.
    - `strips`: all strips side by side, once or several times.
    - `slots`, `tabs`: by fit, the mark of the slot (of the tab) that has it; none, some or all of "press", "snug", "sliding".
    - `cut_mm_s`, `mark_mm_s`: the speeds that were found good, mm/s.
    - `caliper`: the caliper's limit of error.
    """

    thickness: tuple[float, ...] = ()
    strips: tuple[float, ...] = ()
    slots: Mapping[FitName, float] | None = None
    tabs: Mapping[FitName, float] | None = None
    cut_mm_s: float | None = None
    mark_mm_s: float | None = None
    caliper: float = CALIPER


@dataclass(frozen=True, slots=True)
class Calibration:
    """What readings come to: values by their key in the shop file, speeds, and remarks for the person who measured."""

    values: Mapping[str, Measured]
    speeds: Mapping[str, float]
    remarks: tuple[str, ...] = ()


def kerf_of_strips(drawn_total: float, measured_total: float, count: int) -> float:
    """Kerf in mm from strips that were each cut free all round: (drawn total − measured total) / count.

    Published example (snijlab.nl): with a kerf of 0.2, a part drawn 4.0 mm long comes out 3.8 mm long.

    >>> round(kerf_of_strips(4.0, 3.8, 1), 9), round(kerf_of_strips(80.0, 78.1, 10), 9)
    (0.2, 0.19)
    """
    return (drawn_total - measured_total) / count


def calibrate(shelf: Shelf, readings: Readings) -> Calibration:
    """What the readings say of a stock.

    Fits need the thickness and the kerf: from the same readings, or measured before.  Raises `ShopError` for readings that
    cannot be right, each with what to look for, and if there are none.

    >>> from panelwright.plates import Stock
    >>> found = calibrate(Shelf(Stock("birch plywood", 4)), Readings(thickness=(3.9,), strips=(78.1,), slots={"snug": 3.75}))
    >>> for key, value in found.values.items():
    ...     print(key, value)
    measured_mm 3.900 ± 0.021 mm (1 caliper reading)
    kerf_mm 0.190 ± 0.003 mm (10 strips of the coupon, 1 reading)
    snug_mm 0.040 ± 0.034 mm (slot 3.75 of the coupon)
    """
    limit = positive(readings.caliper, "limit of error of the caliper")
    values: dict[str, Measured] = {}
    remarks: list[str] = []
    if readings.thickness:
        values["measured_mm"] = _thickness(shelf.stock, readings.thickness, limit)
        remarks += _thickness_remarks(shelf.stock, readings.thickness)
    if readings.strips:
        values["kerf_mm"] = _kerf(shelf.stock, readings.strips, limit)
        remarks += _strips_remarks(readings.strips, values["kerf_mm"], limit)
    slots, tabs = dict(readings.slots or {}), dict(readings.tabs or {})
    if slots or tabs:
        thickness, kerf = _known(shelf, values)
        by_slot = {fit: _by_slot(shelf.stock, fit, mark, thickness, kerf) for fit, mark in slots.items()}
        by_tab = {fit: _by_tab(shelf.stock, fit, mark, kerf) for fit, mark in tabs.items()}
        _in_order(slots, "slot", looser=1.0)
        _in_order(tabs, "tab", looser=-1.0)
        for fit in FITS:
            if fit in by_slot or fit in by_tab:
                values[f"{fit}_mm"] = by_slot[fit] if fit in by_slot else by_tab[fit]
            if fit in by_slot and fit in by_tab:
                remarks += _disagreement(fit, by_slot[fit], by_tab[fit])
    speeds = {
        key: positive(speed, key, unit="mm/s")
        for key, speed in (("cut_mm_s", readings.cut_mm_s), ("mark_mm_s", readings.mark_mm_s))
        if speed is not None
    }
    if not values and not speeds:
        raise ShopError(
            "there are no readings; give what the caliper and the hand say: --thickness, --strips, --snug, …", value=None
        )
    return Calibration(values, speeds, tuple(remarks))


def record(path: str | Path, name: str, calibration: Calibration) -> Shop:
    """Write a calibration to a stock of a shop file and return the shop.  See `edit_shop` for what is guaranteed.

    A stock that the file lacks is added; it is `based_on` the shipped one of that name.  Raises `ShopError`, with the nearest
    name, if there is neither.
    """
    from panelwright.assemblies.shop.edit import edit_shop

    def change(doc: Any) -> None:
        import tomlkit

        Shop.from_text(tomlkit.dumps(doc), Path(path).name).shelf(name)  # an error here names the nearest stock
        if "stocks" not in doc:
            doc["stocks"] = tomlkit.table(is_super_table=True)
        if name not in doc["stocks"]:
            doc["stocks"][name] = tomlkit.table()
            doc["stocks"][name]["based_on"] = name
        entry = doc["stocks"][name]
        for key, measured in calibration.values.items():
            entry[key] = measured.value
        for key, speed in calibration.speeds.items():
            entry[key] = speed
        for part in ("uncertainty", "sources"):
            if calibration.values and part not in entry:
                # a stock written in one line, or as dotted keys here and there, has no place for a table of its own
                is_table = isinstance(entry, tomlkit.items.Table)
                entry[part] = tomlkit.table() if is_table else tomlkit.inline_table()
            for key, measured in calibration.values.items():
                entry[part][key] = measured.plus_minus if part == "uncertainty" else measured.how

    return edit_shop(path, change)


def _thickness(stock: Stock, readings: Sequence[float], limit: float) -> Measured:
    for reading in readings:
        what = f"thickness reading of {_called(stock)}"
        positive(reading, what)
        try:
            require_believed(reading, stock.thickness, what)
        except SizeError as error:
            doubt = f"{error}; is it this stock, and are the readings in mm?"
            raise ShopError(doubt, value=reading, limit=error.limit) from error
    count = len(readings)
    mean, spread = _mean_and_spread(readings)
    return _rounded(mean, math.hypot(limit, spread * math.sqrt(1 + 1 / count)), _counted(count, "caliper reading"))


def _thickness_remarks(stock: Stock, readings: Sequence[float]) -> list[str]:
    remarks: list[str] = []
    if len(readings) == 1:
        remarks.append("one reading of the thickness says nothing of how it varies over the sheet; take five, spread out")
    if stock.tolerance is not None:
        low, high = (stock.thickness + value for value in stock.tolerance)
        off = [reading for reading in readings if not low - ROUNDING <= reading <= high + ROUNDING]
        if off:
            remarks.append(
                f"{off[0]:g} mm lies outside the {low:g} to {high:g} mm that {_called(stock)} may be by its standard: is it "
                "this stock?"
            )
    return remarks


def _kerf(stock: Stock, readings: Sequence[float], limit: float) -> Measured:
    drawn = STRIPS * STRIP_WIDTH
    mean, spread = _mean_and_spread([positive(reading, "width of the strips") for reading in readings])
    off = math.hypot(limit, spread / math.sqrt(len(readings)))
    kerf = kerf_of_strips(drawn, mean, STRIPS)
    for reading in readings:
        one = kerf_of_strips(drawn, reading, STRIPS)
        if one > MOST_KERF:
            raise ShopError(
                f"strips of {reading:g} mm together would mean a kerf of {one:.2f} mm; are all {STRIPS} of them in the row, "
                f"drawn {drawn:g} mm together?",
                value=reading,
                limit=drawn - STRIPS * MOST_KERF,
            )
    if kerf < -off / STRIPS:
        raise ShopError(
            f"strips of {mean:g} mm together are more than the {drawn:g} mm drawn; press them together without gaps, knock off "
            "burrs, and see that the coupon was not scaled",
            value=mean,
            limit=drawn,
        )
    how = f"{STRIPS} strips of the coupon, {_counted(len(readings), 'reading')}"
    return _rounded(max(0.0, kerf), off / STRIPS, how)


def _strips_remarks(readings: Sequence[float], kerf: Measured, limit: float) -> list[str]:
    """Why more readings of the strips made the kerf less sure than one alone would have."""
    alone = _rounded(0.0, limit / STRIPS, "").plus_minus
    if kerf.plus_minus <= alone:
        return []
    return [
        f"the kerf is ±{kerf.plus_minus:.3f} mm, more than the ±{alone:.3f} mm of one reading alone, since the readings of the "
        f"strips lie {max(readings) - min(readings):.2f} mm apart, which one reading cannot tell: push the strips together "
        "again and take more readings, five or so"
    ]


def _known(shelf: Shelf, values: Mapping[str, Measured]) -> tuple[Measured, Measured]:
    """Thickness and kerf as measured now, or before."""
    stock = shelf.stock
    thickness, kerf = values.get("measured_mm"), values.get("kerf_mm")
    if thickness is None and stock.measured is not None:
        thickness = Measured(stock.measured, shelf.uncertainty.get("measured_mm", CALIPER), "as before")
    if kerf is None and stock.is_calibrated:
        kerf = Measured(stock.kerf, shelf.uncertainty.get("kerf_mm", CALIPER / STRIPS), "as before")
    missing = [word for word, value in (("--thickness", thickness), ("--strips", kerf)) if value is None]
    if thickness is None or kerf is None:
        raise ShopError(
            f"a fit of {_called(stock)} can only be told from its thickness and kerf as measured; give "
            f"{' and '.join(missing)} too",
            value=stock.name,
        )
    return thickness, kerf


def _by_slot(stock: Stock, fit: FitName, mark: float, thickness: Measured, kerf: Measured) -> Measured:
    _on_the_comb(stock, "slot", fit, mark, mark + kerf.value - thickness.value)
    off = math.hypot(STEP / 2, kerf.plus_minus, thickness.plus_minus)
    return _rounded(mark + kerf.value - thickness.value, off, f"slot {mark:.2f} of the coupon")


def _by_tab(stock: Stock, fit: FitName, mark: float, kerf: Measured) -> Measured:
    clearance = GAUGE - mark + 2 * kerf.value
    _on_the_comb(stock, "tab", fit, mark, clearance)
    return _rounded(clearance, math.hypot(STEP / 2, 2 * kerf.plus_minus), f"tab {mark:.2f} of the coupon")


def _on_the_comb(stock: Stock, what: str, fit: FitName, mark: float, clearance: float) -> None:
    positive(mark, f"mark of a {what}")
    if abs(mark / STEP - round(mark / STEP)) > 1e-6:
        raise ShopError(
            f"no {what} of a coupon is marked {mark:g}; give the mark beside the one that fits, a multiple of {STEP:g}",
            value=mark,
            limit=STEP,
        )
    if not LIKELY[0] <= clearance <= LIKELY[1]:
        raise ShopError(
            f"{what} {mark:g} as the {fit} fit of {_called(stock)} would mean a clearance of {clearance:.2f} mm; is it the "
            "mark of this stock's coupon?",
            value=mark,
            limit=LIKELY,
        )


def _in_order(marks: Mapping[FitName, float], what: str, *, looser: float) -> None:
    """Raise `ShopError` unless the fits follow from tight to loose; `looser` is -1 where a larger mark is tighter."""
    given = [(fit, marks[fit]) for fit in FITS if fit in marks]
    for (tight, first), (loose, second) in pairwise(given):
        if looser * first > looser * second:
            raise ShopError(
                f"{what} {first:g} as the {tight} fit is looser than {what} {second:g} as the {loose} fit; were they "
                "exchanged?",
                value=first,
                limit=second,
            )


def _disagreement(fit: FitName, by_slot: Measured, by_tab: Measured) -> list[str]:
    apart, limit = abs(by_slot.value - by_tab.value), math.hypot(by_slot.plus_minus, by_tab.plus_minus)
    if apart <= limit:
        return []
    return [
        f"the {fit} fit is {by_slot.value:.3f} mm by the slots and {by_tab.value:.3f} mm by the tabs, {apart:.3f} mm apart "
        f"where at most {limit:.3f} mm was expected; the slots count, but measure strips and thickness again"
    ]


def _mean_and_spread(readings: Sequence[float]) -> tuple[float, float]:
    """Mean, and the 95 % reach of a single reading about it by Student's t; 0 for one reading."""
    count = len(readings)
    mean = math.fsum(readings) / count
    if count == 1:
        return mean, 0.0
    deviation = math.sqrt(math.fsum((reading - mean) ** 2 for reading in readings) / (count - 1))
    return mean, _STUDENT[min(count - 1, len(_STUDENT)) - 1] * deviation


def _rounded(value: float, plus_minus: float, how: str) -> Measured:
    """To a thousandth of a mm, the ± rounded up and half a thousandth wider, so that rounding takes nothing from it."""
    return Measured(round(value, 3) + 0.0, math.ceil((plus_minus + 0.0005) * 1000 - 1e-6) / 1000, how)


def _called(stock: Stock) -> str:
    return repr(stock.name or stock.material)


def _counted(count: int, word: str) -> str:
    return f"{count} {word}{'' if count == 1 else 's'}"
