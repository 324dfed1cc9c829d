"""The openings of a product in numbers: how far each opens or closes when a sheet or a cut is not as reckoned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from panelwright.assemblies.data.product import Gap, JointRecord, Product
from panelwright.plates.materials.stock import Stock

from .limits import FitLimits, limits_of
from .spreads import WITHIN, Spread, Unknown

if TYPE_CHECKING:
    from panelwright.assemblies.shop.shop_file import Shop

__all__ = ["Alike", "Counted", "HangsOn", "counted_openings"]

HangsOn = Literal["thickness", "cut", "bought"]
"""What goes into an opening: a sheet's thickness, a piece that was cut to its width, or a bought part."""


Alike = tuple[object, ...]
"""What openings have in common that come out alike."""


@dataclass(frozen=True, slots=True)
class Counted:
    """One opening.

    `growth` tells for each spread by how many mm the opening grows for one mm of it.  `own` and `off_place` are standard
    deviations in mm: of what its size, and its place as against what goes in, scatter by themselves.  `joint` is the number of
    its joint in the product.
    """

    joint: int
    kind: str
    gap: Gap
    stocks: tuple[Stock, ...]
    hangs_on: HangsOn
    growth: tuple[float, ...]
    own: float
    off_place: float
    limits: FitLimits

    @property
    def alike(self) -> Alike:
        """What openings have in common that come out alike."""
        return (self.kind, self.stocks, self.hangs_on, round(self.gap.clearance_mm, 6), self.growth)


def counted_openings(product: Product, known: Sequence[Spread | Unknown], shop: Shop | None) -> tuple[tuple[Counted, ...], int]:
    """All openings whose spreads are known, in the order of joints, and how many are left out since theirs are not.

    How deep laps seat is no fit, and not among them.
    """
    stocks = {part.name: part.stock for part in product.parts}
    spreads = (spread for spread in known if isinstance(spread, Spread))
    columns: dict[tuple[Literal["thickness", "kerf"], Stock], int] = {(s.of, s.stock): i for i, s in enumerate(spreads)}
    placed = 0.0 if shop is None else (shop.machine.position_error_mm or 0.0) / WITHIN
    found: list[Counted] = []
    left_out = 0
    for number, joint in enumerate(product.joints):
        for gap in joint.gaps:
            if not gap.per_kerf:
                continue  # how deep laps seat
            opening = _counted(number, joint, gap, stocks, columns, _kerf_spreads(stocks, shop), placed)
            if opening is None:
                left_out += 1
            else:
                found.append(opening)
    return tuple(found), left_out


def _counted(
    number: int,
    joint: JointRecord,
    gap: Gap,
    stocks: dict[str, Stock],
    columns: dict[tuple[Literal["thickness", "kerf"], Stock], int],
    scatter: dict[str, float],
    placed: float,
) -> Counted | None:
    growth = [0.0] * len(columns)
    changes: list[tuple[Literal["thickness", "kerf"], str, float]] = [
        *(("thickness", plate, -share) for plate, share in gap.per_thickness),
        *(("kerf", plate, share) for plate, share in gap.per_kerf),
    ]
    for of, plate, share in changes:
        column = columns.get((of, stocks[plate]))
        if column is None:
            return None
        growth[column] += share
    cut = len(gap.per_kerf)
    goes_in = stocks[gap.insert or gap.opening]
    return Counted(
        number,
        joint.kind,
        gap,
        tuple(dict.fromkeys(stocks[name] for name in (gap.opening, gap.insert) if name)),
        "thickness" if gap.per_thickness else "cut" if gap.insert else "bought",
        tuple(growth),
        sum((share * scatter[plate]) ** 2 for plate, share in gap.per_kerf) ** 0.5,
        placed * cut**0.5,
        limits_of(goes_in),
    )


def _kerf_spreads(stocks: dict[str, Stock], shop: Shop | None) -> dict[str, float]:
    """For each plate the standard deviation in mm of its stock's kerf from place to place; 0 where the shop states none."""
    found: dict[str, float] = {}
    for plate, stock in stocks.items():
        shelf = shop.shelf(stock.name) if shop is not None and stock.name and stock.name in shop else None
        found[plate] = 0.0 if shelf is None or shelf.kerf_spread_mm is None else shelf.kerf_spread_mm / WITHIN
    return found
