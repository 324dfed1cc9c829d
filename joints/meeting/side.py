"""Plates as joints see them: a body, the face that is held, and a joint line as it lies in a plate's own plane."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, Protocol

from panelwright.plates.geometry.bending import Roll, RoundPiece
from panelwright.plates.geometry.curves import Loop, Motion, Point, loop_through
from panelwright.plates.geometry.frame import Frame, Vector, minus, scaled, unit
from panelwright.plates.geometry.probe import Interval, Probe, joined
from panelwright.plates.placing.plate import Plate

from .section import FAR, clip

__all__ = ["Bend", "Body", "Hold", "Side", "Slitting"]


class Slitting(Protocol):
    """What is asked of the slits that bend a sheet, as far as contacts need to know it."""

    def room_on_border(self, bend: Bend, things: int) -> float:
        """How wide each of a number of things on a border of the strip may be, mm; below 0 there is no room at all."""
        ...


@dataclass(frozen=True, eq=False)
class Body:
    """A plate as designed, under its full name, standing in the whole product's frame.

    A bent part of a sheet has a `roll`; its frame is then that of the sheet before the first bend line, and `slit` says what is
    asked of the slits that bend it.
    """

    number: int
    name: str
    plate: Plate
    frame: Frame
    roll: Roll | None = None
    slit: Slitting | None = None

    def __repr__(self) -> str:
        return f"<Body {self.name!r}, {self.plate!r}>"

    @property
    def t(self) -> float:
        """Thickness in mm."""
        return self.plate.stock.t

    @cached_property
    def rolled(self) -> RoundPiece | None:
        """Where a bent part goes; None for a flat plate."""
        return None if self.roll is None else self.roll.piece((), self.frame, self.t)

    def point(self, local: Vector) -> Vector:
        """Where a point of the plate's own coordinates stands."""
        return self.frame.point(local) if self.rolled is None else self.rolled.point(local[:2], local[2])

    def direction(self, local: Point, way: Point) -> Vector:
        """Which way, as a unit vector, a direction in the plate's own plane looks at a point of it."""
        if self.rolled is None:
            return self.frame.direction((*way, 0.0))
        step = 1e-3
        ahead = self.rolled.point((local[0] + step * way[0], local[1] + step * way[1]), 0.0)
        return unit(minus(ahead, self.rolled.point(local, 0.0)))

    @cached_property
    def probe(self) -> Probe:
        """The plate's region as designed."""
        return Probe(self.plate.outline.loops)

    @cached_property
    def hole_boxes(self) -> tuple[tuple[float, float, float, float], ...]:
        """Bounding boxes of the holes as designed."""
        return tuple(loop.bounds for loop in self.plate.outline.holes)

    @cached_property
    def meetings(self) -> dict[tuple[object, ...], object]:
        """Where its edges meet other plates, as far as that was asked: neither plate ever changes, so it is found once."""
        return {}


@dataclass(frozen=True, eq=False)
class Hold:
    """One face of a body that a joint takes hold of; `view` is the frame of the assembly in which the join was made.

    `own` is the same face in that assembly's own coordinates, where what two faces share is found once, however often the
    assembly stands in the product; a hold that is in them already has none.
    """

    body: Body
    place: tuple[object, ...]
    described: str
    view: Frame
    own: Hold | None = None

    @property
    def is_broad(self) -> bool:
        """Whether the face is a show face or a back."""
        return self.place[0] != "edge"

    @property
    def normal(self) -> Vector:
        """Unit vector out of a broad face."""
        return self.body.frame.z if self.place[0] == "show" else scaled(self.body.frame.z, -1.0)

    @property
    def segment(self) -> object:
        """The segment under an edge face."""
        loop, number = self.place[1], self.place[2]
        assert isinstance(loop, int)
        assert isinstance(number, int)
        return self.body.plate.outline.loops[loop].segments[number]


