"""What findings come to, in words: one line for each thing found, and one for all of them together."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final

from .findings import Finding, Level

__all__ = ["FOLDED", "LEVELS", "NOT_PROVEN", "at_least", "counted", "folded", "tally", "verdict"]

LEVELS: Final[tuple[Level, ...]] = ("error", "warning", "note")
"""The gravest first."""

NOT_PROVEN: Final = "that it is strong enough, and that what bends or sticks goes in as planned"
"""What nothing of the proof looks at, whatever it finds."""

UNMEASURED: Final = frozenset({"UNCALIBRATED", "MEASURE-FIRST"})
"""Findings that say that thickness or kerf are no measured ones: all fits rest on them, so the verdict says it too."""

FOLDED: Final = 3
"""So many findings that say the same of other places are told in one line: two can still be read side by side."""

LISTED: Final = 6
"""How many pairs of plates such a line names."""

_VARIES = re.compile(r"'[^']*'|-?\d+(?:\.\d+)?(?:e-?\d+)?")


def counted(count: int, word: str) -> str:
    """A count with its word.

    >>> counted(1, "plate"), counted(0, "error"), counted(2, "copy")
    ('1 plate', '0 errors', '2 copies')
    """
    if count == 1:
        return f"1 {word}"
    return f"{count} {word[:-1]}ies" if word[-1] == "y" and word[-2] not in "aeo" else f"{count} {word}s"


def at_least(findings: Iterable[Finding], level: Level) -> list[Finding]:
    """The findings of a level and of those that are graver.

    >>> [f.code for f in at_least([Finding("note", "UNHELD", (), ""), Finding("error", "JOINT", (), "")], "warning")]
    ['JOINT']
    """
    return [finding for finding in findings if LEVELS.index(finding.level) <= LEVELS.index(level)]


def tally(findings: Iterable[Finding]) -> str:
    """How many findings there are of each level that occurs; empty if there is none.

    >>> tally([Finding("note", "UNHELD", (), ""), Finding("error", "JOINT", (), ""), Finding("note", "LEFT-OUT", (), "")])
    '1 error, 2 notes'
    """
    counts = Counter(finding.level for finding in findings)
    return ", ".join(counted(counts[level], level) for level in LEVELS if counts[level])


def verdict(findings: Sequence[Finding]) -> str:
    """What the proof came to, in one line, and what it never looks at.

    >>> verdict([]).partition(";")[0], verdict([Finding("note", "UNHELD", (), "")]).partition(";")[0]
    ('the proof found nothing wrong', 'the proof found no error: 1 note')
    >>> verdict([Finding("note", "UNCALIBRATED", (), "")]).split(";")[1].strip()
    'it rests on sheet that nobody measured here'
    """
    found = tally(findings)
    if any(finding.level == "error" for finding in findings):
        said = f"the proof found {found}"
    else:
        said = f"the proof found no error: {found}" if found else "the proof found nothing wrong"
    unmeasured = "; it rests on sheet that nobody measured here" if any(f.code in UNMEASURED for f in findings) else ""
    return f"{said}{unmeasured}; not proven: {NOT_PROVEN}"


def folded(findings: Iterable[Finding]) -> list[str]:
    """Findings in words, the gravest first, a line each; those that say the same of many places in one line with their number.

    >>> same = [Finding("warning", "WEB", (name,), f"plate {name!r} has a web of {n} mm") for n, name in enumerate("abc", 2)]
    >>> folded(same)
    ["warning WEB: plate 'a' has a web of 2 mm; the same at 2 more places: 'b', 'c'"]
    >>> len(folded(same[:2]))
    2
    """
    groups: dict[tuple[str, str, str], list[Finding]] = {}
    for finding in sorted(findings, key=lambda found: LEVELS.index(found.level)):
        groups.setdefault((finding.level, finding.code, _VARIES.sub("#", finding.message)), []).append(finding)
    lines: list[str] = []
    for group in groups.values():
        if len(group) < FOLDED:
            lines += [str(finding) for finding in group]
        else:
            lines.append(f"{group[0]}; the same at {len(group) - 1} more places: {_where(group[1:])}")
    return lines


def _where(findings: Sequence[Finding]) -> str:
    """The plates of findings, each set of them once with the number of its places."""
    counts = Counter(finding.plates for finding in findings)
    said = [
        " and ".join(map(repr, plates)) + (f" ({count})" if count > 1 else "") for plates, count in counts.items() if plates
    ]
    more = [f"{len(said) - LISTED} more"] if len(said) > LISTED else []
    return ", ".join([*said[:LISTED], *more]) or "of no one plate"
