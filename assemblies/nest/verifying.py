"""The last word on a layout: does it keep the rules, judged on the pieces as they are?

Nothing here knows how a layout was found.  Curves are followed to `FOLLOW_TOLERANCE`; straight outlines are judged to a
nanometre, so a piece that is a micrometre off is found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Protocol

from panelwright.plates.geometry.curves import Line, Loop
from panelwright.plates.tolerances import PIN_TOLERANCE, SHEET_SLACK

from .job import NestJob, Piece, Sheet
from .result import Placement, Unplaced
from .shapes.flatten import FOLLOW_TOLERANCE, following_polygon

if TYPE_CHECKING:
    import shapely

__all__ = ["Laying", "Problem", "SheetChecker", "verify"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One rule that a layout breaks.

    `code` is one of `unknown`, `count`, `turn`, `flip`, `pin`, `outside` and `spacing`; `value` is what was found and
    `limit` what it had to keep.
    """

    code: str
    pieces: tuple[str, ...]
    sheet: str
    message: str
    value: float | None = None
    limit: float | None = None

    def __str__(self) -> str:
        return self.message


class Laying(Protocol):
    """What can be verified: a nest, or anything else that says where pieces lie and which don't."""

    @property
    def placements(self) -> Sequence[Placement]:
        """Where pieces lie."""
        ...

    @property
    def unplaced(self) -> Sequence[Unplaced]:
        """What lies nowhere."""
        ...


def verify(job: NestJob, nest: Laying) -> list[Problem]:
    """Every rule of `job` that `nest` breaks, sheet by sheet; an empty list if it keeps them all.

    Guarantees, as far as the tolerances go: no two pieces nearer than the spacing and none overlapping, none nearer to the
    border or a hole of its sheet than the margin, every copy once (placed or named as unplaced), pieces turned and turned
    over only as
    allowed, pins kept, and no more sheets than there are.  Says nothing about how good the layout is.

    >>> from panelwright.assemblies.nest import Layout, Placement, Piece, Sheet
    >>> tile = Piece.from_rings("tile", [[(0, 0), (48, 0), (48, 48), (0, 48)]], 2)
    >>> job = NestJob((tile,), (Sheet.rectangle("MDF", 200, 100),))
    >>> close = [Placement("tile", n, "MDF", 1, x, 5, 0, False) for n, x in ((1, 5.0), (2, 54.5))]
    >>> print(*verify(job, Layout(close)), sep="; ")
    tile 1 and tile 2 on sheet MDF 1 are 1.5 mm apart; they must be 2 mm or more apart
    """
    pieces = {piece.id: piece for piece in job.pieces}
    sheets = {sheet.id: sheet for sheet in job.sheets}
    problems = list(_unknown(pieces, sheets, nest))
    known = [p for p in nest.placements if p.piece in pieces and p.sheet in sheets]
    problems += _miscounted(job, nest)
    for placement in known:
        problems += _turned(pieces[placement.piece], placement)
    problems += _unpinned(job, known)
    checker = SheetChecker(job)
    for sheet in job.sheets:
        for copy in sorted({p.sheet_copy for p in known if p.sheet == sheet.id}):
            problems += checker.problems([p for p in known if (p.sheet, p.sheet_copy) == (sheet.id, copy)])
    return problems


class SheetChecker:
    """Measures what lies on one sheet.  Keeps the pieces as polygons, so that many sheets can be checked quickly."""

    def __init__(self, job: NestJob) -> None:
        self._spacing = job.spacing
        self._margin = job.margin
        self._pieces = {piece.id: piece for piece in job.pieces}
        self._sheets = {sheet.id: sheet for sheet in job.sheets}
        self._polygon = cache(lambda piece: following_polygon(self._pieces[piece].loops))
        self._slack = {piece.id: _slack(piece.loops) for piece in job.pieces}
        self._sheet_slack = {sheet.id: _slack(sheet.loops) for sheet in job.sheets}

    def problems(self, placements: Iterable[Placement]) -> list[Problem]:
        """What is wrong with the places of these pieces, which lie on one sheet, in order of pieces."""
        laid = sorted(placements, key=lambda p: (p.piece, p.copy))
        if not laid:
            return []
        shapes = [self._placed(placement) for placement in laid]
        return [*self._outside(laid, shapes), *self._too_close(laid, shapes)]

    def _placed(self, placement: Placement) -> shapely.Polygon:
        from shapely.affinity import affine_transform

        m = placement.motion
        return affine_transform(self._polygon(placement.piece), (m.a, m.b, m.c, m.d, m.e, m.f))

    def _outside(self, laid: Sequence[Placement], shapes: Sequence[shapely.Polygon]) -> Iterator[Problem]:
        import shapely

        sheet = self._sheets[laid[0].sheet]
        polygon = following_polygon(sheet.loops)
        wider = polygon.buffer(self._sheet_slack[sheet.id] + SHEET_SLACK, join_style="mitre")
        shapely.prepare(wider)
        for placement, shape in zip(laid, shapes, strict=True):
            slack = self._slack[placement.piece] + self._sheet_slack[sheet.id]
            gap = shape.distance(polygon.boundary) if polygon.intersects(shape) else -1.0
            if wider.covers(shape) and gap >= self._margin - slack:
                continue
            if gap > 0 and polygon.covers(shape):
                message = f"is {gap:.6g} mm from the border; it must be {self._margin:g} mm or more from it"
            else:
                message, gap = "reaches over the border; it must lie on the sheet", -1.0
            message = f"{_name(placement)} on {_where(placement)} {message}"
            yield Problem("outside", (placement.piece,), sheet.id, message, gap, self._margin)

    def _too_close(self, laid: Sequence[Placement], shapes: Sequence[shapely.Polygon]) -> Iterator[Problem]:
        import shapely

        pairs = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=self._spacing).T
        for i, j in sorted((int(i), int(j)) for i, j in pairs if i < j):
            slack = max(self._slack[laid[i].piece], self._slack[laid[j].piece])
            gap = shapes[i].distance(shapes[j])
            if gap >= self._spacing - slack and (gap > 0 or not _overlap(shapes[i], shapes[j], slack)):
                continue
            names = f"{_name(laid[i])} and {_name(laid[j])} on {_where(laid[i])}"
            wanted = f"they must be {self._spacing:g} mm or more apart"
            message = f"{names} are {gap:.6g} mm apart; {wanted}" if gap > 0 else f"{names} overlap; {wanted}"
            yield Problem("spacing", (laid[i].piece, laid[j].piece), laid[i].sheet, message, gap, self._spacing)


