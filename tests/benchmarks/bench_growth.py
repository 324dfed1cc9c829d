"""Products as they grow: nuts on one edge, and plates in one product."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from panelwright.assemblies import Assembly, divider_grid
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.proof.prove import prove
from panelwright.joints import join, t_nut, tabs
from panelwright.plates import Stock, rectangle, standing
from timing import Row, growth, timed

__all__ = ["rows"]

PLY = Stock("birch plywood", 4.0, kerf=0.2, clearance=0.1)
MOST_GROWTH = 1.2
NUTS = (4, 8, 16, 32, 64)
PLATES = (5, 10, 20, 40, 80)


def rows() -> Iterator[Row]:
    """All cases."""
    yield _row(10, "4 to 64 nuts on one edge", NUTS, _nuts, _check_nuts)
    yield _row(11, "a row of 5 to 80 walls tabbed into one base", PLATES, _walls, _check_walls)
    yield _row(12, "a grid of 6 to 82 cross-lapped dividers, 9 to 1,681 crossings", (3, 6, 12, 24, 41), _grid, _check_grid)


def _row(
    number: int, what: str, sizes: Sequence[int], make: Callable[[int], Assembly], check: Callable[[Product, int], int]
) -> Row:
    """Time against what grows: things that `check` counts in the finished product."""
    counts = [check(prove(make(size)), size) for size in sizes]
    times = [timed(partial(lambda size: prove(make(size)), size), 5) for size in sizes]
    exponent = growth(counts, [value.best for value in times])
    last = growth(counts[-2:], [value.best for value in times[-2:]])
    return Row(
        f"{number} {what}: designed, resolved and proved",
        ", ".join(f"{value} at {count:,}" for count, value in zip(counts, times, strict=True)),
        "the same with fewer",
        f"time grows with exponent {exponent:.2f} (the last step {last:.2f})",
        f"<= {MOST_GROWTH}",
        exponent <= MOST_GROWTH,
    )


def _nuts(count: int) -> Assembly:
    shelf = Assembly("jar shelf", stock=PLY)
    base = shelf.add("base", rectangle(2600, 80))
    rear = shelf.add("rear", rectangle(2560, 60), standing(base.face(">Z"), facing="-Y", inset=None))
    join(rear.face("<Z"), base.face(">Z"), t_nut("M3", count=count))
    return shelf


def _check_nuts(product: Product, count: int) -> int:
    if product.findings or len(product.bought) != 2 * count:
        raise AssertionError(f"{count} nuts gave {len(product.bought)} bought parts and {product.findings}")
    return count


def _walls(count: int) -> Assembly:
    rack = Assembly("brush rack", stock=PLY)
    base = rack.add("base", rectangle(120, 20.0 * count + 20))
    for number in range(count):
        inset = 10.0 + 20.0 * number
        wall = rack.add(f"wall {number}", rectangle(100, 40), standing(base.face(">Z"), facing="-Y", inset=inset))
        join(wall.face("<Z"), base.face(">Z"), tabs(count=3, width=12))
    return rack


def _check_walls(product: Product, count: int) -> int:
    if product.findings or len(product.parts) != count + 1:
        raise AssertionError(f"{count} walls gave {len(product.parts)} parts and {product.findings}")
    return count


def _grid(lines: int) -> Assembly:
    size = 40.0 * (lines + 1)
    return divider_grid("cells", stock=PLY, width=size, depth=size, height=40, columns=lines + 1, rows=lines + 1)


def _check_grid(product: Product, lines: int) -> int:
    if product.errors or len(product.joints) != lines**2:
        raise AssertionError(f"{lines} × {lines} dividers gave {len(product.joints)} joints and {product.errors}")
    return lines**2
