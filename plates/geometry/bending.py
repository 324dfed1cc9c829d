"""A flat panel and the same panel bent: which part of it stays flat, which part lies on a cylinder, and where points go.

A bent panel is drawn flat, in its own plane, over the middle of the sheet's thickness.  It is made of *pieces*: a `FlatPiece`
stands at a frame; a `RoundPiece` is rolled onto a cylinder between two parallel bend lines.  Coordinates are the panel's: x and
y in its plane, z from 0 at the back to the thickness at the show face.  Every piece says where such a point goes.

The middle of the sheet keeps its length, so a point stays on its radius and equal areas of the panel take equal volumes of the
bent solid (Pappus): the volume of any round piece is its flat area times the thickness, exactly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from panelwright.plates.tolerances import ON_BEND_LINE

from .curves import Arc, EllipseArc, Line, Loop, Point, Segment
from .frame import Frame, Vector, cross, minus, plus, scaled

__all__ = ["FlatPiece", "Piece", "Roll", "RoundPiece", "split_for_bending"]


@dataclass(frozen=True)
class Roll:
    """How a plate is rolled onto a cylinder, in its own plane: from the bend line x = `start` on, towards greater x.

    `radius` is that of the middle of the sheet in mm; `angle` in radians is positive where it turns towards the show face.
    """

    start: float
    radius: float
    angle: float

    @property
    def length(self) -> float:
        """Distance between the two bend lines in the flat plate, mm."""
        return self.radius * abs(self.angle)

    def piece(self, loops: tuple[Loop, ...], frame: Frame, thickness: float) -> RoundPiece:
        """The rolled plate, its frame being that of the sheet before the first bend line."""
        return RoundPiece(loops, frame, (self.start, 0.0), (0.0, 1.0), (1.0, 0.0), self.radius, self.angle, thickness)


@dataclass(frozen=True, eq=False)
class FlatPiece:
    """A part of the panel that stays flat: `frame` takes panel coordinates into space."""

    loops: tuple[Loop, ...]
    frame: Frame

    def point(self, spot: Point, z: float) -> Vector:
        """Where a point of the panel goes."""
        return self.frame.point((spot[0], spot[1], z))


@dataclass(frozen=True, eq=False)
class RoundPiece:
    """A part of the panel that is rolled onto a cylinder.

    `frame` takes panel coordinates into space up to the first bend line, which runs through `origin` along `along`; the
    piece lies beyond it in the direction `across`, for `radius` · |`angle`| mm.  `radius` is that of the middle of the
    sheet, `angle` in radians is positive where the panel turns towards its show face.

    >>> arc = RoundPiece((), Frame(), (0.0, 0.0), (0.0, 1.0), (1.0, 0.0), 10.0, math.pi / 2, 2.0)
    >>> [round(value, 6) + 0.0 for value in arc.point((5 * math.pi, 3.0), 1.0)]
    [10.0, 3.0, 11.0]
    """

    loops: tuple[Loop, ...]
    frame: Frame
    origin: Point
    along: Point
    across: Point
    radius: float
    angle: float
    thickness: float

    @property
    def length(self) -> float:
        """Distance between the two bend lines in the flat panel, mm."""
        return self.radius * abs(self.angle)

    @property
    def sign(self) -> float:
        """1 where the axis lies on the show face's side, −1 where it lies behind the back."""
        return math.copysign(1.0, self.angle)

    def flat(self, spot: Point) -> Point:
        """A panel point as distance beyond the first bend line and position along it."""
        x, y = spot[0] - self.origin[0], spot[1] - self.origin[1]
        return (x * self.across[0] + y * self.across[1], x * self.along[0] + y * self.along[1])

    @property
    def axis(self) -> tuple[Vector, Vector, Vector, Vector]:
        """Centre on the axis, direction of the axis, radial direction at the first bend line, and tangent there.

        The direction is radial × tangent, so that angles grow with the distance from the bend line.
        """
        center = self.frame.point((*self.origin, self.thickness / 2 + self.sign * self.radius))
        radial = scaled(self.frame.z, -self.sign)
        tangent = self.frame.direction((*self.across, 0.0))
        return center, cross(radial, tangent), radial, tangent

    def radius_at(self, z: float) -> float:
        """Radius of the cylinder on which points of height z lie."""
        return self.radius - self.sign * (z - self.thickness / 2)

    def direction(self, spot: Point, way: Vector) -> Vector:
        """Where a direction at a point of the panel goes; along the sheet, lengths are those in the middle of it."""
        phi = self.flat(spot)[0] / self.radius
        _, _, radial, tangent = self.axis
        forth = way[0] * self.across[0] + way[1] * self.across[1]
        up = way[0] * self.along[0] + way[1] * self.along[1]
        around = self.frame.direction((*self.along, 0.0))
        ahead = plus(scaled(tangent, math.cos(phi)), scaled(radial, -math.sin(phi)))
        outwards = plus(scaled(radial, math.cos(phi)), scaled(tangent, math.sin(phi)))
        return plus(plus(scaled(ahead, forth), scaled(around, up)), scaled(outwards, -self.sign * way[2]))

    def point(self, spot: Point, z: float) -> Vector:
        """Where a point of the panel goes."""
        s, u = self.flat(spot)
        center, _, radial, tangent = self.axis
        around = self.frame.direction((*self.along, 0.0))
        rho, phi = self.radius_at(z), s / self.radius
        outwards = plus(scaled(radial, rho * math.cos(phi)), scaled(tangent, rho * math.sin(phi)))
        return plus(plus(center, scaled(around, u)), outwards)

    @property
    def beyond(self) -> Frame:
        """The frame that takes panel coordinates into space beyond the second bend line."""
        center, direction, _, _ = self.axis
        back = (-self.length * self.across[0], -self.length * self.across[1], 0.0)
        shifted = self.frame.shifted(self.frame.direction(back))
        turn = Frame.turned(direction, math.degrees(abs(self.angle)))

        origin = plus(center, turn.direction(minus(shifted.origin, center)))
        return Frame(origin, turn.direction(shifted.x), turn.direction(shifted.y), turn.direction(shifted.z))


