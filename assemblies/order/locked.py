"""Parts that lock each other, and what would free them; loose ones that are shut in, or that nothing carries."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from panelwright.plates.tolerances import COSINE_ROUNDING, COVER_SINE

from .blocking import LEAST_MOVE, Table
from .groups import free_groups, pieces_of
from .puzzle import Certainty, Stuck
from .rigid import SKIN, Floats

if TYPE_CHECKING:
    from .taking_apart import TakingApart

__all__ = ["Fallen", "ShutIn", "fallen", "shut_in", "stuck_in"]

MOST_NORMALS = 24
"""Up to so many different normals of faces, all lines in which two of them meet are tried: then nothing that turns no part is
missed."""

MOST_MENDS = 60
"""Joined pairs that are tried for whether all would go together without their joint."""


MOST_FOR_TWO = 60
"""From more parts than these no two moves in a row are tried for loose ones: they take too long."""

PLAY = 1.0
"""How far in mm a loose part may settle from where it is drawn: the play of a lid or a drawer (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class ShutIn:
    """A loose group that does not come out, and each line along which the fewest parts are in its way, with those.

    `opened` are the parts that come off once their screws are out, as far as they are nothing loose; `hidden` the pairs among
    what is in the way whose screws no driver reaches.
    """

    group: frozenset[int]
    ways: tuple[tuple[frozenset[int], Floats], ...]
    opened: frozenset[int] = frozenset()
    hidden: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, eq=False)
class Fallen:
    """A loose group that nothing carries where it is drawn, and how far in mm it drops; infinite past everything else."""

    group: frozenset[int]
    drop: float


def stuck_in(search: TakingApart, parts: frozenset[int]) -> Stuck:
    """What is stuck in some parts of which nothing comes off: made smaller as long as leaving out some leaves something
    stuck."""
    core = _smallest(search, parts)
    index = sorted(core)
    joined = [(a, b) for a in index for b in index if a < b and search.tied[a, b]]
    first = search.directions.first
    pairs = tuple((a, b, tuple(d for d in first if not search.blocked(d, [a, b])[0, 1])) for a, b in joined)
    frees = tuple((a, b) for a, b in joined[:MOST_MENDS] if not search.without(a, b).is_stuck(core))
    return Stuck(core, _certainty(search, core), pairs, frees)


