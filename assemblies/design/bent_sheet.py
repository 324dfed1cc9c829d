"""Sheets that are bent where they stand: split at their bend lines into flat and rolled parts, each with its frame.

A sheet keeps one coordinate system, that of its flat outline, through all its parts: x runs across the bend lines.  A
`Bend` says where one begins.
"""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from panelwright.plates._validate import finite, one_of, positive
from panelwright.plates.errors import OutlineError, SizeError
from panelwright.plates.geometry.bending import Roll
from panelwright.plates.geometry.curves import Line, Loop, Segment, loop_through
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.outlines.outline import Outline
from panelwright.plates.outlines.planar_cuts import combine
from panelwright.plates.tolerances import FLAT_TOUCH, ON_BEND_LINE, SAME_PLACE

__all__ = ["Bend", "SheetPart", "bend", "parts_of"]


@dataclass(frozen=True)
class Bend:
    """One bend of a sheet: it begins at x = `at` of the flat outline and turns by `angle_deg` round an inner `radius` in mm."""

    at: float
    radius: float
    angle_deg: float
    toward: Literal["show", "back"]

    def roll(self, thickness: float) -> Roll:
        """The same for the middle of a sheet of that thickness."""
        angle = math.radians(self.angle_deg) * (1 if self.toward == "show" else -1)
        return Roll(self.at, self.radius + thickness / 2, angle)


def bend(at: float, *, radius: float, angle_deg: float, toward: Literal["show", "back"] = "back") -> Bend:
    """A bend for `Assembly.add_bent`: from x = `at` mm of the flat outline on, θ·(R + t/2) long.

    `radius` is the inner radius R in mm, `angle_deg` the turn θ, above 0 and below 360°; `toward` says which face it closes.
    Raises `SizeError` for others.

    >>> bend(40, radius=30, angle_deg=90)
    Bend(at=40.0, radius=30.0, angle_deg=90.0, toward='back')
    """
    one_of(toward, ("show", "back"), "toward of a bend")
    angle = positive(angle_deg, "angle of a bend", unit="°")
    if angle >= 360.0:
        raise SizeError(f"angle of a bend is {angle:g}°; it must be below 360°", value=angle, limit=360.0)
    return Bend(finite(at, "at= of a bend"), positive(radius, "radius of a bend"), angle, toward)


@dataclass(frozen=True)
class SheetPart:
    """One part of a bent sheet: its piece of the outline, the frame of the sheet there, and its roll if it is bent."""

    outline: Outline
    frame: Frame
    roll: Roll | None


def parts_of(name: str, outline: Outline, rolls: Sequence[Roll], frame: Frame, thickness: float) -> list[SheetPart]:
    """The flat and the rolled parts of a sheet in order of x; `frame` is that of its first flat part.

    Raises `SizeError` for bends that overlap or reach over the sheet's ends, and `OutlineError` for holes in a bend and for
    borders that don't run straight across it.
    """
    x0, _, x1, _ = outline.bounds
    ordered = sorted(rolls, key=lambda roll: roll.start)
    for before, after in pairwise(ordered):
        if after.start < before.start + before.length - SAME_PLACE:
            raise SizeError(
                f"sheet {name!r}: the bend at {before.start:g} mm is {before.length:.3f} mm long and reaches into the next one "
                f"at {after.start:g} mm; move that to at least {before.start + before.length:.3f} mm",
                value=after.start,
                limit=before.start + before.length,
            )
    for roll in ordered:
        if roll.start < x0 + SAME_PLACE or roll.start + roll.length > x1 - SAME_PLACE:
            raise SizeError(
                f"sheet {name!r}: the bend at {roll.start:g} mm is {roll.length:.3f} mm long, but the sheet spans {x0:.3f} to "
                f"{x1:.3f} mm and must go on flat on both sides of it; make the sheet longer or move the bend",
                value=(roll.start, roll.start + roll.length),
                limit=(x0, x1),
            )
    for roll in ordered:
        for hole in outline.holes:
            if hole.bounds[0] < roll.start + roll.length + FLAT_TOUCH and hole.bounds[2] > roll.start - FLAT_TOUCH:
                raise _in_bend(name, hole, roll)
    found: list[SheetPart] = []
    ends: list[float] = []
    here, place = x0, frame
    for roll in ordered:
        if roll.start - here > SAME_PLACE:
            found.append(SheetPart(_between(name, outline, here, roll.start), place, None))
            ends.append(roll.start)
        part = _between(name, outline, roll.start, roll.start + roll.length)
        _check_plain(name, part, roll)
        found.append(SheetPart(part, place, roll))
        place = roll.piece((), place, thickness).beyond
        here = roll.start + roll.length
        ends.append(here)
    found.append(SheetPart(_between(name, outline, here, x1), place, None))
    return _with_marks(found, ends, outline)


