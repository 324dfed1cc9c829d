"""The cylinder that a hinge bends round: found from two edges that face each other, or given by a radius and an angle.

Seen along the joint line, the middle of either sheet ends in a point and goes on as a tangent.  A circle that is tangent to
both there carries the middle of the strip between the two edges; it is drawn flat over its arc, θ·(R + t/2) long for an
inner radius R.
"""

from __future__ import annotations

import math

from panelwright.plates.errors import JointError
from panelwright.plates.geometry.curves import Line
from panelwright.plates.geometry.frame import Vector, dot, minus, scaled
from panelwright.plates.tolerances import CONTACT_TOLERANCE, LEAST_LINE, MEETING_SINE

from .common_ground import two_faces
from .contact import Body, Contact, Hold, Side
from .side import Bend

__all__ = ["bend_contact", "nearness", "own_bend", "straight_edges"]

LEAST_DEG = 1.0
"""Bends of less turn have no radius worth the name."""

MOST_DEG = 350.0
"""Bends of more turn leave no room for the plates that they join."""


def bend_contact(a: Hold, b: Hold, kind: str) -> Contact:
    """The contact of two straight edges that one cylinder is tangent to.  `contact.bend` is what was found.

    Raises `JointError` if the plates are not of one stock, the edges are not parallel or not opposite each other, no
    cylinder is tangent to both, or the show faces look to different sides of it.
    """
    first, second = a.body, b.body
    where = f"{kind} between {two_faces(a, b)}"

    def error(message: str, *, value: object = None, limit: object = None) -> JointError:
        return JointError(f"{where}: {message}", plates=(first.name, second.name), face=a.described, value=value, limit=limit)

    if first is second:
        raise error("both faces are of one plate; choose an edge of another plate")
    for hold in (a, b):
        if hold.is_broad:
            raise error(f"{hold.described} of {hold.body.name!r} is a broad face; a hinge joins two edge faces")
        if not isinstance(hold.segment, Line):
            raise error(f"{hold.described} of {hold.body.name!r} is curved; a hinge needs straight edges")
    if first.plate.stock != second.plate.stock:
        raise error(
            f"{first.name!r} is of {first.plate.stock.material} {first.t:g} mm and {second.name!r} of "
            f"{second.plate.stock.material} {second.t:g} mm, but hinge and plates are cut as one panel; give both one stock"
        )
    start, run, out, length = _edge(a)
    other_start, _, other_out, other_length = _edge(b)
    other_end = b.body.frame.point((*_ends(b)[1], b.body.t / 2))
    rise = max(
        abs(dot(out, run)),
        abs(dot(other_out, run)),
        abs(dot(second.frame.z, run)),
    )
    if rise > MEETING_SINE:
        raise error(
            f"their edges are {math.degrees(math.asin(min(1.0, rise))):.3f}° out of parallel; turn one of the plates",
            value=rise,
            limit=MEETING_SINE,
        )
    normal = first.frame.z
    # turn from the first plate's tangent to the second one's, towards the show face
    ahead = scaled(other_out, -1.0)
    turn = math.degrees(math.atan2(dot(ahead, normal), dot(ahead, out)))
    gap = minus(other_start, start)
    along, up = dot(gap, out), dot(gap, normal)
    to_show = up > 0
    angle = (turn if to_show else -turn) % 360.0
    if abs(up) < CONTACT_TOLERANCE or not LEAST_DEG <= angle <= MOST_DEG:
        raise error(
            f"they lie in one plane or turn by {min(angle, 360 - angle):.2f}°, so there is no cylinder to bend round; for a "
            "hinge laid into one flat plate use Assembly.add_bent()",
            value=angle,
            limit=(LEAST_DEG, MOST_DEG),
        )
    theta = math.radians(angle)
    middle = abs(up) / (1.0 - math.cos(theta))
    off = along - middle * math.sin(theta)
    if abs(off) > CONTACT_TOLERANCE:
        raise error(
            f"no cylinder is tangent to both: with a middle radius of {middle:.3f} mm from the distance of their planes, "
            f"{second.name!r} would have to stand {abs(off):.3f} mm {'further in' if off > 0 else 'further out'} along "
            f"{first.name!r}; move it there, or place it with bent_on()",
            value=off,
            limit=CONTACT_TOLERANCE,
        )
    faces_agree = dot(second.frame.z, _turned(normal, out, theta, to_show)) > 0
    if not faces_agree:
        raise error(
            f"the show face of {first.name!r} and that of {second.name!r} look to different sides of the bend; turn one of "
            "them over",
        )
    if middle - first.t / 2 <= 0:
        raise error(
            f"the inner radius would be {middle - first.t / 2:.3f} mm; it must be above 0, so move the plates further apart",
            value=middle - first.t / 2,
            limit=0.0,
        )
    low = min(dot(minus(p, start), run) for p in (other_start, other_end))
    span = (max(0.0, low), min(length, low + other_length))
    if span[1] - span[0] < LEAST_LINE:
        raise error("their edges don't face each other anywhere along the joint line; move one of them", value=span)
    sides = (_side(first, start, run, out), _side(second, start, run, other_out, through=other_start))
    bend = Bend(*sides, span, angle, middle - first.t / 2, first.t, to_show)
    return Contact(*sides, run, (0.0, 0.0), (0.0, 0.0), (span,), (a.described, b.described), bend=bend)


