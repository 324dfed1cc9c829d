"""The last sheet made more compact by spyrrow, an optional library: what is freed may be kept as an offcut.

It packs pieces without windows into a strip of one height and minimises its length, which is what the emptiest sheet asks for.
It runs in a process of its own: its failures end the process that they happen in, and it does not hear Ctrl-C.  Whatever it
gives is measured, and taken only if it keeps all rules and takes up less of the sheet.  It stops by the clock, so the result
is not reproducible.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from importlib.util import find_spec
from typing import Any, Final

from panelwright.plates._validate import whole
from panelwright.plates.errors import NestError
from panelwright.plates.geometry.curves import Line
from panelwright.plates.tolerances import SAME_PLACE

from .engine import Engine, Layout, Report
from .job import NestJob, Piece, Sheet
from .result import Placement
from .search import RuinAndRecreate
from .shapes.flatten import covering_polygon, following_polygon
from .verifying import SheetChecker

__all__ = ["LastSheetCompaction"]


LEAST_GAP: Final = 0.01
"""Distance of pieces in mm that spyrrow is asked for at least: it lays pieces without distance over each other by rounding."""


@dataclass(frozen=True, slots=True)
class LastSheetCompaction:
    """An engine that lets another one lay out the job, and then works on its emptiest sheet for some whole seconds.

    Only a full rectangular sheet without pinned pieces, and without pieces in windows of others, is worked on; `Layout.notes`
    tells why none was, or why what came out is not taken.  Raises `NestError` if spyrrow is not installed.

    >>> LastSheetCompaction(seconds=0)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: seconds of compaction is 0; it must be 1 or more
    """

    seconds: int = 3
    engine: Engine = field(default_factory=RuinAndRecreate)

    def __post_init__(self) -> None:
        whole(self.seconds, "seconds of compaction")

    def lay_out(self, job: NestJob, report: Report | None) -> Layout:
        """The other engine's layout, its emptiest sheet shorter where that could be done."""
        if find_spec("spyrrow") is None:
            raise NestError(
                "the last sheet can only be made more compact with spyrrow, which is not installed; "
                "install panelwright[compact], or do without"
            )
        layout = self.engine.lay_out(job, report)
        if layout.interrupted:
            return layout
        chosen = _emptiest(job, layout.placements)
        if isinstance(chosen, str):
            return _left_as_is(layout, chosen)
        sheet, before = chosen
        try:
            after = _packed(job, sheet, before, self.seconds)
        except KeyboardInterrupt:
            return replace(layout, interrupted=True)
        if isinstance(after, str):
            return _left_as_is(layout, after)
        if _extent(job, sheet, after) >= _extent(job, sheet, before) - SAME_PLACE:
            return _left_as_is(layout, f"nothing shorter was found in {self.seconds} s")
        rest = [placement for placement in layout.placements if placement not in before]
        return replace(layout, placements=[*rest, *after], is_reproducible=False)


def _left_as_is(layout: Layout, why: str) -> Layout:
    return replace(layout, notes=(*layout.notes, f"the emptiest sheet was not made more compact: {why}"))


def _emptiest(job: NestJob, placements: Sequence[Placement]) -> tuple[Sheet, list[Placement]] | str:
    """The sheet to work on and what lies there, or why none will do."""
    pieces = {piece.id: piece for piece in job.pieces}
    best: tuple[float, Sheet, list[Placement]] | None = None
    for sheet in job.sheets:
        if sheet.is_offcut:
            continue
        for copy in sorted({p.sheet_copy for p in placements if p.sheet == sheet.id}):
            here = [p for p in placements if (p.sheet, p.sheet_copy) == (sheet.id, copy)]
            taken = sum(pieces[p.piece].area_mm2 for p in here) / sheet.area_mm2
            if best is None or taken < best[0]:
                best = (taken, sheet, here)
    if best is None:
        return "all parts lie on offcuts"
    _, sheet, here = best
    shapes = [following_polygon([loop.moved(p.motion) for loop in pieces[p.piece].loops[:1]]) for p in here]
    if any(pieces[p.piece].pin is not None for p in here):
        return "a part is pinned to its place there"
    # by outer borders: at spacing 0 pieces may touch, and then neither lies in the other
    is_nested = any(a is not b and a.covers(b) for a in shapes for b in shapes)
    return "a part lies in a window of another there" if is_nested else (sheet, here)


