"""How tight a whole row or ring of openings is, not each for itself.

Two plates that meet in several openings have one position to go with all of them, and so have all plates of a product: what
one opening gives away on the left, another one needs on the right.  For each direction in which openings are measured the
positions of the plates are bound by differences: an opening of plate A with play to both sides of what B puts into it says
-left ≤ x(B) - x(A) ≤ right.  Such a system has a solution if and only if no ring of these bounds sums below zero (Bellman 1958;
Cormen et al., "Introduction to Algorithms", section on difference constraints), and the most that can be taken from all bounds
alike before it has none is the least mean of a ring (Karp 1978).  Twice that mean is the *play of the chain*: for one opening
alone it is its clearance.

Plates are taken to shift and not to turn, which is on the safe side for what jams.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panelwright.plates.geometry.frame import Vector, dot
from panelwright.plates.tolerances import MEETING_COSINE

if TYPE_CHECKING:
    import numpy as np

__all__ = ["Bounds", "chains_of", "least_play"]


@dataclass(frozen=True, slots=True)
class Bounds:
    """One chain: the openings, by their numbers, that plates joined along one direction share, and which plates each binds.

    `turned` is -1.0 for an opening that is measured against the chain's direction, else 1.0.
    """

    openings: tuple[int, ...]
    pairs: tuple[tuple[int, int], ...]
    turned: tuple[float, ...]
    plates: int


def chains_of(openings: Sequence[tuple[str, str, Vector]]) -> list[Bounds]:
    """The chains that openings form: (plate with the opening, plate that goes in, direction measured along).

    Openings along one line, whichever way, belong together if plates connect them.

    >>> x, y = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
    >>> chains = chains_of([("base", "left", x), ("base", "right", x), ("base", "left", y), ("lid", "knob", x)])
    >>> [chain.openings for chain in chains]
    [(0, 1), (2,), (3,)]
    """
    groups: dict[tuple[int, str], list[int]] = {}
    ways = _directions([way for _, _, way in openings])
    for direction in dict.fromkeys(way for way, _ in ways):
        parent: dict[str, str] = {}

        def root(name: str, parent: dict[str, str] = parent) -> str:
            while parent.setdefault(name, name) != name:
                name = parent[name]
            return name

        here = [number for number, (way, _) in enumerate(ways) if way == direction]
        for number in here:
            a, b, _ = openings[number]
            parent[root(b)] = root(a)
        for number in here:
            groups.setdefault((direction, root(openings[number][0])), []).append(number)
    found: list[Bounds] = []
    for numbers in groups.values():
        plates: dict[str, int] = {}
        pairs: list[tuple[int, int]] = []
        for number in numbers:
            a, b, _ = openings[number]
            pairs.append((plates.setdefault(a, len(plates)), plates.setdefault(b, len(plates))))
        turned = tuple(ways[number][1] for number in numbers)
        found.append(Bounds(tuple(numbers), tuple(pairs), turned, len(plates)))
    return sorted(found, key=lambda chain: chain.openings)


def least_play(chain: Bounds, gaps: np.ndarray, shifts: np.ndarray | None = None) -> np.ndarray:
    """The play in mm of a chain, for each draw.

    `gaps` has a row for each opening of the chain and a column for each draw, in mm; `shifts`, of the same shape, tells how far
    off its place each opening lies as against what goes in, along the direction that it is measured in.  Without shifts the
    tightest opening decides.

    >>> import numpy as np
    >>> two = chains_of([("rail", "board", (1.0, 0.0, 0.0)), ("rail", "board", (1.0, 0.0, 0.0))])[0]
    >>> least_play(two, np.array([[0.1], [0.2]])).tolist()
    [0.1]
    >>> apart = least_play(two, np.array([[0.1], [0.1]]), np.array([[0.03], [-0.03]]))
    >>> apart.round(9).tolist()  # 0.05 to the left at one, 0.05 to the right at the other, less 0.06
    [0.04]
    """
    import numpy as np

    if shifts is None:
        tightest: np.ndarray = np.min(gaps, axis=0)
        return tightest
    half = gaps / 2
    signed = shifts * np.array(chain.turned)[:, None]
    best: dict[tuple[int, int], np.ndarray] = {}
    for row, (a, b) in enumerate(chain.pairs):
        for edge, bound in (((a, b), half[row] + signed[row]), ((b, a), half[row] - signed[row])):
            best[edge] = np.minimum(best[edge], bound) if edge in best else bound
    return 2.0 * _least_mean_ring(chain.plates, best)


def _least_mean_ring(nodes: int, edges: dict[tuple[int, int], np.ndarray]) -> np.ndarray:
    """Least mean of a ring of a strongly connected graph, for each draw, by Karp's recursion over walks of k steps."""
    import numpy as np

    order = sorted(edges, key=lambda edge: (edge[1], edge[0]))
    weights = np.stack([edges[edge] for edge in order])
    sources = np.array([edge[0] for edge in order])
    targets = np.array([edge[1] for edge in order])
    starts = np.flatnonzero(np.r_[True, targets[1:] != targets[:-1]])  # every plate is somebody's target
    draws = weights.shape[1]
    walks = np.full((nodes + 1, nodes, draws), np.inf)
    walks[0, 0] = 0.0
    for k in range(1, nodes + 1):
        walks[k] = np.minimum.reduceat(walks[k - 1][sources] + weights, starts, axis=0)
    last = walks[nodes]
    steps = np.arange(nodes, 0, -1.0)[:, None]
    least = np.full(draws, np.inf)
    for node in range(nodes):
        before = walks[:nodes, node]
        with np.errstate(invalid="ignore"):
            means = (last[node] - before) / steps
        means[~np.isfinite(before)] = -np.inf
        worst = np.max(means, axis=0)
        least = np.minimum(least, np.where(np.isfinite(last[node]), worst, np.inf))
    return least


def _directions(ways: Sequence[Vector]) -> list[tuple[int, float]]:
    """For each way the number of its line among those told apart, and its sense on it: 1.0 or -1.0."""
    lines: list[Vector] = []
    found: list[tuple[int, float]] = []
    for way in ways:
        for number, line in enumerate(lines):
            along = dot(way, line)
            if abs(along) > 1.0 - MEETING_COSINE:
                found.append((number, 1.0 if along > 0 else -1.0))
                break
        else:
            lines.append(way)
            found.append((len(lines) - 1, 1.0))
    return found
