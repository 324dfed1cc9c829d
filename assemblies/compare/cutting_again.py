"""Which panels of the new version have to be cut, and for which a piece of the old one will do, as it is or trimmed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from panelwright.plates.geometry.motion import Motion

from .overlay_match import Overlay, lies_inside
from .same_shape import Likeness
from .version import Shape, Version

__all__ = ["PanelWork", "Trim", "panel_work"]


OTHERS = 3
"""So many old panels of other plates are tried for a new one, those first that lose the least."""


@dataclass(frozen=True, slots=True)
class Trim:
    """Pieces of an old panel from which a new one can be cut, and how much has to come off each, mm²."""

    panel: str
    pieces: int
    removed_mm2: float


@dataclass(frozen=True, slots=True)
class PanelWork:
    """What has to be done for one panel of the new version: pieces kept, trimmed and cut.

    `kept_of` names the old panels whose pieces will do as they are.  `old_kerf_mm` is the kerf that these were drawn for,
    where it is another one: what was cut is kept, but the new files are not the old ones.
    """

    panel: str
    keep: int
    trims: tuple[Trim, ...]
    cut: int
    area_mm2: float
    kept_of: tuple[str, ...] = ()
    old_kerf_mm: float | None = None

    @property
    def trim(self) -> int:
        """Pieces to be trimmed."""
        return sum(trim.pieces for trim in self.trims)


def panel_work(
    before: Version, after: Version, likeness: Likeness, hints: Mapping[tuple[str, str], Sequence[Motion]]
) -> tuple[tuple[PanelWork, ...], tuple[tuple[str, int], ...]]:
    """The work for every panel of the new version in order, and how many pieces of which old panels are left over.

    Every piece of the old version serves once.  Kept ones are dealt out first; then each panel that still lacks pieces looks
    for some to be trimmed: its plates' own old ones, and the next `OTHERS` larger ones that are left.  `hints` are motions to
    be tried, by names of an old and a new panel.
    """
    left = Counter({shape.name: len(shape.plates) for shape in before.shapes})
    kept: dict[str, Counter[str]] = {}
    for shape in after.shapes:
        taken: Counter[str] = Counter()
        same = [old for old in before.shapes if likeness.of(old, shape).is_same_panel]
        for old in sorted(same, key=lambda old: (old.sheet.kerf_mm != shape.sheet.kerf_mm, old.name != shape.name)):
            pieces = min(left[old.name], len(shape.plates) - taken.total())
            if pieces:
                taken[old.name] += pieces
                left[old.name] -= pieces
        kept[shape.name] = taken
    kerfs = {old.name: old.sheet.kerf_mm for old in before.shapes}
    work = []
    for shape in after.shapes:
        taken = kept[shape.name]
        lacking = len(shape.plates) - taken.total()
        trims = _trims(before, shape, lacking, left, hints) if lacking else ()
        other = sorted({kerfs[name] for name in taken} - {shape.sheet.kerf_mm})
        work.append(
            PanelWork(
                shape.name,
                taken.total(),
                trims,
                lacking - sum(trim.pieces for trim in trims),
                shape.area_mm2,
                tuple(taken),
                other[0] if other else None,
            )
        )
    return tuple(work), tuple((name, count) for name, count in left.items() if count)


def _trims(
    before: Version,
    shape: Shape,
    lacking: int,
    left: Counter[str],
    hints: Mapping[tuple[str, str], Sequence[Motion]],
) -> tuple[Trim, ...]:
    """Old pieces that are still left and can be trimmed, the plates' own first; takes them from `left`."""
    own = [old for old in before.shapes if left[old.name] and (old.name, shape.name) in hints]
    larger = [old for old in before.shapes if left[old.name] and old not in own and old.area_mm2 > shape.area_mm2]
    larger.sort(key=lambda old: old.area_mm2)
    trims: list[Trim] = []
    for old in (*own, *larger[:OTHERS]):
        if not lacking:
            break
        motion = lies_inside(old, shape, hints.get((old.name, shape.name), ()))
        if motion is None:
            continue
        pieces = min(lacking, left[old.name])
        left[old.name] -= pieces
        lacking -= pieces
        trims.append(Trim(old.name, pieces, float(Overlay(old, shape, motion).removed.area)))
    return tuple(trims)
