"""Rows of equal things along a joint line: counted, pitched, or where the design says."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from panelwright.plates._validate import finite, positive, whole
from panelwright.plates.errors import SizeError
from panelwright.plates.probe import Interval, common

from .contact import Contact
from .pattern import joint_error
from .spread import room_for, spread

__all__ = ["Row", "given_places", "inside_margins", "own_count", "places", "row_given"]


@dataclass(frozen=True, slots=True)
class Row:
    """What is to be placed, and the words that messages use for it.

    At most one of `count`, `pitch` and `at` is given.  `web` is what must stay between two of them, mm.
    """

    kind: str
    thing: str
    count: int | None = None
    pitch: float | None = None
    margin: float | None = None
    at: tuple[float, ...] | None = None
    web: float = 0.0
    where: str = "the contact"
    obstacles: str = "another joint or a cut-out"


def given_places(at: float | Sequence[float] | None, thing: str, instead: str) -> tuple[float, ...] | None:
    """What `at=` says, as places in mm; a single number is one place.  Raises `SizeError` for none, or what is no number.

    >>> given_places(20, "tab", ""), given_places([10, 30], "tab", "")
    ((20.0,), (10.0, 30.0))
    """
    if at is None:
        return None
    if isinstance(at, str) or not isinstance(at, Iterable):
        return (finite(at, f"place of a {thing}"),)
    found = tuple(finite(place, f"place of a {thing}") for place in at)
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
    return (
        None if count is None else whole(count, f"count of {thing}s"),
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


def places(
    row: Row, contact: Contact, width: float, stretches: Sequence[Interval], free: Sequence[Interval]
) -> list[float]:
    """Middles along u of things of `width` mm.

    `stretches` is where they may be as far as the two plates go, `free` what other joints and cut-outs leave of it.
    Raises `JointError` if they don't fit, saying what does.
    """
    if row.at is not None:
        return _given(row, contact, width, stretches, free)
    longest = _length(stretches)
    if width > longest + 1e-9:
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
    count = own_count(row, padded, broad)
    if row.pitch is None:
        middles = spread(padded, count, broad)
    else:
        middles = None if row.pitch < broad - 1e-9 and row.web else _pitched(padded, broad, row.pitch, count)
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
    """How many: as counted, as many as the pitch allows, or two, or one where two don't fit."""
    if row.count is not None:
        return row.count
    if row.pitch is not None:
        pitch = row.pitch
        return sum(int((high - low - width + 1e-9) // pitch) + 1 for low, high in free if high - low >= width)
    return max(1, min(2, room_for(free, width)))


def _length(stretches: Sequence[Interval]) -> float:
    return sum(high - low for low, high in stretches)


def _pitched(free: Sequence[Interval], width: float, pitch: float, count: int) -> list[float] | None:
    """As many as fit a pitch apart, centred on each free stretch."""
    middles: list[float] = []
    for low, high in free:
        if high - low < width:
            continue
        number = int((high - low - width + 1e-9) // pitch) + 1
        first = (low + high) / 2 - pitch * (number - 1) / 2
        middles.extend(first + pitch * i for i in range(number))
    return middles if len(middles) == count else None


def _given(
    row: Row, contact: Contact, width: float, stretches: Sequence[Interval], free: Sequence[Interval]
) -> list[float]:
    assert row.at is not None
    middles = sorted(row.at)
    apart = width + row.web
    for before, after in itertools.pairwise(middles):
        if after - before < apart:
            raise joint_error(
                contact,
                row.kind,
                f"{row.thing}s of {width:g} mm at {before:g} and {after:g} mm overlap; move them at least {apart:g} mm apart"
                + (" (a web included)" if row.web else ""),
                value=after - before,
                limit=apart,
            )
    for m in middles:
        if not _within(stretches, m, width):
            listed = ", ".join(f"{low:.2f} to {high:.2f}" for low, high in stretches) or "nothing"
            inside = bool(stretches) and stretches[0][0] - 1e-6 <= m - width / 2 and m + width / 2 <= stretches[-1][1] + 1e-6
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
                f"a {row.thing} of {width:g} mm at {m:g} mm collides with {row.obstacles} (a web of one thickness "
                f"included); free stretches: {listed} mm",
                value=m,
                limit=tuple(free),
            )
    return middles


def _within(stretches: Sequence[Interval], middle: float, width: float) -> bool:
    return any(low - 1e-6 <= middle - width / 2 and middle + width / 2 <= high + 1e-6 for low, high in stretches)