@dataclass(frozen=True, eq=False)
class Side:
    """How one plate sees the joint line: a point of it, its direction, and the axis across it, in the plate's own plane."""

    body: Body
    origin: Point
    along: Point
    across: Point
    fences: tuple[tuple[Point, float], ...] = ()
    """Lines on which the plate's neighbouring edges go on beyond this one: what it grows keeps to (u, v) · normal ≤ limit."""

    def flat(self, u: float, v: float) -> Point:
        """The point at (u, v) in the plate's own coordinates."""
        return (
            self.origin[0] + u * self.along[0] + v * self.across[0],
            self.origin[1] + u * self.along[1] + v * self.across[1],
        )

    def seen(self, point: Point) -> Point:
        """The (u, v) of a point in the plate's own coordinates."""
        x, y = point[0] - self.origin[0], point[1] - self.origin[1]
        return (x * self.along[0] + y * self.along[1], x * self.across[0] + y * self.across[1])

    def rectangle(self, u: Interval, v: Interval) -> Loop:
        """The rectangle over two intervals as a counter-clockwise loop in the plate's own coordinates."""
        corners = [(u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])]
        return loop_through([self.flat(*corner) for corner in corners]).counter_clockwise()

    def grown(self, u: Interval, v: Interval) -> Loop:
        """What the plate gains over two intervals: a rectangle, cut off where the neighbouring edges lead."""
        corners = [(u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])]
        for normal, limit in self.fences:
            corners = clip(corners, normal, -FAR, limit)
        if len(corners) < 3:
            return self.rectangle(u, v)
        return loop_through([self.flat(*corner) for corner in corners]).counter_clockwise()

    def stretches(self, v: float) -> list[Interval]:
        """Material along the line at distance v, as intervals of u."""
        return self.body.probe.along(self.flat(0.0, v), self.along)

    def columns(self, u: float) -> list[Interval]:
        """Material across the line at u, as intervals of v."""
        return self.body.probe.along(self.flat(u, 0.0), self.across)

    def run(self, probe: Probe, at: Point, way: Literal["along", "across"]) -> list[Interval]:
        """Material of a region in this plate's plane on the line through (u, v), in mm from there along u or v."""
        return probe.along(self.flat(*at), self.along if way == "along" else self.across)

    def taken(self, loop: Loop, strip: Interval) -> list[Interval]:
        """What a region in the plate's plane takes of the line: the u of that part of it whose v lies in `strip`.

        Only that part counts, or a slanting region would take the whole line.
        """
        seen = [self.seen(point) for point in loop.points(0.01)]
        if len(seen) > 4:
            return _taken_of_any(seen, strip)
        inside = clip(seen, (0.0, 1.0), *strip)
        return [(min(u for u, _ in inside), max(u for u, _ in inside))] if inside else []

    def has_material(self, points: Sequence[Point]) -> bool:
        """Whether any of the (u, v) points lies in the plate as designed."""
        return any(self.covers(points))

    def covers(self, points: Sequence[Point]) -> list[bool]:
        """For each (u, v) point whether it lies in the plate as designed."""
        return self.body.probe.covers([self.flat(u, v) for u, v in points])


def _taken_of_any(seen: Sequence[Point], strip: Interval) -> list[Interval]:
    """The same for a region of any shape, such as a ring that lies all round the line and takes nothing of it."""
    import shapely

    us = [u for u, _ in seen]
    band = shapely.box(min(us) - 1.0, strip[0], max(us) + 1.0, strip[1])
    inside = shapely.Polygon(seen).buffer(0).intersection(band)
    pieces = [piece for piece in getattr(inside, "geoms", [inside]) if piece.area > 0]
    return joined([(piece.bounds[0], piece.bounds[2]) for piece in pieces])


@dataclass(frozen=True, eq=False)
class Bend:
    """A strip bent between the edges of two plates.

    Both sides have their u along the joint line and their v out of their own edge, into the strip.  `span` is where the two
    edges face each other, in u.  `angle_deg` is the turn, `radius` the inner radius in mm, `thickness` the sheet's;
    `to_show` says whether the show faces look to the inside.
    """

    first: Side
    second: Side
    span: Interval
    angle_deg: float
    radius: float
    thickness: float
    to_show: bool

    @property
    def middle_radius(self) -> float:
        """Radius of the middle of the sheet, mm."""
        return self.radius + self.thickness / 2

    @property
    def length(self) -> float:
        """Length of the strip in the flat panel, θ·(R + t/2), mm."""
        return math.radians(self.angle_deg) * self.middle_radius

    @property
    def piece(self) -> RoundPiece:
        """The strip as it stands, on its cylinder, without its outline."""
        side, angle = self.first, math.radians(self.angle_deg) * (1 if self.to_show else -1)
        origin = side.flat(0.0, 0.0)
        return RoundPiece((), side.body.frame, origin, side.along, side.across, self.middle_radius, angle, self.thickness)

    @property
    def middle(self) -> Vector:
        """The middle of the strip where it stands, half-way through the sheet."""
        return self.piece.point(self.first.flat(sum(self.span) / 2, self.length / 2), self.thickness / 2)

    @property
    def motion(self) -> Motion:
        """From the second plate's own plane into the first one's, with the strip laid flat between them."""
        # a point at (u, v) of the second side lies at (u, length − v) of the first
        a, b = self.first, self.second
        x0, y0 = a.flat(0.0, self.length)
        (p, q), (r, s) = b.along, b.across
        (k, m), (n, o) = a.along, (-a.across[0], -a.across[1])
        # columns of the linear part: where the second plate's x and y go
        ax, cx = k * p + n * r, m * p + o * r
        bx, dx = k * q + n * s, m * q + o * s
        ox, oy = b.origin
        return Motion(ax, bx, cx, dx, x0 - ax * ox - bx * oy, y0 - cx * ox - dx * oy)
