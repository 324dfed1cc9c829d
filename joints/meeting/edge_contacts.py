"""Where a straight edge of one plate arrives at another plate."""

from __future__ import annotations

import math
from dataclasses import replace

from panelwright.plates.errors import JointError
from panelwright.plates.geometry.curves import Line
from panelwright.plates.geometry.frame import Vector, dot, plus, scaled
from panelwright.plates.geometry.probe import Interval, common
from panelwright.plates.tolerances import CONTACT_TOLERANCE, INSIDE, MEETING_SINE

from .common_ground import (
    faces_error,
    gap_in_plane,
    require_angle,
    require_two_plates,
    runs_back,
    section_between,
    side_of,
    two_faces,
)
from .contact import Contact
from .side import Hold, Side

__all__ = ["edge_contact", "meeting", "passage", "shared_edge"]


def _edge_line(hold: Hold, kind: str, other: Hold) -> tuple[Vector, Vector, Vector, float]:
    """Start, direction of u, outward direction and length of a straight edge, in the product's frame."""
    segment = hold.segment
    if not isinstance(segment, Line):
        raise faces_error(
            f"{kind} between {two_faces(hold, other)}: the edge is curved, and {kind} need a straight one", hold, other
        )
    frame = hold.body.frame
    tx, ty = segment.tangent_at(0.0)
    run, out = frame.direction((tx, ty, 0.0)), frame.direction((ty, -tx, 0.0))
    start = frame.point((*segment.start, 0.0))
    if runs_back(*hold.view.local_direction(run)):
        start, run = frame.point((*segment.end, 0.0)), scaled(run, -1.0)
    return start, run, out, segment.length


def edge_contact(a: Hold, b: Hold, kind: str, *, corner: bool = False, may_curve: bool = False) -> Contact:
    """The contact of a straight edge with another plate's broad face; with `corner`, also of two edges at a corner.

    With `may_curve`, also of a bent part's border with a flat face, and of an arc with a bent part's face.

    Where only one face is an edge, its plate is the first side whichever order they are given in.  Raises `JointError` if
    the faces don't touch (with their distance), meet at less than 30° or more than 150°, or are of one plate.
    """
    require_two_plates(a, b, kind)
    swapped = a.is_broad and not b.is_broad
    edge, mate = (b, a) if swapped else (a, b)
    if edge.is_broad:
        raise faces_error(
            f"{kind} between {two_faces(a, b)}: both are broad faces; one must be the edge face that arrives there, "
            "or use cross_lap() for plates that cross",
            a,
            b,
        )
    if not mate.is_broad and not corner:
        raise faces_error(
            f"{kind} between {two_faces(a, b)}: both are edge faces; one must be the broad face that takes the slots",
            a,
            b,
        )
    bent = next((hold.body for hold in (edge, mate) if hold.body.roll is not None), None)
    if bent is not None and not may_curve:
        raise faces_error(
            f"{kind} between {two_faces(a, b)}: {bent.name!r} is bent, and {kind} need flat plates; use tabs there, or "
            "join the flat parts beside it",
            a,
            b,
        )
    found = shared_edge(edge, mate, corner=corner)
    if found is None:
        # asked again under the names of the product, to say what is wrong
        found = meeting(edge, mate, kind, corner=corner, swapped=swapped)
    return replace(found, swapped=swapped)


def shared_edge(edge: Hold, mate: Hold, *, corner: bool = False) -> Contact | None:
    """The contact of an edge with what it arrives at, whatever joins the two there; None if they don't meet.

    It is found once for each two faces, in the coordinates in which the join was made, and kept with the edge's plate.
    """
    if corner and mate.is_broad:
        # most edges lie on the face, and what is known of that holds for corners too; else one may end right beside it
        lying = shared_edge(edge, mate)
        if lying is not None:
            return lying
    one, other = edge.own or edge, mate.own or mate
    key = (one.place, other.body, other.place, corner)
    if key not in one.body.meetings:
        try:
            one.body.meetings[key] = meeting(one, other, "touching", corner=corner)
        except JointError:
            one.body.meetings[key] = None
    found = one.body.meetings[key]
    if not isinstance(found, Contact):
        return None
    return found if one is edge else found.between(edge.body, mate.body, edge.view)


def passage(edge: Hold, mate: Hold) -> Interval:
    """How far out of a straight edge the other plate's slab begins and ends, mm, both plates flat."""
    start, _, out, _ = _edge_line(edge, "touching", mate)
    return section_between(edge.body, mate.body, start, out).passage


def meeting(edge: Hold, mate: Hold, kind: str, *, corner: bool = False, swapped: bool = False) -> Contact:
    """Work out where an edge arrives at another plate.

    Raises `JointError` as `edge_contact` does; if `swapped`, it names the mate's face first, as the join does.
    """
    a, b = (mate, edge) if swapped else (edge, mate)
    if edge.body.roll is not None or mate.body.roll is not None:
        from .round_contact import round_contact

        return round_contact(edge, mate, kind)
    start, run, out, length = _edge_line(edge, kind, mate)
    first, second = edge.body, mate.body
    if abs(dot(run, second.frame.z)) > MEETING_SINE:
        rise = math.degrees(math.asin(min(1.0, abs(dot(run, second.frame.z)))))
        raise faces_error(
            f"{kind} between {two_faces(a, b)}: the edge leaves the face at {rise:.2f}° along its length; turn one of the "
            "plates so that the edge lies in the face",
            a,
            b,
            value=rise,
            limit=0.0,
        )
    section = section_between(first, second, start, out)
    require_angle(section.angle_deg, a, b, kind)
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
        raise faces_error(
            f"{kind} between {two_faces(a, b)}: {how} one of the plates so that they touch", a, b, value=apart, limit=0.0
        )
    w_axis = plus(scaled(out, section.axis[0]), scaled(first.frame.z, section.axis[1]))
    sides = (_fenced(side_of(first, start, run, out), edge), _fenced(side_of(second, start, run, w_axis), mate))
    footprint = section.footprint(slab[1])
    column = _column(sides[1], footprint, length, corner)
    stretches = [] if column is None else _edge_stretches(sides[1], footprint, column, length, mate)
    if column is None or not stretches:
        gap = gap_in_plane(sides[1], (0.0, length), footprint)
        beside = f"{gap:.3f} mm beside it" if gap > CONTACT_TOLERANCE else "only meets its border, with no face under the edge"
        raise faces_error(
            f"{kind} between {two_faces(a, b)}: the edge lies in the plane of the face but {beside}; "
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
        section=section,
        reach=reach,
        bite=section.bite(reach),
    )


def _fenced(side: Side, hold: Hold) -> Side:
    """The side with the lines of the edges next to the one that is joined, where they are not square to it."""
    if hold.is_broad:
        return side
    loop, number = hold.place[1], hold.place[2]
    assert isinstance(loop, int)
    assert isinstance(number, int)
    segments = hold.body.plate.outline.loops[loop].segments
    here = segments[number]
    fences: list[tuple[tuple[float, float], float]] = []
    for neighbour, corner in ((segments[number - 1], here.start), (segments[(number + 1) % len(segments)], here.end)):
        tx, ty = neighbour.tangent_at(1.0 if corner == here.start else 0.0)
        hx, hy = here.tangent_at(0.0)
        square = abs(tx * hx + ty * hy) < MEETING_SINE
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


def _edge_stretches(side: Side, footprint: Interval, column: Interval, length: float, mate: Hold) -> list[Interval]:
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
