"""From panels to pieces for the nest: one job for each stock, and the way back from a piece to its panel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.verdict import counted
from panelwright.assemblies.nest.job import ALONG_GRAIN, QUARTER_TURNS, NestJob, Piece, Sheet
from panelwright.assemblies.proof.room_on_sheets import turn_to_go
from panelwright.assemblies.shop.shelf import Machine
from panelwright.assemblies.shop.shop_file import Shop
from panelwright.assemblies.shop.supply import Supply, supply_of
from panelwright.plates.errors import NestError
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.materials.stock import Stock

from .request import Batch, FaceUp, PieceRules, SheetRules

__all__ = ["PieceSource", "StockJob", "spacing_of", "stock_jobs"]

TURNED_OVER: Final = " (turned over)"
"""Behind the name of a piece that is the mirror image of its panel."""


@dataclass(frozen=True, slots=True)
class PieceSource:
    """What a piece of a nest is a copy of.

    `is_turned_over` says that it becomes a plate that is the mirror image of its panel.  `is_mirrored` says that it is drawn
    on the sheet as the panel's mirror image.  That is so where it is turned over, and also where its back lies up; where both
    hold, it has been mirrored twice and is drawn like the panel.  `turn_deg` is the angle at which it goes on a sheet, for one
    that goes on none by quarter turns: its turns on the sheet are counted from there.
    """

    batch: Batch
    panel: Panel
    is_turned_over: bool
    is_mirrored: bool
    turn_deg: float = 0.0

    @property
    def name(self) -> str:
        """The panel's name among all products of the run."""
        return self.batch.piece_name(self.panel.name)

    @property
    def mirror(self) -> Motion:
        """Takes the panel as drawn to its mirror image, moved back to the origin, if the piece is that."""
        return Motion.mirror_x().then(Motion.shift(self.panel.bbox_mm[0], 0.0)) if self.is_mirrored else Motion()

    @property
    def turn(self) -> Motion:
        """The turn by `turn_deg`; a mirror image goes in where the panel does if it is turned the other way."""
        return Motion.turn(-self.turn_deg if self.is_mirrored else self.turn_deg)

    @property
    def drawn(self) -> Motion:
        """Takes the panel as drawn to the piece."""
        return self.mirror.then(self.turn) if self.turn_deg else self.mirror


@dataclass(frozen=True, slots=True)
class StockJob:
    """The nest of all pieces of one stock: the job, what it takes its sheets from, and where its pieces come from."""

    stock: Stock
    supply: Supply
    job: NestJob
    sources: dict[str, PieceSource]
    face_up: FaceUp


MOST_PARTS: Final = 20_000
"""Parts of one stock that are laid out in one run at most.  Measured: the first construction alone of 2,000 takes 8 s, and time
grows a little faster than their number, so that this is minutes; each of the attempts after it looks at all sheets."""


def stock_jobs(batches: Sequence[Batch], shop: Shop | None, rules: SheetRules) -> tuple[list[StockJob], list[str]]:
    """A nest for every stock whose sheets are known, in the order in which they come, and notes on the others.

    A panel with marks of its own, which are on its show face, keeps its stock's sheets show face up.
    """
    by_stock: dict[Stock, list[tuple[Batch, Panel]]] = {}
    for batch in batches:
        for panel in batch.product.panels:
            by_stock.setdefault(panel.stock, []).append((batch, panel))
    known = {batch.piece_name(panel.name) for batch in batches for panel in batch.product.panels}
    for name in rules.pieces:
        if name not in known:
            raise NestError(f"there is no panel {name!r} to lay out; there are {', '.join(sorted(known))}", value=name)
    machine = Machine() if shop is None else shop.machine
    jobs: list[StockJob] = []
    notes: list[str] = []
    for stock, members in by_stock.items():
        total = sum(batch.copies * panel.quantity for batch, panel in members)
        _check_number(total, stock)
        supply = supply_of(stock, shop, total)
        if supply is None:
            notes.append(_unsized(stock, shop))
            continue
        notes += supply.notes
        spacing = spacing_of(stock, machine, rules)
        if rules.spacing is None and not rules.shared_cuts and spacing != machine.part_spacing_mm:
            notes.append(
                f"parts of {stock.name or stock.material} lie {spacing:g} mm apart, two kerfs, since the machine's spacing of "
                f"{machine.part_spacing_mm:g} mm is less than one"
            )
        face_up: FaceUp = "show" if any(panel.marks for _, panel in members) else rules.face_up
        if face_up != rules.face_up:
            marked = ", ".join(batch.piece_name(panel.name) for batch, panel in members if panel.marks)
            notes.append(
                f"sheets of {stock.name or stock.material} lie show face up, since {marked} is marked on that face already; "
                "parts of that stock get letters only where other plates cover them"
            )
        if face_up == "back":
            supply = supply.turned_over
        _check_area(members, supply)
        jobs.append(_job(stock, members, supply, machine, rules, face_up))
    return jobs, notes


