"""Groups of parts in a table of who is tied to whom, or who blocks whom."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .blocking import Table

__all__ = ["cut_pieces", "free_groups", "pieces_of"]


def pieces_of(tied: Table) -> list[list[int]]:
    """What hangs together, each piece in the order of numbers.

    >>> pieces_of(np.array([[0, 1, 0], [1, 0, 0], [0, 0, 0]], bool))
    [[0, 1], [2]]
    """
    left = np.ones(len(tied), bool)
    found: list[list[int]] = []
    while left.any():
        piece = np.zeros(len(tied), bool)
        front = np.zeros(len(tied), bool)
        front[int(np.argmax(left))] = True
        while front.any():
            piece |= front
            front = tied[front].any(axis=0) & ~piece
        left &= ~piece
        found.append(np.flatnonzero(piece).tolist())
    return found


def cut_pieces(tied: Table) -> list[int]:
    """For each part, into how many more pieces the rest falls once it is gone (low links: Tarjan 1972).

    >>> cut_pieces(np.array([[0, 1, 0, 0], [1, 0, 1, 0], [0, 1, 0, 0], [0, 0, 0, 0]], bool))
    [0, 1, 0, -1]
    """
    n = len(tied)
    beside = [np.flatnonzero(row).tolist() for row in tied]
    seen, low, extra, clock = [-1] * n, [0] * n, [0] * n, 0
    for root in range(n):
        if seen[root] >= 0:
            continue
        seen[root] = low[root] = clock
        clock += 1
        extra[root] = -1
        work = [(root, -1, iter(beside[root]))]
        while work:
            at, parent, others = work[-1]
            for other in others:
                if seen[other] < 0:
                    seen[other] = low[other] = clock
                    clock += 1
                    work.append((other, at, iter(beside[other])))
                    break
                if other != parent:
                    low[at] = min(low[at], seen[other])
            else:
                work.pop()
                if parent >= 0:
                    low[parent] = min(low[parent], low[at])
                    if low[at] >= seen[parent]:
                        extra[parent] += 1
    return extra


def free_groups(table: Table) -> list[list[int]]:
    """The smallest groups that nothing outside them blocks, in a table of who (column) blocks whom (row); none if that is all.

    These are the strongly connected parts of the table that lead nowhere else.

    >>> free_groups(np.array([[0, 1, 0], [1, 0, 0], [1, 0, 0]], bool))
    [[0, 1]]
    >>> free_groups(np.array([[0, 1], [1, 0]], bool))
    []
    """
    found = [group for group in _strong(table) if not np.delete(table[group], group, axis=1).any()]
    return [] if len(found) == 1 and len(found[0]) == len(table) else sorted(found, key=lambda group: (len(group), group))


def _strong(table: Table) -> Sequence[list[int]]:
    """Strongly connected parts: what each can be reached from and can reach."""
    reach = table | np.eye(len(table), dtype=bool)
    while True:
        # squared as numbers: sums of 0 and 1 are exact, and matrix products of floats are fast
        further = (reach.astype(np.float32) @ reach.astype(np.float32)) > 0
        if (further == reach).all():
            break
        reach = further
    both = reach & reach.T
    done = np.zeros(len(table), bool)
    found: list[list[int]] = []
    for i in range(len(table)):
        if not done[i]:
            done |= both[i]
            found.append(np.flatnonzero(both[i]).tolist())
    return found
