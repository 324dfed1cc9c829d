"""What stands in a joint's way on its line: claims of other joints, their footprints, and cut-outs.

All intervals are of the joint's own u, and hold a web of one thickness on either side of what is in the way, unless they are
asked for without webs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from panelwright.assemblies.design.joins import Rule
from panelwright.joints.meeting.contact import Contact, Side
from panelwright.joints.spec.pattern import Claim, DeepJoint, Layout, SharingJoint, Wish, require_clearance
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.geometry.frame import dot
from panelwright.plates.geometry.probe import Interval
from panelwright.plates.tolerances import FILM, MEETING_COSINE, SAME_PLACE

__all__ = [
    "Loops",
    "Pending",
    "Strips",
    "blocked",
    "claims_by_body",
    "colliding_claims",
    "footprint",
    "has_same_corners",
    "mate_ends",
    "may_oppose",
    "meet",
    "obstacles",
    "runs_beside",
]

Loops = Mapping[int, Sequence[Loop]]
"""Flat regions by the number of the body in whose plane they lie."""

Strips = tuple[Interval, Interval]
"""What a joint may claim beside its line: v in the first plate, w in the second."""

Rank = Literal["owns", "placed", "pitched", "counted"]


@dataclass(frozen=True, eq=False)
class Pending:
    """A join whose plates have been found to meet, and whose tabs, slots or the like have no places yet.

    `rule` is the join and what applies to it, `contact` where its two plates meet.  `deep` is set for a kind that cuts into
    its plates beside the line (a `DeepJoint`), and says how far: v in the first plate, w in the second.  `wish` is set for a
    kind that takes turns with others on one line (a `SharingJoint`), and says what it would place there if it were alone.
    """

    rule: Rule
    contact: Contact
    deep: Strips | None
    wish: Wish | None

    @property
    def rank(self) -> Rank:
        """Whether it owns its line, is placed by hand, keeps a pitch, or goes wherever there is room."""
        if not self.rule.joint.yields:
            return "owns"
        if self.wish is None:
            return "counted"
        return "placed" if self.wish.is_placed else "pitched" if self.wish.pitch is not None else "counted"

    @property
    def order(self) -> tuple[object, ...]:
        """What tells it from all other joints, whatever the order of joins."""
        faces = sorted((hold.body.number, *map(str, hold.place)) for hold in (self.rule.first, self.rule.second))
        return (self.contact.first.body.number, self.contact.second.body.number, *faces)

    @property
    def strips(self) -> Strips:
        """Where any joint claims material."""
        return (min(0.0, self.contact.slab[0]), max(0.0, self.contact.slab[1])), self.contact.footprint


def meet(rule: Rule) -> Pending:
    """The contact of a join's two faces.  Raises `JointError` if the joint cannot be made there."""
    joint = rule.joint
    contact = joint.meet(rule.first, rule.second)
    require_clearance(contact, joint.kind, rule.clearance)
    return Pending(
        rule,
        contact,
        joint.strips(contact) if isinstance(joint, DeepJoint) else None,
        joint.wish(contact, contact.stretches) if isinstance(joint, SharingJoint) else None,
    )


def claims_by_body(layouts: Iterable[Layout]) -> dict[int, list[Loop]]:
    """All that has been laid out so far."""
    found: dict[int, list[Loop]] = {}
    for layout in layouts:
        for claim in layout.claims:
            found.setdefault(claim.side.body.number, []).append(claim.loop)
    return found


def footprint(item: Pending) -> dict[int, list[Loop]]:
    """All that a joint may come to claim of plates that others arrive at, wherever along its line it will be."""
    contact = item.contact
    span = (contact.stretches[0][0], contact.stretches[-1][1])
    across = contact.footprint if item.deep is None else item.deep[1]
    found = {contact.second.body.number: [contact.second.rectangle(span, across)]}
    if item.deep is not None:
        found[contact.first.body.number] = [contact.first.rectangle(span, item.deep[0])]
    return found


