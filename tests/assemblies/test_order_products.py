"""How products go together: every step measured by the kernel, knots with known answers, the same answer however one asks."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path

import pytest
from panelwright.assemblies import Assembly, carcass, divider_grid, tray
from panelwright.assemblies.data.assembly_plan import Plan, PlanStep
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.order import rigid
from panelwright.assemblies.order.order_findings import order_findings
from panelwright.assemblies.order.planning import plan_of
from panelwright.assemblies.output.manifest import manifest_of
from panelwright.assemblies.pictures.apart import all_apart, taken_apart
from panelwright.assemblies.pictures.boxes import Block
from panelwright.joints import cross_lap, fingers, join, pass_through, t_nut, tabs
from panelwright.plates import Frame, Outline, Stock, grid, hole, rectangle, standing
from panelwright.plates._kernel.drawing.hidden_line import world_bounds
from panelwright.plates._kernel.solids.booleans import common_of, gap_of
from panelwright.plates.geometry.frame import Vector, dot, plus, scaled

PLY = Stock("birch plywood", 3.0, measured=3.0, kerf=0.18, clearance=0.1, density=680)
EXAMPLES = sorted(path for path in (Path(__file__).parents[2] / "examples").glob("*.py") if not path.stem.startswith("make_"))
HOLES = (0.31, 0.77, 1.02)
"""Where along a way to look, as shares of it: within, and just past its end."""


@cache
def example(path: Path) -> Product:
    design = load_design(path)
    with design.surroundings():
        return run(design).product()


def codes(product: Product) -> dict[str, Finding]:
    return {finding.code: finding for finding in product.findings if finding.code in ("LOCKED", "HANDS")}


# ---- every step of every example


def _shared(product: Product) -> tuple[float, int]:
    """The most in mm³ that what moves shares with what stands, along the ways of all steps, and how many were measured."""
    part_of = {part.name: part for part in product.parts}
    worst, measured = 0.0, 0
    for step in product.plan.steps:
        gone: Vector = (0.0, 0.0, 0.0)  # taken apart: back along the last move first
        for move in reversed(step.moves):
            for share in HOLES:
                shift = plus(gone, scaled(move.way, -share * max(move.far_mm, 0.5)))
                for name in step.group:
                    part = part_of[name]
                    moved = part.frame.shifted(shift)
                    low, high = world_bounds(part.solid, moved)
                    for other in (part_of[name] for name in step.onto):
                        least, most = world_bounds(other.solid, other.frame)
                        if any(low[k] >= most[k] or least[k] >= high[k] for k in range(3)):
                            continue
                        worst = max(worst, common_of((part.solid, moved), (other.solid, other.frame))[0])
                        measured += 1
            gone = plus(gone, scaled(move.way, -move.far_mm))
    return worst, measured


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_step_of_every_example_is_free_by_the_kernels_booleans(path: Path) -> None:
    """Nothing that moves shares more than a film with what is there, wherever on its way; nothing is locked."""
    product = example(path)
    assert codes(product) == {}
    assert (product.plan.locks, product.plan.unknown) == ((), "")
    worst, measured = _shared(product)
    assert worst < 1e-3
    assert measured > 3


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_part_begins_or_goes_in_once_and_finds_there_what_was_built(path: Path) -> None:
    """Each step's `onto` is what one earlier step left, and the last holds everything."""
    product = example(path)
    known: set[frozenset[str]] = set()
    single: list[str] = []
    for step in product.plan.steps:
        if len(step.group) == 1:
            single += step.group
        else:
            assert frozenset(step.group) in known
        if step.onto:
            assert frozenset(step.onto) in known
            assert step.moves
        known.add(frozenset((*step.group, *step.onto)))
    assert sorted(single) == sorted(part.name for part in product.parts)
    assert frozenset(single) in known
    assert sorted(name for step in product.plan.steps for name in step.hardware) == sorted(item.name for item in product.bought)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_exploded_view_of_every_example_goes_through_nothing(path: Path) -> None:
    """At places of the slider all along, no two parts, screws among them, share more than a film; at its end none are near."""
    product = example(path)
    assert any(away.move != (0.0, 0.0, 0.0) for away in all_apart(product.parts, _blocks(product), product.plan))
    for share in (0.13, 0.37, 0.61, 0.85, 1.0):
        parts = taken_apart(product.parts, product.plan, share)
        boxes = [world_bounds(part.solid, part.frame) for part in parts]
        for i, one in enumerate(parts):
            for k, other in enumerate(parts[:i]):
                (low, high), (least, most) = boxes[i], boxes[k]
                if all(low[j] < most[j] and least[j] < high[j] for j in range(3)):
                    assert common_of((one.solid, one.frame), (other.solid, other.frame))[0] < 1e-3, (
                        share,
                        one.name,
                        other.name,
                    )
    apart = [(part.solid, part.frame) for part in taken_apart(product.parts, product.plan, 1.0)]
    assert min(gap_of(one, other) for i, one in enumerate(apart) for other in apart[:i]) > 5


