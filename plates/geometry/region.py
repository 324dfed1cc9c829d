"""Loops that bound one region together: asked where points lie, put in order, and told apart into pieces."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.errors import OutlineError

from .arrangement import Floats, winding_numbers
from .curves import Loop

__all__ = ["LoopIndex", "pieces", "sorted_loops", "told_middle"]


class LoopIndex:
    """Many loops, asked where points lie without visiting every loop for every point."""

    def __init__(self, loops: Sequence[Loop]) -> None:
        import shapely

        self.loops = tuple(loops)
        self.boxes = np.array([loop.bounds for loop in loops], dtype=float).reshape(-1, 4)
        self._tree = shapely.STRtree(shapely.box(*self.boxes.T)) if len(self.loops) else None  # pyright: ignore[reportCallIssue, reportArgumentType]  shapely declares too little

    def winding(self, points: Floats) -> NDArray[np.int64]:
        """Sum of all loops' winding numbers at each point."""
        import shapely

        total = np.zeros(len(points), dtype=np.int64)
        if self._tree is None or not len(points):
            return total
        which, loop_numbers = self._tree.query(shapely.points(points), predicate="intersects")
        if not len(which):
            return total
        order = np.argsort(loop_numbers, kind="stable")
        which, loop_numbers = which[order], loop_numbers[order]
        starts = np.flatnonzero(np.diff(loop_numbers, prepend=-1))
        for first, last in zip(starts.tolist(), [*starts[1:].tolist(), len(which)], strict=True):
            rows = which[first:last]
            total[rows] += winding_numbers([self.loops[loop_numbers[first]]], points[rows])
        return total


def sorted_loops(loops: Sequence[Loop]) -> tuple[Loop, ...]:
    """Loops in canonical order: outer ones first, then by place; each begun at its lowest leftmost corner."""
    begun = [loop.canonical() for loop in loops]
    return tuple(sorted(begun, key=lambda loop: (loop.area < 0, *(round(v, 6) for v in loop.bounds), loop.area)))


def pieces(loops: Sequence[Loop]) -> list[tuple[Loop, tuple[Loop, ...]]]:
    """Outer loops, each with the holes that lie in it.  Raises `OutlineError` for a hole in no outer loop."""
    outers = [loop for loop in loops if loop.area > 0]
    holes = [loop for loop in loops if loop.area < 0]
    if len(outers) == 1:
        return [(outers[0], tuple(holes))]
    found: list[list[Loop]] = [[] for _ in outers]
    for hole in holes:
        probe = np.array([hole.segments[0].point_at(0.4871)])
        owners = [i for i, outer in enumerate(outers) if winding_numbers([outer], probe)[0] > 0]
        if not owners:
            raise OutlineError(f"the hole at {told_middle(hole)} lies outside every outline; move it in", value=hole.bounds)
        found[min(owners, key=lambda i: outers[i].area)].append(hole)
    return [(outer, tuple(own)) for outer, own in zip(outers, found, strict=True)]


def told_middle(loop: Loop) -> str:
    """Where a loop is, in words: the middle of its box."""
    x0, y0, x1, y1 = loop.bounds
    return f"({(x0 + x1) / 2:.2f}, {(y0 + y1) / 2:.2f})"
