"""Drawings of many lines read as an outline, beside the library that reads the file for us doing that alone."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from panelwright.plates import outline_from_dxf
from timing import Row, timed_beside

__all__ = ["rows"]

LINES = 20_000
MOST_OVER_READING = 2.0


def rows() -> Iterator[Row]:
    """The one case."""
    from ezdxf.filemanagement import readfile

    with tempfile.TemporaryDirectory() as folder:
        path = _drawn(Path(folder) / "ring.dxf")
        if len(outline_from_dxf(path).outer) != LINES:
            raise AssertionError("the ring lost lines")
        ours, theirs = timed_beside(partial(outline_from_dxf, path), partial(readfile, path), 5)
    ratio = ours.best / theirs.best
    yield Row(
        f"14 a DXF of {LINES:,} lines read, chained and checked as an outline",
        str(ours),
        f"ezdxf reading the file {theirs}",
        f"{ratio:.2f} times",
        f"<= {MOST_OVER_READING}",
        ratio <= MOST_OVER_READING,
    )


def _drawn(path: Path) -> Path:
    import ezdxf

    drawing = ezdxf.new(units=4)
    space = drawing.modelspace()
    turns = [2 * math.pi * i / LINES for i in range(LINES)]
    ring = [((100 + 10 * math.sin(40 * t)) * math.cos(t), (100 + 10 * math.sin(40 * t)) * math.sin(t)) for t in turns]
    for start, end in zip(ring, ring[1:] + ring[:1], strict=True):
        space.add_line(start, end)
    drawing.saveas(path)
    return path
