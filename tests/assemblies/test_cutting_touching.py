"""Parts that touch, as with shared cuts: nothing is cut in material that has come loose, judged by sweeping the beam.

Here nothing is known of parts or rings: what the beam leaves is looked at after every cut, and whatever no longer hangs on the
border of the sheet is loose, single parts, waste and whole groups of parts alike.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.assemblies.cutting import CutPath, by_layer, cutting_order, merged
from panelwright.plates import disc, hole, rectangle
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.outlines.outline import Outline

KERF = 0.2


def part(shape: Outline, piece: int) -> list[CutPath]:
    outer, *holes = shape.loops
    return [CutPath("outside", outer.segments, piece), *(CutPath("inside", hole.segments, piece) for hole in holes)]


def followed(path: CutPath) -> Any:
    return shapely.LineString([*(p for s in path.segments for p in s.chords(0.01)), path.end])


def cut_while_loose(paths: Sequence[CutPath]) -> list[int]:
    """Places of the cuts that run for more than 1 mm through material which has come loose before."""
    lines = [followed(path) for path in paths]
    x0, y0, x1, y1 = shapely.union_all(lines).bounds
    material = shapely.box(x0 - 20, y0 - 20, x1 + 20, y1 + 20)
    border = material.exterior
    loose: list[Any] = []
    found = []
    for k, line in enumerate(lines):
        if any(piece.intersection(line).length > 1.0 for piece in loose):
            found.append(k)
        left = material.difference(line.buffer(KERF / 2))
        pieces = list(getattr(left, "geoms", [left]))
        loose += [piece for piece in pieces if piece.disjoint(border)]
        material = shapely.union_all([piece for piece in pieces if piece.intersects(border)])
    return found


def check(given_: Sequence[CutPath]) -> None:
    """In order, and layer by layer, nothing loose is cut, and no path is lost."""
    ordered = cutting_order(given_)
    assert cut_while_loose(ordered) == []
    assert cut_while_loose([path for paths in by_layer(ordered).values() for path in paths]) == []
    assert sorted(round(path.length_mm, 6) for path in ordered) == sorted(round(path.length_mm, 6) for path in given_)


def wall(around: float, deep: float) -> list[Outline]:
    """Square tiles `deep` mm wide all round a square of `around` mm in the middle."""
    out = (around + deep) / 2
    count = round(around / deep)
    along = [(k - (count - 1) / 2) * deep for k in range(count)]
    spots = [(x, y) for x in along for y in (-out, out)] + [(x, y) for y in along for x in (-out, out)]
    spots += [(x, y) for x in (-out, out) for y in (-out, out)]
    return [rectangle(deep, deep).at(x, y) for x, y in spots]


def test_the_hole_of_a_walled_in_part_comes_before_its_wall_is_closed() -> None:
    """In a window, where the part has no cut of its own left: the walls' cuts free it."""
    window = part(rectangle(260, 260).cut(rectangle(200, 200)), 0)
    tiles = [path for n, tile in enumerate(wall(100, 25), 1) for path in part(tile, n)]
    lid = part(rectangle(100, 100).cut(hole(4)), 99)
    cuts, saved = merged([path.moved(Motion.shift(300, 300)) for path in (*window, *tiles, *lid)])
    assert saved == pytest.approx(400 + 25 * len(wall(100, 25)))
    assert [path.kind for path in cuts if path.piece == 99] == ["inside"]
    walls = [path for path in cuts if 0 < path.piece < 99]
    bore = [path for path in cuts if path.piece == 99]
    assert cut_while_loose([*walls, *bore]) == [len(walls)]  # the judge sees the mistake
    check(cuts)


