"""The order of assembly against the outside: another geometry kernel's sweeps and tables, and products whose answer is known by
how they were made."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.order.blocking import Blocking
from panelwright.assemblies.order.part_bodies import CHORD, part_body
from panelwright.assemblies.order.product_puzzle import puzzle_of
from panelwright.assemblies.order.puzzle import Directions
from panelwright.assemblies.order.rigid import Body
from panelwright.joints import cross_lap, join
from panelwright.plates import Frame, Stock, rectangle

PLY = Stock("birch plywood", 3.0, measured=3.0, kerf=0.18, clearance=0.1, density=680)
EXAMPLES = sorted(path for path in (Path(__file__).parents[2] / "examples").glob("*.py") if not path.stem.startswith("make_"))


@cache
def example(path: Path) -> Product:
    design = load_design(path)
    with design.surroundings():
        return run(design).product()


# ---- manifold3d: sweeps and blocking tables from its booleans alone


def volume_of(body: Body) -> Any:
    """A body as a solid of manifold3d."""
    m = pytest.importorskip("manifold3d")
    pieces = []
    for prism in body.prisms:
        for rings in prism.shapes:
            flat = m.CrossSection([np.ascontiguousarray(ring) for ring in rings], m.FillRule.EvenOdd)
            place = np.column_stack([prism.axes.T, prism.origin + prism.low * prism.axes[2]])
            pieces.append(m.Manifold.extrude(flat, prism.high - prism.low).transform(place))
    return m.Manifold.batch_boolean(pieces, m.OpType.Add)


def swept(solid: Any, move: np.ndarray) -> Any:
    """Everything that a solid passes through on a straight way: itself, and each triangle that looks ahead drawn along it."""
    m = pytest.importorskip("manifold3d")
    mesh = solid.to_mesh64()
    corners = np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts)]
    ahead = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) @ move > 1e-9 * np.linalg.norm(move)
    drawn = [m.Manifold.hull_points(np.concatenate([three, three + move])) for three in corners[ahead]]
    return m.Manifold.batch_boolean([solid, *drawn], m.OpType.Add)


def steps_of(product: Product) -> Iterator[tuple[str, str, np.ndarray, np.ndarray]]:
    """What moves, what is there, where it is before a move backwards, and this move."""
    for step in product.plan.steps:
        gone = np.zeros(3)
        for move in reversed(step.moves):
            back = -np.array(move.way) * max(move.far_mm, 0.5)
            yield from ((one, other, gone.copy(), back) for one in step.group for other in step.onto)
            gone += -np.array(move.way) * move.far_mm


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_what_every_step_sweeps_shares_nothing_with_what_is_there(path: Path) -> None:
    """Not only at some places of the way: the whole swept body, of parts thinner by what chords may take from arcs."""
    product = example(path)
    solid = {part.name: volume_of(part_body(part, Frame(), CHORD)) for part in product.parts}
    kept: dict[tuple[object, ...], Any] = {}
    measured = 0
    for one, other, gone, back in steps_of(product):
        key = (one, *gone, *back)
        if key not in kept:
            kept[key] = swept(solid[one].translate(gone), back)
        assert (kept[key] ^ solid[other]).volume() < 1e-3, (one, other)
        measured += 1
    assert measured > 2


@pytest.mark.parametrize("name", ["card_drawer", "brush_rack", "recipe_stand", "tool_pot"])
def test_blocking_tables_are_those_of_another_kernel(name: str) -> None:
    """Who hits whom along the design's own ways and along odd ones, by swept solids and their booleans."""
    product = example(Path(__file__).parents[2] / "examples" / f"{name}.py")
    puzzle = puzzle_of(product).puzzle
    blocking = Blocking(puzzle.bodies)
    solids = [volume_of(body) for body in puzzle.bodies]
    chance = np.random.default_rng(14)
    own = Directions(puzzle).first
    ways = [own[k] for k in chance.choice(len(own), 3, replace=False)]
    ways += [way / np.linalg.norm(way) for way in chance.normal(size=(2, 3))]
    seen = np.zeros(2, int)
    for d in ways:
        table = blocking.table(d)
        for a, solid in enumerate(solids):
            path = swept(solid, 2000.0 * d)
            for b in range(len(solids)):
                if a != b:
                    is_hit = (path ^ solids[b]).volume() > 1e-6
                    assert bool(table[a, b]) == is_hit, (puzzle.bodies[a].name, puzzle.bodies[b].name, d)
                    seen[int(is_hit)] += 1
    assert min(seen) > 10


