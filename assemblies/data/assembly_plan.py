"""How a product goes together, as plain data: steps in order, and parts that lock each other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from panelwright.plates.geometry.frame import Vector

__all__ = ["Drop", "Lock", "Plan", "PlanStep", "ShutIn", "Travel"]


@dataclass(frozen=True, slots=True)
class Travel:
    """A straight way: a unit vector in the product's frame, and how far along it in mm."""

    way: Vector
    far_mm: float


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One step: `group` goes onto `onto` along `moves`, the first of them first; all by the names of parts.

    A step without `onto` begins something: alone on the bench, and later part of a group.  `hardware` names the screws and nuts
    that go in once the parts stand.  `is_turned` says that what is there must be turned over first, so that the parts come from
    above.  `pieces` counts what is not joined to each other yet and has to be held at the same time, what moves among it.
    A step with several parts and neither `onto` nor moves is of parts that lock each other: no way is known.
    """

    group: tuple[str, ...]
    onto: tuple[str, ...] = ()
    moves: tuple[Travel, ...] = ()
    hardware: tuple[str, ...] = ()
    is_turned: bool = False
    pieces: int = 1


@dataclass(frozen=True, slots=True)
class Lock:
    """Parts that no order puts together.

    `certainty` is "rigid" where none of them can even begin to move along any line, which is exact, and "not found" where no
    way was found among the directions and the two moves in a row that were tried.  `pairs` tells of each two that are joined
    along which ways the first comes off the second if only these two are there; `frees` are the pairs of which one, without
    its joint, would let all of them go together.  `hidden` are pairs whose screws no driver reaches.
    """

    parts: tuple[str, ...]
    certainty: Literal["rigid", "not found"]
    pairs: tuple[tuple[str, str, tuple[Vector, ...]], ...] = ()
    frees: tuple[tuple[str, str], ...] = ()
    hidden: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class ShutIn:
    """Parts that are loose and cannot be taken out with what is joined in place, nor once screws are out.

    `ways` are the directions, in the product's frame, along which the fewest are in the way, each with those.  `opened` are
    parts that come off once their screws are out, which is not enough; `hidden` are pairs, among what is in the way, whose
    screws no driver reaches.
    """

    parts: tuple[str, ...]
    ways: tuple[tuple[tuple[str, ...], Vector], ...]
    opened: tuple[str, ...] = ()
    hidden: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Drop:
    """Parts that are loose and that nothing carries where they are drawn.

    `far_mm` is how far they drop before they meet something; infinite where nothing is below them.
    """

    parts: tuple[str, ...]
    far_mm: float


@dataclass(frozen=True, slots=True)
class Plan:
    """The steps of assembly, found by taking the product apart, and what locks.

    `unknown` says in words why the steps are no proof, and is empty where they are one.  `up` is the direction, in the
    product's frame, that is up on the bench before anything is turned.  `shut_in` and `drops` are of what is loose.
    """

    steps: tuple[PlanStep, ...] = ()
    locks: tuple[Lock, ...] = ()
    unknown: str = ""
    up: Vector = (0.0, 0.0, 1.0)
    shut_in: tuple[ShutIn, ...] = ()
    drops: tuple[Drop, ...] = ()
