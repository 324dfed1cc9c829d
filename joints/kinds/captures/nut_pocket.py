"""One captive nut: how deep its screw goes, what is cut for it, what sits there, and what to measure.

All v are those of the first plate (out of its edge), so depths behind the edge are negative.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from panelwright.joints.meeting.contact import Contact, Side, joint_error
from panelwright.joints.meeting.remark import Remark
from panelwright.joints.spec.fasteners import PITCHES, SIZES, THREAD_LENGTHS, Fastener, NutBody, NutKind, ScrewBody, ScrewKind
from panelwright.joints.spec.pattern import Claim, Fit
from panelwright.plates.geometry.frame import Frame, scaled
from panelwright.plates.geometry.probe import Interval, common
from panelwright.plates.tolerances import INSIDE, ROUNDING, SQUARE_TOLERANCE_DEG

from .nut_relief import bored_pocket, largest_tool, nuts_for_tool, round_slot
from .seat import Seat, seat_on

__all__ = ["Capture", "Pocket"]

WEB_DIAMETERS = 2.0
"""Web between edge and pocket in screw diameters, at least one thickness: common practice, no source."""

TIP_PLAY_DIAMETERS = 0.5
"""Room beyond the screw's tip in screw diameters, for a mate thinner than measured: common practice, no source."""

PAST_NUT_PITCHES = 1.0
"""How far at least the tip stands out of the nut, in pitches, since its chamfered end carries no load: common practice."""

LEAST_HOLD = 1 / 3
"""Least share of the nut's width that lies in the plate's thickness.  With less, the pocket's sides hold the nut by so narrow
a strip that it tips out as the screw starts: common practice, no source."""

LEAST_RIM = 0.5
"""Least web between the screw's hole and the mate's border, in thicknesses: with less the hole tears out under the head
(common practice, no source).  Below one thickness the proof warns of a thin web."""

MOST_WEDGE_DEG = 45.0
"""Steepest wedge that a washer under a screw's head can have: from there on it is higher than the head is wide, tips over and
slides down the face (common practice, no source)."""

LINES = 9
"""How many lines along the edge are looked at to see whether the plate goes on far enough behind it."""


