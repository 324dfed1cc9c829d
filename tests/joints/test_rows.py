"""How rows of tabs and nuts choose their places: by nominal sizes, alike from both ends, fewer before narrower.

Places are worked out by hand beside each; there is no outside source for the rules, which are common practice.
"""

from __future__ import annotations

import time
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.assemblies import Assembly, divider_grid, tray
from panelwright.assemblies.data.product import Product
from panelwright.joints import fingers, join, t_nut, tabs
from panelwright.joints.rows.even_places import spread, widest
from panelwright.joints.rows.in_order import Placeable, in_order
from panelwright.plates import Frame, SizeError, Stock, grid, hole, rectangle, row, standing


def rib(
    length: float, joint: Any, *, t: float = 4.0, base: float | None = None, clearance: float = 0.1, cut: Any = None
) -> Product:
    """A plate that stands on a base as long as itself, or longer."""
    made = Assembly("rib", stock=Stock("birch plywood", t, measured=t, cutter="knife", clearance=clearance))
    floor = made.add("base", rectangle(base or length, 100))
    outline = rectangle(length, 90) if cut is None else rectangle(length, 90).cut(cut)
    wall = made.add("wall", outline, standing(floor.face(">Z"), facing="-Y", inset=None))
    join(wall.face("<Z"), floor.face(">Z"), joint)
    return made.product()


def places(product: Product) -> list[float]:
    found: list[float] = product.joints[0].numbers["positions_mm"]
    return found


@pytest.mark.parametrize("length", [17, 18.6, 22, 30, 35.2, 40, 44, 60, 120])
@pytest.mark.parametrize("t", [3.95, 8.8])
@pytest.mark.parametrize("clearance", [0.0, 0.1, 0.3])
def test_what_tabs_choose_passes_the_proof(length: float, t: float, clearance: float) -> None:
    """Wherever a tab of one thickness and webs of one have room, nothing is warned of; fewer tabs before narrower ones."""
    product = rib(length, tabs(), t=t, clearance=clearance)
    count, width = (product.joints[0].numbers[name] for name in ("count", "width_mm"))
    if length < 3 * t:  # a tab and two webs
        assert count == 1
        assert {finding.code for finding in product.findings} == {"WEB"}
    else:
        assert [str(finding) for finding in product.findings] == []
        assert width >= t - 1e-9
        assert count == (2 if length >= 5 * t - 1e-9 else 1)  # two tabs, three webs


def test_a_short_edge_gets_one_tab_of_its_half() -> None:
    """17 mm of 3.95 mm ply have no room for two tabs of a thickness and three webs, 19.75 mm: one of 8.5 mm it is."""
    numbers = rib(17, tabs(), t=3.95).joints[0].numbers
    assert (numbers["count"], numbers["width_mm"], numbers["positions_mm"]) == (1, pytest.approx(8.5), [8.5])


def test_tabs_that_are_counted_get_narrower_alike() -> None:
    """Two tabs and three webs of 17 mm are 3.4 mm each, and the proof warns: the design asked for two."""
    product = rib(17, tabs(count=2), t=3.95)
    assert product.joints[0].numbers["width_mm"] == pytest.approx(3.4)
    assert places(product) == pytest.approx([5.1, 11.9])
    assert {finding.code for finding in product.findings} == {"WEB"}


@pytest.mark.parametrize(
    ("length", "base", "expected"),
    [
        (42.8, 60, [10, 32.8]),  # 2.8 mm are left for one web of 4: all of it
        (46, 60, [11, 35]),  # 6 mm: a web of 4, 1 mm at either end
        (35 + 7.4, 60, [10, 32.4]),
        (60, 80, [15, 45]),
    ],
)
def test_webs_between_tabs_come_before_gaps_at_the_ends(length: float, base: float, expected: list[float]) -> None:
    """Two tabs of 20 mm: the gap between them is no less than a web as long as there is room for one."""
    assert places(rib(length, tabs(count=2, width=20), base=base)) == pytest.approx(expected)


@pytest.mark.parametrize("clearance", [-0.1, 0.0, 0.1, 0.14, 0.15, 0.3])
def test_clearance_moves_no_tab(clearance: float) -> None:
    """The floor of a tray of 9 mm, whose base meets fingers at its corners: quarters of 198.36 mm, whatever the clearance."""
    stock = Stock("birch plywood", 9.0, measured=9.0, cutter="knife", clearance=clearance)
    made = tray("tiles", stock=stock, width=216.36, depth=74.69, height=81.22, corner=fingers(ends="second"))
    found = {record.plates[1]: record.numbers["positions_mm"] for record in made.product().joints if record.kind == "tabs"}
    assert found["front"] == found["rear"] == pytest.approx([49.59, 148.77])
    assert found["left"] == found["right"] == pytest.approx([18.6725, 38.0175], abs=1e-6)


@pytest.mark.parametrize("clearance", [0.0, 0.1, 0.4])
def test_clearance_moves_no_nut(clearance: float) -> None:
    """Two nuts with a web on either side of each: quarters of 92 + 4 mm, half a web before the free stretch."""
    assert places(rib(100, t_nut("M3", 2), clearance=clearance)) == pytest.approx([26, 74])


