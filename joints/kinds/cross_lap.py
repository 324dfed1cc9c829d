"""Cross-laps: two plates pass through each other, each slotted part of the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from panelwright.joints.meeting.contact import Contact, Hold, Side, crossing_contact
from panelwright.joints.spec.kind_words import Words
from panelwright.joints.spec.pattern import RUN_OUT_SHARE, Claim, Fit, Lap, Layout, Setting
from panelwright.joints.spec.relief import Relief
from panelwright.plates._validate import finite, one_of
from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.geometry.frame import Vector, scaled
from panelwright.plates.geometry.probe import Interval, common

__all__ = ["CrossLap", "cross_lap"]


@dataclass(frozen=True, slots=True)
class CrossLap:
    """Spec of a cross-lap; make one with `cross_lap`."""

    ratio: float
    opens_up: Literal["first", "second"]
    clearance: float | None
    relief: Relief | None

    kind: ClassVar[str] = "cross_lap"
    yields: ClassVar[bool] = False
    shares_corners: ClassVar[bool] = False
    words: ClassVar[Words] = Words("cross lap", "Push {parts} into {mates}.")

    def meet(self, first: Hold, second: Hold) -> Contact:
        """The line in which the two plates cross."""
        return crossing_contact(first, second, self.kind)

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        """Split the shared stretch once: each plate owns one end of it, and is slotted from there to its border."""
        first, second = contact.first, contact.second
        low, high = contact.stretches[0][0], contact.stretches[-1][1]
        share = self.ratio * (high - low)
        first_up = self.opens_up == "first"
        split = high - share if first_up else low + share
        c = setting.clearance
        claims: list[Claim] = []
        for side, across, goes_up in ((first, contact.slab, first_up), (second, contact.footprint, not first_up)):
            claims.append(Claim(side, "cut", _slot(side, across, split, c, goes_up), must_bite=True))
        middle_1, middle_2 = sum(contact.slab) / 2, sum(contact.footprint) / 2
        upper, lower = (split + high) / 2, (low + split) / 2
        at_1, at_2 = (upper, lower) if first_up else (lower, upper)
        seen_by_first = contact.slab[1] - contact.slab[0]
        seen_by_second = contact.footprint[1] - contact.footprint[0]
        fits = (
            Fit(first, (at_1, middle_1), "across", seen_by_first, (0.0, 0.0), c, share / 2),
            Fit(second, (at_2, middle_2), "across", seen_by_second, (0.0, 0.0), c, (high - low - share) / 2),
        )
        # where a border slants to the line one plate ends before the other begins to be measured: neither is missing there
        both = common(first.stretches(middle_1), second.stretches(middle_2))
        laps: tuple[Lap, ...] = ()
        if len(contact.stretches) == 1 and len(both) == 1:
            laps = (Lap(first, middle_1, second, middle_2, both[0], max(0.0, c)),)
        press = max(0.0, -c) * (high - low) * (first.body.t + second.body.t)
        numbers = {
            "ratio": self.ratio,
            "opens_up": first.body.name if first_up else second.body.name,
            "overlap_mm": high - low,
            "slot_mm": [share, high - low - share],
            **contact.numbers,
        }
        return Layout(tuple(claims), fits, numbers, press, laps=laps)

    def ways_in(self, contact: Contact, layout: Layout) -> tuple[Vector, ...]:
        """It closes along the line in which the plates cross: the first one goes towards where its slot opens."""
        return (contact.direction if self.opens_up == "first" else scaled(contact.direction, -1.0),)


def _slot(side: Side, across: Interval, split: float, clearance: float, goes_up: bool) -> Loop:
    lines = [across[0] + 1e-3, sum(across) / 2, across[1] - 1e-3]
    reached = [edge for v in lines for stretch in side.stretches(v) for edge in stretch]
    run_out = RUN_OUT_SHARE * side.body.t
    depth = max(0.0, clearance / 2)
    u = (split - depth, max(reached) + run_out) if goes_up else (min(reached) - run_out, split + depth)
    return side.rectangle(u, (across[0] - clearance / 2, across[1] + clearance / 2))


def cross_lap(
    ratio: float = 0.5,
    *,
    opens_up: Literal["first", "second"] = "first",
    clearance: float | None = None,
    relief: Relief | None = None,
) -> CrossLap:
    """A slot in each of two plates that cross, so that one slides down over the other.

    - `ratio`: share of the crossing's height that is slotted out of the first plate named, between 0 and 1.
    - `opens_up`: the plate whose slot opens upward, "first" or "second"; the other's opens downward.  Upward is towards greater
      z where the plates cross upright, else towards greater x or y.
    - `clearance`: slot minus sheet thickness, mm, and the same free at the bottom of the slots; by default the assembly's or
      stock's.
    - `relief`: `dog_bone(tool)` or `t_bone(tool)` for a round cutter.

    A plate that reaches past the other in the direction of its slot is slotted all the way to its border, since the
    other comes in from there.

    Raises `SizeError` for a ratio outside 0 to 1 and for another plate than "first" or "second".

    >>> cross_lap(0.6).ratio
    0.6
    """
    share = finite(ratio, "ratio of a cross-lap", unit="")
    if not 0 < share < 1:
        raise SizeError(f"ratio of a cross-lap is {share:g}; it must lie between 0 and 1", value=share, limit=(0, 1))
    one_of(opens_up, ("first", "second"), "opens_up of a cross-lap")
    gap = None if clearance is None else finite(clearance, "clearance of a cross-lap")
    return CrossLap(share, opens_up, gap, relief)