Piece = FlatPiece | RoundPiece


def split_for_bending(pieces: Sequence[Piece]) -> list[tuple[Loop, ...]]:
    """The loops of each piece, split so that neighbours share whole segments along their bend lines.

    A straight segment on a bend line is split where the other piece has a corner on it.  Full circles and ellipses are split in
    halves, since a closed edge has no place for the corner that its wall needs.
    """
    lines = [line for piece in pieces if isinstance(piece, RoundPiece) for line in _bend_lines(piece)]
    owners = [loop for piece in pieces for loop in piece.loops]
    spots = np.array([segment.start for loop in owners for segment in loop]).reshape(-1, 2)
    near = np.zeros(len(spots), dtype=bool)
    for (ox, oy), (nx, ny) in lines:
        near |= np.abs((spots[:, 0] - ox) * nx + (spots[:, 1] - oy) * ny) < ON_BEND_LINE
    starts = np.cumsum([0, *(len(loop) for loop in owners)])[:-1]
    is_near = iter(np.logical_or.reduceat(near, starts).tolist())
    on_lines: list[Point] = []
    for x, y in sorted(spots[near].tolist()):
        if not any(math.dist((x, y), known) < 2 * ON_BEND_LINE for known in on_lines[-8:]):
            on_lines.append((x, y))
    return [tuple(_split(loop, lines if next(is_near) else (), on_lines) for loop in piece.loops) for piece in pieces]


_BendLine = tuple[Point, Point]


def _bend_lines(piece: RoundPiece) -> tuple[_BendLine, _BendLine]:
    far = (piece.origin[0] + piece.length * piece.across[0], piece.origin[1] + piece.length * piece.across[1])
    return (piece.origin, piece.across), (far, piece.across)


def _off(point: Point, line: _BendLine) -> float:
    (ox, oy), (nx, ny) = line
    return abs((point[0] - ox) * nx + (point[1] - oy) * ny)


def _split(loop: Loop, lines: Sequence[_BendLine], spots: Sequence[Point]) -> Loop:
    if not lines and len(loop) > 1:
        return loop
    segments: list[Segment] = []
    for segment in loop:
        if isinstance(segment, Line):
            segment = _snapped(segment, lines, spots)
            on = [line for line in lines if _off(segment.start, line) < ON_BEND_LINE and _off(segment.end, line) < ON_BEND_LINE]
            segments.extend(_split_line(segment, spots) if on else [segment])
        elif isinstance(segment, Arc) and segment.is_full:
            half = segment.sweep / 2
            opposite = (2 * segment.center[0] - segment.start[0], 2 * segment.center[1] - segment.start[1])
            segments += [
                Arc(segment.start, opposite, segment.center, half),
                Arc(opposite, segment.start, segment.center, half),
            ]
        elif isinstance(segment, EllipseArc) and segment.is_full:
            middle = (segment.first + segment.last) / 2
            segments += [
                EllipseArc(segment.center, segment.major, segment.ratio, segment.first, middle),
                EllipseArc(segment.center, segment.major, segment.ratio, middle, segment.last),
            ]
        else:
            segments.append(segment)
    return Loop(tuple(segments))


def _snapped(line: Line, lines: Sequence[_BendLine], spots: Sequence[Point]) -> Line:
    """The line with ends that lie on a bend line moved to the corner that all pieces share there."""
    ends: list[tuple[float, float]] = []
    for end in (line.start, line.end):
        if any(_off(end, bend) < ON_BEND_LINE for bend in lines):
            end = min(spots, key=lambda spot: math.dist(spot, end))
        ends.append(end)
    return Line(ends[0], ends[1])


def _split_line(line: Line, spots: Sequence[Point]) -> list[Segment]:
    (x0, y0), length = line.start, line.length
    dx, dy = line.tangent_at(0.0)
    found: list[tuple[float, Point]] = []
    for x, y in spots:
        run, off = (x - x0) * dx + (y - y0) * dy, (x - x0) * dy - (y - y0) * dx
        if abs(off) < ON_BEND_LINE and ON_BEND_LINE < run < length - ON_BEND_LINE:
            found.append((run, (x, y)))
    found.sort()
    points = [line.start]
    for run, point in found:
        if math.dist(points[-1], point) > ON_BEND_LINE and run > ON_BEND_LINE:
            points.append(point)
    points.append(line.end)
    return [Line(p, q) for p, q in pairwise(points)]
