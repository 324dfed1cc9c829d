"""The planar arrangement in hard places: off-grid shapes against the kernel, near coincidences, tangents."""

from __future__ import annotations

import math
import random
from collections import Counter

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.plates import KernelError, Outline, OutlineError, disc, grid, hole, obround, outline_of, polygon, rectangle
from panelwright.plates._kernel.solids import planar
from panelwright.plates._kernel.solids.planar import combine_by_kernel
from panelwright.plates.geometry import probe
from panelwright.plates.geometry.arrangement import boundary, merged, winding_numbers
from panelwright.plates.geometry.curves import Arc, Line, Loop, Motion, loop_through
from panelwright.plates.geometry.probe import Probe, common, without
from panelwright.plates.geometry.region import pieces
from panelwright.plates.outlines.planar_cuts import combine
from readers import is_closed
from strategies import flat_shapes

BASES: dict[str, Outline] = {
    "rectangle": rectangle(60, 50),
    "L": polygon([(-30, -25), (30, -25), (30, 0), (0, 0), (0, 25), (-30, 25)]),
    "with holes": rectangle(60, 50).cut(hole(10).at(-10, 5), rectangle(10, 10).at(15, -10)),
}
TURNS = {"as it is": Motion(), "half a turn": Motion.turn(180).then(Motion.shift(3.25, -7.5)), "odd": Motion.turn(23.7)}


def random_shapes(rng: random.Random, count: int) -> list[Loop]:
    """Shapes that lie anywhere, off any grid."""
    found: list[Loop] = []
    for _ in range(count):
        w, h = rng.uniform(2, 30), rng.uniform(2, 30)
        made = rng.choice([disc(w), obround(w + h, w), rectangle(w, h), rectangle(w, h).turned(rng.uniform(0, 180))])
        found.append(made.at(rng.uniform(-35, 35), rng.uniform(-30, 30)).outer)
    return found


def by_place(loop: Loop) -> tuple[float, ...]:
    """A key to sort by that rounding does not upset."""
    return tuple(round(value, 3) for value in (loop.area, *loop.bounds))


@pytest.mark.parametrize("base", BASES)
@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("seed", range(12))
def test_arrangement_against_the_kernel(base: str, turn: str, seed: int) -> None:
    """Loop by loop, the arrangement gives what the kernel's General Fuse gives: areas, lengths, extents, arcs."""
    rng = random.Random(f"{base} {seed}")
    adds, cuts = random_shapes(rng, rng.randrange(3)), random_shapes(rng, rng.randrange(1, 6))
    groups = [[loop.moved(TURNS[turn]) for loop in group] for group in (BASES[base].loops, adds, cuts)]
    ours, theirs = combine(*groups).loops, combine_by_kernel(*groups)
    assert len(ours) == len(theirs) > 0
    for one, other in zip(sorted(ours, key=by_place), sorted(theirs, key=by_place), strict=True):
        assert is_closed(one)
        assert (one.area, one.length, *one.bounds) == pytest.approx((other.area, other.length, *other.bounds), abs=1e-5)
        assert any(isinstance(s, Arc) for s in one) == any(isinstance(s, Arc) for s in other)


