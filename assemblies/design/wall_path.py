"""Walls that go round a path of lines and arcs: where they bend, and where the path's points lie along them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from panelwright.joints.meeting.common_ground import ANGLES_DEG
from panelwright.plates.errors import OutlineError, SizeError
from panelwright.plates.geometry.bending import Roll
from panelwright.plates.geometry.curves import Arc, Line, Loop, Point
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.outlines.outline import Outline
from panelwright.plates.outlines.shapes import rectangle
from panelwright.plates.tolerances import SAME_PLACE

from .bent_sheet import SheetPart, parts_of

__all__ = ["WallPath", "fingered_land", "nearest", "wall_path", "wrapped_parts"]

CORNER_DEG = 0.01
"""Turn between two pieces of a path up to which they count as tangent."""


def fingered_land(inner_radius: float) -> float:
    """The shortest `land`, in whole half millimetres, at which fingers close a seam on an arc of that inner radius in mm.

    Each end leans by atan(land / radius); from 30° between the two on square cuts hold.

    >>> fingered_land(77.0)
    21.0
    """
    return math.ceil(2 * (inner_radius * math.tan(math.radians(ANGLES_DEG[0] / 2)) + SAME_PLACE)) / 2


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
            raise OutlineError(f"a wall can't follow a {type(segment).__name__} as it is; give the path as arcs, by in_arcs()")
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
        if radius - thickness / 2 <= SAME_PLACE:
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
        if sweep <= SAME_PLACE:
            raise SizeError("the arc at the seam is too short for its flat ends; put the seam elsewhere", value=segment.length)
        roll = Roll(here, radius, -grows * sweep)
        here += roll.length
        before = rolls[-1] if rolls else None
        is_same = before is not None and before.angle * roll.angle > 0 and abs(before.radius - radius) < SAME_PLACE
        if before is not None and is_same and abs(before.start + before.length - began) < SAME_PLACE:
            # tangent arcs of one radius are one arc: one bend, whose slits go on across
            rolls[-1] = Roll(before.start, radius, before.angle + roll.angle)
        else:
            rolls.append(roll)
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
    if share * segment.length < SAME_PLACE:
        return segments[number:] + segments[:number]
    if (1 - share) * segment.length < SAME_PLACE:
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


def wrapped_parts(
    name: str,
    height: float,
    way: WallPath,
    ground: Frame,
    thickness: float,
    *,
    outside: bool,
    cut: Sequence[Any],
    zero: Point | None,
) -> list[SheetPart]:
    """The parts of a wall of a given height on its way round a path in the plane of `ground`, show face outwards.

    `cut` are cut-outs in the flat wall, x counted from the path's point nearest to `zero`, or from the seam.
    """
    flat: Outline = rectangle(way.length, height).at(way.length / 2, height / 2)
    if cut:
        origin = 0.0 if zero is None else way.position_of(zero)
        flat = flat.at(-origin, 0.0).cut(*cut).at(origin, 0.0)
    (x, y), (tx, ty) = way.start, way.tangent
    inwards = 0.0 if outside else thickness
    # right is along the path, up is out of its plane, so that the show face looks to the right of travel: outwards
    right, look = ground.direction((tx, ty, 0.0)), ground.direction((ty, -tx, 0.0))
    frame = Frame(ground.point((x - inwards * ty, y + inwards * tx, 0.0)), right, ground.z, look)
    return parts_of(name, flat, way.rolls, frame, thickness)
