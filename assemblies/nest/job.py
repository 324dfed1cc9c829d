"""What is to be nested: pieces, the sheets that are really there, and the rules.  Plain frozen data, checked as it is made.

All lengths are in mm and all angles in degrees, counter-clockwise.  A piece is placed by turning it over if need be (its left
and right change places), then turning it about its own origin, then shifting it: the coordinates are those of its sheet.
If the stock has grain, it runs along x, on pieces and sheets alike.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

from panelwright.plates._validate import finite, positive, whole
from panelwright.plates.errors import NestError, OutlineError, SizeError
from panelwright.plates.geometry.curves import Line, Loop, Motion, Point, loop_through
from panelwright.plates.outlines.outline import checked
from panelwright.plates.tolerances import AREA_SHARE, RELATIVE_ROUNDING, SQUARE_TOLERANCE_DEG

__all__ = ["ALONG_GRAIN", "AS_DRAWN", "QUARTER_TURNS", "NestJob", "Piece", "Pin", "Sheet", "motion_of"]

AS_DRAWN: Final = 360.0
"""Turn step of a piece that may not be turned."""

ALONG_GRAIN: Final = 180.0
"""Turn step of a piece whose grain must run with the sheet's."""

QUARTER_TURNS: Final = 90.0
"""Turn step of a piece without grain, turned by right angles."""

LEAST_TURN_STEP: Final = 0.5
"""Finest turn step in degrees: 720 ways to turn a piece, more than any search could try."""


def motion_of(x: float, y: float, turn_deg: float, flipped: bool) -> Motion:
    """The motion that takes a piece as drawn to its place on the sheet.

    >>> motion_of(10, 0, 90, True).apply((3.0, 1.0))
    (9.0, -3.0)
    """
    over = Motion.mirror_x() if flipped else Motion()
    return over.then(Motion.turn(turn_deg)).then(Motion.shift(x, y))


@dataclass(frozen=True, slots=True)
class Pin:
    """A place that somebody has chosen for a piece: on which sheet, which copy of it, where, and turned how."""

    sheet: str
    x: float
    y: float
    turn_deg: float = field(default=0.0, kw_only=True)
    flipped: bool = field(default=False, kw_only=True)
    copy: int = field(default=1, kw_only=True)

    def __post_init__(self) -> None:
        finite(self.x, f"x of a pin on sheet {self.sheet!r}")
        finite(self.y, f"y of a pin on sheet {self.sheet!r}")
        finite(self.turn_deg, f"turn of a pin on sheet {self.sheet!r}")
        whole(self.copy, f"sheet copy of a pin on sheet {self.sheet!r}")


