"""Rows of equal things along a joint line: counted, pitched, or where the design says."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from panelwright.joints.meeting.contact import Contact, joint_error
from panelwright.joints.spec.pattern import Ends
from panelwright.plates._validate import MOST_IN_A_ROW, finite, items, positive, whole
from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.probe import Interval, common
from panelwright.plates.tolerances import ROUNDING, SAME_PLACE

from .even_places import Wanted, room_for, spread

__all__ = ["Row", "check_pitch", "given_places", "inside_margins", "own_count", "places", "row_given", "wanted_webs"]


@dataclass(frozen=True, slots=True)
class Row:
    """What is to be placed, and the words that messages use for it.

    At most one of `count`, `pitch` and `at` is given; `usual` is how many there are where none is, if so many fit.  `web` is
    what must stay between two of them, mm; `gap` what should, if there is room for it.
    """

    kind: str
    thing: str
    usual: int
    count: int | None = None
    pitch: float | None = None
    margin: float | None = None
    at: tuple[float, ...] | None = None
    web: float = 0.0
    gap: float = 0.0
    where: str = "the contact"
    obstacles: str = "another joint or a cut-out"


def given_places(at: float | Sequence[float] | None, thing: str, instead: str) -> tuple[float, ...] | None:
    """What `at=` says, as places in mm; a single number is one place.  Raises `SizeError` for none, or what is no number.

    >>> given_places(20, "tab", ""), given_places([10, 30], "tab", "")
    ((20.0,), (10.0, 30.0))
    """
    if at is None:
        return None
    if isinstance(at, str | bytes | Mapping) or not isinstance(at, Iterable):
        return (finite(at, f"place of a {thing}"),)
    given = items(at, f"at= of {thing}s", "give places in mm", SizeError)
    found = tuple(finite(place, f"place of a {thing}") for place in given)
    if not found:
        raise SizeError(f"at= of {thing}s holds no place; give one or more, or {instead}", value=at)
    return found


def row_given(
    thing: str,
    count: int | None,
    pitch: float | None,
    margin: float | None,
    at: float | Sequence[float] | None,
    *,
    instead: str,
) -> tuple[int | None, float | None, float | None, tuple[float, ...] | None]:
    """What a maker says of a row of things, checked.  `instead` is what to do rather than to give no place at all.

    >>> row_given("tab", None, None, 5, [20, 40], instead="leave the join out")
    (None, None, 5.0, (20.0, 40.0))
    >>> row_given("tab", 2, 30, None, None, instead="leave the join out")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: tabs are given count and pitch; give one of count, pitch and at
    """
    given = [name for name, value in (("count", count), ("pitch", pitch), ("at", at)) if value is not None]
    if len(given) > 1:
        raise SizeError(f"{thing}s are given {' and '.join(given)}; give one of count, pitch and at", value=given)
    spots = given_places(at, thing, instead)
    if spots is not None:
        whole(len(spots), f"count of {thing}s", most=MOST_IN_A_ROW)
    return (
        None if count is None else whole(count, f"count of {thing}s", most=MOST_IN_A_ROW),
        None if pitch is None else positive(pitch, f"pitch of {thing}s"),
        None if margin is None else positive(margin, f"margin of {thing}s", zero_is_fine=True),
        spots,
    )


def inside_margins(row: Row, contact: Contact) -> list[Interval]:
    """The stretches of the contact less the margin at both ends of each.  Raises `JointError` if nothing is left."""
    if row.margin is None:
        return list(contact.stretches)
    inner = [(low + row.margin, high - row.margin) for low, high in contact.stretches]
    inner = [(low, high) for low, high in inner if high > low]
    if not inner:
        longest = _length(contact.stretches)
        raise joint_error(
            contact,
            row.kind,
            f"margins of {row.margin:g} mm at both ends leave no room on a contact of {longest:.3f} mm",
            value=row.margin,
            limit=longest / 2,
        )
    return inner


def wanted_webs(stretches: Sequence[Interval], ends: Ends, web: float) -> Wanted:
    """What of a web to the ends of the mate still lies beyond each end of some stretches, mm.

    `ends` are the places where the mate ends, each with the way that lies outside.

    >>> wanted_webs([(0, 50), (52, 100)], [(0, -1), (102, 1)], 4)
    [(4.0, 0.0), (0.0, 2.0)]
    """

    def wanted(place: float, way: float) -> float:
        beyond = [way * (end - place) for end, sign in ends if sign == way]
        return max([0.0, *(web - gap for gap in beyond if gap > -SAME_PLACE)])

    return [(wanted(low, -1.0), wanted(high, 1.0)) for low, high in stretches]


def places(
    row: Row,
    contact: Contact,
    width: float,
    stretches: Sequence[Interval],
    free: Sequence[Interval],
    ends: Ends = (),
) -> list[float]:
    """Middles along u of things of `width` mm.

    `stretches` is where they may be as far as the two plates go, `free` what other joints and cut-outs leave of it, and `ends`
    where the mate ends, a web from which they keep away if there is room.  Raises `JointError` if they don't fit, saying what
    does.
    """
    if row.at is not None:
        return _given(row, contact, width, stretches, free)
    longest = _length(stretches)
    if width > longest + ROUNDING:
        raise joint_error(
            contact,
            row.kind,
            f"{row.thing}s are {width:g} mm wide, but {row.where} is only {longest:.3f} mm long; make them narrower",
            value=width,
            limit=longest,
        )
    usable = common(inside_margins(row, contact), free)
    if not usable:
        raise joint_error(
            contact,
            row.kind,
            f"no stretch of {row.where} is free for {row.thing}s: {row.obstacles} takes all of it, a web of one thickness "
            "included; move one of them, or make smaller margins",
            value=0.0,
            limit=width,
        )
    # half a web on either side belongs to each; at the ends of a stretch it has been taken off already
    padded = [(low - row.web / 2, high + row.web / 2) for low, high in usable]
    broad = width + row.web
    wanted = wanted_webs(usable, ends, row.gap)
    check_pitch(row, contact, broad, padded)
    count = own_count(row, padded, broad)
    if row.pitch is None:
        middles = spread(padded, count, broad, row.gap, wanted)
    else:
        middles = [m for span, own in zip(padded, wanted, strict=True) for m in _pitched(span, broad, row.pitch, own)]
    if not middles:
        listed = ", ".join(f"{low:.2f} to {high:.2f}" for low, high in usable) or "none"
        raise joint_error(
            contact,
            row.kind,
            f"{count} {row.thing}s of {width:g} mm don't fit on the free stretches ({listed}) of a contact of "
            f"{longest:.3f} mm; use fewer or narrower {row.thing}s, or smaller margins",
            value=count,
            limit=room_for(padded, broad),
        )
    return middles


def own_count(row: Row, free: Sequence[Interval], width: float) -> int:
    """How many: as counted, as many as the pitch allows, or as many as are usual, fewer where they don't fit."""
    if row.count is not None:
        return row.count
    if row.pitch is not None:
        pitch = row.pitch
        return sum(int((high - low - width + 1e-9) // pitch) + 1 for low, high in free if high - low >= width)
    return max(1, min(row.usual, room_for(free, width, max(width, row.gap))))


def _length(stretches: Sequence[Interval]) -> float:
    return sum(high - low for low, high in stretches)


def check_pitch(row: Row, contact: Contact, width: float, free: Sequence[Interval]) -> None:
    """Refuse a pitch at which things would overlap, and one that would make more of them than anybody cuts (`JointError`)."""
    if row.pitch is None:
        return
    if row.pitch < width - ROUNDING:
        raise joint_error(
            contact,
            row.kind,
            f"pitch of {row.thing}s is {row.pitch:g} mm, but each takes {width:g} mm"
            + (", a web included" if row.web else "")
            + "; make the pitch larger or them narrower",
            value=row.pitch,
            limit=width,
        )
    least = _length(free) / MOST_IN_A_ROW
    if row.pitch < least:
        raise joint_error(
            contact,
            row.kind,
            f"pitch of {row.thing}s is {row.pitch:g} mm on a line of {_length(free):.2f} mm, but a row has "
            f"{MOST_IN_A_ROW} of them at most; make the pitch at least {least:.3g} mm",
            value=row.pitch,
            limit=least,
        )


def _pitched(span: Interval, width: float, pitch: float, wanted: tuple[float, float]) -> list[float]:
    """As many as fit a pitch apart, centred on a free stretch; fewer, where what is wanted at its ends has room then."""

    def row(low: float, high: float) -> list[float]:
        if high - low < width - ROUNDING:
            return []
        number = int((high - low - width + 1e-9) // pitch) + 1
        first = (low + high) / 2 - pitch * (number - 1) / 2
        return [first + pitch * i for i in range(number)]

    low, high = span
    middles = row(low, high)
    if middles and (
        middles[0] - width / 2 - low < wanted[0] - ROUNDING or high - middles[-1] - width / 2 < wanted[1] - ROUNDING
    ):
        return row(low + wanted[0], high - wanted[1]) or middles
    return middles


def _given(row: Row, contact: Contact, width: float, stretches: Sequence[Interval], free: Sequence[Interval]) -> list[float]:
    assert row.at is not None
    middles = sorted(row.at)
    for before, after in itertools.pairwise(middles):
        if after - before < width:
            raise joint_error(
                contact,
                row.kind,
                f"{row.thing}s of {width:g} mm at {before:g} and {after:g} mm overlap; move them at least "
                f"{width + row.web:g} mm apart" + (" (a web included)" if row.web else ""),
                value=after - before,
                limit=width,
            )
    for m in middles:
        if not _within(stretches, m, width):
            listed = ", ".join(f"{low:.2f} to {high:.2f}" for low, high in stretches) or "nothing"
            inside = (
                bool(stretches)
                and stretches[0][0] - SAME_PLACE <= m - width / 2
                and m + width / 2 <= stretches[-1][1] + SAME_PLACE
            )
            meets = "runs into a cut-out or another gap in" if inside else "reaches off"
            raise joint_error(
                contact,
                row.kind,
                f"a {row.thing} of {width:g} mm at {m:g} mm {meets} {row.where}, which spans {listed} mm; move it "
                + ("aside" if inside else "in"),
                value=m,
                limit=tuple(stretches),
            )
        if not _within(free, m, width):
            listed = ", ".join(f"{low:.2f} to {high:.2f}" for low, high in free) or "none"
            raise joint_error(
                contact,
                row.kind,
                f"a {row.thing} of {width:g} mm at {m:g} mm collides with {row.obstacles}; free stretches: {listed} mm",
                value=m,
                limit=tuple(free),
            )
    return middles


def _within(stretches: Sequence[Interval], middle: float, width: float) -> bool:
    return any(low - SAME_PLACE <= middle - width / 2 and middle + width / 2 <= high + SAME_PLACE for low, high in stretches)
