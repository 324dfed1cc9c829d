"""The order of assembly beside the proof of the same product: the tile tray, and a grid of 60 plates."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from bench_tray import design_of
from panelwright.assemblies import Assembly, divider_grid
from panelwright.assemblies.order.planning import plan_of
from panelwright.assemblies.proof.prove import prove
from panelwright.plates import Stock
from timing import Row, timed_beside

__all__ = ["rows"]

PLATES_EACH_WAY = 30
MOST_OF_PROOF = 1.0
"""The order takes no longer than the proof: shares of its time."""


def rows() -> Iterator[Row]:
    """All cases."""
    yield _beside("tray", design_of("tile_tray"), 5)
    yield _beside(f"grid of {2 * PLATES_EACH_WAY} plates", _grid, 1)


def _grid() -> Assembly:
    stock = Stock("birch plywood", 3.0, measured=3.0, kerf=0.2, clearance=0.1)
    count = PLATES_EACH_WAY + 1
    size = 20.0 * count + stock.t * PLATES_EACH_WAY
    return divider_grid("cells", stock=stock, width=size, depth=size, height=30, columns=count, rows=count)


def _beside(what: str, design: Callable[[], Assembly], repeats: int) -> Row:
    product = prove(design())
    plan = plan_of(product)
    if plan.unknown or not plan.steps:
        raise AssertionError(f"the {what} has no order: {plan.unknown}")
    mine, theirs = timed_beside(lambda: plan_of(product), lambda: prove(design()), repeats)
    ratio = mine.best / theirs.best
    return Row(
        f"order of the {what}, {len(plan.steps)} steps",
        str(mine),
        f"designed, resolved and proved {theirs}",
        f"{ratio:.2f} x (medians {mine.median / theirs.median:.2f} x)",
        f"<= {MOST_OF_PROOF:g} x",
        ratio <= MOST_OF_PROOF,
    )
