"""Cut-outs for `Outline.cut`: round holes, rows and grids of any shape, and ready-made openings for hands and cables."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from panelwright.plates._validate import MOST_IN_A_ROW, finite, one_of, point, positive, shown, whole
from panelwright.plates.errors import OutlineError, PlacementError, SizeError
from panelwright.plates.geometry.curves import Arc, Line, Loop, Motion, Point, loop_through
from panelwright.plates.geometry.polygons import polygon_of
from panelwright.plates.tolerances import ROUNDING

from .outline import Drawn, Outline, Pattern, outline_of
from .shapes import disc, obround

__all__ = ["cable_slot", "finger_notch", "grid", "handle_hole", "hole", "row"]

_SIDES: dict[str, float] = {"-Y": 0.0, "+X": 90.0, "+Y": 180.0, "-X": 270.0}
"""Turn in degrees that brings the lower side to the named one."""


def hole(diameter: float) -> Outline:
    """A round hole of that `diameter` in mm, to be cut where `.at(x, y)` puts its middle; a round plate is a `disc`.

    Raises `SizeError` for a diameter that is not above 0.

    >>> from panelwright.plates import rectangle
    >>> rectangle(60, 40).cut(hole(9).at(20, 10)).holes[0].bounds
    (15.5, 5.5, 24.5, 14.5)
    """
    return disc(positive(diameter, "diameter of a hole"))


@dataclass(frozen=True)
class _Grid:
    shape: Outline
    columns: int
    rows: int
    column_pitch: float | None
    row_pitch: float | None
    center: Point

    def on(self, outline: Outline) -> tuple[Outline, ...]:
        x0, y0, x1, y1 = outline.bounds
        across = _spread(x1 - x0, self.columns, self.column_pitch, self.shape.size[0], "width")
        up = _spread(y1 - y0, self.rows, self.row_pitch, self.shape.size[1], "height")
        # spread evenly means over the outline, so from its middle; with a pitch the grid is centred where it says
        cx = (x0 + x1) / 2 if self.column_pitch is None else self.center[0]
        cy = (y0 + y1) / 2 if self.row_pitch is None and self.rows > 1 else self.center[1]
        return tuple(self.shape.moved(Motion.shift(cx + x, cy + y)) for y in up for x in across)


def _spread(span: float, count: int, pitch: float | None, size: float, what: str) -> list[float]:
    """Offsets from the middle.  Raises `SizeError` if copies of `size` mm would run into each other."""
    step = span / count if pitch is None else pitch
    if count > 1 and step <= size:
        raise SizeError(
            f"{count} cut-outs {step:.3f} mm apart run into each other, since each has a {what} of {size:.3f} mm; use fewer or "
            "smaller ones, or a larger pitch",
            value=step,
            limit=size,
        )
    return [step * (i - (count - 1) / 2) for i in range(count)]


def row(shape: Drawn, count: int, *, pitch: float | None = None, along: str = "x", at: Point = (0.0, 0.0)) -> Pattern:
    """`count` copies of a shape in a row along "x" or "y".

    With `pitch`, their middles lie that far apart in mm and the row is centred on `at`; so is a row of one.  Without, they are
    spread evenly over the outline that they are cut from, half a gap at each end, and `at` only shifts the row sideways.

    Raises `PlacementError` if that would shift it along itself or `along` is another word, and `SizeError` for a count or a
    pitch that is none or, when cut, for copies that run into each other.

    >>> from panelwright.plates import hole, rectangle
    >>> len(rectangle(240, 30).cut(row(hole(9), 8)).holes)
    8
    """
    n = whole(count, "count of a row", most=MOST_IN_A_ROW)
    step = None if pitch is None else positive(pitch, "pitch of a row")
    one_of(along, ("x", "y"), "along= of a row", PlacementError)
    center = point(at, "at= of a row")
    shift = center[0] if along == "x" else center[1]
    if step is None and shift != 0:
        if n > 1:
            raise PlacementError(
                f"a row of {n} without a pitch is spread over its outline, so at= cannot shift it by {shift:g} mm in {along}; "
                "give pitch=, or 0 there",
                value=shift,
            )
        step = 1.0  # one alone stands where it is said to, whatever the pitch
    if along == "x":
        return _Grid(outline_of(shape), n, 1, step, None, center)
    return _Upright(outline_of(shape), n, step, center)


@dataclass(frozen=True)
class _Upright:
    shape: Outline
    count: int
    pitch: float | None
    center: Point

    def on(self, outline: Outline) -> tuple[Outline, ...]:
        _, y0, _, y1 = outline.bounds
        cy = (y0 + y1) / 2 if self.pitch is None else self.center[1]
        up = _spread(y1 - y0, self.count, self.pitch, self.shape.size[1], "height")
        return tuple(self.shape.moved(Motion.shift(self.center[0], cy + y)) for y in up)


def grid(
    shape: Drawn,
    columns: int,
    rows: int,
    *,
    pitch: float | tuple[float, float] | None = None,
    at: Point = (0.0, 0.0),
) -> Pattern:
    """`columns` × `rows` copies of a shape.

    `pitch` is the distance of their middles in mm, one number for both ways or (across, up); the grid is then centred on
    `at`.  Without it they are spread evenly over the outline.  Raises `SizeError` for a number or a pitch that is none.

    >>> from panelwright.plates import obround, rectangle
    >>> len(rectangle(90, 60).cut(grid(obround(8, 3), 4, 5)).holes)
    20
    """
    across, up = _pitches(pitch)
    n, m = whole(columns, "columns of a grid", most=MOST_IN_A_ROW), whole(rows, "rows of a grid", most=MOST_IN_A_ROW)
    whole(n * m, f"number of copies in a grid of {n} × {m}", most=10 * MOST_IN_A_ROW)
    return _Grid(outline_of(shape), n, m, across, up, point(at, "at= of a grid"))


def _pitches(pitch: float | tuple[float | None, float | None] | None) -> tuple[float | None, float | None]:
    """What `pitch=` of a grid says for its two ways; None for a way that is to be spread evenly."""
    if pitch is None:
        return (None, None)
    if not isinstance(pitch, list | tuple):
        one = positive(pitch, "pitch of a grid")
        return (one, one)
    if len(pitch) != 2:
        raise SizeError(f"pitch of a grid is {shown(pitch)}; give one number, or (across, up), in mm", value=pitch)
    across, up = (None if way is None else positive(way, "pitch of a grid") for way in pitch)
    return (across, up)


@dataclass(frozen=True)
class _AtSide:
    """A shape drawn at the lower side of an outline whose border is y = 0, carried to any side."""

    shape: Outline
    side: str
    shift: float

    def on(self, outline: Outline) -> tuple[Outline, ...]:
        x0, y0, x1, y1 = outline.bounds
        mx, my = (x0 + x1) / 2, (y0 + y1) / 2
        spot = {
            "-Y": (mx + self.shift, y0),
            "+Y": (mx + self.shift, y1),
            "-X": (x0, my + self.shift),
            "+X": (x1, my + self.shift),
        }[self.side]
        motion = Motion.turn(_SIDES[self.side]).then(Motion.shift(*spot))
        return (self.shape.moved(motion),)


@dataclass(frozen=True)
class _Enclosed:
    """A cut-out with material all round it: one that runs over a border would be no hole any more, or part the plate."""

    hole: _AtSide
    what: str
    mend: str

    def on(self, outline: Outline) -> tuple[Outline, ...]:
        (shape,) = self.hole.on(outline)
        if not polygon_of(outline.outer, outline.holes).contains_properly(polygon_of(shape.outer)):
            (x0, y0, x1, y1), (left, low, right, high) = shape.bounds, outline.bounds
            inside = left < x0 and low < y0 and x1 < right and y1 < high
            meets = "a slanting border or another cut-out of" if inside else "the border of"
            raise OutlineError(
                f"{self.what}, from x {x0:.2f} to {x1:.2f} and y {y0:.2f} to {y1:.2f}, runs into {meets} its outline, "
                f"which spans x {left:.2f} to {right:.2f} and y {low:.2f} to {high:.2f}; {self.mend}",
                value=shape.bounds,
                limit=outline.bounds,
            )
        return (shape,)


def _side(name: str) -> str:
    if isinstance(name, str):
        side = name.upper() if name[:1] in "+-" else f"+{name.upper()}"
        if side in _SIDES:
            return side
    raise PlacementError(f"side {shown(name)} is not known; give one of {', '.join(_SIDES)}", value=name)


def finger_notch(width: float = 25.0, depth: float = 10.0, *, side: str = "+Y", shift: float = 0.0) -> Pattern:
    """An opening in a border for lifting out what lies behind it, `width` mm wide and `depth` mm deep.

    Part of a circle if `depth` is at most half of `width`, with straight flanks above a half-round end otherwise.  `side` is
    the border ("+Y" is the upper one), `shift` moves the notch along it from the middle.  Raises `SizeError` for a size that is
    not above 0, `PlacementError` for another side.

    >>> from panelwright.plates import rectangle
    >>> round(rectangle(80, 40).cut(finger_notch(20, 10)).area, 2) == round(3200 - math.pi * 50, 2)
    True
    """
    w, d = positive(width, "width of a finger notch"), positive(depth, "depth of a finger notch")
    off = finite(shift, "shift of a finger notch")
    half = w / 2
    if d <= half:
        radius = (half * half + d * d) / (2 * d)
        center = (0.0, d - radius)
        turn = 2 * math.atan2(half, radius - d)
        arc = Arc((half, 0.0), (-half, 0.0), center, turn)
        over = [(-half, 0.0), (-half, -d), (half, -d), (half, 0.0)]
        lines = [Line(p, q) for p, q in itertools.pairwise(over)]
        return _AtSide(Outline((Loop((arc, *lines)),)), _side(side), off)
    return _AtSide(_u_shape(w, d), _side(side), off)


def cable_slot(width: float = 6.0, depth: float = 12.0, *, side: str = "-Y", shift: float = 0.0) -> Pattern:
    """A slot with a round end, open to a border, to lay a cable into; `side` and `shift` as for `finger_notch`.

    It is `width` mm wide and `depth` mm deep.  Raises `SizeError` unless it is at least half as deep as wide.

    >>> from panelwright.plates import rectangle
    >>> round(rectangle(80, 40).cut(cable_slot(6, 12)).area, 2) == round(3200 - 6 * 9 - math.pi * 4.5, 2)
    True
    """
    w, d = positive(width, "width of a cable slot"), positive(depth, "depth of a cable slot")
    if d < w / 2:
        raise SizeError(
            f"depth of a cable slot is {d:g} mm; its round end alone takes half the width, {w / 2:g} mm",
            value=d,
            limit=w / 2,
        )
    return _AtSide(_u_shape(w, d), _side(side), finite(shift, "shift of a cable slot"))


def _u_shape(width: float, depth: float) -> Outline:
    half, straight = width / 2, depth - width / 2
    if straight < ROUNDING:
        straight = 0.0
    below = -width
    lower = loop_through([(-half, straight), (-half, below), (half, below), (half, straight)]).segments[:3]
    arc = Arc((half, straight), (-half, straight), (0.0, straight), math.pi)
    return Outline((Loop((*lower, arc)),))


def handle_hole(
    width: float = 90.0, height: float = 30.0, *, side: str = "+Y", inset: float = 20.0, shift: float = 0.0
) -> Pattern:
    """A half-round-ended hole to grip, its rim `inset` mm from a border; `side` and `shift` as for `finger_notch`.

    It is `width` mm long and `height` mm high.  The defaults take four fingers of a large hand (common practice, no source).
    Cutting it raises `OutlineError` where it would have no material all round; an opening in a border is a `finger_notch`.
    Raises `SizeError` unless longer than high.

    >>> from panelwright.plates import rectangle
    >>> len(rectangle(160, 80).cut(handle_hole()).holes)
    1
    >>> rectangle(50, 80).cut(handle_hole())
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.OutlineError: handle hole of 90 × 30 mm, from x -45.00 to 45.00 and y -10.00 to 20.00, runs into \
the border of its outline, which spans x -25.00 to 25.00 and y -40.00 to 40.00; give it a smaller width or height, another \
inset or shift, or make the plate larger
    """
    hole = obround(width, height)
    far = positive(inset, "inset of a handle hole") + height / 2
    what = f"handle hole of {float(width):g} × {float(height):g} mm"
    mend = "give it a smaller width or height, another inset or shift, or make the plate larger"
    off = finite(shift, "shift of a handle hole")
    return _Enclosed(_AtSide(hole.at(0, far), _side(side), off), what, mend)
