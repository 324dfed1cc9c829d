"""The order of work: which parts go in at each step, which way, and which screws and nuts close it.

Parts follow in the order in which their plates were added to the assembly, with one exception: a part that is joined to
nothing that is there yet, such as a lid added early to give others a face, waits until all that it is joined to is there.
Where everything left waits (a drawer beside its carcass), the first of it begins anew.  This is no proof that the parts
can go together in that order.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from panelwright.assemblies.data.parts import Bought, Part
from panelwright.assemblies.data.product import JointRecord, Product
from panelwright.plates.geometry.frame import Vector, dot, scaled

__all__ = ["Move", "Step", "steps_of"]

DOWN: Vector = (0.0, 0.0, -1.0)
"""The way of a part that no joint tells a way for: set down from above."""

MOST_AT_ONCE = 12
"""More parts than these in one step, and its picture could not be read."""

SAME = 0.999
"""Cosine from which on two directions are one."""


@dataclass(frozen=True, slots=True)
class Move:
    """One part and its way in, a unit vector in the product's frame.

    `into` names the parts there that it is joined to; `across` those of them whose joint lets it in another way only.
    `closing` gives for each of its joints with them the sentence that its kind has for that, and the part it is joined to.
    """

    part: Part
    way: Vector
    into: tuple[str, ...] = ()
    across: tuple[str, ...] = ()
    closing: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """What is done at once: moves of parts that are the same panel, and the bought parts that close their joints.

    `hardware` gives designations and numbers; `bought` those of them that are solids in place.  `joints` are those that close
    in this step, and `within` those that its parts hold in themselves, such as the bends of a panel.
    """

    number: int
    moves: tuple[Move, ...]
    hardware: tuple[tuple[str, int], ...] = ()
    bought: tuple[Bought, ...] = ()
    joints: tuple[JointRecord, ...] = ()
    within: tuple[JointRecord, ...] = ()

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts that go in."""
        return tuple(move.part for move in self.moves)


def steps_of(product: Product) -> tuple[Step, ...]:
    """All steps of a product; every part goes in at exactly one of them."""
    home = {plate: part.name for part in product.parts for plate in part.plates}
    panel = {name: panel.name for panel in product.panels for name in panel.plates}
    links = [
        (home[joint.plates[0]], home[joint.plates[1]], joint)
        for joint in product.joints
        if home[joint.plates[0]] != home[joint.plates[1]]
    ]
    moves: list[list[Move]] = []
    there: set[str] = set()
    for part in _in_order(product.parts, links):
        move = _move(part, links, there)
        fellows = [fellow.part.name for fellow in moves[-1]] if moves else []
        has_room = 0 < len(fellows) < MOST_AT_ONCE and there > set(fellows)
        if has_room and _go_together(part.name, fellows, links, panel):
            moves[-1].append(move)
        else:
            moves.append([move])
        there.add(part.name)
    return tuple(_step(number, group, product, home, moves) for number, group in enumerate(moves, 1))


def _in_order(parts: Sequence[Part], links: Sequence[tuple[str, str, JointRecord]]) -> list[Part]:
    joined: dict[str, set[str]] = {part.name: set() for part in parts}
    for a, b, _ in links:
        joined[a].add(b)
        joined[b].add(a)
    left, order = list(parts), list[Part]()
    waiting: set[str] = set()
    there: set[str] = set()
    while left:
        chosen = None
        for part in left:
            touched = joined[part.name] & there
            if joined[part.name] and not touched and there:
                waiting.add(part.name)
            elif part.name not in waiting or joined[part.name] <= there:
                chosen = part
                break
        if chosen is None:
            # all that is left waits: go on beside what is there, or begin anew
            chosen = next((part for part in left if joined[part.name] & there), left[0])
            waiting.clear()
        left.remove(chosen)
        order.append(chosen)
        there.add(chosen.name)
    return order


def _move(part: Part, links: Sequence[tuple[str, str, JointRecord]], there: set[str]) -> Move:
    """The way that suits most joints with what is there; among equals the one that leads down, then the first.

    A part between two others that each let it in the opposite way is shown coming from above.
    """
    found: list[tuple[str, tuple[Vector, ...]]] = []
    closing: list[tuple[str, str]] = []
    for a, b, joint in links:
        if part.name == a and b in there:
            found.append((b, joint.ways))
            closing.append((joint.words.close, b))
        elif part.name == b and a in there:
            found.append((a, tuple(scaled(way, -1.0) for way in joint.ways)))
            closing.append((joint.words.close, a))
    into, said = tuple(dict.fromkeys(name for name, _ in found)), tuple(dict.fromkeys(closing))
    choices = [way for _, ways in found for way in ways]
    if not choices:
        return Move(part, DOWN, into, closing=said)

    def suits(way: Vector) -> int:
        return sum(any(dot(way, other) > SAME for other in ways) for _, ways in found)

    way = max(choices, key=lambda choice: (suits(choice), round(dot(choice, DOWN), 6)))
    if suits(way) < len(found) and suits(scaled(way, -1.0)) == suits(way):
        way = DOWN
    way = (way[0] + 0.0, way[1] + 0.0, way[2] + 0.0)
    across = [name for name, ways in found if ways and not any(dot(way, other) > SAME for other in ways)]
    return Move(part, way, into, tuple(dict.fromkeys(across)), said)


def _go_together(
    name: str, fellows: Sequence[str], links: Sequence[tuple[str, str, JointRecord]], panel: dict[str, str]
) -> bool:
    """Whether a part is the same panel as those of the step before it and joined to none of them."""
    if panel[name] != panel[fellows[0]]:
        return False
    return not any({a, b} <= {name, *fellows} and name in (a, b) for a, b, _ in links)


def _step(
    number: int,
    group: Sequence[Move],
    product: Product,
    home: dict[str, str],
    moves: Sequence[Sequence[Move]],
) -> Step:
    there = {move.part.name for earlier in moves[:number] for move in earlier}
    fresh = {move.part.name for move in group}
    ends = [(home[joint.plates[0]], home[joint.plates[1]], joint) for joint in product.joints]
    closed = tuple(joint for a, b, joint in ends if a != b and {a, b} <= there and {a, b} & fresh)
    within = tuple(joint for a, b, joint in ends if a == b and a in fresh)
    counts: Counter[str] = Counter()
    for joint in (*closed, *within):
        counts.update(dict(joint.hardware))
    bought = tuple(
        item for item in product.bought if (own := {home[plate] for plate in item.plates}) and own <= there and own & fresh
    )
    return Step(number, tuple(group), tuple(sorted(counts.items())), bought, closed, within)
