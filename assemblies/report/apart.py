"""How far and which way each part moves in the exploded view.

Parts are taken off in rounds.  In each round go all parts that no joint with what is left holds back; where every part is held,
the one that fewest joints hold.  The last part stays.  Then, built up again from there, each part stops as soon as its box is
clear of what stands in its way.  This is for the eye: it is no proof that the product can be put together in that order.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.frame import Vector, cross, dot, minus, scaled, unit

from ..product import JointRecord, Part

__all__ = ["Away", "Box", "apart"]

Box = tuple[Vector, Vector]
"""Least and most coordinates of a part where it stands, mm."""

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
class Away:
    """How a part leaves: by `move` in mm, between two places of a slider that runs from 0 to 1.

    >>> Away((0.0, 0.0, 40.0), (0.0, 0.5)).turn
    (0.0, 0.5)
    """

    move: Vector
    turn: tuple[float, float]


def apart(parts: Sequence[Part], boxes: Sequence[Box], joints: Sequence[JointRecord]) -> tuple[Away, ...]:
    """Where each part goes when the product is taken apart, in the order of `parts`.

    The last part stays where it is.  Every other one goes along one straight line, square to it or along one of the ways
    of its joints, until its box clears those of all parts that leave after it.
    """
    if not parts:
        return ()
    held = _held(parts, joints)
    middles = [_middle(box) for box in boxes]
    centre = _middle(_around(boxes))
    size = max(1e-9, math.dist(*_around(boxes)))
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
            stays = max(free, key=lambda one: (len(held[one[0]]), _extent(boxes[one[0]]), -one[0]))
            free.remove(stays)
        rounds.append(free)
        gone = {i for i, _ in free}
        left -= gone
        known |= {i: best(i) for i in sorted({other for one in gone for other in held[one]} & left)}
    return _placed(rounds, boxes, 0.1 * size)


def _held(parts: Sequence[Part], joints: Sequence[JointRecord]) -> list[dict[int, list[tuple[Vector, ...]]]]:
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


def _placed(rounds: Sequence[Sequence[tuple[int, Vector]]], boxes: Sequence[Box], room: float) -> tuple[Away, ...]:
    low = np.array([box[0] for box in boxes], float)
    high = np.array([box[1] for box in boxes], float)
    going = {i for some in rounds for i, _ in some}
    standing = [i for i in range(len(boxes)) if i not in going]
    moves: dict[int, Away] = {i: Away((0.0, 0.0, 0.0), (0.0, 1.0)) for i in standing}
    share = 0.5 / max(1, len(rounds))
    for number in range(len(rounds) - 1, -1, -1):
        for i, way in sorted(rounds[number], key=lambda one: dot(_middle(boxes[one[0]]), one[1])):
            far = _clear(low[i], high[i], np.array(way), low[standing], high[standing], room)
            move = scaled(way, far)
            low[i] += move
            high[i] += move
            standing.append(i)
            moves[i] = Away(move, (number * share, 0.5 + (number + 1) * share))
    return tuple(moves[i] for i in range(len(boxes)))


def _clear(low: Floats, high: Floats, way: Floats, lows: Floats, highs: Floats, room: float) -> float:
    """How far a box must go until it is `room` clear of every box in its way."""
    helper: Vector = (1.0, 0.0, 0.0) if abs(way[0]) < 0.9 else (0.0, 1.0, 0.0)
    along: Vector = (float(way[0]), float(way[1]), float(way[2]))
    side = unit(cross(along, helper))
    axes = np.array([side, cross(along, side)])
    centre, half = (low + high) / 2, (high - low) / 2
    centres, halves = (lows + highs) / 2, (highs - lows) / 2
    # boxes seen along the way: do their shadows share more than a border?
    between = np.abs((centres - centre) @ axes.T) - (halves + half) @ np.abs(axes).T
    beside = (between > -1e-6).any(axis=1)
    ahead = centres @ way + halves @ np.abs(way) - (float(centre @ way) - float(half @ np.abs(way)))
    needed = np.where(beside, -np.inf, ahead)
    return max(float(needed.max(initial=-np.inf)), 0.0) + room


def _middle(box: Box) -> Vector:
    (x0, y0, z0), (x1, y1, z1) = box
    return ((x0 + x1) / 2, (y0 + y1) / 2, (z0 + z1) / 2)


def _around(boxes: Sequence[Box]) -> Box:
    x0, y0, z0 = (min(box[0][k] for box in boxes) for k in range(3))
    x1, y1, z1 = (max(box[1][k] for box in boxes) for k in range(3))
    return (x0, y0, z0), (x1, y1, z1)


def _extent(box: Box) -> float:
    (x0, y0, z0), (x1, y1, z1) = box
    return round((x1 - x0) * (y1 - y0) + (y1 - y0) * (z1 - z0) + (z1 - z0) * (x1 - x0), 6)
