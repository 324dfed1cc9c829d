"""Corners of three plates: who keeps the cube that all three claim.

In each plate's plane the cube is a corner square that hangs on the two end cells beside it, one of each joint line.  A plate
that owned the cube but neither of those cells would be left with a loose crumb.  So the cube goes to the plate that owns
the most of its two adjacent end cells, ties to the plate added first; the others are cut there.  Three end cells have
three owners, so somebody always owns at least one.

Where one of the lines passes through the cube without ending there (a partition that arrives in the middle of an edge), the
cube belongs to that line's cells, and the plate that arrives is cut back.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, Protocol

from panelwright.joints.meeting.contact import Body, Contact, Side
from panelwright.joints.spec.pattern import Claim, Layout
from panelwright.plates.geometry.frame import Vector, dot, minus, plus, scaled
from panelwright.plates.geometry.probe import Interval
from panelwright.plates.tolerances import CONTACT_TOLERANCE, MEETING_COSINE

__all__ = ["Corner", "corner_claims", "find_corners", "trimmed"]

Position = Literal["start", "end", "inside"]


class Carried(Protocol):
    """A joint as carried out."""

    @property
    def contact(self) -> Contact: ...
    @property
    def layout(self) -> Layout: ...
    @property
    def clearance(self) -> float: ...


@dataclass
class Corner:
    """A cube claimed by three plates, and for each joint line that meets it, where, and over which interval of u."""

    bodies: tuple[Body, ...]
    lines: dict[int, tuple[Contact, Position, Interval]] = field(default_factory=dict)


def find_corners(sharing: Sequence[tuple[int, Contact]]) -> list[Corner]:
    """All corners among the joints given by number and contact, in a stable order."""
    corners: dict[tuple[object, ...], Corner] = {}
    for n, (i, one) in enumerate(sharing):
        for j, other in sharing[n + 1 :]:
            shared = [body for body in _bodies(one) if body in _bodies(other)]
            if len(shared) != 1:
                continue
            (third_of_one,) = (body for body in _bodies(other) if body is not shared[0])
            (third_of_other,) = (body for body in _bodies(one) if body is not shared[0])
            here, there = _meets(one, third_of_one), _meets(other, third_of_other)
            if here is None or there is None:
                continue
            bodies = tuple(sorted((*_bodies(one), third_of_one), key=lambda body: body.number))
            spot = _middle(bodies)
            key = (tuple(body.number for body in bodies), *(round(value, 3) for value in spot))
            corner = corners.setdefault(key, Corner(bodies))
            corner.lines[i] = (one, *here)
            corner.lines[j] = (other, *there)
    return list(corners.values())


def _bodies(contact: Contact) -> tuple[Body, Body]:
    return (contact.first.body, contact.second.body)


def _meets(contact: Contact, third: Body) -> tuple[Position, Interval] | None:
    """Where a third plate's slab crosses a joint line."""
    z = third.frame.z
    lean = dot(z, contact.direction)
    if abs(lean) < 1 - MEETING_COSINE:
        return None
    first = contact.first
    start = first.body.frame.point((*first.origin, 0.0))
    base = dot(minus(third.frame.origin, start), contact.direction)
    low, high = sorted((base, base + third.t * lean))
    s0, s1 = contact.stretches[0][0], contact.stretches[-1][1]
    if low <= s0 + CONTACT_TOLERANCE and high >= s0 - CONTACT_TOLERANCE:
        return "start", (low, high)
    if low <= s1 + CONTACT_TOLERANCE and high >= s1 - CONTACT_TOLERANCE:
        return "end", (low, high)
    if s0 < low and high < s1:
        return "inside", (low, high)
    return None


def _middle(bodies: Sequence[Body]) -> Vector:
    """The middle of the cube that three plates at right angles share."""
    spot: Vector = (0.0, 0.0, 0.0)
    for body in bodies:
        z = body.frame.z
        spot = plus(spot, scaled(z, dot(body.frame.origin, z) + body.t / 2))
    return spot


def trimmed(joint: int, corners: Sequence[Corner]) -> tuple[Interval, ...]:
    """The intervals at the ends of a joint's line that corners settle."""
    return tuple(
        interval
        for corner in corners
        for number, (_, position, interval) in corner.lines.items()
        if number == joint and position != "inside"
    )


def corner_claims(corners: Sequence[Corner], made: Mapping[int, Carried]) -> list[Claim]:
    """The cube for its keeper, and cuts for the other plates."""
    claims: list[Claim] = []
    for corner in corners:
        lines = {i: line for i, line in corner.lines.items() if i in made}
        if not lines:
            continue
        keeper = _keeper(corner, lines, made)
        clearance = max(0.0, *(made[i].clearance for i in lines))
        passing = {body.number for contact, position, _ in lines.values() if position == "inside" for body in _bodies(contact)}
        for body in corner.bodies:
            if body.number in passing:
                continue
            square = _square(body, lines)
            if square is None:
                continue  # the joint that would have brought this plate here could not be made
            side, u, v = square
            if body is keeper:
                claims.append(Claim(side, "add", side.rectangle(u, v)))
            else:
                gap = clearance / 2
                grown = side.rectangle((u[0] - gap, u[1] + gap), (v[0] - gap, v[1] + gap))
                claims.append(Claim(side, "cut", grown))
    return claims


def _keeper(
    corner: Corner, lines: Mapping[int, tuple[Contact, Position, Interval]], made: Mapping[int, Carried]
) -> Body | None:
    if any(position == "inside" for _, position, _ in lines.values()):
        return None
    owned = {body.number: 0 for body in corner.bodies}
    for i, (contact, position, _) in lines.items():
        cells = made[i].layout.cells
        owner = cells[0][1] if position == "start" else cells[-1][1]
        owned[_bodies(contact)[owner].number] += 1
    return max(corner.bodies, key=lambda body: (owned[body.number], -body.number))


def _square(body: Body, lines: Mapping[int, tuple[Contact, Position, Interval]]) -> tuple[Side, Interval, Interval] | None:
    """The cube's square in a plate's own plane, as one of its joint lines sees it; None if none of them is the plate's."""
    for contact, _, interval in lines.values():
        if contact.first.body is body:
            return contact.first, interval, contact.slab
        if contact.second.body is body:
            return contact.second, interval, contact.footprint
    return None
