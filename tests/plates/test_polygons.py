"""Loops as shapely shapes: one module makes them, and what it says of material is right for every kind of region."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from panelwright.plates import disc, rectangle
from panelwright.plates.geometry.curves import Line, loop_through, points_along
from panelwright.plates.geometry.polygons import line_of, polygon_of, region_of, ring_of

ROOT = Path(__file__).parents[2]
HOME = ROOT / "plates" / "geometry" / "polygons.py"
CALLS = ("points", "chords", "points_along")


def _shapely_made_of_chords(text: str) -> list[int]:
    """Lines on which a shapely shape is made of a loop's or a segment's points right there."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call) and ast.unparse(node.func).startswith("shapely."):
            inner = [part for argument in node.args for part in ast.walk(argument) if isinstance(part, ast.Call)]
            if any(
                ast.unparse(call.func).rpartition(".")[2] in CALLS for call in inner
            ) and "shapely.points" not in ast.unparse(node):
                found.append(node.lineno)
    return found


def test_one_module_turns_loops_into_shapely_shapes() -> None:
    """Nobody else writes out a loop's points for shapely, so that chords, holes and mending are decided once."""
    files = [path for top in ("plates", "joints", "assemblies") for path in (ROOT / top).rglob("*.py")]
    assert len(files) > 200
    found = {str(path.relative_to(ROOT)): _shapely_made_of_chords(path.read_text("utf-8")) for path in files}
    assert {path: lines for path, lines in found.items() if lines and path != str(HOME.relative_to(ROOT))} == {}
    assert found[str(HOME.relative_to(ROOT))]
    assert _shapely_made_of_chords("a = shapely.Polygon([side.seen(p) for p in loop.points(0.1)])") == [1]


def test_region_of_several_outlines_and_holes() -> None:
    """Areas add up by hand, whatever the order of loops; a hole lies in whichever outline it lies in."""
    left, right = rectangle(20, 10).cut(rectangle(4, 2)), rectangle(6, 6).at(40, 0).cut(rectangle(1, 1).at(40, 0))
    loops = [*left.loops, *right.loops]
    for order in (loops, loops[::-1]):
        region = region_of(order)
        assert region.is_valid
        assert region.area == pytest.approx(20 * 10 - 4 * 2 + 6 * 6 - 1, abs=1e-9)


@pytest.mark.parametrize("outlines", [1, 2])
def test_region_is_valid_where_chords_cross(outlines: int) -> None:
    """A hole that runs over its border takes away what is inside, and nothing is counted twice."""
    outers = [loop_through([(x, 0), (x + 10, 0), (x + 10, 10), (x, 10)]) for x in (0, 100)[:outlines]]
    hole = loop_through([(8, 4), (8, 6), (12, 6), (12, 4)])
    region = region_of([*outers, hole])
    assert hole.area < 0
    assert not polygon_of(outers[0], [hole]).is_valid
    assert region.is_valid
    assert region.area == pytest.approx(100 * outlines - 2 * 2, abs=1e-9)


def test_region_seen_in_a_mirror() -> None:
    """Orientation comes from the loops, so a mirror image keeps its holes."""
    lid = rectangle(20, 10).cut(disc(4).at(5, 2))
    mirrored = region_of(lid.loops, seen=lambda point: (-point[0], point[1]))
    assert mirrored.area == pytest.approx(region_of(lid.loops).area, rel=1e-12)
    assert mirrored.bounds == (-10.0, -5.0, 10.0, 5.0)
    assert [round(x) for x in mirrored.interiors[0].centroid.coords[0]] == [-5, 2]


def test_lines_and_rings_end_where_their_segments_do() -> None:
    """An open chain stays open, and its last point is its end; a loop closes."""
    chain = [Line((0.0, 0.0), (3.0, 0.0)), Line((3.0, 0.0), (3.0, 4.0))]
    assert points_along(chain, 0.1) == [(0.0, 0.0), (3.0, 0.0), (3.0, 4.0)]
    assert line_of(chain, 0.1).length == 7.0
    assert not line_of(chain, 0.1).is_closed
    edge = disc(10).outer
    assert ring_of(edge, 1e-3).is_closed
    assert max(abs((x * x + y * y) ** 0.5 - 5) for x, y in ring_of(edge, 1e-3).coords) < 1e-9


def test_small_regions_keep_their_material_and_their_holes() -> None:
    """What counts is which way round a loop runs, not that it is larger than a square millimetre."""
    (outer,) = rectangle(0.9, 0.8).loops
    (hole,) = rectangle(0.5, 0.4).loops
    assert region_of([outer]).area == pytest.approx(0.72)
    assert region_of([outer, hole.clockwise()]).area == pytest.approx(0.52)
    beside = rectangle(0.9, 0.8).at(5, 0).loops
    assert region_of([outer, *beside]).area == pytest.approx(1.44)
