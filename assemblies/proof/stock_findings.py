"""What there is to say of a product's stocks and of the machine that is to cut it.

Which stocks were never measured and what that may do to the fits; which panels the machine's bed cannot take.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Panel, Part
from panelwright.assemblies.data.product import JointRecord
from panelwright.assemblies.nest.shapes.any_angle import best_turn, hull_of, turn_onto
from panelwright.assemblies.shop.sheet_tolerance import FitRange, fit_range
from panelwright.assemblies.shop.shelf import Machine
from panelwright.plates.materials.stock import Stock
from panelwright.plates.materials.vouching import CALIBRATED_BY, STATED

__all__ = ["WIDEST_BEAM", "bed_findings", "stock_findings", "too_large_words"]

LEAST_GAIN: Final = 0.1
"""By how many mm less a panel must be too large at an angle than by quarter turns for that to be told: a message has tenths."""

WIDEST_BEAM = 1.0
"""Kerf in mm above which that of a laser is a slip, as 2.2 for 0.22: common practice, no source."""


def stock_findings(parts: Sequence[Part], joints: Sequence[JointRecord]) -> list[Finding]:
    """One finding for each stock that is uncalibrated, and one for each whose tolerance can spoil a joint.

    `UNCALIBRATED` (note): its thickness or kerf is a published value; or the design states it, and states no measured
    thickness, or no kerf though a beam or a cutter has one, and then all fits are wrong by it (warning); or its kerf is wider
    than any beam of a laser (warning).
    `MEASURE-FIRST` (warning): its thickness is not measured, and over the tolerance of the sheet a joint that it is in jams or
    falls out.
    """
    findings: list[Finding] = []
    for stock in dict.fromkeys(part.stock for part in parts):
        plates = tuple(part.name for part in parts if part.stock == stock)
        if stock.is_stated:
            findings += _unmeasured(stock, plates)
        elif not stock.is_calibrated:
            findings.append(_uncalibrated(stock, plates))
        if stock.cutter == "laser" and stock.kerf > WIDEST_BEAM:
            findings.append(_too_wide(stock, plates))
        clearances = {joint.clearance_mm for joint in joints if not set(plates).isdisjoint(joint.plates)}
        spoiled = [found for c in sorted(clearances) if (found := fit_range(stock, c)) and found.must_measure]
        if spoiled:
            findings.append(_measure_first(stock, plates, spoiled))
    return findings


def bed_findings(panels: Sequence[Panel], machine: Machine) -> list[Finding]:
    """An error `BED` for each panel that the machine's bed does not take: at no angle, or with grain by no quarter turn."""
    if machine.bed_mm is None:
        return []
    wide, narrow = max(machine.bed_mm), min(machine.bed_mm)
    findings: list[Finding] = []
    for panel in panels:
        width, height = panel.bbox_mm
        if max(width, height) <= wide and min(width, height) <= narrow:
            continue
        may_slant = panel.stock.grain is None
        angles = ", at any angle," if may_slant else ""
        if not may_slant or turn_onto(panel.loops, machine.bed_mm) is None:
            findings.append(
                Finding(
                    "error",
                    "BED",
                    panel.plates,
                    f"panel {panel.name!r} is {width:.1f} × {height:.1f} mm and does not go{angles} on the machine's bed of "
                    f"{machine.bed_mm[0]:g} × {machine.bed_mm[1]:g} mm, "
                    f"{too_large_words(panel, machine.bed_mm, may_turn=True, may_slant=may_slant)}",
                    None,
                    {"width_mm": width, "height_mm": height, "bed_width_mm": wide, "bed_height_mm": narrow},
                )
            )
    return findings


def too_large_words(panel: Panel, room: tuple[float, float], *, may_turn: bool, may_slant: bool) -> str:
    """By how much a panel is too large for a room in mm, as it lies best, and what can be done about it.

    `may_turn` allows quarter turns, `may_slant` any angle; where an angle does better than quarter turns, both are told.
    """

    def over(size: tuple[float, float]) -> tuple[float, float]:
        return (max(0.0, size[0] - room[0]), max(0.0, size[1] - room[1]))

    width, height = panel.bbox_mm
    lying = [over((width, height))] + [over((height, width))] * may_turn
    x, y = min(lying, key=lambda one: (one[0] + one[1], max(one)))
    by = " and ".join(f"{value:.1f} mm {way}" for value, way in ((x, "along the first"), (y, "along the second")) if value > 0)
    if may_slant:
        best = best_turn(hull_of(panel.loops), room)
        if -best.room < max(x, y) - LEAST_GAIN:
            by += f", and turned by {best.turn_deg:.2f}° still by {max(LEAST_GAIN, -best.room):.1f} mm"
    turned = "" if may_turn or max(over((height, width))) > 0 else "turned by 90° it would go, which its grain forbids; "
    if panel.bends:  # what bends cannot be parted over an upright
        return (
            f"by {by}; {turned}make it smaller, or two walls of it, each half of the way round, that are both joined to the "
            "same plates"
        )
    return (
        f"by {by}; {turned}make it smaller, or two plates of it that meet over a third one joined to both, such as an upright "
        "(cookbook: wider than the bed)"
    )


