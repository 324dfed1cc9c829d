"""What a gap feels like: which clearances jam, press, hold snugly, slide or rattle in a stock.

The limits come from the stock's own fits, as the coupon gave them to hand and ear: tighter than its press fit nothing goes in
with a mallet; between two fits the one that is nearer has it; and as far beyond the sliding fit as that is from half way to
the snug one, parts rattle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.assemblies.shop.sheet_tolerance import COMMON_FITS
from panelwright.plates.materials.stock import Stock
from panelwright.plates.tolerances import ROUNDING

if TYPE_CHECKING:
    import numpy as np

__all__ = ["FEELS", "FitLimits", "limits_of"]

FEELS = ("jams", "presses", "snug", "slides", "rattles")
"""How a fit can come out, from tight to loose."""


@dataclass(frozen=True, slots=True)
class FitLimits:
    """The gaps in mm at which one feel gives way to the next: below `press` it jams, from `loose` on it rattles."""

    press: float
    snug: float
    sliding: float
    loose: float

    def shares(self, gaps: np.ndarray) -> dict[str, float]:
        """The share of gaps that feels like each of `FEELS`; they sum to 1.

        >>> import numpy as np
        >>> limits = limits_of(Stock("birch plywood", 4, clearance=0.05, press=-0.05, sliding=0.2))
        >>> limits.shares(np.array([-0.1, 0.0, 0.05, 0.2]))
        {'jams': 0.25, 'presses': 0.0, 'snug': 0.5, 'slides': 0.25, 'rattles': 0.0}
        """
        import numpy as np

        edges = np.array([self.press, self.snug, self.sliding, self.loose]) - ROUNDING
        places = np.searchsorted(edges, gaps, side="right")
        counts = np.bincount(places, minlength=len(FEELS))
        return {feel: float(count) / len(gaps) for feel, count in zip(FEELS, counts, strict=True)}


def limits_of(stock: Stock) -> FitLimits:
    """The limits of a stock; a press or a sliding fit that nobody has tried is that of common practice.

    >>> limits_of(Stock("birch plywood", 4, clearance=0.1, press=0.0, sliding=0.2))
    FitLimits(press=0.0, snug=0.05, sliding=0.15, loose=0.25)
    """
    snug = stock.clearance
    press = min(COMMON_FITS["press"], snug) if stock.press is None else stock.press
    sliding = max(COMMON_FITS["sliding"], snug) if stock.sliding is None else stock.sliding
    half = (sliding - snug) / 2
    return FitLimits(press, (press + snug) / 2, round(snug + half, 9), round(sliding + half, 9))
