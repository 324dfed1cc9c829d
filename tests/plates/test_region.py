"""Cutting in the plane: against shapely and against the kernel's boolean, over shapes whose edges often coincide."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.plates import Outline, disc, rectangle
from panelwright.plates._kernel.solids.planar import combine_by_kernel
from panelwright.plates.geometry.arrangement import boundary, merged, winding_numbers
from panelwright.plates.geometry.curves import Arc, Line, Loop, Motion, loop_through
from panelwright.plates.geometry.region import LoopIndex, told_middle
from panelwright.plates.outlines.planar_cuts import combine
from strategies import flat_shapes

EXAMPLES = settings(max_examples=150, deadline=None)
PLATE = rectangle(50, 40).cut(rectangle(10, 10).at(5, 5)).loops


def polygon(loops: tuple[Loop, ...] | list[Loop]) -> shapely.Geometry:
    """A region as shapely sees it, arcs followed within 1e-6 mm."""
    outers = [shapely.Polygon(loop.points(1e-6)) for loop in loops if loop.area > 0]
    holes = [shapely.Polygon(loop.points(1e-6)) for loop in loops if loop.area < 0]
    return shapely.union_all(outers).difference(shapely.union_all(holes))


def outers(shapes: list[Outline]) -> list[Loop]:
    return [shape.outer for shape in shapes]


@EXAMPLES
@given(st.lists(flat_shapes(), max_size=3), st.lists(flat_shapes(), min_size=1, max_size=5))
def test_combine_agrees_with_shapely(adds: list[Outline], cuts: list[Outline]) -> None:
    """Area and extent are those of shapely's union and difference, every loop closes, and material lies on its left."""
    result = combine(PLATE, outers(adds), outers(cuts))
    expected = polygon(list(PLATE)).union(shapely.union_all([polygon([loop]) for loop in outers(adds)]))
    expected = expected.difference(shapely.union_all([polygon([loop]) for loop in outers(cuts)]))
    assert sum(loop.area for loop in result.loops) == pytest.approx(expected.area, abs=2e-3)
    for loop in result.loops:
        for segment, after in zip(loop.segments, loop.segments[1:] + loop.segments[:1], strict=True):
            assert math.dist(segment.end, after.start) < 1e-6
    if result.loops:
        assert polygon(list(result.loops)).symmetric_difference(expected).area < 5e-3


@EXAMPLES
@given(st.lists(flat_shapes(), min_size=2, max_size=6), st.sampled_from([90.0, 180.0, 37.0]))
def test_turning_doubling_and_order_change_nothing(cuts: list[Outline], angle: float) -> None:
    """The same cuts turned with the plate, given twice or backwards leave the same area and as many loops."""
    plain = combine(PLATE, cuts=outers(cuts))
    motion = Motion.turn(angle)
    turned = combine([loop.moved(motion) for loop in PLATE], cuts=[loop.moved(motion) for loop in outers(cuts)])
    doubled = combine(PLATE, cuts=[*outers(cuts), *reversed(outers(cuts))])
    for other in (turned, doubled):
        assert sum(loop.area for loop in other.loops) == pytest.approx(sum(loop.area for loop in plain.loops), abs=1e-5)
        assert len(other.loops) == len(plain.loops)


@settings(EXAMPLES, max_examples=40)
@given(st.lists(flat_shapes("rectangle circle turned"), min_size=1, max_size=4))
def test_combine_agrees_with_the_kernel(cuts: list[Outline]) -> None:
    """The kernel's General Fuse leaves the same area as the arrangement."""
    ours = combine(PLATE, cuts=outers(cuts)).loops
    if sum(loop.area for loop in ours) < 1:
        return
    kernel = combine_by_kernel(PLATE, [], outers(cuts))
    assert sum(loop.area for loop in ours) == pytest.approx(sum(loop.area for loop in kernel), abs=1e-4)


def test_coincident_edges_count_once() -> None:
    """Cuts that share edges with the plate and with each other leave no film and no spare corner."""
    cuts = [rectangle(10, 10).at(x, 15).outer for x in (-20, -10, 0, 10, 20)]
    (outer, *holes) = combine(rectangle(50, 40).loops, cuts=cuts).loops
    assert holes == []
    assert len(outer) == 4
    assert outer.area == pytest.approx(50 * 30)


def test_idle_cuts_are_said() -> None:
    """A cut beside the plate, one in a hole of it and one that only touches its border remove nothing."""
    cuts = [rectangle(4, 4).at(99, 0), rectangle(4, 4).at(5, 5), rectangle(4, 4).at(27, 0), rectangle(4, 4).at(-20, 0)]
    assert combine(PLATE, cuts=outers(cuts)).idle_cuts == (0, 1, 2)


def test_winding_numbers_of_lines_and_arcs() -> None:
    """Inside a circle 1, in its clockwise twin −1, on grids of points against the distance from the middle."""
    loop = disc(10).outer
    points = np.array([[x / 7, y / 7] for x in range(-50, 51) for y in range(-50, 51)])
    points = points[np.abs(np.hypot(*points.T) - 5) > 1e-9]  # on the loop either side may be given
    inside = np.hypot(*points.T) < 5
    assert inside.sum() > 1000
    assert (winding_numbers([loop], points) == inside).all()
    assert (winding_numbers([loop.reversed()], points) == -inside.astype(int)).all()
    assert (LoopIndex([loop]).winding(points) == inside).all()
    assert (winding_numbers([loop, loop], points) == 2 * inside).all()


def test_boundary_by_any_rule() -> None:
    """Two overlapping squares: union, intersection and either-or by the rule alone."""
    a, b = rectangle(10, 10).outer, rectangle(10, 10).at(5, 5).outer
    for rule, area in ((lambda n: n > 0, 175), (lambda n: n > 1, 25), (lambda n: n == 1, 150)):
        loops = boundary([a, b], lambda points, rule=rule: rule(winding_numbers([a, b], points)))
        assert sum(loop.area for loop in loops) == pytest.approx(area)
    assert boundary([a, b], lambda points: np.zeros(len(points), dtype=bool)) == ()


def test_merged_joins_what_runs_straight_on() -> None:
    """Collinear lines and arcs of one circle become one; a circle in pieces becomes a circle again."""
    halves = Loop((Arc((5.0, 0.0), (-5.0, 0.0), (0.0, 0.0), math.pi), Arc((-5.0, 0.0), (5.0, 0.0), (0.0, 0.0), math.pi)))
    assert merged(halves).is_circle
    square = loop_through([(0, 0), (3, 0), (6, 0), (6, 6), (0, 6), (0, 2)])
    assert len(merged(square)) == 4
    spike = Loop((Line((0, 0), (4, 0)), Line((4, 0), (2, 0)), Line((2, 0), (0, 3)), Line((0, 3), (0, 0))))
    assert len(merged(spike)) == 4, "a line that turns back is no straight run"


def test_loops_grow_with_cuts_and_not_faster() -> None:
    """A thousand slots are a thousand loops of four lines each."""
    cuts = [rectangle(3, 2).at(-98 + 4 * (i % 50), -38 + 4 * (i // 50)).outer for i in range(1000)]
    result = combine(rectangle(210, 90).loops, cuts=cuts)
    assert len(result.loops) == 1001
    assert {len(loop) for loop in result.loops} == {4}
    assert result.idle_cuts == ()


def test_the_middle_of_a_loop_is_told_in_words() -> None:
    """Of its box, to a hundredth of a mm."""
    assert told_middle(rectangle(10, 4).at(7.25, -3.5).outer) == "(7.25, -3.50)"
