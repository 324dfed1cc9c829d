"""Several rows of tabs that want the same stretch of one plate: a shelf on either side of a divider, and more.

Positions are from the rule in `assemblies/resolve/turns.py`, worked out by hand beside each; there is no outside source.
"""

from __future__ import annotations

from itertools import permutations
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.resolve.turns import by_turns
from panelwright.joints import fingers, join, t_nut, tabs
from panelwright.joints.spec.pattern import Wish
from panelwright.plates import Face, Frame, JointError, Stock, hole, rectangle
from panelwright.plates.geometry.probe import common
from readers import pairs, polygon_of_loops, shared_volume

PLY = Stock("birch plywood", 4.0, measured=4.0, cutter="knife", clearance=0.1)
UPRIGHT = Frame.facing((-2, 0, 75), show=(1, 0, 0), right=(0, 1, 0))


def divider(assembly: Assembly, *, holed: bool = False) -> tuple[Face, Face]:
    """A divider at x = -2 to 2; its two broad faces, the left one first."""
    outline = rectangle(140, 150).cut(hole(10).at(0, -3)) if holed else rectangle(140, 150)
    placed = assembly.add("divider", outline, UPRIGHT)
    return placed.back, placed.show


def shelves(left: Any, right: Any, *, order: tuple[int, ...] = (0, 1), rise: float = 0.0, holed: bool = False) -> Assembly:
    """A jar shelf left and one right of a divider, 80 mm deep, flush or one higher by `rise`."""
    made = Assembly("jar shelf", stock=PLY)
    faces = divider(made, holed=holed)
    edges = (
        made.add("left", rectangle(100, 80), Frame((-52, 0, 70))).face(">X"),
        made.add("right", rectangle(100, 80), Frame((52, 0, 70 + rise))).face("<X"),
    )
    for i in order:
        join(edges[i], faces[i], (left, right)[i])
    return made


def positions(product: Product) -> dict[str, list[float]]:
    return {record.plates[0]: record.numbers["positions_mm"] for record in product.joints}


def assert_sound(product: Product) -> None:
    """No finding at all, and nothing shared by the kernel's booleans."""
    assert [str(f) for f in product.findings] == []
    assert max(shared_volume(a, b) for a, b in pairs(product.parts)) < 1e-6
    for record in product.joints:
        assert record.numbers["measured_clearance_mm"] == pytest.approx([0.1, 0.1], abs=1e-6)


def assert_webs(product: Product, web: float = 4.0) -> None:
    """The slots of the divider stand a web apart."""
    slots = [shapely.Polygon(loop.points()) for loop in product.parts[0].loops if loop.area < 0]
    assert len(slots) >= 3
    nearest = min(a.distance(b) for i, a in enumerate(slots) for b in slots[i + 1 :])
    assert nearest >= web - 0.1 - 1e-6  # less half a clearance on either side


@pytest.mark.parametrize("rise", [0.0, 1.5, -5.0])
def test_equal_shelves_take_turns(rise: float) -> None:
    """Four cells of (80 + 4) / 4 - 4 = 17 mm with webs of 4 between, by turns; both shelves stay the same panel."""
    product = shelves(tabs(count=2, width=10), tabs(count=2, width=10), rise=rise).product()
    assert_sound(product)
    assert_webs(product)
    found = positions(product)
    assert found["left"] == pytest.approx([8.5, 8.5 + 42])
    assert found["right"] == pytest.approx([8.5 + 21, 8.5 + 63])
    assert [panel.quantity for panel in product.panels] == [1, 2]


def test_shelves_far_apart_share_nothing() -> None:
    """Lines more than a web apart are no business of each other: each row is as if alone."""
    product = shelves(tabs(count=2, width=10), tabs(count=2, width=10), rise=8.5).product()
    assert_sound(product)
    assert positions(product) == {"left": [20, 60], "right": [20, 60]}