def _called(stock: Stock) -> str:
    return repr(stock.name or stock.material)


def _uncalibrated(stock: Stock, plates: tuple[str, ...]) -> Finding:
    known = {key for key, _ in stock.sources}
    thickness = f"{stock.t:g} mm thick as sold" if stock.measured is None else f"{stock.t:g} mm thick as measured"
    kerf = f"a kerf of {stock.kerf:g} mm" if "kerf_mm" in known or stock.kerf > 0 else "a kerf that nobody knows (0 mm)"
    named = f'"{stock.name or stock.material}"'
    stated = [key for key, said in stock.sources if said == STATED and key in CALIBRATED_BY]
    whose = f"; the design states its {' and '.join(stated)} itself: leave that to the shop file, then" if stated else ";"
    return Finding(
        "warning" if _has_no_kerf(stock) else "note",
        "UNCALIBRATED",
        plates,
        f"stock {_called(stock)} is uncalibrated: {thickness}, cut with {kerf}, not both measured on this machine{whose} cut "
        f"the test piece that `panelwright coupon {named}` makes, and run `panelwright calibrate {named}`",
        numbers={"thickness_mm": stock.t, "kerf_mm": float(stock.kerf)},
    )


def _too_wide(stock: Stock, plates: tuple[str, ...]) -> Finding:
    """A kerf that no laser has, which is mostly a decimal point in the wrong place."""
    return Finding(
        "warning",
        "UNCALIBRATED",
        plates,
        f"stock {_called(stock)} has a kerf of {stock.kerf:g} mm, but lasers cut 0.1 to 0.5 mm wide: is {stock.kerf / 10:g} mm "
        'meant? Measure it by `panelwright coupon`; a cutter that is so wide is a router, cutter = "router"',
        numbers={"kerf_mm": float(stock.kerf), "most_mm": WIDEST_BEAM},
    )


def _has_no_kerf(stock: Stock) -> bool:
    """Whether a kerf of 0 mm is reckoned with that cannot be true: only a knife takes nothing away."""
    return stock.kerf == 0 and stock.cutter != "knife"


def _unmeasured(stock: Stock, plates: tuple[str, ...]) -> list[Finding]:
    """What a design leaves out of a stock that it states itself: a knife takes nothing away, all else has a kerf."""
    faults, mends = [], []
    if stock.measured is None:
        faults.append(f"{stock.t:g} mm is what it is sold as, and no measured thickness is stated")
        mends.append("measured=")
    if _has_no_kerf(stock):
        faults.append(f"its kerf is 0 mm, which no {stock.cutter} has, so parts come out smaller and slots wider")
        mends.append("kerf=")
    if not faults:
        return []
    return [
        Finding(
            "warning" if _has_no_kerf(stock) else "note",
            "UNCALIBRATED",
            plates,
            f"stock {_called(stock)}, stated in the design, is uncalibrated: {', and '.join(faults)}; state "
            f"{' and '.join(mends)} as measured, or name a stock of a shop file that `panelwright calibrate` has filled",
            numbers={"thickness_mm": stock.t, "kerf_mm": float(stock.kerf)},
        )
    ]


def _measure_first(stock: Stock, plates: tuple[str, ...], spoiled: Sequence[FitRange]) -> Finding:
    worst = max(spoiled, key=lambda found: max(found.press - found.tightest, found.loosest - found.sliding))
    return Finding(
        "warning",
        "MEASURE-FIRST",
        plates,
        f"stock {_called(stock)} is not measured: sheets sold as {stock.thickness:g} mm are {worst}",
        numbers={
            "thinnest_mm": worst.thinnest,
            "thickest_mm": worst.thickest,
            "tightest_mm": worst.tightest,
            "loosest_mm": worst.loosest,
        },
    )