def _job(
    stock: Stock,
    members: Sequence[tuple[Batch, Panel]],
    supply: Supply,
    machine: Machine,
    rules: SheetRules,
    face_up: FaceUp,
) -> StockJob:
    spacing = spacing_of(stock, machine, rules)
    longest, name = max((max(kind.sheet.size), kind.sheet.id) for kind in supply.kinds)
    if spacing >= longest:
        raise NestError(
            f"a spacing of {spacing:g} mm is more than the longer side of the largest sheet, {name} mm; give the distance "
            "between two parts in mm",
            value=spacing,
            limit=longest,
        )
    margin = machine.edge_margin_mm if rules.margin is None else rules.margin
    smallest = min(min(panel.bbox_mm) for _, panel in members)
    sheets = tuple(kind.sheet for kind in supply.kinds)
    pieces: list[Piece] = []
    sources: dict[str, PieceSource] = {}
    has_sides = rules.is_marked or rules.ticks  # marks belong on one face, so pieces may not be turned over at will
    for batch, panel in members:
        over = batch.copies * len(panel.turned_over) if has_sides else 0
        for is_over, quantity in ((False, batch.copies * panel.quantity - over), (True, over)):
            if quantity:
                source = PieceSource(batch, panel, is_over, is_over != (face_up == "back"))
                special = rules.pieces.get(source.name, PieceRules())
                if is_over and len(panel.turned_over) < panel.quantity:
                    special = replace(special, pin=None)  # the pin is for the one that is cut as drawn
                for piece in _split(_piece(source, quantity, special, rules, smallest, may_flip=not has_sides), special):
                    sources[piece.id] = own = _at_an_angle(source, piece, sheets, margin)
                    loops = tuple(loop.moved(own.turn) for loop in piece.loops) if own.turn_deg else piece.loops
                    pieces.append(replace(piece, loops=loops))
    job = NestJob(
        tuple(pieces),
        sheets,
        spacing=spacing,
        margin=margin,
        seed=rules.seed,
        effort=rules.effort,
        time_limit_s=rules.time_limit_s,
        least_offcut=rules.least_offcut,
    )
    return StockJob(stock, supply, job, sources, face_up)


def _check_number(parts: int, stock: Stock) -> None:
    if parts > MOST_PARTS:
        raise NestError(
            f"{parts} parts of {stock.name or stock.material} are wanted in one run; at most {MOST_PARTS} can be laid out "
            "together, so ask for fewer copies at a time",
            value=parts,
            limit=MOST_PARTS,
        )


def _check_area(members: Sequence[tuple[Batch, Panel]], supply: Supply) -> None:
    """Refuse at once what no layout can hold: more area of parts than there is of sheets."""
    wanted = sum(batch.copies * panel.quantity * panel.area_mm2 for batch, panel in members)
    there = sum(kind.sheet.count * kind.sheet.area_mm2 for kind in supply.kinds)
    if wanted > there:
        listed = ", ".join(f"{kind.sheet.count} of {kind.sheet.id}" for kind in supply.kinds)
        products = {id(batch) for batch, _ in members}
        copies = members[0][0].copies
        most = int(there / wanted * copies) if len(products) == 1 else 0
        fewer = f"ask for {counted(most, 'copy')} at most" if most else "ask for less"
        raise NestError(
            f"the sheets of {supply.stock.name or supply.stock.material} do not suffice: there are {listed} mm, "
            f"{there / 1e6:.3f} m² in all, and the parts have {wanted / 1e6:.3f} m²; {fewer}, or put more sheets into the "
            "shop file",
            value=wanted,
            limit=there,
        )


