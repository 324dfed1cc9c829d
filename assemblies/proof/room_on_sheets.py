"""Whether panels go on the sheets that are there: all that is known of it before anything is laid out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.shop.shelf import Machine
from panelwright.assemblies.shop.shop_file import Shop
from panelwright.assemblies.shop.supply import Supply, supply_of
from panelwright.plates.errors import NestError
from panelwright.plates.materials.stock import Stock
from panelwright.plates.tolerances import SHEET_SLACK

from .stock_findings import bed_findings, too_large_words

__all__ = ["left_findings", "room_findings", "with_room"]

CODES = frozenset({"BED", "SHEET", "SUPPLY"})


def room_findings(
    panels: Sequence[Panel], shop: Shop | None, *, margin: float | None = None, lays_out: bool = True
) -> list[Finding]:
    """Errors for panels that the machine or the sheets cannot take, whatever is tried afterwards.

    `BED`: the machine's bed.  `SHEET`: no sheet is large enough, less the margin all round (in mm; None takes the machine's).
    `SUPPLY`: sheets of that stock are used up, or all that are left are smaller in area than the panels.  Without
    `lays_out`, when no sheets are wanted, margins and what is left do not count.  Panels are held against sheets by their
    boxes, in quarter turns, along the grain if there is one; what fits so may still fit on no offcut of an odd shape.
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
        if not sizes or any(_goes(panel, size, margin) for size in sizes):
            continue
        if any(_goes(panel, size, margin) for size in used_up):
            text = (
                f"no sheet of {_called(stock)} that panel {panel.name!r} of {_size(panel.bbox_mm)} mm goes on is left, only "
                f"{', '.join(map(_size, sizes))} mm; put more sheets into the shop file, or leave the sheets out"
            )
            findings.append(_supply([panel], text))
            continue
        (w, h), (sw, sh) = panel.bbox_mm, max(sizes, key=lambda size: size[0] * size[1])
        is_margin = any(_goes(panel, size, 0.0) for size in sizes)
        left = _size((max(0.0, sw - 2 * margin), max(0.0, sh - 2 * margin)))
        less = f" with a margin of {margin:g} mm all round, which leaves {left} mm" if is_margin else ""
        room = (max(0.0, sw - 2 * margin), max(0.0, sh - 2 * margin)) if is_margin else (sw, sh)
        mend = ("lower the margin; too large " if is_margin else "") + too_large_words(
            panel, room, may_turn=stock.grain is None
        )
        numbers = {"width_mm": w, "height_mm": h, "sheet_width_mm": sw, "sheet_height_mm": sh}
        findings.append(
            Finding(
                "error",
                "SHEET",
                panel.plates,
                f"panel {panel.name!r} is {w:.1f} × {h:.1f} mm and does not go on a sheet of {stock.material} of "
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


def _goes(panel: Panel, size: tuple[float, float], margin: float) -> bool:
    (w, h), (sw, sh) = panel.bbox_mm, (size[0] - 2 * margin + SHEET_SLACK, size[1] - 2 * margin + SHEET_SLACK)
    return (w <= sw and h <= sh) or (panel.stock.grain is None and h <= sw and w <= sh)


def _size(size: tuple[float, float]) -> str:
    return f"{size[0]:.6g} × {size[1]:.6g}"


def _called(stock: Stock) -> str:
    return stock.name or f"{stock.material} {stock.thickness:g} mm"
