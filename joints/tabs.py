"""Tabs on a plate's edge, slots in the plate that the edge butts on."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from panelwright.plates._validate import finite, positive, whole
from panelwright.plates.errors import SizeError
from panelwright.plates.probe import Interval, common

from .contact import Contact, Hold, edge_contact
from .pattern import RUN_OUT, Claim, Fit, Layout, Setting, joint_error, opening
from .relief import Relief
from .spread import room_for, spread

__all__ = ["Tabs", "tabs"]


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
        return edge_contact(first, second, self.kind)

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        """One slot for each tab; the mate owns everything between."""
        middles, width = self._places(contact, setting)
        first, second = contact.first, contact.second
        low, high = contact.slab
        length = self._length(contact, high - low)
        c = setting.clearance
        claims: list[Claim] = []
        fits: list[Fit] = []
        if low < -1e-9:
            # designed overlapping: the mate owns the edge, less the tabs
            claims += _cut_back(contact, setting, [(m - width / 2, m + width / 2) for m in middles])
        across = contact.footprint if contact.section is None else contact.section.footprint(low + length)
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
        return Layout(tuple(claims), tuple(fits), numbers, press)

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
        stretches = list(contact.stretches)
        longest = sum(high - low for low, high in stretches)
        if self.margin is not None:
            inner = [(low + self.margin, high - self.margin) for low, high in stretches]
            inner = [(low, high) for low, high in inner if high > low]
            if not inner:
                raise joint_error(
                    contact,
                    self.kind,
                    f"margins of {self.margin:g} mm at both ends leave no room on a contact of {longest:.3f} mm",
                    value=self.margin,
                    limit=longest / 2,
                )
        else:
            inner = stretches
        free = common(inner, setting.free)
        room = sum(high - low for low, high in free)
        width = self.width if self.width is not None else self._own_width(contact, room)
        if self.at is not None:
            return self._given_places(contact, setting, width), width
        if width > longest + 1e-9:
            raise joint_error(
                contact,
                self.kind,
                f"tabs are {width:g} mm wide, but the contact is only {longest:.3f} mm long; make them narrower",
                value=width,
                limit=longest,
            )
        count = self._own_count(free, width)
        middles = self._pitched(free, width, count) if self.pitch is not None else spread(free, count, width)
        if middles is None or not middles:
            listed = ", ".join(f"{low:.2f} to {high:.2f}" for low, high in free) or "none"
            raise joint_error(
                contact,
                self.kind,
                f"{count} tabs of {width:g} mm don't fit on the free stretches ({listed}) of a contact of "
                f"{longest:.3f} mm; use fewer or narrower tabs, or smaller margins",
                value=count,
                limit=room_for(free, width),
            )
        return middles, width

    def _own_width(self, contact: Contact, room: float) -> float:
        """Four thicknesses, or less where the gaps would get narrower than the tabs."""
        count = len(self.at) if self.at is not None else (self.count or 2)
        return min(4 * contact.first.body.t, max(room, 1e-3) / (2 * count))

    def _own_count(self, free: Sequence[Interval], width: float) -> int:
        if self.count is not None:
            return self.count
        if self.pitch is not None:
            return sum(int((high - low - width + 1e-9) // self.pitch) + 1 for low, high in free if high - low >= width)
        return max(1, min(2, room_for(free, width)))

    def _pitched(self, free: Sequence[Interval], width: float, count: int) -> list[float] | None:
        """As many as fit a pitch apart, centred on each free stretch."""
        assert self.pitch is not None
        middles: list[float] = []
        for low, high in free:
            if high - low < width:
                continue
            number = int((high - low - width + 1e-9) // self.pitch) + 1
            first = (low + high) / 2 - self.pitch * (number - 1) / 2
            middles.extend(first + self.pitch * i for i in range(number))
        return middles if len(middles) == count else None

    def _given_places(self, contact: Contact, setting: Setting, width: float) -> list[float]:
        assert self.at is not None
        middles = sorted(self.at)
        for before, after in itertools.pairwise(middles):
            if after - before < width:
                raise joint_error(
                    contact,
                    self.kind,
                    f"tabs of {width:g} mm at {before:g} and {after:g} mm overlap; move them at least {width:g} mm apart",
                    value=after - before,
                    limit=width,
                )
        for m in middles:
            u = (m - width / 2, m + width / 2)
            if not any(low - 1e-6 <= u[0] and u[1] <= high + 1e-6 for low, high in contact.stretches):
                listed = ", ".join(f"{low:.2f} to {high:.2f}" for low, high in contact.stretches)
                raise joint_error(
                    contact,
                    self.kind,
                    f"a tab of {width:g} mm at {m:g} mm reaches off the contact, which spans {listed} mm; move it in",
                    value=m,
                    limit=contact.stretches,
                )
            if not any(low - 1e-6 <= u[0] and u[1] <= high + 1e-6 for low, high in setting.free):
                listed = ", ".join(f"{low:.2f} to {high:.2f}" for low, high in setting.free) or "none"
                raise joint_error(
                    contact,
                    self.kind,
                    f"a tab of {width:g} mm at {m:g} mm collides with another joint or a cut-out (a web of one thickness "
                    f"included); free stretches: {listed} mm",
                    value=m,
                    limit=setting.free,
                )
        return middles


def _cut_back(contact: Contact, setting: Setting, tabs_at: Sequence[Interval]) -> list[Claim]:
    """Cuts that take the first plate's edge out of the mate, between its tabs."""
    first = contact.first
    low = contact.slab[0]
    ends = [contact.stretches[0][0], *(edge for tab in tabs_at for edge in tab), contact.stretches[-1][1]]
    beyond = first.body.t
    claims = []
    for start, stop in zip(ends[::2], ends[1::2], strict=True):
        if stop - start < 1e-9:
            continue
        u = (
            start - beyond if start == ends[0] and not first.has_material([(start - 1e-3, low / 2)]) else start,
            stop + beyond if stop == ends[-1] and not first.has_material([(stop + 1e-3, low / 2)]) else stop,
        )
        claims.append(Claim(first, "cut", first.rectangle(u, (low, beyond))))
    return claims