@dataclass(frozen=True, slots=True)
class Capture:
    """What was chosen for a row of nuts: kinds from the tables, the hole's diameter, and length and web if they are given."""

    kind: str
    size: str
    nut: NutKind
    screw: ScrewKind
    hole: float
    length: int | None
    web: float | None

    @property
    def largest_tool(self) -> float:
        """Diameter in mm of the largest tool whose relief leaves the nut held."""
        return largest_tool(self.nut)

    def on(self, contact: Contact, clearance: float, tool: float = 0.0) -> Pocket:
        """The sizes that one contact settles; `clearance` is 0 or more, `tool` the diameter that relief is for, 0 without.

        Raises `JointError` if it can't be made there.
        """
        first, nut, screw, d = contact.first.body, self.nut, self.screw, SIZES[self.size]
        self._check_hold(contact)
        edge = contact.slab[0]
        seat = seat_on(contact, self.hole, screw.dk)
        self._check_head(contact, seat)
        web = max(first.t, WEB_DIAMETERS * d) if self.web is None else self.web
        self._check_web(contact, web)
        self._check_tool(contact, tool)
        # on a sharp rim a cone of 90° sinks in until it is as wide as the hole; its screw is measured over the head
        is_cone = screw.head == "countersunk"
        proud = screw.k - (self.hole - d) / 2 if is_cone else screw.k
        before_nut = seat.head - edge + web + (proud if is_cone else 0.0)
        length = self._length(contact, before_nut)
        tip = edge - web - (length - before_nut)
        pocket = (edge - web - nut.m - clearance, edge - web)
        end = min(tip - TIP_PLAY_DIAMETERS * d, pocket[0] - tool / 2)
        return Pocket(self, contact, seat, clearance, length, proud, tip, pocket, end, tool)

    def _check_hold(self, contact: Contact) -> None:
        body, nut = contact.first.body, self.nut
        least = LEAST_HOLD * nut.corners
        if body.t < least - ROUNDING:
            raise joint_error(
                contact,
                self.kind,
                f"nut {nut.standard} {self.size} is {nut.corners:.2f} mm wide across the sheet, but {body.name!r} is only "
                f"{body.t:g} mm thick and holds less than a third of that; use a smaller size or a thicker sheet",
                value=body.t,
                limit=least,
            )

    def _check_head(self, contact: Contact, seat: Seat) -> None:
        if seat.is_square or self.screw.head != "countersunk":
            return
        raise joint_error(
            contact,
            self.kind,
            f"the plates meet {seat.wedge_deg:.2f}° off square, so a countersunk head finds no seat on the rim of its hole; "
            "use screw='ISO 4762' or 'ISO 7380-1' on a wedge-shaped washer",
            value=self.screw.standard,
            limit=("ISO 4762", "ISO 7380-1"),
        )

    def _check_web(self, contact: Contact, web: float) -> None:
        body, section = contact.first.body, contact.section
        if web < body.t - ROUNDING:
            raise joint_error(
                contact,
                self.kind,
                f"web is {web:g} mm between edge and nut; it must be at least one thickness of {body.name!r}, {body.t:g} mm",
                value=web,
                limit=body.t,
            )
        if section is None or contact.is_square:
            return
        # a nut that stands out of its sheet meets a slanting face before the edge does
        stands_out = (self.nut.corners - body.t) / 2
        least = stands_out * abs(section.cotangent)
        if web < least - ROUNDING:
            raise joint_error(
                contact,
                self.kind,
                f"web is {web:g} mm, but the nut stands {stands_out:.2f} mm out of {body.name!r} and would meet "
                f"the slanting face of {contact.second.body.name!r}; make the web at least {least:.2f} mm",
                value=web,
                limit=least,
            )

    def _check_tool(self, contact: Contact, tool: float) -> None:
        nut, most = self.nut, self.largest_tool
        if tool <= most + ROUNDING:
            return
        thicker = nuts_for_tool(tool, contact.first.body.t / LEAST_HOLD)
        other = f", or a thicker nut, such as {thicker[0]}" if thicker else ""
        raise joint_error(
            contact,
            self.kind,
            f"relief for a tool of {tool:g} mm leaves {max(0.0, nut.m - tool):.2f} mm of the pocket's ends to keep nut "
            f"{nut.standard} {self.size}, {nut.m:g} mm thick, from turning, and it takes {nut.m - most:.2f} mm; use a tool of "
            f"at most {most:g} mm{other}",
            value=tool,
            limit=most,
        )

    def _length(self, contact: Contact, before_nut: float) -> int:
        """The shortest standard length that passes the nut, or the one asked for if it does."""
        known, name = self.screw.lengths, f"{self.screw.standard} {self.size}"
        need = before_nut + self.nut.m + PAST_NUT_PITCHES * PITCHES[self.size]
        if self.length is None:
            fitting = [length for length in known if length >= need - ROUNDING]
            if not fitting:
                raise joint_error(
                    contact,
                    self.kind,
                    f"the screw must be {need:.2f} mm long to pass its nut, but {name} ends at {known[-1]} mm; use a thinner "
                    "mate, a smaller web or a larger size",
                    value=need,
                    limit=known[-1],
                )
            return fitting[0]
        if self.length < need - ROUNDING:
            raise joint_error(
                contact,
                self.kind,
                f"a screw {name} × {self.length} does not pass its nut; it must be at least {need:.2f} mm long",
                value=self.length,
                limit=need,
            )
        thread = THREAD_LENGTHS[self.size]
        if self.length - before_nut > thread + ROUNDING:
            raise joint_error(
                contact,
                self.kind,
                f"the thread of a screw {name} × {self.length} is {thread:g} mm long and begins beyond the nut; use one of at "
                f"most {before_nut + thread:.2f} mm",
                value=self.length,
                limit=before_nut + thread,
            )
        return self.length


