"""Tabs on a plate's edge, slots in the plate that the edge butts on."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from panelwright.joints.meeting.contact import Contact, Hold, joint_error
from panelwright.joints.meeting.edge_contacts import edge_contact
from panelwright.joints.meeting.remark import Remark
from panelwright.joints.meeting.round_contact import require_narrow, straight_remark, widest_straight, widest_unlocked
from panelwright.joints.rows.even_places import largest_share, room_for, widest
from panelwright.joints.rows.places import Row, check_pitch, inside_margins, own_count, places, row_given, wanted_webs
from panelwright.joints.spec.kind_words import Words
from panelwright.joints.spec.pattern import RUN_OUT_SHARE, Claim, Ends, Fit, Layout, Setting, Wish, opening
from panelwright.joints.spec.relief import Relief
from panelwright.joints.spec.ways_out import way_of_first
from panelwright.plates._validate import finite, positive
from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.frame import Vector
from panelwright.plates.geometry.probe import Interval, common, joined
from panelwright.plates.tolerances import FILM, INSIDE, ROUNDING

__all__ = ["Tabs", "tabs", "tabs_cut_back"]

USUAL = 2
"""How many tabs there are where the design says no number, and room for so many: enough to keep a plate from turning."""

MOST_THICKNESSES = 4.0
"""How wide a tab is that chooses its width and has room, in thicknesses of its plate: common practice, no source."""

LEAST_DEPTH = 1.0
LEAST_DEPTH_SHARE = 0.25
"""Depth of a tab in mm, or as a share of the mate's thickness if that is less, below which it holds nothing: rounded and burnt
edges take about as much (common practice, no source)."""

LEAST_SHARE = 0.5
"""Share of its plate's thickness below which a tab that chooses its width holds nothing (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Tabs:
    """Spec of a row of tabs; make one with `tabs`."""

    count: int | None
    pitch: float | None
    width: float | None
    margin: float | None
    at: tuple[float, ...] | None
    depth: float | None
    proud: float
    clearance: float | None
    relief: Relief | None

    kind: ClassVar[str] = "tabs"
    yields: ClassVar[bool] = True
    shares_corners: ClassVar[bool] = False
    words: ClassVar[Words] = Words("tabs", "Push {parts} into {mates}.")

    def meet(self, first: Hold, second: Hold) -> Contact:
        """The edge and the broad face it stands on, in either order: the plate with the edge gets the tabs."""
        return edge_contact(first, second, self.kind, may_curve=True)

    def _row(self, contact: Contact, count: int | None) -> Row:
        return Row(self.kind, "tab", USUAL, count, self.pitch, self.margin, self.at, gap=contact.second.body.t)

    def wish(self, contact: Contact, free: Sequence[Interval]) -> Wish:
        """How many tabs there would be, and how wide, were they alone on the line."""
        row = self._row(contact, self.count)
        usable = tuple(common(inside_margins(row, contact), free))
        number, width = self._chosen(contact, usable)
        check_pitch(row, contact, width, usable)
        count = len(self.at) if self.at is not None else max(1, number or own_count(row, usable, width))
        if self.width is None:
            width = min(width, 2 * contact.first.body.t)  # tabs that choose their width make do with less to get their turns
        depth = math.inf if self.depth is None else self.depth
        return Wish(usable, count, width, self.pitch, self.at is not None, depth)

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        """One slot for each tab; the mate owns everything between."""
        middles, width = self._places(contact, setting)
        return self.laid_at(contact, setting.clearance, middles, width)

    def ways_in(self, contact: Contact, layout: Layout) -> tuple[Vector, ...]:
        """The edge goes straight out of its own plate into the slots."""
        return (way_of_first(contact),)

    def laid_at(self, contact: Contact, clearance: float, middles: Sequence[float], width: float) -> Layout:
        """The layout with tabs of `width` mm in given places along u."""
        first, second = contact.first, contact.second
        low, high = contact.slab
        length = self._length(contact, high - low)
        c = clearance
        claims: list[Claim] = []
        fits: list[Fit] = []
        if low < -ROUNDING:
            # designed overlapping: the mate owns the edge, less the tabs
            claims += tabs_cut_back(contact, [(m - width / 2, m + width / 2) for m in middles], c)
        across = contact.footprint if contact.section is None else contact.section.footprint(low + length)
        for m in middles:
            self._require_hold(contact, across, (m - width / 2, m, m + width / 2))
        middle = (across[0] + across[1]) / 2
        press = 0.0
        for m in middles:
            u = (m - width / 2, m + width / 2)
            reach = low + length
            if reach > ROUNDING:
                claims.append(Claim(first, "add", first.rectangle(u, (min(0.0, low), reach))))
            slot, open_sides = opening(second, u, across, c, run_out=RUN_OUT_SHARE * first.body.t)
            claims.append(Claim(second, "cut", slot, must_bite=True))
            depth = min(length, high - low)
            in_tab = (m, low + min(depth, high - low) / 2)
            if not open_sides & {"u-", "u+"}:
                fits.append(Fit(second, (m, middle), "along", first, in_tab, c, (across[1] - across[0]) / 2, depth / 2))
                press += max(0.0, -c) * depth * first.body.t
            if not open_sides & {"v-", "v+"}:
                fits.append(Fit(second, (m, middle), "across", across[1] - across[0], in_tab, c, width / 2))
                press += max(0.0, -c) * depth * width
        numbers = {
            "count": len(middles),
            "width_mm": width,
            "length_mm": length,
            "positions_mm": [round(m, 6) for m in middles],
            **contact.numbers,
        }
        remarks = straight_remark(contact, width, c, middles[0]) + self._shallow_remark(contact, length, middles[0])
        return Layout(tuple(claims), tuple(fits), numbers, press, remarks=remarks)

    def _shallow_remark(self, contact: Contact, length: float, middle: float) -> tuple[Remark, ...]:
        """A warning of tabs that go so little into the mate that they hold nothing."""
        first, mate = contact.first, contact.second.body
        least = min(LEAST_DEPTH, LEAST_DEPTH_SHARE * mate.t)
        if length >= least - ROUNDING:
            return ()
        text = (
            f"tabs of {first.body.name!r} go {length:g} mm into {mate.name!r}, which is {mate.t:g} mm thick; less than "
            f"{least:g} mm holds nothing: make depth= larger, or leave it out, so that they go right through"
        )
        place = first.body.point((*first.flat(middle, contact.slab[0]), first.body.t / 2))
        return (Remark("SHALLOW", text, place, {"depth_mm": length, "limit_mm": least}),)

    def _require_hold(self, contact: Contact, across: Interval, us: Sequence[float]) -> None:
        """Refuse a tab that the mate's border cuts through: what is not in the mate is not held by it.

        At other angles than 90° a slot is longer than the tab is thick; then the mate may end anywhere in that wedge.
        """
        first, second = contact.first.body, contact.second.body
        low, high = across
        lean = 0.0 if contact.section is None else abs(contact.section.normal[1] / contact.section.normal[0])
        need = high - low - second.t * lean
        for u in (us[0] + INSIDE, us[1], us[2] - INSIDE):
            parts = [(start, stop) for start, stop in contact.second.columns(u) if start < high and stop > low]
            start, stop = max(parts, key=lambda part: min(part[1], high) - max(part[0], low), default=(low, low))
            held = min(stop, high) - max(start, low)
            if held >= need - INSIDE:
                continue
            mend = (
                f"move {first.name!r} {need - held:.3f} mm in from there, or make {second.name!r} larger"
                if stop - start >= need
                else f"make {second.name!r} larger there"
            )
            raise joint_error(
                contact,
                self.kind,
                f"the border of {second.name!r} cuts through the tab at {us[1]:.2f} mm and holds only {max(0.0, held):.3f} of "
                f"{need:.3f} mm of its thickness; {mend}",
                value=held,
                limit=need,
            )

    def _length(self, contact: Contact, thickness: float) -> float:
        if self.depth is None:
            return thickness + self.proud
        if self.depth > thickness + ROUNDING:
            raise joint_error(
                contact,
                self.kind,
                f"depth is {self.depth:g} mm, but the mate is only {thickness:g} mm thick; use proud= to let tabs stand out",
                value=self.depth,
                limit=thickness,
            )
        return self.depth

    def _places(self, contact: Contact, setting: Setting) -> tuple[list[float], float]:
        """Middles of the tabs along u, and their width."""
        free = common(inside_margins(self._row(contact, self.count), contact), setting.free)
        count, width = self._chosen(contact, free, setting.ends, setting.clearance)
        if self.width is None:
            things = len(self.at) if self.at is not None else count or 1
            require_narrow(contact, self.kind, things, setting.clearance, LEAST_SHARE * contact.first.body.t)
            self._check_width(contact, free, count or 1, width)
        row = self._row(contact, count)
        return places(row, contact, width, contact.stretches, setting.free, setting.ends), width

    def _check_width(self, contact: Contact, free: Sequence[Interval], count: int, width: float) -> None:
        """Refuse tabs that chose a width at which they hold nothing."""
        t, room = contact.first.body.t, sum(high - low for low, high in free)
        least = LEAST_SHARE * t
        if room <= 0 or width >= least - ROUNDING:
            return
        things = "one tab" if count == 1 else f"{count} tabs"
        where = f"only {room:.2f} mm of the line is free, and {things} would be {width:.2f} mm wide"
        mend = "ask for fewer, free more of it, or give width="
        if self.pitch is not None and self.pitch < 2 * least:
            where = f"at a pitch of {self.pitch:g} mm tabs would be {width:.3g} mm wide"
            mend = f"make the pitch {t:g} mm or more"
        elif self.at is not None:
            where, mend = f"at the places given tabs would be {max(width, 0.0):.2f} mm wide", "move them, or give width="
        raise joint_error(
            contact,
            self.kind,
            f"{where}; less than {least:g} mm, half of the {t:g} mm that the plate is thick, holds nothing: {mend}",
            value=width,
            limit=least,
        )

    def _chosen(
        self, contact: Contact, free: Sequence[Interval], ends: Ends = (), clearance: float = math.inf
    ) -> tuple[int | None, float]:
        """How many tabs, or None where their pitch or places say it, and how wide.

        Tabs that say neither are two, or one where two would be narrower than their plate is thick or leave thinner webs.
        """
        if self.at is not None or self.pitch is not None or self.count is not None:
            number = len(self.at) if self.at is not None else self.count
            return self.count, self.width_on(contact, free, number, ends, clearance)
        web = contact.second.body.t
        if self.width is not None:
            is_roomy = room_for(free, self.width, max(self.width, web)) >= USUAL
            all_fit = is_roomy and widest(free, USUAL, web, wanted_webs(free, ends, web)) >= self.width - ROUNDING
            return (USUAL if all_fit else 1), self.width
        width = self.width_on(contact, free, USUAL, ends, clearance)
        if width >= contact.first.body.t - ROUNDING:
            return USUAL, width
        return 1, self.width_on(contact, free, 1, ends, clearance)

    def width_on(
        self, contact: Contact, free: Sequence[Interval], count: int | None, ends: Ends = (), clearance: float = math.inf
    ) -> float:
        """The width given, or four thicknesses: less where the gaps between `count` of them would be narrower, and on bends.

        Webs of one thickness stay between them and towards `ends` as long as tabs are no narrower than their own plate is
        thick; below that, all get narrower alike.
        """
        if self.width is not None:
            return self.width
        t, web = contact.first.body.t, contact.second.body.t
        room = max(sum(high - low for low, high in free), 1e-3)
        limits = (widest_straight(contact, clearance), widest_unlocked(contact, count or 1))
        most = min(MOST_THICKNESSES * t, *(max(limit, 1e-3) for limit in limits if limit is not None), math.inf)
        wanted = wanted_webs(free, ends, web)
        if self.at is not None:
            return min(most, room / (2 * len(self.at)), self._narrowest_place(contact, free, ends))
        if self.pitch is not None:
            count = max(1, min(2, math.floor(min(1e3, room / self.pitch)) + 1))
            most = min(most, self.pitch / 2)
        assert count is not None
        best = widest(free, count, web, wanted)
        if best < t:
            best = max(best, t * min(1.0, largest_share(free, count, t, web, wanted)))
        return min(most, room / (2 * count), best)

    def _narrowest_place(self, contact: Contact, free: Sequence[Interval], ends: Ends) -> float:
        """How wide tabs in the given places may be: with webs beside them, but no narrower than a thickness for their sake."""
        assert self.at is not None
        t, web = contact.first.body.t, contact.second.body.t
        spots = sorted(self.at)
        found = [math.inf]
        for before, after in itertools.pairwise(spots):
            apart = after - before
            found.append(max(min(apart / 2, apart - web), min(t, apart / 2)))
        for spot in spots:
            for (low, high), own in zip(free, wanted_webs(free, ends, web), strict=True):
                if low < spot < high:
                    sides = ((spot - low, own[0]), (high - spot, own[1]))
                    found += [max(2 * (side - more), min(t, 2 * side)) for side, more in sides]
        return min(found)


