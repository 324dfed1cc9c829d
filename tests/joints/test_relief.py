"""Where corner reliefs are bored, by hand: on the bisector, or into one of the two sides.  No kernel.

There is no outside source for the choice of side, which is common practice; each place is worked out beside its case.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import pytest
from panelwright.joints import dog_bone, t_bone
from panelwright.joints.spec.relief import Relief, relief_cuts
from panelwright.plates import rectangle
from panelwright.plates.geometry.curves import Arc, Loop, Point, loop_through


def bored(loops: list[Loop], corners: list[Point], relief: Relief) -> list[tuple[float, ...]]:
    """Centre and radius of each relief, sorted."""
    found = []
    for loop in relief_cuts(loops, [(corner, relief) for corner in corners]):
        (circle,) = loop.segments
        assert isinstance(circle, Arc)
        assert circle.sweep == pytest.approx(math.tau)
        found.append((*circle.center, math.dist(circle.center, circle.start)))
    return told(found)


def told(spots: Iterable[tuple[float, ...]]) -> list[tuple[float, ...]]:
    """In order, to a millionth of a mm."""
    return sorted(tuple(round(value, 6) + 0.0 for value in spot) for spot in spots)


def slot(width: float, height: float) -> list[Loop]:
    """A plate of 60 × 40 mm with a slot in its middle."""
    return list(rectangle(60, 40).cut(rectangle(width, height)).loops)


def four(x: float, y: float) -> list[Point]:
    return [(-x, -y), (-x, y), (x, -y), (x, y)]


@pytest.mark.parametrize(
    ("width", "height", "tool", "x", "y"),
    [
        (12, 4, 1.0, 6, 1.5),  # into the short sides: 4 mm less two reliefs of 1 leave 2
        (12, 4, 4 / 3, 6, 4 / 3),  # less two of 1.33 they leave just a third, 1.33
        (12, 4, 1.34, 5.33, 2),  # less two of 1.34 they leave 1.32, less than a third: into the long sides
        (12, 4, 3.0, 4.5, 2),  # long sides keep 6 of 12
        (12, 4, 4.0, 4, 2),  # and 4 of 12: a third
        (12, 4, 4.1, 6, -0.05),  # neither keeps a third: the short ones
        (4, 12, 1.0, 1.5, 6),
        (4, 12, 1.34, 2, 5.33),
    ],
)
def test_t_bones_of_a_slot(width: float, height: float, tool: float, x: float, y: float) -> None:
    """The shorter side hides a relief better, unless two of them leave less than a third of it."""
    found = bored(slot(width, height), four(width / 2, height / 2), t_bone(tool))
    assert found == told((*spot, tool / 2) for spot in four(x, y))


def test_t_bones_of_a_square_slot_are_alike() -> None:
    """Sides of one length: each corner bores into the side before it, one relief a side."""
    found = bored(slot(8, 8), four(4, 4), t_bone(2.0))
    assert len(found) == 4
    assert sum(abs(abs(x) - 4) < 1e-9 for x, _, _ in found) == 2
    assert sum(abs(abs(y) - 4) < 1e-9 for _, y, _ in found) == 2
    nearly = list(rectangle(60, 40).cut(rectangle(8, 8 + 2e-7)).loops)
    turned = bored(nearly, four(4, 4 + 1e-7), t_bone(2.0))
    assert turned == found  # lengths that differ by rounding count as one


def comb(shoulder: float, depth: float) -> tuple[list[Loop], list[Point]]:
    """A plate of 60 × 20 with two tabs on top, `shoulder` apart and `depth` high, and the two inner corners between them."""
    half = shoulder / 2
    points = [
        (-30, 0),
        (30, 0),
        (30, 20 + depth),
        (half, 20 + depth),
        (half, 20),
        (-half, 20),
        (-half, 20 + depth),
        (-30, 20 + depth),
    ]
    return [loop_through([(float(x), float(y)) for x, y in points])], [(half, 20.0), (-half, 20.0)]


@pytest.mark.parametrize(
    ("shoulder", "depth", "tool", "x", "y"),
    [
        (12, 4, 1.0, 5.5, 20),  # into the shoulder, though it is longer: the tabs keep their width
        (3, 8, 1.0, 1.0, 20),  # just a third of the shoulder is left
        (2.9, 8, 1.0, 1.45, 20.5),  # less: into the flanks, which are longer
        (2.9, 2.5, 1.0, 0.95, 20),  # the flanks would keep less than a third too: the shoulder
    ],
)
def test_t_bones_at_the_root_of_tabs(shoulder: float, depth: float, tool: float, x: float, y: float) -> None:
    """A flank ends in an outer corner; the shoulder between two tabs doesn't."""
    loops, corners = comb(shoulder, depth)
    assert bored(loops, corners, t_bone(tool)) == told([(-x, y, tool / 2), (x, y, tool / 2)])


