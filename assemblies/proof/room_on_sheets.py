"""Whether panels go on the sheets that are there: all that is known of it before anything is laid out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.nest.shapes.any_angle import goes_turned, hull_of, turn_onto
from panelwright.assemblies.shop.shelf import Machine
from panelwright.assemblies.shop.shop_file import Shop
from panelwright.assemblies.shop.supply import Supply, supply_of
from panelwright.plates.errors import NestError
from panelwright.plates.materials.stock import Stock
from panelwright.plates.tolerances import SHEET_SLACK

from .stock_findings import bed_findings, too_large_words

__all__ = ["left_findings", "room_findings", "turn_to_go", "with_room"]

CODES = frozenset({"BED", "SHEET", "SUPPLY"})


def room_findings(
    panels: Sequence[Panel], shop: Shop | None, *, margin: float | None = None, lays_out: bool = True
) -> list[Finding]:
    """Errors for panels that the machine or the sheets cannot take, whatever is tried afterwards.

    `BED`: the machine's bed.  `SHEET`: no sheet is large enough, less the margin all round (in mm; None takes the machine's).
    `SUPPLY`: sheets of that stock are used up, or all that are left are smaller in area than the panels.  Without
    `lays_out`, when no sheets are wanted, margins and what is left do not count.  Panels are held against the boxes of sheets:
    along the grain if there is one, else at any angle; what fits so may still fit on no offcut of an odd shape.
    """
    machine = Machine() if shop is None else shop.machine
    findings = bed_findings(panels, machine)
    least = 0.0 if not lays_out else machine.edge_margin_mm if margin is None else margin
    for stock in dict.fromkeys(panel.stock for panel in panels):
        members = [panel for panel in panels if panel.stock == stock]
        supply, empty = None, ""
        try:
            supply = supply_of(stock, shop, sum(panel.quantity for panel in members))
        except NestError as error:
            empty = str(error)
        if lays_out and empty:
            findings.append(_supply(members, empty))
        large = _large(members, stock, supply if lays_out else None, least)
        findings += large
        if lays_out and supply is not None and not large:
            findings += _short(members, supply)
    return findings


def with_room(product: Product, shop: Shop | None, *, margin: float | None = None, lays_out: bool = True) -> Product:
    """A product with these findings made anew, for another margin or for no sheets at all."""
    kept = [finding for finding in product.findings if finding.code not in CODES]
    errors = [finding for finding in kept if finding.level == "error"]
    room = room_findings(product.panels, shop, margin=margin, lays_out=lays_out)
    return replace(product, findings=(*errors, *room, *(finding for finding in kept if finding.level != "error")))


def left_findings(panels: Sequence[Panel], supply: Supply, margin: float) -> list[Finding]:
    """`SUPPLY` for panels that only sheets could take of which none is left."""
    return [finding for finding in _large(panels, supply.stock, supply, margin) if finding.code == "SUPPLY"]


def turn_to_go(panel: Panel, sheets: Sequence[tuple[tuple[float, float], int]], margin: float) -> float:
    """The angle in degrees to lay a panel at that goes on none of some sheets by quarter turns; 0 for all others.

    `sheets` are sizes in mm and how many there are of each.  Of the angles with the most room on one of them it is the one
    at which most sheets take the panel.
    """
    if panel.stock.grain is not None or any(_goes_squarely(panel, size, margin) for size, _ in sheets):
        return 0.0
    turns = [turn for size, _ in sheets if (turn := turn_onto(panel.loops, _less(size, margin))) is not None]
    if len(set(turns)) < 2:
        return turns[0] if turns else 0.0
    corners = hull_of(panel.loops)
    return max(turns, key=lambda turn: sum(count for size, count in sheets if goes_turned(corners, turn, _less(size, margin))))


def _large(panels: Sequence[Panel], stock: Stock, supply: Supply | None, margin: float) -> list[Finding]:
    """Panels larger than every sheet; of those that only sheets used up could take it is told that none is left.

    `supply` is what is left; None if that does not matter, and then the size that the stock states counts.
    """
    findings: list[Finding] = []
    sizes = [stock.sheet] if stock.sheet is not None else []
    used_up: list[tuple[float, float]] = []
    if supply is not None:
        sizes = [kind.sheet.size for kind in supply.kinds]
        shelf = supply.shelf
        used_up = [] if shelf is None else [(full.width_mm, full.height_mm) for full in shelf.sheets if full.count == 0]
    for panel in panels:
        if not sizes or _goes(panel, sizes, margin):
            continue
        if _goes(panel, used_up, margin):
            text = (
                f"no sheet of {_called(stock)} that panel {panel.name!r} of {_size(panel.bbox_mm)} mm goes on is left, only "
                f"{', '.join(map(_size, sizes))} mm; put more sheets into the shop file, or leave the sheets out"
            )
            findings.append(_supply([panel], text))
            continue
        (w, h), (sw, sh) = panel.bbox_mm, max(sizes, key=lambda size: size[0] * size[1])
        is_margin = _goes(panel, sizes, 0.0)
        left = _size((max(0.0, sw - 2 * margin), max(0.0, sh - 2 * margin)))
        less = f" with a margin of {margin:g} mm all round, which leaves {left} mm" if is_margin else ""
        room = (max(0.0, sw - 2 * margin), max(0.0, sh - 2 * margin)) if is_margin else (sw, sh)
        mend = ("lower the margin; too large " if is_margin else "") + too_large_words(
            panel, room, may_turn=stock.grain is None, may_slant=stock.grain is None
        )
        angles = ", at any angle," if stock.grain is None else ""
        numbers = {"width_mm": w, "height_mm": h, "sheet_width_mm": sw, "sheet_height_mm": sh}
        findings.append(
            Finding(
                "error",
                "SHEET",
                panel.plates,
                f"panel {panel.name!r} is {w:.1f} × {h:.1f} mm and does not go{angles} on a sheet of {stock.material} of "
                f"{sw:g} × {sh:g} mm{less}{'; ' if is_margin else ', '}{mend}",
                None,
                {**numbers, "margin_mm": margin} if is_margin else numbers,
            )
        )
    return findings


def _short(panels: Sequence[Panel], supply: Supply) -> list[Finding]:
    """An error if all that is left of a stock is smaller in area than its panels."""
    wanted = sum(panel.quantity * panel.area_mm2 for panel in panels)
    there = sum(kind.sheet.count * kind.sheet.area_mm2 for kind in supply.kinds)
    if wanted <= there:
        return []
    listed = ", ".join(f"{kind.sheet.count} of {kind.sheet.id}" for kind in supply.kinds)
    text = (
        f"the sheets of {_called(supply.stock)} do not suffice: there are {listed} mm, {there / 1e6:.3f} m², and the panels "
        f"take {wanted / 1e6:.3f} m²; put more sheets into the shop file, or leave the sheets out"
    )
    return [_supply(panels, text, {"wanted_mm2": wanted, "left_mm2": there})]


def _supply(panels: Sequence[Panel], text: str, numbers: dict[str, float] | None = None) -> Finding:
    return Finding("error", "SUPPLY", tuple(name for panel in panels for name in panel.plates), text, None, numbers or {})


def _goes(panel: Panel, sizes: Sequence[tuple[float, float]], margin: float) -> bool:
    """Whether a panel goes on one of some sheets: by quarter turns, else, where there is no grain, at an angle."""
    if any(_goes_squarely(panel, size, margin) for size in sizes):
        return True
    return panel.stock.grain is None and any(turn_onto(panel.loops, _less(size, margin)) is not None for size in sizes)


def _goes_squarely(panel: Panel, size: tuple[float, float], margin: float) -> bool:
    (w, h), (sw, sh) = panel.bbox_mm, (side + SHEET_SLACK for side in _less(size, margin))
    return (w <= sw and h <= sh) or (panel.stock.grain is None and h <= sw and w <= sh)


def _less(size: tuple[float, float], margin: float) -> tuple[float, float]:
    return (size[0] - 2 * margin, size[1] - 2 * margin)


def _size(size: tuple[float, float]) -> str:
    return f"{size[0]:.6g} × {size[1]:.6g}"


def _called(stock: Stock) -> str:
    return stock.name or f"{stock.material} {stock.thickness:g} mm"