def tabs_cut_back(contact: Contact, tabs_at: Sequence[Interval], clearance: float) -> list[Claim]:
    """Cuts that take the first plate's edge out of the mate, between its tabs.

    Where the mate ends and the first plate goes on, half a clearance stays between them.  Where the first plate's own edge
    ends but slanting flanks make it wider at the depth of the cut, the cut goes on over the flank, as far as the mate does.
    """
    first = contact.first
    low = contact.slab[0]
    ends = [contact.stretches[0][0], *(edge for tab in tabs_at for edge in tab), contact.stretches[-1][1]]
    beyond, gap = first.body.t, max(0.0, clearance / 2)
    mate = joined([part for w in _across(contact.footprint) for part in contact.second.stretches(w)])
    deep = first.stretches(low + INSIDE)

    def outward(end: float, sign: float) -> float:
        if not first.has_material([(end + sign * FILM, low / 2)]):
            return end + sign * beyond
        flank = _end_of(deep, end, sign)
        if first.has_material([(end + sign * FILM, FILM)]):
            return end + sign * gap  # what rises there is no flank: the edge lies in a notch
        over = min(sign * _end_of(mate, end, sign) + gap, sign * flank + beyond)
        return sign * max(sign * end + gap, over)

    claims: list[Claim] = []
    for start, stop in zip(ends[::2], ends[1::2], strict=True):
        if stop - start < ROUNDING:
            continue
        u = (outward(start, -1.0) if start == ends[0] else start, outward(stop, 1.0) if stop == ends[-1] else stop)
        claims.append(Claim(first, "cut", first.rectangle(u, (low, beyond))))
    return claims


