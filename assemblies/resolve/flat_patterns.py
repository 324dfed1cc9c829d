"""Plates that hinges make one panel: laid flat side by side, slit, and bent again for the picture and the proof.

Hinges link plates to groups.  In each group the plate that was added first gives the panel its coordinates; the others
follow along the hinges.  A group is a tree, since a ring of hinges can't be laid flat.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from panelwright.assemblies.data.parts import Part, Unrolled
from panelwright.assemblies.design.naming import usable_name
from panelwright.joints.meeting.contact import Body
from panelwright.joints.meeting.side import Bend
from panelwright.joints.spec.strip import Stretch, Strip
from panelwright.plates.errors import JointError
from panelwright.plates.geometry.bending import FlatPiece, RoundPiece
from panelwright.plates.geometry.curves import Loop, Motion, Point, loop_through
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.geometry.polygons import region_of
from panelwright.plates.geometry.region import pieces
from panelwright.plates.outlines.planar_cuts import combine
from panelwright.plates.tolerances import ROUNDING

from .flat_clashes import check_spread, strip_corners

__all__ = ["BentStrip", "Group", "Seam", "bent_part", "groups_of"]


@dataclass(frozen=True, eq=False)
class _Link:
    """One hinge, and the numbers of the plates that it joins."""

    first: int
    second: int
    strip: Strip


@dataclass(frozen=True, eq=False)
class Seam:
    """A bend line between two neighbouring parts of one bent sheet; `panel` is the sheet's name."""

    first: int
    second: int
    panel: str


@dataclass(frozen=True, eq=False)
class Group:
    """Plates and what links them in one panel: `members` are numbers of plates, the first one gives the coordinates."""

    members: tuple[int, ...]
    links: tuple[_Link | Seam, ...]

    def panel(self, members: Sequence[str]) -> str:
        """The panel's name: the one that a hinge gives it, the sheet that it is, or the names of its members."""
        home, dot, _ = members[0].rpartition(".")
        given = [link.strip.panel for link in self.links if isinstance(link, _Link) and link.strip.panel is not None]
        if given:
            return f"{home}{dot}{usable_name(given[0], 'panel')}"
        return next((link.panel for link in self.links if isinstance(link, Seam)), "+".join(members))


@dataclass(frozen=True, eq=False)
class BentStrip:
    """One bent strip as it stands: its name for messages, and its piece before it is slit, in the product's frame.

    `plates` are the two that it joins, or twice the one that it is; `members` are all plates of its panel.
    """

    plates: tuple[str, str]
    members: tuple[str, ...]
    piece: RoundPiece


def groups_of(strips: Sequence[tuple[int, int, Strip]], seams: Sequence[Seam] = ()) -> tuple[list[Group], list[JointError]]:
    """The groups that hinges and seams make, by the number of their first plate, and an error for each ring."""
    home: dict[int, list[int]] = {}
    links: list[_Link | Seam] = []
    errors: list[JointError] = []
    for seam in seams:
        links.append(seam)
        merged = home.setdefault(seam.first, [seam.first]) + home.setdefault(seam.second, [seam.second])
        for number in merged:
            home[number] = merged
    for first, second, strip in strips:
        a, b = home.setdefault(first, [first]), home.setdefault(second, [second])
        if a is b:
            names = (strip.bend.first.body.name, strip.bend.second.body.name)
            errors.append(
                JointError(
                    f"{strip.kind} between {names[0]!r} and {names[1]!r}: with the other hinges it closes a ring, which can't "
                    "be cut flat; join one corner of the ring by fingers or tabs instead",
                    plates=names,
                )
            )
            continue
        links.append(_Link(first, second, strip))
        merged = a + b
        for number in merged:
            home[number] = merged
    found = {min(members): members for members in home.values() if len(members) > 1}
    return [
        Group(tuple(sorted(members)), tuple(link for link in links if link.first in members))
        for _, members in sorted(found.items())
    ], errors


@dataclass(frozen=True, eq=False)
class _Laid:
    """A plate laid flat: from its own plane to the panel's, and from the panel into the root plate's frame."""

    motion: Motion
    frame: Frame


