"""Planar curves and the closed loops made of them.

Everything flat in the toolkit is a `Loop`: a closed chain of segments in millimetres in a plate's own plane.  There are
four kinds of segment, and each stays what it is through every operation and into every file: `Line`, `Arc` (a circle
is one arc of a full turn), `EllipseArc` and `Spline`.  All are frozen; moving one gives another.

Orientation: a loop is counter-clockwise when its area is positive.  Outer loops run counter-clockwise and holes
clockwise, so material always lies to the left.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from panelwright.plates.tolerances import CHORD_TOLERANCE, TURN_ROUNDING

from .motion import TURN, Bounds, Motion, Point, cos_sin_deg
from .spline import Spline

__all__ = [
    "TURN",
    "Arc",
    "Bounds",
    "EllipseArc",
    "Line",
    "Loop",
    "Motion",
    "Point",
    "Segment",
    "Spline",
    "around",
    "cos_sin_deg",
    "loop_through",
    "points_along",
]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight segment."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Length in mm."""
        return math.dist(self.start, self.end)

    @property
    def bounds(self) -> Bounds:
        """(x least, y least, x most, y most)."""
        (x0, y0), (x1, y1) = self.start, self.end
        return (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))

    def point_at(self, share: float) -> Point:
        """The point at a share of the way, 0 at the start and 1 at the end."""
        (x0, y0), (x1, y1) = self.start, self.end
        return (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share)

    def tangent_at(self, share: float) -> Point:
        """Unit direction of travel."""
        (x0, y0), (x1, y1) = self.start, self.end
        length = math.hypot(x1 - x0, y1 - y0)
        return ((x1 - x0) / length, (y1 - y0) / length)

    def reversed(self) -> Line:
        """The same segment travelled the other way."""
        return Line(self.end, self.start)

    def moved(self, motion: Motion) -> Line:
        """The segment after a rigid motion or mirror."""
        return Line(motion.apply(self.start), motion.apply(self.end))

    def area_term(self) -> float:
        """½∮(x dy − y dx) along the segment; the sum over a loop is its signed area."""
        return 0.5 * (self.start[0] * self.end[1] - self.end[0] * self.start[1])

    def chords(self, tolerance: float) -> list[Point]:
        """Points from the start up to, but without, the end."""
        return [self.start]


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc about `center`; `sweep` is its signed turn in radians, positive counter-clockwise.

    A full circle has start equal to end and a sweep of ±2π.

    >>> Arc((1.0, 0.0), (1.0, 0.0), (0.0, 0.0), 2 * math.pi).is_full
    True
    """

    start: Point
    end: Point
    center: Point
    sweep: float

    @property
    def radius(self) -> float:
        """Radius in mm."""
        return math.dist(self.start, self.center)

    @property
    def is_full(self) -> bool:
        """Whether the arc is a whole circle."""
        return abs(self.sweep) > TURN - 1e-12

    @property
    def length(self) -> float:
        """Length in mm."""
        return self.radius * abs(self.sweep)

    @property
    def start_angle(self) -> float:
        """Polar angle of the start seen from the centre, radians."""
        return math.atan2(self.start[1] - self.center[1], self.start[0] - self.center[0])

    @property
    def bounds(self) -> Bounds:
        """(x least, y least, x most, y most)."""
        cx, cy = self.center
        radius = self.radius
        if self.is_full:
            return (cx - radius, cy - radius, cx + radius, cy + radius)
        xs, ys = [self.start[0], self.end[0]], [self.start[1], self.end[1]]
        low = self.start_angle if self.sweep > 0 else self.start_angle + self.sweep
        high = low + abs(self.sweep)
        quarter = math.ceil(low / (math.pi / 2))
        while quarter * math.pi / 2 <= high:
            cosine, sine = cos_sin_deg(90.0 * quarter)
            xs.append(cx + radius * cosine)
            ys.append(cy + radius * sine)
            quarter += 1
        return (min(xs), min(ys), max(xs), max(ys))

    def point_at(self, share: float) -> Point:
        """The point at a share of the way, 0 at the start and 1 at the end."""
        if share == 0.0:
            return self.start
        if share == 1.0:
            return self.end
        angle = self.start_angle + self.sweep * share
        radius = self.radius
        return (self.center[0] + radius * math.cos(angle), self.center[1] + radius * math.sin(angle))

    def tangent_at(self, share: float) -> Point:
        """Unit direction of travel."""
        x, y = self.point_at(share)
        radius = self.radius if self.sweep > 0 else -self.radius
        return (-(y - self.center[1]) / radius, (x - self.center[0]) / radius)

    def reversed(self) -> Arc:
        """The same arc travelled the other way."""
        return Arc(self.end, self.start, self.center, -self.sweep)

    def moved(self, motion: Motion) -> Arc:
        """The arc after a rigid motion or mirror."""
        return Arc(
            motion.apply(self.start),
            motion.apply(self.end),
            motion.apply(self.center),
            -self.sweep if motion.flips else self.sweep,
        )

    def area_term(self) -> float:
        """½∮(x dy − y dx): the chord's term plus the circular segment ½r²(θ − sin θ)."""
        chord = 0.5 * (self.start[0] * self.end[1] - self.end[0] * self.start[1])
        return chord + 0.5 * self.radius**2 * (self.sweep - math.sin(self.sweep))

    def chord_count(self, tolerance: float) -> int:
        """How many equal chords keep within `tolerance` mm of the arc."""
        radius = self.radius
        step = 2.0 * math.acos(max(0.0, 1.0 - tolerance / radius)) if radius > tolerance else math.pi / 2
        return max(2, math.ceil(abs(self.sweep) / max(step, 1e-3)))

    def chords(self, tolerance: float) -> list[Point]:
        """Points from the start up to, but without, the end, no chord further than `tolerance` from the arc."""
        radius, count = self.radius, self.chord_count(tolerance)
        angle = self.start_angle
        cx, cy = self.center
        points = [self.start]
        for index in range(1, count):
            turned = angle + self.sweep * index / count
            points.append((cx + radius * math.cos(turned), cy + radius * math.sin(turned)))
        return points


