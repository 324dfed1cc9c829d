"""Which way plates come together: the directions in which a joint lets one go into the other."""

from __future__ import annotations

import math

from panelwright.joints.meeting.contact import Side
from panelwright.plates.geometry.frame import Vector, minus, scaled, unit

from .resolve import Made

__all__ = ["ways_in"]


def ways_in(made: Made) -> tuple[Vector, ...]:
    """Unit vectors, in the product's frame, along which the joint's first plate can go into its second one.

    The second goes into the first the other way round.  An edge goes out of its own plate into the face that it is joined to;
    at a finger corner the other plate's edge may come instead; a cross-lap closes along the line in which the plates cross;
    a plate that passes through another may come from either side.  A hinge, which is one panel, has none.
    """
    contact = made.contact
    first, second = contact.first, contact.second
    if first.body is second.body or made.layout.strip is not None:
        return ()
    if made.joint.kind == "cross_lap":
        opens_up = made.layout.numbers["opens_up"] == first.body.name
        return (contact.direction if opens_up else scaled(contact.direction, -1.0),)
    out = _across(first, sum(contact.stretches[0]) / 2)
    if made.joint.kind == "pass_through":
        return (out, scaled(out, -1.0))
    if made.joint.kind == "fingers" and contact.reach is not None:
        other = _across(second, sum(contact.stretches[0]) / 2)
        inwards = _middle(second) - sum(contact.footprint) / 2
        return (out, scaled(other, math.copysign(1.0, inwards)))
    return (out,)


def _across(side: Side, u: float) -> Vector:
    """The axis across the line, as it stands at u."""
    (x0, y0), (x1, y1) = side.flat(u, 0.0), side.flat(u, 1.0)
    return unit(minus(side.body.point((x1, y1, 0.0)), side.body.point((x0, y0, 0.0))))


def _middle(side: Side) -> float:
    """Where the middle of the plate lies across the line."""
    corners = [side.seen(point)[1] for point in side.body.plate.outline.outer.points()]
    return (min(corners) + max(corners)) / 2