def _blocks(product: Product) -> list[Block]:
    return [Block(part.frame, *world_bounds(part.solid, Frame())) for part in product.parts]


# ---- knots


def upright(angle_deg: float, x: float, y: float, z: float, width: float, height: float) -> tuple[Outline, Frame]:
    """A plate that stands on edge, its middle at a point, turned about the vertical."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    show = (s, -c, 0.0)
    place = (x - show[0] * PLY.t / 2, y - show[1] * PLY.t / 2, z)
    return rectangle(width, height), Frame.facing(place, show=show, right=(c, s, 0.0))


def three_laps(*, is_cycle: bool) -> Assembly:
    """Three upright plates that cross in a triangle: A over B, B over C, and C over A, or under it."""
    made = Assembly("card stand", stock=PLY)
    names = {}
    for k, name in enumerate("ABC"):
        turn = math.radians(120 * k)
        names[name] = made.add(name, *upright(120 * k, 20 * math.sin(turn), -20 * math.cos(turn), 20, 140, 40))
    for a, b in ("AB", "BC", "CA" if is_cycle else "AC"):
        join(names[a], names[b], cross_lap(opens_up="second"))
    return made


def woven() -> Assembly:
    """Two plates along, two across, each over one and under the other."""
    made = Assembly("jar grid", stock=PLY)
    along = [made.add(f"along {i}", *upright(0, 0, y, 20, 140, 40)) for i, y in enumerate((-25, 25))]
    across = [made.add(f"across {i}", *upright(90, x, 0, 20, 140, 40)) for i, x in enumerate((-25, 25))]
    for i in range(2):
        for k in range(2):
            join(along[i], across[k], cross_lap(opens_up="first" if i == k else "second"))
    return made


def pinwheel(sides: int) -> Assembly:
    """Walls in a ring; each one's end is tabbed through the next, which goes on beyond it."""
    made = Assembly("kiln screen", stock=PLY)
    inner = 40.0  # from the middle to each wall
    reach = inner * math.tan(math.pi / sides)  # where the faces of two neighbours meet
    walls = []
    for k in range(sides):
        turn = 2 * math.pi * k / sides
        c, s = math.cos(turn), math.sin(turn)
        show, right = (s, -c, 0.0), (c, s, 0.0)
        # a wall ends at its mate's inner face on the one side, and goes on past the wall before it on the other
        low, high = -reach - 20.0, reach
        middle = (low + high) / 2
        origin = (show[0] * inner + right[0] * middle, show[1] * inner + right[1] * middle, 30.0)
        walls.append(made.add(f"wall {k + 1}", rectangle(high - low, 60), Frame.facing(origin, show=show, right=right)))
    for k, wall in enumerate(walls):
        end = max(wall.border, key=lambda face: face.segment.start[0] + face.segment.end[0])
        join(end, walls[(k + 1) % sides].back, tabs(count=2, width=10))
    return made


