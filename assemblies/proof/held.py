"""What holds the product together: plates that float, and plates that only lie against others; for bends see `bends`."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.plates.geometry.frame import Vector, dot
from panelwright.plates.tolerances import ANGLE_TOLERANCE, CONTACT_TOLERANCE, COSINE_ROUNDING

from .bent_proof import Placed, area_of, listed, nearest, placed_pieces, strip_touches
from .interference import Slab, all_pairs, common_volume

__all__ = ["held_findings"]

BENCH = 0.1
"""How far in mm above the lowest point of the product something loose may end and still stand on the bench beside it: less than
anyone sees, more than boxes round bends that lie down are too large by (0.0012 of the radius).  Chosen here; no source."""

NEAR = 1.0
"""Faces up to this far apart look as if they were to be glued, mm: glues fill a tenth or two (common practice, no source)."""

LEAST_FACE = 30.0
"""Area in mm² over which plates that stand a little apart look as if they were to meet: an edge of 3 mm over 10 mm.  Chosen
here; no source."""

_Pair = tuple[str, str]


class _Groups:
    """Names in groups that grow together."""

    def __init__(self, names: Iterable[str]) -> None:
        self._leader = {name: name for name in names}

    def find(self, name: str) -> str:
        """The name that stands for the group of this one."""
        while self._leader[name] != name:
            self._leader[name] = self._leader[self._leader[name]]
            name = self._leader[name]
        return name

    def join(self, a: str, b: str) -> None:
        """Make the groups of two names one."""
        self._leader[self.find(a)] = self.find(b)

    def all(self) -> list[list[str]]:
        """All groups, each in the order of names, in the order of the first of each."""
        found: dict[str, list[str]] = {}
        for name in self._leader:
            found.setdefault(self.find(name), []).append(name)
        return list(found.values())


def held_findings(slabs: Sequence[Slab], resolved: Resolved, loose: Sequence[frozenset[str]]) -> list[Finding]:
    """An error for each group of plates that touches no other, and a note on each that touches others but is joined to none.

    What is loose may lie on others or beside them, but may not hover.  Plates that nearly meet are told too: those of
    different groups, and those of one group that have no joint of their own.  `loose` are the plates and the sub-assemblies,
    by the names of their plates, that may stand apart.
    """
    joined = _Groups(body.name for body in resolved.bodies)
    for made in resolved.made:
        joined.join(*made.contact.names)
    for part in resolved.parts:
        for name in part.plates[1:]:
            joined.join(name, part.plates[0])
    groups = joined.all()
    pairs = all_pairs(slabs, within=NEAR)
    touches = [
        (a.name, b.name)
        for a, b in pairs
        if joined.find(a.name) != joined.find(b.name) and common_volume(a, b, grow=CONTACT_TOLERANCE)[0] > 0
    ]
    touches += strip_touches(resolved.strips, slabs, lambda a, b: joined.find(a) == joined.find(b))
    together = _Groups(body.name for body in resolved.bodies)
    for group in groups:
        for name in group[1:]:
            together.join(name, group[0])
    for a, b in touches:
        together.join(a, b)
    failed = frozenset(name for error in resolved.failures for name in error.plates)
    placed = placed_pieces(slabs, resolved)
    no_joint = _no_joint(resolved)
    floating = _floating(together.all(), loose, failed, placed)
    unheld = _unheld(groups, touches, loose, failed, no_joint)
    afloat = {name for finding in floating for name in finding.plates}
    apart = {name for finding in (*floating, *unheld) for name in finding.plates}
    direct = _directly_held(slabs, resolved)
    gaps: list[Finding] = []
    short: list[Finding] = []
    for one, other in sorted(((a, b) if a.name < b.name else (b, a) for a, b in pairs), key=lambda pair: _names(*pair)):
        pair = (one.name, other.name)
        if joined.find(pair[0]) == joined.find(pair[1]):
            if frozenset(pair) not in direct and _may_be_short(one, other, loose):
                found = _gap(one, other)
                # plates that pass each other by a corner have next to no face in common
                if found is not None and found[1] >= LEAST_FACE:
                    short.append(_short_finding(*pair, found))
        elif not apart.isdisjoint(pair) and not _is_pair(*pair, touches):
            found = _gap(one, other)
            if found is not None:
                gaps.append(_near_finding(*pair, found, is_held_at_all=afloat.isdisjoint(pair)))
    return [*floating, *unheld, *gaps, *short, *_hovering(together.all(), loose, failed, placed)]


def _names(a: Slab, b: Slab) -> _Pair:
    return (a.name, b.name)


def _directly_held(slabs: Sequence[Slab], resolved: Resolved) -> set[frozenset[str]]:
    """Pairs of plates with a joint of their own, made or failed, and those between which a sheet bends."""
    flat = {slab.name for slab in slabs}
    found = {frozenset(made.contact.names) for made in resolved.made}
    found |= {frozenset(error.plates[:2]) for error in resolved.failures}
    for part in resolved.parts:
        found |= {frozenset(pair) for pair in itertools.pairwise(name for name in part.plates if name in flat)}
    return found


def _may_be_short(one: Slab, other: Slab, loose: Sequence[frozenset[str]]) -> bool:
    """Whether two plates that others hold look as if an edge of one were to meet a face of the other, and don't touch.

    `join_touching` passes such a pair over, as it touches nothing; nothing else would tell it.  Plates that stand side by side,
    broad face to broad face, are meant to be apart, and so is what is loose from the rest, such as a lid let in with play.
    """
    if abs(dot(one.frame.z, other.frame.z)) > 1 - COSINE_ROUNDING:
        return False
    if any((one.name in group) != (other.name in group) for group in loose):
        return False
    return common_volume(one, other, grow=CONTACT_TOLERANCE)[0] <= 0


def _short_finding(a: str, b: str, found: tuple[float, float, Vector | None]) -> Finding:
    gap, area, place = found
    return Finding(
        "note",
        "GAP",
        (a, b),
        f"{a!r} and {b!r} stand {gap:.2f} mm apart over about {area:.0f} mm² and have no joint; where they are to meet, move "
        "or lengthen one until they touch, and they are joined like others",
        place,
        {"gap_mm": gap, "area_mm2": area, "limit_mm": CONTACT_TOLERANCE},
    )


def _is_pair(a: str, b: str, touches: Sequence[tuple[str, str]]) -> bool:
    return (a, b) in touches or (b, a) in touches


def _gap(a: Slab, b: Slab) -> tuple[float, float, Vector | None] | None:
    """How far apart in mm two plates that nearly touch are, over what area in mm², and where; None if they don't."""
    # of two that are square to each other only the one whose broad face looks at the other grows towards it, of others both do
    ways = 1 if abs(dot(a.frame.z, b.frame.z)) < ANGLE_TOLERANCE else 2
    volume, place = common_volume(a, b, grow=NEAR / ways)
    if volume <= 0:
        return None
    low, high = 0.0, NEAR
    while high - low > CONTACT_TOLERANCE:
        middle = (low + high) / 2
        if common_volume(a, b, grow=middle / ways)[0] > 0:
            high = middle
        else:
            low = middle
    return high, volume / max(NEAR - high, CONTACT_TOLERANCE), place


