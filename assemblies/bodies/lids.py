"""What a carcass is closed by: for good, by a lid that overhangs, or by one let in between its walls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, cast, get_args

from panelwright.joints import t_nut, tabs
from panelwright.joints.spec.fasteners import hole_for
from panelwright.joints.spec.pattern import Joint, require_joint
from panelwright.plates._validate import flag, one_of, positive, shown
from panelwright.plates.errors import DesignError
from panelwright.plates.materials.stock import Stock

__all__ = ["Lid", "LidKind", "lid_of"]

LidKind = Literal["overhanging", "inset"]
"""How a lid that comes off again lies on a carcass."""

PLAY = 0.5
"""How much smaller than its room an inset lid is, in mm, where the design says nothing: it comes out by hand, and the gap is
hardly seen (common practice, no source)."""


LARGEST_SCREW = "M4"
"""Screws of a lid up to which it keeps a whole web beyond their holes: it is held by M3 unless told otherwise.  Chosen here."""


@dataclass(frozen=True)
class Lid:
    """What a carcass is closed by: None as the kind for good."""

    kind: LidKind | None = None
    brim: float | None = None
    play: float = PLAY
    joint: Joint | None = None

    def rest_gap(self, stock: Stock, flat: Stock) -> float:
        """How far in mm an inset lid's rest stands off the wall: so far that the lid keeps a web beyond its slots and holes.

        Nuts can be reached there, too.
        """
        return max(stock.t, flat.t) + self.play / 2 + max(0.0, hole_for(LARGEST_SCREW) - stock.t) / 2


def lid_of(lid: object, brim: float | None, play: float | None, joint: Joint | None, *, rectangular: bool) -> Lid | None:
    """What `lid=` and its sizes say.  Raises `DesignError` for what does not go together."""
    kind: LidKind | None = None
    if isinstance(lid, str):
        kind = cast(LidKind, one_of(lid, get_args(LidKind), "lid= of a carcass", DesignError))
    else:
        flag(lid, "lid= of a carcass")
    if kind == "inset" and not rectangular:
        raise DesignError("an inset lid lies on rests along the left and the right wall; give the carcass a depth", value=kind)
    for given, name, fits in (
        (brim, "brim", kind == "overhanging"),
        (play, "play", kind == "inset"),
        (joint, "lid_joint", kind is not None),
    ):
        if given is not None and not fits:
            of = {"brim": "an 'overhanging' lid", "play": "an 'inset' lid", "lid_joint": "one of these two"}[name]
            raise DesignError(f"{name}= of a carcass is given, but its lid is {shown(lid)}; it belongs to {of}", value=given)
    if kind is None:
        return Lid() if lid else None
    usual = t_nut("M3", tabs=tabs(count=1) if kind == "overhanging" else None)
    out = None if brim is None else positive(brim, "brim of a carcass")
    free = PLAY if play is None else positive(play, "play of a carcass's lid")
    return Lid(kind, out, free, usual if joint is None else require_joint(joint, "lid_joint of a carcass"))
