"""The order of work: every part once, its way in from its joints, hardware where its joint closes."""

from __future__ import annotations

import math
from collections import Counter
from pathlib import Path

import pytest
from panelwright.assemblies import Assembly, tray
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.product.steps import steps_of
from panelwright.joints import cross_lap, fingers, join, pass_through, t_nut, tabs
from panelwright.plates import Frame, Stock, rectangle, standing
from panelwright.plates.geometry.frame import dot

BIRCH = Stock("birch plywood", 4.0, kerf=0.2, clearance=0.1)
EXAMPLES = sorted(path for path in (Path(__file__).parents[2] / "examples").glob("*.py") if not path.stem.startswith("make_"))


def product_of(path: Path) -> Product:
    design = load_design(path)
    with design.surroundings():
        return run(design).product()


def ways(product: Product) -> dict[str, tuple[float, float, float]]:
    """The way in of each part, to a hundredth."""
    return {
        move.parts[0].name: (round(move.way[0], 2), round(move.way[1], 2), round(move.way[2], 2))
        for step in steps_of(product)
        for move in step.moves
        if len(move.parts) == 1
    }


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_part_goes_in_once_and_all_hardware_is_used_up(path: Path) -> None:
    product = product_of(path)
    steps = steps_of(product)
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))
    single = [part.name for step in steps if not step.is_group for part in step.parts]
    assert sorted(single) == sorted(part.name for part in product.parts)
    used: Counter[str] = Counter()
    for step in steps:
        used.update(dict(step.hardware))
        assert all(math.hypot(*move.way) == pytest.approx(1) for move in step.moves)
        panels = {panel.name for panel in product.panels for part in step.parts if part.name in panel.plates}
        assert len(panels) == 1 or step.is_group
    assert used == {item.designation: item.quantity for item in product.hardware}
    assert sorted(item.name for step in steps for item in step.bought) == sorted(item.name for item in product.bought)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_what_a_part_goes_into_is_there_and_nothing_hangs_in_the_air_but_what_begins_something(path: Path) -> None:
    """A group as a whole may lie on what holds it later; every joint closes at one step."""
    there: set[str] = set()
    checked, closed = 0, []
    product = product_of(path)
    for step in steps_of(product):
        assert {part.name for part in step.onto} <= there
        for move in step.moves:
            assert set(move.into) <= {part.name for part in step.onto}
            assert move.into or not step.onto or step.is_group
            checked += len(move.into)
        closed += [*step.joints, *step.within]
        there |= {part.name for part in step.parts}
    assert checked > 1
    assert len(closed) == len(product.joints)


def test_walls_come_from_outside_along_their_joints_normals() -> None:
    corner, floor = fingers(width=10), tabs(count=2, width=10)
    box = tray("tool tray", stock=BIRCH, width=120, depth=90, height=50, corner=corner, floor=floor)
    found = ways(box.product())
    assert found["front"] == (0, 1, 0)
    assert found["rear"] == (0, -1, 0)
    assert found["left"] == (1, 0, 0)
    assert found["right"] == (-1, 0, 0)


def test_a_tab_goes_the_way_its_edge_looks_whichever_plate_is_added_second() -> None:
    """The larger plate lies on the bench."""
    for order in (("base", "wall"), ("wall", "base")):
        stand = Assembly("card stand", stock=BIRCH)
        ground = Frame.facing((0, 0, 0), show=(0, 0, 1), right=(1, 0, 0))
        upright = Frame.facing((0, 0, 34), show=(0, -1, 0), right=(1, 0, 0))
        placed = {}
        for name in order:
            outline, frame = (rectangle(100, 60), ground) if name == "base" else (rectangle(80, 60), upright)
            placed[name] = stand.add(name, outline, frame)
        join(placed["wall"].face("<Z"), placed["base"].face(">Z"), tabs(count=2, width=10))
        assert [step.parts[0].name for step in steps_of(stand.product())] == ["base", "wall"]
        assert ways(stand.product())["wall"] == (0, 0, -1)


@pytest.mark.parametrize(("opens_up", "down"), [("first", -1), ("second", 1)])
def test_a_cross_lap_closes_from_where_the_slot_there_opens(opens_up: str, down: int) -> None:
    """The plate that comes later is slotted from below, and goes down, if the other one's slot opens upward."""
    rack = Assembly("brush rack", stock=BIRCH)
    first = rack.add("first", rectangle(100, 40), Frame.facing((0, 2, 20), show=(0, -1, 0), right=(1, 0, 0)))
    second = rack.add("second", rectangle(80, 40), Frame.facing((-2, 0, 20), show=(1, 0, 0), right=(0, 1, 0)))
    join(first, second, cross_lap(opens_up="first" if opens_up == "first" else "second"))
    product = rack.product()
    assert not product.errors
    later = steps_of(product)[1].parts[0].name
    assert ways(product)[later] == (0, 0, down if later == "second" else -down)


