"""What a run costs: sheets, machine time and hardware, by the prices and speeds that the shop file knows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from panelwright.assemblies.shop.shop_file import Shop
from panelwright.plates._validate import instance, items

from .plan import CutSheet, SheetPlan
from .request import Batch

__all__ = ["Cost", "cost_of"]


@dataclass(frozen=True, slots=True)
class Cost:
    """Costs of a run in the shop's currency; None where a price or a speed is not known.

    - `sheets`: price of every sheet that is begun; offcuts are free, since their sheet has been paid for.
    - `material`: the same by area: what the parts take of the sheets' prices, which is what remains when offcuts are kept.
    - `machine`: time on the machine at its price an hour.
    - `hardware`: screws and nuts.
    - `missing`: what has no price or speed, in words.
    - `has_shop`: whether there is a shop file that could state them.
    """

    sheets: float | None
    material: float | None
    machine: float | None
    hardware: float | None
    currency: str
    missing: tuple[str, ...]
    has_shop: bool = False

    def __repr__(self) -> str:
        known = f"material {self.material}, machine {self.machine}, hardware {self.hardware} {self.currency}".rstrip()
        return f"<Cost: {known}, {len(self.missing)} not known>"

    @property
    def total(self) -> float | None:
        """Sheets, machine and hardware; None if one of them is not known."""
        parts = (self.sheets, self.machine, self.hardware)
        return None if any(part is None for part in parts) else sum(part for part in parts if part is not None)


def cost_of(plan: SheetPlan, batches: Sequence[Batch], shop: Shop | None) -> Cost:
    """What a plan costs.  Without a shop nothing has a price.

    `plan` is what `lay_sheets` gave for the same `batches` and `shop`.  Raises `ArgumentError` for what is none of these.

    >>> cost_of(SheetPlan((), ()), (), None).total
    0.0
    """
    instance(plan, SheetPlan, "plan given to cost_of()", "give what lay_sheets() returns")
    for batch in items(batches, "batches given to cost_of()", "give a list of Batch(…)"):
        instance(batch, Batch, "batch given to cost_of()", "give Batch(assembly.product())")
    if shop is not None:
        instance(shop, Shop, "shop given to cost_of()", "give a Shop or None")
    missing: list[str] = []
    sheets = _sum([sheet.kind.price for sheet in plan.sheets])
    material = _sum([_by_area(sheet) for sheet in plan.sheets])
    wanted = {panel.stock: None for batch in batches for panel in batch.product.panels}
    unlaid = [stock for stock in wanted if stock not in {sheet.stock for sheet in plan.sheets}]
    missing += [f"sheet size of {stock.name or stock.material}" for stock in unlaid]
    unpriced = [sheet for sheet in plan.sheets if sheet.kind.price is None]
    if unpriced:
        names = sorted({f"{sheet.stock.name or sheet.stock.material} {sheet.kind.sheet.id}" for sheet in unpriced})
        missing.append(f"price of sheets {', '.join(names)}")
    rate = None if shop is None else shop.machine.cost_per_hour
    times = [None if sheet.time is None else sheet.time.total_s for sheet in plan.sheets]
    seconds = _sum(times)
    machine = None if rate is None or seconds is None else rate * seconds / 3600
    if not plan.sheets:
        machine = 0.0
    elif rate is None:
        missing.append("cost_per_hour of the machine")
    if seconds is None:
        missing.append("cutting speed of the stock")
    missing += _untimed(plan)
    hardware_costs: list[float | None] = []
    for batch in batches:
        for item in batch.product.hardware:
            price = None if shop is None else shop.price_of(item.designation)
            hardware_costs.append(None if price is None else price * item.quantity * batch.copies)
            if price is None:
                missing.append(f"price of {item.designation}")
    if unlaid:  # what is on no sheet has no price and no time yet
        sheets = material = machine = None
    currency = "" if shop is None else shop.currency
    has_shop = shop is not None and bool(shop.file)
    return Cost(sheets, material, machine, _sum(hardware_costs), currency, tuple(dict.fromkeys(missing)), has_shop)


def _untimed(plan: SheetPlan) -> list[str]:
    """What the times told leave out or take for something else, in words."""
    found: list[str] = []
    for sheet in plan.sheets:
        unknown = () if sheet.time is None else sheet.time.missing
        if "marking speed" in unknown and any(path.kind == "mark" for path in sheet.paths):
            found.append(f"marking speed of {sheet.stock.name or sheet.stock.material} (marks are timed as cuts)")
        if "travel speed" in unknown:
            found.append("travel speed of the machine (ways between cuts are not timed)")
        if "acceleration" in unknown:
            found.append("acceleration of the machine (slowing down is not timed)")
    return found


def _by_area(sheet: CutSheet) -> float | None:
    return None if sheet.kind.price is None else sheet.kind.price * sheet.utilisation


def _sum(values: Sequence[float | None]) -> float | None:
    """The sum, None if one of the values is not known."""
    known = [value for value in values if value is not None]
    return sum(known, 0.0) if len(known) == len(values) else None
