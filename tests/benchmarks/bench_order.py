"""The order of assembly beside the proof of the same product: the tile tray, and grids of 60 and of 150 plates.

Growth is that of the processor's time from the smaller grid to the larger one.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator

from bench_tray import design_of
from panelwright.assemblies import Assembly, divider_grid
from panelwright.assemblies.order.planning import plan_of
from panelwright.assemblies.proof.prove import prove
from panelwright.plates import Stock
from timing import Row, timed_beside

__all__ = ["rows"]

PLATES_EACH_WAY = 30
MANY_EACH_WAY = 75
MOST_GROWTH = 2.0
"""The order's time grows with no higher power of the number of plates."""

MOST_SECONDS = 6.0
"""What a grid of 150 plates may take, on one core that does nothing else."""

MOST_OF_PROOF = 1.0
"""The order takes no longer than the proof: shares of its time."""


def rows() -> Iterator[Row]:
    """All cases."""
    yield _beside("tray", design_of("tile_tray"), 5)
    yield _beside(f"grid of {2 * PLATES_EACH_WAY} plates", _grid, 1)
    yield from _many()


def _many() -> Iterator[Row]:
    """A grid of 150 plates: its time by the processor's clock, and how that grows from a grid of 60."""
    few, small = _timed(PLATES_EACH_WAY)
    many, large = _timed(MANY_EACH_WAY)
    yield Row(
        f"order of a grid of {many} plates",
        f"{large:.2f} s of the processor",
        "the limit",
        f"{large / MOST_SECONDS:.2f} x",
        f"<= {MOST_SECONDS:g} s",
        large <= MOST_SECONDS,
    )
    growth = math.log(large / small) / math.log(many / few)
    yield Row(
        f"growth of that from {few} to {many} plates",
        f"{large:.2f} s",
        f"{small:.2f} s",
        f"n^{growth:.2f}",
        f"<= n^{MOST_GROWTH:g}",
        growth <= MOST_GROWTH,
    )


def _timed(each_way: int) -> tuple[int, float]:
    """How many plates a grid has, and seconds of the processor until all of them have their step: the better of two."""
    product = prove(_grid(each_way))
    taken = []
    for _ in range(2):
        start = time.process_time()
        plan = plan_of(product)
        taken.append(time.process_time() - start)
        if plan.unknown or len(plan.steps) < len(product.parts):
            raise AssertionError(f"the grid of {len(product.parts)} plates has no whole order: {plan.unknown}")
    return len(product.parts), min(taken)


def _grid(each_way: int = PLATES_EACH_WAY) -> Assembly:
    stock = Stock("birch plywood", 3.0, measured=3.0, kerf=0.2, clearance=0.1)
    count = each_way + 1
    size = 20.0 * count + stock.t * each_way
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
