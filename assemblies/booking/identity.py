"""What tells one job from another: which parts are cut, how many, and of which stock; not how they are laid out."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.sheets.request import Batch
from panelwright.plates.geometry.curves import Loop

__all__ = ["Job", "job_of"]


@dataclass(frozen=True, slots=True)
class Job:
    """A job's identity, 16 hexadecimal digits that are the same whenever the same parts are wanted, and what it is in words."""

    id: str
    what: str


def job_of(batches: Sequence[Batch]) -> Job:
    """The identity of what some products in some copies come to.

    The order of products, the names of files and how sheets are laid out don't matter; sizes, to a micrometre, stocks with
    their thickness, and numbers do.

    >>> from panelwright.assemblies.data.product import Product
    >>> tray = Product("tray", (), (), (), (), ())
    >>> job_of([Batch(tray, 2)]).what, job_of([Batch(tray, 2)]) == job_of([Batch(tray, 3)])
    ('tray × 2', False)
    """
    told = sorted(
        f"{batch.product.name}\n{batch.copies}\n" + "\n".join(_told(panel) for panel in batch.product.panels)
        for batch in batches
    )
    what = ", ".join(f"{batch.product.name}{f' × {batch.copies}' if batch.copies > 1 else ''}" for batch in batches)
    return Job(hashlib.sha256("\n\n".join(told).encode("utf-8", "backslashreplace")).hexdigest()[:16], what)


def _told(panel: Panel) -> str:
    stock = panel.stock
    loops = "; ".join(_rounded(loop) for loop in panel.loops)
    return f"{panel.name}\t{panel.quantity}\t{stock.name or stock.material}\t{stock.t:.3f}\t{loops}"


def _rounded(loop: Loop) -> str:
    """Length, area and corners of a loop to a micrometre; lengths tell arcs from lines between the same corners."""
    ends = sorted((round(s.start[0], 3) + 0.0, round(s.start[1], 3) + 0.0, round(s.length, 3)) for s in loop.segments)
    return f"{round(loop.area, 2) + 0.0:.2f} " + " ".join(f"{x:.3f},{y:.3f},{length:.3f}" for x, y, length in ends)
