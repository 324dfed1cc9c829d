"""Sheets that are bent where they stand: split at their bend lines into flat and rolled parts, each with its frame.

A sheet keeps one coordinate system, that of its flat outline, through all its parts: x runs across the bend lines.  A
`Bend` says where one begins; a `path` of lines and arcs says the same for a wall that goes round something.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from panelwright.plates._validate import finite, positive
from panelwright.plates.bending import Roll
from panelwright.plates.curves import Arc, Line, Loop, Point, loop_through
from panelwright.plates.errors import OutlineError, SizeError
from panelwright.plates.frame import Frame
from panelwright.plates.outline import Outline
from panelwright.plates.region import combine

__all__ = ["Bend", "SheetPart", "WallPath", "bend", "nearest", "parts_of", "wall_path"]

LEAST = 1e-6
"""Shortest part that counts, mm."""

BORDER = 1e-6
"""How far a border may lean over a bend, mm."""

CORNER_DEG = 0.01
"""Turn between two pieces of a path up to which they count as tangent."""


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

    >>> bend(40, radius=30, angle_deg=90)
    Bend(at=40.0, radius=30.0, angle_deg=90.0, toward='back')
    """
    if toward not in ("show", "back"):
        raise SizeError(f"toward of a bend is {toward!r}; give 'show' or 'back'", value=toward)
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
        if after.start < before.start + before.length - LEAST:
            raise SizeError(
                f"sheet {name!r}: the bend at {before.start:g} mm is {before.length:.3f} mm long and reaches into the next one "
                f"at {after.start:g} mm; move that to at least {before.start + before.length:.3f} mm",
                value=after.start,
                limit=before.start + before.length,
            )
    for roll in ordered:
        if roll.start < x0 + LEAST or roll.start + roll.length > x1 - LEAST:
            raise SizeError(
                f"sheet {name!r}: the bend at {roll.start:g} mm is {roll.length:.3f} mm long, but the sheet spans {x0:.3f} to "
                f"{x1:.3f} mm and must go on flat on both sides of it; make the sheet longer or move the bend",
                value=(roll.start, roll.start + roll.length),
                limit=(x0, x1),
            )
    found: list[SheetPart] = []
    here, place = x0, frame
    for roll in ordered:
        if roll.start - here > LEAST:
            found.append(SheetPart(_between(name, outline, here, roll.start), place, None))
        part = _between(name, outline, roll.start, roll.start + roll.length)
        _check_plain(name, part, roll)
        found.append(SheetPart(part, place, roll))
        place = roll.piece((), place, thickness).beyond
        here = roll.start + roll.length
    found.append(SheetPart(_between(name, outline, here, x1), place, None))
    return found


def _between(name: str, outline: Outline, low: float, high: float) -> Outline:
    """The part of an outline between two x, marks included where they lie wholly inside."""
    x0, y0, x1, y1 = outline.bounds
    cuts = [
        loop_through([(a, y0 - 1), (b, y0 - 1), (b, y1 + 1), (a, y1 + 1)])
        for a, b in ((x0 - 1, low), (high, x1 + 1))
        if b - a > 1 + LEAST
    ]
    loops = combine(outline.loops, cuts=cuts).loops if cuts else outline.loops
    if sum(loop.area > 0 for loop in loops) != 1:
        raise OutlineError(
            f"sheet {name!r} falls into pieces between x = {low:.3f} and {high:.3f} mm; leave material there", value=(low, high)
        )
    marks = tuple(
        mark for mark in outline.marks if all(low - LEAST <= s.bounds[0] and s.bounds[2] <= high + LEAST for s in mark)
    )
    return Outline(loops, marks)


