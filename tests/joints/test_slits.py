"""Patterns of slits: apart from each other and from borders, links all of one width, and a strip that holds together."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.joints.kinds.hinges.link_rows import link_rows, plain_rows
from panelwright.joints.kinds.hinges.slits import PATTERNS, SLOPE_DEG, Lattice, Pattern, slits_of
from panelwright.joints.spec.strip import SLIT_RUN_OUT, Slit, Stretch
from panelwright.plates.geometry.curves import Arc, Line, Motion, Point

ROUNDING = 1e-9


def plan(lattice: Lattice, height: float, length: float, *stretches: Stretch, start: float = 0.0) -> list[Slit]:
    """The slits of a strip of height × length, from u = `start` on; plain borders unless `stretches` say otherwise."""
    free = list(stretches) or [Stretch(start, start + height, True, True)]
    return slits_of(lattice, (start, start + height), length, lambda low, high: free)


def polygon(slit: Slit, place: Any = lambda u, s: (u, s)) -> Any:
    return shapely.Polygon(slit.loop(place).points(1e-4))


def length_for(lattice: Lattice) -> float:
    """Room for all columns, half a link left beside them."""
    return lattice.columns * lattice.pitch + 2 * lattice.swing


@st.composite
def lattices(draw: st.DrawFn) -> tuple[Lattice, float]:
    """A lattice as a hinge settles it, and the height of its strip: whole periods of at least four bridges, and a bridge."""
    pattern: Pattern = draw(st.sampled_from(PATTERNS))
    width = draw(st.floats(0.1, 2.0))
    # the ends of wide chevrons lean, and would meet across a bridge much narrower than they are: the proof says so then
    bridge = draw(st.floats(0.5 if pattern != "chevron" else max(0.5, width / 2), 6.0))
    period = draw(st.floats(4.0, 12.0)) * bridge + 2 * width
    link = draw(st.floats(max(0.5, 0.5 * width), 6.0))
    return Lattice(pattern, draw(st.integers(2, 9)), link, width, period, bridge), period * draw(st.integers(1, 5)) + bridge


@given(lattices())
@settings(max_examples=150, deadline=None)
def test_slits_stay_apart_by_a_link_and_by_a_bridge(given_lattice: tuple[Lattice, float]) -> None:
    """In one column a bridge stays between two slits, between columns a link; nothing touches anything."""
    lattice, height = given_lattice
    slits = plan(lattice, height, length_for(lattice))
    shapes = [polygon(slit) for slit in slits]
    columns = columns_of(slits, lattice)
    assert sorted(columns) == list(range(lattice.columns))
    least_of_column = math.inf
    for numbers in columns.values():
        for i, j in pairwise(sorted(numbers, key=lambda n: slits[n].points[0][0])):
            least_of_column = min(least_of_column, shapes[i].distance(shapes[j]))
    # ends of chevrons are square to their legs, so a corner of them reaches out by half the width times the slope
    lean = math.sin(math.radians(SLOPE_DEG)) if lattice.pattern == "chevron" else 0.0
    if least_of_column < math.inf:
        assert lattice.bridge - lean * lattice.width - 1e-6 < least_of_column
    for column in range(lattice.columns - 1):
        near = [shapes[i] for i in columns[column]]
        beside = [shapes[i] for i in columns[column + 1]]
        apart = shapely.union_all(near).distance(shapely.union_all(beside))
        # legs of chevrons may be too short for a line square to both to meet them, and are further apart then; where a corner
        # of the zigzag is nearer to an end than a slit is wide, it is left out, and the leg there leans less
        assert apart > lattice.link_width - (2 * lean * lattice.width if near_corner(lattice, slits) else 0.0) - 1e-6
        if lattice.pattern != "chevron":
            assert apart == pytest.approx(lattice.link, abs=1e-6)


def near_corner(lattice: Lattice, slits: list[Slit]) -> bool:
    """Whether any slit ends nearer to a corner of the chevrons' wave than it is wide."""
    leg = lattice.period / 4
    ends = [u for slit in slits for u in (slit.points[0][0], slit.points[-1][0])]
    legs = [(u - lattice.bridge / 2) / leg for u in ends]
    return any(abs(u - round(u)) * leg < lattice.width + 1e-9 for u in legs)


def columns_of(slits: list[Slit], lattice: Lattice) -> dict[int, list[int]]:
    """Numbers of slits by column, from the middle of their s."""
    found: dict[int, list[int]] = {}
    first = length_for(lattice) / 2 - (lattice.columns - 1) / 2 * lattice.pitch
    for number, slit in enumerate(slits):
        s = slit.points[0][1] if lattice.pattern != "chevron" else slit.points[0][1] - _wave(lattice, slit.points[0][0])
        found.setdefault(round((s - first) / lattice.pitch), []).append(number)
    return found


def _wave(lattice: Lattice, u: float) -> float:
    """How far the chevrons' zigzag has left its column at u: a triangle wave, high half a bridge inside the border."""
    leg = lattice.period / 4
    share = ((u - lattice.bridge / 2) / leg) % 2.0
    return lattice.swing * (1 - 2 * share if share < 1 else 2 * share - 3)


