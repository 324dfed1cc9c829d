"""Which way an edge leaves its plate: what kinds of joints say of how they close, most say with these two."""

from __future__ import annotations

import math

from panelwright.joints.meeting.contact import Contact, Side
from panelwright.plates.geometry.frame import Vector, minus, scaled, unit

__all__ = ["way_of_first", "way_of_second"]


def way_of_first(contact: Contact) -> Vector:
    """The unit vector, in the product's frame, along which the first plate's edge comes to the second plate.

    On a bent border it is taken in the middle of the first stretch of the line.
    """
    return _across(contact.first, sum(contact.stretches[0]) / 2)


def way_of_second(contact: Contact) -> Vector:
    """The same way for a corner's other edge: along it the first plate's material goes into the second plate's openings."""
    out = _across(contact.second, sum(contact.stretches[0]) / 2)
    return scaled(out, math.copysign(1.0, _middle(contact.second) - sum(contact.footprint) / 2))


def _across(side: Side, u: float) -> Vector:
    """The axis across the line, as it stands at u."""
    (x0, y0), (x1, y1) = side.flat(u, 0.0), side.flat(u, 1.0)
    return unit(minus(side.body.point((x1, y1, 0.0)), side.body.point((x0, y0, 0.0))))


def _middle(side: Side) -> float:
    """Where the middle of the plate lies across the line."""
    corners = [side.seen(point)[1] for point in side.body.plate.outline.outer.points()]
    return (min(corners) + max(corners)) / 2
