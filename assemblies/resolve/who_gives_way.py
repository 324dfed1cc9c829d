"""Which joint gives way to which.

1. Joints that own their line (fingers, cross-laps) see nothing.
2. Joints whose places are all given by hand see what the first ones claim, and each other: where they collide, both fail.  That
   they leave a web is for the proof to ask, as of cut-outs, which are placed by hand too.
3. All others spread over what cut-outs and the joints above leave free, and keep clear of the whole footprint of each other
   (of a joint that cuts deeper into its plates, of the whole strips).  Only those whose lines run side by side on one plate,
   such as a shelf on either side of a divider, share the stretch: pitched ones come first, then counted ones, and within each
   kind they take turns in the order of plates.  Blind ones that are alike oppose each other in common slots instead.
   What would come nearer than a web to the end of the plate that it goes into moves in, if there is room.

So no layout depends on the order in which joins were made.  Nor does any depend on clearance: what joints see of each other is
what each would cut if there were none.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from panelwright.joints.meeting.contact import Body, Contact, joint_error
from panelwright.joints.spec.pattern import Layout, Setting, SharingJoint, Wish
from panelwright.plates.errors import JointError
from panelwright.plates.geometry.frame import dot, minus
from panelwright.plates.geometry.probe import Interval, without
from panelwright.plates.tolerances import SAME_PLACE

from .obstacles import (
    Loops,
    Pending,
    Rank,
    Strips,
    blocked,
    claims_by_body,
    colliding_claims,
    footprint,
    has_same_corners,
    mate_ends,
    may_oppose,
    obstacles,
    runs_beside,
)
from .three_plate_corners import Corner, trimmed
from .turns import by_turns

__all__ = ["lay_out_all"]

Clashes = Mapping[tuple[int, int], Sequence[Interval]]
"""For pairs of joints by number, the intervals of the first one's u that the second one may want too."""


def lay_out_all(pending: Sequence[Pending], corners: Sequence[Corner]) -> tuple[dict[int, Layout], list[JointError]]:
    """The layout of each joint that can be made, by number, and why the others can't."""
    layouts: dict[int, Layout] = {}
    failures: list[JointError] = []

    def lay_out(i: int, free: Sequence[Interval], deep: Sequence[Interval] | None = None) -> Layout | None:
        """Keeps the joint as it is cut, and gives back the same at no clearance: what others keep clear of."""
        item = pending[i]
        ends = mate_ends(item) if item.rank in ("pitched", "counted") else ()
        rule, whole = item.rule, tuple(free if deep is None else deep)
        setting = Setting(rule.clearance, tuple(free), trimmed(i, corners), whole, ends, rule.relief)
        joint = rule.joint
        try:
            layouts[i] = joint.lay_out(item.contact, setting)
            is_last = item.rank == "counted" or item.rule.clearance == 0
            nominal: Layout = layouts[i] if is_last else joint.lay_out(item.contact, replace(setting, clearance=0.0))
        except JointError as error:
            failures.append(item.rule.told(error))
            return None
        return nominal

    seen = {i: own for i in _ranked(pending, "owns") if (own := lay_out(i, pending[i].contact.stretches)) is not None}
    placed = _ranked(pending, "placed")
    fixed = claims_by_body(seen.values())
    free = {i: _free(pending[i], pending[i].strips, fixed, webs=False) for i in placed}
    # first each as if it were the only one placed by hand, then once more with what the others claim
    alone = {i: layout for i in placed if (layout := lay_out(i, free[i])) is not None}
    for i in alone:
        del layouts[i]
    for i, own in alone.items():
        item = pending[i]
        taken = [colliding_claims(item, own, pending[j], other) for j, other in alone.items() if j != i]
        again = lay_out(i, _free(item, item.strips, fixed, taken, webs=False))
        if again is not None:
            seen[i] = again
    for rank in ("pitched", "counted"):
        for i, (line, deep) in _spread(pending, rank, claims_by_body(seen.values()), failures).items():
            own = lay_out(i, line, deep)
            if own is not None:
                seen[i] = own
    return layouts, failures


def _ranked(pending: Sequence[Pending], *ranks: Rank) -> list[int]:
    return [i for i, item in enumerate(pending) if item.rank in ranks]


def _free(item: Pending, strips: Strips, fixed: Loops, taken: Iterable[Loops] = (), *, webs: bool = True) -> list[Interval]:
    """What cut-outs and claims leave of a joint's line, and what else others have taken; without `webs`, down to nothing."""
    contact = item.contact
    found = obstacles(contact, strips, fixed, webs=webs)
    found += [stop for loops in taken for stop in blocked(contact, strips, loops, webs=webs)]
    return without(contact.stretches, found)


