"""The sheets as they will be cut: which parts lie where, and every path in the order in which the machine takes it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from panelwright.assemblies.cutting import CutPath, SheetTime
from panelwright.assemblies.nest import Leftover
from panelwright.assemblies.shop.supply import SupplyKind
from panelwright.plates.geometry.curves import Bounds, Loop
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.materials.stock import Stock

from .pieces import PieceSource
from .request import FaceUp

__all__ = ["CutSheet", "LaidPart", "SheetPlan", "StockUse"]


@dataclass(frozen=True, slots=True)
class LaidPart:
    """One part on its sheet: what it is, which copy of it, and the motion from its panel's coordinates to the sheet's.

    `label` is what is marked on it, "" if nothing is.
    """

    source: PieceSource
    copy: int
    motion: Motion
    label: str = ""

    @property
    def name(self) -> str:
        """The panel's name among all products of the run."""
        return self.source.name


@dataclass(frozen=True)
class CutSheet:
    """One sheet.

    - `number`: from 1, over all stocks; the files are called after it.
    - `kind`, `copy`: which of the sheets on the shelf.
    - `outline`: its loops, and `size`, its width and height in mm; as it lies on the machine, so mirrored if it lies back up.
    - `paths`: in the order of cutting; `parts`, `leftovers`: what lies on it and what is worth keeping of it.
    - `time`: how long it takes, None if no cutting speed is known.
    - `shared_mm`: length of the cuts that two parts share, 0 unless asked for.
    """

    number: int
    stock: Stock
    kind: SupplyKind
    copy: int
    face_up: FaceUp
    outline: tuple[Loop, ...]
    parts: tuple[LaidPart, ...]
    paths: tuple[CutPath, ...]
    leftovers: tuple[Leftover, ...]
    time: SheetTime | None
    travel_mm: float
    plain_travel_mm: float
    shared_mm: float = 0.0

    @property
    def name(self) -> str:
        """What its files are called."""
        return f"sheet-{self.number}"

    @cached_property
    def box(self) -> Bounds:
        """Bounding box in mm."""
        return self.outline[0].bounds

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the bounding box in mm."""
        x0, y0, x1, y1 = self.box
        return (x1 - x0, y1 - y0)

    @property
    def area_mm2(self) -> float:
        """Area in mm², less what is cut out of it already."""
        return self.kind.sheet.area_mm2

    @property
    def parts_mm2(self) -> float:
        """Area of all parts on it in mm², their windows and slots taken out: what the product is made of."""
        return sum(part.source.panel.area_mm2 for part in self.parts)

    @property
    def utilisation(self) -> float:
        """Share of the sheet that ends up in parts."""
        return self.parts_mm2 / self.area_mm2

    @property
    def cut_mm(self) -> float:
        """Length of all cuts in mm, marks left out."""
        return sum(path.length_mm for path in self.paths if path.kind != "mark")

    @property
    def mark_mm(self) -> float:
        """Length of all marks in mm."""
        return sum(path.length_mm for path in self.paths if path.kind == "mark")


@dataclass(frozen=True, slots=True)
class StockUse:
    """What all the sheets of one stock come to.

    `least_sheets` is the number that areas alone ask for; `utilisation` counts all sheets, `full_utilisation` all but the
    emptiest.  `is_reproducible` is False after a time limit or an interruption.
    """

    stock: Stock
    sheets: int
    least_sheets: int
    utilisation: float
    full_utilisation: float
    iterations: int
    is_reproducible: bool
    interrupted: bool


@dataclass(frozen=True)
class SheetPlan:
    """All sheets of a run.  `notes` say what was left out or is not known, in words."""

    sheets: tuple[CutSheet, ...]
    uses: tuple[StockUse, ...]
    notes: tuple[str, ...] = ()
    currency: str = ""

    def __repr__(self) -> str:
        return f"<SheetPlan of {len(self.sheets)} sheets of {len(self.uses)} stocks>"
