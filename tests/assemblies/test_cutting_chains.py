"""Holding bridges and shared cuts, judged by sweeping the beam along what is cut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.assemblies.cutting import CutPath, merged, with_bridges
from panelwright.plates import disc, finger_notch, obround, polygon, rectangle
from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.curves import loop_through
from panelwright.plates.outlines.outline import Outline

KERF = 0.2

SHAPES = {
    "board": rectangle(100, 60),
    "disc": disc(50),
    "tabbed": rectangle(90, 40).joined(rectangle(12, 48), rectangle(98, 10)),
    "notched": rectangle(120, 50).cut(finger_notch(40, 10)),
    "wedge": polygon([(0, 0), (80, 0), (10, 30)]),
    "obround": obround(70, 24),
    "rounded": rectangle(60, 30).rounded(6),
}


def cut_of(shape: Outline, piece: int = 0) -> CutPath:
    return CutPath("outside", shape.loops[0].segments, piece)


def swept(paths: Sequence[CutPath], kerf: float = KERF) -> Any:
    """What the beam takes away: all places nearer than half a kerf to a path, square at its ends as far as that goes."""
    lines = [shapely.LineString([*(p for s in path.segments for p in s.chords(1e-3)), path.end]) for path in paths]
    return shapely.union_all([line.buffer(kerf / 2, quad_segs=32) for line in lines])


def pieces(material: Any) -> list[Any]:
    return list(getattr(material, "geoms", [material]))


@pytest.mark.parametrize("count", [1, 2, 3, 5])
@pytest.mark.parametrize("name", SHAPES)
def test_bridges_hold_the_part_in_its_sheet(name: str, count: int) -> None:
    """With them the sheet is one piece after cutting, without them two; what is left uncut is as long as asked for."""
    path = cut_of(SHAPES[name])
    chains = with_bridges(path, width_mm=0.8, kerf_mm=KERF, count=count)
    x0, y0, x1, y1 = path.bounds
    sheet = shapely.box(x0 - 10, y0 - 10, x1 + 10, y1 + 10)
    assert len(pieces(sheet.difference(swept([path])))) == 2
    assert len(pieces(sheet.difference(swept(chains)))) == 1
    assert len(chains) == count
    # a gap on an arc is a little longer along the arc than straight across: by s³/24r², 1e-4 mm on the smallest arc here (6 mm)
    uncut = path.length_mm - sum(chain.length_mm for chain in chains)
    assert count * (0.8 + KERF) - 1e-6 <= uncut <= count * (0.8 + KERF + 2e-3)
    assert all(not chain.is_closed for chain in chains)


def test_a_bridge_is_as_wide_as_asked_for() -> None:
    """Measured across, between the rounds that the beam leaves at both ends of the gap."""
    chains = with_bridges(cut_of(rectangle(100, 60)), width_mm=0.8, kerf_mm=KERF, count=2)
    ends = sorted({point for chain in chains for point in (chain.start, chain.end)})
    for a, b in ((ends[0], ends[1]), (ends[2], ends[3])):
        gap = shapely.Point(a).distance(shapely.Point(b))
        assert gap == pytest.approx(0.8 + KERF)
        assert a[1] == pytest.approx(b[1]) or a[0] == pytest.approx(b[0])  # on a straight side


def test_bridges_are_spread_around_the_part() -> None:
    """Two of them lie on opposite sides, and none is near a corner."""
    chains = with_bridges(cut_of(rectangle(100, 60)), width_mm=1.0, kerf_mm=KERF, count=4)
    lengths = [chain.length_mm for chain in chains]
    assert max(lengths) < 2.2 * min(lengths)
    for chain in chains:
        for x, y in (chain.start, chain.end):
            assert max(50 - abs(x), 30 - abs(y)) >= 1.0 - 1e-9


def toothed(count: int, depth: float, radius: float = 30.0) -> CutPath:
    """A wheel whose outline is all corners, for a kiln timer's knob."""
    spokes = [(radius + depth * (k % 2), 2 * math.pi * k / count) for k in range(count)]
    return CutPath("outside", loop_through([(r * math.cos(a), r * math.sin(a)) for r, a in spokes]).segments, 0)


