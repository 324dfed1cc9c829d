"""Nesting a job: run an engine, verify what it gives, and work out the figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from panelwright.plates.errors import NestError

from .engine import Engine, Layout, Report
from .job import NestJob, Piece
from .leftovers import leftovers
from .result import Nest, Placement, SheetUse, Unplaced
from .search import RuinAndRecreate
from .shapes.flatten import following_polygon
from .verifying import verify

if TYPE_CHECKING:
    import shapely

__all__ = ["nest"]


def nest(job: NestJob, *, engine: Engine | None = None, report: Report | None = None) -> Nest:
    """Lay the pieces of a job on its sheets.

    `engine` is the built-in search unless another is given; `report` is called whenever something better is found.  The result
    has been verified: whatever the engine says, a layout that breaks a rule raises `NestError` and lists what it breaks.
    Pieces for which the sheets do not suffice are in `Nest.unplaced`; a piece that is too large for every sheet raises
    `NestError`.

    Ctrl-C during the search ends it with the best layout so far, marked as `interrupted`.

    >>> from panelwright.assemblies.nest import Piece, Sheet
    >>> tile = Piece.from_rings("tile", [[(0, 0), (48, 0), (48, 48), (0, 48)]], 8)
    >>> done = nest(NestJob((tile,), (Sheet.rectangle("MDF", 208, 108),), effort=20))
    >>> len(done.placements), len(done.sheets), round(done.utilisation, 3), done.is_complete, done.is_reproducible
    (8, 1, 0.821, True, True)
    """
    layout = (engine or RuinAndRecreate()).lay_out(job, report)
    order = {sheet.id: (not sheet.is_offcut, index) for index, sheet in enumerate(job.sheets)}
    rank = {piece.id: index for index, piece in enumerate(job.pieces)}
    last = (True, len(order))
    placements = tuple(
        sorted(
            layout.placements,
            key=lambda p: (order.get(p.sheet, last), p.sheet_copy, rank.get(p.piece, len(rank)), p.copy),
        )
    )
    unplaced = (*layout.unplaced, *_missing(job, layout))
    problems = verify(job, Layout(placements, unplaced=unplaced))
    if problems:
        listed = "; ".join(problem.message for problem in problems[:5])
        more = f"; and {len(problems) - 5} more" if len(problems) > 5 else ""
        raise NestError(
            f"the engine gave a layout that breaks the rules: {listed}{more}; give the job to another engine",
            plates=problems[0].pieces,
            value=problems[0].value,
            limit=problems[0].limit,
        )
    return Nest(
        placements,
        unplaced,
        _uses(job, placements),
        _least_sheets(job),
        layout.iterations,
        job.time_limit_s is None and layout.is_reproducible and not layout.interrupted,
        layout.interrupted,
        tuple(layout.notes),
    )


def _missing(job: NestJob, layout: Layout) -> list[Unplaced]:
    """Copies that the engine does not speak of."""
    told = {(p.piece, p.copy) for p in layout.placements}
    told |= {(lost.piece, copy) for lost in layout.unplaced for copy in lost.copies}
    found: list[Unplaced] = []
    for piece in job.pieces:
        copies = tuple(copy for copy in range(1, piece.quantity + 1) if (piece.id, copy) not in told)
        if copies:
            found.append(Unplaced(piece.id, copies, _reason(job, piece, len(copies))))
    return found


def _reason(job: NestJob, piece: Piece, missing: int) -> str:
    sheets = ", ".join(f"{sheet.count} of {sheet.id!r}" for sheet in job.sheets)
    return (
        f"no room was found for {missing} of {piece.quantity} on the sheets that are there ({sheets}); "
        "add sheets, or try more effort"
    )


def _uses(job: NestJob, placements: Sequence[Placement]) -> tuple[SheetUse, ...]:
    pieces = {piece.id: piece for piece in job.pieces}
    uses: list[SheetUse] = []
    for sheet in sorted(job.sheets, key=lambda sheet: not sheet.is_offcut):
        border = following_polygon(sheet.loops)
        for copy in sorted({p.sheet_copy for p in placements if p.sheet == sheet.id}):
            here = [p for p in placements if (p.sheet, p.sheet_copy) == (sheet.id, copy)]
            shapes = [following_polygon([loop.moved(p.motion) for loop in pieces[p.piece].loops]) for p in here]
            uses.append(
                SheetUse(
                    sheet.id,
                    copy,
                    sheet.is_offcut,
                    len(here),
                    sum(pieces[p.piece].area_mm2 for p in here),
                    sheet.area_mm2,
                    _extent(border, shapes),
                    leftovers(border, shapes, job.spacing, job.least_offcut),
                )
            )
    return tuple(uses)


def _extent(border: shapely.Polygon, shapes: Sequence[shapely.Polygon]) -> float:
    x0, y0, x1, y1 = border.bounds
    if y1 - y0 > x1 - x0:
        return float((max(shape.bounds[3] for shape in shapes) - y0) / (y1 - y0))
    return float((max(shape.bounds[2] for shape in shapes) - x0) / (x1 - x0))


def _least_sheets(job: NestJob) -> int:
    """Sheets that areas alone ask for: pieces grown by half the spacing don't overlap, on sheets grown or shrunk to match."""
    half = job.spacing / 2
    wanted = sum(piece.quantity * float(following_polygon(piece.loops).buffer(half).area) for piece in job.pieces)
    rooms: list[float] = []
    for sheet in job.sheets:
        room = float(following_polygon(sheet.loops).buffer(half - job.margin, join_style="mitre").area)
        rooms += [room] * sheet.count
    count, held = 0, 0.0
    for room in sorted(rooms, reverse=True):
        # a polygon inside a curve is smaller than it by little, so the bound stays on the safe side by a thousandth
        if held >= wanted * (1 - 1e-3):
            break
        count, held = count + 1, held + room
    return max(count, math.ceil(min(1.0, wanted)))
