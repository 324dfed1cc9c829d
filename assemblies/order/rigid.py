"""Rigid parts as sets of prisms, a skin thinner than they are, ready for questions about motions.

Every part is made thinner all round by a skin.  So surfaces that touch, or press, stand clear of each other, every contact is
decided by area and never by rounding, and parts that share no material are strictly apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.geometry.frame import Frame

__all__ = ["SKIN", "Body", "Floats", "Piece", "Plain", "Prism", "body_of"]

Floats = NDArray[np.float64]

SKIN = 0.02
"""How much thinner every part counts on each of its sides, mm: two of them are half of a snug fit, and ten times what chords
take from arcs here."""

SAME_RING = 9
"""Rings are the same to so many digits of a mm: the flats of a roll differ by rounding only."""

FEW_CORNERS = 12
"""A prism of one ring with no more corners than this is plain: looking at all of its walls is quicker than choosing some."""

MITRE = 3.0
"""How far a sharp corner may move in, in skins."""


@dataclass(frozen=True, eq=False)
class Prism:
    """A flat shape and how far it reaches along its normal.

    Rows of `axes` are its x, y and z where it stands; `shapes` are its regions, each an outer ring and its holes as (n, 2)
    arrays of corners, material on their left; it fills z from `low` to `high` above `origin`.
    """

    origin: Floats
    axes: Floats
    shapes: tuple[tuple[Floats, ...], ...]
    low: float
    high: float

    @property
    def is_plain(self) -> bool:
        """Whether it has one ring of few corners."""
        return len(self.shapes) == len(self.shapes[0]) == 1 and len(self.shapes[0][0]) <= FEW_CORNERS

    @cached_property
    def border(self) -> tuple[Floats, Floats, Floats]:
        """Where each edge of its rings begins and ends, and its unit normal outwards, in its own x and y."""
        rings = [ring for shape in self.shapes for ring in shape]
        start = np.concatenate(rings)
        end = np.concatenate([np.concatenate([ring[1:], ring[:1]]) for ring in rings])
        out = np.column_stack([(end - start)[:, 1], (start - end)[:, 0]])
        return start, end, out / np.hypot(out[:, 0], out[:, 1])[:, None]

    def world(self, spots: Floats, z: float) -> Floats:
        """Points of its plane at a height, where it stands."""
        found: Floats = spots @ self.axes[:2] + (self.origin + z * self.axes[2])
        return found


@dataclass(frozen=True, eq=False)
class Plain:
    """All plain prisms of a body as arrays, where they stand.

    `walls` are (n, 4, 3) corners, `outward` their normals, and `upright` the normals of their prisms.  Of the broad faces,
    `rims` are all corners one after the other, `rim` the number of the face that each belongs to, and `facing` their normals.
    """

    walls: Floats
    outward: Floats
    upright: Floats
    rims: Floats
    rim: NDArray[np.intp]
    facing: Floats


@dataclass(frozen=True, eq=False)
class Body:
    """One rigid part: prisms that may overlap, and corners that enclose it as it was before it was made thinner."""

    name: str
    prisms: tuple[Prism, ...]
    corners: Floats

    @cached_property
    def plain(self) -> Plain | None:
        """Its plain prisms, if there are any: a bent part has hundreds."""
        some = [prism for prism in self.prisms if prism.is_plain]
        if not some:
            return None
        walls, outward, upright, rims, facing = [], [], [], [], []
        for prism in some:
            start, end, out = prism.border
            low, high = prism.world(start, prism.low), prism.world(start, prism.high)
            far_low, far_high = prism.world(end, prism.low), prism.world(end, prism.high)
            walls.append(np.stack([low, far_low, far_high, high], axis=1))
            outward.append(out @ prism.axes[:2])
            upright.append(np.broadcast_to(prism.axes[2], outward[-1].shape))
            rims += [low, high]
            facing += [-prism.axes[2], prism.axes[2]]
        rim = np.repeat(np.arange(len(rims)), [len(corners) for corners in rims])
        return Plain(
            np.concatenate(walls),
            np.concatenate(outward),
            np.concatenate(upright),
            np.concatenate(rims),
            rim,
            np.array(facing),
        )


@dataclass(frozen=True, eq=False)
class Piece:
    """A prism before it is made thinner: `rings` as in `Prism`, outer ones and holes in any order."""

    frame: Frame
    rings: tuple[Floats, ...]
    low: float
    high: float


def body_of(name: str, pieces: Sequence[Piece], skin: float = SKIN, known: dict[Any, Any] | None = None) -> Body:
    """A part made of some pieces, a skin thinner than they are.

    `known` keeps thinner shapes by their rings, for parts that are cut alike.

    >>> square = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
    >>> (prism,) = body_of("tile", [Piece(Frame(), (square,), 0.0, 3.0)]).prisms
    >>> prism.low, prism.high, [[round(float(v), 2) for v in corner] for corner in sorted(prism.shapes[0][0].tolist())]
    (0.02, 2.98, [[0.02, 0.02], [0.02, 9.98], [9.98, 0.02], [9.98, 9.98]])
    """
    prisms, corners = [], []
    kept = {} if known is None else known
    for piece in pieces:
        key = (tuple(np.round(ring, SAME_RING).tobytes() for ring in piece.rings), skin)
        if key not in kept:
            kept[key] = _thinner(piece.rings, skin)
        shapes = kept[key]
        axes, origin = np.array([piece.frame.x, piece.frame.y, piece.frame.z]), np.array(piece.frame.origin)
        low, high = piece.low + skin, piece.high - skin
        if high > low and shapes:
            prisms.append(Prism(origin, axes, shapes, low, high))
        flat = np.concatenate(piece.rings)
        corners += [np.column_stack([flat, np.full(len(flat), z)]) @ axes + origin for z in (piece.low, piece.high)]
    return Body(name, tuple(prisms), np.concatenate(corners))


def _thinner(rings: Sequence[Floats], skin: float) -> tuple[tuple[Floats, ...], ...]:
    """The regions that are left once all borders have moved in by a skin."""
    import shapely

    x, y = (np.concatenate([ring[:, k] for ring in rings]) for k in (0, 1))
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        return ()
    areas = [_area(ring) for ring in rings]
    solid = shapely.union_all([shapely.Polygon(ring) for ring, area in zip(rings, areas, strict=True) if area > 0])
    holes = [shapely.Polygon(ring) for ring, area in zip(rings, areas, strict=True) if area < 0]
    # holes of one part rarely touch, and those that do not need no union
    region = solid.difference(shapely.disjoint_subset_union_all(holes)) if holes else solid
    region = shapely.normalize(region.buffer(-skin, join_style="mitre", mitre_limit=MITRE))
    found: list[tuple[Floats, ...]] = []
    for polygon in shapely.get_parts(region):
        whole = shapely.geometry.polygon.orient(polygon)
        if not whole.is_empty:
            found.append(tuple(np.array(ring.coords)[:-1] for ring in (whole.exterior, *whole.interiors)))
    return tuple(found)


def _area(ring: Floats) -> float:
    x, y = ring.T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