def test_between_two_flanks_the_longer_one() -> None:
    """A step: both sides of its inner corner end in outer ones; lengths 8 and 5."""
    step = [loop_through([(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (12.0, 10.0), (12.0, 15.0), (0.0, 15.0)])]
    assert bored(step, [(12.0, 10.0)], t_bone(1.0)) == told([(12.5, 10, 0.5)])
    high = [loop_through([(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (12.0, 10.0), (12.0, 25.0), (0.0, 25.0)])]
    assert bored(high, [(12.0, 10.0)], t_bone(1.0)) == told([(12, 10.5, 0.5)])


def test_dog_bones_lie_on_the_bisector() -> None:
    """The rim runs through the corner: the centre is a radius from it, into the slot, at 45°."""
    off = 1 / math.sqrt(2)
    found = bored(slot(12, 8), four(6, 4), dog_bone(2.0))
    assert found == told((*spot, 1.0) for spot in four(6 - off, 4 - off))
    # a corner of 60°: a triangular window, whose bisectors meet in its middle
    window = loop_through([(-10.0, 0.0), (0.0, 10 * math.sqrt(3)), (10.0, 0.0)])
    ((x, y, r),) = bored([window], [(-10.0, 0.0)], dog_bone(2.0))
    assert (x, y, r) == pytest.approx((-10 + math.cos(math.radians(30)), 0.5, 1))


def test_what_gets_no_relief() -> None:
    """Outer corners, corners that nobody asked for, and corners beside an arc."""
    loops = slot(12, 8)
    assert bored(loops, [(-30.0, -20.0), (6.1, 4.0), (6.0, 4.0 + 2e-6)], dog_bone(1.0)) == []
    assert len(bored(loops, [(6.0, 4.0 + 5e-7)], dog_bone(1.0))) == 1
    rounded = list(rectangle(60, 40).cut(rectangle(12, 8).rounded(2)).loops)
    assert bored(rounded, [segment.start for loop in rounded for segment in loop], dog_bone(1.0)) == []
    # straight on is no corner: a point in the middle of a side
    straight = loop_through([(-6.0, -4.0), (-6.0, 4.0), (0.0, 4.0), (6.0, 4.0), (6.0, -4.0)])
    assert len(bored([straight], [(0.0, 4.0)], dog_bone(1.0))) == 0
    assert len(bored([straight], [(0.0, 4.0), (6.0, 4.0)], dog_bone(1.0))) == 1


def test_each_corner_takes_the_first_relief_that_names_it() -> None:
    """Two joints that share a corner ask for two tools."""
    cuts = relief_cuts(slot(12, 8), [((0.0, 0.0), dog_bone(3)), ((6.0, 4.0), dog_bone(2)), ((6.0, 4.0), dog_bone(1))])
    assert [round(loop.bounds[2] - loop.bounds[0], 9) for loop in cuts] == [2.0]