@pytest.mark.parametrize("columns", range(2, 9))
def test_floor_tabs_between_dividers_are_alike_from_both_ends(columns: int) -> None:
    """Two tabs over any number of equal cells lie as far from one end of the tray as from the other."""
    stock = Stock("birch plywood", 3.0, measured=3.0, cutter="knife", clearance=0.1)
    made = tray("tiles", stock=stock, width=300, depth=200, height=50)
    dividers = divider_grid("cells", stock=stock, width=294, depth=194, height=30, columns=columns, rows=1)
    cells = made.add("cells", dividers, Frame((0, 0, 6)))
    for i in range(1, columns):
        for side, wall in (("<Y", "front"), (">Y", "rear")):
            join(cells[f"across {i}"].face(side), made[wall].back, tabs(count=1, width=8))
    product = made.product()
    assert [str(finding) for finding in product.findings] == []
    rows = [r.numbers["positions_mm"] for r in product.joints if r.plates[0] == "base" and r.plates[1] in ("front", "rear")]
    assert len(rows) == 2
    for low, high in rows:
        assert low + high == pytest.approx(294, abs=1e-6)
        assert high - low > 90


LENGTHS = st.lists(st.sampled_from([8.0, 10.0, 20.0, 30.5]), min_size=1, max_size=4)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(LENGTHS, st.sampled_from([None, 10.0, 30.0]), st.integers(1, 8), st.sampled_from([0.0, 3.0, 4.0]))
def test_stretches_that_are_alike_from_both_ends_get_things_that_are(
    half: list[float], middle: float | None, count: int, web: float
) -> None:
    """Unless an odd number goes on an even number of stretches, or on a middle one that is too short."""
    lengths = [*half, *([] if middle is None else [middle]), *reversed(half)]
    free, at = [], 0.0
    for length in lengths:
        free.append((at, at + length))
        at += length + 5
    found = spread(free, count, 8, web, [(4.0, 0.0), *[(0.0, 0.0)] * (len(free) - 2), (0.0, 4.0)])
    if found is None:
        assert count > sum(length // 8 for length in lengths)
        return
    assert len(found) == count
    assert all(any(low <= m - 4 + 1e-9 and m + 4 <= high + 1e-9 for low, high in free) for m in found)
    assert all(b - a >= 8 - 1e-9 for a, b in pairwise(found))
    if count % 2 == 0 or middle is not None:
        assert found == pytest.approx([at - 5 - m for m in reversed(found)], abs=1e-6)


def test_the_widest_is_what_just_fits() -> None:
    """Three things of the widest and their webs fill the stretch that holds the most of them."""
    free = [(0.0, 40.0), (60.0, 83.0)]
    width = widest(free, 3, 4.0, [(2.0, 0.0), (0.0, 0.0)])
    assert width == pytest.approx((40 - 2 - 4) / 2)
    found = spread(free, 3, width, 4.0, [(2.0, 0.0), (0.0, 0.0)])
    assert found == pytest.approx([10.5, 31.5, 71.5])


@pytest.mark.parametrize(("length", "t"), [(116, 12.0), (104.2, 12.0), (116, 9.0), (140, 12.0)])
def test_nuts_and_tabs_find_room_by_turns(length: float, t: float) -> None:
    """Three tabs of 14 mm, two pockets of 7 and four webs of 12 need 104 mm: there they stand shoulder to shoulder."""
    product = rib(length, t_nut("M4", 2, tabs=tabs(3, width=14)), t=t, base=200)
    assert [str(finding) for finding in product.findings] == []
    nuts, others = places(product), product.joints[0].numbers["tabs"]["positions_mm"]
    ordered = sorted([(m, 7.0) for m in nuts] + [(m, 14.0) for m in others])
    assert [width for _, width in ordered] == [14, 7, 14, 7, 14]
    assert all(b - a - (v + w) / 2 >= t - 1e-6 for (a, v), (b, w) in pairwise(ordered))
    assert [m for m, _ in ordered] == pytest.approx([length - m for m, _ in reversed(ordered)], abs=1e-6)


def test_nuts_and_tabs_step_aside_for_a_cut_out() -> None:
    """A hole where the second nut would be: it goes beside it, and the tabs next to it move on."""
    plain = rib(140, t_nut("M4", 2, tabs=tabs(3, width=14)), base=200)
    holed = rib(140, t_nut("M4", 2, tabs=tabs(3, width=14)), base=200, cut=hole(16).at(27, -30))
    assert [str(finding) for finding in holed.findings] == []
    assert places(plain) != places(holed)
    assert len(places(holed)) == 2
    assert all(abs(m - 97) >= 8 + 4 + 3.5 for m in places(holed))


SPOTS = st.lists(st.tuples(st.floats(0, 100), st.sampled_from([4.0, 7.0, 14.0])), min_size=1, max_size=6)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(SPOTS, st.lists(st.tuples(st.floats(0, 100), st.floats(1, 20)), max_size=3))
def test_things_in_order_keep_it_and_are_the_same_from_the_other_end(
    spots: list[tuple[float, float]], blocked: list[tuple[float, float]]
) -> None:
    """All lie in what is free, a web apart, in their order; a line without gaps gives mirror images."""
    from panelwright.plates.geometry.probe import without

    free = without([(0.0, 100.0)], [(low, low + size) for low, size in blocked])
    things = [Placeable(wish, width, free) for wish, width in sorted(spots)]
    found = in_order(things, 4.0)
    if found is None:
        assert blocked or sum(thing.width for thing in things) + 4 * (len(things) - 1) > 100 - 1e-6
        return
    for thing, at in zip(things, found, strict=True):
        half = thing.width / 2
        assert any(low - 1e-6 <= at - half and at + half <= high + 1e-6 for low, high in free)
    for (one, a), (other, b) in pairwise(list(zip(things, found, strict=True))):
        assert b - a >= (one.width + other.width) / 2 + 4 - 1e-6
    if not blocked:
        mirrored = [Placeable(100 - thing.wish, thing.width, free) for thing in reversed(things)]
        assert in_order(mirrored, 4.0) == pytest.approx([100 - at for at in reversed(found)], abs=1e-6)


@pytest.mark.parametrize("web", [1.5, 4.0, 8.7, 11.3, 11.6, 12.2])
def test_one_rule_for_slots_by_place_and_by_hand(web: float) -> None:
    """A slot beside a square hole in 12.1 mm MDF: told alike whether a tab's `at=` or a cut-out made it."""
    stock = Stock("MDF", 12.1, measured=12.1, cutter="knife", clearance=0.1)
    hole = rectangle(20, 20).at(web, 0)  # from web - 10 on
    made = Assembly("by place", stock=stock)
    base = made.add("base", rectangle(100, 80).cut(hole))
    wall = made.add("wall", rectangle(100, 50), standing(base.face(">Z"), facing="-Y", inset=None))
    join(wall.face("<Z"), base.face(">Z"), tabs(at=30, width=20))  # ends at -10
    by_hand = Assembly("by hand", stock=stock)
    by_hand.add("base", rectangle(100, 80).cut(hole, rectangle(20.1, 12.2).at(-20, 0)))
    told = [[(f.level, f.code, round(f.numbers["width_mm"], 6)) for f in one.product().findings] for one in (made, by_hand)]
    assert told[0] == told[1]
    assert bool(told[0]) == (web < 11.5)


@pytest.mark.parametrize("at", [[20, 29], [20, 26, 60]])
def test_tabs_in_given_places_choose_a_width_that_fits_them(at: list[float]) -> None:
    """Half of the least distance, or what leaves a web: 4 mm, or a thickness."""
    product = rib(100, tabs(at=at), base=120)
    assert places(product) == at
    assert product.joints[0].numbers["width_mm"] == pytest.approx(4.5 if len(at) == 2 else 3.0)


@pytest.mark.parametrize(
    ("joint", "says"),
    [
        (tabs(pitch=1e-12), "a row has 10000 of them at most; make the pitch at least 0.01 mm"),
        (tabs(pitch=1), "at a pitch of 1 mm tabs would be 0.5 mm wide; less than 2 mm"),
        (tabs(pitch=1e-12, width=1e-13), "a row has 10000 of them at most; make the pitch at least 0.01 mm"),
        (tabs(pitch=1e-320, width=1e-321), "a row has 10000 of them at most"),
        (tabs(pitch=8, width=10), "pitch of tabs is 8 mm, but each takes 10 mm"),
        (t_nut("M3", pitch=1e-12), "pitch of nut pockets is 1e-12 mm, but each takes 9.5 mm, a web included"),
        (fingers(width=1e-9), "are more than 10000 fingers of each plate; make them at least 0.005 mm wide"),
    ],
    ids=str,
)
def test_endless_rows_are_refused_at_once(joint: Any, says: str) -> None:
    """With the limit and what to do, in well under the time that laying them out would take."""
    before = time.process_time()
    product = rib(100, joint, base=120)
    (found,) = [finding for finding in product.findings if finding.code == "JOINT"]
    assert says in found.message
    assert time.process_time() - before < 5


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: tabs(count=10**9), "count of tabs is 1000000000; it must be 10000 or less"),
        (lambda: t_nut("M3", 10**400), "count of nuts is a whole number of 401 digits; it must be 10000 or less"),
        (lambda: fingers(count=10**9), "count of fingers is 1000000000; it must be 10000 or less"),
        (lambda: row(hole(1), 10**9), "count of a row is 1000000000; it must be 10000 or less"),
        (lambda: grid(hole(1), 1, 10**9), "rows of a grid is 1000000000; it must be 10000 or less"),
        (lambda: grid(hole(1), 9000, 9000), "a grid of 9000 × 9000 is 81000000; it must be 100000 or less"),
    ],
)
def test_endless_counts_are_refused_when_they_are_given(call: Any, says: str) -> None:
    """With the limit."""
    with pytest.raises(SizeError, match=says):
        call()
