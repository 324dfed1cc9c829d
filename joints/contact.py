"""Where two plates meet: the joint line, and what each plate looks like along it.

A contact has one *joint line* with coordinate u in mm.  Each plate sees it in its own plane as a `Side`: u along the line and
one more axis across it.  For the plate whose edge arrives (the *first* side of an edge contact) that axis, v, points out of
its edge, v = 0 at the edge as designed; for the plate that it arrives at (the *second*) the axis, w, runs across the arriving
plate's thickness, from 0 at its back to its thickness at its show face.

u grows towards the side of greater x, then y, then z of the assembly in which the join was made, and is 0 at the lower end
of the arriving edge; positions given by hand count from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from panelwright.plates.curves import Line, Loop, Point, loop_through
from panelwright.plates.errors import JointError
from panelwright.plates.frame import Frame, Vector, cross, dot, minus, plus, scaled, unit
from panelwright.plates.plate import Plate
from panelwright.plates.probe import Interval, Probe, common, joined
from panelwright.plates.tolerances import ANGLE_TOLERANCE, CONTACT_TOLERANCE

from .section import shadow

__all__ = ["Body", "Contact", "Hold", "Side", "crossing_contact", "edge_contact", "gap_between"]

INSIDE = 1e-3
"""How far inside a border to look along a line, so that rounding in placements doesn't decide what is seen."""


@dataclass(frozen=True, eq=False)
class Body:
    """A plate as designed, under its full name, standing in the whole product's frame."""

    number: int
    name: str
    plate: Plate
    frame: Frame

    @property
    def t(self) -> float:
        """Thickness in mm."""
        return self.plate.stock.t

    @cached_property
    def probe(self) -> Probe:
        """The plate's region as designed."""
        return Probe(self.plate.outline.loops)

    @cached_property
    def hole_boxes(self) -> tuple[tuple[float, float, float, float], ...]:
        """Bounding boxes of the holes as designed."""
        return tuple(loop.bounds for loop in self.plate.outline.holes)


@dataclass(frozen=True, eq=False)
class Hold:
    """One face of a body that a joint takes hold of; `view` is the frame of the assembly in which the join was made."""

    body: Body
    place: tuple[object, ...]
    described: str
    view: Frame

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

    def stretches(self, v: float) -> list[Interval]:
        """Material along the line at distance v, as intervals of u."""
        return self.body.probe.along(self.flat(0.0, v), self.along)

    def columns(self, u: float) -> list[Interval]:
        """Material across the line at u, as intervals of v."""
        return self.body.probe.along(self.flat(u, 0.0), self.across)

    def has_material(self, points: Sequence[Point]) -> bool:
        """Whether any of the (u, v) points lies in the plate as designed."""
        return any(self.covers(points))

    def covers(self, points: Sequence[Point]) -> list[bool]:
        """For each (u, v) point whether it lies in the plate as designed."""
        return self.body.probe.covers([self.flat(u, v) for u, v in points])


@dataclass(frozen=True, eq=False)
class Contact:
    """Two plates along one joint line.

    `slab` is where the second plate's thickness lies along the first side's v; `footprint` is where the first plate's
    thickness falls along the second side's axis, by the shadow rule.  `stretches` are the intervals of u on which both
    plates have material to join.  `swapped` says that the first side belongs to the second face named in the join.
    """

    first: Side
    second: Side
    direction: Vector
    slab: Interval
    footprint: Interval
    stretches: tuple[Interval, ...]
    faces: tuple[str, str]
    swapped: bool = False
    second_covers: bool = True
    """Whether the second plate, as designed, reaches under the first one's edge."""

    @property
    def names(self) -> tuple[str, str]:
        """Names of the first and second plate."""
        return (self.first.body.name, self.second.body.name)


def gap_between(a: Hold, b: Hold) -> str:
    """Words for how far apart two faces are, for messages."""
    return f"{a.described} of {a.body.name!r} and {b.described} of {b.body.name!r}"


def _error(message: str, a: Hold, b: Hold, *, value: object = None, limit: object = None) -> JointError:
    return JointError(message, plates=(a.body.name, b.body.name), face=a.described, value=value, limit=limit)