def _overlap(a: shapely.Polygon, b: shapely.Polygon, slack: float) -> bool:
    """Whether they share more than a film of `slack` mm."""
    return bool(a.buffer(-slack, join_style="mitre").intersects(b))


def _slack(loops: Iterable[Loop]) -> float:
    """How far the polygon that is measured may be off."""
    is_straight = all(isinstance(segment, Line) for loop in loops for segment in loop)
    return SHEET_SLACK if is_straight else FOLLOW_TOLERANCE


def _name(placement: Placement) -> str:
    return f"{placement.piece} {placement.copy}"


def _where(placement: Placement) -> str:
    return f"sheet {placement.sheet} {placement.sheet_copy}"


def _unknown(pieces: Mapping[str, Piece], sheets: Mapping[str, Sheet], nest: Laying) -> Iterator[Problem]:
    for placement in nest.placements:
        name, where = _name(placement), _where(placement)
        if placement.piece not in pieces:
            yield Problem("unknown", (placement.piece,), placement.sheet, f"{name} on {where} is no piece of the job")
        if placement.sheet not in sheets:
            yield Problem("unknown", (placement.piece,), placement.sheet, f"{name} lies on {where}, which is not in the job")
        elif not 1 <= placement.sheet_copy <= sheets[placement.sheet].count:
            there = sheets[placement.sheet].count
            message = f"{name} lies on {where}; there are only {there} of that sheet"
            yield Problem("unknown", (placement.piece,), placement.sheet, message, placement.sheet_copy, there)
    for lost in nest.unplaced:
        if lost.piece not in pieces:
            yield Problem("unknown", (lost.piece,), "", f"{lost.piece} is listed as unplaced but is no piece of the job")


def _miscounted(job: NestJob, nest: Laying) -> Iterator[Problem]:
    seen = Counter((p.piece, p.copy) for p in nest.placements)
    seen.update((lost.piece, copy) for lost in nest.unplaced for copy in lost.copies)
    for piece in job.pieces:
        for copy in range(1, piece.quantity + 1):
            times = seen.pop((piece.id, copy), 0)
            if times != 1:
                message = f"{piece.id} {copy} comes {times} times; it must come once"
                yield Problem("count", (piece.id,), "", message, times, 1)
    known = {piece.id for piece in job.pieces}
    for name, copy in sorted(seen):
        if name in known:
            yield Problem("count", (name,), "", f"{name} {copy} is one more than the job asks for", copy)


def _turned(piece: Piece, placement: Placement) -> Iterator[Problem]:
    name, where = _name(placement), _where(placement)
    if not piece.allows(placement.turn_deg, False):
        message = f"{name} on {where} is turned by {placement.turn_deg:g}°; it may be in steps of {piece.turn_step_deg:g}°"
        yield Problem("turn", (piece.id,), placement.sheet, message, placement.turn_deg, piece.turn_step_deg)
    if placement.flipped and not piece.may_flip:
        yield Problem("flip", (piece.id,), placement.sheet, f"{name} on {where} is turned over; it may not be")


def _unpinned(job: NestJob, placements: Iterable[Placement]) -> Iterator[Problem]:
    placed = {placement.piece: placement for placement in placements}
    for piece in job.pieces:
        pin = piece.pin
        if pin is None:
            continue
        at = placed.get(piece.id)
        off = None if at is None else max(abs(at.x - pin.x), abs(at.y - pin.y), abs(at.turn_deg - pin.turn_deg))
        is_there = at is not None and (at.sheet, at.sheet_copy, at.flipped) == (pin.sheet, pin.copy, pin.flipped)
        if off is None or off > PIN_TOLERANCE or not is_there:
            message = f"{piece.id} is not where it was pinned: on sheet {pin.sheet} {pin.copy} at ({pin.x:g}, {pin.y:g})"
            yield Problem("pin", (piece.id,), pin.sheet, message, off, 0.0)