def captive_rail() -> Assembly:
    """A rail through a closed opening of a rib, tabbed into two ends, which a front holds in the other way."""
    made = Assembly("display stand", stock=PLY)
    left = made.add("left", rectangle(90, 50), Frame.facing((-60, 0, 25), show=(-1, 0, 0), right=(0, -1, 0)))
    right = made.add("right", rectangle(90, 50), Frame.facing((60, 0, 25), show=(1, 0, 0), right=(0, 1, 0)))
    rib = made.add("rib", rectangle(90, 50), Frame.facing((0, 0, 25), show=(1, 0, 0), right=(0, 1, 0)))
    rail = made.add("rail", rectangle(120, 14), Frame((0, 15, 25)))
    front = made.add("front", rectangle(160, 50), Frame.facing((0, -20, 25), show=(0, -1, 0), right=(1, 0, 0)))
    join(rail, rib, pass_through())
    join(rail.face("<X"), left.back, tabs(count=1, width=8))
    join(rail.face(">X"), right.back, tabs(count=1, width=8))
    join(front, left, cross_lap(opens_up="first"))
    join(front, right, cross_lap(opens_up="first"))
    join(front, rib, cross_lap(opens_up="second"))
    return made


def shelved_box() -> Assembly:
    """A shelf tabbed into all four walls of a closed box."""
    box = carcass("jar shelf", stock=PLY, width=120, depth=90, height=60, lid=True)
    shelf = box.add("shelf", rectangle(114, 84), Frame((0, 0, 28)))
    for wall, side in (("front", "<Y"), ("rear", ">Y"), ("left", "<X"), ("right", ">X")):
        join(shelf.face(side), box[wall].back, tabs(count=1, width=12))
    return box


def blind_floor() -> Assembly:
    """A floor in slots that don't go through."""
    return tray("tile tray", stock=PLY, width=120, depth=90, height=50, lift=10, floor=tabs(count=2, width=12, depth=1.5))


FREE: dict[str, Callable[[], Assembly]] = {
    "closed finger box": lambda: carcass("box", stock=PLY, width=100, depth=80, height=60, lid=True),
    "pressed finger box": lambda: carcass(
        "box", stock=PLY, width=100, depth=80, height=60, lid=True, joint=fingers(clearance=-0.06)
    ),
    "captive floor in blind slots": blind_floor,
    "shelf captive in a closed box": shelved_box,
    "three laps in a row": lambda: three_laps(is_cycle=False),
    "grid": lambda: divider_grid("cells", stock=PLY, width=100, depth=80, height=30, columns=4, rows=3),
    "ring of five that leans": lambda: carcass("pot", stock=PLY, sides=5, width=100, height=60, lean_deg=20),
}

KNOTS: dict[str, tuple[Callable[[], Assembly], int, str]] = {
    "three laps in a cycle": (lambda: three_laps(is_cycle=True), 3, "rigid"),
    "woven laps": (woven, 4, "rigid"),
    "pinwheel of three": (lambda: pinwheel(3), 3, "rigid"),
    # slots for tabs that arrive at 108° leave them wedges to move in
    "pinwheel of five": (lambda: pinwheel(5), 5, "not found"),
    "captive rail": (captive_rail, 5, "rigid"),
}


@pytest.mark.parametrize("name", FREE)
def test_what_looks_captive_goes_together_in_the_right_order(name: str) -> None:
    product = FREE[name]().product()
    assert not product.errors
    assert codes(product) == {}
    assert not product.plan.unknown


@pytest.mark.parametrize("name", KNOTS)
def test_a_knot_is_an_error_that_names_all_its_parts_and_what_would_free_it(name: str) -> None:
    """Each has a cycle of joints none of which opens alone; where nothing can begin to move it is an error, else a warning."""
    make, parts, certainty = KNOTS[name]
    product = make().product()
    finding = codes(product)["LOCKED"]
    level = {"rigid": "error", "not found": "warning"}[certainty]
    assert [found.code for found in product.findings if found.level in ("error", "warning")] == ["LOCKED"]
    (lock,) = product.plan.locks
    assert (lock.certainty, finding.level, len(lock.parts), len(finding.plates)) == (certainty, level, parts, parts)
    assert lock.frees
    assert set(lock.frees) <= {pair[:2] for pair in lock.pairs}
    assert all(repr(part) in finding.message for part in lock.parts)
    assert "LOCKED" in product.plan.unknown


