"""From plates and joins to finished solids.

What decides, and nothing else does:

1. `layouts.lay_out_all` says which joint gives way to which; nothing depends on the order in which joins were made.
2. Where three plates claim one corner cube, `corners.settle` says who keeps it.
3. All claims on a plate are carried out in one planar pass; cuts win over additions.  Then the plate is extruded once.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from panelwright.assemblies.data.made import Made
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.design.flattening import flattened
from panelwright.assemblies.design.joins import Join, Omission, Rule
from panelwright.assemblies.design.placed_sheet import Chain
from panelwright.joints.meeting.contact import Body, Hold
from panelwright.joints.spec.pattern import Claim, Setting
from panelwright.joints.spec.relief import Relief, relief_cuts
from panelwright.joints.spec.strip import Strip
from panelwright.plates.errors import JointError, PanelwrightError
from panelwright.plates.geometry.curves import Arc, Loop, Point
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.geometry.region import pieces
from panelwright.plates.outlines.planar_cuts import combine

from .flat_patterns import BentStrip, Seam, bent_part, groups_of
from .obstacles import Pending, meet
from .other_relief import OtherRelief
from .three_plate_corners import Corner, corner_claims, find_corners
from .wall_ends import told_of_ends
from .who_gives_way import lay_out_all

if TYPE_CHECKING:
    from panelwright.assemblies.design.collected import Collected

__all__ = ["Resolved", "resolve"]


@dataclass(frozen=True, eq=False)
class Resolved:
    """The parts of an assembly after its joints, the joints themselves, and those that could not be made.

    `flats` are the plates after their joints, one for each body; `parts` is what is cut and shown, where plates that hinges
    link are one.  `strips` are the hinges' bent strips.  `idle` lists claims that a joint relied on and that cut nothing,
    `omitted` what touches and was left out of `join_touching`.
    """

    bodies: tuple[Body, ...]
    flats: tuple[Part, ...]
    parts: tuple[Part, ...]
    strips: tuple[BentStrip, ...]
    made: tuple[Made, ...]
    failures: tuple[JointError, ...]
    idle: tuple[tuple[Made, Claim], ...]
    omitted: tuple[Omission, ...] = ()

    def __repr__(self) -> str:
        return f"<Resolved: {len(self.parts)} parts, {len(self.made)} joints made, {len(self.failures)} not made>"


def resolve(assembly: Collected, other: OtherRelief | None = None) -> Resolved:
    """Carry out every join of an assembly; joints that fail are left out and reported.

    `other` resolves it as it would be with another relief, which changes nothing of the assembly.
    """
    bodies, rules, omitted = flattened(assembly)
    if other is not None:
        bodies, rules = other.applied(bodies, rules)
    failures: list[JointError] = []
    pending: list[Pending] = []
    for rule in rules:
        try:
            pending.append(meet(rule))
        except JointError as error:
            failures.append(rule.told(told_of_ends(error, assembly.chains(), bodies)))
    sharing = [(i, p.contact) for i, p in enumerate(pending) if p.rule.joint.shares_corners]
    # corners are computed from the first line that meets them: the same one whatever the order of joins
    sharing.sort(key=lambda pair: pending[pair[0]].order)
    corners = find_corners(sharing)
    layouts, unmade = lay_out_all(pending, corners)
    failures += unmade
    made = {i: Made(pending[i].rule, pending[i].contact, layouts[i]) for i in sorted(layouts)}
    flats, idle = _parts(bodies, made, corners)
    laid, own, faults = _bends(assembly, bodies)
    parts, bent, rings, changed = _bent(bodies, flats, [*made.values(), *laid], assembly.chains(), own)
    final = tuple(_in_place(item, changed) for item in (*made.values(), *laid))
    return Resolved(bodies, flats, parts, bent, final, (*failures, *faults, *rings), idle, omitted)


def _in_place(made: Made, changed: Mapping[Strip, Strip]) -> Made:
    """A joint with its strip, if it has one, as it came out round what stands in its slits' way."""
    strip = made.layout.strip
    if strip is None or strip not in changed:
        return made
    after = changed[strip]
    return replace(made, layout=replace(made.layout, strip=after, numbers=after.numbers))


def _bends(assembly: Collected, bodies: Sequence[Body]) -> tuple[list[Made], dict[int, Strip], list[JointError]]:
    """The hinges that are laid into bent sheets, and the strip that each bent part is."""
    by_name = {body.name: (body, placed) for body, placed in zip(bodies, assembly.placed_plates(), strict=True)}
    made: list[Made] = []
    own: dict[int, Strip] = {}
    errors: list[JointError] = []
    for chain in assembly.chains():
        for body, placed in (by_name[name] for name in chain.parts):
            if body.roll is None:
                continue
            contact = chain.hinge.laid_into(body)
            try:
                layout = chain.hinge.lay_out(contact, Setting(0.0, contact.stretches, (), contact.stretches))
            except JointError as error:
                errors.append(error)
                continue
            assert layout.strip is not None
            own[body.number] = layout.strip
            face = placed.show
            hold = Hold(body, face.place, face.describe, Frame())
            made.append(Made(Rule(Join(face, face, chain.hinge, ""), hold, hold, 0.0, None), contact, layout))
    return made, own, errors