ROWS = {
    "own choice": (tabs(), tabs()),
    "unlike counts": (tabs(count=3, width=8), tabs(count=2, width=10)),
    "unlike widths": (tabs(count=1, width=30), tabs(count=2, width=8)),
    "one pitch": (tabs(pitch=24, width=6), tabs(pitch=24, width=6)),
    "pitch and count": (tabs(pitch=40, width=6), tabs(count=2, width=6)),
    "given and count": (tabs(at=[20, 60], width=10), tabs(count=1, width=10)),
    "given and pitch": (tabs(at=[40], width=10), tabs(pitch=20, width=6)),
    "both given": (tabs(at=[20, 60], width=10), tabs(at=[40], width=10)),
    "margins": (tabs(count=2, width=8, margin=10), tabs(count=2, width=8, margin=10)),
    "blind, too deep to oppose": (tabs(count=2, width=10, depth=2.5), tabs(count=2, width=10, depth=2.5)),
    "blind, unlike": (tabs(count=2, width=10, depth=2), tabs(count=2, width=12, depth=2)),
}


IN_HALVES = ("own choice", "pitch and count", "blind, too deep to oppose", "blind, unlike")
"""Rows that fit on what a hole in the middle leaves as well."""


@pytest.mark.parametrize(("rows", "holed"), [*((rows, False) for rows in ROWS), *((rows, True) for rows in IN_HALVES)])
def test_rows_keep_a_web_from_each_other_in_any_order(rows: str, holed: bool) -> None:
    """Whatever says where tabs go, slots are a web apart, and the order of joins makes no difference."""
    one, other = (shelves(*ROWS[rows], order=order, holed=holed).product() for order in ((0, 1), (1, 0)))
    assert_sound(one)
    assert_webs(one)
    assert {part.name: part.loops for part in one.parts} == {part.name: part.loops for part in other.parts}
    assert positions(one) == positions(other)


def test_one_pitch_is_kept_by_both() -> None:
    """Seven places 12 mm apart, centred on 80 mm: each row keeps its 24 mm."""
    found = positions(shelves(tabs(pitch=24, width=6), tabs(pitch=24, width=6)).product())
    assert found["left"] == pytest.approx([4, 28, 52, 76])
    assert found["right"] == pytest.approx([16, 40, 64])


def test_unlike_pitches_are_refused() -> None:
    """Two pitches on one line cannot both be kept, and both are named."""
    with pytest.raises(JointError, match=r"pitch is 20 mm, but .* 'left' and 'divider', which keep 24 mm") as caught:
        shelves(tabs(pitch=24, width=6), tabs(pitch=20, width=6)).resolve()
    assert (caught.value.value, caught.value.limit) == (20, 24)


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_places_given_by_hand_that_collide_are_an_error(order: tuple[int, ...]) -> None:
    """Neither of two rows placed by hand moves: both say so."""
    product = shelves(tabs(at=[20, 60], width=10), tabs(at=[29], width=10), order=order).product()
    refused = [f for f in product.findings if f.code == "JOINT"]
    assert {f.plates for f in refused} == {("left", "divider"), ("right", "divider")}
    assert all("collides with another joint" in f.message for f in refused)
    assert product.joints == ()


@pytest.mark.parametrize(("place", "level"), [(30.0, "error"), (30.05, "error"), (32.0, "warning"), (34.0, None)])
def test_places_given_by_hand_that_come_near_each_other_are_told(place: float, level: str | None) -> None:
    """Openings that run into each other are an error of the proof, a web of 1.9 of 4 mm is a warning, one of 3.9 is fine."""
    product = shelves(tabs(at=[20, 60], width=10), tabs(at=[place], width=10)).product()
    assert len(product.joints) == 2
    assert next((f.level for f in product.findings), None) == level


def test_too_many_tabs_for_one_line_are_refused() -> None:
    """Six tabs of 14 mm and their webs need 104 mm of 80."""
    product = shelves(tabs(count=3, width=14), tabs(count=3, width=14)).product()
    assert ["3 tabs of 14 mm don't fit" in f.message for f in product.findings if f.code == "JOINT"] == [True, True]


