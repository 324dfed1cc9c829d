"""Who stands in whose way when one part moves along a straight line: tables, after Wilson and Latombe (1994), decided exactly.

A part moved along d without end hits another one exactly where the shadows of a bottom of the first and of a top of the
second share area, and the bottom lies below the top.  All of that is planar.
(R. H. Wilson and J.-C. Latombe, "Geometric reasoning about mechanical assembly", Artificial Intelligence 71, 1994.)
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .rigid import SKIN, Body, Floats
from .shadows import Faces, Whole, faces_along, joined_faces, view_along

__all__ = ["LEAST_MOVE", "Blocking", "Table", "key_of"]

Table = NDArray[np.bool_]

AREA = 1e-6
"""Area in mm² that shadows must share to count: far below a skin's square."""

BESIDE = 0.5
"""What lies this near beside a part, in mm, still guides it on its way in."""

LEAST_MOVE = 0.3
"""A shorter way is play and no move, mm."""

LEAST_TRAVEL = 0.05
"""Below this way, in mm, nothing guides a part: it only lies beside the others."""

CHUNK = 20000
"""Pairs of polygons that are met at once: memory stays below some ten MB."""

SPOTS = ((0.5, 0.5), (0.23, 0.27), (0.77, 0.73), (0.27, 0.77), (0.73, 0.23))
"""Where in the box that two shadows share to look first, as shares of it."""


def key_of(d: Floats) -> tuple[float, ...]:
    """A direction as something to look up by."""
    return tuple(float(v) + 0.0 for v in np.round(d, 9))