def test_a_rail_goes_through_its_rib_along_its_own_length() -> None:
    stand = Assembly("display stand", stock=BIRCH)
    rib = stand.add("rib", rectangle(60, 50), Frame.facing((0, 0, 5), show=(1, 0, 0), right=(0, 1, 0)))
    rail = stand.add("rail", rectangle(160, 20))
    join(rail, rib, pass_through())
    (way,) = [
        move.way
        for step in steps_of(stand.product())
        for move in step.moves
        if move.parts[0].name in ("rail", "rib") and move.into
    ]
    assert abs(way[0]) == pytest.approx(1)


def test_a_lid_added_early_waits_for_its_walls_and_brings_its_screws() -> None:
    steps = steps_of(product_of(Path(__file__).parents[2] / "examples" / "kiln_timer.py"))
    last = steps[-1]
    assert [part.name for part in last.parts] == ["lid"]
    assert last.moves[0].way == (0.0, 0.0, -1.0)
    assert dict(last.hardware) == {"ISO 4032 M3": 8, "ISO 7380-1 M3 × 12": 8}
    assert [len(step.hardware) for step in steps[:-1]] == [0] * (len(steps) - 1)


def test_a_grid_is_built_first_and_set_in_as_one_before_its_walls() -> None:
    """Its tabs go into the walls sideways, so these come last, each pair of the same panel at one step."""
    steps = steps_of(product_of(Path(__file__).parents[2] / "examples" / "tile_tray.py"))
    *earlier, (number, step) = [(number, step) for number, step in enumerate(steps) if step.is_group]
    assert not earlier
    assert {part.name.split(".")[0] for part in step.parts} == {"cells"}
    assert [part.name for part in step.onto] == ["base"]
    (move,) = step.moves
    assert (move.way, move.into) == ((0.0, 0.0, -1.0), ())
    assert [[part.name for part in later.parts] for later in steps[number + 1 :]] == [["front", "rear"], ["left", "right"]]
    assert {len(before.moves) for before in steps[:number]} == {1, 2, 3}


def test_a_lid_without_joints_is_set_down_from_above() -> None:
    pot = Assembly("tool pot", stock=BIRCH)
    pot.add("base", rectangle(60, 60))
    pot.add("lid", rectangle(50, 50), Frame((0, 0, 40)), loose=True)
    step = steps_of(pot.product())[1]
    assert (step.moves[0].way, step.moves[0].into) == ((0.0, 0.0, -1.0), ())


def test_two_bodies_are_built_one_after_the_other_and_set_together() -> None:
    """Without a joint between them: no part is lost, and each body is joined within itself."""
    desk = Assembly("kiln desk", stock=BIRCH)
    for number, x in enumerate((0, 300)):
        base = desk.add(f"base {number}", rectangle(100, 60), Frame((x, 0, 0)))
        wall = desk.add(f"wall {number}", rectangle(80, 60), standing(base.face(">Z"), facing="-Y", inset=20))
        join(wall.face("<Z"), base.face(">Z"), tabs(count=2, width=10))
    steps = steps_of(desk.product())
    assert [len(step.parts) for step in steps] == [1, 1, 1, 1, 2]
    assert [step.parts[0].name[:4] for step in steps[:4]] == ["base", "wall", "base", "wall"]
    assert steps[0].parts[0].name[-1] == steps[1].parts[0].name[-1]
    assert steps[4].is_group


def test_a_turned_product_has_turned_ways() -> None:
    """The same stand turned by 90° about x: every way that a joint tells turns with it."""

    def stand(frame: Frame) -> Product:
        whole = Assembly("stand")
        inner = Assembly("card stand", stock=BIRCH)
        base = inner.add("base", rectangle(100, 60))
        wall = inner.add("wall", rectangle(80, 60), standing(base.face(">Z"), facing="-Y", inset=20))
        join(wall.face("<Z"), base.face(">Z"), t_nut("M3", count=2))
        whole.add("inner", inner, frame)
        return whole.product()

    turn = Frame.turned("X", 90)
    plain, turned = ways(stand(Frame()))["inner.base"], ways(stand(turn))["inner.base"]
    assert plain == (0, 0, 1), "what carries the screws goes onto the other"
    assert dot(turned, turn.direction(plain)) == pytest.approx(1)