@pytest.mark.parametrize(
    ("left", "right"),
    [
        (tabs(count=2, width=10, depth=2), tabs(count=2, width=10, depth=2)),
        (tabs(at=[20, 60], width=10, depth=2.5), tabs(at=[20, 60], width=10, depth=1.5)),
        (tabs(at=[20, 60], width=10, depth=2), tabs(at=[60], width=10, depth=1.2)),
    ],
    ids=["counted", "given", "given-in-part"],
)
def test_blind_tabs_oppose_each_other_in_common_slots(left: Any, right: Any) -> None:
    """Two tabs that together are no longer than the divider is thick share a slot from its two sides."""
    product = shelves(left, right).product()
    assert_sound(product)
    assert positions(product)["left"] == pytest.approx([20, 60])
    assert positions(product)["right"] == pytest.approx(list(right.at or (20, 60)))
    slots = [loop for loop in product.parts[0].loops if loop.area < 0]
    assert [loop.area for loop in slots] == pytest.approx([-10.1 * 4.1] * 2)


def test_blind_tabs_that_together_are_too_long_do_not_oppose() -> None:
    """2 and 2.5 mm do not both go into 4 mm."""
    with pytest.raises(JointError, match="collides"):
        shelves(tabs(at=[20], width=10, depth=2), tabs(at=[20], width=10, depth=2.5)).resolve()


def three(joints: tuple[Any, Any, Any], order: tuple[int, ...]) -> Assembly:
    """Two shelves one over the other and a third opposite, all within a web of each other, each of another depth."""
    made = Assembly("jar shelf", stock=PLY)
    left, right = divider(made)
    low = made.add("low", rectangle(100, 80), Frame((-52, 0, 70)))
    high = made.add("high", rectangle(100, 90), Frame((-52, -10, 77)))
    other = made.add("other", rectangle(100, 100), Frame((52, 5, 71)))
    faces = ((low.face(">X"), left), (high.face(">X"), left), (other.face("<X"), right))
    for i in order:
        join(*faces[i], joints[i])
    return made


@pytest.mark.parametrize(
    "joints",
    [
        (tabs(count=2, width=8), tabs(count=2, width=8), tabs(count=2, width=8)),
        (tabs(), tabs(), tabs()),
        (tabs(at=[40], width=8), tabs(pitch=30, width=8), tabs(count=2, width=6)),
    ],
    ids=["counted", "own-choice", "one-of-each"],
)
def test_three_rows_share_one_stretch(joints: tuple[Any, Any, Any]) -> None:
    """N rows within a web of each other take turns, in whichever of six orders they are joined."""
    results = [three(joints, order).product() for order in permutations(range(3))]
    assert_sound(results[0])
    assert_webs(results[0])
    assert len(results[0].joints) == 3
    assert sum(len(found) for found in positions(results[0]).values()) >= 6
    first = {part.name: part.loops for part in results[0].parts}
    assert all({part.name: part.loops for part in other.parts} == first for other in results[1:])


def test_a_wall_behind_a_tabbed_edge_takes_turns_with_its_tabs() -> None:
    """Slots a web behind an edge would leave its tabs on a bridge; they go between the tabs instead."""
    made = Assembly("jar shelf", stock=PLY)
    left, _ = divider(made)
    shelf = made.add("shelf", rectangle(100, 80), Frame((-52, 0, 70)))
    wall = made.add("wall", rectangle(80, 40), Frame.facing((-6, 0, 94), show=(1, 0, 0), right=(0, 1, 0)))
    join(shelf.face(">X"), left, tabs(count=2, width=8))
    join(wall.face("<Z"), shelf.show, tabs(count=2, width=8))
    product = made.product()
    assert_sound(product)
    ordered = sorted((m, name) for name, found in positions(product).items() for m in found)
    assert [name for _, name in ordered] == ["shelf", "wall", "shelf", "wall"]


