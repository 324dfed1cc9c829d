"""What the search for an order is given, and what it gives back: all as plain numbers, in the frame of the bench."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from .rigid import Body, Floats

__all__ = ["Certainty", "Closing", "Found", "Move", "Puzzle", "Stuck", "Taken", "directions_of"]

Certainty = Literal["rigid", "not found"]

MOST_FIRST = 200
"""Ways of joints and axes of plates that are tried, far more than a product has: six for one that is square, six more for
each turn."""

MOST_RAYS = 60
"""Lines in which two planes of contact meet that are tried: beyond that it takes longer than it helps."""

MOST_BETWEEN = 120
"""Middles between two directions that are tried."""

SAME_WAY = 1e6
"""Directions are told apart to one part in so many."""


@dataclass(frozen=True, slots=True)
class Closing:
    """A screw that holds two parts together: they stay so while one of `hidden_by` keeps its driver away."""

    parts: tuple[int, int]
    hidden_by: frozenset[int]


@dataclass(frozen=True, eq=False)
class Puzzle:
    """Parts to be put together, by number.

    `joined` are pairs that a joint holds together; `panel` numbers parts that are cut alike; `units` are sub-assemblies of
    the design; `weight` says how much speaks for a part to be what others are built on; `normals` are those of flat faces,
    and `ways` the directions in which, by a joint's kind, the first of two goes into the second.  `apart` are pairs that
    share material already and are not asked about each other.
    """

    bodies: tuple[Body, ...]
    joined: frozenset[tuple[int, int]]
    panel: tuple[int, ...]
    weight: tuple[float, ...]
    units: tuple[frozenset[int], ...] = ()
    ways: tuple[tuple[int, int, Floats], ...] = ()
    normals: tuple[Floats, ...] = ()
    closings: tuple[Closing, ...] = ()
    apart: frozenset[tuple[int, int]] = frozenset()


@dataclass(frozen=True, eq=False)
class Move:
    """A straight way: a unit vector, and how far along it in mm."""

    way: Floats
    far: float


@dataclass(frozen=True, eq=False)
class Taken:
    """A group that leaves the rest along some moves, in the order of taking apart."""

    group: frozenset[int]
    rest: frozenset[int]
    moves: tuple[Move, ...]


@dataclass(frozen=True, eq=False)
class Stuck:
    """Parts that no order found puts together.

    `pairs` tells of each joined pair along which ways the first comes off the second, with nothing else there; `frees` names
    the joined pairs of which one, if it were not joined, would let all of them go together.
    """

    parts: frozenset[int]
    certainty: Certainty
    pairs: tuple[tuple[int, int, tuple[Floats, ...]], ...]
    frees: tuple[tuple[int, int], ...]


@dataclass(frozen=True, eq=False)
class Found:
    """How everything comes apart, the last part to go on first, what stays stuck, and what was not looked at any more."""

    taken: tuple[Taken, ...]
    stuck: tuple[Stuck, ...]
    left: tuple[frozenset[int], ...] = ()


def directions_of(puzzle: Puzzle) -> tuple[tuple[Floats, ...], ...]:
    """Directions in stages, each asked only where those before it part nothing.

    First up, the joints' ways and the plates' own axes; then the lines in which two planes of contact meet, which are the
    extreme rays of every cone of freedom between flat faces; then the middles between two of these, for cones that are open
    inside only.
    """
    seen: set[tuple[int, ...]] = set()

    def fresh(some: list[Floats], most: int) -> tuple[Floats, ...]:
        found: list[Floats] = []
        for one in some:
            size = float(np.linalg.norm(one))
            if size < 1 / SAME_WAY or len(found) >= most:
                continue
            for way in (one / size, -one / size):
                key = _rough(way)
                if key not in seen:
                    seen.add(key)
                    found.append(np.round(way, 12) + 0.0)
        return tuple(sorted(found, key=lambda way: (-_rough(way)[2], _rough(way))))

    axes = [axis for body in puzzle.bodies for prism in body.prisms[:1] for axis in prism.axes]
    first = fresh([np.array([0.0, 0.0, 1.0]), *(way for _, _, way in puzzle.ways), *axes], MOST_FIRST)
    normals = puzzle.normals
    rays = fresh([np.cross(a, b) for i, a in enumerate(normals) for b in normals[:i]], MOST_RAYS)
    known = [*first, *rays]
    middles = [a + b for i, a in enumerate(known) for b in known[:i] if abs(float(a @ b)) < 0.95]
    return first, rays, fresh(middles, MOST_BETWEEN)


def _rough(way: Floats) -> tuple[int, ...]:
    return tuple(int(v) for v in np.floor(way * SAME_WAY + 0.37))