@dataclass(frozen=True, slots=True, eq=False)
class Pocket:
    """The opening for one kind of nut and screw in one contact; `tip` is the v of the screw's tip, `end` that of its slot.

    `tool` is the diameter that its relief is for, mm; 0 without relief.
    """

    capture: Capture
    contact: Contact
    seat: Seat
    clearance: float
    length: int
    proud: float
    tip: float
    pocket: Interval
    end: float
    tool: float

    @property
    def edge(self) -> float:
        """The v of the first plate's edge where the mate's near face is."""
        return self.contact.slab[0]

    @property
    def broad(self) -> float:
        """Width of the pocket along the line, mm."""
        return self.capture.nut.s + self.clearance

    @property
    def takes(self) -> float:
        """Width along the line that a nut takes, with what its relief bores into the pocket's ends, mm; clearance left out."""
        return self.capture.nut.s + self.tool

    def room(self) -> list[Interval]:
        """Stretches of u where both plates go on far enough round a pocket and its screw, a web off at both ends."""
        first, second, seat = self.contact.first, self.contact.second, self.seat
        t, kind = first.body.t, self.capture.kind
        found = list(self.contact.stretches)
        depth = self.edge - self.end + t
        lines = [self.edge - INSIDE - (depth - 2 * INSIDE) * i / (LINES - 1) for i in range(LINES)]
        for v in (*lines, self.pocket[1] - INSIDE, self.pocket[0] + INSIDE):
            found = common(found, [(low + t, high - t) for low, high in first.stretches(v) if high - low > 2 * t])
        wide = self.broad + self.tool
        if not any(high - low >= wide for low, high in found):
            raise joint_error(
                self.contact,
                kind,
                f"{first.body.name!r} has no room for a pocket {wide:.2f} mm wide, a web on either side, that with screw "
                f"and web reaches {depth:.2f} mm behind the edge; make it larger there, or use a shorter screw",
                value=depth,
            )
        rim = LEAST_RIM * second.body.t
        need = seat.half_across + rim
        for off in (-need, 0.0, need):
            found = common(found, second.stretches(seat.middle + off))
        if not found:
            what = "its thickness" if seat.is_square else "the holes"
            raise joint_error(
                self.contact,
                kind,
                f"holes of {seat.hole_text} in {second.body.name!r} come nearer than {rim:.2f} mm, half its thickness, to its "
                f"border; set {first.body.name!r} further in, the middle of {what} at least {need:.2f} mm from there",
                value=2 * seat.half_across,
                limit=rim,
            )
        return found

    def claims(self, m: float) -> list[Claim]:
        """Slot, pocket and hole for the screw at u = `m`."""
        first, second = self.contact.first, self.contact.second
        half, wide = self.capture.hole / 2, self.broad / 2
        across, along = (m - half, m + half), (m - wide, m + wide)
        down = (self.end, max(0.0, self.edge) + first.body.t)
        if self.tool:
            slot, pocket = round_slot(first, across, down), bored_pocket(first, along, self.pocket, self.tool)
        else:
            slot, pocket = first.rectangle(across, down), first.rectangle(along, self.pocket)
        return [
            Claim(first, "cut", slot, must_bite=True),
            Claim(first, "cut", pocket, must_bite=True),
            Claim(second, "cut", self.seat.cut(second, m), must_bite=True),
        ]

    def fits(self, m: float) -> list[Fit]:
        """The pocket against the nut both ways, the slot and the hole against the screw.

        With relief, the nut is measured along what is left of the ends; across, what the relief takes beyond it is planned.
        """
        first, second = self.contact.first, self.contact.second
        nut, hole, seat, c = self.capture.nut, self.capture.hole, self.seat, self.clearance
        d = SIZES[self.capture.size]
        deep = (self.pocket[0] + self.pocket[1]) / 2
        low, high = self.pocket[0], self.pocket[1] - self.tool
        shoulder = (self.broad - hole) / 2
        beside = m + hole / 2 + shoulder / 2
        nowhere = (0.0, 0.0)

        def screw_in(side: Side, at: tuple[float, float], way: Any, size: float) -> Fit:
            return Fit(side, at, way, d, nowhere, size - d, is_clearance=False, is_spared=True, is_bought=True)

        if self.tool:
            # round the far corner, whose middle lies one radius off the pocket's end
            off = max(0.0, self.tool / 2 - shoulder / 2)
            beyond = math.sqrt((self.tool / 2) ** 2 - off**2)
            across = Fit(
                first, (beside, deep), "across", nut.m, nowhere, c + beyond, is_clearance=False, is_spared=True, is_bought=True
            )
        else:
            across = Fit(first, (beside, deep), "across", nut.m, nowhere, c, shoulder / 2, is_bought=True)
        return [
            Fit(first, (m, (low + high) / 2), "along", nut.s, nowhere, c, (high - low) / 2, is_spared=True, is_bought=True),
            across,
            screw_in(first, (m, (self.edge + self.pocket[1]) / 2), "along", hole),
            screw_in(second, (m, seat.middle), "along", 2 * seat.half_along),
            screw_in(second, (m, seat.middle), "across", 2 * seat.half_across),
        ]

    def fasteners(self, m: float) -> list[Fastener]:
        """The screw with its head on its seat, and the nut drawn up against the web."""
        first, mate, capture = self.contact.first, self.contact.second.body, self.capture
        d, screw, nut, frame = SIZES[capture.size], capture.screw, capture.nut, first.body.frame
        inward = frame.direction((-first.across[0], -first.across[1], 0.0))
        along = frame.direction((*first.along, 0.0))

        def at(v: float) -> Frame:
            return Frame.facing(frame.point((*first.flat(m, v), first.body.t / 2)), show=inward, right=along)

        head = self.seat.head
        body = ScrewBody(screw.head, d, screw.dk, screw.k, self.proud, head - self.tip, screw.key, screw.key_depth)
        return [
            Fastener(self.screw_name, body, at(head), mate.name, scaled(inward, -1.0), f"hex key {screw.key:g} mm"),
            Fastener(self.nut_name, NutBody(nut.sides, nut.s, nut.m, d), at(self.pocket[1]), first.body.name, frame.z),
        ]

    @property
    def screw_name(self) -> str:
        """Full designation of the screw."""
        return f"{self.capture.screw.standard} {self.capture.size} × {self.length}"

    @property
    def nut_name(self) -> str:
        """Full designation of the nut."""
        return f"{self.capture.nut.standard} {self.capture.size}"

    @property
    def numbers(self) -> Mapping[str, Any]:
        """Settled sizes for people and for the manifest."""
        nut, screw = self.capture.nut, self.capture.screw
        numbers: dict[str, Any] = {
            "screw": self.screw_name,
            "nut": self.nut_name,
            "screw_length_mm": self.length,
            "hole_mm": self.capture.hole,
            "web_mm": self.edge - self.pocket[1],
            "pocket_mm": [self.broad, self.pocket[1] - self.pocket[0]],
            "slot_mm": [self.capture.hole, self.edge - self.end],
            "tip_play_mm": self.tip - self.end,
            "past_nut_mm": self.pocket[1] - nut.m - self.tip,
            "nut_stands_out_mm": max(0.0, (nut.corners - self.contact.first.body.t) / 2),
            "head_stands_out_mm": self.proud,
            "head_mm": screw.dk,
            "key_mm": screw.key,
        }
        if self.tool:
            numbers["ends_keep_mm"] = nut.m - self.tool
        if screw.head == "countersunk":
            numbers["warning"] = "a laser cuts no countersink: the head rests on the rim of its hole and stands out"
        if not self.seat.is_square:
            numbers |= {
                **self.contact.numbers,
                "hole_length_mm": 2 * self.seat.half_across,
                "head_off_mm": self.seat.off,
                "seat_wedge_deg": round(self.seat.wedge_deg, 6),
                "warning": self._wedge_text,
            }
        return numbers

    @property
    def _wedge_text(self) -> str:
        mate, wedge = self.contact.second.body.name, self.seat.wedge_deg
        return (
            f"screws cross {mate!r} {wedge:.2f}° off square, so put a wedge-shaped washer of {wedge:.2f}° under each head, "
            f"rising by {2 * self.seat.off:.2f} mm over {self.capture.screw.dk:g} mm"
        )

    def remarks(self, m: float) -> list[Remark]:
        """What the maker must know of a screw at u = `m` that is not square to the mate."""
        if self.seat.is_square:
            return []
        first = self.contact.first
        place = first.body.frame.point((*first.flat(m, self.seat.head), first.body.t / 2))
        numbers = {"seat_wedge_deg": self.seat.wedge_deg, "washer_mm": 2 * self.seat.off}
        if self.seat.wedge_deg <= MOST_WEDGE_DEG + SQUARE_TOLERANCE_DEG:
            return [Remark("SEAT", self._wedge_text, place, numbers)]
        text = (
            f"screws cross {self.contact.second.body.name!r} {self.seat.wedge_deg:.2f}° off square: a washer under the head "
            f"would rise by {2 * self.seat.off:.2f} mm over {self.capture.screw.dk:g} mm, more than it is wide, and nobody can "
            f"make that; let the plates meet at {90 - MOST_WEDGE_DEG:g}° to {90 + MOST_WEDGE_DEG:g}°, or use tabs"
        )
        return [Remark("SEAT", text, place, {**numbers, "limit_deg": MOST_WEDGE_DEG}, "error")]
