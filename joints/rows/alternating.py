"""Two kinds of things on one joint line that keep clear of each other: nuts, and the tabs between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from panelwright.joints.meeting.contact import Contact, joint_error
from panelwright.joints.spec.pattern import Ends
from panelwright.plates.geometry.probe import Interval, common, joined, without

from .even_places import spread
from .in_order import Placeable, in_order
from .places import Row, inside_margins, places, wanted_webs

__all__ = ["Things", "by_turns", "share_line"]

NOTHING = 1e-3
"""Width of things that have none, for places that are even whether things fit there or not, mm."""


@dataclass(frozen=True, slots=True)
class Things:
    """Things of one kind to be placed: how many there will be, how wide one is in mm, and where they may go.

    `stretches` is where they may be as far as the two plates go, `free` what other joints and cut-outs leave of it, and `ends`
    where the mate ends.
    """

    row: Row
    count: int
    width: float
    stretches: Sequence[Interval]
    free: Sequence[Interval]
    ends: Ends = ()

    @property
    def waits(self) -> bool:
        """Whether they only have a number, and take the places that are left."""
        return self.row.pitch is None and self.row.at is None

    def placed(self, contact: Contact, taken: Sequence[Interval] = ()) -> list[float]:
        """Their middles along u, clear of what is taken."""
        return places(self.row, contact, self.width, self.stretches, without(self.free, taken), self.ends)

    def kept_clear(self, middles: Sequence[float], web: float) -> list[Interval]:
        """What they take of the line, a web on either side included."""
        half = self.width / 2 + web
        return joined([(m - half, m + half) for m in middles])


def share_line(contact: Contact, a: Things, b: Things, web: float) -> tuple[list[float], list[float]]:
    """Middles of both kinds, at least `web` mm of material between any two of different kind.

    Where both only have a number they take turns, evenly apart as far as what is free lets them.  What has a pitch or places
    goes first, and the other kind into the gaps; where both have, `a` goes first.  Places of both kinds given by hand may
    be nearer to each other than a web, but not overlap.  Raises `JointError` if they don't fit.
    """
    if a.waits and b.waits:
        return _alternating(contact, a, b, web)
    if a.waits:
        second = b.placed(contact)
        return a.placed(contact, b.kept_clear(second, web)), second
    first = a.placed(contact)
    return first, b.placed(contact, a.kept_clear(first, 0.0 if a.row.at and b.row.at else web))


def _alternating(contact: Contact, a: Things, b: Things, web: float) -> tuple[list[float], list[float]]:
    """Both kinds by turns, their middles evenly apart over what is free for either, or as nearly so as there is room."""
    order = by_turns(a.count, b.count)
    own = [common(things.free, inside_margins(things.row, contact)) for things in (a, b)]
    usable = common(*own)
    padded = [(low - web / 2, high + web / 2) for low, high in usable]
    even = spread(padded, len(order), max(a.width, b.width) + web) or spread(padded, len(order), NOTHING) or []
    # a web to the ends of the mate as well, if there is room
    for is_kept in (True, False):
        free = [_without_webs(spans, things.ends, web) if is_kept else spans for things, spans in zip((a, b), own, strict=True)]
        things = [
            Placeable(wish, a.width if is_a else b.width, free[0] if is_a else free[1])
            for is_a, wish in zip(order, even, strict=False)
        ]
        middles = in_order(things, web) if even else None
        if middles is not None:
            pairs = list(zip(order, middles, strict=True))
            return [m for is_a, m in pairs if is_a], [m for is_a, m in pairs if not is_a]
    if not any(own):
        raise joint_error(
            contact,
            a.row.kind,
            f"no stretch of the contact is free for {a.row.thing}s and {b.row.thing}s: {a.row.obstacles} takes all of it, a "
            "web of one thickness included; move one of them, or make smaller margins",
            value=0.0,
            limit=a.width,
        )
    listed = " and ".join(
        f"{', '.join(f'{low:.2f} to {high:.2f}' for low, high in spans) or 'none'} for {things.row.thing}s"
        for things, spans in zip((a, b), own, strict=True)
    )
    raise joint_error(
        contact,
        a.row.kind,
        f"{_counted(a)} and {_counted(b)} don't fit by turns on "
        f"the free stretches ({listed}), each {web:g} mm apart from the next; use fewer or narrower {b.row.thing}s, or "
        f"fewer {a.row.thing}s",
        value=len(order),
    )


def _counted(things: Things) -> str:
    """How many of which width, as a message says it."""
    return f"{things.count} {things.row.thing}{'' if things.count == 1 else 's'} of {things.width:g} mm"


def _without_webs(spans: Sequence[Interval], ends: Ends, web: float) -> list[Interval]:
    """Stretches less what is missing of a web to the ends of the mate."""
    return [(low + a, high - b) for (low, high), (a, b) in zip(spans, wanted_webs(spans, ends, web), strict=True)]


def by_turns(a: int, b: int) -> list[bool]:
    """So many of two kinds, True for the first, mixed evenly and, where that is possible, alike from both ends.

    Those of the second kind are outermost if there are as many of both.

    >>> "".join("nt"[not is_a] for is_a in by_turns(2, 3)), "".join("nt"[not is_a] for is_a in by_turns(2, 2))
    ('tntnt', 'tnnt')
    """
    # exact halves of shares, so that equal places are equal
    marks = [((2 * i + 1) * b, True) for i in range(a)] + [((2 * i + 1) * a, False) for i in range(b)]
    middle = a * b
    return [is_a for _, is_a in sorted(marks, key=lambda mark: (mark[0], mark[1] == (mark[0] <= middle)))]
