"""Captive nuts: a screw through the mate into a T-shaped opening that holds its nut, in the edge of the plate that butts on it.

Seen on the broad face of the first plate, its edge with the mate at the top::

    ────────┐   ┌────────   edge, on the mate
            │   │           web: what the nut pulls against
       ┌────┘   └────┐
       │     nut     │      pocket: as wide as the nut across flats, as deep as the nut is thick
       └────┐   ┌────┘
            │   │           slot: as wide as the screw's clearance hole, room for its tip
            └───┘

The screw lies in the middle of the plate's thickness, and the nut goes in from the broad face.  `nut_pocket.py` knows what one
nut needs, `nut_relief.py` what a round tool may take of that, `seat.py` how its screw crosses the mate, and
`joints/rows/alternating.py` where nuts and tabs go along the line.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from panelwright.joints.kinds.tabs import USUAL as USUAL_TABS
from panelwright.joints.kinds.tabs import Tabs, tabs_cut_back
from panelwright.joints.meeting.contact import Contact, Hold
from panelwright.joints.meeting.edge_contacts import edge_contact
from panelwright.joints.rows.alternating import Things, share_line
from panelwright.joints.rows.places import Row, check_pitch, own_count, row_given
from panelwright.joints.spec.fasteners import hole_for, nut_of, screw_of
from panelwright.joints.spec.kind_words import Words
from panelwright.joints.spec.pattern import Layout, Setting, require_clearance
from panelwright.joints.spec.relief import Relief
from panelwright.joints.spec.ways_out import way_of_first
from panelwright.plates._validate import finite, positive, shown
from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.frame import Vector
from panelwright.plates.geometry.probe import Interval, common
from panelwright.plates.tolerances import ROUNDING

from .nut_pocket import Capture, Pocket

__all__ = ["TNut", "t_nut"]


USUAL = 2
"""How many nuts there are where the design says no number, and room for so many: round one alone the plate turns."""


@dataclass(frozen=True, slots=True)
class TNut:
    """Spec of a row of captive nuts, with or without tabs between them; make one with `t_nut`."""

    size: str
    nut: str
    screw: str
    hole: str
    length: int | None
    web: float | None
    count: int | None
    pitch: float | None
    margin: float | None
    at: tuple[float, ...] | None
    tabs: Tabs | None
    clearance: float | None
    relief: Relief | None

    kind: ClassVar[str] = "t_nut"
    yields: ClassVar[bool] = True
    shares_corners: ClassVar[bool] = False
    words: ClassVar[Words] = Words(
        "t nut",
        "Push {parts} into {mates}.",
        finish="Lay the nuts into their pockets, drive every screw until it just holds, then tighten all.",
    )

    def __repr__(self) -> str:
        return f"<TNut {self.size}: {self.screw} in {self.nut}, count {self.count}, at {shown(self.at)}>"

    @property
    def _capture(self) -> Capture:
        size = self.size
        nut, screw, hole = nut_of(self.nut, size), screw_of(self.screw, size), hole_for(size, self.hole)
        return Capture(self.kind, size, nut, screw, hole, self.length, self.web)

    def meet(self, first: Hold, second: Hold) -> Contact:
        """The edge and the broad face it stands on, in either order: the plate with the edge holds the nuts."""
        return edge_contact(first, second, self.kind)

    def strips(self, contact: Contact) -> tuple[Interval, Interval]:
        """From the slot's end to the mate's far face, and over the hole."""
        pocket = self._capture.on(contact, max(0.0, self.clearance or 0.0))
        (low, high), hole = contact.footprint, pocket.seat.hole
        return (pocket.end, max(0.0, contact.slab[1])), (min(low, hole[0]), max(high, hole[1]))

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        """A hole, a slot and a pocket for each nut; tabs between them as asked."""
        tool = 0.0 if setting.relief is None else setting.relief.tool
        pocket = self._capture.on(contact, max(0.0, setting.clearance), tool)
        nuts, tab_middles, tab_width = self._places(contact, setting, pocket)
        claims = [claim for m in nuts for claim in pocket.claims(m)]
        fits = [fit for m in nuts for fit in pocket.fits(m)]
        fasteners = [fastener for m in nuts for fastener in pocket.fasteners(m)]
        numbers = {"count": len(nuts), "positions_mm": [round(m, 6) for m in nuts], **pocket.numbers}
        press = 0.0
        if self.tabs is not None:
            clearance = setting.clearance if self.tabs.clearance is None else self.tabs.clearance
            require_clearance(contact, "tabs", clearance)
            layout = self.tabs.laid_at(contact, clearance, tab_middles, tab_width)
            claims += layout.claims
            # tabs with a clearance of their own don't speak for the joint
            own = abs(clearance - setting.clearance) < ROUNDING
            fits += layout.fits if own else [dataclasses.replace(fit, is_clearance=False) for fit in layout.fits]
            press = layout.overlap_mm3
            numbers["tabs"] = dict(layout.numbers)
        elif contact.slab[0] < -ROUNDING:
            claims += tabs_cut_back(contact, (), setting.clearance)
        remarks = tuple(pocket.remarks(nuts[0]))
        return Layout(
            tuple(claims),
            tuple(fits),
            numbers,
            press,
            fasteners=tuple(fasteners),
            remarks=remarks,
            largest_tool=self._capture.largest_tool,
        )

    def ways_in(self, contact: Contact, layout: Layout) -> tuple[Vector, ...]:
        """The edge goes straight out of its own plate onto the mate, tabs first if there are any."""
        return (way_of_first(contact),)

    def _places(self, contact: Contact, setting: Setting, pocket: Pocket) -> tuple[list[float], list[float], float]:
        """Middles of the nuts, middles of the tabs, and the width of a tab."""
        web = max(contact.first.body.t, contact.second.body.t)
        # places go by the nut, not by what clearance makes of its pocket
        room, broad = pocket.room(), pocket.takes
        free = common(room, setting.deep)
        where = "the part of the contact with a web of material all round it"
        row = Row(self.kind, "nut pocket", USUAL, self.count, self.pitch, self.margin, self.at, web, where=where)
        check_pitch(row, contact, broad + web, free)
        few = len(self.at) if self.at is not None else own_count(row, free, broad + web)
        nuts = Things(row, few, broad, room, free)
        if self.tabs is None:
            return nuts.placed(contact), [], 0.0
        count = self.tabs.count
        if count is None and self.tabs.pitch is None and self.tabs.at is None:
            count = few + 1
        words = "a nut, another joint or a cut-out"
        margin, gap = self.tabs.margin, contact.second.body.t
        row = Row(self.kind, "tab", USUAL_TABS, count, self.tabs.pitch, margin, self.tabs.at, gap=gap, obstacles=words)
        many = len(row.at) if row.at is not None else count or USUAL_TABS
        width = self.tabs.width_on(contact, setting.free, few + many, setting.ends, setting.clearance)
        tabs = Things(row, many, width, contact.stretches, setting.free, setting.ends)
        return *share_line(contact, nuts, tabs, web), width


def t_nut(
    size: str,
    count: int | None = None,
    *,
    pitch: float | None = None,
    margin: float | None = None,
    at: float | Sequence[float] | None = None,
    tabs: Tabs | None = None,
    nut: str = "ISO 4032",
    screw: str = "ISO 4762",
    hole: str = "medium",
    length: int | None = None,
    web: float | None = None,
    clearance: float | None = None,
    relief: Relief | None = None,
) -> TNut:
    """Screws through the mate into nuts held by T-shaped openings in the edge that butts on it: a joint to take apart.

    The plate whose *edge face* is joined holds the nuts, the one whose *broad face* is joined gets the holes and, on its far
    face, the screw heads.  Where the plates meet at another angle than 90°, from 30° to 150°, the screws cross the mate aslant:
    its holes are long enough for that, and the heads stand off as far as a wedge-shaped washer needs.  `seat_wedge_deg` and
    `head_off_mm` in the joint's numbers say which, and the proof warns of it.

    - `size`: "M2.5", "M3", "M4", "M5" or "M6".
    - `count`, `pitch`, `at`, `margin`: how many nuts and where, as for `tabs`.
    - `tabs`: tabs on the same edge, such as `tabs(width=10)`, so that screws hold and tabs locate.  Where both are counted,
      they take turns, evenly apart; tabs that say no number are one more than the nuts.  Where only one of them is given a
      `pitch` or places `at`, those come first and the others go into the gaps; where both are, each goes where it is told.
    - `nut`: "ISO 4032" (hexagon), "ISO 4035" (hexagon, thin), "DIN 562" (square, thin) or, from M5, "DIN 557" (square).
    - `screw`: "ISO 4762" (cap head) or, from M3, "ISO 7380-1" (button head) or "ISO 10642" (countersunk head; a laser cuts no
      countersink, so the head rests on the rim of its hole and stands out by `head_stands_out_mm` in the joint's numbers; only
      where the plates are square to each other).
    - `hole`: series of the clearance hole and the slot by ISO 273, "fine", "medium" or "coarse".
    - `length`: nominal length of the screw, mm; by default the shortest standard one whose tip stands out of the nut by at
      least one pitch.  The slot goes on half a diameter beyond the tip, so that it never bottoms out.
    - `web`: material between edge and nut, mm, at least one thickness; by default two diameters or one thickness.
    - `clearance`: pocket minus nut, mm, in width and in thickness, and slot minus tab for tabs that say nothing else; by
      default the assembly's or stock's.  A nut is never pressed in: below 0 the pocket has the nut's own size.
    - `relief`: `dog_bone(tool)` or `t_bone(tool)` for a round cutter.  Pockets and slots have a relief of their own, whichever
      is asked for: bored into the pocket's ends, so that the shoulders beside the slot, which bear the pull, stay whole, and
      round beyond the nut, by half the tool deeper.  Three tenths of the nut's thickness must be left of the ends to keep it
      from turning
      (`ends_keep_mm` in the joint's numbers), so tools of 3.175 mm go with ISO 4032 M5 and M6 and DIN 557 M6 only.

    A hexagon nut lies with two flats against the pocket's sides, so its corners look out of the sheet's faces by
    `nut_stands_out_mm` where the sheet is thinner than the nut is wide; a third of its width must lie in the sheet.  Pockets
    keep one thickness away from each other, from tabs, borders, other joints and cut-outs.

    Raises `SizeError` for a size, standard or length that doesn't exist.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.joints import join, tabs
    >>> from panelwright.plates import Stock, rectangle, standing
    >>> stand = Assembly("cone stand", stock=Stock("birch plywood", 4, measured=4, kerf=0.2, clearance=0.1))
    >>> base = stand.add("base", rectangle(140, 60))
    >>> back = stand.add("back", rectangle(140, 50), standing(base.face(">Z"), facing="-Y", inset=None))
    >>> join(back.face("<Z"), base.face(">Z"), t_nut("M3", count=2, tabs=tabs(width=10)))
    >>> product = stand.product()
    >>> [f"{item.quantity} {item.designation}" for item in product.hardware], product.findings
    (['2 ISO 4032 M3', '2 ISO 4762 M3 × 16'], ())
    >>> numbers = product.joints[0].numbers
    >>> numbers["positions_mm"], numbers["tabs"]["positions_mm"]
    ([42.8, 97.2], [15.6, 70.0, 124.4])
    >>> t_nut("M3", length=13)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: there is no ISO 4762 M3 × 13; lengths are 5, 6, 8, 10, 12, 16, 20, 25, 30
    """
    nut_of(nut, size)
    known = screw_of(screw, size).lengths
    hole_for(size, hole)
    if length is not None and (isinstance(length, bool) or not isinstance(length, int | float)):
        raise SizeError(f"length of a screw is {shown(length)}; give a number in mm", value=length)
    if length is not None and length not in known:
        listed = ", ".join(map(str, known))
        raise SizeError(f"there is no {screw} {size} × {_plain(length)}; lengths are {listed}", value=length, limit=known)
    number, apart, free, spots = row_given("nut", count, pitch, margin, at, instead="use tabs()")
    if tabs is not None and not isinstance(tabs, Tabs):
        raise SizeError(f"tabs= of t_nut is {shown(tabs)}; give tabs(…)", value=tabs)
    if tabs is not None and tabs.relief is not None:
        if relief is not None and relief != tabs.relief:
            raise SizeError("t_nut and its tabs are given different relief; give it once", value=(relief, tabs.relief))
        relief = tabs.relief
    return TNut(
        size,
        nut,
        screw,
        hole,
        None if length is None else int(length),
        None if web is None else positive(web, "web of t_nut"),
        number,
        apart,
        free,
        spots,
        tabs,
        None if clearance is None else finite(clearance, "clearance of t_nut"),
        relief,
    )


def _plain(length: float) -> str:
    """A length that no screw has, as a message tells it."""
    return shown(length) if isinstance(length, int) else f"{length:g}"
