"""What `join_touching` left out, as notes: what is loose, what the design skips, and corners that its joint can't make."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.design.joins import Omission

__all__ = ["left_out_findings"]

LISTED = 6
"""How many pairs of plates a note names one by one."""


def left_out_findings(omitted: Sequence[Omission]) -> list[Finding]:
    """One note for each loose group, one on what is skipped, and one on corners, for each assembly that was joined."""
    groups: dict[tuple[str, str, tuple[str, ...]], list[Omission]] = {}
    for item in omitted:
        groups.setdefault((item.prefix, item.left.reason, tuple(sorted(item.left.group))), []).append(item)
    return [_finding(items) for items in groups.values()]


def _finding(items: Sequence[Omission]) -> Finding:
    first = items[0]
    pairs = _distinct((f"{item.prefix}{a}", f"{item.prefix}{b}") for item in items for a, b in [item.left.pair.names])
    names = tuple(dict.fromkeys(name for pair in pairs for name in pair))
    where = f" ({first.line})" if first.line else ""
    if first.left.reason == "loose":
        loose = [name for name in names if name.removeprefix(first.prefix) in first.left.group]
        others = [name for name in names if name not in loose]
        verb = "is" if len(loose) == 1 else "are"
        text = (
            f"join_touching{where} joined nothing of {_listed(loose)}, which {verb} loose, to {_listed(others)}, which it "
            "touches; join them by join() if they belong together"
        )
    elif first.left.reason == "skip":
        text = f"join_touching{where} left out what skip= names: {_between(pairs)}"
    else:
        text = (
            f"join_touching{where} left out corners of two edges, where {first.joint.kind} can't be made: {_between(pairs)}; "
            "join them by fingers if they are to hold"
        )
    place = first.left.pair.edge.middle if first.prefix == "" and len(items) == 1 else None
    return Finding("note", "LEFT-OUT", names, text, place, {"pairs": float(len(items))})


def _distinct(pairs: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    return list(dict.fromkeys(pairs))


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - LISTED} more" if len(names) > LISTED else ""
    return ", ".join(repr(name) for name in names[:LISTED]) + more


def _between(pairs: Sequence[tuple[str, str]]) -> str:
    more = f" and {len(pairs) - LISTED} more" if len(pairs) > LISTED else ""
    return ", ".join(f"{a!r} and {b!r}" for a, b in pairs[:LISTED]) + more
