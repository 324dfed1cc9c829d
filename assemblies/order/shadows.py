"""What bodies look like along a direction: the faces that look along it or against it, as shadows with their depths.

Looked at along a direction d, each face of a prism looks along d (a *top*), against it (a *bottom*), or is seen edge on and
does not matter.  A shadow is the face seen in the plane square to d; its depth along d is linear over the shadow, a·u + b·v +
c.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.tolerances import ANGLE_TOLERANCE, POINT_TOLERANCE, RELATIVE_ROUNDING

from .rigid import Body, Floats, Plain, Prism

__all__ = ["FLAT", "Faces", "Whole", "faces_along", "joined_faces", "view_along"]

FLAT = ANGLE_TOLERANCE
"""Cosine below which a face is seen edge on: over a metre that is a nanometre."""

Whole = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Faces:
    """Faces seen along a direction: `shadow` are shapely polygons, `owner` the numbers of their bodies, `depth` rows a, b,
    c."""

    shadow: NDArray[Any]
    owner: Whole
    depth: Floats

    @cached_property
    def box(self) -> Floats:
        """Least u and v, greatest u and v of each shadow."""
        import shapely

        found: Floats = shapely.bounds(self.shadow).reshape(-1, 4)
        return found

    @cached_property
    def is_box(self) -> NDArray[np.bool_]:
        """Whether a shadow fills its box."""
        import shapely

        size = (self.box[:, 2] - self.box[:, 0]) * (self.box[:, 3] - self.box[:, 1])
        off = np.abs(size - shapely.area(self.shadow))
        return np.asarray(off < RELATIVE_ROUNDING * np.maximum(size, 1.0), bool)

    @cached_property
    def reach(self) -> tuple[Floats, Floats]:
        """Least and greatest depth of each face."""
        import shapely

        spots, which = shapely.get_coordinates(self.shadow, return_index=True)
        value = (self.depth[which, :2] * spots).sum(axis=1) + self.depth[which, 2]
        least, most = np.full(len(self.shadow), np.inf), np.full(len(self.shadow), -np.inf)
        np.minimum.at(least, which, value)
        np.maximum.at(most, which, value)
        return least, most

    def of(self, owners: Iterable[int]) -> Faces:
        """Those of some bodies."""
        keep = np.isin(self.owner, np.fromiter(owners, int))
        return Faces(self.shadow[keep], self.owner[keep], self.depth[keep])

    def moved(self, by: Floats) -> Faces:
        """All of them moved by (u, v, depth)."""
        import shapely

        depth = self.depth.copy()
        depth[:, 2] += by[2] - self.depth[:, :2] @ by[:2]
        return Faces(shapely.transform(self.shadow, lambda spots: spots + by[:2]), self.owner, depth)

    def grown(self, by: float) -> Faces:
        """All shadows wider by some mm on every side; what is no box becomes the box around it where it is turned."""
        import shapely

        return Faces(shapely.buffer(self.shadow, by, join_style="mitre"), self.owner, self.depth)


def view_along(d: Floats, axes: Sequence[Floats]) -> Floats:
    """Rows u, v and d of a right-handed frame; u along one of `axes` where one is square to d, so that most shadows are
    boxes."""
    square = [axis for axis in axes if abs(float(axis @ d)) < FLAT]
    u = square[0] if square else min(axes, key=lambda axis: round(abs(float(axis @ d)), 6))
    u = u - (u @ d) * d
    u = u / np.linalg.norm(u)
    return np.array([u, np.cross(d, u), d])


def joined_faces(some: Sequence[Faces]) -> Faces:
    """Several as one."""
    none: NDArray[Any] = np.empty(0, object)
    return Faces(
        np.concatenate([none, *(faces.shadow for faces in some)]),
        np.concatenate([np.empty(0, np.intp), *(faces.owner for faces in some)]),
        np.concatenate([np.empty((0, 3)), *(faces.depth for faces in some)]),
    )


def faces_along(body: Body, number: int, view: Floats, *, outermost: bool) -> tuple[Faces, Faces]:
    """The bottoms and the tops of a body, `number` being its own.

    With `outermost`, plates that lie along the direction give of their borders only those behind or before all others; that is
    enough for a motion without end.
    """
    found: tuple[list[tuple[Any, Floats]], list[tuple[Any, Floats]]] = ([], [])
    if body.plain is not None:
        _plain_faces(body.plain, view, found)
    for prism in body.prisms:
        if not prism.is_plain:
            _broad_faces(prism, view, found)
            _walls(prism, view, found, outermost=outermost)
    made: list[Faces] = []
    for side in found:
        shadow = np.concatenate([np.empty(0, object), *(shapes for shapes, _ in side)])
        depth = np.concatenate([np.empty((0, 3)), *(depths for _, depths in side)])
        made.append(Faces(shadow, np.full(len(shadow), number, np.intp), depth))
    return made[0], made[1]


_Found = tuple[list[tuple[Any, Floats]], list[tuple[Any, Floats]]]


def _plain_faces(plain: Plain, view: Floats, found: _Found) -> None:
    """All faces of plain prisms at once, walls first."""
    import shapely

    lean = plain.upright @ view[2]
    normals = plain.outward @ view.T
    facing = np.where(np.abs(lean) > 1 - FLAT, 0.0, normals[:, 2])
    broad = plain.facing @ view.T
    rims = plain.rims @ view.T
    for side, sign in zip(found, (-1.0, 1.0), strict=True):
        some = facing * sign > FLAT
        seen = plain.walls[some] @ view.T
        side.append((shapely.polygons(seen[:, :, :2]), _planes(normals[some], seen[:, 0])))
        some = broad[:, 2] * sign > FLAT
        of = some[plain.rim]
        number = np.cumsum(some)[plain.rim[of]] - 1
        first = np.searchsorted(number, np.arange(np.count_nonzero(some)))
        rings = shapely.linearrings(rims[of, :2], indices=number)
        side.append((shapely.polygons(rings), _planes(broad[some], rims[of][first])))


def _planes(normals: Floats, spots: Floats) -> Floats:
    """The depths of planes by their normals and a point of each, as rows a, b, c."""
    slope = -normals[:, :2] / normals[:, 2:]
    found: Floats = np.column_stack([slope, spots[:, 2] - (slope * spots[:, :2]).sum(axis=1)])
    return found


def _broad_faces(prism: Prism, view: Floats, found: _Found) -> None:
    import shapely

    axes, origin = prism.axes @ view.T, view @ prism.origin
    lean = float(axes[2, 2])
    if abs(lean) <= FLAT:
        return
    slope = -axes[2, :2] / lean
    for z, sign in ((prism.low, -1.0), (prism.high, 1.0)):
        side = found[int(lean * sign > 0)]
        for rings in prism.shapes:
            seen = [np.column_stack([ring, np.full(len(ring), z)]) @ axes + origin for ring in rings]
            shadow = np.empty(1, object)
            shadow[0] = shapely.Polygon(seen[0][:, :2], [hole[:, :2] for hole in seen[1:]])
            side.append((shadow, np.array([[*slope, seen[0][0, 2] - slope @ seen[0][0, :2]]])))


def _walls(prism: Prism, view: Floats, found: _Found, *, outermost: bool) -> None:
    import shapely

    axes, origin = prism.axes @ view.T, view @ prism.origin
    lean = float(axes[2, 2])
    if abs(lean) > 1 - FLAT:
        return
    start, end, out = prism.border
    facing = out @ axes[:2, 2]
    if abs(lean) > FLAT:
        corners = [(start, prism.low), (end, prism.low), (end, prism.high), (start, prism.high)]
        seen = np.stack([np.column_stack([spot, np.full(len(spot), z)]) @ axes + origin for spot, z in corners], axis=1)
        normals = out @ axes[:2]
        for side, sign in zip(found, (-1.0, 1.0), strict=True):
            some = facing * sign > FLAT
            side.append((shapely.polygons(seen[some][:, :, :2]), _planes(normals[some], seen[some, 0])))
        return
    # the plate moves in its own plane: the shadow of every wall is a rectangle, as wide as the plate is thick
    across = np.cross(axes[2], (0.0, 0.0, 1.0))
    foot = origin - (origin @ across) * across - origin[2] * np.array([0.0, 0.0, 1.0])
    for side, sign in zip(found, (-1.0, 1.0), strict=True):
        some = facing * sign > FLAT
        if not some.any():
            continue
        ends = np.stack([start[some], end[some]], axis=1) @ axes[:2] + origin
        strips = _strips(ends @ across, ends[:, :, 2])
        u0, u1, slope, base = (_outermost(strips, is_top=sign > 0) if outermost else strips).T
        corners = [(u0, prism.low), (u1, prism.low), (u1, prism.high), (u0, prism.high)]
        quads = np.stack([(foot + np.outer(u, across) + axes[2] * z)[:, :2] for u, z in corners], axis=1)
        side.append((shapely.polygons(quads), np.column_stack([slope * across[0], slope * across[1], base])))


def _strips(u: Floats, height: Floats) -> Floats:
    """Border edges of a plate that moves in its own plane, as rows u0, u1, slope and height at u = 0."""
    slope = (height[:, 1] - height[:, 0]) / (u[:, 1] - u[:, 0])
    found: Floats = np.column_stack([u.min(axis=1), u.max(axis=1), slope, height[:, 0] - slope * u[:, 0]])
    return found


def _outermost(strips: Floats, *, is_top: bool) -> Floats:
    """The same, of each u only what is highest (or lowest), in as few rows as can be."""
    stops = np.unique(np.round(strips[:, :2].ravel(), 9))
    middle = (stops[:-1] + stops[1:]) / 2
    first, last = np.searchsorted(middle, strips[:, 0]), np.searchsorted(middle, strips[:, 1])
    count = last - first
    edge = np.repeat(np.arange(len(strips)), count)
    spot = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + np.repeat(first, count)
    value = strips[edge, 2] * middle[spot] + strips[edge, 3]
    rank = np.lexsort((edge, -value if is_top else value, spot))
    ahead = rank[np.append(True, np.diff(spot[rank]) > 0)]
    found: list[list[float]] = []
    for place, number in zip(spot[ahead].tolist(), edge[ahead].tolist(), strict=True):
        slope, base = float(strips[number, 2]), float(strips[number, 3])
        before = found[-1] if found else None
        is_next = before is not None and before[1] == stops[place]
        if before and is_next and abs(before[2] - slope) < ANGLE_TOLERANCE and abs(before[3] - base) < POINT_TOLERANCE:
            before[1] = float(stops[place + 1])
        else:
            found.append([float(stops[place]), float(stops[place + 1]), slope, base])
    return np.array(found).reshape(-1, 4)
