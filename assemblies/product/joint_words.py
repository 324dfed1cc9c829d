"""Which joints a product has, in words: all of them in a table, and in short those that `join_touching` made by itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from panelwright.assemblies.data.product import JointRecord, Product
from panelwright.assemblies.data.verdict import counted

__all__ = ["found_joints", "joint_rows"]

LISTED = 6
"""How many plates are named that meet one and the same."""

MATES = 12
"""How many plates are named that others meet: one that is joined by mistake is mostly the last."""


def found_joints(product: Product) -> list[str]:
    """What each `join_touching` joined: how many joints of which kind, and which plates on which; then what is loose.

    It asks for no joint by name, so one too many is seen here or not at all.

    >>> from panelwright.joints import tabs
    >>> def found(*plates: str) -> JointRecord:
    ...     return JointRecord("tabs", plates, ("", ""), 0.1, {}, words=tabs().words, line="tray.py, line 9", is_found=True)
    >>> pairs = [("left", "base"), ("right", "base"), ("left", "lid")]
    >>> found_joints(Product("tray", (), (), tuple(found(*pair) for pair in pairs), (), ()))
    ["join_touching (tray.py, line 9) made 3 joints, 3 × tabs: 'left', 'right' on 'base'; 'left' on 'lid'"]
    """
    calls: dict[str, list[JointRecord]] = {}
    for joint in product.joints:
        if joint.is_found:
            calls.setdefault(joint.line, []).append(joint)
    lines = [_call_words(line, joints) for line, joints in calls.items()]
    if product.loose:
        lines.append(f"join_touching left alone what is loose: {_listed(product.loose)}")
    return lines


def _call_words(line: str, joints: Sequence[JointRecord]) -> str:
    where = f" ({line})" if line else ""
    kinds = ", ".join(f"{count} × {kind}" for kind, count in Counter(joint.words.name for joint in joints).items())
    mates: dict[str, list[str]] = {}
    for joint in joints:
        mates.setdefault(joint.plates[1], []).append(joint.plates[0])
    told = [f"{_listed(tuple(dict.fromkeys(names)))} on {mate!r}" for mate, names in mates.items()]
    # the first and the last: a design begins with its base, and ends with what lies on top
    short = told if len(told) <= MATES else [*told[: MATES // 2], f"{len(told) - MATES} more like it", *told[-(MATES // 2) :]]
    return f"join_touching{where} made {counted(len(joints), 'joint')}, {kinds}: {'; '.join(short)}"


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - LISTED} more" if len(names) > LISTED else ""
    return ", ".join(map(repr, names[:LISTED])) + more


def joint_rows(product: Product) -> list[tuple[str, ...]]:
    """Every joint of a product as cells of a table, its head first: kind, plates and faces, clearance, and who asked for it."""
    rows: list[tuple[str, ...]] = [("joint", "first plate", "its face", "second plate", "its face", "clearance (mm)", "by")]
    for joint in product.joints:
        (a, b), (one, other) = joint.plates, joint.faces
        by = "join_touching" if joint.is_found else "join"
        made = f"{by} ({joint.line})" if joint.line else by if joint.is_found else ""
        rows.append((joint.words.name, a, one, b, other, f"{joint.clearance_mm:g}", made))
    return rows
