"""A panel with a living hinge of about 2,000 slits: beside the bare kernel, and beside itself as slits grow."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any

from hinged import kernel_bent, kernel_faces, kernel_flat, panel_points, wrapped_stand
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.files.dxf import panel_dxf
from panelwright.assemblies.proof.prove import prove
from panelwright.plates._kernel.solids.read import volume_of
from timing import Row, growth, timed, timed_beside

__all__ = ["rows"]

SLITS = 2000
MOST_OVER_KERNEL = 1.5
MOST_GROWTH = 1.2
SAME_VOLUME = 1e-6
"""Largest relative difference between the volumes of the flat and the bent solid, ours and the kernel's."""


def rows() -> Iterator[Row]:
    """All cases."""
    yield from _beside_kernel()
    yield _growth()


def _made(slits: int) -> tuple[Product, bytes]:
    """Everything that a person waits for: both solids, the proof, and the flat panel's file."""
    product = prove(wrapped_stand(slits))
    (panel,) = product.panels
    return product, panel_dxf(panel)


def _check(product: Product, slits: int) -> None:
    """The answer must be right before its time counts: one part, no findings, the volume of the flat panel."""
    (part,) = product.parts
    found = sum(record.numbers["columns"] for record in product.joints)
    strokes = len(product.panels[0].strokes)
    if product.findings or found != 40 or abs(strokes - slits) > slits / 10:
        raise AssertionError(f"a hinge of {slits} slits has {strokes} strokes in {found} columns; findings: {product.findings}")
    wanted = part.area_mm2 * part.stock.t
    if abs(volume_of(part.solid) - wanted) > SAME_VOLUME * wanted:
        raise AssertionError(f"the bent solid of {slits} slits has {volume_of(part.solid):.4f} mm³ where {wanted:.4f} is right")


def _beside_kernel() -> Iterator[Row]:
    product, _ = _made(SLITS)
    _check(product, SLITS)
    (part,) = product.parts
    points, t = panel_points(part), part.stock.t

    def by_kernel() -> tuple[Any, Any]:
        return kernel_flat(points, t), kernel_bent(points, t)

    wanted = part.area_mm2 * t
    for solid in by_kernel():
        if abs(volume_of(solid) - wanted) > SAME_VOLUME * wanted:
            raise AssertionError(f"the kernel's solid has {volume_of(solid):.4f} mm³ where {wanted:.4f} is right")
    what = f"8 hinge of {len(product.panels[0].strokes):,} slits: flat and bent solid, proof and panel file"
    mine, theirs = timed_beside(partial(_made, SLITS), by_kernel, 3)
    ratio = mine.best / theirs.best
    yield Row(
        what,
        str(mine),
        f"bare kernel given all loops: both solids, the bent one sewn from its faces {theirs}",
        f"{ratio:.2f} x (medians {mine.median / theirs.median:.2f} x)",
        f"<= {MOST_OVER_KERNEL:g} x",
        ratio <= MOST_OVER_KERNEL,
    )
    mine, theirs = timed_beside(partial(_made, SLITS), lambda: (kernel_flat(points, t), kernel_faces(points, t)), 3)
    ratio = mine.best / theirs.best
    yield Row(
        "8 the same",
        str(mine),
        f"bare kernel: flat solid, and the faces of the bent one left loose {theirs}",
        f"{ratio:.2f} x (medians {mine.median / theirs.median:.2f} x)",
        "none",
        None,
    )


def _growth() -> Row:
    sizes = (250, 500, 1000, 2000, 4000)
    for size in sizes:
        _check(_made(size)[0], size)
    times = [timed(partial(_made, size), 5 if size <= 1000 else 3) for size in sizes]
    exponent = growth(sizes, [value.best for value in times])
    by_median = growth(sizes, [value.median for value in times])
    last = growth(sizes[-2:], [value.best for value in times[-2:]])
    return Row(
        "9 hinge of 250 to 4,000 slits: solids, proof and panel file",
        ", ".join(f"{value} at {size:,}" for size, value in zip(sizes, times, strict=True)),
        "the same with fewer slits",
        f"time grows with exponent {exponent:.2f} (by medians {by_median:.2f}, from 2,000 to 4,000 {last:.2f})",
        f"<= {MOST_GROWTH}",
        exponent <= MOST_GROWTH,
    )
