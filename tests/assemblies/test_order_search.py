"""The search for an order on plain bodies: blocks and bars whose answer is known by how they were made."""

from __future__ import annotations

import random
from collections.abc import Sequence

import numpy as np
import pytest
from panelwright.assemblies.order.all_apart import taken_apart_whole
from panelwright.assemblies.order.blocking import Blocking
from panelwright.assemblies.order.puzzle import Puzzle
from panelwright.assemblies.order.rigid import Body, Piece, body_of
from panelwright.assemblies.order.taking_apart import TakingApart
from panelwright.plates import Frame

Block = tuple[float, float, float, float, float, float]
"""Least x, y, z and greatest x, y, z, mm."""

UP = np.array([0.0, 0.0, 1.0])
RIGHT = np.array([1.0, 0.0, 0.0])


def body(name: str, blocks: Sequence[Block]) -> Body:
    """A rigid part of blocks."""
    pieces = []
    for x0, y0, z0, x1, y1, z1 in blocks:
        ring = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
        pieces.append(Piece(Frame(), (ring,), z0, z1))
    return body_of(name, pieces)


def puzzle(*parts: Sequence[Block], joined: Sequence[tuple[int, int]] = (), units: Sequence[Sequence[int]] = ()) -> Puzzle:
    bodies = tuple(body(str(i), blocks) for i, blocks in enumerate(parts))
    weights = tuple(float(10 - i) for i in range(len(parts)))
    whole = tuple(frozenset(unit) for unit in units)
    return Puzzle(bodies, frozenset(joined), tuple(range(len(parts))), weights, whole, normals=tuple(np.eye(3)))


CUP: Sequence[Block] = [
    (0, 0, 0, 30, 30, 3),
    (0, 0, 3, 3, 30, 20),
    (27, 0, 3, 30, 30, 20),
    (3, 0, 3, 27, 3, 20),
    (3, 27, 3, 27, 30, 20),
]
PLUG: Sequence[Block] = [(3.1, 3.1, 3, 26.9, 26.9, 25)]


def test_a_plug_leaves_its_cup_upwards_only() -> None:
    """What touches counts as clear, what is in the way as blocked, and both directions are told by one table."""
    blocking = Blocking([body("cup", CUP), body("plug", PLUG)])
    assert not blocking.table(UP)[1, 0]
    assert blocking.table(-UP)[1, 0]
    assert blocking.table(RIGHT)[1, 0]
    assert blocking.table(UP)[0, 1], "the cup cannot go up past its plug"
    assert not blocking.table(-UP)[0, 1]


def test_the_way_is_as_long_as_what_reaches_in() -> None:
    """The plug stands 17 mm deep in the cup, less the skins of both."""
    found = taken_apart_whole(TakingApart(puzzle(CUP, PLUG)))
    ((move,),) = [taken.moves for taken in found.taken]
    assert move.far == pytest.approx(17.0, abs=0.05)
    assert move.way.tolist() == [0, 0, 1]
    assert found.stuck == found.left == ()


def test_a_bead_shut_in_is_stuck_for_good_and_the_lid_would_free_it() -> None:
    """A cup with a lid welded on, a bead inside: nothing begins to move; a joint that lets the bead out frees it."""
    lidded = [*CUP, (0, 0, 20, 30, 30, 23)]
    bead = [(3.05, 3.05, 3.05, 26.95, 26.95, 19.95)]
    (stuck,) = taken_apart_whole(TakingApart(puzzle(lidded, bead, [(40, 0, 0, 50, 10, 3)], joined=[(0, 1)]))).stuck
    assert (set(stuck.parts), stuck.certainty) == ({0, 1}, "rigid")
    assert stuck.pairs == ((0, 1, ()),)
    assert stuck.frees == ((0, 1),)


