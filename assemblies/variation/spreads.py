"""How far a sheet's thickness and a cut's kerf may be off what the design reckons with, and who says so.

What was measured with a stated ± is drawn from a normal distribution, of which the ± is 95 parts in 100; what is only known to
lie between two limits is drawn evenly, as the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008, 4.3.7)
has it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

from panelwright.plates.materials.stock import Stock

if TYPE_CHECKING:
    from panelwright.assemblies.shop.shop_file import Shop

__all__ = ["PUBLISHED_KERF", "STATED", "WITHIN", "Spread", "Unknown", "measured_instead", "spreads_of"]

WITHIN = NormalDist().inv_cdf(0.975)
"""How many standard deviations lie between the mean and either limit of 95 parts in 100: 1.96."""

STATED = 0.05
"""± in mm of a thickness or a kerf that was measured without saying how well: common practice, no source."""

PUBLISHED_KERF = 0.08
"""Limits in mm about a published kerf: the most by which two published kerfs of one sheet differ, 0.15 and 0.229 for acrylic of
3 mm (laserengravingservice.co.uk artwork guide; laser504.com/kerfs-and-laser-thickness)."""


@dataclass(frozen=True, slots=True)
class Spread:
    """What one number of a stock may differ from the value reckoned with, in mm: from `low` to `high`.

    `is_even` if every value between them is as likely as another; else they hold 95 parts in 100 of a normal distribution.
    `is_measured` says whether a caliper was there.
    """

    of: Literal["thickness", "kerf"]
    stock: Stock
    low: float
    high: float
    is_even: bool
    is_measured: bool
    why: str

    @property
    def name(self) -> str:
        """What it is, for people.

        >>> Spread("kerf", Stock("birch plywood", 4), -0.08, 0.08, True, False, "published").name
        "kerf of 'birch plywood'"
        """
        return f"{self.of} of {self.stock.name or self.stock.material!r}"

    @property
    def variance(self) -> float:
        """The variance in mm²: a twelfth of the square of an even width; of a normal one the square of half of it over 1.96."""
        width = self.high - self.low
        return width * width / 12 if self.is_even else (width / 2 / WITHIN) ** 2

    def quantiles(self, shares: Iterable[float]) -> list[float]:
        """The differences in mm below which these shares of all sheets or runs lie.

        >>> Spread("thickness", Stock("birch plywood", 4), -0.5, 0.3, True, False, "EN 315").quantiles([0.0, 0.25])
        [-0.5, -0.3]
        """
        middle = (self.low + self.high) / 2
        if self.is_even:
            return [self.low + share * (self.high - self.low) for share in shares]
        half = (self.high - self.low) / 2
        if half == 0:
            return [middle for _ in shares]
        normal = NormalDist(middle, half / WITHIN)
        return [normal.inv_cdf(share) for share in shares]


@dataclass(frozen=True, slots=True)
class Unknown:
    """A number of a stock of which nobody knows how far it may be off, and why."""

    of: Literal["thickness", "kerf"]
    stock: Stock
    why: str

    @property
    def name(self) -> str:
        """What it is, for people."""
        return f"{self.of} of {self.stock.name or self.stock.material!r}"


def spreads_of(stocks: Iterable[Stock], shop: Shop | None) -> list[Spread | Unknown]:
    """Thickness and kerf of each stock, in the order given, as the shop's readings, standards and sources have them.

    >>> ply = Stock("birch plywood", 4, measured=3.9, kerf=0.2)
    >>> [(spread.name, spread.high, spread.why) for spread in spreads_of([ply], None)]
    ... # doctest: +NORMALIZE_WHITESPACE
    [("thickness of 'birch plywood'", 0.05, 'measured, its ± not stated'),
     ("kerf of 'birch plywood'", 0.05, 'stated in the design, its ± not stated')]
    """
    found: list[Spread | Unknown] = []
    for stock in dict.fromkeys(stocks):
        stated = _stated(stock, shop)
        found += [_thickness(stock, stated.get("measured_mm")), _kerf(stock, stated.get("kerf_mm"))]
    return found


def measured_instead(spread: Spread) -> Spread:
    """The same number once it is measured: the design then reckons with what the caliper says, give or take `STATED`."""
    return replace(spread, low=-STATED, high=STATED, is_even=False, is_measured=True, why="if measured")


def _stated(stock: Stock, shop: Shop | None) -> dict[str, float]:
    """The ± of each reading that the shop's file states for a stock; none for what the design has altered."""
    if shop is None or not stock.name or stock.name not in shop or shop[stock.name] != stock:
        return {}
    return shop.shelf(stock.name).uncertainty


def _thickness(stock: Stock, plus_minus: float | None) -> Spread | Unknown:
    if stock.measured is not None:
        if plus_minus is not None:
            return Spread("thickness", stock, -plus_minus, plus_minus, False, True, "measured")
        return Spread("thickness", stock, -STATED, STATED, False, True, "measured, its ± not stated")
    if stock.tolerance is None:
        return Unknown("thickness", stock, "not measured, and its tolerance is not known")
    said = next((source for key, source in stock.sources if key.startswith("tolerance_")), "")
    why = f"not measured; tolerance as sold{said and ': '}{said}"
    return Spread("thickness", stock, *stock.tolerance, True, False, why)


def _kerf(stock: Stock, plus_minus: float | None) -> Spread | Unknown:
    if stock.cutter == "knife":
        return Spread("kerf", stock, 0.0, 0.0, False, True, "a knife takes nothing away")
    if plus_minus is not None:
        return Spread("kerf", stock, -plus_minus, plus_minus, False, True, "measured")
    if stock.kerf == 0:
        return Unknown("kerf", stock, f"it is 0, which no {stock.cutter} has")
    if stock.is_calibrated:
        return Spread("kerf", stock, -STATED, STATED, False, True, "measured, its ± not stated")
    if stock.is_stated:
        return Spread("kerf", stock, -STATED, STATED, False, True, "stated in the design, its ± not stated")
    return Spread("kerf", stock, -PUBLISHED_KERF, PUBLISHED_KERF, True, False, "as published, not measured on this machine")
