"""What holds the product together: plates that float, and plates that only lie against others."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.plates.geometry.frame import Vector, dot
from panelwright.plates.tolerances import CONTACT_TOLERANCE

from .bent_proof import strip_touches
from .interference import Slab, all_pairs, common_volume

__all__ = ["held_findings"]

NEAR = 1.0
"""Faces up to this far apart look as if they were to be glued, mm: glues fill a tenth or two (common practice, no source)."""


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

    `loose` are the plates and the sub-assemblies, by the names of their plates, that may stand apart.
    """
    joined = _Groups(body.name for body in resolved.bodies)
    for made in resolved.made:
        joined.join(*made.contact.names)
    for part in resolved.parts:
        for name in part.plates[1:]:
            joined.join(name, part.plates[0])
    groups = joined.all()
    if len(groups) < 2:
        return []
    touches = [
        (a.name, b.name)
        for a, b in all_pairs(slabs)
        if joined.find(a.name) != joined.find(b.name) and common_volume(a, b, grow=CONTACT_TOLERANCE)[0] > 0
    ]
    touches += [(a, b) for a, b in strip_touches(resolved.strips, slabs) if joined.find(a) != joined.find(b)]
    together = _Groups(body.name for body in resolved.bodies)
    for group in groups:
        for name in group[1:]:
            together.join(name, group[0])
    for a, b in touches:
        together.join(a, b)
    failed = frozenset(name for error in resolved.failures for name in error.plates)
    floating, unheld = _floating(together.all(), loose, failed), _unheld(groups, touches, loose, failed)
    afloat = {name for finding in floating for name in finding.plates}
    apart = {name for finding in (*floating, *unheld) for name in finding.plates}
    gaps: list[Finding] = []
    for one, other in itertools.combinations(sorted(slabs, key=lambda slab: slab.name), 2):
        pair = (one.name, other.name)
        if joined.find(pair[0]) == joined.find(pair[1]) or apart.isdisjoint(pair) or _is_pair(*pair, touches):
            continue
        found = _gap(one, other)
        if found is not None:
            gaps.append(_near_finding(*pair, found, is_held_at_all=afloat.isdisjoint(pair)))
    return [*floating, *unheld, *gaps]


def _is_pair(a: str, b: str, touches: Sequence[tuple[str, str]]) -> bool:
    return (a, b) in touches or (b, a) in touches


def _gap(a: Slab, b: Slab) -> tuple[float, float, Vector | None] | None:
    """How far apart in mm two plates that nearly touch are, over what area in mm², and where; None if they don't."""
    # of two that lie flat on each other both grow towards the other, of others only the one whose broad face looks at it
    ways = 2 if abs(dot(a.frame.z, b.frame.z)) > 1 - 1e-9 else 1
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


def _floating(groups: list[list[str]], loose: Sequence[frozenset[str]], failed: frozenset[str]) -> list[Finding]:
    """Groups that nothing holds, but for those with a joint that failed: they have their error already."""
    bound = [group for group in groups if not _is_loose(group, groups, loose)]
    main = max(bound, key=len, default=[])
    findings = []
    for group in bound:
        if group is main or failed.intersection(group):
            continue
        listed = ", ".join(repr(name) for name in group)
        findings.append(
            Finding(
                "error",
                "FLOATS",
                tuple(group),
                f"{listed} touches nothing and is joined to nothing; move it, join it, or add it with loose=True",
            )
        )
    return findings


def _unheld(
    groups: list[list[str]], touches: Sequence[tuple[str, str]], loose: Sequence[frozenset[str]], failed: frozenset[str]
) -> list[Finding]:
    """Groups that no joint holds to the largest one; those whose joint failed have their error already."""
    bound = [group for group in groups if not _is_loose(group, groups, loose)]
    main = max(bound, key=len, default=[])
    findings = []
    for group in bound:
        pair = next(((a, b) if a in group else (b, a) for a, b in touches if (a in group) != (b in group)), None)
        if group is main or pair is None or failed.intersection(group):
            continue
        name, other = pair
        whole = "it" if len(group) == 1 else f"{', '.join(map(repr, group))} to the rest"
        findings.append(
            Finding(
                "info",
                "UNHELD",
                tuple(group),
                f"{name!r} touches {other!r} but no joint holds {whole}; join them, or add what only lies there with "
                "loose=True",
            )
        )
    return findings


def _is_loose(group: list[str], groups: Sequence[list[str]], loose: Sequence[frozenset[str]]) -> bool:
    """Whether a group may stand apart: it is made of loose things, and of each that fell apart it is the largest part."""

    def is_free(name: str) -> bool:
        for whole in loose:
            parts = [other for other in groups if whole.issuperset(other)]
            if name in whole and (group not in parts or max(parts, key=len) is group):
                return True
        return False

    return all(is_free(name) for name in group)