@pytest.mark.parametrize("width", [0.5, 0.8, 2.0])
@pytest.mark.parametrize(("count", "depth"), [(12, 6.0), (60, 0.0), (120, 1.0), (400, 0.3), (400, 3.0)])
def test_a_bridge_round_corners_is_no_narrower(count: int, depth: float, width: float) -> None:
    """Where no side is long enough the gap is measured straight across; along the path it is longer then."""
    path = toothed(count, depth)
    for bridges in (1, 2, 5):
        chains = with_bridges(path, width_mm=width, kerf_mm=KERF, count=bridges)
        assert len(chains) == bridges
        for chain, following in zip(chains, [*chains[1:], chains[0]], strict=True):
            assert math.dist(chain.end, following.start) >= width + KERF - 1e-6
        sheet = shapely.box(-50, -50, 50, 50)
        assert len(pieces(sheet.difference(swept([path])))) == 2
        assert len(pieces(sheet.difference(swept(chains)))) == 1


def test_a_cut_that_only_turns_to_and_fro_is_refused() -> None:
    """Fine teeth: in the share of a bridge the path never gets 2.2 mm away from where it was."""
    with pytest.raises(SizeError, match=r"turns too sharply for 200 bridges of 2 mm; give fewer or narrower ones"):
        with_bridges(toothed(1000, 1.6), width_mm=2.0, kerf_mm=KERF, count=200)


def test_too_short_a_cut_is_refused() -> None:
    """With the length, the number and the width in the message."""
    with pytest.raises(SizeError, match=r"a cut of 12\.6 mm is too short for 5 bridges of 1 mm; give fewer or narrower ones"):
        with_bridges(cut_of(disc(4)), width_mm=1.0, kerf_mm=KERF, count=5)


def tiles(columns: int, rows: int, wide: float, high: float, gap: float = 0.0) -> list[CutPath]:
    """Cut paths of tiles that lie a kerf apart, so that their paths touch."""
    return [
        cut_of(rectangle(wide, high).at(column * (wide + gap), row * (high + gap)), row * columns + column)
        for row in range(rows)
        for column in range(columns)
    ]


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 4), st.integers(1, 4), st.floats(12, 60), st.floats(12, 60))
def test_a_grid_of_tiles_is_cut_along_its_lines(columns: int, rows: int, wide: float, high: float) -> None:
    """What is cut is the same to the last sliver, every inner line once: its length is known."""
    paths = tiles(columns, rows, wide, high)
    cut, saved = merged(paths)
    inner = (columns - 1) * rows * high + (rows - 1) * columns * wide
    assert saved == pytest.approx(inner, abs=1e-6)
    assert swept(cut).symmetric_difference(swept(paths)).area < 1e-6
    assert sum(path.length_mm for path in cut) == pytest.approx(sum(path.length_mm for path in paths) - inner)


def test_sides_that_overlap_in_part() -> None:
    """Half of a side is shared: the second path is open, and the rest of it is cut."""
    paths = [cut_of(rectangle(40, 40)), cut_of(rectangle(40, 40).at(40, 15), 1)]
    cut, saved = merged(paths)
    assert saved == pytest.approx(25.0)
    assert [path.is_closed for path in cut] == [True, False]
    assert swept(cut).symmetric_difference(swept(paths)).area < 1e-6


def test_what_is_not_shared_stays_as_it_is() -> None:
    """Parts a little apart, holes, marks and rounds that only touch are the same objects afterwards."""
    apart = tiles(2, 1, 30, 30, gap=0.05)
    hole = CutPath("inside", rectangle(30, 10).at(0, 10).loops[0].segments, 0)
    discs = [cut_of(disc(30).at(100 + 30 * k, 0), 5 + k) for k in range(2)]
    given_ = [*apart, hole, *discs]
    cut, saved = merged(given_)
    assert saved == 0
    assert all(a is b for a, b in zip(cut, given_, strict=True))


def test_a_part_inside_a_frame_of_others_needs_no_cut_of_its_own() -> None:
    """Its four sides are those of its neighbours, which come first."""
    ring = [(-30, 0), (30, 0), (0, 30), (0, -30)]
    paths = [*(cut_of(rectangle(30, 30).at(x, y), n) for n, (x, y) in enumerate(ring)), cut_of(rectangle(30, 30), 9)]
    cut, saved = merged(paths)
    assert saved == pytest.approx(120.0)
    assert [path.piece for path in cut] == [0, 1, 2, 3]
    assert swept(cut).symmetric_difference(swept(paths)).area < 1e-6
