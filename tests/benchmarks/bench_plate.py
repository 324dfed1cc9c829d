"""One plate with many slots: beside CadQuery slot by slot, beside itself as slots grow, and beside the bare kernel."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any

from boards import BOARD, SLOT, THICKNESS, cadquery_board, kernel_board, kernel_wires, slotted
from panelwright.plates import Plate, Stock
from panelwright.plates._kernel.solids.build import plate_solid
from panelwright.plates._kernel.solids.read import loops_of_plate, volume_of
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.geometry.region import pieces
from timing import Row, growth, milliseconds, power_law, timed, timed_beside

__all__ = ["rows"]

STOCK = Stock("birch plywood", THICKNESS)
FASTER_THAN_CADQUERY = 500.0
MOST_GROWTH = 1.2
MOST_OVER_KERNEL = 2.0


def rows(*, full: bool = False) -> Iterator[Row]:
    """All cases; `full` measures CadQuery on 320 slots, which takes minutes, instead of extrapolating."""
    yield _beside_cadquery(full)
    yield _growth()
    yield from _beside_kernel()


def _built(slots: int) -> Any:
    return plate_solid(pieces(slotted(slots).loops), THICKNESS)


def _built_and_read(slots: int) -> tuple[Loop, ...]:
    return loops_of_plate(_built(slots), THICKNESS)


def _check_volume(solid: Any, slots: int) -> None:
    """The answer must be right before its time counts."""
    wanted = (BOARD[0] * BOARD[1] - slots * SLOT[0] * SLOT[1]) * THICKNESS
    found = volume_of(solid)
    if abs(found - wanted) > 1e-3:
        raise AssertionError(f"a board of {slots} slots has {found:.4f} mm³ where {wanted:.4f} is right")


def _beside_cadquery(full: bool) -> Row:
    slots = 320

    def ours() -> Any:
        return Plate(slotted(slots), STOCK).to_cadquery()

    _check_volume(ours().wrapped, slots)
    mine = timed(ours, 9)
    if full:
        _check_volume(cadquery_board(20).wrapped, 20)
        other = timed(partial(cadquery_board, slots), 1, warm=0).best
        note = "measured once"
    else:
        sizes = (20, 40, 80)
        _check_volume(cadquery_board(sizes[0]).wrapped, sizes[0])
        times = [timed(partial(cadquery_board, size), 2 if size < 80 else 1, warm=0).best for size in sizes]
        factor, exponent = power_law(sizes, times)
        other = factor * slots**exponent
        seen = ", ".join(f"{milliseconds(value)} at {size}" for size, value in zip(sizes, times, strict=True))
        note = f"extrapolated by the fitted power law with exponent {exponent:.2f} from {seen}; --full measures it"
    ratio = other / mine.best
    return Row(
        "1 one plate, 320 slots, cut and extruded",
        str(mine),
        f"CadQuery cut slot by slot {milliseconds(other)} ({note})",
        f"{ratio:,.0f} x faster",
        f">= {FASTER_THAN_CADQUERY:.0f} x",
        ratio >= FASTER_THAN_CADQUERY,
    )


def _growth() -> Row:
    sizes = (80, 320, 1600, 3200)
    for size in sizes:
        loops = _built_and_read(size)
        if len(loops) != size + 1:
            raise AssertionError(f"a board of {size} slots gave {len(loops)} loops")
    times = [timed(partial(_built_and_read, size), 7 if size <= 320 else 4) for size in sizes]
    exponent = growth(sizes, [value.best for value in times])
    by_median = growth(sizes, [value.median for value in times])
    last = growth(sizes[-2:], [value.best for value in times[-2:]])
    return Row(
        "2 one plate, 80 to 3,200 slots, cut, extruded and read back",
        ", ".join(f"{value} at {size:,}" for size, value in zip(sizes, times, strict=True)),
        "the same plate with fewer slots",
        f"time grows with exponent {exponent:.2f} (by medians {by_median:.2f}, from 1,600 to 3,200 {last:.2f})",
        f"<= {MOST_GROWTH}",
        exponent <= MOST_GROWTH,
    )


def _beside_kernel() -> Iterator[Row]:
    slots = 320
    wires = kernel_wires(slots)
    _check_volume(_built(slots), slots)
    _check_volume(kernel_board(wires), slots)
    mine, theirs = timed_beside(partial(_built, slots), partial(kernel_board, wires), 15)
    ratio = mine.best / theirs.best
    yield Row(
        "3 one plate, 320 slots, cut and extruded",
        str(mine),
        f"bare kernel given the wires {theirs}",
        f"{ratio:.2f} x (medians {mine.median / theirs.median:.2f} x)",
        f"<= {MOST_OVER_KERNEL:g} x",
        ratio <= MOST_OVER_KERNEL,
    )
    mine, theirs = timed_beside(partial(_built_and_read, slots), partial(kernel_board, wires), 9)
    ratio = mine.best / theirs.best
    yield Row(
        "3 the same, with all loops read back from the solid",
        str(mine),
        f"bare kernel given the wires {theirs}",
        f"{ratio:.2f} x (medians {mine.median / theirs.median:.2f} x)",
        "none",
        None,
    )
