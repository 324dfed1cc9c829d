"""What the search for an order is given, and what it gives back: all as plain numbers, in the frame of the bench."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from .rigid import Body, Floats

__all__ = ["Certainty", "Closing", "Directions", "Found", "Move", "Puzzle", "Stuck", "Taken"]

Certainty = Literal["rigid", "not found"]

MOST_FIRST = 200
"""Ways of joints and axes of plates that are tried, far more than a product has: six for one that is square, six more for
each turn."""

MOST_RAYS = 60
"""Lines in which two planes of contact meet that are tried: beyond that it takes longer than it helps."""

MOST_BETWEEN = 120
"""Middles between two directions that are tried."""

MOST_ALONG = 0.95
"""Cosine from which on two directions are so near each other, or so opposite, that nothing between them is tried."""

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

    `joined` are pairs that a joint holds together, `screwed` those of them that screws and nuts alone hold; `panel` numbers
    parts that are cut alike; `units` are sub-assemblies of the design; `weight` says how much speaks for a part to be what
    others are built on; `normals` are those of flat faces, and `ways` the directions in which, by a joint's kind, the first of
    two goes into the second.  `apart` are pairs that share material already and are not asked about each other.
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
    screwed: frozenset[tuple[int, int]] = frozenset()


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


class Directions:
    """Directions in stages, each asked only where those before it part nothing, and worked out only then.

    First up, the joints' ways and the plates' own axes; then the lines in which two planes of contact meet, which are the
    extreme rays of every cone of freedom between flat faces; then the middles between two of these, for cones that are open
    inside only.
    """

    def __init__(self, puzzle: Puzzle) -> None:
        self._puzzle = puzzle
        self._seen: set[tuple[int, ...]] = set()

    @cached_property
    def first(self) -> tuple[Floats, ...]:
        """Up, the joints' ways, and the axes of plates."""
        axes = [axis for body in self._puzzle.bodies for prism in body.prisms[:1] for axis in prism.axes]
        return self._fresh(np.array([(0.0, 0.0, 1.0), *(way for _, _, way in self._puzzle.ways), *axes]), MOST_FIRST)

    @cached_property
    def rays(self) -> tuple[Floats, ...]:
        """Where two planes meet, as far as the first have them not."""
        normals, _ = np.array(self._puzzle.normals).reshape(-1, 3), self.first
        i, k = np.tril_indices(len(normals), -1)
        return self._fresh(np.cross(normals[i], normals[k]), MOST_RAYS)

    @cached_property
    def between(self) -> tuple[Floats, ...]:
        """The middles between two of all these, where they are no line and no way back."""
        known = np.array([*self.first, *self.rays])
        i, k = np.tril_indices(len(known), -1)
        apart = np.abs((known[i] * known[k]).sum(axis=1)) < MOST_ALONG
        return self._fresh(known[i[apart]] + known[k[apart]], MOST_BETWEEN)

    def _fresh(self, some: Floats, most: int) -> tuple[Floats, ...]:
        """Unit vectors both ways, each once and not yet seen, the steepest first."""
        size = np.linalg.norm(some, axis=1)
        size[size < 1 / SAME_WAY] = np.inf
        both = np.stack([some, -some], axis=1) / size[:, None, None]
        keys = np.floor(both * SAME_WAY + 0.37).astype(np.int64).tolist()
        found: list[tuple[tuple[int, ...], Floats]] = []
        for ways, told, far in zip(both, keys, size, strict=True):
            if len(found) >= most:
                break
            if np.isinf(far):
                continue
            for way, key in zip(ways, told, strict=True):
                if (rough := tuple(key)) not in self._seen:
                    self._seen.add(rough)
                    found.append((rough, np.round(way, 12) + 0.0))
        return tuple(way for _, way in sorted(found, key=lambda one: (-one[0][2], one[0])))