@settings(max_examples=120, deadline=None)
@given(st.lists(flat_shapes("rectangle"), max_size=4), st.lists(flat_shapes("rectangle"), min_size=1, max_size=8))
def test_level_rectangles_come_out_exact(adds: list[Outline], cuts: list[Outline]) -> None:
    """On a grid nearly all edges coincide: the area is right to 1e-9 and no corner lies between collinear edges."""
    more, less = [a.outer for a in adds], [c.outer for c in cuts]
    wanted = shapely.union_all([shapely.Polygon(loop.points()) for loop in (rectangle(60, 50).outer, *more)])
    wanted = wanted.difference(shapely.union_all([shapely.Polygon(loop.points()) for loop in less]))
    result = combine([rectangle(60, 50).outer], more, less)
    assert sum(loop.area for loop in result.loops) == pytest.approx(wanted.area, abs=1e-9)
    for loop in result.loops:
        for before, after in zip(loop.segments, loop.segments[1:] + loop.segments[:1], strict=True):
            (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
            assert abs(ax * by - ay * bx) > 0.5


def test_corpora_are_not_vacuous() -> None:
    """Guard: the random shapes do notch, pierce, part, add to and miss the bases, with arcs left over."""
    seen: Counter[str] = Counter()
    for base in BASES:
        for seed in range(12):
            rng = random.Random(f"{base} {seed}")
            adds, cuts = random_shapes(rng, rng.randrange(3)), random_shapes(rng, rng.randrange(1, 6))
            result = combine(BASES[base].loops, adds, cuts)
            seen["holes"] += any(loop.area < 0 for loop in result.loops)
            seen["parted"] += sum(loop.area > 0 for loop in result.loops) > 1
            seen["notched"] += any(len(loop) > 8 for loop in result.loops)
            seen["idle"] += bool(result.idle_cuts)
            seen["arcs"] += any(isinstance(s, Arc) for loop in result.loops for s in loop)
            seen["grown"] += bool(adds) and sum(x.area for x in combine(BASES[base].loops, adds).loops) > BASES[base].area
    assert set(seen) == {"holes", "parted", "notched", "idle", "arcs", "grown"}
    assert min(seen.values()) >= 3, seen


@pytest.mark.parametrize("gap", [0.0, 1e-9, 1e-7, 5e-7])
def test_edges_that_nearly_coincide_count_as_one(gap: float) -> None:
    """Rounding in placements, well below the smallest gap that counts, leaves no film and no sliver."""
    left = loop_through([(0, 0), (10, 0), (10, 10), (0, 10)])
    right = loop_through([(10 + gap, 0), (20, 0), (20, 10), (10 + gap, 10)])
    (joined,) = combine([left], [right]).loops
    assert len(joined) == 4
    assert joined.area == pytest.approx(200, abs=2e-5)
    cut = loop_through([(4, 3), (10 - gap, 3), (10 - gap, 7), (4, 7)])
    (notched,) = combine([left], cuts=[cut]).loops
    assert len(notched) == 8
    assert notched.area == pytest.approx(76, abs=1e-5)


def test_shapes_that_share_a_corner_close() -> None:
    """Two holes, and two blocks, that touch in one corner give closed loops of the right area."""
    lower, upper = rectangle(10, 10).at(-5, -5).outer, rectangle(10, 10).at(5, 5).outer
    holes = combine([rectangle(60, 50).outer], cuts=[lower, upper]).loops
    assert all(is_closed(loop) for loop in holes)
    assert sum(loop.area for loop in holes) == pytest.approx(3000 - 200)
    blocks = combine([lower], [upper]).loops
    assert all(is_closed(loop) for loop in blocks)
    assert sum(loop.area for loop in blocks) == pytest.approx(200)


def test_circle_tangent_to_a_border() -> None:
    """A hole that touches the border from inside, a cut that touches it from outside."""
    plate = [rectangle(60, 50).outer]
    inside = combine(plate, cuts=[disc(10).at(0, 20).outer])
    assert sum(loop.area for loop in inside.loops) == pytest.approx(3000 - 25 * math.pi, abs=1e-6)
    outside = combine(plate, cuts=[disc(10).at(0, 30).outer])
    assert sum(loop.area for loop in outside.loops) == pytest.approx(3000)
    assert outside.idle_cuts == (0,)


def test_three_circles_that_touch_leave_what_lies_between_them() -> None:
    """Circles tangent to each other and to two borders fence off a corner exactly."""
    cuts = [disc(20).at(15, 15).outer, disc(30).at(15, -10).outer]
    result = combine([rectangle(60, 50).outer], cuts=cuts)
    assert sum(loop.area for loop in result.loops) == pytest.approx(3000 - math.pi * (100 + 225), abs=1e-6)
    assert all(is_closed(loop) for loop in result.loops)


def test_arcs_come_out_as_arcs() -> None:
    """Half a circle cut from a border is one arc of half a turn about the circle's own centre, to the last bit."""
    (loop,) = combine([rectangle(60, 50).outer], cuts=[disc(12).at(30, 1).outer]).loops
    (arc,) = [segment for segment in loop if isinstance(segment, Arc)]
    assert arc.center == (30.0, 1.0)
    assert arc.sweep == pytest.approx(-math.pi)
    assert arc.radius == pytest.approx(6, abs=1e-12)


def test_cuts_win_over_additions() -> None:
    """Where both claim a place it is free."""
    tab, slot = rectangle(10, 10).at(0, 30), rectangle(4, 10).at(0, 30)
    result = combine([rectangle(60, 50).outer], [tab.outer], [slot.outer])
    assert sum(loop.area for loop in result.loops) == pytest.approx(60 * 50 + 10 * 10 - 4 * 10)


def test_whole_plate_cut_away_leaves_no_loop() -> None:
    """Nothing left is no loop and no error here; the outline says so."""
    assert combine([rectangle(10, 10).outer], cuts=[rectangle(20, 20).outer]).loops == ()
    with pytest.raises(OutlineError, match="leaves nothing"):
        rectangle(10, 10).cut(rectangle(20, 20))


def test_boundary_leaves_ellipses_to_the_kernel() -> None:
    """What the arrangement cannot split it refuses, and `combine` hands it on: the area is right."""
    import cadquery as cq

    ellipse = outline_of(cq.Sketch().ellipse(20, 10))
    with pytest.raises(OutlineError, match="kernel"):
        boundary(ellipse.loops, lambda points: np.ones(len(points), dtype=bool))
    notched = ellipse.cut(rectangle(40, 20).at(0, 10))
    assert notched.area == pytest.approx(math.pi * 100, abs=1e-5)


def test_kernel_boolean_checks_its_area(monkeypatch: pytest.MonkeyPatch) -> None:
    """An area that cannot be right is an error with the limits, not a panel."""
    monkeypatch.setattr(planar, "_boolean", lambda kind, objects, tools: tools[0])
    with pytest.raises(KernelError, match="mm²") as caught:
        combine_by_kernel([rectangle(10, 10).outer], (), [rectangle(60, 50).outer])
    assert caught.value.value == pytest.approx(3000)


def test_pieces_sort_holes_to_their_plates() -> None:
    """Each hole goes with the innermost outline round it; a hole in none is an error with its place."""
    big, hole = rectangle(60, 50).outer, rectangle(40, 30).outer.clockwise()
    island, eye = rectangle(20, 20).outer, disc(5).outer.clockwise()
    found = [(outer.area, [own.area for own in holes]) for outer, holes in pieces([big, island, hole, eye])]
    assert found == [(3000, [-1200]), (400, [pytest.approx(-6.25 * math.pi)])]
    with pytest.raises(OutlineError, match=r"\(100.00, 0.00\)"):
        pieces([big, island, disc(5).at(100, 0).outer.clockwise()])


@pytest.mark.parametrize("seed", range(10))
def test_winding_numbers_against_shapely(seed: int) -> None:
    """Random points are inside or outside as shapely sees them."""
    rng = random.Random(seed)
    loops = random_shapes(rng, 5)
    points = np.array([(rng.uniform(-50, 50), rng.uniform(-50, 50)) for _ in range(400)])
    shapes = [shapely.Polygon(loop.points(1e-5)) for loop in loops]
    wanted = sum(shapely.contains_xy(shape, points[:, 0], points[:, 1]).astype(int) for shape in shapes)
    found = winding_numbers(loops, points)
    assert (found == wanted).all()
    assert {0, 1} <= set(found.tolist())


def test_merging_leaves_a_spike_alone() -> None:
    """A line that doubles back is a corner; a line that runs on is none."""
    assert len(merged(loop_through([(0, 0), (4, 0), (2, 0), (2, 3)]))) == 4
    assert len(merged(loop_through([(0, 0), (2, 0), (4, 0), (2, 3)]))) == 3
    assert all(isinstance(s, Line) for s in merged(loop_through([(0, 0), (2, 0), (4, 0), (2, 3)])))


def test_probe_of_lines_and_points() -> None:
    """Stretches of material on a line, and what lies in two lists of them."""
    probe = Probe(rectangle(20, 10).cut(rectangle(4, 4)).loops)
    assert probe.along((-100.0, 0.0), (1.0, 0.0)) == [(90.0, 98.0), (102.0, 110.0)]
    assert probe.along((0.0, 30.0), (1.0, 0.0)) == []
    assert probe.covers([(0.0, 0.0), (5.0, 0.0), (11.0, 0.0)]) == [False, True, False]
    assert common([(0, 5), (7, 9)], []) == []
    assert without([(0, 10)], [(-1, 11)]) == []


@pytest.mark.parametrize("turn", list(TURNS))
def test_the_box_of_a_plate_asks_no_hole(monkeypatch: pytest.MonkeyPatch, turn: str) -> None:
    """It is that of all chords, and what it costs does not grow with the number of holes."""
    loops = [loop.moved(TURNS[turn]) for loop in disc(160).cut(grid(hole(4), 10, 10, pitch=10)).loops]
    edges = Probe(loops).edges.reshape(-1, 2)
    asked: list[Loop] = []
    every = probe._chords
    monkeypatch.setattr(probe, "_chords", lambda loop, tolerance: asked.append(loop) or every(loop, tolerance))
    assert Probe(loops).box.tolist() == [edges.min(axis=0).tolist(), edges.max(axis=0).tolist()]
    assert len(loops) == 101
    assert len(asked) == 1
