"""Which joints came, went or are made otherwise, the plates that they join told by what they are and not by their names."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from panelwright.plates.tolerances import CONTACT_TOLERANCE

__all__ = ["JointChange", "joint_changes"]

LEAST = CONTACT_TOLERANCE
"""Numbers of joints, in mm or degrees, that differ by less are the same: rounding, in a product that was turned."""


@dataclass(frozen=True, slots=True)
class JointChange:
    """One joint: its kind and its plates by their new names, by the old ones if it is gone.

    `numbers` are those that changed: name, before, after; `clearance_mm` among them.
    """

    what: Literal["new", "gone", "changed"]
    kind: str
    plates: tuple[str, str]
    numbers: tuple[tuple[str, Any, Any], ...] = ()


def joint_changes(
    before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]], names: Mapping[str, str]
) -> tuple[JointChange, ...]:
    """The joints that differ, in the order of the new version, then those that are gone; `names` are old names and new ones.

    >>> lap = {"kind": "cross_lap", "plates": ["rail", "post"], "faces": ["", ""], "clearance_mm": 0.1, "numbers": {}}
    >>> wider = {**lap, "clearance_mm": 0.2}
    >>> joint_changes([lap], [wider], {})
    (JointChange(what='changed', kind='cross_lap', plates=('rail', 'post'), numbers=(('clearance_mm', 0.1, 0.2),)),)
    >>> joint_changes([lap], [{**lap, "plates": ["rail", "leg"]}], {"post": "leg"})
    ()
    """
    waiting: dict[tuple[str, frozenset[str]], list[Mapping[str, Any]]] = defaultdict(list)
    for joint in before:
        waiting[joint["kind"], frozenset(names.get(name, name) for name in joint["plates"])].append(joint)
    changes = []
    for joint in after:
        some = waiting[joint["kind"], frozenset(joint["plates"])]
        if not some:
            changes.append(JointChange("new", joint["kind"], _two(joint)))
            continue
        # of several between two plates, the one that differs the least
        old = min(some, key=lambda one: len(_numbers(one, joint, names)))
        some.remove(old)
        numbers = _numbers(old, joint, names)
        if numbers:
            changes.append(JointChange("changed", joint["kind"], _two(joint), numbers))
    left = {id(joint) for some in waiting.values() for joint in some}
    return (*changes, *(JointChange("gone", joint["kind"], _two(joint)) for joint in before if id(joint) in left))


def _two(joint: Mapping[str, Any]) -> tuple[str, str]:
    first, second = joint["plates"]
    return first, second


def _numbers(old: Mapping[str, Any], new: Mapping[str, Any], names: Mapping[str, str]) -> tuple[tuple[str, Any, Any], ...]:
    ours, theirs = ({**joint["numbers"], "clearance_mm": joint["clearance_mm"]} for joint in (old, new))
    keys = list(dict.fromkeys([*ours, *theirs]))
    found = {key: (ours.get(key), theirs.get(key)) for key in keys if not _same(ours.get(key), theirs.get(key), names)}
    if "clearance_mm" in found:  # what was measured says the same once more
        found.pop("measured_clearance_mm", None)
    return tuple((key, *pair) for key, pair in found.items())


def _same(a: Any, b: Any, names: Mapping[str, str]) -> bool:
    if isinstance(a, bool) or isinstance(b, bool) or a is None or b is None:
        return a is b or a == b
    if isinstance(a, int | float) and isinstance(b, int | float):
        return abs(a - b) < LEAST
    if isinstance(a, list | tuple) and isinstance(b, list | tuple):
        return len(a) == len(b) and all(_same(p, q, names) for p, q in zip(a, b, strict=True))
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(_same(a[key], b[key], names) for key in a)
    return bool(a == b or (isinstance(a, str) and names.get(a) == b))
