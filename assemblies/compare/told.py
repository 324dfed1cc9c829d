"""What changed in words and tables, for the terminal, the page and a pull request alike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from panelwright.assemblies.data.verdict import counted
from panelwright.assemblies.report.html_text import number
from panelwright.plates.tolerances import FIT_TOLERANCE

from .cutting_again import PanelWork
from .differences import Comparison, PanelChange, PlateChange
from .joint_changes import JointChange
from .opening_changes import OpeningChange

__all__ = ["Rows", "markdown_of", "opening_words", "plate_rows", "told", "verdict_of", "why_words", "work_rows"]

NAMED = 4
"""So many plates of a kind are named in a line; the rest are counted."""

SHOWN = 6
"""So many changed openings of a panel are told one by one."""


@dataclass(frozen=True, slots=True)
class Rows:
    """A table: its head, its rows, and the columns whose cells are numbers."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()


def verdict_of(found: Comparison) -> str:
    """One sentence: whether something must be cut, and what can be kept."""
    keep, trim = (sum(getattr(work, what) for work in found.work) for what in ("keep", "trim"))
    if found.is_same:
        return "the same product: nothing to cut"
    if not found.must_cut and not trim:
        return f"nothing to cut: {counted(keep, 'piece')} can be kept"
    parts = [f"cut {counted(found.must_cut, 'piece')}"] * bool(found.must_cut)
    parts += [f"trim {counted(trim, 'piece')}"] * bool(trim)
    parts += [f"keep {counted(keep, 'piece')}"] * bool(keep)
    return ", ".join(parts)


def told(found: Comparison) -> tuple[str | Rows, ...]:
    """All of it, most important first, the verdict last."""
    counts = found.counts
    parts: list[str | Rows] = [f"{found.after.name}: {found.before.label} → {found.after.label}", ""]
    listed = ", ".join(f"{count} {what}" for what, count in counts.items() if count or what == "same")
    parts.append(f"plates: {listed}")
    parts += _whole(found)
    for rows in (plate_rows(found), work_rows(found), joint_rows(found), hardware_rows(found), number_rows(found)):
        if rows.rows:
            parts += ["", rows]
    parts += _findings(found)
    if found.left:
        pieces = sum(count for _, count in found.left)
        parts += ["", f"left over: {counted(pieces, 'old piece')} ({_names(f'{n} × {name}' for name, n in found.left)})"]
    return (*parts, "", verdict_of(found))


def _whole(found: Comparison) -> list[str]:
    whole = found.whole
    if whole.kind == "none":
        return []
    x, y, z = (number(v) for v in whole.shift)
    if whole.kind == "moved":
        how = f"moved by ({x}, {y}, {z}) mm"
    elif whole.kind == "turned":
        how = f"turned by {number(whole.turn_deg)}°"
    else:
        how = "mirrored"
    return [f"the product as a whole was {how}, which counts for nothing"]


def plate_rows(found: Comparison) -> Rows:
    """Plates that are not the same, alike ones in one row."""
    areas = {(change.overlay.before.name, change.overlay.after.name): change for change in found.panels}
    groups: dict[tuple[str, str], list[str]] = {}
    for plate in found.plates:
        if plate.what == "same" and not plate.is_renamed:
            continue
        how = _how(plate, areas.get((plate.panels[0] or "", plate.panels[1] or "")))
        what = "renamed" if plate.what == "same" else plate.what
        name = plate.after or plate.before or ""
        groups.setdefault((what, how), []).append(f"{plate.before} → {name}" if plate.is_renamed else name)
    order = ("changed", "new", "gone", "moved", "renamed")
    rows = sorted(((what, _names(names), how) for (what, how), names in groups.items()), key=lambda row: order.index(row[0]))
    return Rows("Plates", ("", "plates", "how"), tuple(rows))


def _how(plate: PlateChange, change: PanelChange | None) -> str:
    words = []
    if plate.why:
        words.append(why_words(plate.why, change))
    if change is not None and "shape" in plate.why:
        words += _shape_words(change)
    if plate.moved_mm:
        words.append(f"by {number(plate.moved_mm)} mm")
    if plate.turned_deg:
        words.append(f"turned by {number(plate.turned_deg)}°")
    elif plate.what == "moved" and not plate.moved_mm:
        words.append("turned in its place")
    return ", ".join(words)