def tabs(
    count: int | None = None,
    *,
    pitch: float | None = None,
    width: float | None = None,
    margin: float | None = None,
    at: Sequence[float] | None = None,
    depth: float | None = None,
    proud: float = 0.0,
    clearance: float | None = None,
    relief: Relief | None = None,
) -> Tabs:
    """Tabs on the edge of one plate that go into slots of the other.

    The plate whose *edge face* is joined gets the tabs, the one whose *broad face* is joined gets the slots, in whichever
    order the two are named.  Where the footprint reaches the slotted plate's border, the slot is an open notch.

    - `count`: how many; or `pitch`, the distance of their middles in mm, and as many as fit; or `at`, the places of their
      middles in mm from the lower end of the contact (the end of least x, then y, then z).  By default two, or one where
      two don't fit.
    - `width`: of one tab, mm; by default four thicknesses, less on short edges.
    - `margin`: mm to keep free at both ends of the contact.
    - `depth`: length of the tabs, mm, at most the mate's thickness (blind tabs); by default they go right through.
      `proud`: how far they stand out of the far side instead, mm.
    - `clearance`: slot minus tab, mm, in width and thickness; negative for a press fit; by default the assembly's or stock's.
    - `relief`: `dog_bone(tool)` or `t_bone(tool)` for a round cutter.

    Tabs keep one thickness away from other joints, cut-outs and crossing plates.  Raises `SizeError` for a size that no
    tab has, or for more than one of `count`, `pitch` and `at`.

    >>> tabs(count=2, width=10).width
    10.0
    >>> tabs(count=0)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: count of tabs is 0; it must be 1 or more
    """
    given = [name for name, value in (("count", count), ("pitch", pitch), ("at", at)) if value is not None]
    if len(given) > 1:
        raise SizeError(f"tabs are given {' and '.join(given)}; give one of count, pitch and at", value=given)
    if depth is not None and proud:
        raise SizeError("tabs are given depth and proud; give one of them", value=(depth, proud))
    places = None if at is None else tuple(finite(place, "place of a tab") for place in at)
    if places is not None and not places:
        raise SizeError("at= of tabs holds no place; give one or more, or leave the join out", value=at)
    return Tabs(
        None if count is None else whole(count, "count of tabs"),
        None if pitch is None else positive(pitch, "pitch of tabs"),
        None if width is None else positive(width, "width of tabs"),
        None if margin is None else positive(margin, "margin of tabs", zero_is_fine=True),
        places,
        None if depth is None else positive(depth, "depth of tabs"),
        positive(proud, "proud length of tabs", zero_is_fine=True),
        None if clearance is None else finite(clearance, "clearance of tabs"),
        relief,
    )
