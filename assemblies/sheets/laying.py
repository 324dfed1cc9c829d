"""Laying out sheets: nest the panels of every stock, put marks on the parts, and bring all cuts into order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from panelwright.assemblies.cutting import CutKind, CutPath, Speeds, cutting_order, merged, sheet_time, travel_mm
from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.nest import Engine, Nest, Placement, Progress, SheetUse
from panelwright.assemblies.proof.room_on_sheets import left_findings
from panelwright.assemblies.shop.shelf import Machine
from panelwright.assemblies.shop.shop_file import Shop
from panelwright.plates._validate import instance, items, shown
from panelwright.plates.errors import NestError
from panelwright.plates.geometry.curves import Segment

from .holding import held_by_bridges
from .marking import Marker
from .pieces import StockJob, stock_jobs
from .plan import CutSheet, LaidPart, SheetPlan, StockUse
from .request import Batch, SheetRules
from .searching import Search

__all__ = ["lay_sheets"]

Report = Callable[[str, Progress], None]
"""Told the stock whose sheets are being filled, and how far that is."""


def lay_sheets(
    batches: Sequence[Batch],
    shop: Shop | None = None,
    rules: SheetRules | None = None,
    *,
    engine: Engine | None = None,
    report: Report | None = None,
) -> SheetPlan:
    """Lay out the panels of some products on the sheets of a shop, ready to cut.

    Stocks whose sheets nobody states are left out, with a note.  Products must have passed their proof.  Raises `NestError` for
    a panel that goes on no sheet, for sheets that do not suffice, and for a product with errors.

    The same arguments give the same plan, unless the rules set a time limit or Ctrl-C ends the search early; `uses` says so.
    Both are for all stocks together: after one Ctrl-C what is left is laid out as it is first constructed, and a limit is
    shared out among the stocks, what one doesn't need going to the next.

    - `batches`: the products, each a `Batch`.
    - `shop`: whose sheets, offcuts and machine are meant; without one, the sheets that stocks state themselves.
    - `rules`: how sheets are laid out and cut; by default `SheetRules()`.
    - `engine`: another nesting engine; `report`: what is told of every better layout while it searches.

    >>> from panelwright.assemblies import Assembly, Batch
    >>> from panelwright.plates import Stock, rectangle
    >>> card = Assembly("card", stock=Stock("card", 2, kerf=0.1, sheet=(200, 120)))
    >>> _ = card.add("card", rectangle(90, 60))
    >>> plan = lay_sheets([Batch(card.product(), copies=5)], rules=SheetRules(effort=5))
    >>> len(plan.sheets)
    2
    """
    batches = items(batches, "what is to be laid out", "give a list of Batch(…)", NestError)
    if shop is not None:
        instance(shop, Shop, "shop given to lay_sheets()", "give a Shop or None")
    rules = SheetRules() if rules is None else instance(rules, SheetRules, "rules of lay_sheets()", "give SheetRules(…)")
    if engine is not None and not callable(getattr(engine, "lay_out", None)):
        raise NestError(f"engine of lay_sheets() is {shown(engine)}; give one with a method lay_out(), or None", value=engine)
    if report is not None and not callable(report):
        raise NestError(f"report of lay_sheets() is {shown(report)}; give a function, or None", value=report)
    search = Search(rules, engine)
    for batch in batches:
        if not isinstance(batch, Batch):
            raise NestError(f"{shown(batch)} is no batch of products; give Batch(assembly.product())", value=batch)
        if batch.product.errors:
            raise NestError(
                f"{batch.product.name!r} has {len(batch.product.errors)} errors in its proof, so its panels are not laid out; "
                "mend them first",
                plates=batch.product.errors[0].plates,
            )
    jobs, notes = stock_jobs(batches, shop, rules)
    _require_left(jobs)
    marker = Marker(batches, rules)
    sheets: list[CutSheet] = []
    uses: list[StockUse] = []
    for index, job in enumerate(jobs):
        called = job.stock.name or job.stock.material
        told = None if report is None else _told(report, called)
        laid = search.nest(job.job, len(jobs) - index, told)
        notes += [f"{called}: {note}" for note in laid.notes]
        _all_placed(job, laid)
        own: list[CutSheet] = []
        for use in laid.sheets:
            placements = [p for p in laid.placements if (p.sheet, p.sheet_copy) == (use.sheet, use.copy)]
            own.append(_cut_sheet(len(sheets) + len(own) + 1, job, use, placements, shop, rules, marker))
        sheets += own
        emptiest = min(own, key=lambda sheet: sheet.utilisation) if len(own) > 1 else None
        uses.append(
            StockUse(
                job.stock,
                len(own),
                laid.least_sheets,
                _utilisation(own),
                _utilisation([sheet for sheet in own if sheet is not emptiest]),
                laid.iterations,
                laid.is_reproducible,
                laid.interrupted,
            )
        )
    return SheetPlan(tuple(sheets), tuple(uses), (*notes, *marker.notes))


def _require_left(jobs: Sequence[StockJob]) -> None:
    """Refuse panels that only sheets which are used up could take, before the nest calls them too large."""
    for job in jobs:
        panels = list({id(source.panel): source.panel for source in job.sources.values()}.values())
        for finding in left_findings(panels, job.supply, job.job.margin):
            raise NestError(finding.message, plates=finding.plates)


def _utilisation(sheets: Sequence[CutSheet]) -> float:
    """Share of some sheets that ends up in parts."""
    return sum(sheet.parts_mm2 for sheet in sheets) / sum(sheet.area_mm2 for sheet in sheets)


def _told(report: Report, called: str) -> Callable[[Progress], None]:
    def tell(progress: Progress) -> None:
        report(called, progress)

    return tell


def _all_placed(job: StockJob, laid: Nest) -> None:
    """Refuse a plan that leaves pieces over: half a product is none."""
    if laid.is_complete:
        return
    sources = [job.sources[lost.piece] for lost in laid.unplaced]
    listed = ", ".join(
        f"{source.name}{f' ({len(lost.copies)} of them)' if len(lost.copies) > 1 else ''}"
        for source, lost in zip(sources, laid.unplaced, strict=True)
    )
    area = sum(source.panel.area_mm2 * len(lost.copies) for source, lost in zip(sources, laid.unplaced, strict=True))
    there = ", ".join(f"{kind.sheet.count} of {kind.sheet.id}" for kind in job.supply.kinds)
    raise NestError(
        f"the sheets of {job.stock.name or job.stock.material} do not suffice: there are {there} mm, and no room was found for "
        f"{listed}, {area / 1e6:.3f} m² in all; put more sheets into the shop file, or try more effort",
        plates=tuple(source.panel.name for source in sources),
        value=area,
        limit=sum(kind.sheet.area_mm2 * kind.sheet.count for kind in job.supply.kinds),
    )


def _cut_sheet(
    number: int,
    job: StockJob,
    use: SheetUse,
    placements: Sequence[Placement],
    shop: Shop | None,
    rules: SheetRules,
    marker: Marker,
) -> CutSheet:
    kind = job.supply.kind(use.sheet)
    parts = tuple(
        LaidPart(source, placement.copy, source.drawn.then(placement.motion), marker.label(source, job.face_up))
        for placement in placements
        for source in (job.sources[placement.piece],)
    )
    paths: list[CutPath] = []
    for index, part in enumerate(parts):
        paths += _part_paths(index, part, marker.strokes(part.source, job.face_up))
    if rules.bridges is not None:
        paths = list(held_by_bridges(paths, parts, rules.bridges))
    shared = 0.0
    if rules.shared_cuts:
        paths, shared = merged(paths)
    ordered = cutting_order(paths)
    shelf, machine = job.supply.shelf, Machine() if shop is None else shop.machine
    speeds = None
    if shelf is not None and shelf.cut_mm_s is not None:
        speeds = Speeds(
            shelf.cut_mm_s,
            shelf.mark_mm_s,
            machine.travel_mm_s,
            machine.acceleration_mm_s2,
            shelf.passes,
        )
    return CutSheet(
        number,
        job.stock,
        kind,
        use.copy,
        job.face_up,
        kind.sheet.loops,
        parts,
        tuple(ordered),
        use.leftovers,
        None if speeds is None else sheet_time(ordered, speeds),
        travel_mm(ordered),
        travel_mm(paths),
        shared,
    )


def _part_paths(index: int, part: LaidPart, strokes: Sequence[Sequence[Segment]]) -> Iterator[CutPath]:
    """All paths of a part where it lies, in the order in which its panel has them."""
    panel: Panel = part.source.panel

    def placed(kind: CutKind, segments: Sequence[Segment]) -> CutPath:
        return CutPath(kind, tuple(segment.moved(part.motion) for segment in segments), index)

    for mark in (*panel.marks, *strokes):
        if mark:
            yield placed("mark", mark)
    for stroke in panel.strokes:
        yield placed("inside", stroke)
    for loop in panel.cuts:
        yield placed("inside" if loop.area < 0 else "outside", loop.segments)
