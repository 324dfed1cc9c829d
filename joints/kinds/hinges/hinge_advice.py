"""What would make a hinge sound: for each of its sizes the mildest value that passes, found by laying the hinge out with it.

Nothing is extrapolated, since sizes hang together: wider slits, for instance, leave room for fewer links.  What is named has
been tried, on the same bend and round the same obstacles, and passes.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from panelwright.joints.meeting.contact import Contact
from panelwright.joints.spec.strip import Free
from panelwright.plates.errors import PanelwrightError

from .hinge_findings import LONGEST_LINK, is_sound
from .hinge_settling import HingeSizes, settle

__all__ = ["advice"]

STEP = 0.01
"""Sizes are advised in steps of this many mm."""

WIDEST_SLIT = 2.0
"""Widest slit that is advised, in thicknesses: beyond that a hinge is mostly air (common practice, no source)."""

NARROWEST = 0.25
"""Narrowest link that is advised where the maker gives one, in thicknesses (common practice, no source)."""


def advice(contact: Contact, sizes: HingeSizes, free: Free | None) -> str:
    """Parameters of the hinge, each with a value that passes with all else as it is: "slit=0.38, or link=2.2"; "" if none do.

    `slit` is the least that passes, `link` the widest, `slit_length` the shortest; steps of 0.01 mm.
    """
    bend = contact.bend
    assert bend is not None
    stock = bend.first.body.plate.stock
    t, bridge = bend.thickness, sizes.bridge_in(stock)

    def passes(changed: HingeSizes) -> bool:
        try:
            _, mechanics = settle(contact, changed, free)
        except PanelwrightError:
            return False
        return is_sound(mechanics) and mechanics.length_mm <= LONGEST_LINK * t

    found: list[str] = []
    slit = _first(lambda value: passes(replace(sizes, slit=value)), sizes.width_in(stock), WIDEST_SLIT * t)
    if slit is not None:
        found.append(f"slit={slit:g}")
    if sizes.link is not None:
        link = _first(lambda value: passes(replace(sizes, link=value)), sizes.link, NARROWEST * t)
        if link is not None:
            found.append(f"link={link:g}")
    room = bend.span[1] - bend.span[0] - bridge
    now = settle(contact, sizes, free)[0].period
    for periods in range(round(room / now) - 1, 0, -1):
        length = math.floor((room / periods - bridge) / STEP + 1e-6) * STEP
        if passes(replace(sizes, slit_length=length)):
            found.append(f"slit_length={length:g}")
            break
    return ", or ".join(found)


def _first(passes: Callable[[float], bool], start: float, end: float) -> float | None:
    """The value nearest to `start`, in steps towards `end`, that passes; None if none does.

    Passing need not be monotone, since counts are whole numbers, so steps widen only until one passes, and what a halving
    finds has been tried itself.
    """
    way = 1 if end > start else -1
    first = math.floor(start / STEP + 1e-6) if way > 0 else math.ceil(start / STEP - 1e-6)
    last = math.floor(end / STEP) if way > 0 else math.ceil(end / STEP)

    def good(number: int) -> bool:
        return passes(round((first + way * number) * STEP, 6))

    most = (last - first) * way
    bad, reach = 0, 1
    while reach <= most and not good(reach):
        bad, reach = reach, max(reach + 1, math.ceil(1.3 * reach))
    if reach > most:
        return None
    while reach - bad > 1:
        middle = (bad + reach) // 2
        bad, reach = (bad, middle) if good(middle) else (middle, reach)
    return round((first + way * reach) * STEP, 6)
