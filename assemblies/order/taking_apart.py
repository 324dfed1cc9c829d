"""An order in which parts go together, found backwards: what can be taken off along a straight line (or two) goes on last.

A set of parts may be parted along d if, in the table of who blocks whom along d, some group is blocked by nothing outside it.
 Taking off any such group is safe: whatever order takes the whole apart also takes any part of it apart, since fewer parts
 are never more
in the way.  So no choice is ever wrong, nothing is tried twice, and preferences alone decide.  For the same reason a set that
cannot be parted anywhere is a proof against every order by such moves, whatever else stands around it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from .blocking import LEAST_MOVE, LEAST_TRAVEL, Blocking, Table, key_of
from .groups import cut_pieces, free_groups, pieces_of
from .puzzle import Directions, Move, Puzzle, Taken
from .rigid import Floats
from .shadows import Whole

__all__ = ["MOST_FOR_ODD_WAYS", "Last", "TakingApart"]

MOST_STOPS = 80
"""Places at which a first move may end that are tried."""

MOST_FOR_ODD_WAYS = 60
"""From more parts than these only the first directions are tried, and no two moves in a row: the others take too long."""

SAME_WAY = 0.999
"""Cosine from which on two directions are one."""

SURE = 1e-3
"""A way is left out only if it is worse by so many points, far more than rounding."""

MEASURED = 8
"""Groups, the best by all else, whose ways are measured."""

# What speaks against taking a part, in points: the last to go, so the first to be built on, are those with most.
FALLS_APART = 4.0  # for each piece that the rest falls into
STAYS = 3.0  # the part that the others are built on
TURNS = 1.0  # another direction than the step before
FROM_BELOW = 1.5  # for each quarter turn away from up
BY_UNIT = -3.0  # a sub-assembly of the design as a whole
AS_GROUP = 2.0  # several parts at once that are no sub-assembly
ALIKE = -0.5  # cut like the part before; as much again where it comes the same way
OTHERWISE = 12.0  # another way than its joints' kinds have in mind
FAR, MOST_FAR = 30.0, 6.0  # mm for a point, and the most points


@dataclass(frozen=True, eq=False)
class _Choice:
    weight: float
    group: tuple[int, ...]
    order: int
    far: float = 0.0

    @property
    def rank(self) -> tuple[float, int, tuple[int, ...], int]:
        return round(self.weight, 6), len(self.group), tuple(-i for i in self.group), self.order


@dataclass(frozen=True, eq=False)
class Last:
    """The step before: its direction, and the panel of the part that went."""

    way: Floats
    panel: int = -1


class TakingApart:
    """The search for one puzzle.  What it works out about directions is kept."""

    def __init__(self, puzzle: Puzzle) -> None:
        self.puzzle = puzzle
        self.blocking = Blocking(puzzle.bodies)
        self.directions = Directions(puzzle)
        n = len(puzzle.bodies)
        self.tied: Table = np.zeros((n, n), bool)
        for a, b in puzzle.joined:
            self.tied[a, b] = self.tied[b, a] = True
        # for hanging together, what rests on something counts as held by it
        rests = self.blocking.rests(np.array([0.0, 0.0, -1.0]), LEAST_MOVE, self.tied) if n else self.tied
        self.held: Table = self.tied | rests | rests.T
        first = np.array([one for one, _, _ in puzzle.ways], np.intp)
        second = np.array([one for _, one, _ in puzzle.ways], np.intp)
        self._ways_in = first, second, np.array([way for _, _, way in puzzle.ways], float).reshape(-1, 3)
        self._told: Table = np.zeros((n, n), bool)
        self._told[first, second] = self._told[second, first] = True
        self._odd: dict[tuple[float, ...], Table] = {}
        self._free: Table = np.ones((n, n), bool)
        for a, b in puzzle.apart:
            self._free[a, b] = self._free[b, a] = False

    def part(self, parts: frozenset[int], last: Last | None = None) -> Taken | None:
        """The best way to take something off, or None."""
        return self.one_move(parts, last) or self.two_moves(parts)

    def is_stuck(self, parts: frozenset[int]) -> frozenset[int]:
        """What is left of some parts once everything that comes off is off: nothing, or a set that is stuck."""
        waiting = [parts]
        while waiting:
            some = waiting.pop()
            while len(some) > 1:
                found = self._any_move(some) or self.two_moves(some)
                if found is None:
                    return some
                waiting.append(found.group)
                some = found.rest
        return frozenset()

    def without(self, a: int, b: int) -> TakingApart:
        """The same search as if two parts were not in each other's way; what has been worked out is shared."""
        other = object.__new__(TakingApart)
        other.__dict__.update(self.__dict__)
        other._free = self._free.copy()
        other._free[a, b] = other._free[b, a] = False
        return other

    def blocked(self, d: Floats, index: Whole | Sequence[int], *, near: float | None = None) -> Table:
        """Who is in whose way along d among some parts; with `near`, within that many mm.  Hidden screws tie what they hold."""
        index = np.asarray(index, np.intp)
        whole = self.blocking.table(d) if near is None else self.blocking.first_hits(d, near)
        table: Table = (whole & self._free)[np.ix_(index, index)]
        spot = {int(part): k for k, part in enumerate(index)}
        for closing in self.puzzle.closings:
            a, b = closing.parts
            if a in spot and b in spot and not closing.hidden_by.isdisjoint(spot):
                table[spot[a], spot[b]] = table[spot[b], spot[a]] = True
        return table

    def stages_for(self, parts: frozenset[int]) -> Iterator[Sequence[Floats]]:
        """The stages of directions that are tried for so many parts."""
        yield self.directions.first
        if len(parts) <= MOST_FOR_ODD_WAYS:
            yield self.directions.rays
            yield self.directions.between

    def _any_move(self, parts: frozenset[int]) -> Taken | None:
        index = sorted(parts)
        for stage in self.stages_for(parts):
            for d in stage:
                table = self.blocked(d, index)
                single = np.flatnonzero(~table.any(axis=1))
                groups = [[int(single[0])]] if len(single) else free_groups(table)
                if groups:
                    group = frozenset(index[i] for i in groups[0])
                    return Taken(group, parts - group, (Move(d, 0.0),))
        return None

    def one_move(self, parts: frozenset[int], last: Last | None = None) -> Taken | None:
        """The best group to take off along one line: units first, then single parts, then the smallest groups."""
        index = np.array(sorted(parts))
        before = last or Last(np.array([0.0, 0.0, 1.0]))
        held = self.held[np.ix_(index, index)]
        weights = np.array([self.puzzle.weight[i] for i in index])
        stays = int(np.argmax(weights))
        static = FALLS_APART * np.array(cut_pieces(held), float)
        static[stays] += STAYS
        panel = np.array([self.puzzle.panel[i] for i in index])
        alike = (panel == before.panel) & (before.panel >= 0)
        units = self._units(parts, index)
        for stage in self.stages_for(parts):
            choices: list[_Choice] = []
            known = np.inf
            weighed = sorted(self._weighed(stage, index, before, static, alike), key=lambda one: one[:2])
            for least, order, turn, alone in weighed:
                if min(least, turn + BY_UNIT - FALLS_APART if units else np.inf) > known:
                    continue  # whatever this way parts, something else is better
                d = stage[order]
                table = self.blocked(d, index)
                for unit in units:
                    if not np.delete(table[unit], unit, axis=1).any():
                        choices.append(_Choice(self._of_group(unit, stays, held) + turn + BY_UNIT, tuple(unit), order))
                single = np.flatnonzero(~table.any(axis=1))
                if len(single):
                    far = self._ways(index, single, d)
                    weight = alone[single] + turn + np.minimum(far / FAR, MOST_FAR)
                    best = min(range(len(single)), key=lambda k: (round(float(weight[k]), 6), -int(single[k])))
                    choices.append(_Choice(float(weight[best]), (int(single[best]),), order, float(far[best])))
                    known = min(known, float(weight[best]) + SURE)
            if not choices:
                for order, d in enumerate(stage):
                    turn = (0.0 if float(d @ before.way) > SAME_WAY else TURNS) + FROM_BELOW * (1.0 - round(float(d[2]), 6))
                    for group in free_groups(self.blocked(d, index)):
                        choices.append(_Choice(self._of_group(group, stays, held) + turn + AS_GROUP, tuple(group), order))
            if choices:
                best_choice = min((self._measured(one, index, stage) for one in _best(choices)), key=lambda one: one.rank)
                group_parts = frozenset(int(index[i]) for i in best_choice.group)
                return Taken(group_parts, parts - group_parts, (Move(stage[best_choice.order], best_choice.far),))
        return None

    def _weighed(
        self, stage: Sequence[Floats], index: Whole, before: Last, static: Floats, alike: Table
    ) -> Iterator[tuple[float, int, float, Floats]]:
        """For each direction of a stage the least that a part can weigh along it, the direction's number, what it weighs
        itself, and what each part weighs without its way and the direction."""
        for order, d in enumerate(stage):
            is_same = float(d @ before.way) > SAME_WAY
            turn = (0.0 if is_same else TURNS) + FROM_BELOW * (1.0 - round(float(d[2]), 6))
            alone = static + ALIKE * alike * (1 + is_same)
            alone += OTHERWISE * self._otherwise(d)[np.ix_(index, index)].any(axis=1)
            yield turn + float(alone.min()), order, turn, alone

    def _measured(self, choice: _Choice, index: Whole, stage: Sequence[Floats]) -> _Choice:
        """A choice with its way: single parts have theirs already."""
        if len(choice.group) == 1:
            return choice
        group = [int(index[i]) for i in choice.group]
        rest = [int(i) for i in index if int(i) not in set(group)]
        far = self.blocking.travel(group, rest, stage[choice.order])
        return _Choice(choice.weight + min(far / FAR, MOST_FAR), choice.group, choice.order, far)

    def _units(self, parts: frozenset[int], index: Whole) -> list[list[int]]:
        """Sub-assemblies among the parts, and what no joint holds to the rest, by places in `index`."""
        tied = self.tied[np.ix_(index, index)]
        pieces = pieces_of(tied)
        spot = {int(part): k for k, part in enumerate(index)}
        found = {tuple(piece) for piece in pieces} if len(pieces) > 1 else set()
        found |= {tuple(sorted(spot[part] for part in unit)) for unit in self.puzzle.units if unit < parts}
        return sorted((list(unit) for unit in found if len(unit) > 1), key=lambda unit: (len(unit), unit))

    def _ways(self, index: Whole, single: Whole, d: Floats) -> Floats:
        """How far each of some free parts goes along d, by places in `index`."""
        own = index[single]
        far: Floats = self.blocking.travels(d)[np.ix_(own, index)].max(axis=1)
        loose = np.flatnonzero(far <= LEAST_TRAVEL)
        if len(loose) and len(index) > 1:
            low, high = self._spans(d)
            top = np.sort(high[index])[-2:]
            most = np.where(high[own] >= top[-1], top[0], top[-1])
            far[loose] = np.maximum(0.0, (most - low[own])[loose])
        return far

    def _otherwise(self, d: Floats) -> Table:
        """Row a, column b: a joint of both has ways, and none of them is that of a coming off b along d."""
        key = key_of(d)
        if key not in self._odd:
            odd = self._told.copy()
            first, second, ways = self._ways_in
            lean = ways @ d
            for one, other, meant in ((first, second, lean < -SAME_WAY), (second, first, lean > SAME_WAY)):
                odd[one[meant], other[meant]] = False  # what goes in along a way comes off against it
            self._odd[key] = odd
        return self._odd[key]

    def _spans(self, d: Floats) -> tuple[Floats, Floats]:
        heights = [body.corners @ d for body in self.blocking.bodies]
        return np.array([height.min() for height in heights]), np.array([height.max() for height in heights])

    @staticmethod
    def _of_group(group: Sequence[int], stays: int, held: Table) -> float:
        """What speaks against taking a group: pieces that fall apart on either side, and that the others are built on it."""
        rest = np.setdiff1d(np.arange(len(held)), group)
        whole, left, own = (len(pieces_of(held[np.ix_(some, some)])) for some in (np.arange(len(held)), rest, np.array(group)))
        return FALLS_APART * (left + own - 1 - whole) + STAYS * (stays in group)

    def two_moves(self, parts: frozenset[int]) -> Taken | None:
        """A group that first goes some way along one direction, and then out along another; None for too many parts."""
        if len(parts) > MOST_FOR_ODD_WAYS:
            return None
        index = sorted(parts)
        stays = max(index, key=lambda i: self.puzzle.weight[i])
        # what the others are built on is moved only where nothing else can be
        later: list[tuple[list[int], Floats]] = []
        for first in self.directions.first:
            for places in free_groups(self.blocked(first, index, near=LEAST_MOVE)):
                group = [index[i] for i in places]
                if stays in group:
                    later.append((group, first))
                elif found := self._along_two(group, index, first):
                    return found
        return next((found for group, first in later if (found := self._along_two(group, index, first))), None)

    def _along_two(self, group: Sequence[int], index: Sequence[int], first: Floats) -> Taken | None:
        rest = [i for i in index if i not in set(group)]
        moves = self.way_out(group, rest, first)
        return Taken(frozenset(group), frozenset(rest), moves) if moves else None

    def way_out(self, group: Sequence[int], rest: Sequence[int], first: Floats) -> tuple[Move, ...]:
        """Some way along `first`, to where a group has just come past something or stops, and out along another line; () if
        none."""
        free = self.blocking.free_way(group, rest, first)
        if free < LEAST_MOVE:
            return ()
        for stop in self.blocking.stops(group, rest, first, free)[:MOST_STOPS]:
            for then in self.directions.first:
                if abs(float(first @ then)) < 0.99 and not self.blocking.hits(group, rest, first * stop, then):
                    return Move(first, stop), Move(then, self.blocking.travel(group, rest, then, first * stop))
        return ()


def _best(choices: Sequence[_Choice]) -> list[_Choice]:
    """The few that are worth measuring: all single parts are measured already."""
    groups = sorted((one for one in choices if len(one.group) > 1), key=lambda one: one.rank)[:MEASURED]
    return [*(one for one in choices if len(one.group) == 1), *groups]