@pytest.mark.parametrize("turn", [Frame.turned("Z", 180), Frame.turned((1, 2, 3), 37)], ids=["half-turn", "odd"])
def test_turns_are_taken_across_sub_assemblies(turn: Frame) -> None:
    """A join of a sub-assembly counts from its own end; turns are kept all the same."""
    inner = Assembly("left half", stock=PLY)
    back = Frame.turned("Z", 180)
    placed = inner.add("divider", rectangle(140, 150), UPRIGHT.then(back))
    left = inner.add("left", rectangle(100, 80), Frame((-52, 0, 70)).then(back))
    join(left.face("<X"), placed.back, tabs(count=2, width=10))
    whole = Assembly("jar shelf", stock=PLY)
    half = whole.add("half", inner, back.then(turn))
    right = whole.add("right", rectangle(100, 80), Frame((52, 0, 70)).then(turn))
    edge = min(
        right.all_faces()[2:],
        key=lambda face: face.normal[0] * turn.x[0] + face.normal[1] * turn.x[1] + face.normal[2] * turn.x[2],
    )
    join(edge, half["divider"].show, tabs(count=2, width=10))
    product = whole.product()
    assert_sound(product)
    slots = [polygon_of_loops([loop.reversed()]) for part in product.parts for loop in part.loops if loop.area < 0]
    assert sorted(slot.centroid.x for slot in slots) == pytest.approx([-31.5, -10.5, 10.5, 31.5])


def test_other_joints_opposite_still_refuse() -> None:
    """A nut's screw needs the room where the other shelf stands, so it takes no turns; both are refused."""
    product = shelves(t_nut("M3", count=1), tabs(count=2, width=8)).product()
    assert {f.plates for f in product.findings if f.code == "JOINT"} == {("left", "divider"), ("right", "divider")}


def test_tabs_find_room_between_fingers_of_the_other_side() -> None:
    """Fingers own their line; tabs from the other side go where the divider has kept its material."""
    product = shelves(fingers(width=16, ends="second"), tabs(count=1, width=6)).product()
    assert_sound(product)


FREE = st.lists(st.tuples(st.floats(0, 60), st.floats(20, 120)), min_size=2, max_size=4).map(
    lambda spans: [(round(a, 2), round(a + b, 2)) for a, b in spans]
)


@settings(max_examples=60, deadline=None)
@given(FREE, st.lists(st.integers(1, 4), min_size=4, max_size=4), st.lists(st.floats(2, 12), min_size=4, max_size=4))
def test_turns_never_overlap_and_stay_within_what_is_free(
    spans: list[tuple[float, float]], counts: list[int], widths: list[float]
) -> None:
    """For any stretches: cells lie in their joint's free ones, a web from all others'; room for all gives each a cell."""
    web = 4.0
    wishes = [Wish((span,), counts[i], widths[i]) for i, span in enumerate(spans)]
    everywhere = [(-1e3, 1e3)]
    numbers = range(len(wishes))
    found = by_turns(wishes, {(i, j): everywhere for i in numbers for j in numbers if i < j}, web)
    for i, cells in enumerate(found):
        assert sum(b - a for a, b in common(cells, wishes[i].free)) == pytest.approx(sum(b - a for a, b in cells))
        for j, others in enumerate(found):
            assert i == j or all(a >= d + web - 1e-6 or c >= b + web - 1e-6 for a, b in cells for c, d in others)
    low, high = max(a for a, _ in spans), min(b for _, b in spans)
    if high - low > sum(wish.width + web for wish in wishes) + web:
        assert all(max((b - a for a, b in cells), default=0) >= wish.width for cells, wish in zip(found, wishes, strict=True))


def test_what_is_nobody_else_s_stays_whole() -> None:
    """Outside the shared stretch each joint has the line to itself, less half a web at the border."""
    first, second = Wish(((0.0, 100.0),), 1, 10.0), Wish(((80.0, 200.0),), 1, 10.0)
    found = by_turns([first, second], {(0, 1): [(0.0, 200.0)]}, 4.0)
    # 20 mm hold no two of 14 mm: they go to the one that has less so far
    assert found == [[(0.0, 98.0)], [(102.0, 200.0)]]
    wide = by_turns([first, Wish(((60.0, 200.0),), 1, 10.0)], {(0, 1): [(0.0, 200.0)]}, 4.0)
    assert wide == [[(0.0, 78.0)], [(82.0, 200.0)]]