def why_words(why: Sequence[str], change: PanelChange | None = None) -> str:
    """What changed of a panel.

    >>> why_words(("stock", "kerf"))
    'another stock and kerf'
    >>> why_words(("kerf",))
    'kerf only'
    """
    if "shape" in why and change is not None:
        old, new = change.overlay.before.size_mm, change.overlay.after.size_mm
        same = all(abs(a - b) < FIT_TOLERANCE for a, b in zip(old, new, strict=True))
        size = " × ".join(map(number, new))
        words = [size if same else f"{' × '.join(map(number, old))} → {size}"]
    else:
        words = ["other shape"] * ("shape" in why)
    words += ["other marks"] * ("marks" in why) + ["mirrored, and one face only is good"] * ("mirrored" in why)
    rest = [word for word in ("stock", "kerf") if word in why]
    if rest == ["kerf"] and len(why) == 1:
        return "kerf only"
    return ", ".join([*words, *([f"another {' and '.join(rest)}"] if rest else [])])


def _shape_words(change: PanelChange) -> list[str]:
    words = [f"+{number(change.added_mm2)} −{number(change.removed_mm2)} mm²"]
    counts: dict[str, int] = {}
    for opening in change.openings:
        counts[opening.what] = counts.get(opening.what, 0) + 1
    words += [f"{counted(count, 'opening')} {what}" for what, count in counts.items()]
    return words


def opening_words(opening: OpeningChange) -> str:
    """One opening that changed, with its size and place.

    >>> opening_words(OpeningChange("new", None, "⌀ 9", None, (20.0, 35.5)))
    'new: ⌀ 9 at (20, 35.5)'
    """
    place = opening.place_mm or opening.place_before_mm or (0.0, 0.0)
    at = f"({number(place[0])}, {number(place[1])})"
    if opening.what == "moved" and opening.place_before_mm is not None:
        x, y = opening.place_before_mm
        return f"moved: {opening.after} from ({number(x)}, {number(y)}) to {at}"
    if opening.what == "resized":
        return f"resized: {opening.before} → {opening.after} at {at}"
    return f"{opening.what}: {opening.after or opening.before} at {at}"


def work_rows(found: Comparison) -> Rows:
    """What has to be done for each panel, those that are kept whole last."""
    rows = [
        (work.panel, str(work.cut), str(work.trim), str(work.keep), _note(work))
        for work in sorted(found.work, key=lambda work: (not work.cut, not work.trim))
    ]
    return Rows("Panels", ("panel", "cut", "trim", "keep", "note"), tuple(rows), right=(1, 2, 3))


def _note(work: PanelWork) -> str:
    words = [f"from {trim.panel}, {number(trim.removed_mm2)} mm² off each" for trim in work.trims]
    others = [name for name in work.kept_of if name != work.panel]
    words += [f"as {_names(others)}"] * bool(others)
    if work.old_kerf_mm is not None:
        words.append(f"drawn for a kerf of {number(work.old_kerf_mm, 3)}")
    return ", ".join(words)


