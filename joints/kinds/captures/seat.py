"""How a screw crosses the mate: the hole that it needs there, and where its head finds a seat.

The screw lies in the middle of the first plate's thickness and points straight out of its edge.  Where the plates are square to
each other, the hole is round and the head bears on the mate's far face.  At any other dihedral angle φ the screw crosses the
mate aslant:

- The hole is the screw's clearance hole d, projected along the mate's normal (the shadow rule): an obround, as wide along the
  line as d, and d/sin φ + b·|cot φ| long across it in a mate of thickness b.  Its round ends lie outside the flatter ellipses
  in which the hole's cylinder would cut the two faces, so it takes the whole cylinder.
- The head stands off along the screw until its rim clears the far face, by dk/2·|cot φ| for a head of diameter dk; a washer
  with a wedge of |90° - φ| fills what is open below it.

Both formulas are plane trigonometry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from panelwright.joints.meeting.contact import Contact, Side
from panelwright.plates.geometry.curves import Arc, Line, Loop
from panelwright.plates.geometry.probe import Interval

__all__ = ["Seat", "seat_on"]

ROUND = 0.02
"""An obround whose straight sides are shorter than this is cut as a circle of its length, mm: no machine shows the difference,
and edges of a few micrometres would only look like slivers."""


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a screw's head bears, as v of the first plate, and its hole in the mate.

    `off` is how far the seat stands off the mate's far face, measured along the screw's axis; `middle` is the hole's on w, and
    `half_along` and `half_across` are half its size along the line and across it; all in mm.
    """

    head: float
    off: float
    middle: float
    half_along: float
    half_across: float
    wedge_deg: float = 0.0

    @property
    def is_square(self) -> bool:
        """Whether the head lies flat on the mate."""
        return self.wedge_deg == 0.0

    @property
    def hole(self) -> Interval:
        """What the hole covers on w."""
        return (self.middle - self.half_across, self.middle + self.half_across)

    @property
    def hole_text(self) -> str:
        """The hole's size in words."""
        if self.half_along == self.half_across:
            return f"{2 * self.half_along:g} mm"
        return f"{2 * self.half_along:g} × {2 * self.half_across:.2f} mm"

    def cut(self, side: Side, u: float) -> Loop:
        """The hole at `u` in the mate's own coordinates, counter-clockwise."""
        x, y = side.flat(u, self.middle)
        r, straight = self.half_along, self.half_across - self.half_along
        if straight == 0.0:
            start = (x + r, y)
            return Loop((Arc(start, start, (x, y), math.tau),))
        low, high = self.middle - straight, self.middle + straight
        a, b, c, d = (side.flat(*spot) for spot in ((u + r, low), (u + r, high), (u - r, high), (u - r, low)))
        # the mate's own axes may see the line's u and w mirrored
        turn = math.copysign(math.pi, side.along[0] * side.across[1] - side.along[1] * side.across[0])
        ends = (Arc(b, c, side.flat(u, high), turn), Arc(d, a, side.flat(u, low), turn))
        return Loop((Line(a, b), ends[0], Line(c, d), ends[1])).counter_clockwise()


def seat_on(contact: Contact, hole: float, head: float) -> Seat:
    """The seat of a screw with a clearance hole and a head of these diameters, mm.

    >>> from panelwright.joints.meeting.contact import Contact, Side
    >>> from panelwright.joints.meeting.section import Section
    >>> phi = math.radians(60)
    >>> section = Section(4.0, 6.0, (math.sin(phi), math.cos(phi)), 2.0)
    >>> sides = (Side(None, (0, 0), (1, 0), (0, 1)),) * 2
    >>> contact = Contact(*sides, (1, 0, 0), section.passage, section.footprint(9), (), ("", ""), section=section)
    >>> seat = seat_on(contact, 3.4, 5.68)
    >>> round(seat.wedge_deg, 9), math.isclose(seat.off, 2.84 / math.tan(phi))
    (30.0, True)
    >>> math.isclose(2 * seat.half_across, 3.4 / math.sin(phi) + 6 / math.tan(phi))
    True
    """
    section = contact.section
    if section is None or contact.is_square:
        return Seat(contact.slab[1], 0.0, sum(contact.footprint) / 2, hole / 2, hole / 2)
    middle = section.first_t / 2
    low, high = section.band(middle - hole / 2, middle + hole / 2)
    half = (high - low) / 2
    off = head / 2 * abs(section.cotangent)
    along = half if half - hole / 2 < ROUND / 2 else hole / 2
    wedge = abs(90.0 - section.angle_deg)
    return Seat(section.crossing(middle)[1] + off, off, (low + high) / 2, along, half, wedge)
