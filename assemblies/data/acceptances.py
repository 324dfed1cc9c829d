"""Findings that a design accepts, each with its reason: they become notes, and an acceptance that meets nothing is told."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from .findings import Finding
from .verdict import LEVELS

__all__ = ["ASKED_FOR", "Acceptance", "after_acceptance", "unmet"]

ASKED_FOR: Final = frozenset({"MAY-JAM", "MAY-RATTLE"})
"""Codes that a proof tells only when it is asked to: one that is not there says nothing of the design."""


@dataclass(frozen=True, slots=True)
class Acceptance:
    """What a design says it knows of: a finding's code, its plates (none: whatever they are), and why it may stand.

    One plate is enough for a finding about two; of one about more, such as joints that rattle alike, all must be
    named, by one acceptance or by several: what is said of one drawer says nothing of the others.  `line` is the design's line
    that says so, "" if unknown.
    """

    code: str
    plates: tuple[str, ...]
    because: str
    line: str = ""

    def inside(self, name: str) -> Acceptance:
        """The same as seen from an assembly in which this one stands under a name."""
        return replace(self, plates=tuple(f"{name}.{plate}" for plate in self.plates))


def after_acceptance(findings: Iterable[Finding], acceptances: Sequence[Acceptance]) -> tuple[Finding, ...]:
    """Findings, the gravest first, in which those that a design accepts are notes that tell its reason.  Errors stay errors.

    >>> web = Finding("warning", "WEB", ("rail",), "plate 'rail' has a web of 2 mm")
    >>> found, = after_acceptance([web], [Acceptance("WEB", ("rail",), "it is glued onto the wall")])
    >>> found.level, found.text
    ('note', "plate 'rail' has a web of 2 mm (accepted: it is glued onto the wall)")
    """
    found = [_accepted(finding, acceptances) for finding in findings]
    return tuple(sorted(found, key=lambda finding: LEVELS.index(finding.level)))


def _accepted(finding: Finding, acceptances: Sequence[Acceptance]) -> Finding:
    if finding.level == "error" or finding.accepted:
        return finding
    reasons = [one.because for one in _taken(finding, acceptances)]
    return replace(finding, level="note", accepted="; ".join(dict.fromkeys(reasons))) if reasons else finding


def _taken(finding: Finding, acceptances: Iterable[Acceptance]) -> list[Acceptance]:
    """The acceptances that take a finding, each by itself or all together; none if some of its plates are left."""
    about = set(finding.plates)
    of_code = [one for one in acceptances if one.code == finding.code]
    alone = [one for one in of_code if not one.plates or (len(about) <= 2 and about.issuperset(one.plates))]
    together = [one for one in of_code if not about.isdisjoint(one.plates)]
    return alone or (together if about.issubset({plate for one in together for plate in one.plates}) else [])


def unmet(acceptances: Sequence[Acceptance], findings: Sequence[Finding]) -> list[Finding]:
    """A note for each acceptance that takes no finding, or none but an error, which nothing makes acceptable."""
    takes = [(finding, _taken(finding, acceptances)) for finding in findings]
    found: list[Finding] = []
    for one in acceptances:
        taken = [finding for finding, by in takes if one in by]
        if one.code in ASKED_FOR or any(finding.level != "error" for finding in taken):
            continue
        of = f" of {' and '.join(map(repr, one.plates))}" if one.plates else ""
        where = f" ({one.line})" if one.line else ""
        found.append(
            Finding("note", "ACCEPT", one.plates, f"the design accepts {one.code}{of}{where}, but {_why(one, taken, findings)}")
        )
    return found


def _why(one: Acceptance, taken: Sequence[Finding], findings: Iterable[Finding]) -> str:
    """Why an acceptance does nothing."""
    if taken:
        return "it is an error here, and stays one; mend it"
    wider = [finding for finding in findings if finding.code == one.code and not set(finding.plates).isdisjoint(one.plates)]
    if wider:
        return f"that finding is about {', '.join(map(repr, wider[0].plates))}; name all of them, or none"
    return "nothing of that kind is found there; take the line out, or name the plates of the finding"