def joint_rows(found: Comparison) -> Rows:
    """Joints that changed, alike ones in one row."""
    groups: dict[tuple[str, str, str], list[str]] = {}
    for joint in found.joints:
        groups.setdefault((joint.what, joint.kind.replace("_", " "), _joint_words(joint)), []).append(" – ".join(joint.plates))
    rows = [(what, kind, _names(plates, NAMED // 2), how) for (what, kind, how), plates in groups.items()]
    return Rows("Joints", ("", "joint", "plates", "how"), tuple(rows))


def _joint_words(joint: JointChange) -> str:
    return ", ".join(f"{name.replace('_', ' ')} {_value(old)} → {_value(new)}" for name, old, new in joint.numbers)


def _value(value: Any) -> str:
    if isinstance(value, list | tuple):
        shown = [_value(one) for one in value]
        return f"[{' '.join(shown[:SHOWN])}{' …' if len(shown) > SHOWN else ''}]"
    if isinstance(value, bool) or not isinstance(value, int | float):
        return (
            "none"
            if value is None
            else {True: "yes", False: "no"}.get(value, str(value))
            if isinstance(value, bool)
            else str(value)
        )
    return number(float(value), 3)


def hardware_rows(found: Comparison) -> Rows:
    """Bought parts whose number changed."""
    rows = [(name, str(old), str(new)) for name, old, new in found.hardware]
    return Rows("Hardware", ("hardware", "before", "after"), tuple(rows), right=(1, 2))


def number_rows(found: Comparison) -> Rows:
    """Numbers and parameters that differ, before and after."""
    old, new = found.before.numbers, found.after.numbers
    money = new.currency or old.currency
    rows = [
        ("plates", str(old.plates), str(new.plates)),
        ("distinct panels", str(old.panels), str(new.panels)),
        ("area (mm²)", number(old.area_mm2, 0), number(new.area_mm2, 0)),
        ("mass (g)", _grams(old.mass_kg), _grams(new.mass_kg)),
        ("sheets", number(old.sheets), number(new.sheets)),
        ("machine time (min)", _minutes(old.machine_s), _minutes(new.machine_s)),
        (f"cost ({money})" if money else "cost", number(old.cost), number(new.cost)),
    ]
    differing = _differing(found.before.parameters, found.after.parameters)
    rows += [(f"parameter {name}", old_value, new_value) for name, old_value, new_value in differing]
    rows += _stock_rows(found)
    return Rows("Numbers", ("", "before", "after"), tuple(row for row in rows if row[1] != row[2]), right=(1, 2))


def _grams(mass: float | None) -> str:
    return number(None if mass is None else 1000 * mass, 1)


def _minutes(seconds: float | None) -> str:
    return number(None if seconds is None else seconds / 60, 1)


def _differing(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    missing = object()
    found = []
    for name in dict.fromkeys([*before, *after]):
        old, new = before.get(name, missing), after.get(name, missing)
        if old != new:
            found.append((name, "–" if old is missing else _value(old), "–" if new is missing else _value(new)))
    return found


STOCK_KEYS = ("thickness_mm", "kerf_mm", "clearance_mm", "material", "cutter")


def _stock_rows(found: Comparison) -> list[tuple[str, str, str]]:
    """Numbers of stocks of one name that differ."""
    ours, theirs = ({stock["stock"]: stock for stock in version.stocks} for version in (found.before, found.after))
    rows = []
    for name in (name for name in ours if name in theirs):
        for key in STOCK_KEYS:
            if ours[name][key] != theirs[name][key]:
                word = key.replace("_mm", " (mm)").replace("_", " ")
                rows.append((f"{name}: {word}", _value(ours[name][key]), _value(theirs[name][key])))
    return rows


def _findings(found: Comparison) -> list[str | Rows]:
    lines: list[str | Rows] = []
    for word, some in (("new", found.findings_new), ("gone", found.findings_gone)):
        lines += [f"{word} {one['level']} {one['code']}: {one['message']}" for one in some]
    return ["", *lines] if lines else []


def _names(names: Iterable[str], most: int = NAMED) -> str:
    listed = list(names)
    more = len(listed) - most
    return ", ".join(listed) if more <= 1 else f"{', '.join(listed[:most])} and {more} more"


def markdown_of(found: Comparison) -> str:
    """A summary for a pull request: the verdict as its heading, then the tables."""
    lines = [f"### {_plain(found.after.name)}: {verdict_of(found)}", ""]
    for part in told(found)[2:-2]:
        if isinstance(part, Rows):
            lines += _table(part)
        elif part:
            lines += [_plain(part), ""]
    return "\n".join(lines).rstrip("\n") + "\n"


def _table(rows: Rows) -> list[str]:
    rule = "|".join("---:" if column in rows.right else "---" for column in range(len(rows.head)))
    body = [f"| {' | '.join(map(_plain, row))} |" for row in rows.rows]
    return [f"| {' | '.join(rows.head)} |", f"|{rule}|", *body, ""]


def _plain(text: str) -> str:
    """Text in which nothing is taken for Markdown or HTML.

    >>> _plain("a|b <c> *d*")
    'a\\\\|b &lt;c&gt; \\\\*d\\\\*'
    """
    for char in "\\`*_[]|#~":
        text = text.replace(char, f"\\{char}")
    return " ".join(text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").split())
