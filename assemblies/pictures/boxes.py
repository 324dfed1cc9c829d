"""Boxes around parts, for keeping parts clear of each other in pictures: how far one must go until it is past others."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.geometry.frame import Frame, Vector, dot, minus

__all__ = ["Block", "Boxes", "Floats", "around_all", "boxes_of", "clear"]

Floats = NDArray[np.float64]

BORDER = 1e-6
"""Boxes that share no more than this, in mm, only touch."""

ALONG = 1 - 1e-9
"""Cosine from which on a way runs along an edge of a box, so that what the box sweeps is a box."""


@dataclass(frozen=True, slots=True)
class Block:
    """The box around a part: least and most coordinates in mm in the part's own frame.

    >>> Block(Frame(), (0.0, 0.0, 0.0), (40.0, 30.0, 4.0)).middle
    (20.0, 15.0, 2.0)
    """

    frame: Frame
    low: Vector
    high: Vector

    @property
    def middle(self) -> Vector:
        """Its middle, where it stands."""
        (x0, y0, z0), (x1, y1, z1) = self.low, self.high
        return self.frame.point(((x0 + x1) / 2, (y0 + y1) / 2, (z0 + z1) / 2))

    @property
    def axes(self) -> tuple[Vector, Vector, Vector]:
        """Unit vectors along its edges."""
        return (self.frame.x, self.frame.y, self.frame.z)

    @property
    def halves(self) -> Vector:
        """Half its size along each of `axes`, mm."""
        x, y, z = minus(self.high, self.low)
        return (x / 2, y / 2, z / 2)

    def reach(self, way: Vector) -> float:
        """How far it reaches from its middle along a unit vector, mm."""
        return sum(half * abs(dot(axis, way)) for axis, half in zip(self.axes, self.halves, strict=True))


@dataclass(frozen=True, eq=False)
class Boxes:
    """Several boxes as arrays: their middles, rows of unit vectors along their edges, and half their sizes along these."""

    middles: Floats
    axes: Floats
    halves: Floats

    def moved(self, move: Floats) -> Boxes:
        """All of them moved."""
        return Boxes(self.middles + move, self.axes, self.halves)

    def swept(self, move: Floats) -> Boxes:
        """What all sweep as they move: one box for each that moves along an edge of its own, else where it begins and ends."""
        far = float(np.linalg.norm(move))
        if far < BORDER:
            return self
        lean = np.abs(self.axes @ (move / far))
        along = lean.max(axis=1) > ALONG
        straight = Boxes(
            self.middles[along] + move / 2,
            self.axes[along],
            self.halves[along] + np.where(lean[along] > ALONG, far / 2, 0.0),
        )
        aslant = Boxes(self.middles[~along], self.axes[~along], self.halves[~along])
        return together((straight, aslant, aslant.moved(move)))


def boxes_of(blocks: Sequence[Block]) -> Boxes:
    """Blocks as arrays."""
    return Boxes(
        np.array([block.middle for block in blocks], float).reshape(-1, 3),
        np.array([block.axes for block in blocks], float).reshape(-1, 3, 3),
        np.array([block.halves for block in blocks], float).reshape(-1, 3),
    )


def together(some: Iterable[Boxes]) -> Boxes:
    """Several sets of boxes as one."""
    every = tuple(some)
    return Boxes(
        np.concatenate([np.empty((0, 3)), *(boxes.middles for boxes in every)]),
        np.concatenate([np.empty((0, 3, 3)), *(boxes.axes for boxes in every)]),
        np.concatenate([np.empty((0, 3)), *(boxes.halves for boxes in every)]),
    )


def clear(moved: Iterable[Boxes], others: Iterable[Boxes], way: Floats) -> float:
    """How far some boxes must go along a unit vector until each is past every other one in its way, mm: exactly, by
    separating axes.

    On each axis two boxes meet for one interval of the distance gone; they meet in space where all these intervals do
    (the 15 axes: Gottschalk, Lin and Manocha, OBBTree, 1996; from memory).

    >>> tile = boxes_of([Block(Frame(), (0.0, 0.0, 0.0), (40.0, 30.0, 4.0))])
    >>> clear([tile.moved(np.array([0.0, 0.0, -1.0]))], [tile], np.array([0.0, 0.0, 1.0]))
    5.0
    """
    mine, theirs = together(moved), together(others)
    return max((_past(mine, k, theirs, way) for k in range(len(mine.middles))), default=0.0)


def _past(mine: Boxes, k: int, others: Boxes, way: Floats) -> float:
    middle, axes, halves = mine.middles[k], mine.axes[k], mine.halves[k]
    own = np.broadcast_to(axes, others.axes.shape)
    crossed = np.cross(own[:, :, None, :], others.axes[:, None, :, :]).reshape(len(others.middles), 9, 3)
    tests = np.concatenate([own, others.axes, crossed], axis=1)
    theirs = np.abs(np.einsum("nij,nkj->nik", tests, others.axes)) @ others.halves[..., None]
    reach = np.abs(tests @ axes.T) @ halves + theirs[..., 0]
    off = np.einsum("nij,nj->ni", tests, others.middles - middle)
    speed = tests @ way
    still = np.abs(speed) < 1e-9
    safe = np.where(still, 1.0, speed)
    ends = np.stack([(off - reach) / safe, (off + reach) / safe])
    # standing still on an axis, boxes that share only a border there never meet; parallel edges make no axis
    never = still & (np.abs(off) > reach - BORDER) & (np.linalg.norm(tests, axis=2) > 1e-6)
    first = np.where(still, -np.inf, ends.min(axis=0)).max(axis=1)
    last = np.where(still, np.inf, ends.max(axis=0)).min(axis=1)
    meets = ~never.any(axis=1) & (first < last - BORDER) & (last > 0)
    return float(np.where(meets, last, 0.0).max(initial=0.0))


def around_all(blocks: Sequence[Block]) -> tuple[Vector, Vector]:
    """Least and most coordinates of all blocks where they stand."""
    sides: tuple[Vector, ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    x0, y0, z0 = (min(block.middle[k] - block.reach(side) for block in blocks) for k, side in enumerate(sides))
    x1, y1, z1 = (max(block.middle[k] + block.reach(side) for block in blocks) for k, side in enumerate(sides))
    return (x0, y0, z0), (x1, y1, z1)