def _packed(job: NestJob, sheet: Sheet, before: Sequence[Placement], seconds: int) -> list[Placement] | str:
    """The same pieces on the same sheet packed anew, or why there is no such layout."""
    pieces = {piece.id: piece for piece in job.pieces}
    x0, y0, x1, y1 = sheet.loops[0].bounds
    is_upright = y1 - y0 > x1 - x0
    gap = max(job.spacing, LEAST_GAP)
    # pieces are grown by half the gap, so they may come nearer to the border by as much
    inset = job.margin - (gap / 2 if job.spacing >= LEAST_GAP else 0.0)
    order = {
        "height": min(x1 - x0, y1 - y0) - 2 * inset,
        "items": [_item(pieces[p.piece], p, gap, is_upright) for p in before],
        "seconds": seconds,
        "seed": job.seed,
    }
    done = subprocess.run(
        [sys.executable, "-c", _PROGRAM], input=json.dumps(order), capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        return f"spyrrow failed ({done.stderr.strip().splitlines()[-1] if done.stderr.strip() else done.returncode})"
    found: list[Placement] = []
    for name, turn, (tx, ty) in json.loads(done.stdout):
        dx, dy = (-ty, tx) if is_upright else (tx, ty)
        corner = (x1 - inset, y0 + inset) if is_upright else (x0 + inset, y0 + inset)
        place = before[int(name)]
        spot = (round(corner[0] + dx, 6), round(corner[1] + dy, 6))
        found.append(replace(place, x=spot[0], y=spot[1], turn_deg=turn % 360.0))
    if sorted(p.copy for p in found) != sorted(p.copy for p in before):
        return "what spyrrow found breaks the rules: parts are missing"
    if problems := SheetChecker(job).problems(found):
        return f"what spyrrow found breaks the rules: {problems[0].message}"
    return found


def _item(piece: Piece, placement: Placement, spacing: float, is_upright: bool) -> dict[str, Any]:
    """A piece for the strip: its border grown by half the spacing, turned over if it lies so, and turned with the strip."""
    from shapely.affinity import affine_transform

    ring = covering_polygon(piece.loops[:1])
    flipped = affine_transform(ring, (-1, 0, 0, 1, 0, 0)) if placement.flipped else ring
    grown = flipped.buffer(spacing / 2, join_style="mitre", mitre_limit=2.0) if spacing else flipped
    turned = affine_transform(grown, (0, 1, -1, 0, 0, 0)) if is_upright else grown
    is_straight = all(isinstance(segment, Line) for segment in piece.loops[0])
    return {
        "ring": [list(point) for point in turned.simplify(0.0 if is_straight else 1e-3).exterior.coords[:-1]],
        "turns": list(piece.turns_deg),
    }


def _extent(job: NestJob, sheet: Sheet, placements: Sequence[Placement]) -> float:
    """How far along the sheet's longer side pieces reach, in mm."""
    pieces = {piece.id: piece for piece in job.pieces}
    x0, y0, x1, y1 = sheet.loops[0].bounds
    axis = 1 if y1 - y0 > x1 - x0 else 0
    return max(pieces[p.piece].loops[0].moved(p.motion).bounds[2 + axis] for p in placements) - (x0, y0)[axis]


_PROGRAM = """
import json, sys
import spyrrow

order = json.load(sys.stdin)
items = [
    spyrrow.Item(str(n), [tuple(point) for point in item["ring"]], 1, item["turns"])
    for n, item in enumerate(order["items"])
]
strip = spyrrow.StripPackingInstance("sheet", order["height"], items)
limits = spyrrow.StripPackingConfig(total_computation_time=order["seconds"], seed=order["seed"], num_workers=1)
found = strip.solve(limits)
json.dump([[item.id, item.rotation, list(item.translation)] for item in found.placed_items], sys.stdout)
"""
"""What the other process runs."""