def _unsized(stock: Stock, shop: Shop | None) -> str:
    """That no sheet of a stock is known, and how to give one: as a design gives its stock, by name or by numbers."""
    told = f"no sheet size is known for {stock.name or stock.material}, so its panels were not laid out; give it as "
    if not stock.name:
        return told + "Stock(…, sheet=(width, height)) or in the shop file"
    table = f'[[stocks."{stock.name}".sheets]] with width_mm and height_mm'
    if shop is None or stock.name not in shop.shelves:
        table += f', after [stocks."{stock.name}"] with based_on = "{stock.name}"'
    return told + f"{table} in the shop file"


def spacing_of(stock: Stock, machine: Machine, rules: SheetRules) -> float:
    """Least distance of two parts in mm: as asked for, else the machine's, or two kerfs where that is less than the kerf.

    Two kerfs, so that two cuts side by side don't run into each other.  Raises `NestError` for a spacing asked for that is less
    than the kerf.

    >>> from panelwright.plates import Stock
    >>> spacing_of(Stock("MDF", 6, kerf=3.175, cutter="router"), Machine(), SheetRules())
    6.35
    """
    if rules.shared_cuts:
        return stock.kerf
    if rules.spacing is None:
        return machine.part_spacing_mm if machine.part_spacing_mm >= stock.kerf else 2 * stock.kerf
    if rules.spacing < stock.kerf:
        raise NestError(
            f"a spacing of {rules.spacing:g} mm is less than the kerf of {stock.name or stock.material}, {stock.kerf:g} mm, so "
            "one cut would eat into the next part; give a larger spacing, or ask for shared cuts",
            value=rules.spacing,
            limit=stock.kerf,
        )
    return rules.spacing


def _piece(
    source: PieceSource, quantity: int, special: PieceRules, rules: SheetRules, smallest: float, *, may_flip: bool
) -> Piece:
    panel = source.panel
    step = ALONG_GRAIN if panel.stock.grain is not None else rules.turn_step_deg
    outer, *holes = (loop.moved(source.mirror) for loop in panel.loops)
    return Piece(
        source.name + TURNED_OVER * source.is_turned_over,
        (outer, *(hole for hole in holes if _is_useful(hole, smallest, rules.least_offcut))),
        quantity,
        turn_step_deg=step if special.turn_step_deg is None else special.turn_step_deg,
        may_flip=may_flip and panel.stock.both_faces_good and not panel.marks,
    )


def _at_an_angle(source: PieceSource, piece: Piece, sheets: Sequence[Sheet], margin: float) -> PieceSource:
    """The source, turned to the angle at which the piece goes on a sheet, if by quarter turns it goes on none.

    Pinned pieces stay as they are, and so do those that may not be turned by quarter turns.
    """
    steps = QUARTER_TURNS / piece.turn_step_deg
    if piece.pin is not None or steps < 1 or steps != round(steps):
        return source
    return replace(source, turn_deg=turn_to_go(source.panel, [(sheet.size, sheet.count) for sheet in sheets], margin))


def _is_useful(hole: Loop, smallest: float, least_offcut: tuple[float, float]) -> bool:
    """Whether a hole is large enough for any piece to lie in it, or for an offcut worth keeping to fall out of it.

    The others only cost time.
    """
    x0, y0, x1, y1 = hole.bounds
    low, high = sorted((x1 - x0, y1 - y0))
    return low > smallest or (low >= min(least_offcut) and high >= max(least_offcut))


def _split(piece: Piece, special: PieceRules) -> list[Piece]:
    """The piece, with one copy of its own if that is pinned to a place."""
    if special.pin is None:
        return [piece]
    if piece.quantity == 1:
        return [replace(piece, pin=special.pin)]
    pinned = replace(piece, id=f"{piece.id} (pinned)", quantity=1, pin=special.pin)
    return [pinned, replace(piece, quantity=piece.quantity - 1)]
