"""Room for lettering: found wherever there is some, off whatever the beam takes away, never across a bend."""

from __future__ import annotations

import random
from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import shapely
from hinges import stand
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.marks import Label, label_of
from panelwright.assemblies.marks.room import CLEAR, Room, free_region
from panelwright.joints import living_hinge
from panelwright.plates import disc, hole, rectangle, row
from panelwright.plates.geometry.curves import Loop, Segment
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.outlines.outline import Outline
from panelwright.plates.outlines.stroke_font import lettering, lettering_width

EXAMPLES = Path(__file__).parents[2] / "examples"
DESIGNS = ("tile_tray", "brush_rack", "card_drawer", "tool_pot", "kiln_timer", "display_stand", "recipe_stand")
TEXTS = ("A left wall", "A wall", "A")


@cache
def example(name: str) -> Product:
    design = load_design(EXAMPLES / f"{name}.py")
    with design.surroundings():
        return run(design).product()


def line_of(chain: Sequence[Segment]) -> Any:
    return shapely.LineString([*(p for s in chain for p in s.chords(0.005)), chain[-1].end])


def burnt(loops: Sequence[Loop], others: Sequence[Sequence[Segment]], kerf: float) -> Any:
    """What a round beam as wide as the kerf takes away along all paths."""
    lines = [*(line_of(loop.segments) for loop in loops), *(line_of(chain) for chain in others)]
    return shapely.union_all([line.buffer(kerf / 2, quad_segs=32) for line in lines])


def inked(label: Label) -> Any:
    return shapely.union_all([line_of(chain) for chain in label.strokes])


def says(label: Label, *, is_mirrored: bool = False) -> bool:
    """Whether the strokes are the font's own for that text and height, point by point, under one turn and shift."""
    mirror = Motion.mirror_x() if is_mirrored else Motion()
    drawn = [point for chain in label.strokes for line in chain for point in (line.start, line.end)]
    for turn in (0.0, 90.0):
        motion = Motion.turn(turn).then(mirror)
        glyphs = lettering(label.text, label.height)
        wanted = [motion.apply(point) for chain in glyphs for line in chain for point in (line.start, line.end)]
        dx, dy = drawn[0][0] - wanted[0][0], drawn[0][1] - wanted[0][1]
        if [len(chain) for chain in label.strokes] != [len(chain) for chain in glyphs]:
            return False
        if all(abs(x - a - dx) < 1e-9 and abs(y - b - dy) < 1e-9 for (x, y), (a, b) in zip(drawn, wanted, strict=True)):
            return True
    return False


def panels() -> list[tuple[str, Panel]]:
    return [(name, panel) for name in DESIGNS for panel in example(name).panels]


@pytest.mark.parametrize("is_mirrored", [False, True])
def test_every_panel_of_every_example(is_mirrored: bool) -> None:
    """Inside, at the clear distance from what a beam of the stock's kerf takes away, and letter for letter the font's."""
    for name, panel in panels():
        off = [*panel.strokes, *panel.marks]
        kerf = panel.stock.kerf
        label = label_of([f"A {panel.name}", "A"], panel.cuts, off, kerf=kerf, bends=panel.bends, is_mirrored=is_mirrored)
        assert label is not None, f"{name}: {panel.name}"
        letters = inked(label)
        assert kerf > 0
        assert shapely.Polygon(line_of(panel.cuts[0].segments).coords).contains(letters)
        assert not any(shapely.Polygon(loop.points()).intersects(letters) for loop in panel.cuts[1:])
        assert letters.distance(burnt(panel.cuts, off, kerf)) >= CLEAR
        assert not any(shapely.Polygon(loop.points()).intersects(letters) for loop in panel.bends)
        assert says(label, is_mirrored=is_mirrored)


HEIGHTS = (6.0, 5.0, 4.0, 3.5, 3.0, 2.5, 2.0)


@pytest.mark.parametrize("long", [30, 75, 180, 300, 450, 700, 1200])
@pytest.mark.parametrize("high", [5.2, 6.1, 7.0, 8.0, 9.3, 10.4])
@pytest.mark.parametrize("is_upright", [False, True])
def test_rails_of_any_length(long: float, high: float, is_upright: bool) -> None:
    """A rail's length says nothing about the height of its letters; the grid costs them two fine cells at most."""
    size = (high, long) if is_upright else (long, high)
    label = label_of(["A"], rectangle(*size).loops, kerf=0.2)
    free = high - 2 * (CLEAR + 0.05) - 0.2
    # a letter lies on its side where that is lower
    sure = [height for height in HEIGHTS if min(height, lettering_width("A", height)) <= free - 0.8]
    able = [height for height in HEIGHTS if min(height, lettering_width("A", height)) <= free]
    assert (label.height if label else 0.0) >= max(sure, default=0.0)
    assert (label.height if label else 0.0) <= max(able, default=0.0)


@pytest.mark.parametrize("side", [120, 250, 400, 600])
def test_frames_with_narrow_rails(side: float) -> None:
    """Room between a border and a window is found on frames of any size."""
    frame = rectangle(side, side).cut(rectangle(side - 20, side - 20))
    label = label_of(TEXTS, frame.loops, kerf=0.2)
    assert label is not None
    assert (label.text, label.height) == ("A left wall", 6.0)
    assert inked(label).distance(burnt(frame.loops, (), 0.2)) >= CLEAR