@dataclass(frozen=True, eq=False)
class _LaidStrip:
    """A strip in the panel; `number` is that of the plate that it is, if it is one."""

    strip: Strip
    motion: Motion
    frame: Frame
    number: int | None = None

    @property
    def bend(self) -> Bend:
        return self.strip.bend

    @property
    def described(self) -> str:
        """Words for messages."""
        first, second = self.bend.first.body.name, self.bend.second.body.name
        return f"bend {first!r}" if self.number is not None else f"the strip between {first!r} and {second!r}"

    def place(self, u: float, s: float) -> Point:
        """Where a point of the strip lies in the panel; s counts from the first plate's edge."""
        return self.motion.apply(self.bend.first.flat(u, s))

    @property
    def outline(self) -> Loop:
        """The strip's own outline in the panel."""
        (low, high), length = self.bend.span, self.bend.length
        corners = [(low, 0.0), (high, 0.0), (high, length), (low, length)]
        return loop_through([self.place(*corner) for corner in corners]).counter_clockwise()

    def outlines(self, flat_loops: Mapping[int, tuple[Loop, ...]]) -> tuple[Loop, ...]:
        """Its loops in the panel, before it is slit: those of the plate that it is, if it is one."""
        return (self.outline,) if self.number is None else flat_loops[self.number]

    def settled(self, unslit: Sequence[Loop]) -> _LaidStrip:
        """The same with a lattice that goes round what stands in the slits' way."""
        return replace(self, strip=self.strip.in_place(_free_of(self, unslit)))

    def round_piece(self, loops: tuple[Loop, ...]) -> RoundPiece:
        bend = self.bend
        along = self.motion.turned(bend.first.along)
        across = self.motion.turned(bend.first.across)
        return _round(self.place(0.0, 0.0), along, across, bend, self.frame, loops)


def _round(origin: Point, along: Point, across: Point, bend: Bend, frame: Frame, loops: tuple[Loop, ...] = ()) -> RoundPiece:
    angle = math.radians(bend.angle_deg) * (1 if bend.to_show else -1)
    return RoundPiece(loops, frame, origin, along, across, bend.middle_radius, angle, bend.thickness)


def _laid_out(group: Group, bodies: Sequence[Body], own: Mapping[int, Strip]) -> tuple[dict[int, _Laid], list[_LaidStrip]]:
    """Every plate and strip of a group in the panel, outwards from the first plate.  `own` are the strips that plates are."""
    laid = {group.members[0]: _Laid(Motion(), Frame())}
    strips: list[_LaidStrip] = []
    waiting = list(group.links)
    while waiting:
        link = next(item for item in waiting if item.first in laid or item.second in laid)
        waiting.remove(link)
        near, far = (link.first, link.second) if link.first in laid else (link.second, link.first)
        known = laid[near]
        if isinstance(link, Seam):
            # parts of one sheet share its coordinates, and each has its own frame already
            between = bodies[far].frame.then(bodies[near].frame.inverse)
            laid[far] = _Laid(known.motion, _frame_of_next(known, between))
            continue
        bend = link.strip.bend
        if near == link.first:
            strip = _LaidStrip(link.strip, known.motion, known.frame)
            laid[far] = _Laid(bend.motion.then(known.motion), strip.round_piece(()).beyond)
        else:
            side = bend.second
            piece = _round(
                known.motion.apply(side.flat(0.0, 0.0)),
                known.motion.turned(side.along),
                known.motion.turned(side.across),
                bend,
                known.frame,
            )
            laid[far] = _Laid(bend.motion.inverse.then(known.motion), piece.beyond)
            strip = _LaidStrip(link.strip, laid[far].motion, piece.beyond)
        strips.append(strip)
    for number in group.members:
        if number in own:
            strips.append(_LaidStrip(own[number], laid[number].motion, laid[number].frame, number))
    return laid, strips


def _frame_of_next(known: _Laid, between: Frame) -> Frame:
    """Where the next part of a bent sheet stands: a frame from the panel into the root plate's, as in `_Laid`.

    `known` is a part of the same sheet that has been laid already.  `between` takes the next part's own coordinates to the
    known part's.  Both parts share the sheet's flat coordinates, so the known part's motion into the panel is the next one's
    as well.
    """
    motion = known.motion
    to_panel = Frame((motion.e, motion.f, 0.0), (motion.a, motion.c, 0.0), (motion.b, motion.d, 0.0), (0.0, 0.0, 1.0))
    # back from the panel to the next part's own coordinates, across to the known part's, and on where that part stands
    return to_panel.inverse.then(between).then(to_panel.then(known.frame))