def test_a_bead_with_room_is_not_found_a_way_but_not_rigid_either() -> None:
    """It can begin to move and never gets out: that is no proof by the first move, and so only a warning."""
    lidded = [*CUP, (0, 0, 20, 30, 30, 23)]
    (stuck,) = taken_apart_whole(TakingApart(puzzle(lidded, [(10, 10, 5, 15, 15, 10)]))).stuck
    assert stuck.certainty == "not found"


def test_a_hook_drops_and_then_slides() -> None:
    """A T-shaped bar under two lips of a rail: it slides back to the gap, and then goes up."""
    lips = [(0, 3, 9, 35, 10, 12), (0, 20, 9, 35, 27, 12)]
    rail = [(0, 0, 0, 60, 30, 3), (0, 0, 3, 60, 3, 12), (0, 27, 3, 60, 30, 12), *lips]
    stop = [(57, 3, 3, 60, 27, 20), (0, 3, 3, 3, 27, 20)]
    bar = [(5, 3.1, 3.1, 20, 26.9, 8.9), (5, 10.1, 8.9, 20, 19.9, 30)]
    found = taken_apart_whole(TakingApart(puzzle([*rail, *stop], bar)))
    (taken,) = found.taken
    assert sorted(taken.group) == [1]
    assert [move.way.tolist() for move in taken.moves] == [[1, 0, 0], [0, 0, 1]]
    # from x = 5 to beyond the lips, which end at 35, and no further than the end at 57
    assert 30.0 < taken.moves[0].far < 37.0
    assert taken.moves[1].far > 5.0


def test_a_sub_assembly_goes_in_as_a_whole() -> None:
    """Two blocks side by side in a cup are one unit of the design: built first, and set in together."""
    halves = [[(3.1, 3.1, 3, 15, 26.9, 25)], [(15, 3.1, 3, 26.9, 26.9, 25)]]
    alone = taken_apart_whole(TakingApart(puzzle(CUP, *halves, joined=[(1, 2)], units=[(1, 2)])))
    assert [sorted(taken.group) for taken in alone.taken] == [[1, 2], [2]]
    assert alone.taken[0].rest == {0}


def test_blocks_put_together_in_a_known_order_come_apart_again() -> None:
    """Random blocks, each let in along a line that is free of all before it: the search finds some order, whichever it was."""
    chance = random.Random(14)
    axes = [sign * np.eye(3)[k] for k in range(3) for sign in (1.0, -1.0)]
    tangled = 0
    for _ in range(12):
        placed: list[Block] = []
        while len(placed) < 14:
            low = [chance.uniform(0, 30) for _ in range(3)]
            size = [chance.choice([3.0, 12.0, 25.0]) for _ in range(3)]
            block = (*low, *(a + b for a, b in zip(low, size, strict=True)))
            way = chance.choice(axes)
            if not any(_meets(_swept(block, way), other) for other in placed):
                placed.append(block)
        search = TakingApart(puzzle(*([block] for block in placed)))
        found = taken_apart_whole(search)
        assert not found.stuck
        assert sorted(i for taken in found.taken if len(taken.group) == 1 for i in taken.group) != []
        apart = {part for taken in found.taken for part in (taken.group if len(taken.group) == 1 else ())}
        assert len(apart) >= len(placed) - 1
        tangled += int(search.blocking.table(UP).sum())
    assert tangled > 100


def _swept(block: Sequence[float], way: np.ndarray) -> list[float]:
    """The box that a block sweeps on its way out."""
    found = list(block)
    for k in range(3):
        found[k] += min(0.0, way[k]) * 1000
        found[k + 3] += max(0.0, way[k]) * 1000
    return found


def _meets(a: Sequence[float], b: Sequence[float]) -> bool:
    return all(a[k] < b[k + 3] + 0.2 and b[k] < a[k + 3] + 0.2 for k in range(3))


def test_nothing_and_one_part_need_no_order() -> None:
    assert taken_apart_whole(TakingApart(puzzle())).taken == ()
    assert taken_apart_whole(TakingApart(puzzle(CUP))).taken == ()