class Blocking:
    """All bodies of a product, ready for questions about motions; bodies are numbers, in the order given.

    What has been worked out is kept, since a plan asks for the same directions again and again.
    """

    def __init__(self, bodies: Sequence[Body]) -> None:
        self.bodies = tuple(bodies)
        self._axes = [axis for body in bodies for prism in body.prisms for axis in prism.axes] or list(np.eye(3))
        self._views: dict[tuple[float, ...], Floats] = {}
        self._faces: dict[tuple[tuple[float, ...], bool], tuple[Faces, Faces]] = {}
        self._tables: dict[tuple[float, ...], Table] = {}
        self._ways: dict[tuple[float, ...], Floats] = {}
        self._near: dict[tuple[tuple[float, ...], float], Table] = {}

    def view(self, d: Floats) -> Floats:
        """The frame in which bodies are seen along d."""
        return self._views.setdefault(key_of(d), view_along(d, self._axes))

    def faces(self, d: Floats, *, outermost: bool = True) -> tuple[Faces, Faces]:
        """Bottoms and tops of all bodies."""
        key = (key_of(d), outermost)
        if key not in self._faces:
            view = self.view(d)
            pairs = [faces_along(body, i, view, outermost=outermost) for i, body in enumerate(self.bodies)]
            self._faces[key] = joined_faces([low for low, _ in pairs]), joined_faces([high for _, high in pairs])
        return self._faces[key]

    def table(self, d: Floats) -> Table:
        """Row a, column b: b stands in the way of a, moved along d without end."""
        key, back = key_of(d), key_of(-d)
        if key not in self._tables:
            if back in self._tables:
                # a comes past b along d just when b comes past a against it
                self._tables[key] = self._tables[back].T
            else:
                self._tables[key] = self._hit(*self.faces(d), d)
        return self._tables[key]

    def _hit(self, bottoms: Faces, tops: Faces, d: Floats) -> Table:
        table = np.zeros((len(self.bodies),) * 2, bool)
        i, j, least = _meeting(bottoms, tops, is_decided=True)
        table[bottoms.owner[i[least < 0]], tops.owner[j[least < 0]]] = True
        return table

    def hits(self, group: Sequence[int], rest: Sequence[int], shift: Floats, d: Floats) -> bool:
        """Whether a group, moved by `shift` already, then hits the rest on its way along d without end."""
        bottoms, tops = self.faces(d)
        moved = bottoms.of(group).moved(self.view(d) @ shift)
        _, _, least = _meeting(moved, tops.of(rest), is_decided=True)
        return bool((least < 0).any())

    def free_way(self, group: Sequence[int], rest: Sequence[int], d: Floats) -> float:
        """How far a group can move along d before it hits the rest, mm; infinite where nothing stops it."""
        bottoms, tops = self.faces(d, outermost=False)
        _, _, ahead = _meeting(bottoms.of(rest), tops.of(group))
        return float(ahead[ahead > 0].min(initial=np.inf))

    def first_hits(self, d: Floats, within: float) -> Table:
        """Row a, column b: a hits b within so many mm along d."""
        key = (key_of(d), within)
        if key not in self._near:
            self._near[key] = self._hit_soon(d, within)
        return self._near[key]

    def rests(self, d: Floats, within: float, skipped: Table) -> Table:
        """The same, but for the pairs of a table that need no look."""
        return self._hit_soon(d, within, skipped)

    def _hit_soon(self, d: Floats, within: float, skipped: Table | None = None) -> Table:
        bottoms, tops = self.faces(d, outermost=False)
        table = np.zeros((len(self.bodies),) * 2, bool)
        i, j, ahead = _meeting(bottoms, tops, within=within, skipped=skipped)
        hit = (ahead > 0) & (ahead < within)
        table[tops.owner[j[hit]], bottoms.owner[i[hit]]] = True
        return table

    def travels(self, d: Floats) -> Floats:
        """Row a, column b: how far a must go along d, in mm, until b reaches into it no more.

        Zero where they never meet; without meaning where b stands in the way for good.
        """
        key, back = key_of(d), key_of(-d)
        if key not in self._ways:
            if back in self._ways:
                self._ways[key] = self._ways[back].T
            else:
                bottoms, tops = self.faces(d)
                ways = np.zeros((len(self.bodies),) * 2)
                a, b, past = _past(bottoms, tops, self.table(d))
                np.maximum.at(ways, (a, b), past)
                self._ways[key] = ways
        return self._ways[key]

    def travel(self, group: Sequence[int], rest: Sequence[int], d: Floats, shift: Floats | None = None) -> float:
        """How far a group, moved by `shift` already, goes along d until nothing of the rest reaches into it, mm.

        What nothing guides goes until the boxes around both are apart along d.
        """
        if shift is None:
            far = float(self.travels(d)[np.ix_(group, rest)].max(initial=0.0))
        else:
            bottoms, tops = self.faces(d)
            past = _past(bottoms.of(group).moved(self.view(d) @ shift), tops.of(rest))[2]
            far = float(past.max(initial=0.0))
        if far > LEAST_TRAVEL:
            return far
        low = min(float((self.bodies[i].corners @ d).min()) for i in group) + (0.0 if shift is None else float(shift @ d))
        return max(0.0, max(float((self.bodies[i].corners @ d).max()) for i in rest) - low)

    def stops(self, group: Sequence[int], rest: Sequence[int], d: Floats, most: float) -> list[float]:
        """Ways along d, up to `most` mm, that differ in what the group could do next: between two, corners come past each
        other."""
        mine, theirs = (
            np.unique(np.round(np.concatenate([self.bodies[i].corners for i in some]) @ d, 2)) for some in (group, rest)
        )
        events = np.unique(np.round((theirs[:, None] - mine[None, :]).ravel(), 2))
        beyond = float(theirs.max() - mine.min()) + 1.0
        events = np.unique(np.clip(events, LEAST_MOVE, max(LEAST_MOVE, min(most, beyond))))
        return [round((a + b) / 2, 3) for a, b in pairwise(events.tolist()) if b - a > 4 * SKIN]


def _past(bottoms: Faces, tops: Faces, skipped: Table | None = None) -> tuple[Whole, Whole, Floats]:
    """For every bottom with a top above it or a little beside that: both owners, and how far the top reaches beyond it."""
    i, j, least = _meeting(bottoms.grown(BESIDE), tops, below_only=bottoms.reach[0], skipped=skipped)
    # beyond a face its plane says nothing, so no more than the faces' own depths
    past = np.minimum(-least, tops.reach[1][j] - bottoms.reach[0][i])
    return bottoms.owner[i], tops.owner[j], past