def _require_two_plates(a: Hold, b: Hold, kind: str) -> None:
    if a.body is b.body:
        raise _error(f"{kind} would join plate {a.body.name!r} to itself; choose a face of another plate", a, b)


def _edge_line(hold: Hold, kind: str, other: Hold) -> tuple[Vector, Vector, Vector, float]:
    """Start, direction of u, outward direction and length of a straight edge, in the product's frame."""
    segment = hold.segment
    if not isinstance(segment, Line):
        raise _error(
            f"{kind} between {gap_between(hold, other)}: the edge is curved, and {kind} need a straight one", hold, other
        )
    frame = hold.body.frame
    tx, ty = segment.tangent_at(0.0)
    run, out = frame.direction((tx, ty, 0.0)), frame.direction((ty, -tx, 0.0))
    start = frame.point((*segment.start, 0.0))
    seen = hold.view.local_direction(run)
    leading = next((value for value in seen if abs(value) > 1e-6), 1.0)
    if leading < 0:
        start, run = frame.point((*segment.end, 0.0)), scaled(run, -1.0)
    return start, run, out, segment.length


def edge_contact(a: Hold, b: Hold, kind: str, *, corner: bool = False) -> Contact:
    """The contact of a straight edge with another plate's broad face; with `corner`, also of two edges at a corner.

    Where only one face is an edge, its plate is the first side whichever order they are given in.  Raises `JointError` if
    the faces don't touch (with their distance), don't meet at 90°, or are of one plate.
    """
    _require_two_plates(a, b, kind)
    swapped = a.is_broad and not b.is_broad
    edge, mate = (b, a) if swapped else (a, b)
    if edge.is_broad:
        raise _error(
            f"{kind} between {gap_between(a, b)}: both are broad faces; one must be the edge face that arrives there, "
            "or use cross_lap() for plates that cross",
            a,
            b,
        )
    if not mate.is_broad and not corner:
        raise _error(
            f"{kind} between {gap_between(a, b)}: both are edge faces; one must be the broad face that takes the slots",
            a,
            b,
        )
    start, run, out, length = _edge_line(edge, kind, mate)
    first, second = edge.body, mate.body
    lean = abs(dot(out, second.frame.z))
    if abs(dot(run, second.frame.z)) > 1e-7 or lean < 1 - 1e-7:
        import math

        angle = math.degrees(math.acos(min(1.0, abs(dot(first.frame.z, second.frame.z)))))
        raise _error(
            f"{kind} between {gap_between(a, b)}: the plates meet at {angle:.2f}°, and {kind} are made at 90°; "
            "turn one of them",
            a,
            b,
            value=angle,
            limit=90.0,
        )
    base = dot(minus(second.frame.origin, start), out)
    top = base + second.t * dot(second.frame.z, out)
    slab = (min(base, top), max(base, top))
    if slab[0] > CONTACT_TOLERANCE or slab[1] < -CONTACT_TOLERANCE:
        apart = slab[0] if slab[0] > 0 else -slab[1]
        how = "are" if slab[0] > 0 else "overlap: the edge passes the plate and they are"
        raise _error(
            f"{kind} between {gap_between(a, b)}: they {how} {apart:.3f} mm apart; move one of the plates so that "
            "they touch",
            a,
            b,
            value=apart,
            limit=0.0,
        )
    # the small 2D problem across the line: the first plate is the strip 0 ≤ w ≤ t that arrives along v
    strip = [(-1e4, 0.0), (1e4, 0.0), (1e4, first.t), (-1e4, first.t)]
    footprint = shadow(strip, (1.0, 0.0), slab[0], slab[1], (0.0, 1.0))
    assert footprint is not None  # the strip runs right through the slab
    sides = (_side(first, start, run, out), _side(second, start, run, first.frame.z))
    stretches, covers = _edge_stretches(sides[1], footprint, length, corner)
    if not stretches:
        gap = _sideways_gap(sides[1], footprint, length)
        raise _error(
            f"{kind} between {gap_between(a, b)}: the edge lies in the plane of the face but {gap:.3f} mm beside it; "
            "move one of the plates so that they touch",
            a,
            b,
            value=gap,
            limit=0.0,
        )
    return Contact(
        *sides,
        run,
        slab,
        footprint,
        tuple(stretches),
        (edge.described, mate.described),
        swapped,
        covers,
    )