def test_two_of_a_knots_joints_are_told_with_their_ways() -> None:
    """A goes off B upwards or downwards, as the lap opens."""
    (lock,) = three_laps(is_cycle=True).product().plan.locks
    ways = {frozenset(pair): found for *pair, found in lock.pairs}
    assert ways[frozenset("AB")] in (((0.0, 0.0, 1.0),), ((0.0, 0.0, -1.0),))
    assert len(ways) == 3


# ---- screws


def shut_in(*, is_open: bool) -> Assembly:
    """A board screwed to two uprights; a ceiling 15 mm above its screws keeps the key away, unless it has holes."""
    made = Assembly("kiln shelf", stock=PLY)
    base = made.add("base", rectangle(120, 80))
    wall = made.add("wall", rectangle(100, 40), standing(base.face(">Z"), facing="-Y", inset=40))
    board = made.add("board", rectangle(110, 60), Frame((0.0, -8.0, 43.0)))
    join(wall.face("<Z"), base.face(">Z"), tabs(count=2, width=12))
    join(wall.face(">Z"), board.face("<Z"), t_nut("M3", count=2))
    roof = made.add("roof", rectangle(130, 90), Frame((0.0, 0.0, 61.0)))
    if not is_open:
        for x, side in ((-60.0, -1), (60.0, 1)):
            post = Frame.facing((x, 10.0, 31.5), show=(float(side), 0, 0), right=(0, float(side), 0))
            end = made.add(f"end {side}", rectangle(30, 57), post)
            join(end.face("<Z"), base.face(">Z"), tabs(count=1, width=10))
            join(end.face(">Z"), roof.face("<Z"), tabs(count=1, width=10))
    return made


def test_screws_go_in_before_a_roof_keeps_the_driver_away() -> None:
    """The roof goes on after the screws, though nothing else says so, and the screws come with the board that they hold."""
    plan = shut_in(is_open=False).product().plan
    assert not plan.unknown
    order = [set(step.group) | set(step.onto) for step in plan.steps]
    screwed = next(there for step, there in zip(plan.steps, order, strict=True) if step.hardware)
    assert {"wall", "board"} <= screwed
    assert "roof" not in screwed
    assert sum(len(step.hardware) for step in plan.steps) == 4


# ---- the same answer however one asks


def signature(product: Product) -> list[tuple[object, ...]]:
    """Steps without names and directions: areas of parts, ways and how they lie to the first part's."""
    area = {part.name: round(part.area_mm2, 2) for part in product.parts}
    found = []
    first: Vector | None = None
    for step in product.plan.steps:
        for move in step.moves:
            first = first or move.way
            turn = round(dot(move.way, first), 4) + 0.0
            found.append(
                (sorted(area[name] for name in step.group), len(step.onto), round(move.far_mm, 2), turn, step.is_turned)
            )
    return found


def odd_stand(order: Sequence[int] = (0, 1, 2, 3), names: Sequence[str] = ("base", "front", "rear", "rib")) -> Assembly:
    """No two plates are alike, and no side of it like another."""
    made = Assembly("display stand", stock=PLY)
    places = {
        0: (rectangle(140, 120), Frame()),
        1: (rectangle(110, 42), Frame.facing((3, -30, 24), show=(0, -1, 0), right=(1, 0, 0))),
        2: (rectangle(104, 40), Frame.facing((0, 33, 23), show=(0, 1, 0), right=(-1, 0, 0))),
        3: (rectangle(100, 36), Frame.facing((17, 2, 28), show=(1, 0, 0), right=(0, 1, 0))),
    }
    placed = {k: made.add(names[k], *places[k]) for k in order}
    join(placed[1].face("<Z"), placed[0].face(">Z"), tabs(count=2, width=12))
    join(placed[2].face("<Z"), placed[0].face(">Z"), tabs(count=3, width=9))
    join(placed[3], placed[1], cross_lap())
    join(placed[3], placed[2], cross_lap(0.4))
    return made


