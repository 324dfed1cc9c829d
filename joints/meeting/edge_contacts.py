"""Where a straight edge of one plate arrives at another plate."""

from __future__ import annotations

import math

from panelwright.plates.geometry.curves import Line
from panelwright.plates.geometry.frame import Vector, dot, plus, scaled
from panelwright.plates.geometry.probe import Interval, common
from panelwright.plates.tolerances import CONTACT_TOLERANCE, INSIDE, MEETING_SINE

from .contact import (
    Contact,
    _error,
    _gap_to,
    _require_angle,
    _require_two_plates,
    _runs_back,
    _section,
    _side,
    gap_between,
)
from .side import Hold, Side

__all__ = ["edge_contact"]


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
    if abs(dot(run, second.frame.z)) > MEETING_SINE:
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
