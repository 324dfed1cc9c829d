"""How thick a sheet may be by standard, and what that does to a fit.

A slot is drawn for one thickness, but the sheet that comes may be another.  Over a standard's tolerance a clearance of
0.05 mm in plywood ranges from a jam to parts that fall out, which is why the caliper comes first.
"""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.plates._validate import positive
from panelwright.plates.errors import SizeError
from panelwright.plates.materials.stock import FitName, Stock
from panelwright.plates.tolerances import ROUNDING

__all__ = ["COMMON_FITS", "STANDARDS", "FitRange", "fit_range", "thickness_tolerance"]

COMMON_FITS: dict[FitName, float] = {"press": -0.05, "snug": 0.05, "sliding": 0.20}
"""Clearances in mm where a stock states none: common practice in wood, no source."""

STANDARDS: dict[str, str] = {
    "EN 315": "plyterra.com size-and-koinos (EN 315-style, sanded)",
    "ISO 7823-1": "plexiglas.net FAQ tolerances; allaboutacrylic.vercel.app",
    "ISO 7823-2": "plexiglas.net FAQ tolerances",
    "EN 622": "Dongwha spec rev 12 (scribd 675071407), HDF/MDF thin; that it is EN 622's: from memory",
}
"""Standards whose thickness tolerance is known, and where from: sanded plywood, cast acrylic, extruded acrylic, thin MDF."""

_PLYWOOD: tuple[tuple[float, float, float], ...] = ((4, -0.5, 0.3), (6.5, -0.5, 0.4), (9, -0.5, 0.4), (12, -0.7, 0.5))
"""Nominal thickness, least and most deviation of sanded birch plywood, mm."""

_THIN_MDF = (-0.2, 0.2)


def thickness_tolerance(standard: str, thickness: float) -> tuple[float, float]:
    """(Least, most) deviation in mm from a nominal thickness that a standard lets pass.

    Between two listed thicknesses of plywood the wider tolerance of both holds.  Raises `SizeError` for a standard that is
    not known, or a thickness that it does not cover here.

    >>> thickness_tolerance("ISO 7823-1", 3)
    (-0.7, 0.7)
    >>> thickness_tolerance("EN 315", 5)
    (-0.5, 0.4)
    >>> thickness_tolerance("EN 315", 2)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: EN 315 is known here for 4 to 12 mm, not for 2 mm; give tolerance_mm = [least, most]
    """
    t = positive(thickness, "thickness")
    if standard == "ISO 7823-1":
        wide = round(0.4 + 0.1 * t, 6)
        return (-wide, wide)
    if standard == "ISO 7823-2":
        if t < 3:
            raise _not_covered(standard, "3 mm and more", t)
        return (-round(0.05 * t, 6), round(0.05 * t, 6))
    if standard == "EN 622":
        return _THIN_MDF
    if standard == "EN 315":
        below = [row for row in _PLYWOOD if row[0] <= t]
        above = [row for row in _PLYWOOD if row[0] >= t]
        if not below or not above:
            raise _not_covered(standard, "4 to 12 mm", t)
        return (min(below[-1][1], above[0][1]), max(below[-1][2], above[0][2]))
    raise SizeError(f"{standard!r} is no thickness standard known here; give one of {', '.join(STANDARDS)}", value=standard)


def _not_covered(standard: str, covered: str, thickness: float) -> SizeError:
    return SizeError(
        f"{standard} is known here for {covered}, not for {thickness:g} mm; give tolerance_mm = [least, most]",
        value=thickness,
        limit=covered,
    )


@dataclass(frozen=True, slots=True)
class FitRange:
    """What a clearance drawn for one thickness becomes over all the thicknesses that a sheet may have.  All in mm.

    `jams` if it gets tighter than a press fit, `falls_out` if looser than a sliding one.
    """

    clearance: float
    thinnest: float
    thickest: float
    tightest: float
    loosest: float
    press: float
    sliding: float

    @property
    def jams(self) -> bool:
        """Whether the thickest sheet no longer goes in."""
        return self.tightest < self.press - ROUNDING

    @property
    def falls_out(self) -> bool:
        """Whether the thinnest sheet no longer holds."""
        return self.loosest > self.sliding + ROUNDING

    @property
    def must_measure(self) -> bool:
        """Whether the tolerance alone can spoil the fit, so that the sheet has to be measured first."""
        return self.jams or self.falls_out

    def __str__(self) -> str:
        spoiled = [word for word, is_so in (("jam", self.jams), ("fall out", self.falls_out)) if is_so]
        end = f": parts {' or '.join(spoiled)}; measure first" if spoiled else ""
        return (
            f"{self.thinnest:.2f} to {self.thickest:.2f} mm thick, so a clearance of {self.clearance:.2f} mm comes out "
            f"as {self.tightest:.2f} to {self.loosest:.2f} mm{end}"
        )


def fit_range(stock: Stock, clearance: float | None = None) -> FitRange | None:
    """What becomes of a clearance in mm (None: the stock's own) over the tolerance of an unmeasured stock.

    None for a stock that is measured, or whose tolerance nobody knows.

    >>> ply = Stock("birch plywood", 4, clearance=0.05, tolerance=(-0.5, 0.3))
    >>> print(fit_range(ply))
    3.50 to 4.30 mm thick, so a clearance of 0.05 mm comes out as -0.25 to 0.55 mm: parts jam or fall out; measure first
    >>> fit_range(Stock("birch plywood", 4, measured=3.9, tolerance=(-0.5, 0.3))) is None
    True
    """
    if stock.measured is not None or stock.tolerance is None:
        return None
    c = stock.clearance if clearance is None else clearance
    low, high = stock.tolerance
    press = COMMON_FITS["press"] if stock.press is None else stock.press
    sliding = COMMON_FITS["sliding"] if stock.sliding is None else stock.sliding
    thinnest, thickest = stock.thickness + low, stock.thickness + high
    return FitRange(c, thinnest, thickest, c - high, c - low, press, sliding)