@pytest.mark.parametrize(
    "turn",
    [
        Frame.turned("X", 180),
        Frame.turned("X", 90),
        Frame.turned((1, 2, 3), 37),
        Frame.turned("Y", -90).shifted((-900.0, 0.3, 71.0)),
    ],
    ids=["upside-down", "on-its-back", "aslant", "far-away"],
)
def test_a_turned_product_has_the_same_plan_turned(turn: Frame) -> None:
    outer = Assembly("workshop", stock=PLY)
    outer.add("inner", odd_stand(), turn)
    plain, turned = odd_stand().product(), outer.product()
    assert len(plain.plan.steps) == 4
    for before, after in zip(plain.plan.steps, turned.plan.steps, strict=True):
        assert tuple(f"inner.{name}" for name in before.group) == after.group
        assert {f"inner.{name}" for name in before.onto} == set(after.onto)
        for one, other in zip(before.moves, after.moves, strict=True):
            assert turn.direction(one.way) == pytest.approx(other.way, abs=1e-6)
            assert one.far_mm == pytest.approx(other.far_mm, abs=2e-3)


def test_names_and_the_order_of_adding_decide_nothing() -> None:
    plain = odd_stand().product()
    other = odd_stand((3, 1, 0, 2), ("z", "y", "x", "w")).product()
    called = dict(zip(("base", "front", "rear", "rib"), ("z", "y", "x", "w"), strict=True))
    told = [([called[name] for name in step.group], step.moves) for step in plain.plan.steps]
    assert told == [(list(step.group), step.moves) for step in other.plan.steps]


@pytest.mark.parametrize("turn", [Frame.turned("X", 90), Frame.turned((3, -1, 2), 111)], ids=["on-its-back", "aslant"])
def test_a_symmetric_product_has_the_same_plan_but_for_its_symmetry(turn: Frame) -> None:
    """A closed box has no first wall; panels, ways and turns come out alike."""
    outer = Assembly("workshop", stock=PLY)
    outer.add("inner", FREE["closed finger box"](), turn)
    assert signature(outer.product()) == signature(FREE["closed finger box"]().product())


def test_asking_twice_gives_the_same_plan() -> None:
    product = shelved_box().product()
    assert plan_of(product) == plan_of(product) == product.plan


def test_four_walls_stay_a_pinwheel_that_opens_in_halves() -> None:
    """With parallel walls two halves slide apart, each a group of two: no knot, and a group goes in at once."""
    plan = pinwheel(4).product().plan
    assert not plan.unknown
    assert [len(step.group) for step in plan.steps][-1] == 2


def test_the_manifest_tells_the_plan() -> None:
    """Steps with their parts and ways in the product's frame; of a knot its parts, and what would free it."""
    product = shelved_box().product()
    order = manifest_of(product, {})["order"]
    assert [tuple(step["parts"]) for step in order["steps"]] == [step.group for step in product.plan.steps]
    told = [move for step in order["steps"] for move in step["moves"]]
    assert [move["travel_mm"] for move in told] == [move.far_mm for step in product.plan.steps for move in step.moves]
    assert all(math.hypot(*move["way"]) == pytest.approx(1, abs=1e-5) for move in told)
    assert order["not_proven_because"] is None
    knot = manifest_of(woven().product(), {})["order"]
    assert [(lock["certainty"], len(lock["parts"]), len(lock["freeing_joints"])) for lock in knot["locks"]] == [("rigid", 4, 4)]
    assert "LOCKED" in knot["not_proven_because"]


# ---- hands, and input that there is no order for


@pytest.mark.parametrize(("pieces", "level"), [(2, None), (3, "note"), (4, "warning")])
def test_pieces_that_must_be_held_at_once_are_told_with_the_step(pieces: int, level: str | None) -> None:
    """Two go together anyhow; three are just held by one person; four are not."""
    plan = Plan((PlanStep(("base",)), PlanStep(("top",), ("base",), (), pieces=pieces)))
    found = order_findings(example(EXAMPLES[0]), plan)
    assert [finding.level for finding in found] == ([level] if level else [])
    assert all(f"at step 2 of assembly, where 'top' goes in, {pieces} pieces" in finding.message for finding in found)


