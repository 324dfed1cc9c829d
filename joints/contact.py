"""Where two plates meet: the joint line, and what each plate looks like along it.

A contact has one *joint line* with coordinate u in mm.  Each plate sees it in its own plane as a `Side`: u along the line and
one more axis across it.  For the plate whose edge arrives (the *first* side of an edge contact) that axis, v, points out of
its edge, v = 0 at the edge as designed; for the plate that it arrives at (the *second*) the axis, w, runs across the arriving
plate's thickness; at a right angle it goes from 0 at that plate's back to its thickness at its show face.

u grows towards the side of greater x, then y, then z of the assembly in which the join was made, and is 0 at the lower end
of the arriving edge; positions given by hand count from there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.plates.curves import Line
from panelwright.plates.errors import JointError
from panelwright.plates.frame import Vector, cross, dot, minus, plus, scaled, unit
from panelwright.plates.probe import Interval, common, joined
from panelwright.plates.tolerances import ANGLE_TOLERANCE, CONTACT_TOLERANCE, SQUARE_TOLERANCE_DEG

from .section import FAR, Reach, Section
from .side import Body, Hold, Side

if TYPE_CHECKING:
    from .bend import Bend

__all__ = ["Body", "Contact", "Hold", "Side", "crossing_contact", "edge_contact", "gap_between"]

ANGLES_DEG = (30.0, 150.0)
"""Dihedral angles at which plates are joined: flatter ones need slots several thicknesses long and leave long wedges."""

SAME_WAY = 0.01
"""Part of a joint line's direction, along an axis, that doesn't say which way it runs: 0.57° off square to that axis.

Far above rounding and what a plate leans by mistake, so that neither turns a joint over."""

INSIDE = 1e-3
"""How far inside a border to look along a line, so that rounding in placements doesn't decide what is seen."""


@dataclass(frozen=True, eq=False)
class Contact:
    """Two plates along one joint line.

    `slab` is the interval of the first side's v from where its leading corner meets the second plate to where it comes out
    flush with the far face; `footprint` is the shadow of what goes through there on the second side's axis.  `stretches` are
    the intervals of u on which both plates have material to join.  `swapped` says that the first side belongs to the second
    face named in the join.

    Where the second plate ends at the line (a corner), `reach` says from which side it comes and where it is flush with
    the first one's far face; where it goes on to both sides (a T), it is None.  `bite` is the v from which
    on the second plate is in the first one's way.  `bend` is set where the two meet along a cylinder instead.
    """

    first: Side
    second: Side
    direction: Vector
    slab: Interval
    footprint: Interval
    stretches: tuple[Interval, ...]
    faces: tuple[str, str]
    swapped: bool = False
    section: Section | None = None
    reach: Reach | None = None
    bite: float = 0.0
    bend: Bend | None = None

    @property
    def is_square(self) -> bool:
        """Whether the plates meet at a right angle."""
        return self.section is None or abs(self.section.angle_deg - 90.0) < SQUARE_TOLERANCE_DEG

    @property
    def numbers(self) -> dict[str, float]:
        """What an oblique contact adds to a joint's numbers: its angle, and the wedge that square edges leave open."""
        if self.section is None or self.is_square:
            return {}
        return {"angle_deg": round(self.section.angle_deg, 6), "wedge_gap_mm": round(self.section.wedge_gap, 6)}

    @property
    def names(self) -> tuple[str, str]:
        """Names of the first and second plate."""
        return (self.first.body.name, self.second.body.name)


def gap_between(a: Hold, b: Hold) -> str:
    """Words for how far apart two faces are, for messages."""
    return f"{a.described} of {a.body.name!r} and {b.described} of {b.body.name!r}"


def _error(message: str, a: Hold, b: Hold, *, value: object = None, limit: object = None) -> JointError:
    return JointError(message, plates=(a.body.name, b.body.name), face=a.described, value=value, limit=limit)


def _require_angle(angle_deg: float, a: Hold, b: Hold, kind: str) -> None:
    low, high = ANGLES_DEG
    if not low - 1e-6 <= angle_deg <= high + 1e-6:
        raise _error(
            f"{kind} between {gap_between(a, b)}: the plates meet at {angle_deg:.2f}°; square cuts hold from {low:g}° to "
            f"{high:g}°, so turn one of them",
            a,
            b,
            value=angle_deg,
            limit=ANGLES_DEG,
        )


def _section(first: Body, second: Body, origin: Vector, out: Vector) -> Section:
    z1, z2 = first.frame.z, second.frame.z
    return Section(
        first.t, second.t, (dot(z2, out), dot(z2, z1)), dot(minus(second.frame.origin, origin), z2)
    )


def _require_two_plates(a: Hold, b: Hold, kind: str) -> None:
    if a.body is b.body:
        raise _error(f"{kind} would join plate {a.body.name!r} to itself; choose a face of another plate", a, b)