def _meeting(
    bottoms: Faces,
    tops: Faces,
    *,
    is_decided: bool = False,
    below_only: Floats | None = None,
    within: float | None = None,
    skipped: Table | None = None,
) -> tuple[Whole, Whole, Floats]:
    """Every bottom and top of different bodies whose shadows share area: their numbers, and the least of (bottom − top).

    With `is_decided` all that counts is whether some bottom of a body lies below some top of another, so that one point
    inside both shadows settles most pairs.  `below_only` gives the least depths of bottoms of which only those below a top
    are asked for; with `within`, pairs that are further apart in depth are left out; `skipped` is a table of bodies that need
    no look.
    """
    import shapely

    if not len(bottoms.owner) or not len(tops.owner):
        return np.empty(0, np.intp), np.empty(0, np.intp), np.empty(0)
    tree = shapely.STRtree(tops.shadow)
    i, j = tree.query(bottoms.shadow)
    keep = bottoms.owner[i] != tops.owner[j]
    lowest = bottoms.reach[0] if is_decided or within is not None else below_only
    if lowest is not None:
        keep &= lowest[i] < tops.reach[1][j] + (within or 0.0)
    if within is not None:
        keep &= bottoms.reach[1][i] > tops.reach[0][j]
    if skipped is not None:
        keep &= ~skipped[bottoms.owner[i], tops.owner[j]]
    i, j = i[keep], j[keep]
    rank = np.lexsort((j, i))
    i, j = i[rank], j[rank]
    low, high = np.maximum(bottoms.box[i, :2], tops.box[j, :2]), np.minimum(bottoms.box[i, 2:], tops.box[j, 2:])
    some = np.clip(high - low, 0.0, None).prod(axis=1) > AREA
    i, j, low, high = i[some], j[some], low[some], high[some]
    slant = bottoms.depth[i] - tops.depth[j]
    is_plain = bottoms.is_box[i] & tops.is_box[j]
    corners = [slant[:, 0] * x[:, 0] + slant[:, 1] * y[:, 1] + slant[:, 2] for x in (low, high) for y in (low, high)]
    least = np.min(corners, axis=0)
    keep = np.ones(len(i), bool)
    hard = np.flatnonzero(~is_plain)
    if is_decided and len(hard):
        hard, keep = _narrowed(bottoms, tops, (i, j), (low, high), slant, is_plain, least)
    for chunk in np.array_split(hard, max(1, len(hard) // CHUNK)):
        _measure(bottoms.shadow[i[chunk]], tops.shadow[j[chunk]], slant, chunk, least, keep)
    return i[keep], j[keep], least[keep]


def _narrowed(
    bottoms: Faces,
    tops: Faces,
    pair: tuple[Whole, Whole],
    shared: tuple[Floats, Floats],
    slant: Floats,
    is_plain: Table,
    least: Floats,
) -> tuple[Whole, Table]:
    """The pairs whose polygons must be met in full, and those that are kept: boxes and single points settle the others."""
    import shapely

    (i, j), (low, high) = pair, shared
    # what is above the other in all of the box that they share is never in its way
    above = ~is_plain & (least >= 0)
    least[~is_plain] = np.inf
    count = 1 + max(int(bottoms.owner.max(initial=0)), int(tops.owner.max(initial=0)))
    code = bottoms.owner[i] * count + tops.owner[j]
    hard = np.flatnonzero(~is_plain & ~above & ~np.isin(code, np.unique(code[is_plain & (least < 0)])))
    shapely.prepare(tops.shadow)
    shapely.prepare(bottoms.shadow)
    for share in SPOTS:
        x, y = (low[hard] + (high[hard] - low[hard]) * share).T
        value = slant[hard, 0] * x + slant[hard, 1] * y + slant[hard, 2]
        is_below = np.flatnonzero(value < 0)
        some = hard[is_below]
        inside = shapely.contains_xy(tops.shadow[j[some]], x[is_below], y[is_below])
        inside &= shapely.contains_xy(bottoms.shadow[i[some]], x[is_below], y[is_below])
        least[some[inside]] = value[is_below][inside]
        if inside.any():
            hard = hard[~np.isin(code[hard], np.unique(code[some[inside]]))]
    keep = is_plain | np.isfinite(least)
    keep[hard] = True
    return hard, keep


def _measure(first: NDArray[Any], second: NDArray[Any], slant: Floats, chunk: Whole, least: Floats, keep: Table) -> None:
    """Meet polygons in pairs; those that share no area are no longer kept."""
    import shapely

    shared = shapely.intersection(first, second)
    fine = shapely.area(shared) > AREA
    keep[chunk[~fine]] = False
    chunk, shared = chunk[fine], shared[fine]
    spots, which = shapely.get_coordinates(shared, return_index=True)
    value = (slant[chunk[which], :2] * spots).sum(axis=1) + slant[chunk[which], 2]
    least[chunk] = np.inf
    np.minimum.at(least, chunk[which], value)
