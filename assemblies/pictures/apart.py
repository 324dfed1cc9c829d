"""How far and which way each part moves in the exploded view.

Parts are taken off in rounds.  In each round go all parts that no joint with what is left holds back; where every part is held,
the one that fewest joints hold.  The last part stays.  Then, built up again from there, each part stops as soon as its box is
clear of what stands in its way.  This is for the eye: it is no proof that the product can be put together in that order.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from panelwright.assemblies.data.parts import Bought, Part
from panelwright.assemblies.data.product import JointRecord
from panelwright.plates.geometry.frame import Frame, Vector, dot, minus, plus, scaled

__all__ = ["Away", "Block", "Link", "all_apart", "apart", "taken_apart"]

_SAME = 0.985
"""Cosine of the angle within which two directions are one way (10°): parts of one corner may leave together."""

_SIDES: tuple[Vector, ...] = (
    (0.0, 0.0, 1.0),
    (0.0, -1.0, 0.0),
    (1.0, 0.0, 0.0),
    (-1.0, 0.0, 0.0),
    (0.0, 1.0, 0.0),
    (0.0, 0.0, -1.0),
)

Floats = NDArray[np.float64]


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


@dataclass(frozen=True, slots=True)
class Away:
    """How a part leaves: by `move` in mm, between two places of a slider that runs from 0 to 1.

    >>> Away((0.0, 0.0, 40.0), (0.0, 0.5)).turn
    (0.0, 0.5)
    """

    move: Vector
    turn: tuple[float, float]

    def at(self, share: float) -> Vector:
        """How far it has moved at a place of the slider, as the report's page has it; beyond 1 everything stands further off.

        >>> [Away((0.0, 0.0, 40.0), (0.0, 0.5)).at(share)[2] for share in (0, 0.25, 0.5, 1, 2)]
        [0.0, 20.0, 40.0, 40.0, 80.0]
        """
        begin, end = self.turn
        gone = min(1.0, max(0.0, (share - begin) / (end - begin)))
        return scaled(self.move, gone * gone * (3 - 2 * gone) * max(1.0, share))


@dataclass(frozen=True, slots=True)
class Link:
    """What a joint says of coming apart: its two plates and the ways in which the first goes into the second."""

    plates: tuple[str, str]
    ways: tuple[Vector, ...]


def taken_apart(
    parts: Sequence[Part | Bought], joints: Sequence[JointRecord | Link], share: float
) -> tuple[Part | Bought, ...]:
    """The parts where they stand at a place of the slider: 0 together, 1 all apart, beyond that further apart still.

    Raises `KernelError` for a solid without extent.
    """
    from panelwright.plates._kernel.drawing.hidden_line import world_bounds

    if share == 0:
        return tuple(parts)
    boxes = {id(part.solid): part.solid for part in parts}
    bounds = {key: world_bounds(solid, Frame()) for key, solid in boxes.items()}
    goes = all_apart(parts, [Block(part.frame, *bounds[id(part.solid)]) for part in parts], joints)
    return tuple(_moved(part, away.at(share)) for part, away in zip(parts, goes, strict=True))


def _moved(part: Part | Bought, move: Vector) -> Part | Bought:
    frame = part.frame.shifted(move)
    if isinstance(part, Part):
        return replace(part, frame=frame)
    return replace(part, fastener=replace(part.fastener, frame=frame))


def all_apart(
    parts: Sequence[Part | Bought], blocks: Sequence[Block], joints: Sequence[JointRecord | Link]
) -> tuple[Away, ...]:
    """As `apart`, with screws and nuts among the parts: each moves with its plate, and out of it by twice its own length."""
    plates = [(part, block) for part, block in zip(parts, blocks, strict=True) if isinstance(part, Part)]
    goes = iter(apart([part for part, _ in plates], [block for _, block in plates], joints))
    leaves = [next(goes) if isinstance(part, Part) else None for part in parts]
    stays = Away((0.0, 0.0, 0.0), (0.0, 1.0))
    of = {
        name: away
        for part, away in zip(parts, leaves, strict=True)
        if isinstance(part, Part) and away is not None
        for name in part.plates
    }
    found: list[Away] = []
    for part, block, away in zip(parts, blocks, leaves, strict=True):
        if away is None:
            assert isinstance(part, Bought)
            carrier = of.get(part.carrier, stays)
            out = scaled(part.way_out, 4 * block.reach(part.way_out))
            away = Away(plus(carrier.move, out), carrier.turn)
        found.append(away)
    return tuple(found)


def apart(parts: Sequence[Part], blocks: Sequence[Block], joints: Sequence[JointRecord | Link]) -> tuple[Away, ...]:
    """Where each part goes when the product is taken apart, in the order of `parts`.

    The last part stays where it is.  Every other one goes along one straight line, square to it or along one of the ways
    of its joints, until its box clears those of all parts that leave after it.
    """
    if not parts:
        return ()
    held = _held(parts, joints)
    middles = [block.middle for block in blocks]
    low, high = _around(blocks)
    centre = scaled(plus(low, high), 0.5)
    size = max(1e-9, math.dist(low, high))
    choices = [_choices(part, held[i]) for i, part in enumerate(parts)]

    def best(i: int) -> tuple[int, float, Vector]:
        outward = scaled(minus(middles[i], centre), 1.0 / size)
        ties = [free for other, some in held[i].items() if other in left for free in some]
        return min(
            (sum(all(dot(way, one) < _SAME for one in free) for free in ties), -dot(outward, way) + 1e-6 * number, way)
            for number, way in enumerate(choices[i])
        )

    left = set(range(len(parts)))
    known = {i: best(i) for i in left}
    rounds: list[list[tuple[int, Vector]]] = []
    while len(left) > 1:
        ranked = sorted((*known[i], i) for i in left)
        free = [(i, way) for blocked, _, way, i in ranked if blocked == 0]
        if not free:
            free = [(ranked[0][3], ranked[0][2])]
        elif len(free) == len(left):
            # something has to stay: what the most joints hang on, the largest of those
            stays = max(free, key=lambda one: (len(held[one[0]]), _extent(blocks[one[0]]), -one[0]))
            free.remove(stays)
        rounds.append(free)
        gone = {i for i, _ in free}
        left -= gone
        known |= {i: best(i) for i in sorted({other for one in gone for other in held[one]} & left)}
    return _placed(rounds, blocks, 0.1 * size)


def _held(parts: Sequence[Part], joints: Sequence[JointRecord | Link]) -> list[dict[int, list[tuple[Vector, ...]]]]:
    """For each part: for each other part, and each joint with it, the ways in which the part comes off."""
    number = {name: i for i, part in enumerate(parts) for name in part.plates}
    held: list[dict[int, list[tuple[Vector, ...]]]] = [{} for _ in parts]
    for joint in joints:
        first, second = (number.get(name) for name in joint.plates)
        if first is None or second is None or first == second or not joint.ways:
            continue
        # what goes in along a way comes off against it
        held[first].setdefault(second, []).append(tuple(scaled(way, -1.0) for way in joint.ways))
        held[second].setdefault(first, []).append(joint.ways)
    return held


def _choices(part: Part, ties: Mapping[int, Sequence[tuple[Vector, ...]]]) -> list[Vector]:
    """Directions that a part may leave in, each once: square to it, along its joints' ways, along the axes."""
    found: list[Vector] = []
    ways = [way for some in ties.values() for ways in some for way in ways]
    for way in (part.frame.z, scaled(part.frame.z, -1.0), *ways, *_SIDES):
        if all(dot(way, other) < _SAME for other in found):
            found.append(way)
    return found