def own_bend(body: Body) -> Bend:
    """The bend that a bent part of a sheet is, from one of its bend lines to the other."""
    roll = body.roll
    assert roll is not None
    _, low, _, high = body.plate.outline.bounds
    first = Side(body, (roll.start, 0.0), (0.0, 1.0), (1.0, 0.0))
    second = Side(body, (roll.start + roll.length, 0.0), (0.0, 1.0), (-1.0, 0.0))
    inner = roll.radius - body.t / 2
    return Bend(first, second, (low, high), math.degrees(abs(roll.angle)), inner, body.t, roll.angle > 0)


def straight_edges(hold: Hold) -> list[Hold]:
    """The hold itself if it is an edge face; every straight edge face of its plate if it is a broad face."""
    if not hold.is_broad:
        return [hold]
    body = hold.body
    found: list[Hold] = []
    for i, loop in enumerate(body.plate.outline.loops):
        for j, segment in enumerate(loop):
            if isinstance(segment, Line):
                x, y, z = hold.view.local(body.frame.point((*segment.point_at(0.5), body.t / 2)))
                described = f"straight edge face at ({x:.1f}, {y:.1f}, {z:.1f})"
                found.append(Hold(body, ("edge", i, j), described, hold.view))
    return found


def nearness(error: JointError) -> tuple[int, float]:
    """How near to a hinge two edges came that raised an error: the less, the nearer."""
    if error.limit == MEETING_SINE:
        return (2, 0.0)
    if error.limit == CONTACT_TOLERANCE and isinstance(error.value, float):
        return (1, abs(error.value))
    return (0, 0.0)


def _ends(hold: Hold) -> tuple[tuple[float, float], tuple[float, float]]:
    segment = hold.segment
    assert isinstance(segment, Line)
    return segment.start, segment.end


def _edge(hold: Hold) -> tuple[Vector, Vector, Vector, float]:
    """Start in the middle of the sheet, direction along, direction out of the edge, and length, in the product's frame."""
    segment, frame = hold.segment, hold.body.frame
    assert isinstance(segment, Line)
    tx, ty = segment.tangent_at(0.0)
    start = frame.point((*segment.start, hold.body.t / 2))
    return start, frame.direction((tx, ty, 0.0)), frame.direction((ty, -tx, 0.0)), segment.length


def _turned(normal: Vector, out: Vector, theta: float, to_show: bool) -> Vector:
    """The first plate's normal after the bend."""
    lean = -math.sin(theta) if to_show else math.sin(theta)
    x, y, z = (math.cos(theta) * n + lean * o for n, o in zip(normal, out, strict=True))
    return (x, y, z)


def _side(body: Body, start: Vector, run: Vector, out: Vector, through: Vector | None = None) -> Side:
    frame = body.frame
    point = start
    if through is not None:
        # the point of the other edge's line that lies across from the start
        point = minus(through, scaled(run, dot(minus(through, start), run)))
    x, y, _ = frame.local(point)
    ax, ay, _ = frame.local_direction(run)
    bx, by, _ = frame.local_direction(out)
    return Side(body, (x, y), (ax, ay), (bx, by))
