"""Sheet material: what the shop has on the shelf, as bought and as measured."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from ._validate import finite, positive
from .errors import SizeError

__all__ = ["OKABE_ITO", "Stock"]

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
    - `measured`: thickness in mm by caliper; joints, solids and checks use it.  None until measured, and then the
      nominal one stands in.
    - `kerf`: width in mm of the material that the beam or cutter removes; 0 draws nominal shapes.
    - `clearance`: opening minus what goes in, after cutting, in mm; negative for a press fit.
    - `sheet`: (width, height) in mm of the sheets on the shelf, or None if it doesn't matter.
    - `density`: kg/m³, or None if nobody weighed it; without it there is no mass.
    - `grain`: "x" if the grain runs along a sheet's width, "y" along its height, None if there is none.  Panels of a
      stock with grain are only the same panel if their grain runs the same way.
    - `both_faces_good`: whether a panel may be turned over.
    - `color`: name in the Okabe–Ito palette or "#RRGGBB", for previews.

    Raises `SizeError` for a size that no sheet has.

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
    sheet: tuple[float, float] | None = field(default=None, kw_only=True)
    density: float | None = field(default=None, kw_only=True)
    grain: Literal["x", "y"] | None = field(default=None, kw_only=True)
    both_faces_good: bool = field(default=True, kw_only=True)
    color: str = field(default="orange", kw_only=True)

    def __post_init__(self) -> None:
        if not isinstance(self.material, str) or not self.material.strip():
            raise SizeError(f"material of a stock is {self.material!r}; give the name the shop uses", value=self.material)
        of = f"of stock {self.material!r}"
        positive(self.thickness, f"thickness {of}")
        if self.measured is not None:
            positive(self.measured, f"measured thickness {of}")
        positive(self.kerf, f"kerf {of}", zero_is_fine=True)
        finite(self.clearance, f"clearance {of}")
        if abs(self.clearance) >= self.t:
            raise SizeError(
                f"clearance {of} is {self.clearance:g} mm, as much as the sheet is thick ({self.t:g} mm); "
                "give the gap of one joint, usually 0 to 0.3 mm",
                value=self.clearance,
                limit=self.t,
            )
        if self.kerf >= self.t:
            raise SizeError(
                f"kerf {of} is {self.kerf:g} mm, as much as the sheet is thick ({self.t:g} mm); "
                "give the width of one cut",
                value=self.kerf,
                limit=self.t,
            )
        if self.sheet is not None:
            for side, name in zip(self.sheet, ("width", "height"), strict=True):
                positive(side, f"sheet {name} {of}")
        if self.density is not None:
            positive(self.density, f"density {of}", unit="kg/m³")
        if self.grain not in (None, "x", "y"):
            raise SizeError(f"grain {of} is {self.grain!r}; give 'x', 'y' or None", value=self.grain)
        _ = self.rgb

    @property
    def t(self) -> float:
        """Thickness in mm that everything is computed with: measured if known, nominal otherwise."""
        return float(self.thickness if self.measured is None else self.measured)

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
                f"color of stock {self.material!r} is {self.color!r}; give '#RRGGBB' or one of {known}", value=self.color
            ) from None
