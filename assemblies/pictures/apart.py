"""How far and which way each part moves in the exploded view: its plan run backwards.

Order, ways, groups and how far a part must go at least are those of the plan, so nothing is drawn through anything that it is
proven to pass.  Beyond that, a part goes on until its box is clear of the boxes of what it came off, wherever these go later.
Steps one after the other that go the same way, and none of which stands in another's, are one.  What the plan has no way
for stays where it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from panelwright.assemblies.data.assembly_plan import Plan, PlanStep
from panelwright.assemblies.data.name_lists import listed
from panelwright.assemblies.data.parts import Bought, Part
from panelwright.plates.geometry.frame import Frame, Vector, dot, plus, scaled

from .boxes import Block, Floats, around_all, boxes_of, clear

__all__ = ["Away", "Leg", "all_apart", "stay_words", "taken_apart"]

SAME_WAY = 1 - 1e-9
"""Cosine from which on two ways are one."""

MOST_NAMES = 6
"""How many of the parts that stay together are named."""

ROOM = 0.1
"""How far parts stand off each other, as a share of the product's own size."""


@dataclass(frozen=True, slots=True)
class Leg:
    """One straight move: by `move` in mm, between two places of a slider that runs from 0 to 1."""

    move: Vector
    turn: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Away:
    """How a part leaves: its moves, the first of them first, alone or with the group that it is in.

    >>> Away((Leg((0.0, 0.0, 40.0), (0.0, 0.5)),)).move
    (0.0, 0.0, 40.0)
    """

    legs: tuple[Leg, ...] = ()

    @property
    def move(self) -> Vector:
        """How far it has gone in the end."""
        return self.at(1.0)

    def at(self, share: float) -> Vector:
        """How far it has moved at a place of the slider, as the report's page has it; beyond 1 everything stands further off.

        >>> goes = Away((Leg((0.0, 0.0, 40.0), (0.0, 0.5)), Leg((9.0, 0.0, 0.0), (0.5, 1.0))))
        >>> [goes.at(share) for share in (0, 0.25, 0.5, 1, 2)]
        [(0.0, 0.0, 0.0), (0.0, 0.0, 20.0), (0.0, 0.0, 40.0), (9.0, 0.0, 40.0), (18.0, 0.0, 80.0)]
        """
        there: Vector = (0.0, 0.0, 0.0)
        for leg in self.legs:
            begin, end = leg.turn
            gone = min(1.0, max(0.0, (share - begin) / (end - begin)))
            there = plus(there, scaled(leg.move, gone * gone * (3 - 2 * gone)))
        return scaled(there, max(1.0, share))


def taken_apart(parts: Sequence[Part | Bought], plan: Plan, share: float) -> tuple[Part | Bought, ...]:
    """The parts where they stand at a place of the slider: 0 together, 1 all apart, beyond that further apart still.

    Raises `KernelError` for a solid without extent.
    """
    from panelwright.plates._kernel.drawing.hidden_line import world_bounds

    if share == 0:
        return tuple(parts)
    boxes = {id(part.solid): part.solid for part in parts}
    bounds = {key: world_bounds(solid, Frame()) for key, solid in boxes.items()}
    goes = all_apart(parts, [Block(part.frame, *bounds[id(part.solid)]) for part in parts], plan)
    return tuple(_moved(part, away.at(share)) for part, away in zip(parts, goes, strict=True))


def _moved(part: Part | Bought, move: Vector) -> Part | Bought:
    frame = part.frame.shifted(move)
    if isinstance(part, Part):
        return replace(part, frame=frame)
    return replace(part, fastener=replace(part.fastener, frame=frame))


def all_apart(parts: Sequence[Part | Bought], blocks: Sequence[Block], plan: Plan) -> tuple[Away, ...]:
    """Where each part goes when the product is taken apart, in the order of `parts`; `blocks` are the boxes around them.

    Screws and nuts come out by twice their own length just before what they hold comes apart, and go on with the plate that
    carries them.
    """
    plates = {part.name: block for part, block in zip(parts, blocks, strict=True) if isinstance(part, Part)}
    if not plates:
        return tuple(Away() for _ in parts)
    spread = _Spread(plates)
    batches = _batches(plan.steps, plates)
    for batch in batches:
        spread.undo(batch)
    # the slider's turns: for each batch, from the last back, one for its screws and one for each of its moves
    held = _hardware(plan, batches, [part.name for part in parts if isinstance(part, Bought)])
    counts = [bool(names) + len(batch[0].moves) for batch, names in zip(batches, held, strict=False)]
    total = max(1, sum(counts) + bool(held[-1]))
    legs: dict[str, list[Leg]] = {name: [] for name in plates}
    out: dict[str, tuple[float, float]] = dict.fromkeys(held[-1], (1 - 1 / total, 1.0))
    done = 0
    for number in range(len(batches) - 1, -1, -1):
        turns = [((done + k) / total, (done + k + 1) / total) for k in range(counts[number])]
        done += counts[number]
        if held[number]:
            out |= dict.fromkeys(held[number], turns.pop(0))
        for name, moves in spread.legs[number].items():
            legs[name] += [Leg(move, turn) for move, turn in zip(moves, turns, strict=True)]
    home = {name: part.name for part in parts if isinstance(part, Part) for name in part.plates}
    found: list[Away] = []
    for part, block in zip(parts, blocks, strict=True):
        if isinstance(part, Part):
            found.append(Away(tuple(legs[part.name])))
            continue
        carrier = legs.get(home.get(part.carrier, ""), [])
        first = Leg(scaled(part.way_out, 4 * block.reach(part.way_out)), out.get(part.name, (0.0, 1.0)))
        found.append(Away((first, *carrier)))
    return tuple(found)