@dataclass(frozen=True)
class Piece:
    """A flat shape to be cut `quantity` times.

    - `id`: its name, such as a panel's.
    - `loops`: the outer loop, then the holes; curves stay curves.
    - `turn_step_deg`: it may be turned by multiples of this; 360 must be a multiple of it.  `AS_DRAWN`, `ALONG_GRAIN` and
      `QUARTER_TURNS` are the usual ones, 15 or 5 gives any angle in such steps.
    - `may_flip`: whether it may be turned over.
    - `pin`: a place chosen for it, or None.  A pinned piece has a quantity of 1.

    Raises `OutlineError` for a shape that is no single region and `SizeError` for other values out of range.

    >>> from panelwright.plates import hole, rectangle
    >>> lid = Piece("lid", rectangle(60, 40).cut(hole(10)).loops, 2)
    >>> round(lid.area_mm2, 2), lid.turns_deg
    (2321.46, (0.0, 90.0, 180.0, 270.0))
    """

    id: str
    loops: tuple[Loop, ...]
    quantity: int = 1
    turn_step_deg: float = field(default=QUARTER_TURNS, kw_only=True)
    may_flip: bool = field(default=False, kw_only=True)
    pin: Pin | None = field(default=None, kw_only=True)

    def __post_init__(self) -> None:
        _name(self.id, "piece")
        what = f"piece {self.id!r}"
        whole(self.quantity, f"quantity of {what}")
        step = positive(self.turn_step_deg, f"turn step of {what}", unit="°")
        if step < LEAST_TURN_STEP or abs(360.0 / step - round(360.0 / step)) > RELATIVE_ROUNDING:
            raise SizeError(
                f"turn step of {what} is {step:g}°; give one of {LEAST_TURN_STEP:g}° or more that divides 360°, "
                "such as 180 along the grain, 90 or 15",
                value=step,
                limit=LEAST_TURN_STEP,
            )
        object.__setattr__(self, "loops", _oriented(self.loops, what))
        if self.pin is None:
            return
        if self.quantity != 1:
            raise SizeError(
                f"{what} is pinned to one place but wanted {self.quantity} times; make each pinned one a piece of its own",
                value=self.quantity,
                limit=1,
            )
        if not self.allows(self.pin.turn_deg, self.pin.flipped):
            raise SizeError(
                f"{what} is pinned {'turned over and ' * self.pin.flipped}at {self.pin.turn_deg:g}°, but it may only be turned "
                f"in steps of {step:g}°{'' if self.may_flip else ' and not turned over'}; change the pin or what is allowed",
                value=self.pin.turn_deg,
                limit=step,
            )

    @classmethod
    def from_rings(
        cls,
        id: str,  # noqa: A002  # the field's own name
        rings: Iterable[Sequence[Point]],
        quantity: int = 1,
        *,
        turn_step_deg: float = QUARTER_TURNS,
        may_flip: bool = False,
        pin: Pin | None = None,
    ) -> Piece:
        """A piece from corners in mm: the outer ring, then the holes, none closed by repeating its first corner.

        >>> Piece.from_rings("wedge", [[(0, 0), (40, 0), (0, 30)]]).area_mm2
        600.0
        """
        loops = tuple(loop_through(ring) for ring in rings)
        return cls(id, loops, quantity, turn_step_deg=turn_step_deg, may_flip=may_flip, pin=pin)

    @cached_property
    def area_mm2(self) -> float:
        """Area in mm², holes taken out."""
        return sum(loop.area for loop in self.loops)

    @property
    def turns_deg(self) -> tuple[float, ...]:
        """The turns that are allowed, in [0, 360)."""
        return tuple(index * self.turn_step_deg for index in range(round(360.0 / self.turn_step_deg)))

    def allows(self, turn_deg: float, flipped: bool) -> bool:
        """Whether the piece may lie turned so, on its face or turned over."""
        steps = turn_deg / self.turn_step_deg
        return abs(steps - round(steps)) * self.turn_step_deg < SQUARE_TOLERANCE_DEG and (self.may_flip or not flipped)