@given(lattices())
@settings(max_examples=150, deadline=None)
def test_slits_end_a_bridge_from_borders_or_run_out(given_lattice: tuple[Lattice, float]) -> None:
    """At either border a slit runs out by a millimetre or ends a bridge before it, and every second column does either."""
    lattice, height = given_lattice
    slits = plan(lattice, height, length_for(lattice), start=-13.0)
    low, high = -13.0, -13.0 + height
    opened = 0
    for slit in slits:
        start, end = slit.points[0][0], slit.points[-1][0]
        assert start < end
        for is_open, at, border in ((slit.open_start, start - low, 1), (slit.open_end, high - end, 1)):
            if is_open:
                assert at == pytest.approx(-SLIT_RUN_OUT)
                opened += border
            else:
                assert at >= lattice.bridge - ROUNDING
    odd = lattice.columns // 2
    assert opened == 2 * odd


@given(lattices())
@settings(max_examples=100, deadline=None)
def test_strip_holds_together_and_bends_everywhere(given_lattice: tuple[Lattice, float]) -> None:
    """What is left is one piece, and no line across the strip, along s, gets through it without meeting a slit."""
    lattice, height = given_lattice
    length = length_for(lattice)
    slits = [polygon(slit) for slit in plan(lattice, height, length)]
    strip = shapely.box(0, 0, height, length).difference(shapely.union_all(slits))
    assert strip.geom_type == "Polygon"
    covered = sorted((shape.bounds[0], shape.bounds[2]) for shape in slits)
    reach = 0.0
    for start, end in covered:
        # rounded and slanting ends reach a little less far on one side: two slits of neighbouring columns overlap by far
        assert start <= reach + ROUNDING
        reach = max(reach, end)
    assert reach >= height


@given(lattices())
@settings(max_examples=60, deadline=None)
def test_closed_slits_are_as_long_as_the_lattice_says(given_lattice: tuple[Lattice, float]) -> None:
    """Closed slits inside the strip have the lattice's length, and slits of neighbouring columns overlap by a link's length."""
    lattice, height = given_lattice
    slits = plan(lattice, height, length_for(lattice))
    columns = columns_of(slits, lattice)
    ends = {i: (slits[i].points[0][0], slits[i].points[-1][0]) for i in range(len(slits))}
    inner = [
        i
        for i, s in enumerate(slits)
        if not (s.open_start or s.open_end)
        and ends[i][0] > lattice.bridge + ROUNDING
        and ends[i][1] < height - lattice.bridge - ROUNDING
    ]
    for i in inner:
        assert ends[i][1] - ends[i][0] == pytest.approx(lattice.slit_length, abs=1e-9)
    overlap = lattice.link_length * (math.cos(math.radians(SLOPE_DEG)) if lattice.pattern == "chevron" else 1.0)
    seen = 0
    for i in columns[0]:
        for j in columns[1]:
            common = min(ends[i][1], ends[j][1]) - max(ends[i][0], ends[j][0])
            if common > 0 and i in inner and j in inner:
                assert common == pytest.approx(overlap, abs=1e-9)
                seen += 1
    assert seen > 0 or height < 3.5 * lattice.period


@given(lattices())
@settings(max_examples=100, deadline=None)
def test_links_next_to_borders_are_as_long_as_all_others(given_lattice: tuple[Lattice, float]) -> None:
    """Measured on the slits: wherever slits of neighbouring columns overlap within the sheet, it is by one and the same length.

    Twist and so stress are alike in all links then, and no end link is worse than what the mechanics judge.
    """
    lattice, height = given_lattice
    slits = plan(lattice, height, length_for(lattice))
    columns = columns_of(slits, lattice)
    ends = [(max(0.0, s.points[0][0]), min(height, s.points[-1][0])) for s in slits]
    lengths = []
    for column in range(lattice.columns - 1):
        for i in columns[column]:
            for j in columns[column + 1]:
                common = min(ends[i][1], ends[j][1]) - max(ends[i][0], ends[j][0])
                if common > 0:
                    lengths.append(common)
    slope = math.cos(math.radians(SLOPE_DEG)) if lattice.pattern == "chevron" else 1.0
    assert lengths == pytest.approx([lattice.link_length * slope] * (lattice.series * lattice.parallel(height)), abs=1e-9)
    rows = link_rows(lattice, (0.0, height), slits)
    assert [row.free for row in rows] == [lattice.series] * lattice.parallel(height)
    for row, plain in zip(rows, plain_rows(lattice, (0.0, height)), strict=True):
        assert (row.level, row.shortest, row.total) == pytest.approx((plain.level, plain.shortest, plain.total))