def _check_plain(name: str, part: Outline, roll: Roll) -> None:
    if part.holes:
        x0, y0, x1, y1 = part.holes[0].bounds
        raise OutlineError(
            f"sheet {name!r}: the cut-out of {x1 - x0:.2f} × {y1 - y0:.2f} mm around ({(x0 + x1) / 2:.2f}, "
            f"{(y0 + y1) / 2:.2f}) lies in the bend from {roll.start:.3f} to "
            f"{roll.start + roll.length:.3f} mm, where slits go; move it out",
            value=(x0, x1),
            limit=(roll.start, roll.start + roll.length),
        )
    _, y0, _, y1 = part.bounds
    level = [s for s in part.outer if not isinstance(s, Line) or min(_lean(s, y0), _lean(s, y1)) > BORDER]
    if any(not isinstance(s, Line) or abs(s.start[0] - s.end[0]) > BORDER for s in level):
        raise OutlineError(
            f"sheet {name!r}: its borders don't run straight across the bend from {roll.start:.3f} to "
            f"{roll.start + roll.length:.3f} mm; make them straight there",
            limit=(roll.start, roll.start + roll.length),
        )


def _lean(line: Line, level: float) -> float:
    return max(abs(line.start[1] - level), abs(line.end[1] - level))


@dataclass(frozen=True)
class WallPath:
    """A wall's way round a path: its bends, its length along the middle, where it starts, and which way it leaves there."""

    rolls: tuple[Roll, ...]
    length: float
    start: Point
    tangent: Point
    stations: tuple[tuple[float, float, Line | Arc], ...]
    """Where each piece of the path begins and ends along the wall, and the piece."""

    def position_of(self, point: Point) -> float:
        """How far along the wall the point of the path nearest to `point` lies, mm."""
        number, share = nearest([segment for _, _, segment in self.stations], point)
        low, high, _ = self.stations[number]
        return low + share * (high - low)


def nearest(segments: Sequence[Line | Arc], point: Point) -> tuple[int, float]:
    """The segment with the point nearest to a given one, and the share of its way where that lies.

    >>> nearest([Line((0, 0), (4, 0)), Line((4, 0), (4, 4))], (5.0, 1.0))
    (1, 0.25)
    """
    best = (math.inf, 0, 0.0)
    for number, segment in enumerate(segments):
        if isinstance(segment, Line):
            (x0, y0), (tx, ty) = segment.start, segment.tangent_at(0.0)
            share = ((point[0] - x0) * tx + (point[1] - y0) * ty) / segment.length
        else:
            x, y = point[0] - segment.center[0], point[1] - segment.center[1]
            turn = (math.atan2(y, x) - segment.start_angle) * math.copysign(1.0, segment.sweep)
            # beyond the ends, the nearer one counts
            over = (turn % math.tau) / abs(segment.sweep)
            share = over if over <= (math.pi / abs(segment.sweep) + 0.5) else 0.0
        share = min(1.0, max(0.0, share))
        best = min(best, (round(math.dist(segment.point_at(share), point), 9), number, share))
    return best[1], best[2]