def test_walls_that_only_a_top_joins_are_put_onto_it_one_by_one() -> None:
    """Built upside down, nothing has to be held but what goes in."""
    made = Assembly("kiln screen", stock=PLY)
    top = made.add("top", rectangle(160, 160), Frame((0, 0, 60)))
    for k in range(4):
        turn = math.radians(90 * k)
        show = (math.sin(turn), -math.cos(turn), 0.0)
        wall = made.add(
            f"wall {k + 1}",
            rectangle(60, 60),
            Frame.facing((60 * show[0], 60 * show[1], 30.0), show=show, right=(math.cos(turn), math.sin(turn), 0.0)),
        )
        join(wall.face(">Z"), top.face("<Z"), tabs(count=1, width=12))
    plan = made.product().plan
    assert plan.steps[0].group == ("top",)
    assert max(step.pieces for step in plan.steps) == 2


def test_no_plate_one_plate_and_two_that_do_not_touch() -> None:
    nothing = Product("nothing", (), (), (), (), ())
    assert plan_of(nothing).steps == ()
    one = Assembly("board", stock=PLY)
    one.add("board", rectangle(100, 60))
    assert [step.group for step in one.product().plan.steps] == [("board",)]
    one.add("other", rectangle(50, 30), Frame((0, 0, 200)), loose=True)
    plan = one.product().plan
    assert [step.group for step in plan.steps] == [("board",), ("other",)]
    assert plan.steps[1].moves[0].way == (0.0, 0.0, -1.0)


def test_plates_that_share_material_are_told_as_such_and_nothing_is_called_locked() -> None:
    made = Assembly("board", stock=PLY)
    made.add("one", rectangle(100, 60))
    made.add("two", rectangle(100, 60), Frame((20, 0, 1)))
    product = made.product()
    assert [finding.code for finding in product.errors] == ["OVERLAP"]
    assert "OVERLAP" in product.plan.unknown
    assert product.plan.locks == ()


def test_a_press_deeper_than_a_skin_counts_as_meant() -> None:
    """Half the press is taken off each part: a box pressed by 0.3 mm still goes together."""
    box = carcass("box", stock=PLY, width=100, depth=80, height=60, lid=True, joint=fingers(clearance=-0.3))
    product = box.product()
    assert "LOCKED" not in {finding.code for finding in product.findings}
    assert len(product.plan.steps) == 6


def test_a_search_that_is_stopped_tells_it_and_keeps_what_it_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """The last steps are known, the parts before them are one lump that is told, and no part is lost."""
    whole = FREE["grid"]().product()
    assert "UNPLANNED" not in {finding.code for finding in whole.findings}
    monkeypatch.setattr("panelwright.assemblies.order.all_apart.MOST_WORK", 25)
    product = FREE["grid"]().product()
    (note,) = (finding for finding in product.findings if finding.code == "UNPLANNED")
    lump, *after = product.plan.steps
    assert note.level == "note"
    assert sorted(note.plates) == sorted(lump.group)
    assert 1 < len(lump.group) < len(product.parts)
    assert "the search was stopped" in note.message
    assert "the search was stopped" in product.plan.unknown
    assert all(step.moves for step in after)
    assert sorted([*lump.group, *(name for step in after for name in step.group)]) == sorted(
        part.name for part in product.parts
    )


def test_a_plate_alone_is_put_down_without_a_look_at_its_holes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody is in its way, so of 400 holes none is made thinner; with a second plate each is."""

    def rings_looked_at(count: int) -> tuple[Plan, int]:
        rack = Assembly("peg board", stock=PLY)
        for number in range(count):
            board = rectangle(220, 220).cut(grid(hole(4), 20, 20))
            rack.add(f"board {number + 1}", board, Frame((0, 0, 5.0 * number)), loose=True)
        product = rack.product()
        looked: list[int] = []
        thin = rigid._thinner
        monkeypatch.setattr(rigid, "_thinner", lambda rings, skin: looked.append(len(rings)) or thin(rings, skin))
        return plan_of(product), sum(looked)

    alone, looked = rings_looked_at(1)
    assert looked == 1
    assert alone == plan_of(_bare())
    monkeypatch.undo()
    assert rings_looked_at(2)[1] >= 401


def _bare() -> Product:
    rack = Assembly("peg board", stock=PLY)
    rack.add("board 1", rectangle(220, 220), loose=True)
    return rack.product()