def test_a_disc_between_tiles_comes_before_the_ring_of_them_is_closed() -> None:
    """The waste around the disc touches no part's inside; it falls out with the disc once the last tile is cut."""
    tiles = [path for n, tile in enumerate(wall(100, 25)) for path in part(tile, n)]
    cuts, _ = merged([path.moved(Motion.shift(200, 200)) for path in (*tiles, *part(disc(40), 99))])
    ring = [path for path in cuts if path.piece < 99]
    assert cut_while_loose([*ring, *(path for path in cuts if path.piece == 99)]) == [len(ring)]
    check(cuts)


def test_tiles_in_the_middle_come_before_those_around_them() -> None:
    """Whichever of two neighbours keeps the cut between them: here the middle ones do."""
    middle = [rectangle(25, 25).at(x, y) for x in (-12.5, 12.5) for y in (-12.5, 12.5)]
    tiles = [path for n, tile in enumerate([*middle, *wall(50, 25)]) for path in part(tile, n)]
    cuts, saved = merged([path.moved(Motion.shift(100, 100)) for path in tiles])
    assert saved == pytest.approx(24 * 25)
    outer = [path for path in cuts if path.piece >= 4]
    assert cut_while_loose([*outer, *(path for path in cuts if path.piece < 4)])
    check(cuts)


def scene(seed: int) -> list[CutPath]:
    """Tiles that touch, with holes, half tiles, discs in between, perhaps all of it in a window, turned, shuffled."""
    rng = random.Random(seed)
    xs, ys = [0.0], [0.0]
    for edges in (xs, ys):
        for _ in range(rng.randrange(2, 5)):
            edges.append(edges[-1] + rng.choice([20, 25, 40]))
    paths: list[CutPath] = []
    cells = [(x0, x1, y0, y1) for x0, x1 in pairwise(xs) for y0, y1 in pairwise(ys)]
    for n, (x0, x1, y0, y1) in enumerate(cells, 1):
        kind = rng.random()
        if kind < 0.25:
            shape = disc(14).cut(hole(5)).at((x0 + x1) / 2, (y0 + y1) / 2)
        elif kind < 0.4:
            shape = rectangle(x1 - x0, (y1 - y0) / 2).at((x0 + x1) / 2, y0 + (y1 - y0) / 4)
        else:
            shape = rectangle(x1 - x0, y1 - y0)
            if rng.random() < 0.6:
                shape = shape.cut(hole(4).at(rng.uniform(-6, 6), rng.uniform(-6, 6)))
            shape = shape.at((x0 + x1) / 2, (y0 + y1) / 2)
        paths += part(shape, n)
    if rng.random() < 0.5:
        wide, high = xs[-1] + 20, ys[-1] + 20
        paths += part(rectangle(wide + 40, high + 40).cut(rectangle(wide, high)).at(xs[-1] / 2, ys[-1] / 2), 0)
    rng.shuffle(paths)
    motion = Motion.turn(rng.choice([0, 90, rng.uniform(0, 90)])).then(Motion.shift(rng.uniform(50, 200), rng.uniform(50, 200)))
    return [path.moved(motion) for path in paths]


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000))
def test_no_shared_cut_is_made_in_loose_material(seed: int) -> None:
    """For any mix of tiles, pockets and windows, at any angle."""
    cuts, _ = merged(scene(seed))
    check(cuts)


@settings(max_examples=60, deadline=None)
@given(st.floats(30, 60), st.floats(10, 40), st.floats(0, 90))
def test_neighbours_that_touch_lie_in_no_part(wide: float, high: float, angle: float) -> None:
    """Uncut lines between them stay double, and rounding may put one's corner into the other: both stay outlines."""
    paths = [*part(rectangle(wide, 50), 0), *part(rectangle(20, high).cut(hole(3)).at(wide / 2 + 10, 0), 1)]
    layers = by_layer(cutting_order([path.moved(Motion.turn(angle)) for path in paths]))
    assert [path.kind for path in layers["CUT-OUTSIDE"]] == ["outside", "outside"]
    assert [path.kind for path in layers["CUT-INSIDE"]] == ["inside"]