def _spread(
    pending: Sequence[Pending], rank: Rank, fixed: Loops, failures: list[JointError]
) -> dict[int, tuple[list[Interval], list[Interval] | None]]:
    """For each joint of a rank what is free on its line and, where it cuts deeper, on all of its strips."""
    movable = _ranked(pending, "pitched", "counted")
    members = _ranked(pending, rank)
    prints = {j: footprint(pending[j]) for j in movable}
    free: dict[int, list[Interval]] = {}
    deep: dict[int, list[Interval]] = {}
    clashes: dict[tuple[int, int], list[Interval]] = {}
    for i in members:
        item = pending[i]
        others = [j for j in movable if j != i]
        away = [prints[j] for j in others if not runs_beside(item, pending[j])]
        free[i] = _free(item, item.strips, fixed, away)
        if item.deep is not None:
            deep[i] = _free(item, item.deep, fixed, away)
        for j in others:
            if pending[j].rank == rank and runs_beside(item, pending[j]):
                seen = blocked(item.contact, item.strips, prints[j])
                if seen:
                    clashes[i, j] = seen
    for group in _linked(members, clashes):
        if len(group) > 1:
            try:
                free.update(_shared({i: pending[i] for i in sorted(group, key=lambda i: pending[i].order)}, free, clashes))
            except JointError as error:
                named = [pending[i].rule for i in group if pending[i].contact.names == error.plates]
                failures.append(named[0].told(error) if named else error)
                for i in group:
                    del free[i]
    return {i: (line, deep.get(i)) for i, line in free.items()}


def _linked(members: Sequence[int], clashes: Clashes) -> list[list[int]]:
    """Groups of joints that clash with each other, directly or through others."""
    left = list(members)
    groups: list[list[int]] = []
    while left:
        group = [left.pop(0)]
        for member in group:
            near = [i for i in left if (i, member) in clashes or (member, i) in clashes]
            group += near
            left = [i for i in left if i not in near]
        groups.append(group)
    return groups


@dataclass(frozen=True)
class _Ruler:
    """How a joint's u is read on the line of the first of a group: x = sign · u + shift."""

    sign: float
    shift: float

    @classmethod
    def between(cls, group: Contact, own: Contact) -> _Ruler:
        starts = [one.first.body.frame.point((*one.first.origin, 0.0)) for one in (group, own)]
        sign = 1.0 if dot(group.direction, own.direction) > 0 else -1.0
        return cls(sign, dot(minus(starts[1], starts[0]), group.direction))

    def to_group(self, intervals: Iterable[Interval]) -> tuple[Interval, ...]:
        ends = [(self.sign * low + self.shift, self.sign * high + self.shift) for low, high in intervals]
        return tuple(sorted((min(pair), max(pair)) for pair in ends))

    def to_own(self, intervals: Iterable[Interval]) -> list[Interval]:
        ends = [(self.sign * (low - self.shift), self.sign * (high - self.shift)) for low, high in intervals]
        return sorted((min(pair), max(pair)) for pair in ends)


def _shared(
    group: Mapping[int, Pending], free: Mapping[int, Sequence[Interval]], clashes: Clashes
) -> dict[int, list[Interval]]:
    """What each joint of a group gets of the line that they share; `group` is in the order of its turns."""
    first = next(iter(group.values())).contact
    rulers = {i: _Ruler.between(first, item.contact) for i, item in group.items()}
    wishes: list[Wish] = []
    units: list[list[int]] = []
    for i, item in group.items():
        joint = item.rule.joint
        assert isinstance(joint, SharingJoint)  # no other runs beside another one
        wish = joint.wish(item.contact, free[i])
        wish = replace(wish, free=rulers[i].to_group(wish.free))
        home = next(
            (n for n, unit in enumerate(units) if all(_oppose(item, group[j]) for j in unit) and _near(wish, wishes[n])), None
        )
        if home is None:
            wishes.append(wish)
            units.append([i])
        else:
            units[home].append(i)
    pairs: dict[tuple[int, int], list[Interval]] = {}
    web = 0.0
    for (i, j), seen in clashes.items():
        if i not in group or j not in group:
            continue
        m, n = sorted(next(k for k, unit in enumerate(units) if one in unit) for one in (i, j))
        if m != n:
            pairs.setdefault((m, n), []).extend(rulers[i].to_group(seen))
            _require_equal_pitches(group[i], group[j])
            web = max(web, *(body.t for body in _bodies(group[i]) & _bodies(group[j])))
    turns = by_turns(wishes, pairs, web)
    return {i: rulers[i].to_own(turns[n]) for n, unit in enumerate(units) for i in unit}


def _bodies(item: Pending) -> set[Body]:
    return {item.contact.first.body, item.contact.second.body}


def _oppose(a: Pending, b: Pending) -> bool:
    """Whether two joints come out alike, from either side of one plate, so that what goes in shares its slots."""
    slots = [loops[item.contact.second.body.number] for item in (a, b) for loops in (footprint(item),)]
    return (
        may_oppose(a, b)
        and a.rule.joint == b.rule.joint
        and (a.rule.clearance, a.rule.relief) == (b.rule.clearance, b.rule.relief)
        and has_same_corners(slots[0][0], slots[1][0])
    )


def _near(a: Wish, b: Wish) -> bool:
    """Whether the same stretches are free for both."""
    return len(a.free) == len(b.free) and all(
        abs(p - q) < SAME_PLACE for one, other in zip(a.free, b.free, strict=True) for p, q in zip(one, other, strict=True)
    )


def _require_equal_pitches(a: Pending, b: Pending) -> None:
    pitches = [item.wish.pitch for item in (a, b) if item.wish is not None]
    if pitches[0] != pitches[1]:
        names = " and ".join(repr(name) for name in a.contact.names)
        raise joint_error(
            b.contact,
            b.rule.joint.kind,
            f"its pitch is {pitches[1]:g} mm, but it takes turns with the {a.rule.joint.kind} between {names}, which keep "
            f"{pitches[0]:g} mm; give both one pitch, or one of them a count",
            value=pitches[1],
            limit=pitches[0],
        )