def _near_finding(a: str, b: str, found: tuple[float, float, Vector | None], *, is_held_at_all: bool) -> Finding:
    gap, area, place = found
    mend = "move one so that they touch, or join them"
    return Finding(
        "warning",
        "GAP",
        (a, b),
        f"{a!r} and {b!r} stand {gap:.2f} mm apart over about {area:.0f} mm², and no joint holds them"
        + (" to each other" if is_held_at_all else "")
        + f"; glue holds where faces touch: {mend}",
        place,
        {"gap_mm": gap, "area_mm2": area, "limit_mm": CONTACT_TOLERANCE},
    )


def _floating(
    groups: list[list[str]], loose: Sequence[frozenset[str]], failed: frozenset[str], placed: Sequence[Placed]
) -> list[Finding]:
    """Groups that nothing holds, but for those with a joint that failed: they have their error already.

    The group with the most material counts as the product, as a drawer of six small plates may float over a base of two.
    """
    bound = [group for group in groups if not _is_loose(group, groups, loose)]
    main = max(bound, key=lambda group: (area_of(group, placed), len(group)), default=[])
    findings: list[Finding] = []
    for group in bound:
        if group is main or failed.intersection(group) or not area_of(group, placed):
            continue
        one = len(group) == 1
        gap, near = nearest(group, placed)
        home = next(other for other in groups if near.name in other)
        whole = f" of {listed(home)}" if len(home) > 1 else ""
        as_thick = ", as much as that is thick" if abs(gap - near.t) <= 2 * CONTACT_TOLERANCE else ""
        verbs = "touches nothing and is" if one else "touch nothing else and are"
        it = "it" if one else "them"
        findings.append(
            Finding(
                "error",
                "FLOATS",
                tuple(group),
                f"{listed(group)} {verbs} joined to nothing{'' if one else ' else'}: {'it stands' if one else 'they stand'} "
                f"{gap:.2f} mm off {near.name!r}{whole}{as_thick}; move {it}, join {it}, or add {it} with loose=True",
                numbers={"gap_mm": gap},
            )
        )
    return findings