def _runs_back(*parts: float) -> bool:
    """Whether the first part of a direction that says something is below zero."""
    return next((value for value in parts if abs(value) > SAME_WAY), 1.0) < 0


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
    if _runs_back(*hold.view.local_direction(run)):
        start, run = frame.point((*segment.end, 0.0)), scaled(run, -1.0)
    return start, run, out, segment.length


def edge_contact(a: Hold, b: Hold, kind: str, *, corner: bool = False, may_curve: bool = False) -> Contact:
    """The contact of a straight edge with another plate's broad face; with `corner`, also of two edges at a corner.

    With `may_curve`, also of a bent part's border with a flat face, and of an arc with a bent part's face.

    Where only one face is an edge, its plate is the first side whichever order they are given in.  Raises `JointError` if
    the faces don't touch (with their distance), meet at less than 30° or more than 150°, or are of one plate.
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
    if edge.body.roll is not None or mate.body.roll is not None:
        from .round_contact import round_contact

        if not may_curve:
            bent = edge.body if edge.body.roll is not None else mate.body
            raise _error(
                f"{kind} between {gap_between(a, b)}: {bent.name!r} is bent, and {kind} need flat plates; use tabs there, or "
                "join the flat parts beside it",
                a,
                b,
            )
        return round_contact(edge, mate, kind, swapped=swapped)
    start, run, out, length = _edge_line(edge, kind, mate)
    first, second = edge.body, mate.body
    if abs(dot(run, second.frame.z)) > 1e-7:
        rise = math.degrees(math.asin(min(1.0, abs(dot(run, second.frame.z)))))
        raise _error(
            f"{kind} between {gap_between(a, b)}: the edge leaves the face at {rise:.2f}° along its length; turn one of the "
            "plates so that the edge lies in the face",
            a,
            b,
            value=rise,
            limit=0.0,
        )
    section = _section(first, second, start, out)
    _require_angle(section.angle_deg, a, b, kind)
    slab = section.passage
    if slab[0] > CONTACT_TOLERANCE or slab[1] < -CONTACT_TOLERANCE:
        ahead = slab[0] > 0
        apart = slab[0] if ahead else -slab[1]
        how = (
            f"they are {apart:.3f} mm apart; move"
            if ahead
            else f"the edge looks away from {second.name!r}, which lies {apart:.3f} mm behind it; choose the edge that looks "
            "at it, or move"
        )
        raise _error(
            f"{kind} between {gap_between(a, b)}: {how} one of the plates so that they touch", a, b, value=apart, limit=0.0
        )
    w_axis = plus(scaled(out, section.axis[0]), scaled(first.frame.z, section.axis[1]))
    sides = (_fenced(_side(first, start, run, out), edge), _fenced(_side(second, start, run, w_axis), mate))
    footprint = section.footprint(slab[1])
    column = _column(sides[1], footprint, length, corner)
    stretches = [] if column is None else _edge_stretches(sides[1], footprint, column, length, mate)
    if column is None or not stretches:
        gap = _gap_to(sides[1], (0.0, length), footprint)
        beside = f"{gap:.3f} mm beside it" if gap > CONTACT_TOLERANCE else "only meets its border, with no face under the edge"
        raise _error(
            f"{kind} between {gap_between(a, b)}: the edge lies in the plane of the face but {beside}; "
            "move one of the plates, or make the face larger, so that the edge lies on it",
            a,
            b,
            value=gap,
            limit=0.0,
        )
    reach = section.reach(column, footprint)
    return Contact(
        *sides,
        run,
        slab,
        footprint,
        tuple(stretches),
        (edge.described, mate.described),
        swapped=swapped,
        section=section,
        reach=reach,
        bite=section.bite(reach),
    )


def _side(body: Body, point: Vector, along: Vector, across: Vector) -> Side:
    frame = body.frame
    x, y, _ = frame.local(point)
    ax, ay, _ = frame.local_direction(along)
    bx, by, _ = frame.local_direction(across)
    return Side(body, (x, y), (ax, ay), (bx, by))


def _fenced(side: Side, hold: Hold) -> Side:
    """The side with the lines of the edges next to the one that is joined, where they are not square to it."""
    if hold.is_broad:
        return side
    loop, number = hold.place[1], hold.place[2]
    assert isinstance(loop, int)
    assert isinstance(number, int)
    segments = hold.body.plate.outline.loops[loop].segments
    here = segments[number]
    fences = []
    for neighbour, corner in ((segments[number - 1], here.start), (segments[(number + 1) % len(segments)], here.end)):
        tx, ty = neighbour.tangent_at(1.0 if corner == here.start else 0.0)
        hx, hy = here.tangent_at(0.0)
        square = abs(tx * hx + ty * hy) < 1e-7
        turns_out = (tx * hy - ty * hx) * (1 if corner == here.start else -1) > 0
        if square or not turns_out or not isinstance(neighbour, Line):
            continue
        # material lies to the left of an edge, so what may grow does too
        u0, v0 = side.seen(corner)
        (ox, oy), (px, py) = side.seen((0.0, 0.0)), side.seen((ty, -tx))
        normal = (px - ox, py - oy)
        fences.append((normal, normal[0] * u0 + normal[1] * v0))
    return Side(side.body, side.origin, side.along, side.across, tuple(fences))


def _column(side: Side, footprint: Interval, length: float, corner: bool) -> Interval | None:
    """Where the second plate has material across the line: the stretch of w that the footprint falls on, or next to."""
    low, high = footprint
    for i in range(1, 34, 2):
        # the middle of the edge first, then ever nearer to its ends
        u = length * (0.5 + (i // 2) / 34 * (1 if i % 4 == 1 else -1))
        for start, stop in side.columns(u):
            inside = min(stop, high) - max(start, low)
            if inside > INSIDE or (corner and inside > -CONTACT_TOLERANCE):
                return (start, stop)
    return None


def _edge_stretches(
    side: Side, footprint: Interval, column: Interval, length: float, mate: Hold
) -> list[Interval]:
    """Intervals of u on which both plates have material."""
    if not mate.is_broad and isinstance(mate.segment, Line):
        ends = sorted(side.seen(point)[0] for point in (mate.segment.start, mate.segment.end))
        return common([(0.0, length)], [(ends[0], ends[1])])
    low, high = max(footprint[0], column[0]), min(footprint[1], column[1])
    if high - low > 2 * INSIDE:
        lines = [low + INSIDE, (low + high) / 2, high - INSIDE]
    else:
        # the second plate stops at the footprint's border: look just inside it
        lines = [column[0] + INSIDE if column[0] >= footprint[1] - 2 * INSIDE else column[1] - INSIDE]
    shared = [(0.0, length)]
    for w in lines:
        shared = common(shared, side.stretches(w))
    return shared


def _gap_to(side: Side, u: Interval, v: Interval) -> float:
    """Distance in a plate's own plane from the plate to the rectangle over two intervals."""
    import shapely

    loops = side.body.plate.outline.loops
    plate = shapely.Polygon(loops[0].points(), [loop.points() for loop in loops[1:]])
    corners = [(u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])]
    return float(plate.distance(shapely.Polygon([side.flat(*corner) for corner in corners])))


