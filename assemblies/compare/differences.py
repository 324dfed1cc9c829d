"""All that changed between two versions of a product, as plain data: `compare` finds it."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from panelwright.plates.geometry.motion import Motion
from panelwright.plates.tolerances import COSINE_ROUNDING, LEAST_LINE, ROUNDING

from .cutting_again import PanelWork, panel_work
from .joint_changes import JointChange, joint_changes
from .opening_changes import OpeningChange, opening_changes
from .overlay_match import Overlay, laid_over
from .pairing import Pair, pairs_of
from .same_shape import Likeness
from .version import Shape, Version
from .whole_motion import WholeMotion, matrix_of, planar_motion, whole_motion

__all__ = ["Comparison", "PanelChange", "PlateChange", "Reason", "compare"]

What = Literal["same", "moved", "changed", "new", "gone"]
Reason = Literal["shape", "mirrored", "marks", "kerf", "stock"]

WHATS: tuple[What, ...] = ("same", "moved", "changed", "new", "gone")
"""What can have become of a plate, in the order in which it is counted."""


@dataclass(frozen=True, slots=True)
class PlateChange:
    """One plate before and after, by its names; None where it is not there.

    `what` is "same", "moved" (the same panel stands elsewhere), "changed", "new" or "gone"; `why` says what changed of it.
    `moved_mm` and `turned_deg` say how far its middle went and how far it turned against the product as a whole.
    """

    before: str | None
    after: str | None
    what: What
    why: tuple[Reason, ...] = ()
    panels: tuple[str | None, str | None] = (None, None)
    moved_mm: float = 0.0
    turned_deg: float = 0.0

    @property
    def is_renamed(self) -> bool:
        """Whether it is there before and after under two names."""
        return None not in (self.before, self.after) and self.before != self.after


@dataclass(frozen=True)
class PanelChange:
    """An old panel and the new one that plates have instead, laid on each other; `plates` are those, by their new names."""

    overlay: Overlay
    why: tuple[Reason, ...]
    plates: tuple[str, ...]
    openings: tuple[OpeningChange, ...]

    @property
    def added_mm2(self) -> float:
        """Area of material that is there now and was not."""
        return float(self.overlay.added.area)

    @property
    def removed_mm2(self) -> float:
        """Area of material that was there and is not now."""
        return float(self.overlay.removed.area)


@dataclass(frozen=True)
class Comparison:
    """All that changed.  `left` are old pieces that serve nothing any more: panel and number."""

    before: Version
    after: Version
    whole: WholeMotion
    plates: tuple[PlateChange, ...]
    panels: tuple[PanelChange, ...]
    work: tuple[PanelWork, ...]
    left: tuple[tuple[str, int], ...]
    joints: tuple[JointChange, ...]
    hardware: tuple[tuple[str, int, int], ...]
    findings_gone: tuple[Mapping[str, Any], ...]
    findings_new: tuple[Mapping[str, Any], ...]

    @property
    def must_cut(self) -> int:
        """Pieces that have to be cut."""
        return sum(work.cut for work in self.work)

    @property
    def is_same(self) -> bool:
        """Whether plates, joints, hardware and findings are the same, whatever the product is called and wherever it stands."""
        plates = all(plate.what == "same" and not plate.is_renamed for plate in self.plates)
        return plates and not (self.joints or self.hardware or self.findings_gone or self.findings_new or self.must_cut)

    @property
    def counts(self) -> dict[str, int]:
        """How many plates are the same, moved, changed, new, gone, and renamed."""
        found = Counter(plate.what for plate in self.plates)
        return {
            **{what: found[what] for what in WHATS},
            "renamed": sum(plate.is_renamed for plate in self.plates),
        }


def compare(before: Version, after: Version) -> Comparison:
    """What changed from one version to the other, by the shapes of plates and where they stand.

    Plates are told by what they are: names matter only where shape and place say nothing.  A product that was moved, turned or
    mirrored as a whole is the same, though mirrored plates of a sheet with one good face have to be cut again.
    """
    likeness = Likeness()
    whole = whole_motion(before, after, likeness)
    pairs = pairs_of(before, after, whole, likeness)
    plates = tuple(_plate(pair, whole, likeness) for pair in pairs)
    hints = _hints(pairs, whole)
    work, left = panel_work(before, after, likeness, hints)
    names = {change.before: change.after for change in plates if change.before and change.after}
    gone, new = _findings(before.findings, after.findings, names)
    return Comparison(
        before,
        after,
        whole,
        plates,
        _panels(pairs, plates, hints),
        work,
        left,
        joint_changes(before.joints, after.joints, names),
        _hardware(before.hardware, after.hardware),
        gone,
        new,
    )


def _plate(pair: Pair, whole: WholeMotion, likeness: Likeness) -> PlateChange:
    old, new = pair.before, pair.after
    if old is None or new is None:
        kept = old or new
        assert kept is not None
        panels = (None if old is None else old.shape.name, None if new is None else new.shape.name)
        return PlateChange(
            None if old is None else old.plate, None if new is None else new.plate, "new" if old is None else "gone", (), panels
        )
    why = _why(old.shape, new.shape, likeness, is_same_shape=pair.is_same_shape)
    # the middle of another shape is another point, so how far that went says nothing
    moved, turned = (0.0, 0.0) if pair.is_there or not pair.is_same_shape else _way(pair, whole)
    what: What = "changed" if why else "same" if pair.is_there else "moved"
    return PlateChange(old.plate, new.plate, what, why, (old.shape.name, new.shape.name), moved, turned)


def _why(old: Shape, new: Shape, likeness: Likeness, *, is_same_shape: bool) -> tuple[Reason, ...]:
    why: list[Reason] = []
    carriers = likeness.of(old, new)
    if not is_same_shape:
        why.append("shape" if not (old.marks or new.marks) or _shape_differs(old, new) else "marks")
    elif not carriers.direct and not (new.sheet.both_faces_good and not new.marks):
        why.append("mirrored")
    if not old.sheet.is_like(new.sheet):
        why.append("stock")
    if abs(old.sheet.kerf_mm - new.sheet.kerf_mm) > ROUNDING:
        why.append("kerf")
    return tuple(why)


def _shape_differs(old: Shape, new: Shape) -> bool:
    overlay = laid_over(old, new)
    return not (overlay.added.is_empty and overlay.removed.is_empty)


def _way(pair: Pair, whole: WholeMotion) -> tuple[float, float]:
    """How far a plate went and turned on its own, mm and degrees; the turn is that of its plane."""
    old, new = pair.before, pair.after
    assert old is not None
    assert new is not None
    away = math.dist(whole.point(old.middle), new.middle)
    facing = (whole.matrix @ matrix_of(old.frame))[:3, 2]
    cosine = min(1.0, abs(sum(float(a) * b for a, b in zip(facing, new.frame.z, strict=True))))
    return (0.0 if away < LEAST_LINE else away), math.degrees(math.acos(cosine)) if cosine < 1 - COSINE_ROUNDING else 0.0


def _hints(pairs: Iterable[Pair], whole: WholeMotion) -> dict[tuple[str, str], list[Motion]]:
    """How old panels lie on new ones where their plates stand in the product, by the names of both."""
    hints: dict[tuple[str, str], list[Motion]] = defaultdict(list)
    for pair in pairs:
        if pair.before is None or pair.after is None or pair.is_same_shape:
            continue
        motion = planar_motion(pair.before, pair.after, whole)
        known = hints[pair.before.shape.name, pair.after.shape.name]
        if motion is not None and not known and not motion.flips:
            known.append(motion)
    return hints


def _panels(
    pairs: Sequence[Pair], plates: Sequence[PlateChange], hints: Mapping[tuple[str, str], Sequence[Motion]]
) -> tuple[PanelChange, ...]:
    """The pairs of panels that plates changed from and to, each once, by the order of plates."""
    found: dict[tuple[str, str], tuple[Shape, Shape, tuple[Reason, ...], list[str]]] = {}
    for pair, change in zip(pairs, plates, strict=True):
        if change.what != "changed" or pair.before is None or pair.after is None:
            continue
        old, new = pair.before.shape, pair.after.shape
        found.setdefault((old.name, new.name), (old, new, change.why, []))[3].append(pair.after.plate)
    changes = []
    for key, (old, new, why, names) in found.items():
        overlay = laid_over(old, new, hints.get(key, ()))
        changes.append(PanelChange(overlay, why, tuple(names), opening_changes(overlay)))
    return tuple(changes)


def _hardware(before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]]) -> tuple[tuple[str, int, int], ...]:
    """Bought parts whose number changed: designation, before, after."""
    ours, theirs = ({str(item["designation"]): int(item["quantity"]) for item in some} for some in (before, after))
    names = dict.fromkeys([*ours, *theirs])
    return tuple((n, ours.get(n, 0), theirs.get(n, 0)) for n in names if ours.get(n, 0) != theirs.get(n, 0))


def _findings(
    before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]], names: Mapping[str, str]
) -> tuple[tuple[Mapping[str, Any], ...], tuple[Mapping[str, Any], ...]]:
    """Findings that are gone, and new ones: the same code for the same plates is the same finding."""

    def key(finding: Mapping[str, Any], renamed: Mapping[str, str]) -> tuple[str, str, tuple[str, ...]]:
        return finding["level"], finding["code"], tuple(sorted(renamed.get(name, name) for name in finding["plates"]))

    ours = [key(finding, names) for finding in before]
    theirs = [key(finding, {}) for finding in after]
    return _beyond(before, ours, theirs), _beyond(after, theirs, ours)


def _beyond(
    findings: Sequence[Mapping[str, Any]], keys: Sequence[tuple[Any, ...]], others: Sequence[tuple[Any, ...]]
) -> tuple[Mapping[str, Any], ...]:
    spare = Counter(others)
    found = []
    for finding, key in zip(findings, keys, strict=True):
        if spare[key]:
            spare[key] -= 1
        else:
            found.append(finding)
    return tuple(found)