def _bent(
    bodies: Sequence[Body],
    flats: tuple[Part, ...],
    made: Sequence[Made],
    chains: Sequence[Chain],
    own: Mapping[int, Strip],
) -> tuple[tuple[Part, ...], tuple[BentStrip, ...], list[JointError], dict[Strip, Strip]]:
    """The plates with those that hinges link made one part, standing where its first plate stood.

    Also gives for each strip the one that it became.
    """
    hinges = [
        (item.contact.first.body.number, item.contact.second.body.number, item.layout.strip)
        for item in made
        if item.layout.strip is not None and item.contact.first.body is not item.contact.second.body
    ]
    numbers = {body.name: body.number for body in bodies}
    seams: list[Seam] = []
    for chain in chains:
        known = [numbers[name] for name in chain.parts]
        # a sheet with a bend that can't be made stays in parts
        if all(number in own for number in known if bodies[number].roll is not None):
            seams += [Seam(a, b, chain.name) for a, b in pairwise(known)]
    if not hinges and not seams:
        return flats, (), [], {}
    groups, errors = groups_of(hinges, seams)
    parts = dict(enumerate(flats))
    strips: list[BentStrip] = []
    changed: dict[Strip, Strip] = {}
    for group in groups:
        try:
            part, found, became = bent_part(group, bodies, flats, own)
        except JointError as error:
            errors.append(error)
            continue
        for number in group.members[1:]:
            del parts[number]
        parts[group.members[0]] = part
        strips += found
        changed.update(became)
    return tuple(parts.values()), tuple(strips), errors, changed


def _parts(
    bodies: Sequence[Body], made: dict[int, Made], corners: Sequence[Corner]
) -> tuple[tuple[Part, ...], tuple[tuple[Made, Claim], ...]]:
    claims: dict[int, list[tuple[Made | None, Claim]]] = {body.number: [] for body in bodies}
    for item in made.values():
        for claim in item.layout.claims:
            claims[claim.side.body.number].append((item, claim))
    for claim in corner_claims(corners, made):
        claims[claim.side.body.number].append((None, claim))
    parts: list[Part] = []
    idle: list[tuple[Made, Claim]] = []
    shapes: dict[Hashable, _Shape] = {}
    for body in bodies:
        part, lost = _part(body, claims[body.number], shapes)
        parts.append(part)
        idle.extend(lost)
    return tuple(parts), tuple(idle)


@dataclass(frozen=True, eq=False)
class _Shape:
    """A finished plate in its own frame; plates that are cut alike share it."""

    solid: Any
    loops: tuple[Loop, ...]
    idle_cuts: tuple[int, ...]


def _part(
    body: Body, claims: Sequence[tuple[Made | None, Claim]], shapes: dict[Hashable, _Shape]
) -> tuple[Part, list[tuple[Made, Claim]]]:
    # sums of rounded numbers depend on their order in the last digits, and joins come in any order
    claims = sorted(claims, key=lambda item: (item[1].action, _trace([item[1].loop])))
    adds = [claim.loop for _, claim in claims if claim.action == "add"]
    cuts = [(owner, claim) for owner, claim in claims if claim.action == "cut"]
    reliefs = [
        (segment.start, owner.relief)
        for owner, claim in claims
        if owner is not None and owner.relief is not None
        for segment in claim.loop
    ]
    outline = body.plate.outline
    key = (outline.loops, body.t, _trace(adds), _trace([claim.loop for _, claim in cuts]), _rounded(reliefs))
    shape = shapes.get(key)
    if shape is None:
        try:
            shape = _shaped(outline.loops, body.t, adds, [claim.loop for _, claim in cuts], reliefs)
        except PanelwrightError as error:
            error.add_note(f"while building plate {body.name!r}")
            error.plates = error.plates or (body.name,)
            raise
        shapes[key] = shape
    lost = [(owner, claim) for owner, claim in (cuts[i] for i in shape.idle_cuts) if owner is not None and claim.must_bite]
    return Part(body.name, body.plate.stock, body.frame, shape.solid, shape.loops, outline.marks), lost


def _trace(loops: Sequence[Loop]) -> tuple[Hashable, ...]:
    """What tells claims apart, to a tenth of the kernel's own tolerance."""
    return tuple(
        (
            len(loop),
            *(round(value, 8) + 0.0 for segment in loop for value in segment.start),
            *(round(value, 8) + 0.0 for segment in loop if isinstance(segment, Arc) for value in segment.center),
        )
        for loop in loops
    )


def _rounded(reliefs: Sequence[tuple[Point, Relief]]) -> tuple[Hashable, ...]:
    return tuple((round(x, 8) + 0.0, round(y, 8) + 0.0, relief) for (x, y), relief in reliefs)


def _shaped(
    base: Sequence[Loop],
    thickness: float,
    adds: Sequence[Loop],
    cuts: Sequence[Loop],
    reliefs: Sequence[tuple[Point, Relief]],
) -> _Shape:
    from panelwright.plates._kernel.solids.build import plate_solid
    from panelwright.plates._kernel.solids.read import loops_of_plate

    combined = combine(base, adds, cuts)
    loops = combined.loops
    round_cuts = relief_cuts(loops, reliefs) if reliefs else []
    if round_cuts:
        loops = combine(loops, cuts=round_cuts).loops
    if not loops:
        tool = max((relief.tool for _, relief in reliefs), default=0.0)
        culprit = f"reliefs for a tool of {tool:g} mm" if round_cuts else "joints"
        mend = "give the tool's diameter" if round_cuts else "make it larger, or the joints smaller"
        raise JointError(f"{culprit} leave nothing of a plate; {mend}", value=tool or None)
    solid = plate_solid(pieces(loops), thickness)
    return _Shape(solid, loops_of_plate(solid, thickness), combined.idle_cuts)