def _hovering(
    groups: list[list[str]], loose: Sequence[frozenset[str]], failed: frozenset[str], placed: Sequence[Placed]
) -> list[Finding]:
    """Loose groups that neither touch anything nor stand beside it, as low as the lowest of the product: a note within play."""
    if len(groups) == 1:
        return []
    bench = min((float(item.low[2]) for item in placed), default=0.0) + BENCH
    findings: list[Finding] = []
    for group in groups:
        # a bend that could not be made has no piece, and its error already
        lowest = min((float(item.low[2]) for item in placed if item.name in group), default=-math.inf)
        if lowest <= bench or failed.intersection(group) or not _is_loose(group, groups, loose):
            continue
        gap, near = nearest(group, placed)
        is_play, (which, lies, it) = gap <= NEAR, ("is", "lies", "it") if len(group) == 1 else ("are", "lie", "them")
        help_ = "nothing to mend if that is its play" if is_play else f"set {it} on what carries {it}, or beside the product"
        findings.append(
            Finding(
                "note" if is_play else "warning",
                "FLOATS",
                tuple(group),
                f"{listed(group)}, which {which} loose, {lies} on nothing: {gap:.2f} mm off {near.name!r}, the "
                f"nearest plate; {help_}",
                numbers={"gap_mm": gap, "limit_mm": NEAR},
            )
        )
    return findings


def _unheld(
    groups: list[list[str]],
    touches: Sequence[tuple[str, str]],
    loose: Sequence[frozenset[str]],
    failed: frozenset[str],
    no_joint: str,
) -> list[Finding]:
    """Groups that no joint holds to the largest one; those whose joint failed have their error already.

    Where no joint is asked for in the whole product, as `no_joint` then says, they are one warning: that is a line forgotten
    rather than a plate.
    """
    bound = [group for group in groups if not _is_loose(group, groups, loose)]
    main = max(bound, key=len, default=[])
    findings: list[Finding] = []
    lying: list[tuple[list[str], str, str]] = []
    for group in bound:
        pair = next(((a, b) if a in group else (b, a) for a, b in touches if (a in group) != (b in group)), None)
        if group is main or pair is None or failed.intersection(group):
            continue
        lying.append((group, *pair))
    if lying and no_joint:
        names = tuple(name for group, _, _ in lying for name in group)
        _, name, other = lying[0]
        more = f", and so with {len(lying) - 1} more" if len(lying) > 1 else ""
        text = (
            f"{no_joint}: {name!r} touches {other!r} but no joint holds it{more}; join_touching(assembly, "
            "tabs()) joins all that touch, and what only lies there is added with loose=True"
        )
        return [Finding("warning", "UNHELD", names, text)]
    for group, name, other in lying:
        whole = "it" if len(group) == 1 else f"{', '.join(map(repr, group))} to the rest"
        findings.append(
            Finding(
                "note",
                "UNHELD",
                tuple(group),
                f"{name!r} touches {other!r} but no joint holds {whole}; join them, or add what only lies there with "
                "loose=True",
            )
        )
    return findings


def _no_joint(resolved: Resolved) -> str:
    """That a product has no joint between two panels, in words; empty if it has one, or one that failed."""
    if resolved.failures or any(made.layout.strip is None for made in resolved.made):
        return ""
    return "but for what bends no faces are joined at all" if resolved.made else "no faces are joined at all"


def _is_loose(group: list[str], groups: Sequence[list[str]], loose: Sequence[frozenset[str]]) -> bool:
    """Whether a group may stand apart: it is made of loose things, and of each that fell apart it is the largest part."""

    def is_free(name: str) -> bool:
        for whole in loose:
            parts = [other for other in groups if whole.issuperset(other)]
            if name in whole and (group not in parts or max(parts, key=len) is group):
                return True
        return False

    return all(is_free(name) for name in group)