def stay_words(plan: Plan) -> str:
    """What is not taken apart, or not along ways that are proven, and why; "" where every way is.

    >>> stay_words(Plan())
    ''
    >>> stay_words(Plan((PlanStep(("left", "right")),), unknown="they lock each other"))
    "'left' and 'right' stay together: they lock each other"
    """
    if not plan.unknown:
        return ""
    whole = [step.group for step in plan.steps if len(step.group) > 1 and not step.onto]
    told = [f"{listed(group, limit=MOST_NAMES, is_quoted=True)} stay together" for group in whole]
    return f"{'; '.join(told) or 'how the parts come apart is not proven'}: {plan.unknown}"


def _batches(steps: Iterable[PlanStep], blocks: dict[str, Block]) -> list[list[PlanStep]]:
    """The steps that move something, in the plan's order; those that can be undone at the same time are one batch.

    That is sound: what goes along a line without meeting what stays also goes there together with more that goes as far.
    """
    found: list[list[PlanStep]] = []
    for step in steps:
        if not step.onto or not step.moves:
            continue
        if found and _goes_along(step, found[-1], blocks):
            found[-1].append(step)
        else:
            found.append([step])
    return found


def _goes_along(step: PlanStep, batch: Sequence[PlanStep], blocks: dict[str, Block]) -> bool:
    last = batch[-1]
    if any(len(one.moves) > 1 for one in (step, last)) or dot(step.moves[0].way, last.moves[0].way) < SAME_WAY:
        return False
    if set(step.onto) != {*last.onto, *last.group} or (step.hardware and step.hardware != last.hardware):
        return False
    out = -np.array(step.moves[0].way)
    mine = [boxes_of([blocks[name] for name in step.group])]
    theirs = [boxes_of([blocks[name] for one in batch for name in one.group])]
    return clear(mine, theirs, out) == clear(theirs, mine, out) == 0.0


def _hardware(plan: Plan, batches: Sequence[Sequence[PlanStep]], names: Sequence[str]) -> list[list[str]]:
    """For each batch the screws and nuts that come out before it is undone; the last list are those of no batch."""
    batch_of = {name: k for k, batch in enumerate(batches) for step in batch for name in step.hardware}
    found: list[list[str]] = [[] for _ in range(len(batches) + 1)]
    for name in names:
        found[batch_of.get(name, len(batches))].append(name)
    return found


class _Spread:
    """Parts as they are spread, beginning with the first step: what went on later is spread round what was there."""

    def __init__(self, blocks: dict[str, Block]) -> None:
        self.home = {name: boxes_of([block]) for name, block in blocks.items()}
        self.boxes = {name: [box] for name, box in self.home.items()}  # where each comes to be, and what it sweeps on its way
        low, high = around_all(list(blocks.values()))
        self.room = ROOM * max(1e-9, math.dist(low, high))
        self.legs: list[dict[str, tuple[Vector, ...]]] = []

    def undo(self, batch: Sequence[PlanStep]) -> None:
        """Move the groups of a batch off what they were put onto."""
        moves = [(-np.array(move.way), move.far_mm) for move in reversed(batch[0].moves)]
        way = moves[-1][0]
        before = [far * there for there, far in moves[:-1]]
        shift: Floats = np.sum([np.zeros(3), *before], axis=0)
        onto = [boxes for name in batch[0].onto for boxes in self.boxes[name]]
        far = 0.0
        for step in batch:
            mine = [boxes.moved(shift) for name in step.group for boxes in self.boxes[name]]
            far = max(far, step.moves[0].far_mm, clear(mine, onto, way))
        last = (far + self.room) * way
        told = tuple((float(x), float(y), float(z)) for x, y, z in (*before, last))
        for name in (name for step in batch for name in step.group):
            at = self.home[name]
            swept = []
            for move in (*before, last):
                swept.append(at.swept(move))
                at = at.moved(move)
            self.boxes[name] = [*(boxes.moved(shift + last) for boxes in self.boxes[name]), *swept]
        self.legs.append({name: told for step in batch for name in step.group})
