"""How long a machine takes for the paths of a sheet.

The model: the machine speeds up and slows down at one acceleration.  Along a path it keeps the cutting speed where it can; on
an arc of radius r it goes no faster than √(a·r), so that turning asks for no more acceleration than that; at a corner, where
the direction jumps by an angle θ, it slows down to cos θ of that, the share of its speed that points the new way, and from 90°
on stands still for a moment (a cautious choice, no source).  Between two places at which its speed is given it follows the
trapezoid (or triangle) of constant acceleration: v² = u² + 2·a·s, the textbook formula.  From one path to the next it travels
in a straight line from rest to rest.

A machine may take corners faster, so the time told is on the long side for paths with many corners.  Time to switch the
beam, to move it up or down and to load the sheet is not in it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from panelwright.plates._validate import positive, whole
from panelwright.plates.geometry.curves import Arc, Line, Point, Segment
from panelwright.plates.tolerances import TURN_ROUNDING

from .path import CutPath

__all__ = ["SheetTime", "Speeds", "sheet_time"]

CURVE_CHORD: Final = 0.05
"""Distance in mm between an ellipse or a spline and the chords by which its curvature is measured."""


@dataclass(frozen=True, slots=True)
class Speeds:
    """Speeds of a machine in one stock, in mm/s, its acceleration in mm/s², and how often it runs each cut.

    Without a mark speed marks count as cuts of one pass; without a travel speed travel takes no time; without an acceleration
    there is no slowing down.  `SheetTime.missing` says so.
    """

    cut_mm_s: float
    mark_mm_s: float | None = None
    travel_mm_s: float | None = None
    acceleration_mm_s2: float | None = None
    passes: int = 1

    def __post_init__(self) -> None:
        positive(self.cut_mm_s, "cutting speed", unit="mm/s")
        for value, what, unit in (
            (self.mark_mm_s, "marking speed", "mm/s"),
            (self.travel_mm_s, "travel speed", "mm/s"),
            (self.acceleration_mm_s2, "acceleration", "mm/s²"),
        ):
            if value is not None:
                positive(value, what, unit=unit)
        whole(self.passes, "number of passes")


@dataclass(frozen=True, slots=True)
class SheetTime:
    """Seconds that a machine takes for cuts, marks and travel; `missing` names what was not known and so not counted."""

    cut_s: float
    mark_s: float
    travel_s: float
    missing: tuple[str, ...] = ()

    @property
    def total_s(self) -> float:
        """All of it."""
        return self.cut_s + self.mark_s + self.travel_s


def sheet_time(paths: Sequence[CutPath], speeds: Speeds, start: Point = (0.0, 0.0)) -> SheetTime:
    """How long the paths take in the order given, from rest at `start`.

    >>> from panelwright.plates.geometry.curves import Line
    >>> line = CutPath("outside", (Line((0, 0), (100, 0)),), 0)
    >>> sheet_time([line], Speeds(10, acceleration_mm_s2=100)).cut_s  # 100 mm at 10 mm/s, and 0.1 s to speed up and slow down
    10.1
    """
    acceleration = speeds.acceleration_mm_s2
    cut = mark = travel = 0.0
    at = start
    for path in paths:
        travel += _travel(math.dist(at, path.start), speeds)
        if path.kind == "mark":
            mark += path_time(path.segments, speeds.mark_mm_s or speeds.cut_mm_s, acceleration)
            at = path.end
            continue
        once = path_time(path.segments, speeds.cut_mm_s, acceleration)
        cut += once * speeds.passes
        # an open path is run to and fro
        at = path.end if speeds.passes % 2 else path.start
    missing = tuple(
        name
        for name, value in (
            ("marking speed", speeds.mark_mm_s),
            ("travel speed", speeds.travel_mm_s),
            ("acceleration", acceleration),
        )
        if value is None
    )
    return SheetTime(round(cut, 9), round(mark, 9), round(travel, 9), missing)


def _travel(distance: float, speeds: Speeds) -> float:
    if speeds.travel_mm_s is None:
        return 0.0
    return stretch_time(distance, speeds.travel_mm_s, 0.0, 0.0, speeds.acceleration_mm_s2)


def stretch_time(distance: float, speed: float, enter: float, leave: float, acceleration: float | None) -> float:
    """Seconds for a stretch of `distance` mm at `speed` mm/s at most, entered and left at the speeds given, if it can be.

    >>> stretch_time(50, 10, 0, 0, 5)  # 2 s and 10 mm to speed up, 30 mm at speed, 2 s to slow down
    7.0
    >>> stretch_time(5, 10, 0, 0, 5)  # too short to reach 10 mm/s: a triangle, 2·√(5/5)
    2.0
    """
    if acceleration is None:
        return distance / speed
    # the speed at which speeding up and slowing down meet: v² = (u² + w²)/2 + a·s
    peak = math.sqrt((enter**2 + leave**2) / 2 + acceleration * distance)
    if peak <= speed:
        return (2 * peak - enter - leave) / acceleration
    ramps = (2 * speed**2 - enter**2 - leave**2) / (2 * acceleration)
    return (2 * speed - enter - leave) / acceleration + (distance - ramps) / speed


def path_time(segments: Sequence[Segment], speed: float, acceleration: float | None) -> float:
    """Seconds for one run along a path, from rest to rest."""
    if acceleration is None:
        return math.fsum(segment.length for segment in segments) / speed
    pieces = [piece for segment in segments for piece in _pieces(segment)]
    limits = [speed if radius is None else min(speed, math.sqrt(acceleration * radius)) for _, radius, _, _ in pieces]
    # speeds at the joints between pieces, at first as the pieces allow, then as the way to the next stop allows
    joints = [0.0]
    for k in range(1, len(pieces)):
        turn = _angle_between(pieces[k - 1][3], pieces[k][2])
        joints.append(max(0.0, math.cos(math.radians(turn))) * min(limits[k - 1], limits[k]))
    joints.append(0.0)
    for k in range(1, len(joints)):
        joints[k] = min(joints[k], math.sqrt(joints[k - 1] ** 2 + 2 * acceleration * pieces[k - 1][0]))
    for k in range(len(joints) - 2, -1, -1):
        joints[k] = min(joints[k], math.sqrt(joints[k + 1] ** 2 + 2 * acceleration * pieces[k][0]))
    return math.fsum(
        stretch_time(length, limits[k], joints[k], joints[k + 1], acceleration) for k, (length, *_) in enumerate(pieces)
    )


Piece = tuple[float, float | None, Point, Point]
"""Length, radius or None if straight, and the directions at both ends."""


def _pieces(segment: Segment) -> Iterator[Piece]:
    if isinstance(segment, Line | Arc):
        radius = segment.radius if isinstance(segment, Arc) else None
        yield segment.length, radius, segment.tangent_at(0.0), segment.tangent_at(1.0)
        return
    # an ellipse or a spline in short pieces, each as round as its change of direction says
    count = max(4, len(segment.chords(CURVE_CHORD)))
    share = [k / count for k in range(count + 1)]
    for a, b in pairwise(share):
        first, last = segment.tangent_at(a), segment.tangent_at(b)
        length = math.dist(segment.point_at(a), segment.point_at(b))
        turn = math.radians(_angle_between(first, last))
        yield length, (length / turn if turn > TURN_ROUNDING else None), first, last


def _angle_between(a: Point, b: Point) -> float:
    """Angle between two directions in degrees, 0 to 180."""
    return math.degrees(abs(math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])))