def _across(footprint: Interval) -> tuple[float, float, float]:
    """Lines over a footprint: right inside its borders, and its middle."""
    return (footprint[0] + INSIDE, sum(footprint) / 2, footprint[1] - INSIDE)


def _end_of(stretches: Sequence[Interval], at: float, sign: float) -> float:
    """Where the stretch that holds u = `at` ends to one side; `at` if there is none."""
    found = [(low, high) for low, high in stretches if low - INSIDE <= at <= high + INSIDE]
    ends = [high if sign > 0 else low for low, high in found]
    return sign * max((sign * end for end in ends), default=sign * at)


def tabs(
    count: int | None = None,
    *,
    pitch: float | None = None,
    width: float | None = None,
    margin: float | None = None,
    at: float | Sequence[float] | None = None,
    depth: float | None = None,
    proud: float = 0.0,
    clearance: float | None = None,
    relief: Relief | None = None,
) -> Tabs:
    """Tabs on the edge of one plate that go into slots of the other.

    The plate whose *edge face* is joined gets the tabs, the one whose *broad face* is joined gets the slots, in whichever
    order the two are named.  Where the footprint reaches the slotted plate's border, the slot is an open notch; where the
    border cuts through the footprint, so that tabs would be held by part of their thickness only, the joint is refused.

    - `count`: how many; or `pitch`, the distance of their middles in mm, and as many as fit; or `at`, the place or places of
      their middles in mm from the lower end of the edge (the end of least x, then y, then z).  By default two, or one
      where two don't fit, or would be narrower than the plate is thick.
    - `width`: of one tab, mm; by default four thicknesses, less on short edges and on the border of a bent sheet, where
      tabs stay straight and wide ones don't go into slots along the curve.  On edges where tabs of a thickness and webs of one
      have no room, all get narrower alike, down to half a thickness.
    - `margin`: mm to keep free at both ends of the contact.
    - `depth`: length of the tabs, mm, at most the mate's thickness (blind tabs); by default they go right through.
      `proud`: how far they stand out of the far side instead, mm.
    - `clearance`: slot minus tab, mm, in width and thickness; negative for a press fit; by default the assembly's or stock's.
    - `relief`: `dog_bone(tool)` or `t_bone(tool)` for a round cutter.

    Counted and pitched tabs keep one thickness away from other joints, cut-outs, crossing plates and, if there is room, from
    each other and from the ends of the plate that they go into.  Their places go by nominal sizes, so another clearance moves
    none.  Rows that want one stretch of a plate, such as those of a shelf on either side of a divider, take turns; rows of one
    `pitch` both keep it; places given by `at` stay where they are, and the proof warns of thin webs beside them.  Blind tabs
    that are alike and together no longer than the plate is thick share its slots instead.

    Raises `SizeError` for a size that no tab has, or for more than one of `count`, `pitch` and `at`.

    >>> tabs(count=2, width=10).width
    10.0
    >>> tabs(count=0)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: count of tabs is 0; it must be 1 or more
    """
    number, apart, free, spots = row_given("tab", count, pitch, margin, at, instead="leave the join out")
    if depth is not None and proud:
        raise SizeError("tabs are given depth and proud; give one of them", value=(depth, proud))
    return Tabs(
        number,
        apart,
        None if width is None else positive(width, "width of tabs"),
        free,
        spots,
        None if depth is None else positive(depth, "depth of tabs"),
        positive(proud, "proud length of tabs", zero_is_fine=True),
        None if clearance is None else finite(clearance, "clearance of tabs"),
        relief,
    )