def _placed(rounds: Sequence[Sequence[tuple[int, Vector]]], blocks: Sequence[Block], room: float) -> tuple[Away, ...]:
    middles = np.array([block.middle for block in blocks], float)
    axes = np.array([block.axes for block in blocks], float)
    halves = np.array([block.halves for block in blocks], float)
    going = {i for some in rounds for i, _ in some}
    standing = [i for i in range(len(blocks)) if i not in going]
    moves: dict[int, Away] = {i: Away((0.0, 0.0, 0.0), (0.0, 1.0)) for i in standing}
    share = 0.5 / max(1, len(rounds))
    for number in range(len(rounds) - 1, -1, -1):
        for i, way in sorted(rounds[number], key=lambda one: dot(blocks[one[0]].middle, one[1])):
            others = (middles[standing], axes[standing], halves[standing])
            far = _clear((middles[i], axes[i], halves[i]), others, np.array(way)) + room
            move = scaled(way, far)
            middles[i] += move
            standing.append(i)
            moves[i] = Away(move, (number * share, 0.5 + (number + 1) * share))
    return tuple(moves[i] for i in range(len(blocks)))


def _clear(one: tuple[Floats, Floats, Floats], others: tuple[Floats, Floats, Floats], way: Floats) -> float:
    """How far a box must go until it is past every box in its way, exactly, by separating axes.

    On each axis two boxes meet for one interval of the distance gone; they meet in space where all these intervals do
    (the 15 axes: Gottschalk, Lin and Manocha, OBBTree, 1996; from memory).
    """
    (middle, axes, halves), (middles, all_axes, all_halves) = one, others
    own = np.broadcast_to(axes, all_axes.shape)
    crossed = np.cross(own[:, :, None, :], all_axes[:, None, :, :]).reshape(len(middles), 9, 3)
    tests = np.concatenate([own, all_axes, crossed], axis=1)
    theirs = np.abs(np.einsum("nij,nkj->nik", tests, all_axes)) @ all_halves[..., None]
    reach = np.abs(tests @ axes.T) @ halves + theirs[..., 0]
    off = np.einsum("nij,nj->ni", tests, middles - middle)
    speed = tests @ way
    still = np.abs(speed) < 1e-9
    safe = np.where(still, 1.0, speed)
    ends = np.stack([(off - reach) / safe, (off + reach) / safe])
    # standing still on an axis, boxes that share only a border there never meet; parallel edges make no axis
    never = still & (np.abs(off) > reach - 1e-6) & (np.linalg.norm(tests, axis=2) > 1e-6)
    first = np.where(still, -np.inf, ends.min(axis=0)).max(axis=1)
    last = np.where(still, np.inf, ends.max(axis=0)).min(axis=1)
    meets = ~never.any(axis=1) & (first < last - 1e-6) & (last > 0)
    return float(np.where(meets, last, 0.0).max(initial=0.0))


def _around(blocks: Sequence[Block]) -> tuple[Vector, Vector]:
    """Least and most coordinates of all blocks where they stand."""
    sides: tuple[Vector, ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    x0, y0, z0 = (min(block.middle[k] - block.reach(side) for block in blocks) for k, side in enumerate(sides))
    x1, y1, z1 = (max(block.middle[k] + block.reach(side) for block in blocks) for k, side in enumerate(sides))
    return (x0, y0, z0), (x1, y1, z1)


def _extent(block: Block) -> float:
    x, y, z = block.halves
    return round(x * y + y * z + z * x, 6)
