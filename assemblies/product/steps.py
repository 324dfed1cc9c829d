"""The order of work for people: the plan's steps with their parts, the joints that close, and the hardware that they need.

Steps that put in parts of the same panel one after the other, and none of them joined to another, are one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from panelwright.assemblies.data.assembly_plan import PlanStep, Travel
from panelwright.assemblies.data.parts import Bought, Part
from panelwright.assemblies.data.product import JointRecord, Product
from panelwright.plates.geometry.frame import Vector

__all__ = ["Move", "Step", "steps_of"]

DOWN: Vector = (0.0, 0.0, -1.0)
"""The way of what begins something: it is laid down."""

MOST_AT_ONCE = 12
"""More parts than these in one step, and its picture could not be read."""


@dataclass(frozen=True, slots=True)
class Move:
    """What goes in at once, one part or several that are together already, and its ways in, the first of them first.

    `into` names the parts there that it is joined to.  `closing` gives for each of its joints with them the sentence that its
    kind has for that, the part of this move, and the part it is joined to.
    """

    parts: tuple[Part, ...]
    travels: tuple[Travel, ...] = ()
    into: tuple[str, ...] = ()
    closing: tuple[tuple[str, str, str], ...] = ()

    @property
    def way(self) -> Vector:
        """The last way in, a unit vector in the product's frame."""
        return self.travels[-1].way if self.travels else DOWN


@dataclass(frozen=True, slots=True)
class Step:
    """What is done at once: moves of parts that are the same panel, or one move of a group, and what closes their joints.

    `onto` are the parts that are there.  `hardware` gives designations and numbers; `bought` those of them that are solids in
    place.  `joints` are those that close in this step, and `within` those that its parts hold in themselves, such as the
    bends of a panel.  `is_turned` says that what is there is turned over first, `is_locked` that no way is known for what
    goes in.
    """

    number: int
    moves: tuple[Move, ...]
    onto: tuple[Part, ...] = ()
    hardware: tuple[tuple[str, int], ...] = ()
    bought: tuple[Bought, ...] = ()
    joints: tuple[JointRecord, ...] = ()
    within: tuple[JointRecord, ...] = ()
    is_turned: bool = False
    is_locked: bool = False

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts that go in."""
        return tuple(part for move in self.moves for part in move.parts)

    @property
    def is_group(self) -> bool:
        """Whether what goes in was put together in steps before."""
        return not self.is_locked and any(len(move.parts) > 1 for move in self.moves)


def steps_of(product: Product) -> tuple[Step, ...]:
    """All steps of a product, as its plan has them; every part goes in, or begins something, at exactly one of them."""
    panel = {name: panel.name for panel in product.panels for name in panel.plates}
    home = {plate: part.name for part in product.parts for plate in part.plates}
    linked = {frozenset((home[a], home[b])) for a, b in (joint.plates for joint in product.joints)}
    batches: list[list[PlanStep]] = []
    for step in product.plan.steps:
        if batches and _goes_along(step, batches[-1], panel, linked):
            batches[-1].append(step)
        else:
            batches.append([step])
    done: set[int] = set()
    return tuple(_step(number, batch, product, home, done) for number, batch in enumerate(batches, 1))


def _goes_along(step: PlanStep, batch: Sequence[PlanStep], panel: Mapping[str, str], linked: set[frozenset[str]]) -> bool:
    """Whether a step puts in one more of the same panel as the steps before it, with no joint among all of these."""
    if step.is_turned or len(batch) >= MOST_AT_ONCE:
        return False
    if any(len(one.group) > 1 or not one.onto or len(one.moves) > 1 for one in (step, *batch)):
        return False
    names = [one.group[0] for one in batch]
    if set(step.onto) != {*batch[-1].onto, *batch[-1].group}:
        return False
    (name,) = step.group
    return panel[name] == panel[names[0]] and not any(frozenset((name, other)) in linked for other in names)


def _step(number: int, batch: Sequence[PlanStep], product: Product, home: Mapping[str, str], done: set[int]) -> Step:
    """One step; `done` keeps which joints have been told."""
    part_of = {part.name: part for part in product.parts}
    fresh = {name for one in batch for name in one.group}
    there = {*batch[0].onto, *fresh}
    ends = [(home[joint.plates[0]], home[joint.plates[1]], joint) for joint in product.joints]
    # joints between two things that are locked close here as well
    closed = {k for k, (a, b, _) in enumerate(ends) if a != b and k not in done and {a, b} <= there}
    is_new = {name for one in batch if not one.onto or len(one.group) == 1 for name in one.group}
    within = tuple(joint for a, b, joint in ends if a == b and a in is_new)
    moves = tuple(_move(one, part_of, [ends[k] for k in sorted(closed)]) for one in batch)
    done |= closed
    closing = tuple(ends[k][2] for k in sorted(closed))
    counts: Counter[str] = Counter()
    for joint in (*closing, *within):
        counts.update(dict(joint.hardware))
    placed = {name for one in batch for name in one.hardware}
    bought = tuple(item for item in product.bought if item.name in placed)
    # screws and nuts that are solids go in where the plan puts them, whatever is else needed where joints close
    solid = {item.fastener.designation for item in product.bought}
    counts = Counter({name: count for name, count in counts.items() if name not in solid})
    counts.update(item.fastener.designation for item in bought)
    return Step(
        number,
        moves,
        tuple(part for part in product.parts if part.name in set(batch[0].onto)),
        tuple(sorted(counts.items())),
        bought,
        closing,
        within,
        batch[0].is_turned,
        len(batch[0].group) > 1 and not batch[0].onto,
    )


def _move(step: PlanStep, part_of: Mapping[str, Part], ends: Sequence[tuple[str, str, JointRecord]]) -> Move:
    closing: list[tuple[str, str, str]] = []
    for a, b, joint in ends:
        for own, mate in ((a, b), (b, a)):
            if own in step.group and mate in step.onto:
                closing.append((joint.words.close, own, mate))
    into = tuple(dict.fromkeys(mate for _, _, mate in closing))
    return Move(tuple(part_of[name] for name in step.group), step.moves, into, tuple(dict.fromkeys(closing)))