def wall_path(loop: Loop, thickness: float, *, outside: bool, seam: Point | None, land: float) -> WallPath:
    """The way of a wall round a loop of lines and arcs, counter-clockwise, its show face outwards.

    The wall stands outside the loop, or inside it if `outside` is False.  It starts and ends at `seam`, the point of the
    loop nearest to it: by default the loop's one sharp corner, or the middle of its longest straight side.  Where the seam
    lies on an arc, the wall is flat over `land` mm on either side of it, and stands out there a little.

    Raises `OutlineError` for curves that are no arcs, and for sharp corners elsewhere; `SizeError` for arcs too tight for
    the wall.
    """
    loop = loop.counter_clockwise()
    segments: list[Line | Arc] = []
    for segment in loop:
        if not isinstance(segment, Line | Arc):
            raise OutlineError(
                f"a wall can't follow a {type(segment).__name__} as it is; give the path as arcs, by in_arcs()"
            )
        segments.append(segment)
    corners = [i for i in range(len(segments)) if _turn_deg(segments[i - 1], segments[i]) > CORNER_DEG]
    segments = _begun(segments, corners, seam)
    inner = [i for i in range(1, len(segments)) if _turn_deg(segments[i - 1], segments[i]) > CORNER_DEG]
    if inner:
        x, y = segments[inner[0]].start
        raise OutlineError(
            f"the path has a sharp corner at ({x:.2f}, {y:.2f}), where a sheet can't bend; round it, or start the wall there "
            "by seam=",
            value=(x, y),
        )
    rolls: list[Roll] = []
    stations: list[tuple[float, float, Line | Arc]] = []
    here = 0.0
    starts_round, ends_round = isinstance(segments[0], Arc), isinstance(segments[-1], Arc)
    side = 1.0 if outside else -1.0
    start, tangent = segments[0].start, segments[0].tangent_at(0.0)
    for number, segment in enumerate(segments):
        began = here
        if isinstance(segment, Line):
            here += segment.length
            stations.append((began, here, segment))
            continue
        grows = 1.0 if segment.sweep > 0 else -1.0
        radius = segment.radius + side * grows * thickness / 2
        if radius - thickness / 2 <= LEAST:
            x, y = segment.center
            raise SizeError(
                f"the arc of {segment.radius:g} mm about ({x:.2f}, {y:.2f}) leaves the wall an inner radius of "
                f"{radius - thickness / 2:.3f} mm; make it larger",
                value=segment.radius,
                limit=thickness,
            )
        sweep = abs(segment.sweep)
        # square ends meet at the inner face, where there is least room
        lean = math.atan2(land, radius - thickness / 2)
        if number == 0 and starts_round:
            here, sweep = here + land, sweep - lean
            # the wall starts on the tangent at the end of the land, a little off the arc
            at = segment.point_at(lean / abs(segment.sweep))
            tangent = segment.tangent_at(lean / abs(segment.sweep))
            start = (at[0] - land * tangent[0], at[1] - land * tangent[1])
        if number == len(segments) - 1 and ends_round:
            sweep -= lean
        if sweep <= LEAST:
            raise SizeError("the arc at the seam is too short for its flat ends; put the seam elsewhere", value=segment.length)
        roll = Roll(here, radius, -grows * sweep)
        rolls.append(roll)
        here += roll.length
        if number == len(segments) - 1 and ends_round:
            here += land
        stations.append((began, here, segment))
    return WallPath(tuple(rolls), here, start, tangent, tuple(stations))


def _turn_deg(before: Line | Arc, after: Line | Arc) -> float:
    (a, b), (c, d) = before.tangent_at(1.0), after.tangent_at(0.0)
    return abs(math.degrees(math.atan2(a * d - b * c, a * c + b * d)))


def _begun(segments: list[Line | Arc], corners: Sequence[int], seam: Point | None) -> list[Line | Arc]:
    """The segments begun at the seam, split there if need be."""
    if seam is None:
        if corners:
            return segments[corners[0] :] + segments[: corners[0]]
        lines = [i for i, s in enumerate(segments) if isinstance(s, Line)]
        number = max(lines or range(len(segments)), key=lambda i: (round(segments[i].length, 6), -i))
        share = 0.5
    else:
        number, share = nearest(segments, seam)
    segment = segments[number]
    if share * segment.length < LEAST:
        return segments[number:] + segments[:number]
    if (1 - share) * segment.length < LEAST:
        return segments[number + 1 :] + segments[: number + 1]
    first, second = _halves(segment, share)
    return [second, *segments[number + 1 :], *segments[:number], first]


def _halves(segment: Line | Arc, share: float) -> tuple[Line | Arc, Line | Arc]:
    middle = segment.point_at(share)
    if isinstance(segment, Line):
        return Line(segment.start, middle), Line(middle, segment.end)
    return (
        Arc(segment.start, middle, segment.center, segment.sweep * share),
        Arc(middle, segment.end, segment.center, segment.sweep * (1 - share)),
    )
