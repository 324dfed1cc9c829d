"""The order of cutting on a sheet of 2,000 loops: travel beside the order of the file, time beside plain nearest neighbours.

The plain tour keeps to marks, inside cuts and outlines too, and always takes the path whose start is nearest next: nobody could
bring them into a sensible order with less work.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Sequence

import numpy as np
from panelwright.assemblies.cutting import CutPath, cutting_order, merged, travel_mm
from panelwright.plates import disc, obround, rectangle
from timing import Row, milliseconds, timed_beside

__all__ = ["rows"]

LOOPS = 2000
LEAST_SAVING = 0.4
"""Share of travel that has to be saved."""

MOST_SECONDS = 1.5
"""A tenth of 15 s, which a nest of so many loops may well take: ordering must not be what one waits for."""

SHAPES = (disc(4), rectangle(8, 4), obround(8, 4), rectangle(12, 3))


def rows() -> Iterator[Row]:
    """A sheet of boards full of holes, holes all over one board, and tiles that share their cuts."""
    yield _row(f"11 order of {LOOPS:,} loops, boards with 12 holes each", boards(LOOPS))
    yield _row(f"11 order of {LOOPS:,} holes all over a board", holes(LOOPS))
    paths, _ = merged(tiles(math.isqrt(LOOPS // 2)))
    yield _row(f"11 order of {len(paths):,} paths of tiles with shared cuts", paths, least=0.0)


def _row(what: str, paths: Sequence[CutPath], least: float = LEAST_SAVING) -> Row:
    ours, plain = timed_beside(lambda: cutting_order(paths), lambda: plainly(paths), 3)
    before, after, nearest = travel_mm(paths), travel_mm(cutting_order(paths)), travel_mm(plainly(paths))
    saved = 1 - after / before
    return Row(
        what,
        f"{milliseconds(ours.best)}, {after / 1000:.1f} m of travel",
        f"file order {before / 1000:.1f} m, plain nearest neighbours {nearest / 1000:.1f} m in {milliseconds(plain.best)}",
        f"{100 * saved:.0f} % less than file order, {ours.best / plain.best:.0f} × the time of plain nearest neighbours",
        f">= {100 * least:.0f} % less, <= {milliseconds(MOST_SECONDS)}",
        saved >= least and ours.best <= MOST_SECONDS,
    )


def plainly(paths: Sequence[CutPath]) -> list[CutPath]:
    """Marks, inside cuts, outlines; of each always the nearest next, begun where the file begins it."""
    found: list[CutPath] = []
    at = (0.0, 0.0)
    for kind in ("mark", "inside", "outside"):
        some = [path for path in paths if path.kind == kind]
        starts = np.array([path.start for path in some]).reshape(-1, 2)
        taken = np.zeros(len(some))
        for _ in some:
            i = int((np.hypot(starts[:, 0] - at[0], starts[:, 1] - at[1]) + taken).argmin())
            taken[i] = np.inf
            at = some[i].end
            found.append(some[i])
    return found


def boards(count: int) -> list[CutPath]:
    """Boards of 60 × 60 mm in rows of 12, each with 12 holes, part by part."""
    rng = random.Random(1)
    found: list[CutPath] = []
    for piece in range(-(-count // 13)):
        x, y = 62.0 * (piece % 12) + 36, 62.0 * (piece // 12) + 36
        for _ in range(12):
            hole = rng.choice(SHAPES).at(x + rng.uniform(-22, 22), y + rng.uniform(-22, 22))
            found.append(CutPath("inside", hole.loops[0].segments, piece))
        found.append(CutPath("outside", rectangle(60, 60).at(x, y).loops[0].segments, piece))
    return found[:count]


def holes(count: int) -> list[CutPath]:
    """Holes of four kinds anywhere on a board of 1200 × 800 mm, and its outline."""
    rng = random.Random(2)
    spots = [(rng.uniform(10, 1190), rng.uniform(10, 790)) for _ in range(count - 1)]
    found = [CutPath("inside", rng.choice(SHAPES).at(*spot).loops[0].segments, 0) for spot in spots]
    return [*found, CutPath("outside", rectangle(1200, 800).at(600, 400).loops[0].segments, 0)]


def tiles(side: int) -> list[CutPath]:
    """A square of tiles that lie a kerf apart, each with a hole."""
    found: list[CutPath] = []
    for piece in range(side * side):
        x, y = 25.0 * (piece % side) + 20, 25.0 * (piece // side) + 20
        found.append(CutPath("outside", rectangle(25, 25).at(x, y).loops[0].segments, piece))
        found.append(CutPath("inside", disc(4).at(x, y).loops[0].segments, piece))
    return found