def blocked(contact: Contact, strips: Strips, loops: Loops, *, and_holes: bool = False, webs: bool = True) -> list[Interval]:
    """Intervals of u that regions take from two strips along the line; `and_holes`, those that cut-outs take as well."""
    found: list[Interval] = []
    for side, (low, high) in zip((contact.first, contact.second), strips, strict=True):
        web = side.body.t if webs else 0.0
        strip = (low - web + SAME_PLACE, high + web - SAME_PLACE)
        for loop in (*loops.get(side.body.number, ()), *(_near_holes(side, strip) if and_holes else ())):
            found += [(start - web, stop + web) for start, stop in side.taken(loop, strip)]
    return found


def obstacles(contact: Contact, strips: Strips, loops: Loops, *, webs: bool = True) -> list[Interval]:
    """Intervals of u that regions or cut-outs take from two strips along the line."""
    return blocked(contact, strips, loops, and_holes=True, webs=webs)


def _near_holes(side: Side, strip: Interval) -> list[Loop]:
    """Holes whose bounding box reaches into the strip along the joint line."""
    near: list[Loop] = []
    for hole, (x0, y0, x1, y1) in zip(side.body.plate.outline.holes, side.body.hole_boxes, strict=True):
        vs = [side.seen(corner)[1] for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
        if max(vs) > strip[0] and min(vs) < strip[1]:
            near.append(hole)
    return near


def mate_ends(item: Pending) -> list[tuple[float, float]]:
    """Each u at which the second plate ends under the line, not only the first one, and which way lies outside: 1 or -1."""
    side = item.contact.second
    middle = sum(item.contact.footprint) / 2
    ends = [(end, sign) for stretch in item.contact.stretches for end, sign in zip(stretch, (-1.0, 1.0), strict=True)]
    goes_on = side.covers([(end + sign * FILM, middle) for end, sign in ends])
    return [end for end, is_covered in zip(ends, goes_on, strict=True) if not is_covered]


def runs_beside(a: Pending, b: Pending) -> bool:
    """Whether two joints that share lines have parallel ones and a plate in common; along a bend no two lines are."""
    if any(side.body.roll for item in (a, b) for side in (item.contact.first, item.contact.second)):
        return False
    bodies = {a.contact.first.body, a.contact.second.body} & {b.contact.first.body, b.contact.second.body}
    is_parallel = abs(dot(a.contact.direction, b.contact.direction)) > 1 - MEETING_COSINE
    return a.wish is not None and b.wish is not None and bool(bodies) and is_parallel


def may_oppose(a: Pending, b: Pending) -> bool:
    """Whether what two joints push into one plate from its two sides, blind, leaves room for both in one slot."""
    mate = a.contact.second.body
    if a.wish is None or b.wish is None or b.contact.second.body is not mate:
        return False
    return a.wish.depth + b.wish.depth <= mate.t + SAME_PLACE


def colliding_claims(a: Pending, own: Layout, b: Pending, other: Layout) -> dict[int, list[Loop]]:
    """What `b` claims in places given by hand that `a`, which is placed by hand too, must keep clear of.

    Tabs on one edge that go into two mates side by side are no obstacle to each other, nor are blind ones that share a slot.
    """
    claims: list[Claim] = list(other.claims)
    if a.contact.first.body is b.contact.first.body:
        claims = [claim for claim in claims if claim.side is not b.contact.first]
    if may_oppose(a, b):
        slots = [claim.loop for claim in own.claims if claim.side is a.contact.second]
        claims = [claim for claim in claims if not any(has_same_corners(claim.loop, slot) for slot in slots)]
    found: dict[int, list[Loop]] = {}
    for claim in claims:
        found.setdefault(claim.side.body.number, []).append(claim.loop)
    return found


def has_same_corners(a: Loop, b: Loop) -> bool:
    """Whether two loops have the same corners, in whatever order."""
    return len(a) == len(b) and all(
        any(math.dist(one.start, other.start) < SAME_PLACE for other in b.segments) for one in a.segments
    )