def _smallest(search: TakingApart, parts: frozenset[int]) -> frozenset[int]:
    core, share = parts, 2
    # halves, quarters and so on are left out before single parts: of many parts few are stuck as a rule
    while True:
        index = sorted(core)
        size = max(1, len(index) // share)
        for start in range(0, len(index), size):
            left = search.is_stuck(core - frozenset(index[start : start + size]))
            if left:
                core, share = left, 2
                break
        else:
            if size == 1:
                return core
            share *= 2


def _certainty(search: TakingApart, core: frozenset[int]) -> Certainty:
    """Rigid where no group can even begin to move along any line: for flat faces the extreme rays of their cones are all
    there are."""
    normals = _normals(search, core)
    if len(normals) > MOST_NORMALS:
        return "not found"
    rays = [np.cross(a, b) for i, a in enumerate(normals) for b in normals[:i]]
    ways = [ray / np.linalg.norm(ray) for ray in rays if np.linalg.norm(ray) > COVER_SINE]
    index = sorted(core)
    for d in [*search.directions.first, *ways, *(-way for way in ways)]:
        if free_groups(search.blocked(d, index, near=LEAST_MOVE)):
            return "not found"
    return "rigid"


def _normals(search: TakingApart, core: frozenset[int]) -> list[Floats]:
    """Normals of all faces of some parts, each once up to its sign; only as many as are of use."""
    found: list[Floats] = []
    for i in sorted(core):
        for prism in search.blocking.bodies[i].prisms:
            rings = [ring for shape in prism.shapes for ring in shape]
            runs = np.concatenate([np.roll(ring, -1, axis=0) - ring for ring in rings])
            runs /= np.linalg.norm(runs, axis=1)[:, None]
            flat = np.unique(np.round(np.column_stack([runs[:, 1], -runs[:, 0]]), 6), axis=0)
            walls = np.column_stack([flat, np.zeros(len(flat))]) @ prism.axes
            for normal in [prism.axes[2], *walls]:
                if all(abs(float(normal @ other)) < 1 - COSINE_ROUNDING for other in found):
                    found.append(normal)
                if len(found) > MOST_NORMALS:
                    return found
    return found


def shut_in(search: TakingApart, loose: Iterable[frozenset[int]]) -> tuple[ShutIn, ...]:
    """The loose groups that stay in, in one move or two, when all others that come out are out and what is joined stays; but
    what screws alone hold comes off if that helps.

    Fewer parts are never more in the way, so it does not matter which of the others goes first.  Of a group within another
    one that stays in nothing is said.
    """
    there = frozenset(range(len(search.puzzle.bodies)))
    waiting = sorted(loose, key=lambda group: (-len(group), sorted(group)))
    goes_on = True
    while goes_on:
        goes_on = False
        for group in waiting:
            if group >= there or _comes_out(search, group, there):
                there -= group
                waiting = [other for other in waiting if not other <= group]
                goes_on = True
                break
    if not waiting:
        return ()
    left = _unscrewed(search, waiting, there)
    # with what it is left among: what came away from all else is out, even where it came apart itself
    among = {group: group.union(*(some for some in left if some & group and not some <= group)) for group in waiting}
    kept = [group for group in waiting if among[group] != group]
    outermost = [group for group in kept if not any(group < other for other in kept)]
    before = there - frozenset().union(*waiting)
    return tuple(_in_its_way(search, group, among[group], before) for group in outermost)


def _unscrewed(search: TakingApart, loose: Sequence[frozenset[int]], there: frozenset[int]) -> list[frozenset[int]]:
    """What some parts fall into, once screws that a driver reaches are out, and all that nothing else holds is off.

    As with any taking apart, what goes first does not matter.  What only screws hold goes as one with all that is joined to it
    for good.  The screws within something loose are left alone until that is out.
    """
    holds = _Holds(search, loose)
    movable = holds.movable(there)
    if movable is None:
        return [there]
    waiting, left = [there], list[frozenset[int]]()
    while waiting:
        parts = waiting.pop()
        group = _comes_off(search, parts, holds, movable)
        if group is None:
            left.append(parts)
        else:
            waiting += [group, parts - group]
    return left


class _Holds:
    """What stays together when screws are out."""

    def __init__(self, search: TakingApart, loose: Sequence[frozenset[int]]) -> None:
        n = len(search.puzzle.bodies)
        self.loose = loose
        self._within = [frozenset(k for k, group in enumerate(loose) if i in group) for i in range(n)]
        self._glued: Table = np.zeros((n, n), bool)
        self._screwed: list[tuple[int, int]] = []
        for a, b in sorted(search.puzzle.joined):
            if self._within[a] != self._within[b]:
                continue  # a joint that something loose only lies in, such as a lid on its tabs
            if (a, b) in search.puzzle.screwed:
                self._screwed.append((a, b))
            else:
                self._glued[a, b] = self._glued[b, a] = True

    def movable(self, there: frozenset[int]) -> frozenset[int] | None:
        """What is loose, and what screws alone hold to something, with all that is joined to it; None without any screws."""
        screwed = {i for pair in self._screwed if there.issuperset(pair) for i in pair}
        if not screwed:
            return None
        index = sorted(there)
        pieces = (frozenset(index[k] for k in piece) for piece in pieces_of(self._glued[np.ix_(index, index)]))
        return frozenset().union(*self.loose, *(piece for piece in pieces if not screwed.isdisjoint(piece)))

    def table(self, index: Sequence[int]) -> Table:
        """Who stays with whom among some parts."""
        kept = self._glued.copy()
        for a, b in self._screwed:
            if any(not self.loose[k].issuperset(index) for k in self._within[a]):
                kept[a, b] = kept[b, a] = True
        return kept[np.ix_(index, index)]


def _comes_off(search: TakingApart, parts: frozenset[int], holds: _Holds, movable: frozenset[int]) -> frozenset[int] | None:
    """Some parts that leave the others, in one move or two: all of them, or all of the others, are movable."""
    index = sorted(parts)
    kept = holds.table(index)
    for stage in search.stages_for(parts):
        for d in stage:
            for places in free_groups(search.blocked(d, index) | kept):
                group = frozenset(index[k] for k in places)
                if group <= movable or parts - group <= movable:
                    return group
    if len(parts) > MOST_FOR_TWO:
        return None
    pieces = (frozenset(index[k] for k in piece) for piece in pieces_of(kept))
    for group in dict.fromkeys((*pieces, *holds.loose)):
        if group < parts and group <= movable and _in_two_moves(search, group, parts):
            return group
    return None


def fallen(search: TakingApart, loose: Iterable[frozenset[int]], down: Floats) -> tuple[Fallen, ...]:
    """The loose groups that drop by more than `PLAY` along `down` before they meet anything; not those on the ground."""
    bodies = search.blocking.bodies
    low = np.array([float((body.corners @ down).max()) for body in bodies])
    ground = low.max(initial=-np.inf)
    found: list[Fallen] = []
    for group in sorted(loose, key=lambda group: (-len(group), sorted(group))):
        own = sorted(group)
        rest = [i for i in range(len(bodies)) if i not in group]
        if not rest or ground - low[own].max() <= PLAY or any(group < other.group for other in found):
            continue
        drop = search.blocking.free_way(own, rest, down) - 2 * SKIN  # both bodies are drawn smaller by their skins
        if drop > PLAY:
            found.append(Fallen(group, drop))
    return tuple(found)


def _comes_out(search: TakingApart, group: frozenset[int], there: frozenset[int]) -> bool:
    index = sorted(there)
    own = [k for k, i in enumerate(index) if i in group]
    for stage in search.stages_for(there):
        for d in stage:
            if not np.delete(search.blocked(d, index)[own], own, axis=1).any():
                return True
    return len(there) <= MOST_FOR_TWO and _in_two_moves(search, group, there)


def _in_two_moves(search: TakingApart, group: frozenset[int], there: frozenset[int]) -> bool:
    index, rest = sorted(there), sorted(there - group)
    own = [k for k, i in enumerate(index) if i in group]
    return any(
        not np.delete(search.blocked(first, index, near=LEAST_MOVE)[own], own, axis=1).any()
        and search.way_out(sorted(group), rest, first)
        for first in search.directions.first
    )


def _in_its_way(search: TakingApart, group: frozenset[int], there: frozenset[int], before: frozenset[int]) -> ShutIn:
    """What is in its way among what is left there of what was `before`."""
    index = sorted(there)
    own = [k for k, i in enumerate(index) if i in group]

    def blockers(d: Floats) -> Sequence[int]:
        hit = search.blocked(d, index)[own].any(axis=0)
        return [index[k] for k in np.flatnonzero(hit) if index[k] not in group]

    met = [(blockers(d), d) for d in search.directions.first]
    fewest = min(len(by) for by, _ in met)
    ways = tuple((frozenset(by), d) for by, d in met if len(by) == fewest)
    named = frozenset().union(*(by for by, _ in ways))
    screwed = search.puzzle.screwed
    closings = [one for one in search.puzzle.closings if one.parts in screwed and not named.isdisjoint(one.parts)]
    hidden = {one.parts for one in closings if there.issuperset(one.parts) and not one.hidden_by.isdisjoint(there)}
    return ShutIn(group, ways, before - there, tuple(sorted(hidden)))