def _with_marks(parts: Sequence[SheetPart], ends: Sequence[float], outline: Outline) -> list[SheetPart]:
    """The parts with the sheet's marks, each on the part under its middle: one that runs over a bend line stays whole.

    That is right because the parts are laid flat again, just as the sheet was, before a mark is drawn.
    """
    marks: list[list[tuple[Segment, ...]]] = [[] for _ in parts]
    for mark in outline.marks:
        if mark:
            boxes = [segment.bounds for segment in mark]
            middle = (min(box[0] for box in boxes) + max(box[2] for box in boxes)) / 2
            marks[bisect(ends, middle)].append(mark)
    return [replace(part, outline=Outline(part.outline.loops, tuple(own))) for part, own in zip(parts, marks, strict=True)]


def _between(name: str, outline: Outline, low: float, high: float) -> Outline:
    """The part of an outline between two x, without its marks."""
    x0, y0, x1, y1 = outline.bounds
    cuts = [
        loop_through([(a, y0 - 1), (b, y0 - 1), (b, y1 + 1), (a, y1 + 1)])
        for a, b in ((x0 - 1, low), (high, x1 + 1))
        if b - a > 1 + SAME_PLACE
    ]
    loops = combine(outline.loops, cuts=cuts).loops if cuts else outline.loops
    if sum(loop.area > 0 for loop in loops) != 1:
        raise OutlineError(
            f"sheet {name!r} falls into pieces between x = {low:.3f} and {high:.3f} mm; leave material there", value=(low, high)
        )
    return Outline(loops)


def _check_plain(name: str, part: Outline, roll: Roll) -> None:
    _, y0, _, y1 = part.bounds
    level = [s for s in part.outer if not isinstance(s, Line) or min(_lean(s, y0), _lean(s, y1)) > ON_BEND_LINE]
    if any(not isinstance(s, Line) or abs(s.start[0] - s.end[0]) > ON_BEND_LINE for s in level):
        raise OutlineError(
            f"sheet {name!r}: its borders don't run straight across the bend from {roll.start:.3f} to "
            f"{roll.start + roll.length:.3f} mm; make them straight there",
            limit=(roll.start, roll.start + roll.length),
        )


def _in_bend(name: str, hole: Loop, roll: Roll) -> OutlineError:
    x0, y0, x1, y1 = hole.bounds
    how = "lies in" if x0 < roll.start + roll.length - FLAT_TOUCH and x1 > roll.start + FLAT_TOUCH else "touches"
    return OutlineError(
        f"sheet {name!r}: the cut-out of {x1 - x0:.2f} × {y1 - y0:.2f} mm around ({(x0 + x1) / 2:.2f}, "
        f"{(y0 + y1) / 2:.2f}) {how} the bend from {roll.start:.3f} to "
        f"{roll.start + roll.length:.3f} mm, where slits go; move it out",
        value=(x0, x1),
        limit=(roll.start, roll.start + roll.length),
    )


def _lean(line: Line, level: float) -> float:
    return max(abs(line.start[1] - level), abs(line.end[1] - level))
