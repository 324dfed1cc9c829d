"""Cutting and adding in a plate's plane: one pass for all cuts, exact for every kind of curve.

Most cuts touch nothing: a slot, a hole.  Those become inner loops as they are, found by one sweep over bounding boxes, so
the time grows with the number of slots and not with its square.  Only shapes that really meet an edge or each other go
through the planar arrangement, or through the kernel's boolean where ellipses or splines take part.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.geometry.arrangement import Floats, boundary
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.geometry.polygons import polygon_of
from panelwright.plates.geometry.region import LoopIndex, sorted_loops
from panelwright.plates.tolerances import FILM_AREA, SIDE_STEP

__all__ = ["Combined", "combine"]


@dataclass(frozen=True, slots=True)
class Combined:
    """The result of `combine`: loops with material on their left, and the cuts that removed nothing."""

    loops: tuple[Loop, ...]
    idle_cuts: tuple[int, ...]


def combine(base: Sequence[Loop], adds: Sequence[Loop] = (), cuts: Sequence[Loop] = ()) -> Combined:
    """`base` and all `adds` together, less all `cuts`.

    `base` holds outer loops counter-clockwise and holes clockwise; each loop of `adds` and `cuts` stands for the region
    inside it.  Cuts win over additions.  The order within `adds` and `cuts` makes no difference.

    Returns loops sorted as `sorted_loops` does, and the indices of those cuts that lay clear of all material.

    >>> from panelwright.plates.geometry.curves import loop_through
    >>> plate = loop_through([(0, 0), (9, 0), (9, 9), (0, 9)])
    >>> slot, miss = loop_through([(2, 2), (4, 2), (4, 3), (2, 3)]), loop_through([(20, 0), (21, 0), (21, 1)])
    >>> result = combine([plate], cuts=[slot, miss])
    >>> [loop.area for loop in result.loops], result.idle_cuts
    ([81.0, -2.0], (1,))
    """
    if not adds and not cuts:
        return Combined(sorted_loops(base), ())
    shapes = [loop.counter_clockwise() for loop in (*adds, *cuts)]
    touched, alone = _meeting(base, shapes)
    base_index = LoopIndex(base)
    holes: list[Loop] = []
    idle: list[int] = []
    extra: list[Loop] = []
    lonely = np.flatnonzero(alone)
    starts = np.array([shapes[i].segments[0].start for i in lonely.tolist()]).reshape(-1, 2)
    for i, is_inside in zip(lonely.tolist(), (base_index.winding(starts) > 0).tolist(), strict=True):
        is_cut = i >= len(adds)
        if is_cut and is_inside:
            holes.append(shapes[i].reversed())
        elif is_cut:
            idle.append(i - len(adds))
        elif not is_inside:
            extra.append(shapes[i])
    meeting = [i for i in range(len(shapes)) if not alone[i]]
    loops = [loop for loop, is_touched in zip(base, touched.tolist(), strict=True) if not is_touched]
    if meeting:
        touched_loops = [loop for loop, is_touched in zip(base, touched.tolist(), strict=True) if is_touched]
        more = [shapes[i] for i in meeting if i < len(adds)]
        less = [shapes[i] for i in meeting if i >= len(adds)]
        loops += _crossed(base_index, touched_loops, more, less)
        idle += _clear_of([i - len(adds) for i in meeting if i >= len(adds)], less, base, more)
    return Combined(sorted_loops([*loops, *holes, *extra]), tuple(sorted(idle)))


def _meeting(base: Sequence[Loop], shapes: Sequence[Loop]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which base loops are met by a shape, and which shapes meet nothing: by bounding boxes, so on the safe side."""
    import shapely

    boxes = np.array([shape.bounds for shape in shapes], dtype=float).reshape(-1, 4)
    grow = np.array([-1.0, -1.0, 1.0, 1.0]) * 4 * SIDE_STEP
    shape_boxes = shapely.box(*(boxes + grow).T)
    alone = np.ones(len(shapes), dtype=bool)
    tree = shapely.STRtree(shape_boxes)
    first, second = tree.query(shape_boxes)
    alone[first[first != second]] = False
    touched = np.zeros(len(base), dtype=bool)
    owners = np.repeat(np.arange(len(base)), [len(loop) for loop in base])
    segments = np.array([segment.bounds for loop in base for segment in loop], dtype=float).reshape(-1, 4)
    hit_segments, hit_shapes = tree.query(shapely.box(*segments.T))  # pyright: ignore[reportCallIssue, reportArgumentType]  shapely declares too little
    touched[owners[hit_segments]] = True
    alone[hit_shapes] = False
    return touched, alone


def _crossed(base: LoopIndex, touched: list[Loop], adds: list[Loop], cuts: list[Loop]) -> list[Loop]:
    involved = [*touched, *adds, *cuts]
    if all(loop.is_of_lines_and_arcs for loop in involved):
        add_index, cut_index = LoopIndex(adds), LoopIndex(cuts)

        def inside(points: Floats) -> NDArray[np.bool_]:
            here = (base.winding(points) > 0) | (add_index.winding(points) > 0)
            return here & (cut_index.winding(points) <= 0)

        return list(boundary(involved, inside))
    from panelwright.plates._kernel.solids.planar import combine_by_kernel

    # outer loops that no shape meets still say where material is, so the kernel needs them all
    untouched = [loop for loop in base.loops if loop not in touched]
    kept = combine_by_kernel(base.loops, adds, cuts)
    return [loop for loop in kept if not any(_same_place(loop, other) for other in untouched)]


def _same_place(a: Loop, b: Loop) -> bool:
    return max(abs(p - q) for p, q in zip(a.bounds, b.bounds, strict=True)) < FILM_AREA and abs(a.area - b.area) < FILM_AREA


def _clear_of(numbers: list[int], cuts: list[Loop], base: Sequence[Loop], adds: list[Loop]) -> list[int]:
    """Those of the cuts that share no area with the material, by polygons."""
    if not cuts:
        return []
    import shapely

    material = [polygon_of(loop) for loop in (*base, *adds) if loop.area > 0]
    holes = [polygon_of(loop) for loop in base if loop.area < 0]
    tree = shapely.STRtree(material)
    hole_tree = shapely.STRtree(holes)
    clear: list[int] = []
    for number, cut in zip(numbers, cuts, strict=True):
        region = polygon_of(cut)
        common = shapely.unary_union([region.intersection(material[i]) for i in tree.query(region).tolist()])
        for i in hole_tree.query(region).tolist():
            common = common.difference(holes[i])
        if common.area < FILM_AREA:
            clear.append(number)
    return clear