@given(lattices(), st.integers(0, 8), st.booleans())
@settings(max_examples=100, deadline=None)
def test_slits_that_stop_short_of_a_border_lock_the_links_on_either_side(
    given_lattice: tuple[Lattice, float], number: int, at_the_top: bool
) -> None:
    """One column of those that open stops a bridge inside one border: both links beside it are locked there, and no other."""
    lattice, height = given_lattice
    column = 2 * (number % max(1, lattice.columns // 2)) + 1
    place = length_for(lattice) / 2 + (column - (lattice.columns - 1) / 2) * lattice.pitch
    short = Stretch(0.0, height - lattice.bridge, True, False) if at_the_top else Stretch(lattice.bridge, height, False, True)
    everywhere = Stretch(0.0, height, True, True)
    slits = slits_of(
        lattice,
        (0.0, height),
        length_for(lattice),
        lambda low, high: [short if abs((low + high) / 2 - place) < lattice.pitch / 4 else everywhere],
    )
    free = [row.free for row in link_rows(lattice, (0.0, height), slits)]
    locked = 1 if column == lattice.columns - 1 else 2
    expected = [lattice.series] * lattice.parallel(height)
    expected[-1 if at_the_top else 0] -= locked
    assert free == expected


@given(lattices(), st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=1, max_size=4))
@settings(max_examples=100, deadline=None)
def test_slits_keep_to_the_stretches_that_are_free(
    given_lattice: tuple[Lattice, float], cuts: list[tuple[float, float]]
) -> None:
    """Ends that are no plain border are kept exactly, and slits next to nothing long are left out."""
    lattice, height = given_lattice
    ends = sorted({round(share * height, 3) for pair in cuts for share in pair})
    stretches = [Stretch(a, b, a == 0.0, b == height) for a, b in pairwise(ends)][::2]
    for slit in plan(lattice, height, length_for(lattice), *(stretches or [Stretch(0.0, 0.0)])):
        start, end = slit.points[0][0], slit.points[-1][0]
        (home,) = [
            s
            for s in stretches
            if s.low - SLIT_RUN_OUT - ROUNDING <= start
            and end <= s.high + SLIT_RUN_OUT + ROUNDING
            and (slit.open_start or start >= s.low - ROUNDING)
            and (slit.open_end or end <= s.high + ROUNDING)
        ]
        assert end - start >= lattice.bridge + lattice.width - ROUNDING
        assert not slit.open_start or home.opens_low
        assert not slit.open_end or home.opens_high


PLACES: dict[str, Any] = {
    "as it is": lambda u, s: (u, s),
    "turned over": lambda u, s: (s, u),
    "aslant": lambda u, s: Motion.turn(33).then(Motion.shift(5, -70)).apply((u, s)),
}


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("where", PLACES)
def test_loops_and_paths_of_slits(pattern: Pattern, where: str) -> None:
    """Loops are counter-clockwise and of the slit's area; the beam's path, as wide as the slit, cuts it but for round ends."""
    lattice = Lattice(pattern, 5, 3.0, 0.4, 20.0, 3.0)
    place = PLACES[where]
    slits = plan(lattice, 60.0, length_for(lattice))
    assert {slit.is_round for slit in slits} == {pattern == "obround"}
    for slit in slits:
        loop = slit.loop(place)
        assert loop.is_counter_clockwise
        if slit.is_round:
            assert [type(s) for s in loop] in ([Line, Arc, Line, Arc], [Arc, Line, Arc, Line])
            assert loop.area == pytest.approx((slit.length - 0.4) * 0.4 + math.pi * 0.04, abs=1e-9)
        else:
            assert loop.area == pytest.approx(slit.length * 0.4, rel=1e-9)
        path = slit.path(place)
        chain: list[Point] = [path[0].start, *(segment.end for segment in path)]
        swept = shapely.LineString(chain).buffer(0.2, quad_segs=64)
        shape = polygon(slit, place)
        missing, extra = shape.difference(swept), swept.difference(shape)
        # a round beam leaves something in the corners of ends and of zigzags
        if not (slit.open_start or slit.open_end):
            lean = math.radians(SLOPE_DEG)
            ends = 0.0 if slit.is_round else 4 * (1 - math.pi / 4)
            turns = (len(slit.points) - 2) * (math.tan(lean) - lean)
            assert missing.area == pytest.approx((ends + turns) * 0.2**2, abs=2e-4)
            assert extra.area < 2e-4
        for is_open, end, inside in ((slit.open_start, chain[0], slit.points[0]), (slit.open_end, chain[-1], slit.points[-1])):
            border = place(*inside)
            # half a slit short of a closed end; half a slit outside the border at an open one
            assert math.dist(end, border) == pytest.approx(SLIT_RUN_OUT - 0.2 if is_open else 0.2, abs=1e-9)


def test_chevrons_lean_as_they_say() -> None:
    """Each leg leans by 20° from the axis, and all columns follow one wave."""
    lattice = Lattice("chevron", 4, 3.0, 0.2, 24.0, 3.0)
    for slit in plan(lattice, 75.0, length_for(lattice)):
        assert len(slit.points) > 2
        for p, q in pairwise(slit.points):
            assert math.degrees(math.atan2(abs(q[1] - p[1]), q[0] - p[0])) == pytest.approx(SLOPE_DEG)
        s = slit.points[0][1] - _wave(lattice, slit.points[0][0])
        assert all(q[1] - _wave(lattice, q[0]) == pytest.approx(s, abs=1e-9) for q in slit.points)
