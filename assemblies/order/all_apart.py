"""A whole puzzle taken apart, step by step, as far as it goes."""

from __future__ import annotations

import numpy as np

from .locked import stuck_in
from .puzzle import Found, Stuck, Taken
from .taking_apart import Last, TakingApart

__all__ = ["taken_apart_whole"]

MOST_WORK = 3_000_000
"""Ties between parts that are looked at, over all steps, before a plan is left where it is: some seconds, and enough for a
grid of 200 plates.  Counted, not timed, so that the same product always gives the same plan."""


def taken_apart_whole(search: TakingApart) -> Found:
    """Everything taken apart: groups as wholes first, then what is left, and then each group within itself."""
    puzzle = search.puzzle
    taken: list[Taken] = []
    stuck: list[Stuck] = []
    left: list[frozenset[int]] = []
    work = 0
    waiting = [(frozenset(range(len(puzzle.bodies))), Last(np.array([0.0, 0.0, 1.0])))]
    while waiting:
        parts, last = waiting.pop()
        if len(parts) < 2:
            continue
        index = sorted(parts)
        work += int(np.count_nonzero(search.held[np.ix_(index, index)])) + len(index)
        if work > MOST_WORK:
            left.append(parts)
            continue
        found = search.part(parts, last)
        if found is None:
            lock = stuck_in(search, parts)
            stuck.append(lock)
            # the rest is looked at as if what is stuck were not there
            waiting.append((parts - lock.parts, last))
            continue
        taken.append(found)
        panel = puzzle.panel[min(found.group)] if len(found.group) == 1 else -1
        after = Last(found.moves[0].way, panel)
        waiting += [(found.rest, after), (found.group, Last(after.way))]
    return Found(tuple(taken), tuple(stuck), tuple(left))