def crossing_contact(a: Hold, b: Hold, kind: str) -> Contact:
    """The contact of two plates that pass through each other.

    u runs along the line in which they cross, towards greater z, or x or y where that is level; `slab` and `footprint` are each
    plate's thickness as the other sees it.
    Raises `JointError` if they are parallel, cross at less than 30°, or share no stretch of the line.
    """
    _require_two_plates(a, b, kind)
    first, second = a.body, b.body
    line = cross(first.frame.z, second.frame.z)
    if dot(line, line) < ANGLE_TOLERANCE:
        raise _error(f"{kind} between {first.name!r} and {second.name!r}: they are parallel and never cross", a, b)
    run = unit(line)
    x, y, z = a.view.local_direction(run)
    if _runs_back(z, x, y):
        run = scaled(run, -1.0)
    z1, z2 = first.frame.z, second.frame.z
    # the point of the line through both backs that lies nearest to the origin: height zero in both plates
    d1, d2, lean = dot(first.frame.origin, z1), dot(second.frame.origin, z2), dot(z1, z2)
    share = 1.0 - lean * lean
    point = plus(scaled(z1, (d1 - lean * d2) / share), scaled(z2, (d2 - lean * d1) / share))
    out = unit(minus(z2, scaled(z1, lean)))
    section = _section(first, second, point, out)
    _require_angle(section.angle_deg, a, b, kind)
    w_axis = plus(scaled(out, section.axis[0]), scaled(z1, section.axis[1]))
    sides = (_side(first, point, run, out), _side(second, point, run, w_axis))
    slab, footprint = section.shadow_in_first, section.shadow_in_second
    reached = _any_material(sides[0], slab), _any_material(sides[1], footprint)
    stretches = common(*reached)
    if not stretches:
        if all(reached):
            gap = min(max(low - stop, start - high) for start, stop in reached[0] for low, high in reached[1])
            how = f"along the line in which their planes cross they lie {gap:.3f} mm apart"
        else:
            which = 1 if reached[0] else 0
            gap = _gap_to(sides[which], (-FAR, FAR), (slab, footprint)[which])
            how = f"{(first, second)[which].name!r} ends {gap:.3f} mm before it comes to {(second, first)[which].name!r}"
        raise _error(
            f"{kind} between {first.name!r} and {second.name!r}: {how}; move them so that they pass through each other",
            a,
            b,
            value=gap,
            limit=0.0,
        )
    return Contact(*sides, run, slab, footprint, tuple(stretches), (a.described, b.described), section=section)


def _any_material(side: Side, across: Interval) -> list[Interval]:
    low, high = across
    lines = [low + INSIDE, (low + high) / 2, high - INSIDE]
    return joined([stretch for v in lines for stretch in side.stretches(v)])
