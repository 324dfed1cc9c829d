"""Marks of which the product shows nothing: engraved where the plate is cut away, or where another plate lies on them.

A mark that only runs out over a border or under another plate is taken as meant.  What is loose hides nothing, since it is
lifted off again; neither do bent plates, nor walls round about that leave a face in the dark.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.marks.covered import CHORD, TOUCH, footprint, material_of, may_touch
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.plates.geometry.curves import Point, Segment, around
from panelwright.plates.geometry.frame import Vector
from panelwright.plates.geometry.polygons import line_of

if TYPE_CHECKING:
    import shapely

__all__ = ["mark_findings"]

SEEN = 0.1
"""Less of a mark than this, in mm, is not seen: the width of a fine engraved line (from memory)."""


@dataclass(frozen=True, slots=True)
class _Mark:
    """One mark of a plate: its line, what of it lies on material, and the middle of its box, all in the plate's plane."""

    line: shapely.Geometry
    kept: shapely.Geometry
    middle: Point

    @property
    def is_lost(self) -> bool:
        """Whether nothing of it is left; of a mark shorter than what is seen, whether less than half is."""
        return bool(self.kept.length < min(SEEN, self.line.length / 2))


def mark_findings(resolved: Resolved, loose: Sequence[frozenset[str]]) -> list[Finding]:
    """A warning for each plate with marks wholly off its material, and one for each set of plates that hides marks of another.

    `loose` are the plates and the sub-assemblies, by the names of their plates, that may stand apart.
    """
    in_sheets = {name for part in resolved.parts if part.unrolled is not None for name in part.plates}
    flat = [part for body, part in zip(resolved.bodies, resolved.flats, strict=True) if body.roll is None]
    found: list[Finding] = []
    for body, part in zip(resolved.bodies, resolved.flats, strict=True):
        if not any(part.marks):
            continue
        material = material_of(part)
        marks = [_mark(chain, material) for chain in part.marks if chain]
        lost = [mark for mark in marks if mark.is_lost]
        if lost:
            found.append(_lost(part, lost, is_flat=body.roll is None))
        if body.roll is None:
            near = [other for other in flat if other is not part and may_touch(part, other)]
            # of a bent sheet, what runs on over a bend line is seen there
            runs_on = SEEN if part.name in in_sheets else math.inf
            whole = [mark for mark in marks if not mark.is_lost and mark.line.length - mark.kept.length < runs_on]
            found += _hidden(part, whole, [other for other in near if _stay_together(part.name, other.name, loose)])
    return found


def _mark(chain: Sequence[Segment], material: Any) -> _Mark:
    line = line_of(chain, CHORD)
    x0, y0, x1, y1 = around(segment.bounds for segment in chain)
    return _Mark(line, line.intersection(material), ((x0 + x1) / 2, (y0 + y1) / 2))


def _stay_together(one: str, other: str, loose: Sequence[frozenset[str]]) -> bool:
    return all((one in group) == (other in group) for group in loose)


def _lost(part: Part, marks: Sequence[_Mark], *, is_flat: bool) -> Finding:
    them = "it" if len(marks) == 1 else "them"
    return Finding(
        "warning",
        "MARK",
        (part.name,),
        f"plate {part.name!r}: {_counted(marks)} where the plate is cut away or ends, so nothing is left of {them}; move "
        f"{them} onto material, or leave {them} out",
        _place(part, marks[0]) if is_flat else None,
        {"marks": float(len(marks))},
    )


def _hidden(part: Part, marks: Sequence[_Mark], others: Sequence[Part]) -> list[Finding]:
    import shapely

    if not marks or not others:
        return []
    # a mark that sticks out by no more than half a usual clearance shows in no gap
    shapes = [footprint(part, "show", other, material_of(other)).buffer(TOUCH) for other in others]
    covered = shapely.union_all(shapes)
    hidden: dict[tuple[str, ...], list[_Mark]] = {}
    for mark in marks:
        if mark.kept.difference(covered).length < min(SEEN, mark.line.length / 2):
            over = tuple(other.name for other, shape in zip(others, shapes, strict=True) if mark.kept.intersects(shape))
            hidden.setdefault(over, []).append(mark)
    return [_under(part, names, found) for names, found in hidden.items()]


def _under(part: Part, names: tuple[str, ...], marks: Sequence[_Mark]) -> Finding:
    them = "it" if len(marks) == 1 else "them"
    return Finding(
        "warning",
        "MARK",
        (part.name, *names),
        f"plate {part.name!r}: {_counted(marks)} on the show face, under {' and '.join(map(repr, names))}, where nobody sees "
        f"{them}; move {them}, turn the plate's show face the other way, or leave {them} out",
        _place(part, marks[0]),
        {"marks": float(len(marks))},
    )


def _counted(marks: Sequence[_Mark]) -> str:
    x, y = (round(value, 2) + 0.0 for value in marks[0].middle)
    if len(marks) == 1:
        return f"the mark around ({x:.2f}, {y:.2f}) lies"
    return f"{len(marks)} marks, the first around ({x:.2f}, {y:.2f}), lie"


def _place(part: Part, mark: _Mark) -> Vector:
    return part.frame.point((*mark.middle, part.stock.t))