AWKWARD: dict[str, Outline] = {
    "disc": disc(24),
    "small disc": disc(9),
    "ring": disc(80).cut(hole(60)),
    "jar shelf": rectangle(220, 90).cut(row(hole(38), 5)),
    "brush comb": rectangle(200, 60).cut(row(rectangle(3, 50), 24)),
    "sieve": rectangle(90, 90).cut(*(hole(5).at(x, y) for x in range(-42, 43, 7) for y in range(-42, 43, 7))),
    "rail": rectangle(160, 8),
}


@pytest.mark.parametrize("name", AWKWARD)
@pytest.mark.parametrize("turn", [0, 17, 90])
def test_awkward_panels(name: str, turn: float) -> None:
    """Lettering is clear of all cuts, and where there is none, no letter of 2 mm has room on any spot."""
    shape = [loop.moved(Motion.turn(turn)) for loop in AWKWARD[name].loops]
    label = label_of(TEXTS, shape, kerf=0.3)
    if label is not None:
        assert inked(label).distance(burnt(shape, (), 0.3)) >= CLEAR
        assert says(label)
        return
    free = free_region(shape, kerf=0.3)
    shapely.prepare(free)
    wide, high = lettering_width("A", 2.0), 2.0
    x0, y0, x1, y1 = shape[0].bounds
    spots = random.Random(7)
    boxes = [
        shapely.box(x, y, x + a, y + b)
        for x, y in ((spots.uniform(x0, x1), spots.uniform(y0, y1)) for _ in range(20000))
        # two cells are what the grid may cost
        for a, b in ((wide + 0.8, high + 0.8), (high + 0.8, wide + 0.8))
    ]
    assert not free.covers(boxes).any()


def test_awkward_panels_are_awkward() -> None:
    """Both answers are among them."""
    found = {name: label_of(TEXTS, shape.loops, kerf=0.3) for name, shape in AWKWARD.items()}
    assert found["brush comb"] is not None
    assert found["sieve"] is None
    assert found["small disc"] is not None
    assert found["small disc"].text == "A"


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(*(st.floats(-45, 45) for _ in range(4))), max_size=6),
    st.tuples(st.floats(1, 40), st.floats(1, 40)),
)
def test_room_against_an_exact_search(lines: list[tuple[float, float, float, float]], size: tuple[float, float]) -> None:
    """Where the middle of a box may lie, exactly: the free region less the box swept along its border (shapely's convex hulls).

    What is found lies there, and nothing is missed that two cells more would leave room for.
    """
    board = shapely.box(-50, -40, 50, 40)
    region = board.difference(shapely.union_all([shapely.LineString([q[:2], q[2:]]).buffer(1.5) for q in lines]))
    at = Room(region, board.bounds).place(size)
    if at is not None:
        assert region.covers(shapely.box(*at, at[0] + size[0], at[1] + size[1]).buffer(-1e-9))
    else:
        assert _middles(region, (size[0] + 0.9, size[1] + 0.9)).area < 1e-6


def _middles(region: Any, size: tuple[float, float]) -> Any:
    """The middles of boxes of that size that lie in a region: those from which no border is in reach."""
    swept = []
    for ring in shapely.get_rings(shapely.get_parts(region)):
        points = shapely.get_coordinates(ring)
        for p, q in pairwise(points):
            corners = [(x + sx * size[0] / 2, y + sy * size[1] / 2) for x, y in (p, q) for sx in (-1, 1) for sy in (-1, 1)]
            swept.append(shapely.MultiPoint(corners).convex_hull)
    return region.difference(shapely.union_all(swept))


@pytest.mark.parametrize("link", [None, 5.5])
def test_no_lettering_in_a_bend(link: float | None) -> None:
    """Wide links leave room between slits, but there the panel is bent: the letters stay on the flat ends."""
    hinge = living_hinge() if link is None else living_hinge(link=link)
    product = stand(hinge, radius=90, front=(14, 120), side=(14, 120)).product()
    assert not product.errors
    (panel,) = product.panels
    (strip,) = panel.bends
    assert strip.bounds[2] - strip.bounds[0] == pytest.approx((90 + 3.0 / 2) * 3.141592653589793 / 2)
    bend = shapely.Polygon(strip.points())
    # slits at the border run out over it
    assert all(bend.buffer(3.0).covers(line_of(slit)) for slit in panel.strokes)

    def lettered(bends: Sequence[Loop]) -> Any:
        label = label_of(["A front", "A"], panel.cuts, panel.strokes, kerf=0.2, bends=bends)
        assert label is not None
        return inked(label)

    assert not bend.intersects(lettered(panel.bends))
    if link is not None:
        assert bend.intersects(lettered(())), "without being told, letters would go there"


def test_the_same_every_time() -> None:
    """Twice the same strokes, to the last bit, whatever was asked for before."""
    shape = AWKWARD["jar shelf"].loops
    first = label_of(TEXTS, shape, kerf=0.2)
    label_of(["B"], AWKWARD["ring"].loops)
    assert first == label_of(TEXTS, shape, kerf=0.2)