def _side(body: Body, point: Vector, along: Vector, across: Vector) -> Side:
    frame = body.frame
    x, y, _ = frame.local(point)
    ax, ay, _ = frame.local_direction(along)
    bx, by, _ = frame.local_direction(across)
    return Side(body, (x, y), (ax, ay), (bx, by))


def _edge_stretches(side: Side, footprint: Interval, length: float, corner: bool) -> tuple[list[Interval], bool]:
    low, high = footprint
    whole = [(0.0, length)]
    seen = [side.stretches(w) for w in (low + INSIDE, (low + high) / 2, high - INSIDE)]
    met = [common(whole, stretch) for stretch in seen]
    met = [stretch for stretch in met if stretch]
    if met:
        shared = met[0]
        for stretch in met[1:]:
            shared = common(shared, stretch)
        return shared, True
    if corner:
        for w in (low - INSIDE, high + INSIDE):
            shared = common(whole, side.stretches(w))
            if shared:
                return shared, False
    return [], False


def _sideways_gap(side: Side, footprint: Interval, length: float) -> float:
    """Distance in the second plate's plane from the footprint to the plate."""
    import shapely

    loops = side.body.plate.outline.loops
    plate = shapely.Polygon(loops[0].points(), [loop.points() for loop in loops[1:]])
    corners = [(0.0, footprint[0]), (length, footprint[0]), (length, footprint[1]), (0.0, footprint[1])]
    return float(plate.distance(shapely.Polygon([side.flat(*corner) for corner in corners])))


def crossing_contact(a: Hold, b: Hold, kind: str) -> Contact:
    """The contact of two plates that pass through each other.

    u runs along the line in which they cross; `slab` and `footprint` are each plate's thickness as the other sees it.
    Raises `JointError` if they are parallel, do not cross at 90°, or share no stretch of the line.
    """
    _require_two_plates(a, b, kind)
    first, second = a.body, b.body
    line = cross(first.frame.z, second.frame.z)
    if dot(line, line) < ANGLE_TOLERANCE:
        raise _error(f"{kind} between {first.name!r} and {second.name!r}: they are parallel and never cross", a, b)
    lean = dot(first.frame.z, second.frame.z)
    if abs(lean) > 1e-7:
        import math

        angle = math.degrees(math.acos(min(1.0, abs(lean))))
        raise _error(
            f"{kind} between {first.name!r} and {second.name!r}: the plates cross at {angle:.2f}°, and {kind} joints are "
            "made at 90°; turn one of them",
            a,
            b,
            value=angle,
            limit=90.0,
        )
    run = unit(line)
    seen = a.view.local_direction(run)
    if next((value for value in seen if abs(value) > 1e-6), 1.0) < 0:
        run = scaled(run, -1.0)
    z1, z2 = first.frame.z, second.frame.z
    # the line through both backs: a point with the first plate's and the second plate's height both zero
    point = plus(scaled(z1, dot(first.frame.origin, z1)), scaled(z2, dot(second.frame.origin, z2)))
    sides = (_side(first, point, run, z2), _side(second, point, run, z1))
    slab, footprint = (0.0, second.t), (0.0, first.t)
    stretches = common(_any_material(sides[0], slab), _any_material(sides[1], footprint))
    if not stretches:
        raise _error(
            f"{kind} between {first.name!r} and {second.name!r}: they share no stretch of the line in which their planes "
            "cross; move them so that they pass through each other",
            a,
            b,
        )
    return Contact(*sides, run, slab, footprint, tuple(stretches), (a.described, b.described))


def _any_material(side: Side, across: Interval) -> list[Interval]:
    low, high = across
    lines = [low + INSIDE, (low + high) / 2, high - INSIDE]
    return joined([stretch for v in lines for stretch in side.stretches(v)])
