"""What a nest is: where each piece lies, what found no room, and how well the sheets are used."""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.plates.geometry.curves import Motion

from .job import motion_of

__all__ = ["Leftover", "Nest", "Placement", "SheetUse", "Unplaced"]


@dataclass(frozen=True, slots=True)
class Placement:
    """Where one copy of a piece lies: turned over if `flipped`, turned about its own origin, then shifted to (x, y) mm."""

    piece: str
    copy: int
    sheet: str
    sheet_copy: int
    x: float
    y: float
    turn_deg: float
    flipped: bool

    @property
    def motion(self) -> Motion:
        """Takes the piece as drawn to its place, in coordinates of its sheet."""
        return motion_of(self.x, self.y, self.turn_deg, self.flipped)


@dataclass(frozen=True, slots=True)
class Unplaced:
    """Copies of a piece that lie on no sheet, and why."""

    piece: str
    copies: tuple[int, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Leftover:
    """An empty rectangle of a sheet that is worth keeping: its lower left corner and its size, in mm.

    It keeps the spacing from every piece.
    """

    x: float
    y: float
    width: float
    height: float

    @property
    def area_mm2(self) -> float:
        """Area in mm²."""
        return self.width * self.height


@dataclass(frozen=True, slots=True)
class SheetUse:
    """One sheet that is used.

    `placed_mm2` is the area of the pieces on it and `area_mm2` its own; `extent` is the share of its longer side that they take
    up, counted from its origin's end.  `leftovers` are disjoint, the largest first.
    """

    sheet: str
    copy: int
    is_offcut: bool
    pieces: int
    placed_mm2: float
    area_mm2: float
    extent: float
    leftovers: tuple[Leftover, ...]

    @property
    def utilisation(self) -> float:
        """Share of the sheet that ends up in pieces."""
        return self.placed_mm2 / self.area_mm2


@dataclass(frozen=True, slots=True)
class Nest:
    """A layout of pieces on sheets, as `nest` gives it back: checked, sorted, and with its figures.

    - `placements`: in order of sheets, then of pieces as the job lists them.
    - `unplaced`: what found no room; empty if all is well.
    - `sheets`: the sheets used, offcuts first, in the order of the job.
    - `least_sheets`: no layout of all the pieces could use fewer sheets, by their areas alone.
    - `iterations`: how many attempts at improving it were made.
    - `is_reproducible`: whether the same job gives the same nest anywhere: neither a time limit nor an interruption came in.
    - `interrupted`: whether the search was stopped from the keyboard; this is the best found until then.
    - `notes`: what was asked for and could not be done, in words.
    """

    placements: tuple[Placement, ...]
    unplaced: tuple[Unplaced, ...]
    sheets: tuple[SheetUse, ...]
    least_sheets: int
    iterations: int
    is_reproducible: bool
    interrupted: bool
    notes: tuple[str, ...] = ()

    @property
    def is_complete(self) -> bool:
        """Whether every piece has its place."""
        return not self.unplaced

    @property
    def utilisation(self) -> float:
        """Share of all the sheets used that ends up in pieces, 0 if none is used."""
        area = sum(use.area_mm2 for use in self.sheets)
        return sum(use.placed_mm2 for use in self.sheets) / area if area else 0.0

    @property
    def full_utilisation(self) -> float:
        """The same without the emptiest sheet, which is seldom worth filling; of the only one if there is one."""
        uses = sorted(self.sheets, key=lambda use: use.utilisation)
        uses = uses[1:] if len(uses) > 1 else uses
        area = sum(use.area_mm2 for use in uses)
        return sum(use.placed_mm2 for use in uses) / area if area else 0.0

    @property
    def sheets_taken(self) -> float:
        """Sheets used, the emptiest counted by the share of its longer side that is taken up; offcuts count like others."""
        if not self.sheets:
            return 0.0
        return len(self.sheets) - 1 + min(self.sheets, key=lambda use: use.utilisation).extent
