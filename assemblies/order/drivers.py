"""Where a driver must reach: which parts keep a straight key, or the screw itself, from coming out along its axis.

A straight hexagon key needs the length of its long arm before the head; a screw needs its own length to come out.  Both go
along the screw's axis only, and everything else than its own hole is in their way.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from panelwright.assemblies.data.parts import Bought
from panelwright.joints.spec.fasteners import NutBody, ScrewBody
from panelwright.plates.geometry.frame import Frame, Vector, scaled

from .blocking import Blocking, key_of
from .part_bodies import disc_piece
from .rigid import Body, Floats, body_of

__all__ = ["KEY_LENGTHS", "hiding"]

KEY_LENGTHS = {2.0: 52.0, 2.5: 58.5, 3.0: 66.0, 4.0: 74.0, 5.0: 83.0}
"""Long arm of a hexagon key in mm by its width across flats: ISO 2936, from memory."""

DISC = 0.5
"""Thickness in mm of what is moved along a screw's axis in place of its head and of the key."""

GRIP = 10.0
"""How far a nut must come out of the pocket beyond its own size for fingers or tweezers, mm.  Chosen here; no source."""


def hiding(parts: Sequence[Body], bought: Sequence[Bought], bench: Frame) -> list[tuple[frozenset[int], ...]]:
    """For each bought part, of each way in which it could come out the numbers of the parts in that way.

    A screw has one way, a nut two: sideways out of its pocket on either side of the plate.
    """
    asked: dict[tuple[float, ...], list[tuple[int, int, Body, float]]] = {}
    directions: dict[tuple[float, ...], Floats] = {}
    found: list[list[set[int]]] = []
    for number, item in enumerate(bought):
        ways = _probes(item, bench)
        found.append([set() for _ in ways])
        for which, (way, moved) in enumerate(ways):
            key = key_of(np.array(way))
            directions[key] = np.array(way, float)
            asked.setdefault(key, []).extend((number, which, body, need) for body, need in moved)
    for key, probes in asked.items():
        blocking = Blocking([*parts, *(body for _, _, body, _ in probes)])
        for need in sorted({need for *_, need in probes}):
            table = blocking.first_hits(directions[key], need)
            for row, (number, which, _, own) in enumerate(probes, len(parts)):
                if own == need:
                    found[number][which].update(np.flatnonzero(table[row, : len(parts)]).tolist())
    return [tuple(frozenset(way) for way in ways) for ways in found]


def _probes(item: Bought, bench: Frame) -> list[tuple[Vector, list[tuple[Body, float]]]]:
    """For each way out: its direction on the bench, and what must go how far along it."""
    frame, body = item.frame.then(bench), item.fastener.body
    if isinstance(body, ScrewBody):
        top = -body.proud
        head = body_of(item.name, [disc_piece(frame, body.dk / 2, top - DISC, top)])
        key = body_of(item.name, [disc_piece(frame, body.key / math.sqrt(3), top - DISC, top, sides=6)])
        return [(scaled(frame.z, -1.0), [(head, body.reach + body.k), (key, KEY_LENGTHS.get(body.key, 10 * body.d))])]
    assert isinstance(body, NutBody)
    way = bench.direction(item.way_out)
    nut = body_of(item.name, [disc_piece(frame, body.s / 2, 0.0, body.m, sides=body.sides)])
    return [(side, [(nut, body.s + GRIP)]) for side in (way, scaled(way, -1.0))]