# ---- products whose answer is known by how they were made


def lap_grid(on_top: Sequence[Sequence[bool]]) -> Assembly:
    """Plates along and across, each pair lapped; `on_top[i][k]`: plate i along comes onto plate k across from above."""
    made = Assembly("jar grid", stock=PLY)
    rows, columns = len(on_top), len(on_top[0])
    along, across = [], []
    for i in range(rows):
        y = 30.0 * (i - (rows - 1) / 2)
        place = Frame.facing((0, y + PLY.t / 2, 20), show=(0, -1, 0), right=(1, 0, 0))
        along.append(made.add(f"along {i}", rectangle(30.0 * columns + 30, 40), place))
    for k in range(columns):
        x = 30.0 * (k - (columns - 1) / 2)
        place = Frame.facing((x - PLY.t / 2, 0, 20), show=(1, 0, 0), right=(0, 1, 0))
        across.append(made.add(f"across {k}", rectangle(30.0 * rows + 30, 40), place))
    for i in range(rows):
        for k in range(columns):
            # what comes from above opens downwards
            join(along[i], across[k], cross_lap(opens_up="second" if on_top[i][k] else "first"))
    return made


def knots_of(on_top: Sequence[Sequence[bool]]) -> list[set[str]]:
    """Groups in which each lies, over others, on itself: laps move up and down only, so just these cannot be taken apart."""
    rows, columns = len(on_top), len(on_top[0])
    names = [*(f"along {i}" for i in range(rows)), *(f"across {k}" for k in range(columns))]
    over = {name: {name} for name in names}
    for i in range(rows):
        for k in range(columns):
            pair = (f"along {i}", f"across {k}") if on_top[i][k] else (f"across {k}", f"along {i}")
            over[pair[0]].add(pair[1])
    for middle in names:  # Warshall's closure
        for name in names:
            if middle in over[name]:
                over[name] |= over[middle]
    return [group for name in names if len(group := {x for x in names if x in over[name] and name in over[x]}) > 1]


def orders_by_chance(seed: int) -> list[list[bool]]:
    """Odd seeds: put together in a random order from above; even ones: each lap by chance."""
    chance = random.Random(seed)
    if seed % 2:
        rank = [chance.random() for _ in range(6)]
        return [[rank[i] > rank[3 + k] for k in range(3)] for i in range(3)]
    return [[chance.random() < 0.5 for _ in range(3)] for _ in range(3)]


SEEDS = range(8)


@pytest.mark.parametrize("seed", SEEDS)
def test_random_laps_lock_exactly_where_they_lie_on_themselves(seed: int) -> None:
    """What was put together in a random order comes out assemblable; of laps by chance exactly the knots lock."""
    on_top = orders_by_chance(seed)
    product = lap_grid(on_top).product()
    knots = knots_of(on_top)
    assert not (seed % 2 and knots)
    assert not [finding for finding in product.errors if finding.code != "LOCKED"]
    assert bool(product.plan.locks) == bool(knots)
    assert (product.plan.unknown == "") == (not knots)
    for lock in product.plan.locks:
        assert lock.certainty == "rigid"
        assert any(set(lock.parts) <= knot for knot in knots)


def test_random_laps_are_of_both_kinds() -> None:
    """What is asked above has knots, and none, often enough."""
    knotted = sum(bool(knots_of(orders_by_chance(seed))) for seed in SEEDS)
    assert 2 <= knotted <= len(SEEDS) - 3