@dataclass(frozen=True, slots=True)
class EllipseArc:
    """An arc of an ellipse.

    `major` is the vector from the centre to the end of the longer half axis, `ratio` the shorter half axis over the
    longer, `first` and `last` the eccentric angles of start and end in radians.  Travel is counter-clockwise when
    `last` is above `first`.  A mirrored ellipse is again of this form.
    """

    center: Point
    major: Point
    ratio: float
    first: float
    last: float

    def _at(self, angle: float) -> Point:
        (mx, my), k = self.major, self.ratio
        cosine, sine = math.cos(angle), math.sin(angle)
        return (self.center[0] + mx * cosine - my * k * sine, self.center[1] + my * cosine + mx * k * sine)

    def _speed(self, angle: float) -> Point:
        (mx, my), k = self.major, self.ratio
        cosine, sine = math.cos(angle), math.sin(angle)
        return (-mx * sine - my * k * cosine, -my * sine + mx * k * cosine)

    @property
    def start(self) -> Point:
        """First point."""
        return self._at(self.first)

    @property
    def end(self) -> Point:
        """Last point."""
        return self._at(self.last)

    @property
    def is_full(self) -> bool:
        """Whether the arc is a whole ellipse."""
        return abs(self.last - self.first) > TURN - TURN_ROUNDING

    @property
    def length(self) -> float:
        """Length in mm, by 64-panel Simpson's rule (no closed form exists)."""
        count = 64
        step = (self.last - self.first) / count
        speeds = [math.hypot(*self._speed(self.first + step * i)) for i in range(count + 1)]
        return abs(step) / 3 * (speeds[0] + speeds[-1] + 4 * sum(speeds[1:-1:2]) + 2 * sum(speeds[2:-1:2]))

    @property
    def bounds(self) -> Bounds:
        """(x least, y least, x most, y most)."""
        (mx, my), k = self.major, self.ratio
        angles = [self.first, self.last]
        low, high = min(angles), max(angles)
        for base in (math.atan2(-my * k, mx), math.atan2(mx * k, my)):
            turns = math.ceil((low - base) / math.pi)
            while base + turns * math.pi <= high:
                angles.append(base + turns * math.pi)
                turns += 1
        xs, ys = zip(*(self._at(angle) for angle in angles), strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    def point_at(self, share: float) -> Point:
        """The point at a share of the eccentric angle."""
        return self._at(self.first + (self.last - self.first) * share)

    def tangent_at(self, share: float) -> Point:
        """Unit direction of travel."""
        dx, dy = self._speed(self.first + (self.last - self.first) * share)
        size = math.hypot(dx, dy) * (1.0 if self.last > self.first else -1.0)
        return (dx / size, dy / size)

    def reversed(self) -> EllipseArc:
        """The same arc travelled the other way."""
        return EllipseArc(self.center, self.major, self.ratio, self.last, self.first)

    def moved(self, motion: Motion) -> EllipseArc:
        """The arc after a rigid motion or mirror."""
        sign = -1.0 if motion.flips else 1.0
        return EllipseArc(motion.apply(self.center), motion.turned(self.major), self.ratio, sign * self.first, sign * self.last)

    def area_term(self) -> float:
        """½∮(x dy − y dx) along the arc, in closed form."""
        sweep = self.last - self.first
        own = 0.5 * (self.major[0] ** 2 + self.major[1] ** 2) * self.ratio * sweep
        (x0, y0), (x1, y1) = self.start, self.end
        cx, cy = self.center
        return own + 0.5 * (cx * (y1 - y0) - cy * (x1 - x0))

    def chords(self, tolerance: float) -> list[Point]:
        """Points from the start up to, but without, the end, no chord further than `tolerance` from the arc."""
        longest = math.hypot(*self.major)
        step = 2.0 * math.acos(max(0.0, 1.0 - tolerance / longest)) if longest > tolerance else math.pi / 2
        count = max(4, math.ceil(abs(self.last - self.first) / max(step, 1e-3)))
        return [self.point_at(index / count) for index in range(count)]


Segment = Line | Arc | EllipseArc | Spline


@dataclass(frozen=True)
class Loop:
    """A closed chain of segments, each starting where the one before it ends.

    >>> square = loop_through([(0, 0), (2, 0), (2, 2), (0, 2)])
    >>> square.area, square.length, square.is_counter_clockwise
    (4.0, 8.0, True)
    >>> square.reversed().area
    -4.0
    """

    segments: tuple[Segment, ...]

    def __iter__(self) -> Iterator[Segment]:
        return iter(self.segments)

    def __len__(self) -> int:
        return len(self.segments)

    @cached_property
    def area(self) -> float:
        """Signed area in mm², positive for counter-clockwise loops."""
        return math.fsum(segment.area_term() for segment in self.segments)

    @property
    def is_counter_clockwise(self) -> bool:
        """Whether the loop bounds what lies inside it."""
        return self.area > 0

    @cached_property
    def length(self) -> float:
        """Length in mm."""
        return math.fsum(segment.length for segment in self.segments)

    @cached_property
    def bounds(self) -> Bounds:
        """(x least, y least, x most, y most)."""
        return around(segment.bounds for segment in self.segments)

    @property
    def is_circle(self) -> bool:
        """Whether the loop is one full circle."""
        return len(self.segments) == 1 and isinstance(self.segments[0], Arc)

    @cached_property
    def is_of_lines_and_arcs(self) -> bool:
        """Whether a polyline with bulges can carry the loop exactly."""
        return all(isinstance(segment, Line | Arc) for segment in self.segments)

    def reversed(self) -> Loop:
        """The same loop travelled the other way."""
        return Loop(tuple(segment.reversed() for segment in reversed(self.segments)))

    def moved(self, motion: Motion) -> Loop:
        """The loop after a rigid motion; a mirror image keeps its orientation (outer stays outer)."""
        moved = Loop(tuple(segment.moved(motion) for segment in self.segments))
        return moved.reversed() if motion.flips else moved

    def counter_clockwise(self) -> Loop:
        """The loop, turned round if need be so that its area is positive."""
        return self if self.is_counter_clockwise else self.reversed()

    def clockwise(self) -> Loop:
        """The loop, turned round if need be so that its area is negative."""
        return self.reversed() if self.is_counter_clockwise else self

    def points(self, tolerance: float = CHORD_TOLERANCE) -> list[Point]:
        """Corners of a polygon that follows the loop within `tolerance`, without repeating the first."""
        if not self.is_of_lines_and_arcs:
            return [point for chords in self.chords(tolerance) for point in chords]
        points: list[Point] = []
        for segment in self.segments:
            if isinstance(segment, Line):
                points.append(segment.start)
            else:
                points.extend(segment.chords(tolerance))
        return points

    def chords(self, tolerance: float) -> tuple[Sequence[Point], ...]:
        """The points of each segment up to, but without, its end, no chord further than `tolerance` from it.

        Those of a loop with ellipses or splines, which take long, are computed once for each tolerance.
        """
        if self.is_of_lines_and_arcs:
            return tuple(segment.chords(tolerance) for segment in self.segments)
        found = self._followed.get(tolerance)
        if found is None:
            found = self._followed[tolerance] = tuple(tuple(segment.chords(tolerance)) for segment in self.segments)
        return found

    @cached_property
    def _followed(self) -> dict[float, tuple[Sequence[Point], ...]]:
        return {}

    def canonical(self) -> Loop:
        """The same loop, begun at its lowest leftmost corner, so that equal loops compare equal.

        A full circle or ellipse has no corner and keeps its start.
        """
        if len(self.segments) == 1:
            return self
        keys = [(round(s.start[0], 6), round(s.start[1], 6)) for s in self.segments]
        first = min(range(len(keys)), key=keys.__getitem__)
        if first == 0:
            return self  # and all that it knows of itself already
        return Loop(self.segments[first:] + self.segments[:first])


def loop_through(points: Sequence[Point] | Iterable[Point]) -> Loop:
    """The polygon through the given corners, closed; its orientation is that of the list."""
    corners = [(float(x), float(y)) for x, y in points]
    return Loop(tuple(Line(p, q) for p, q in zip(corners, corners[1:] + corners[:1], strict=True)))


def points_along(segments: Sequence[Segment], tolerance: float) -> list[Point]:
    """Points along a chain of segments, both its ends among them, no chord further than `tolerance` mm from it."""
    return [*(point for segment in segments for point in segment.chords(tolerance)), segments[-1].end]


def around(boxes: Iterable[Bounds]) -> Bounds:
    """The box around boxes.

    >>> around([(0.0, 0.0, 2.0, 1.0), (1.0, -1.0, 3.0, 0.0)])
    (0.0, -1.0, 3.0, 1.0)
    """
    lefts, lows, rights, highs = zip(*boxes, strict=True)
    return (min(lefts), min(lows), max(rights), max(highs))
