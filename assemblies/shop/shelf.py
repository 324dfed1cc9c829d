"""Plain data of a shop: sheets and offcuts on the shelf, what is known of a stock, and the machine."""

from __future__ import annotations

from dataclasses import dataclass, field

from panelwright.plates.materials.stock import Cutter, Stock
from panelwright.plates.outlines.outline import Outline

__all__ = ["Booked", "Machine", "Offcut", "Sheet", "Shelf", "largest_panel"]


@dataclass(frozen=True, slots=True)
class Sheet:
    """Whole sheets of one size: width and height in mm, how many (None: as many as needed), price of one."""

    width_mm: float
    height_mm: float
    count: int | None = None
    price: float | None = None


@dataclass(frozen=True, slots=True)
class Offcut:
    """What is left of sheets: its outline in mm as seen from the show face, grain as on the sheets, and how many of it."""

    outline: Outline
    count: int = 1


@dataclass(frozen=True, slots=True)
class Shelf:
    """One stock with all that the shop knows of it.

    - `stock`: what designs are made of.
    - `sheets`, `offcuts`: what lies on the shelf.
    - `kerf_spread_mm`: ± in mm of the kerf from place to place over the bed, 95 times in 100; None if nobody knows it.
    - `cut_mm_s`, `mark_mm_s`: speeds in mm/s, or None if nobody knows them; `passes`: how often a cut is run.
    - `uncertainty`: for each key of the shop file that was measured, its ± in mm; 95 times in 100 the truth lies within.
    - `is_shipped`: whether it is one that the toolkit brings, not one of the shop's own.
    """

    stock: Stock
    sheets: tuple[Sheet, ...] = ()
    offcuts: tuple[Offcut, ...] = ()
    cut_mm_s: float | None = None
    mark_mm_s: float | None = None
    passes: int = 1
    uncertainty: dict[str, float] = field(default_factory=dict)
    is_shipped: bool = False
    kerf_spread_mm: float | None = None

    def __repr__(self) -> str:
        return f"<Shelf of {self.stock!r}, {len(self.sheets)} kinds of sheet, {len(self.offcuts)} of offcuts>"


@dataclass(frozen=True, slots=True)
class Booked:
    """A job whose sheets were booked: what it is, in words, and how often."""

    what: str
    times: int = 1


@dataclass(frozen=True, slots=True)
class Machine:
    """What cuts: sizes in mm, speeds in mm/s, acceleration in mm/s², cost in the shop's currency; None if unknown.

    `edge_margin_mm` keeps parts off a sheet's border and `part_spacing_mm` off each other (defaults: common practice, no
    source).  `position_error_mm` is the ± of where a cut lies as against where it is drawn, 95 times in 100.
    """

    name: str = ""
    cutter: Cutter = "laser"
    bed_mm: tuple[float, float] | None = None
    travel_mm_s: float | None = None
    acceleration_mm_s2: float | None = None
    edge_margin_mm: float = 5.0
    part_spacing_mm: float = 2.0
    cost_per_hour: float | None = None
    position_error_mm: float | None = None


def largest_panel(sheets: tuple[Sheet, ...], offcuts: tuple[Offcut, ...], *, has_grain: bool) -> tuple[float, float] | None:
    """(Width, height) in mm that no panel may exceed if it is to go on any one sheet or offcut; None without any.

    With several sizes this is the box round them all: what exceeds it fits nowhere, what does not may still have to be tried.
    Without grain, sheets may be turned, so the long sides are compared with each other.

    >>> largest_panel((Sheet(600, 400), Sheet(300, 900)), (), has_grain=False)
    (900, 400)
    >>> largest_panel((Sheet(600, 400), Sheet(300, 900)), (), has_grain=True)
    (600, 900)
    """
    sizes = [(sheet.width_mm, sheet.height_mm) for sheet in sheets] + [offcut.outline.size for offcut in offcuts]
    if not sizes:
        return None
    if not has_grain:
        sizes = [(max(size), min(size)) for size in sizes]
    return (max(width for width, _ in sizes), max(height for _, height in sizes))
