"""The plan of a product: taken apart as a puzzle, and told forwards in the product's own frame and names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from panelwright.assemblies.data.assembly_plan import Drop, Lock, Plan, PlanStep, ShutIn, Travel
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.data.verdict import LEVELS
from panelwright.plates.geometry.frame import Vector, scaled

from .all_apart import taken_apart_whole
from .groups import pieces_of
from .locked import fallen, shut_in
from .order_findings import order_findings
from .product_puzzle import Setup, puzzle_of
from .puzzle import Found, Stuck, Taken
from .taking_apart import TakingApart

if TYPE_CHECKING:
    from panelwright.assemblies.design.collected import Collected

__all__ = ["plan_of", "with_plan"]

STEEP = 0.7
"""Cosine from which on a way leads up or down, and not sideways."""

OVERLAPS = "parts share material (`OVERLAP`): whether they go together is only known once they don't"
LEFT = "the search was stopped: there are too many parts tied to each other, and the first steps are no proof"
LOCKS = "some parts lock each other (`LOCKED`), and no way is known for them"


def with_plan(product: Product, assembly: Collected) -> Product:
    """A proven product with its plan, and with what the plan finds among its findings."""
    plan = plan_of(product, loose=assembly.loose_groups(), units=_units(assembly))
    findings = sorted((*product.findings, *order_findings(product, plan)), key=lambda finding: LEVELS.index(finding.level))
    return replace(product, plan=plan, findings=tuple(findings))


def _units(assembly: Collected) -> tuple[frozenset[str], ...]:
    """All sub-assemblies at any depth, by the names of their plates."""
    found: list[frozenset[str]] = []
    for placed in assembly.sub_assemblies:
        found.append(frozenset(plate.name for plate in placed.plates))
        found += [frozenset(f"{placed.name}.{name}" for name in inner) for inner in _units(placed.assembly)]
    return tuple(found)


def plan_of(product: Product, *, loose: Sequence[frozenset[str]] = (), units: Sequence[frozenset[str]] = ()) -> Plan:
    """How a product goes together.

    `loose` are the plates and sub-assemblies that may lie apart, `units` all sub-assemblies, by the names of their plates.  The
    plan is the same however the product is turned, its plates are called, and in which order they were added; of a symmetric
    product it may be one or another of its mirror images.
    """
    if not product.parts:
        return Plan()
    setup = puzzle_of(product, loose, units)
    search = TakingApart(setup.puzzle)
    found = taken_apart_whole(search)
    steps = _Telling(setup, search, product).steps(found)
    unknown = OVERLAPS if setup.puzzle.apart else LEFT if found.left else LOCKS if found.stuck else ""
    locks = () if setup.puzzle.apart else tuple(_lock(setup, product, stuck) for stuck in found.stuck)
    shut, drops = ((), ()) if setup.puzzle.apart else _of_loose(setup, search, product, loose)
    return Plan(steps, locks, unknown, _turned(setup.bench.inverse.z), shut, drops)


def _of_loose(
    setup: Setup, search: TakingApart, product: Product, loose: Sequence[frozenset[str]]
) -> tuple[tuple[ShutIn, ...], tuple[Drop, ...]]:
    """What is loose and does not come out, or drops, by the names of parts."""
    homes = dict.fromkeys(frozenset(setup.home[name] for name in group if name in setup.home) for group in loose)
    groups = [group for group in homes if 0 < len(group) < len(setup.parts)]
    names = [(setup.home[part.plates[0]], part.name) for part in product.parts]

    def named(some: frozenset[int]) -> tuple[str, ...]:
        return tuple(name for i, name in names if i in some)

    back, down = setup.bench.inverse, np.array(setup.bench.direction((0.0, 0.0, -1.0)))
    shut = [
        ShutIn(
            named(one.group),
            tuple((named(by), _turned(back.direction(_vector(way)))) for by, way in one.ways),
            named(one.opened),
            tuple((setup.parts[a].name, setup.parts[b].name) for a, b in one.hidden),
        )
        for one in shut_in(search, groups)
    ]
    drops = (Drop(named(one.group), one.drop) for one in fallen(search, groups, down))
    return tuple(shut), tuple(drops)


def _lock(setup: Setup, product: Product, stuck: Stuck) -> Lock:
    names = [part.name for part in setup.parts]
    back = setup.bench.inverse
    pairs = tuple(
        (names[a], names[b], tuple(_turned(back.direction(_vector(way))) for way in ways)) for a, b, ways in stuck.pairs
    )
    closings = [closing for closing in setup.puzzle.closings if stuck.parts.issuperset(closing.parts)]
    hidden = {closing.parts for closing in closings if not closing.hidden_by.isdisjoint(stuck.parts)}
    return Lock(
        tuple(part.name for part in product.parts if setup.home[part.plates[0]] in stuck.parts),
        stuck.certainty,
        pairs,
        tuple((names[a], names[b]) for a, b in stuck.frees),
        tuple((names[a], names[b]) for a, b in sorted(hidden)),
    )


def _vector(way: object) -> Vector:
    x, y, z = (float(v) for v in np.asarray(way))
    return (x, y, z)


def _turned(way: Vector) -> Vector:
    """A direction without the last digits that turning it leaves."""
    return (round(way[0], 9) + 0.0, round(way[1], 9) + 0.0, round(way[2], 9) + 0.0)


@dataclass(frozen=True, eq=False)
class _Stage:
    """One step by numbers."""

    group: frozenset[int]
    onto: frozenset[int] = frozenset()
    taken: Taken | None = None


class _Telling:
    """Turns what was found backwards into steps."""

    def __init__(self, setup: Setup, search: TakingApart, product: Product) -> None:
        self.setup, self.search, self.product = setup, search, product
        self._whole = {i: number for number, piece in enumerate(pieces_of(search.tied)) for i in piece}

    def steps(self, found: Found) -> tuple[PlanStep, ...]:
        """All steps, in order; every part is the group of one, or among those that begin one."""
        stages = self._stages(found)
        hardware = self._hardware(stages)
        names = [(self.setup.home[part.plates[0]], part.name) for part in self.product.parts]
        upright: dict[frozenset[int], bool] = {}
        told: list[PlanStep] = []
        for number, stage in enumerate(stages):
            moves = self._moves(stage.taken)
            is_up = upright.get(stage.onto, True)
            turned = False
            if stage.taken is not None:
                rise = -float(stage.taken.moves[0].way[2])  # the last thing that happens as it goes in
                turned = rise > STEEP if is_up else rise < -STEEP
            upright[stage.group | stage.onto] = is_up != turned
            group, onto = (tuple(name for i, name in names if i in some) for some in (stage.group, stage.onto))
            told.append(PlanStep(group, onto, moves, hardware[number], turned, self._pieces(stage)))
        return tuple(told)

    def _stages(self, found: Found) -> list[_Stage]:
        stages: list[_Stage] = []
        there: set[int] = set()
        for lump in (*(stuck.parts for stuck in found.stuck), *found.left):
            stages.append(_Stage(lump))
            there |= lump
        alone = {next(iter(taken.group)) for taken in found.taken if len(taken.group) == 1}
        for taken in reversed(found.taken):
            begun = sorted(taken.rest - there - alone), sorted(taken.group - there - alone)
            for i in (*begun[0], *begun[1]):
                stages.append(_Stage(frozenset({i})))
                there.add(i)
            there |= taken.group
            stages.append(_Stage(taken.group, taken.rest, taken))
        stages += [_Stage(frozenset({i})) for i in range(len(self.setup.parts)) if i not in there]
        return stages

    def _moves(self, taken: Taken | None) -> tuple[Travel, ...]:
        """Forwards: the last way out is the first way in."""
        back = self.setup.bench.inverse
        ways = () if taken is None else tuple(reversed(taken.moves))
        return tuple(
            Travel(_turned(scaled(back.direction(_vector(move.way)), -1.0)), round(move.far, 3) + 0.0) for move in ways
        )

    def _hardware(self, stages: Sequence[_Stage]) -> list[tuple[str, ...]]:
        """Which screws and nuts go in at which step: as soon as what they hold is together, or a nut before it is shut in."""
        found: list[list[str]] = [[] for _ in stages]
        home = self.setup.home
        for item, ways in zip(self.product.bought, self.setup.hidden, strict=True):
            held = frozenset(home[name] for name in item.plates) | {home[item.carrier]}
            late = next((k for k, stage in enumerate(stages) if held <= stage.group | stage.onto), len(stages) - 1)
            place = late
            there = stages[late].group | stages[late].onto
            if item.fastener.kind == "nut" and all(not way.isdisjoint(there) for way in ways):
                carrier = home[item.carrier]
                place = next(k for k, stage in enumerate(stages) if carrier in stage.group)
            found[place].append(item.name)
        return [tuple(names) for names in found]

    def _pieces(self, stage: _Stage) -> int:
        """How many pieces have to be held at once: what no joint will ever hold to another counts as held."""
        if stage.taken is None:
            return 1
        extra = 0
        for some in (stage.onto, stage.group):
            index = sorted(some)
            pieces = pieces_of(self.search.held[np.ix_(index, index)])
            kinds = [self._whole[index[piece[0]]] for piece in pieces]
            extra += len(pieces) - len(set(kinds))
        return 2 + extra