@dataclass(frozen=True)
class Sheet:
    """A kind of sheet that is there `count` times: a full one or an offcut, of any outline, with holes or without.

    `offcut` marks a rectangle as left over from earlier work; a sheet that is no rectangle counts as an offcut anyway.
    Offcuts are used before full sheets.

    >>> full = Sheet.rectangle("birch 600 × 300", 600, 300, 10)
    >>> corner = Sheet.from_rings("corner piece", [[(0, 0), (400, 0), (400, 100), (120, 100), (120, 300), (0, 300)]])
    >>> full.is_offcut, corner.is_offcut, corner.area_mm2
    (False, True, 64000.0)
    """

    id: str
    loops: tuple[Loop, ...]
    count: int = 1
    offcut: bool = field(default=False, kw_only=True)

    def __post_init__(self) -> None:
        _name(self.id, "sheet")
        whole(self.count, f"count of sheet {self.id!r}")
        object.__setattr__(self, "loops", _oriented(self.loops, f"sheet {self.id!r}"))

    @classmethod
    def rectangle(cls, id: str, width: float, height: float, count: int = 1, *, offcut: bool = False) -> Sheet:  # noqa: A002
        """A rectangle of `width` × `height` mm with its lower left corner in the origin."""
        w = positive(width, f"width of sheet {id!r}")
        h = positive(height, f"height of sheet {id!r}")
        return cls(id, (loop_through([(0, 0), (w, 0), (w, h), (0, h)]),), count, offcut=offcut)

    @classmethod
    def from_rings(cls, id: str, rings: Iterable[Sequence[Point]], count: int = 1, *, offcut: bool = False) -> Sheet:  # noqa: A002
        """A sheet from corners in mm: the border, then what is cut out of it already."""
        return cls(id, tuple(loop_through(ring) for ring in rings), count, offcut=offcut)

    @cached_property
    def area_mm2(self) -> float:
        """Area in mm², holes taken out."""
        return sum(loop.area for loop in self.loops)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the bounding box in mm."""
        x0, y0, x1, y1 = self.loops[0].bounds
        return (x1 - x0, y1 - y0)

    @cached_property
    def is_offcut(self) -> bool:
        """Whether it is to be used up before full sheets."""
        width, height = self.size
        loop = self.loops[0]
        straight = len(self.loops) == 1 and all(isinstance(segment, Line) for segment in loop)
        return self.offcut or not straight or abs(loop.area - width * height) > AREA_SHARE * width * height


@dataclass(frozen=True)
class NestJob:
    """Everything that a layout depends on.

    - `spacing`: least distance between two pieces, and `margin`: least distance of a piece from the border of its sheet and
      from the holes in it, both in mm.  Both are measured between finished outlines, so they include the kerf.
    - `effort`: how many times the search tries to improve the layout; 0 takes the best of the first constructions.
    - `seed`: another whole number gives another layout; the same job gives the same layout, to the byte.
    - `time_limit_s`: seconds after which the search stops, or None.  With a limit the result depends on the machine, and
      says so.
    - `least_offcut`: width and height in mm of the smallest rectangle that is worth keeping.

    Raises `SizeError` for values out of range and `NestError` for names that are taken twice or pins on sheets that aren't
    there.

    >>> from panelwright.plates import rectangle
    >>> tiles = Piece("tile", rectangle(48, 48).loops, 20)
    >>> NestJob((tiles,), (Sheet.rectangle("MDF", 600, 300),), spacing=-1)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: spacing of the nest is -1 mm; it must be 0 or more
    """

    pieces: tuple[Piece, ...]
    sheets: tuple[Sheet, ...]
    spacing: float = field(default=2.0, kw_only=True)
    margin: float = field(default=5.0, kw_only=True)
    seed: int = field(default=1, kw_only=True)
    effort: int = field(default=400, kw_only=True)
    time_limit_s: float | None = field(default=None, kw_only=True)
    least_offcut: tuple[float, float] = field(default=(100.0, 100.0), kw_only=True)

    def __post_init__(self) -> None:
        object.__setattr__(self, "pieces", tuple(self.pieces))
        object.__setattr__(self, "sheets", tuple(self.sheets))
        if not self.pieces:
            raise NestError("there are no pieces to nest; give at least one")
        if not self.sheets:
            raise NestError("there are no sheets to nest on; give at least one")
        positive(self.spacing, "spacing of the nest", zero_is_fine=True)
        positive(self.margin, "margin of the nest", zero_is_fine=True)
        whole(self.effort, "effort of the nest", least=0, most=10**9)
        whole(self.seed, "seed of the nest", least=0, most=2**63)
        if self.time_limit_s is not None:
            positive(self.time_limit_s, "time limit of the nest", unit="s")
        for side, length in zip(("width", "height"), self.least_offcut, strict=True):
            positive(length, f"least {side} of an offcut worth keeping")
        for kind, names in (("piece", [p.id for p in self.pieces]), ("sheet", [s.id for s in self.sheets])):
            name, times = Counter(names).most_common(1)[0]
            if times > 1:
                raise NestError(f"{times} {kind}s are called {name!r}; give each its own name", value=name)
        for piece in self.pieces:
            self._check_pin(piece)

    def _check_pin(self, piece: Piece) -> None:
        pin = piece.pin
        if pin is None:
            return
        sheet = next((sheet for sheet in self.sheets if sheet.id == pin.sheet), None)
        if sheet is None:
            raise NestError(
                f"piece {piece.id!r} is pinned to sheet {pin.sheet!r}, which is not there; "
                f"there are {', '.join(repr(sheet.id) for sheet in self.sheets)}",
                plates=(piece.id,),
                value=pin.sheet,
            )
        if pin.copy > sheet.count:
            raise NestError(
                f"piece {piece.id!r} is pinned to copy {pin.copy} of sheet {sheet.id!r}, of which there are {sheet.count}; "
                "lower the copy number or add sheets",
                plates=(piece.id,),
                value=pin.copy,
                limit=sheet.count,
            )


def _name(name: str, kind: str) -> None:
    if not isinstance(name, str) or not name.strip():
        raise NestError(f"a {kind} is called {name!r}; give it a name", value=name)


def _oriented(loops: Iterable[Loop], what: str) -> tuple[Loop, ...]:
    """The loops with the outer one counter-clockwise and the holes clockwise, if they bound one region."""
    given = tuple(loops)
    if not given:
        raise OutlineError(f"{what} has no outline; give its loops, the outer one first")
    try:
        checked(given)
    except OutlineError as error:
        raise OutlineError(f"{what}: {error}", value=error.value, limit=error.limit) from error
    return (given[0].counter_clockwise(), *(loop.clockwise() for loop in given[1:]))
