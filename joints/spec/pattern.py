"""What a joint kind gives back: claims on material, what to measure afterwards, and bought parts.

A joint kind is a frozen spec that satisfies `Joint`.  `meet` finds the contact of two faces or says why there is none;
`lay_out` turns a contact into a `Layout`; `ways_in` says how it closes, `words` what people read of it.  All are pure.  Nothing
else in the toolkit knows which kinds exist: a spec that leaves one of these unsaid is refused, and none stands in for it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar, Literal, Protocol, runtime_checkable

from panelwright.joints.meeting.contact import Body, Contact, Hold, Side, joint_error
from panelwright.joints.meeting.remark import Remark
from panelwright.joints.meeting.side import Slitting
from panelwright.plates._validate import shown
from panelwright.plates.errors import JointError
from panelwright.plates.geometry.curves import Loop, Point
from panelwright.plates.geometry.frame import Vector
from panelwright.plates.geometry.probe import Interval
from panelwright.plates.tolerances import FILM, ROUNDING

from .fasteners import Fastener
from .kind_words import Words
from .relief import Relief

if TYPE_CHECKING:
    from .strip import Strip

__all__ = [
    "RUN_OUT_SHARE",
    "BendingJoint",
    "Claim",
    "DeepJoint",
    "Ends",
    "Fit",
    "Joint",
    "Lap",
    "Layout",
    "Setting",
    "SharingJoint",
    "Wish",
    "opening",
    "require_clearance",
    "require_joint",
]

Ends = Sequence[tuple[float, float]]
"""Each u at which the second plate ends under the joint line, and which way lies outside: 1 or -1."""

RUN_OUT_SHARE = 1.0
"""How far, as a multiple of the thickness of what goes in, an open cut runs out over a border."""


@dataclass(frozen=True, eq=False)
class Claim:
    """A flat region that a plate gains ("add") or loses ("cut"), in that plate's own coordinates.

    A cut that `must_bite` is one that the joint is no joint without: a slot, not a mere trimming.
    """

    side: Side
    action: Literal["add", "cut"]
    loop: Loop
    must_bite: bool = False


@dataclass(frozen=True, eq=False)
class Fit:
    """An opening and what goes into it, to be measured on the finished solids.

    The opening is the free stretch through (u, v) of `opening`, along the line or across it; the insert is the stretch of
    material through (u, v) of `insert` along the line, or a sheet's thickness in mm.  Their difference shall be `clearance`.
    `reach` and `insert_reach` say how far in mm the two go on to either side of the line that is measured on: with corner
    relief, which eats into both, the fit is that of the tightest lines within.  `is_clearance` is False for play that isn't the
    joint's clearance, such as a screw's in its hole: it is checked, but not told as the joint's clearance.
    `is_spared` is True where the joint sees to it that relief of any style keeps off what is measured, `is_bought` where the
    insert in mm is the size of a bought part and not a sheet's thickness.
    """

    opening: Side
    at: Point
    way: Literal["along", "across"]
    insert: Side | float
    insert_at: Point
    clearance: float
    reach: float = 0.0
    insert_reach: float = 0.0
    is_clearance: bool = field(default=True, kw_only=True)
    is_spared: bool = field(default=False, kw_only=True)
    is_bought: bool = field(default=False, kw_only=True)


@dataclass(frozen=True, eq=False)
class Lap:
    """Two plates that share a stretch of line end to end: together they leave `clearance` of it free."""

    first: Side
    first_at: float
    second: Side
    second_at: float
    line: Interval
    clearance: float


@dataclass(frozen=True, eq=False)
class Layout:
    """Everything that one joint does.

    `overlap_mm3` is the most that the two plates may share because a press fit wants them to; `numbers` are the joint's
    settled sizes for people and for the manifest.  `fasteners` are bought parts that are shown and checked where they sit;
    `hardware` are designations and numbers of those that aren't.  `strip` is what bends between the two plates.
    `largest_tool` is the diameter in mm of the largest tool that the joint can be relieved for.
    """

    claims: tuple[Claim, ...]
    fits: tuple[Fit, ...]
    numbers: Mapping[str, Any]
    overlap_mm3: float = 0.0
    cells: tuple[tuple[Interval, int], ...] = ()
    laps: tuple[Lap, ...] = ()
    hardware: tuple[tuple[str, int], ...] = ()
    fasteners: tuple[Fastener, ...] = ()
    remarks: tuple[Remark, ...] = ()
    strip: Strip | None = None
    largest_tool: float = math.inf


@dataclass(frozen=True)
class Setting:
    """What surrounds a joint: its clearance in mm, its corner relief, and the stretches of u that are free for it.

    `trimmed` holds, for joints that share corners, the intervals of u at the start and the end of the line that three
    plates claim together and that are settled elsewhere.  `deep` holds, for a `DeepJoint`, the stretches that are free over
    the whole of its strips, and for others the same as `free`.  `ends` are where the second plate ends, not only the first one:
    what goes into it keeps a web away from there if there is room.
    """

    clearance: float
    free: tuple[Interval, ...]
    trimmed: tuple[Interval, ...]
    deep: tuple[Interval, ...]
    ends: Ends = ()
    relief: Relief | None = None


@dataclass(frozen=True)
class Wish:
    """What a joint would like on a line that it may have to share.

    `free` are the stretches of u on which it may place things, `count` and `width` in mm how many and how wide, `pitch` their
    distance in mm where that is asked for, `is_placed` whether all places are given by hand.  `depth` is how far in mm its
    things go into the second plate.
    """

    free: tuple[Interval, ...]
    count: int
    width: float
    pitch: float | None = None
    is_placed: bool = False
    depth: float = math.inf


@runtime_checkable
class Joint(Protocol):
    """The frozen spec of one kind of joint: what `tabs` and its like give, and what a kind of one's own has to answer.

    >>> from panelwright.joints import tabs
    >>> joint = tabs(count=2)
    >>> isinstance(joint, Joint), joint.kind, joint.clearance
    (True, 'tabs', None)
    """

    kind: ClassVar[str]
    """Name of the kind, as in the function that makes it."""
    yields: ClassVar[bool]
    """Whether the joint may shift along the line to keep clear of what else claims material there."""
    shares_corners: ClassVar[bool]
    """Whether the joint owns its line right to the ends, so that corners of three plates must be settled."""
    words: ClassVar[Words]
    """What lists, the report and the booklet say of it."""

    @property
    def clearance(self) -> float | None:
        """Opening minus what goes in, mm; None takes the assembly's or the stock's."""
        ...

    @property
    def relief(self) -> Relief | None:
        """Corner relief for a round cutter, or None."""
        ...

    def meet(self, first: Hold, second: Hold) -> Contact:
        """The contact of two faces.  Raises `JointError` if this kind cannot be made there."""
        ...

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        """Who owns what along the line.  Raises `JointError` if it does not fit."""
        ...

    def ways_in(self, contact: Contact, layout: Layout) -> tuple[Vector, ...]:
        """Unit vectors, in the product's frame, along which the contact's first plate can go into its second one.

        The second goes into the first the other way round.  None where the two are one panel.
        """
        ...


@runtime_checkable
class DeepJoint(Joint, Protocol):
    """A joint that cuts into its plates beside the line, where others must keep clear of it."""

    def strips(self, contact: Contact) -> tuple[Interval, Interval]:
        """What it may cut: v in the first plate, w in the second.  Raises `JointError` if this kind cannot be made there."""
        ...


@runtime_checkable
class BendingJoint(Joint, Protocol):
    """A joint that can also be laid into a sheet, as each of its bends; its layouts have a `strip`."""

    @property
    def sizes(self) -> Slitting:
        """What it asks of the slits that bend the sheet."""
        ...

    def laid_into(self, body: Body) -> Contact:
        """The contact that a bent part of a sheet has with itself."""
        ...


@runtime_checkable
class SharingJoint(Joint, Protocol):
    """A joint that takes turns with others of its like where they want the same stretch of a plate."""

    def wish(self, contact: Contact, free: Sequence[Interval]) -> Wish:
        """What it would place on those of its free stretches that it can use.  Raises `JointError` if it can use none."""
        ...


def require_joint(given: Any, what: str) -> Joint:
    """The joint as given.  Raises `JointError` for what is none, and for a kind that does not say all that a kind must.

    >>> require_joint("glue", "joint of two plates")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.JointError: joint of two plates: 'glue' is no joint; give one such as tabs(count=2)
    """
    if isinstance(given, type) or not isinstance(given, Joint):
        raise JointError(_refusal(given, what), value=given)
    if not isinstance(given.words, Words):
        raise JointError(f"{what}: words of kind {given.kind!r} are {shown(given.words)}; give Words(…)", value=given)
    return given


def _refusal(given: Any, what: str) -> str:
    """Why something is no joint: for a kind of joint in the making, what it does not say yet."""
    said = {*Joint.__annotations__, *(name for name in vars(Joint) if not name.startswith("_"))}
    missing = sorted(name for name in said if not hasattr(given, name))
    if isinstance(given, type) or {"kind", "lay_out"} & set(missing):
        return f"{what}: {shown(given)} is no joint; give one such as tabs(count=2)"
    return f"{what}: kind {given.kind!r} does not say its {', '.join(missing)}; a kind of joint says all that `Joint` lists"


def require_clearance(contact: Contact, kind: str, clearance: float) -> None:
    """Raise `JointError` for a clearance as large as the thinner of the two plates is thick: nothing holds or fits there."""
    thinner = min((contact.first.body, contact.second.body), key=lambda body: body.t)
    if abs(clearance) >= thinner.t - ROUNDING:
        raise joint_error(
            contact,
            kind,
            f"clearance is {clearance:g} mm, as much as {thinner.name!r} is thick ({thinner.t:g} mm); give the gap of one "
            "joint, usually 0 to 0.3 mm, where it comes from: the joint, the pair of stocks, the assembly or the stock",
            value=clearance,
            limit=thinner.t,
        )


def opening(
    side: Side,
    u: Interval,
    v: Interval,
    clearance: float,
    *,
    run_out: float,
    may_open: Sequence[str] = ("u-", "u+", "v-", "v+"),
    pressed: Sequence[str] = (),
) -> tuple[Loop, frozenset[str]]:
    """The cut for something that fills the rectangle u × v of a plate, and the names of its open sides.

    The sides are "u-", "u+", "v-" and "v+": the lower and the upper end of each interval.  A side with material of the plate
    as designed next to it is closed, and the cut is half the clearance larger there.  A side without is open: the cut goes on
    by `run_out` mm over the border, so that no sliver stays.  Only sides in `may_open` are looked at; the others are closed.

    A clearance below 0 makes the cut smaller, so that it presses.  It does so only between two closed sides that face each
    other, since what is pressed from one side alone gives way.  A closed side in `pressed` is made smaller even where the one
    that faces it is open: the caller knows that what lies beyond it is held from its own far side.
    """
    inset = 0.25
    us = [u[0] + (u[1] - u[0]) * (inset + (1 - 2 * inset) * i / 4) for i in range(5)]
    vs = [v[0] + (v[1] - v[0]) * (inset + (1 - 2 * inset) * i / 4) for i in range(5)]
    look = FILM + max(0.0, clearance / 2)  # beyond the cut, not only beyond what goes in
    beyond = {
        "u-": [(u[0] - look, w) for w in vs],
        "u+": [(u[1] + look, w) for w in vs],
        "v-": [(w, v[0] - look) for w in us],
        "v+": [(w, v[1] + look) for w in us],
    }
    names = [name for name in may_open for _ in beyond[name]]
    covered = side.covers([point for name in may_open for point in beyond[name]])
    open_sides = frozenset(may_open) - {name for name, is_covered in zip(names, covered, strict=True) if is_covered}

    def edge(name: str, value: float, sign: float, opposite: str) -> float:
        if name in open_sides:
            return value + sign * run_out
        presses = opposite not in open_sides or name in pressed
        gap = clearance / 2 if presses else max(0.0, clearance / 2)
        return value + sign * gap

    us_cut = (edge("u-", u[0], -1, "u+"), edge("u+", u[1], 1, "u-"))
    vs_cut = (edge("v-", v[0], -1, "v+"), edge("v+", v[1], 1, "v-"))
    return side.rectangle(us_cut, vs_cut), open_sides
