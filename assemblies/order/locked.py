"""Parts that lock each other: the fewest of them, how sure that is, and what would free them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from panelwright.plates.tolerances import COSINE_ROUNDING, COVER_SINE

from .blocking import LEAST_MOVE
from .groups import free_groups
from .puzzle import Certainty, Stuck
from .rigid import Floats

if TYPE_CHECKING:
    from .taking_apart import TakingApart

__all__ = ["stuck_in"]

MOST_NORMALS = 24
"""Up to so many different normals of faces, all lines in which two of them meet are tried: then nothing that turns no part is
missed."""

MOST_MENDS = 60
"""Joined pairs that are tried for whether all would go together without their joint."""


def stuck_in(search: TakingApart, parts: frozenset[int]) -> Stuck:
    """What is stuck in some parts of which nothing comes off: made smaller as long as leaving out some leaves something
    stuck."""
    core = _smallest(search, parts)
    index = sorted(core)
    joined = [(a, b) for a in index for b in index if a < b and search.tied[a, b]]
    first = search.stages[0]
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
    for d in [*search.stages[0], *ways, *(-way for way in ways)]:
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
