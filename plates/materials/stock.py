"""Sheet material: what the shop has on the shelf, as bought and as measured."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal, get_args

from panelwright.plates._validate import finite, flag, items, numbers, one_of, positive, shown, text
from panelwright.plates.errors import ArgumentError, SizeError

from .believed_thickness import require_believed
from .hazards import refuse_hazard
from .vouching import CALIBRATED_BY, Vouched, is_vouched, true_sources, vouched_by

__all__ = ["CUTTERS", "FITS", "OKABE_ITO", "Cutter", "FitName", "Stock"]

Cutter = Literal["laser", "router", "knife"]
"""What cuts a stock."""

CUTTERS: tuple[Cutter, ...] = get_args(Cutter)
"""Every cutter there is."""

FitName = Literal["press", "snug", "sliding"]

FITS: tuple[FitName, ...] = ("press", "snug", "sliding")
"""How parts go together, from tight to loose: with a mallet and for good; by hand, and it holds; moves freely."""

OKABE_ITO: dict[str, str] = {
    "black": "#000000",
    "orange": "#E69F00",
    "sky blue": "#56B4E9",
    "bluish green": "#009E73",
    "yellow": "#F0E442",
    "blue": "#0072B2",
    "vermillion": "#D55E00",
    "reddish purple": "#CC79A7",
}
"""The palette of Okabe and Ito, "Color Universal Design" (2008): told apart by readers of every colour vision."""


@dataclass(frozen=True, slots=True)
class Stock:
    """One kind of sheet.

    - `material`: the name that people in the shop use, such as "birch plywood".
    - `thickness`: nominal thickness in mm, as sold.
    - `measured`: thickness in mm by caliper, within a quarter of the nominal one; joints, solids and checks use it.  None
      until measured, and then the nominal one stands in.
    - `kerf`: width in mm of the material that the beam or cutter removes; 0 draws nominal shapes.
    - `clearance`: opening minus what goes in, after cutting, in mm: the snug fit that joints use unless told otherwise.
    - `press`, `sliding`: the same for a press fit (often negative) and a sliding one, or None if nobody tried.
    - `tolerance`: (least, most) in mm that the thickness of a sheet as bought may differ from the nominal one, such as
      (-0.5, 0.3), or None if unknown.
    - `sheet`: (width, height) in mm of the sheets on the shelf, or None if it doesn't matter.
    - `density`: kg/m³, or None if nobody weighed it; without it there is no mass.
    - `grain`: "x" if the grain runs along a sheet's width, "y" along its height, None if there is none.  Panels of a
      stock with grain are only the same panel if their grain runs the same way.
    - `both_faces_good`: whether a panel may be turned over.
    - `color`: name in the Okabe–Ito palette or "#RRGGBB", for previews.
    - `shear_modulus`, `shear_strength`: in MPa, for what is twisted or sheared in use, such as the links of a living hinge;
      None if nobody stated them, and then nothing is said of torque and stress.
    - `youngs_modulus` in MPa and `poisson` (Poisson's ratio, above -1 and below 0.5): what data sheets of acrylic give
      instead of a shear modulus.
    - `name`: what the shop calls it, such as "birch 4"; "" for a stock that a design states itself.
    - `cutter`: "laser", "router" or "knife".
    - `is_calibrated`: whether thickness and kerf were measured here and stand in a shop file.  What a design states is never
      calibrated, only stated; every build says what nobody has measured.
    - `sources`: pairs of a key and where its number comes from.
    - `vouched`: not to be given.  A copy carries in it which numbers the sources speak of, so that the kerf of
      `replace(stock("birch 4"), kerf=0.3)` is told as stated in the design, and the copy is not calibrated.

    Raises `SizeError` for a size that no sheet has and for a strength or modulus that no material has, and `MaterialError` for
    a material that must not be cut by laser.

    >>> birch = Stock("birch plywood", thickness=5, measured=4.85, kerf=0.2, clearance=0.1)
    >>> birch.t
    4.85
    >>> Stock("card", thickness=0)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: thickness of stock 'card' is 0 mm; it must be above 0
    """

    material: str
    thickness: float
    measured: float | None = field(default=None, kw_only=True)
    kerf: float = field(default=0.0, kw_only=True)
    clearance: float = field(default=0.0, kw_only=True)
    press: float | None = field(default=None, kw_only=True)
    sliding: float | None = field(default=None, kw_only=True)
    tolerance: tuple[float, float] | None = field(default=None, kw_only=True)
    sheet: tuple[float, float] | None = field(default=None, kw_only=True)
    density: float | None = field(default=None, kw_only=True)
    grain: Literal["x", "y"] | None = field(default=None, kw_only=True)
    both_faces_good: bool = field(default=True, kw_only=True)
    color: str = field(default="orange", kw_only=True)
    shear_modulus: float | None = field(default=None, kw_only=True)
    shear_strength: float | None = field(default=None, kw_only=True)
    youngs_modulus: float | None = field(default=None, kw_only=True)
    poisson: float | None = field(default=None, kw_only=True)
    name: str = field(default="", kw_only=True)
    cutter: Cutter = field(default="laser", kw_only=True)
    is_calibrated: bool = field(default=False, kw_only=True)
    sources: tuple[tuple[str, str], ...] = field(default=(), kw_only=True)
    vouched: tuple[Vouched, ...] = field(default=(), kw_only=True, repr=False, compare=False)

    def __repr__(self) -> str:
        name = f" {shown(self.name)}," if self.name else ""
        return f"<Stock{name} {shown(self.material)}, {self.t:g} mm, kerf {self.kerf:g}, clearance {self.clearance:g}>"

    def __post_init__(self) -> None:
        if not isinstance(self.material, str) or not self.material.strip():
            raise SizeError(f"material of a stock is {shown(self.material)}; give the name the shop uses", value=self.material)
        of = f"of stock {self.material!r}"
        positive(self.thickness, f"thickness {of}")
        if self.measured is not None:
            what = f"measured thickness {of}"
            require_believed(positive(self.measured, what), float(self.thickness), what)
        positive(self.kerf, f"kerf {of}", zero_is_fine=True)
        self._check_clearances(of)
        if self.kerf >= self.t and self.cutter != "router":
            raise SizeError(
                f"kerf {of} is {self.kerf:g} mm, as much as the sheet is thick ({self.t:g} mm); give the width of one cut",
                value=self.kerf,
                limit=self.t,
            )
        if self.sheet is not None:
            numbers(self.sheet, f"sheet {of}", 2, "(width, height) in mm")
            object.__setattr__(self, "sheet", tuple(self.sheet))  # a list would do, but a stock has to be hashable
            for side, name in zip(self.sheet, ("width", "height"), strict=True):
                positive(side, f"sheet {name} {of}")
        if self.density is not None:
            positive(self.density, f"density {of}", unit="kg/m³")
        for stiffness, name in (
            (self.shear_modulus, "shear modulus"),
            (self.shear_strength, "shear strength"),
            (self.youngs_modulus, "Young's modulus"),
        ):
            if stiffness is not None:
                positive(stiffness, f"{name} {of}", unit="MPa")
        if self.poisson is not None and not -1 < finite(self.poisson, f"Poisson's ratio {of}", unit="") < 0.5:
            raise SizeError(
                f"Poisson's ratio {of} is {self.poisson:g}; it must be above -1 and below 0.5, usually 0.2 to 0.4",
                value=self.poisson,
                limit=0.5,
            )
        if self.grain is not None and not (isinstance(self.grain, str) and self.grain in ("x", "y")):
            raise SizeError(f"grain {of} is {shown(self.grain)}; give 'x', 'y' or None", value=self.grain)
        text(self.color, f"color {of}", "give '#RRGGBB' or the name of a colour", SizeError)
        _ = self.rgb
        one_of(self.cutter, CUTTERS, f"cutter {of}")
        text(self.name, f"name {of}")
        flag(self.both_faces_good, f"both_faces_good {of}")
        flag(self.is_calibrated, f"is_calibrated {of}")
        self._check_sources(of)
        if self.cutter == "laser":
            refuse_hazard(self.material, self.t)

    def _check_sources(self, of: str) -> None:
        give = "give pairs of a key and where its number comes from, such as ('kerf_mm', 'measured')"
        pairs = tuple(items(pair, f"source {of}", give) for pair in items(self.sources, f"sources {of}", give))
        for pair in pairs:
            if len(pair) != 2 or not all(isinstance(part, str) for part in pair):
                raise ArgumentError(f"source {of} is {shown(pair)}; {give}", value=pair)
        if not is_vouched(self.vouched):
            raise ArgumentError(f"vouched {of} is {shown(self.vouched)}; leave it out", value=self.vouched)
        sources, altered = true_sources(pairs, self.vouched, self)
        object.__setattr__(self, "sources", sources)  # lists would do, but a stock has to be hashable
        object.__setattr__(self, "vouched", vouched_by(sources, self))
        if not CALIBRATED_BY.isdisjoint(altered):
            object.__setattr__(self, "is_calibrated", False)

    def _check_clearances(self, of: str) -> None:
        for value, word in ((self.clearance, "clearance"), (self.press, "press fit"), (self.sliding, "sliding fit")):
            if value is not None and abs(finite(value, f"{word} {of}")) >= self.t:
                raise SizeError(
                    f"{word} {of} is {value:g} mm, as much as the sheet is thick ({self.t:g} mm); "
                    "give the gap of one joint, usually 0 to 0.3 mm",
                    value=value,
                    limit=self.t,
                )
        given = [(self.press, "press"), (self.clearance, "snug"), (self.sliding, "sliding")]
        known = [(float(value), word) for value, word in given if value is not None]
        for (tighter, first), (looser, second) in pairwise(known):
            if tighter > looser:
                raise SizeError(
                    f"{first} fit {of} is {tighter:g} mm, looser than its {second} fit of {looser:g} mm; "
                    "press must be the tightest and sliding the loosest",
                    value=tighter,
                    limit=looser,
                )
        if self.tolerance is not None:
            low, high = numbers(self.tolerance, f"tolerance {of}", 2, "(least, most) in mm")
            object.__setattr__(self, "tolerance", tuple(self.tolerance))  # a stock has to be hashable
            if not -self.thickness < low <= 0 <= high:
                raise SizeError(
                    f"tolerance {of} is {low:g} to {high:+g} mm; give (least, most) about the nominal thickness, "
                    "such as (-0.5, 0.3)",
                    value=self.tolerance,
                )

    def fit(self, fit: FitName) -> float:
        """Clearance in mm of a "press", "snug" or "sliding" fit in this stock.

        Raises `SizeError` if nobody has stated it.

        >>> Stock("birch plywood", 4, clearance=0.05, sliding=0.2).fit("sliding")
        0.2
        """
        known = {"press": self.press, "snug": self.clearance, "sliding": self.sliding}
        if not isinstance(fit, str) or fit not in known:
            raise SizeError(f"{shown(fit)} is no fit; give one of {', '.join(FITS)}", value=fit)
        value = known[fit]
        if value is None:
            raise SizeError(
                f"stock {self.name or self.material!r} has no {fit} fit; state it as {fit}=, or cut a coupon and calibrate",
                value=fit,
            )
        return float(value)

    @property
    def is_stated(self) -> bool:
        """Whether a design states this stock's numbers itself, rather than naming a stock of a shop.

        >>> Stock("birch plywood", 4, measured=3.9, kerf=0.2).is_stated
        True
        """
        return not self.name and not self.sources

    @property
    def t(self) -> float:
        """Thickness in mm that everything is computed with: measured if known, nominal otherwise."""
        return float(self.thickness if self.measured is None else self.measured)

    @property
    def rigidity(self) -> float | None:
        """Shear modulus G in MPa that everything is computed with; None if it is not known.

        As stated, or else E/(2(1 + ν)), which holds for isotropic sheet; not where there is a grain.

        >>> acrylic = Stock("cast acrylic", 3, youngs_modulus=3100, poisson=0.35, shear_strength=55)
        >>> round(acrylic.rigidity)
        1148
        >>> print(Stock("birch plywood", 4, grain="x", youngs_modulus=9000, poisson=0.3).rigidity)
        None
        """
        if self.shear_modulus is not None:
            return float(self.shear_modulus)
        if self.youngs_modulus is None or self.poisson is None or self.grain is not None:
            return None
        return self.youngs_modulus / (2 * (1 + self.poisson))

    @property
    def rgb(self) -> tuple[int, int, int]:
        """The colour as red, green and blue from 0 to 255."""
        code = OKABE_ITO.get(self.color, self.color)
        try:
            if len(code) != 7 or code[0] != "#":
                raise ValueError(code)
            return (int(code[1:3], 16), int(code[3:5], 16), int(code[5:7], 16))
        except ValueError:
            known = ", ".join(OKABE_ITO)
            raise SizeError(
                f"color of stock {self.material!r} is {shown(self.color)}; give '#RRGGBB' or one of {known}", value=self.color
            ) from None