def bent_part(
    group: Group, bodies: Sequence[Body], flats: Sequence[Part], own: Mapping[int, Strip]
) -> tuple[Part, list[BentStrip], list[tuple[Strip, Strip]]]:
    """The panel of a group of finished plates as one part: drawn flat, slit and bent.

    `own` gives the strip of each plate that is bent itself.  Also gives the bent strips as they stand, and each strip as it was
    with the same settled round what stands in its slits' way.  Raises `JointError` if the plates would lie on each other when
    laid flat.
    """
    from panelwright.plates._kernel.solids.bent_solid import bent_solid
    from panelwright.plates._kernel.solids.build import plate_solid
    from panelwright.plates._kernel.solids.read import loops_of_plate

    root = flats[group.members[0]]
    names = tuple(flats[number].name for number in group.members)
    laid, strips = _laid_out(group, bodies, own)
    flat_loops = {number: tuple(loop.moved(place.motion) for loop in flats[number].loops) for number, place in laid.items()}
    first, *others = group.members
    outers = [loop for number in others for loop in flat_loops[number] if loop.area > 0]
    holes = [loop.reversed() for number in others for loop in flat_loops[number] if loop.area < 0]
    added = [strip.outline for strip in strips if strip.number is None]
    unslit = combine(flat_loops[first], [*added, *outers], holes).loops
    check_spread(
        " and ".join(dict.fromkeys(strip.strip.kind for strip in strips)),
        names,
        unslit,
        [*(loop for loops in flat_loops.values() for loop in loops), *added],
        [(f"plate {flats[number].name!r}", flat_loops[number]) for number in group.members if number not in own],
        [(strip.described, [strip.place(u, s) for u, s in strip_corners(strip.bend)]) for strip in strips],
    )
    settled = [strip.settled(unslit) for strip in strips]
    changed = [(before.strip, after.strip) for before, after in zip(strips, settled, strict=True)]
    strips = settled
    planned = [(strip, slit) for strip in strips for slit in strip.strip.slits(_free_of(strip, unslit))]
    t, kerf = root.stock.t, root.stock.kerf
    cuts = [slit.loop(strip.place) for strip, slit in planned]
    in_one_pass = [kerf > 0 and abs(slit.width - kerf) < ROUNDING for _, slit in planned]
    wide = [loop for loop, is_stroke in zip(cuts, in_one_pass, strict=True) if not is_stroke]
    narrow = [loop for loop, is_stroke in zip(cuts, in_one_pass, strict=True) if is_stroke]
    whole = combine(unslit, cuts=wide).loops
    finished = combine(whole, cuts=narrow).loops
    loops = loops_of_plate(plate_solid(pieces(finished), t), t)
    bent: list[FlatPiece | RoundPiece] = [
        FlatPiece(flat_loops[number], laid[number].frame) for number in group.members if number not in own
    ]
    found: list[BentStrip] = []
    standing = list(bent)
    for strip in strips:
        slits = [loop for (other, _), loop in zip(planned, cuts, strict=True) if other is strip]
        outline = strip.outlines(flat_loops)
        bent.append(strip.round_piece(combine(outline, cuts=slits).loops))
        plain = strip.round_piece(outline)
        standing.append(plain)
        ends = (strip.bend.first.body.name, strip.bend.second.body.name)
        found.append(BentStrip(ends, names, replace(plain, frame=plain.frame.then(root.frame))))
    marks = tuple(
        tuple(segment.moved(laid[number].motion) for segment in mark)
        for number in group.members
        for mark in flats[number].marks
    )
    strokes = tuple(slit.path(strip.place) for (strip, slit), is_stroke in zip(planned, in_one_pass, strict=True) if is_stroke)
    bends = tuple(loop for strip in strips for loop in strip.outlines(flat_loops))
    panel = Unrolled(names, tuple(unslit), whole, strokes, bends, tuple(standing))
    part = Part(group.panel(names), root.stock, root.frame, bent_solid(bent, t), loops, marks, panel)
    return part, found, changed


def _free_of(strip: _LaidStrip, unslit: Sequence[Loop]) -> Callable[[float, float], Sequence[Stretch]] | None:
    """Where slits may be between two s: within the strip, away from what cuts into its borders or stands out of them.

    None if nothing does.
    """
    import shapely

    bend = strip.bend
    low, high = bend.span
    web = max(strip.strip.bridge, bend.thickness)
    side, back = bend.first, strip.motion.inverse

    material = region_of(unslit, 0.01, seen=lambda point: side.seen(back.apply(point)))
    around = shapely.box(low, -web, high, bend.length + web)
    beside = [shapely.box(low - 2 * web, 0.0, low, bend.length), shapely.box(high, 0.0, high + 2 * web, bend.length)]
    # films that rounding leaves along the borders are nothing
    voids = around.difference(material).buffer(-1e-6, join_style="mitre").buffer(1e-6, join_style="mitre")
    humps = shapely.union_all(beside).intersection(material)
    humps = humps.buffer(-1e-6, join_style="mitre").buffer(1e-6, join_style="mitre")
    if voids.is_empty and humps.is_empty:
        return None

    def free(s0: float, s1: float) -> list[Stretch]:
        band = shapely.box(low - 3 * web, s0 - web, high + 3 * web, s1 + web)
        blocked: list[tuple[float, float]] = []
        for shape in (voids, humps):
            cut = shape.intersection(band)
            for piece in getattr(cut, "geoms", [cut]):
                if not piece.is_empty:
                    u0, _, u1, _ = piece.bounds
                    # what stands out of a border blocks it as far as the border itself
                    blocked.append((min(u0, high) - web, max(u1, low) + web))
        stretches = [Stretch(low, high, True, True)]
        for u0, u1 in blocked:
            stretches = [part for stretch in stretches for part in _without(stretch, u0, u1)]
        return stretches

    return free


def _without(stretch: Stretch, low: float, high: float) -> list[Stretch]:
    if high <= stretch.low or low >= stretch.high:
        return [stretch]
    parts: list[Stretch] = []
    if low > stretch.low:
        parts.append(Stretch(stretch.low, low, stretch.opens_low, False))
    if high < stretch.high:
        parts.append(Stretch(high, stretch.high, False, stretch.opens_high))
    return parts
