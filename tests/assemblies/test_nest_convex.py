"""Shapes as convex parts, and their sums, held against shapely and against sweeping whole borders."""

from __future__ import annotations

import itertools

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.assemblies.nest.fitting_places import _no_fit_paths
from panelwright.assemblies.nest.shapes.convex import MOST_PARTS, convex_parts, convex_sum
from panelwright.assemblies.nest.shapes.paths import Path, area_of, turned, united, without

Boxes = list[tuple[int, int, int, int]]

COMB = [(0, 0), (90, 0), (90, 40), (70, 40), (70, 20), (55, 20), (55, 40), (35, 40), (35, 20), (20, 20), (20, 40), (0, 40)]
CROSS = [(30, 0), (60, 0), (60, 30), (90, 30), (90, 60), (60, 60), (60, 90), (30, 90), (30, 60), (0, 60), (0, 30), (30, 30)]
STAIRS = [(0, 0), (50, 0), (50, 10), (40, 10), (40, 20), (30, 20), (30, 30), (0, 30)]
WEDGE = [(0, 0), (80, 0), (10, 50)]
HEXAGON = [(20, 0), (60, 0), (80, 35), (60, 70), (20, 70), (0, 35)]
ARROW = [(0, 0), (60, 0), (60, 20), (90, -10), (60, 60), (60, 30), (0, 30)]

SHAPES: dict[str, Path] = {"comb": COMB, "cross": CROSS, "stairs": STAIRS, "wedge": WEDGE, "hexagon": HEXAGON}


def polygon(path: Path) -> shapely.Polygon:
    return shapely.Polygon(path)


@pytest.mark.parametrize("name", SHAPES)
def test_parts_are_convex_and_fill_the_shape(name: str) -> None:
    """Each is its own hull, none overlaps another, and together they are the shape."""
    parts = convex_parts(SHAPES[name])
    assert parts is not None
    assert len(parts) <= MOST_PARTS
    shapes = [polygon(part) for part in parts]
    for shape in shapes:
        assert shape.convex_hull.area == shape.area > 0
        assert shape.exterior.is_ccw
    assert all(a.intersection(b).area == 0 for a, b in itertools.combinations(shapes, 2))
    assert shapely.union_all(shapes).equals(polygon(SHAPES[name]))


def test_shapes_without_few_parts() -> None:
    """Slanted corners that reach inwards, and combs of very many teeth, are left to the sweep."""
    assert convex_parts(ARROW) is None
    teeth = [(x, y) for k in range(40) for x, y in ((10 * k, 10), (10 * k, 5), (10 * k + 5, 5), (10 * k + 5, 10))]
    assert convex_parts([(0, 0), (400, 0), (400, 10), *reversed(teeth[1:])]) is None


@pytest.mark.parametrize("repeated", range(3))
def test_a_corner_that_comes_twice_does_no_harm(repeated: int) -> None:
    """It stays, once."""
    path = [*WEDGE[: repeated + 1], *WEDGE[repeated:]]
    parts = convex_parts(path)
    assert parts is not None
    assert [set(part) for part in parts] == [set(WEDGE)]


def test_corners_on_a_straight_side_do_no_harm() -> None:
    """Nor does where the path begins."""
    square = [(5, 0), (10, 0), (10, 10), (0, 10), (0, 4), (0, 0)]
    parts = convex_parts(square)
    assert parts is not None
    assert len(parts) == 1
    assert polygon(parts[0]).equals(shapely.box(0, 0, 10, 10))


CONVEX = st.lists(st.tuples(st.integers(-40, 40), st.integers(-40, 40)), min_size=3, max_size=9, unique=True)


@settings(max_examples=150, deadline=None)
@given(CONVEX, CONVEX)
def test_sums_of_convex_paths(first: list[tuple[int, int]], second: list[tuple[int, int]]) -> None:
    """The hull of all sums of two corners, which for convex shapes is the sum."""
    hulls = [shapely.MultiPoint(points).convex_hull for points in (first, second)]
    if any(hull.geom_type != "Polygon" for hull in hulls):
        return
    a, b = ([(int(x), int(y)) for x, y in shapely.orient_polygons(hull).exterior.coords[:-1]] for hull in hulls)
    every = shapely.MultiPoint([(ax + bx, ay + by) for ax, ay in a for bx, by in b]).convex_hull
    found = convex_sum(a, b)
    assert polygon(found).equals(every)
    assert polygon(found).exterior.is_ccw


@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 180.0, 270.0])
@pytest.mark.parametrize(("a", "b"), list(itertools.combinations_with_replacement(SHAPES, 2)))
def test_no_fit_regions_are_those_of_the_sweep(a: str, b: str, turn_deg: float) -> None:
    """To a hair: crossings of slanted sides are rounded to the grid in both."""
    scale = 100
    first, second = ([(scale * x, scale * y) for x, y in SHAPES[name]] for name in (a, b))
    swept = _no_fit_paths(first, turned(second, turn_deg))
    ones, others = convex_parts(first), convex_parts(second)
    assert ones is not None
    assert others is not None
    summed = united([convex_sum(one, turned(other, turn_deg + 180.0)) for one in ones for other in others])
    off = sum(abs(area_of(path)) for path in [*without(swept, summed), *without(summed, swept)])
    perimeter = sum(polygon(path).length for path in swept)
    assert off <= perimeter
    assert sum(area_of(path) for path in summed) > 0
