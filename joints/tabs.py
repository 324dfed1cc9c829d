"""Tabs on a plate's edge, slots in the plate that the edge butts on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from panelwright.plates._validate import finite, positive
from panelwright.plates.errors import SizeError
from panelwright.plates.probe import Interval, common

from .contact import INSIDE, Contact, Hold, edge_contact
from .pattern import LOOK, RUN_OUT, Claim, Fit, Layout, Setting, Wish, joint_error, opening
from .places import Row, inside_margins, own_count, places, row_given
from .relief import Relief
from .round_contact import straight_remark, widest_straight

__all__ = ["Tabs", "tabs", "tabs_cut_back"]

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

    def meet(self, first: Hold, second: Hold) -> Contact:
        """The edge and the broad face it stands on, in either order: the plate with the edge gets the tabs."""
        return edge_contact(first, second, self.kind, may_curve=True)

    @property
    def _row(self) -> Row:
        return Row(self.kind, "tab", self.count, self.pitch, self.margin, self.at)

    def wish(self, contact: Contact, free: Sequence[Interval]) -> Wish:
        """How many tabs there would be, and how wide, were they alone on the line."""
        row = self._row
        usable = tuple(common(inside_margins(row, contact), free))
        width = self.width_on(contact, usable, len(self.at) if self.at is not None else (self.count or 2))
        count = len(self.at) if self.at is not None else max(1, own_count(row, usable, width))
        if self.width is None:
            width = min(width, 2 * contact.first.body.t)  # tabs that choose their width make do with less to get their turns
        depth = math.inf if self.depth is None else self.depth
        return Wish(usable, count, width, self.pitch, self.at is not None, depth)

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        """One slot for each tab; the mate owns everything between."""
        middles, width = self._places(contact, setting)
        return self.laid_at(contact, setting.clearance, middles, width)

    def laid_at(self, contact: Contact, clearance: float, middles: Sequence[float], width: float) -> Layout:
        """The layout with tabs of `width` mm in given places along u."""
        first, second = contact.first, contact.second
        low, high = contact.slab
        length = self._length(contact, high - low)
        c = clearance
        claims: list[Claim] = []
        fits: list[Fit] = []
        if low < -1e-9:
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
            if reach > 1e-9:
                claims.append(Claim(first, "add", first.rectangle(u, (min(0.0, low), reach))))
            slot, open_sides = opening(second, u, across, c, run_out=RUN_OUT * first.body.t)
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
        remarks = straight_remark(contact, width, c, middles[0])
        return Layout(tuple(claims), tuple(fits), numbers, press, remarks=remarks)

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
        if self.depth > thickness + 1e-9:
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
        row = self._row
        free = common(inside_margins(row, contact), setting.free)
        count = len(self.at) if self.at is not None else (self.count or 2)
        width = self.width_on(contact, free, count)
        least, t = LEAST_SHARE * contact.first.body.t, contact.first.body.t
        room = sum(high - low for low, high in free)
        if self.width is None and 0 < room < 2 * count * least:
            things = "one tab" if count == 1 else f"{count} tabs"
            raise joint_error(
                contact,
                self.kind,
                f"only {room:.2f} mm of the line is free, and {things} would be {width:.2f} mm wide; less than {least:g} mm, "
                f"half of the {t:g} mm that the plate is thick, holds nothing: ask for fewer, free more of it, or give width=",
                value=width,
                limit=least,
            )
        return places(row, contact, width, contact.stretches, setting.free), width

    def width_on(self, contact: Contact, free: Sequence[Interval], count: int) -> float:
        """The given width, or four thicknesses; less where the gaps between `count` of them would be narrower, and on bends."""
        if self.width is not None:
            return self.width
        room = sum(high - low for low, high in free)
        widest = widest_straight(contact, 0.0) or math.inf
        return min(4 * contact.first.body.t, max(room, 1e-3) / (2 * count), widest)


def tabs_cut_back(contact: Contact, tabs_at: Sequence[Interval], clearance: float) -> list[Claim]:
    """Cuts that take the first plate's edge out of the mate, between its tabs.

    Where the mate ends and the first plate goes on, half a clearance stays between them.
    """
    first = contact.first
    low = contact.slab[0]
    ends = [contact.stretches[0][0], *(edge for tab in tabs_at for edge in tab), contact.stretches[-1][1]]
    beyond, gap = first.body.t, max(0.0, clearance / 2)

    def outward(end: float, sign: float) -> float:
        return end + sign * (gap if first.has_material([(end + sign * LOOK, low / 2)]) else beyond)

    claims = []
    for start, stop in zip(ends[::2], ends[1::2], strict=True):
        if stop - start < 1e-9:
            continue
        u = (outward(start, -1.0) if start == ends[0] else start, outward(stop, 1.0) if stop == ends[-1] else stop)
        claims.append(Claim(first, "cut", first.rectangle(u, (low, beyond))))
    return claims


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
      where two don't fit.
    - `width`: of one tab, mm; by default four thicknesses, less on short edges and on the border of a bent sheet, where
      tabs stay straight and wide ones don't go into slots along the curve.
    - `margin`: mm to keep free at both ends of the contact.
    - `depth`: length of the tabs, mm, at most the mate's thickness (blind tabs); by default they go right through.
      `proud`: how far they stand out of the far side instead, mm.
    - `clearance`: slot minus tab, mm, in width and thickness; negative for a press fit; by default the assembly's or stock's.
    - `relief`: `dog_bone(tool)` or `t_bone(tool)` for a round cutter.

    Tabs keep one thickness away from other joints, cut-outs, crossing plates and, if there is room, from the ends of the plate
    that they go into.  Rows that want one stretch of a plate, such as those of a shelf on either side of a divider, take turns;
    rows of one `pitch` both keep it; places given by `at` stay where they are.  Blind tabs that are alike and together no
    longer than the plate is thick share its slots instead.

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
