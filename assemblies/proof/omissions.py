"""What `join_touching` left out: notes of what the design skips and of corners that its joint can't make; and what is loose."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.name_lists import called
from panelwright.assemblies.design.joins import Omission

__all__ = ["corner_pairs", "left_out_findings", "loose_items"]

LISTED = 6
"""How many pairs of plates a note names one by one."""


def left_out_findings(omitted: Sequence[Omission], overlapping: Container[frozenset[str]] = ()) -> list[Finding]:
    """One note on what is skipped and one on corners, for each assembly that was joined.

    What is loose makes none: to be joined to nothing is what a design says by that.  Nor do corners of plates that share
    material, the pairs `overlapping`: that is told with both its cures, of which moving a plate comes first.
    """
    groups: dict[tuple[str, str], list[Omission]] = {}
    for item in omitted:
        is_told = item.left.reason == "kind" and frozenset(_names(item)) in overlapping
        if item.left.reason != "loose" and not is_told:
            groups.setdefault((item.prefix, item.left.reason), []).append(item)
    return [_finding(items) for items in groups.values()]


def corner_pairs(omitted: Sequence[Omission]) -> dict[frozenset[str], str]:
    """The pairs of plates that meet in corners which the joint given can't close, each with the kind of that joint."""
    return {frozenset(_names(item)): item.joint.kind for item in omitted if item.left.reason == "kind"}


def loose_items(omitted: Sequence[Omission]) -> tuple[str, ...]:
    """The loose plates and sub-assemblies that touch others and that `join_touching` therefore left alone."""
    loose = (item for item in omitted if item.left.reason == "loose")
    return tuple(dict.fromkeys(f"{item.prefix}{called(item.left.group)}" for item in loose))


def _finding(items: Sequence[Omission]) -> Finding:
    first = items[0]
    pairs = _distinct(map(_names, items))
    names = tuple(dict.fromkeys(name for pair in pairs for name in pair))
    where = f" ({first.line})" if first.line else ""
    if first.left.reason == "skip":
        text = f"join_touching{where} left out what skip= names: {_between(pairs)}"
    else:
        text = (
            f"join_touching{where} left out corners of two edges, where {first.joint.kind} can't be made: {_between(pairs)}; "
            "join them by fingers if they are to hold"
        )
    place = first.left.pair.edge.middle if first.prefix == "" and len(items) == 1 else None
    return Finding("note", "LEFT-OUT", names, text, place, {"pairs": float(len(items))})


def _names(item: Omission) -> tuple[str, str]:
    a, b = item.left.pair.names
    return f"{item.prefix}{a}", f"{item.prefix}{b}"


def _distinct(pairs: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    return list(dict.fromkeys(pairs))


def _between(pairs: Sequence[tuple[str, str]]) -> str:
    more = f" and {len(pairs) - LISTED} more" if len(pairs) > LISTED else ""
    return ", ".join(f"{a!r} and {b!r}" for a, b in pairs[:LISTED]) + more
