"""The tile tray of twelve plates: its proof beside 3D booleans, and its whole build beside the kernel's STEP writer.

The kiln timer's build too, whose screws and nuts are modelled, proved and written with its plates.
"""

from __future__ import annotations

import importlib.util
import tempfile
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from panelwright.assemblies import Assembly
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.output.folder import write_product
from panelwright.assemblies.proof.interference import Slab, all_pairs, common_volume
from panelwright.assemblies.proof.prove import prove
from panelwright.plates import Frame
from panelwright.plates._kernel.files.step import write_step
from panelwright.plates._kernel.solids.booleans import common_of
from panelwright.plates.geometry.probe import Probe
from timing import Row, timed_beside

__all__ = ["design_of", "rows"]

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PLATES = 12
FASTER_THAN_BOOLEANS = 30.0
MOST_OVER_STEP = 2.5
MOST_OVER_STEP_WITH_HARDWARE = 3.0
SAME_VOLUME = 1e-3
"""Largest difference in mm³ between the proof's answers and the booleans'."""

Placed = tuple[str, Frame, Part]


def rows() -> Iterator[Row]:
    """All cases."""
    design = design_of("tile_tray")
    product = prove(design())
    if len(product.parts) != PLATES or product.errors:
        raise AssertionError(f"the tray has {len(product.parts)} plates and these errors: {product.errors}")
    yield from _proof(design, product)
    yield _build("5 the tray", "tile_tray", MOST_OVER_STEP)
    yield _build("5 the kiln timer", "kiln_timer", MOST_OVER_STEP_WITH_HARDWARE)


def design_of(example: str) -> Callable[[], Assembly]:
    """The design function of an example."""
    spec = importlib.util.spec_from_file_location(example, EXAMPLES / f"{example}.py")
    if spec is None or spec.loader is None:
        raise AssertionError(f"{EXAMPLES / example}.py cannot be loaded")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    design: Callable[[], Assembly] = module.design
    return design


def _slabs(placed: Sequence[Placed]) -> list[Slab]:
    return [Slab(name, frame, part.stock.t, Probe(part.loops), part.solid) for name, frame, part in placed]


def _by_proof(placed: Sequence[Placed]) -> dict[tuple[str, str], float]:
    return {(a.name, b.name): common_volume(a, b)[0] for a, b in all_pairs(_slabs(placed))}


def _by_booleans(placed: Sequence[Placed], pairs: Sequence[tuple[str, str]]) -> dict[tuple[str, str], float]:
    solids = {name: (part.solid, frame) for name, frame, part in placed}
    return {(a, b): common_of(solids[a], solids[b])[0] for a, b in pairs}


def _check_same(placed: Sequence[Placed], least: int) -> None:
    """Both ways must find the same volumes, and at least so many that are not zero."""
    ours = _by_proof(placed)
    theirs = _by_booleans(placed, list(ours))
    for pair, volume in ours.items():
        if abs(volume - theirs[pair]) > SAME_VOLUME:
            raise AssertionError(f"{pair} share {volume:.6f} mm³ by the proof and {theirs[pair]:.6f} by the boolean")
    found = sum(volume > SAME_VOLUME for volume in ours.values())
    if found < least:
        raise AssertionError(f"{found} pairs share material where {least} or more should")


def _proof(design: Callable[[], Assembly], product: Product) -> Iterator[Row]:
    placed: list[Placed] = [(part.name, part.frame, part) for part in product.parts]
    # once the grid is moved, tabs and laps miss their slots: answers other than zero must agree too
    moved: list[Placed] = [
        (name, frame.shifted((1.3, 0.7, 0.45)) if name.startswith("cells.along") else frame, part)
        for name, frame, part in placed
    ]
    _check_same(placed, least=0)
    _check_same(moved, least=10)
    pairs = list(_by_proof(placed))
    for what, these in (("", placed), (", one part of the grid moved so that plates collide", moved)):
        its_pairs = list(_by_proof(these))
        mine, theirs = timed_beside(partial(_by_proof, these), partial(_by_booleans, these, its_pairs), 9)
        ratio = theirs.best / mine.best
        yield Row(
            f"4 interference of the tray's {len(its_pairs)} neighbouring pairs{what}",
            str(mine),
            f"3D booleans of the same pairs, same answers {theirs}",
            f"{ratio:.1f} x faster (medians {theirs.median / mine.median:.1f} x)",
            f">= {FASTER_THAN_BOOLEANS:g} x" if these is placed else "none",
            ratio >= FASTER_THAN_BOOLEANS if these is placed else None,
        )
    mine, theirs = timed_beside(lambda: prove(design()), lambda: _by_booleans(placed, pairs), 5)
    yield Row(
        "4 the tray designed, resolved and proved",
        str(mine),
        f"3D booleans of its pairs alone {theirs}",
        f"{theirs.best / mine.best:.1f} x faster (medians {theirs.median / mine.median:.1f} x)",
        "none",
        None,
    )


def _build(what: str, example: str, most: float) -> Row:
    """The whole build of an example beside the kernel writing its STEP."""
    design = design_of(example)
    product = prove(design())
    if product.errors:
        raise AssertionError(f"{example} has these errors: {product.errors}")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)

        def build() -> Any:
            return write_product(prove(design()), place / "built", file=f"{example}.py")

        def step() -> None:
            write_step(place / "alone.step", product.name, product.shown)

        mine, theirs = timed_beside(build, step, 7)
        written = build()
        step()
        if (place / "built" / "assembly.step").read_bytes() != (place / "alone.step").read_bytes():
            raise AssertionError("the two STEP files differ")
    ratio = mine.best / theirs.best
    return Row(
        f"{what} built: designed, proved and {len(written)} files written",
        str(mine),
        f"its STEP alone, {len(product.shown)} solids, written by the kernel {theirs}",
        f"{ratio:.2f} x (medians {mine.median / theirs.median:.2f} x)",
        f"<= {most:g} x",
        ratio <= most,
    )
