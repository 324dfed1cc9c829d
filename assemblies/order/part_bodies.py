"""Finished parts as bodies: flat ones as one prism, bent ones as flat prisms and narrow ones along their rolls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from panelwright.assemblies.data.parts import Part
from panelwright.plates.geometry.bending import FlatPiece, RoundPiece
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.geometry.frame import Frame, cross, dot

from .rigid import SKIN, Body, Floats, Piece, body_of

__all__ = ["disc_piece", "part_body"]

CHORD = 0.01
"""How near chords stay to arcs, and flats to rolls, mm: half a skin, and both parts of a fit have one."""

MOST_FLATS = 90
"""A roll is made of no more flats than this."""


def part_body(part: Part, bench: Frame, skin: float = SKIN, known: dict[Any, Any] | None = None) -> Body:
    """A part where it stands on the bench; `bench` takes the product's coordinates there.

    `known` keeps rings and thinner shapes, so that parts cut alike share them.
    """
    kept = {} if known is None else known
    frame = part.frame.then(bench)
    if part.unrolled is None:
        return body_of(part.name, [Piece(frame, _rings(part.loops, kept), 0.0, part.stock.t)], skin, kept)
    pieces: list[Piece] = []
    for piece in part.unrolled.standing:
        if isinstance(piece, FlatPiece):
            pieces.append(Piece(piece.frame.then(frame), _rings(piece.loops, kept), 0.0, part.stock.t))
        else:
            pieces += _flats(piece, frame)
    return body_of(part.name, pieces, skin, kept)


def disc_piece(frame: Frame, radius: float, low: float, high: float, sides: int = 24) -> Piece:
    """A round prism about z of a frame, as a polygon around it."""
    turn = 2 * math.pi / sides * np.arange(sides)
    ring = radius / math.cos(math.pi / sides) * np.column_stack([np.cos(turn), np.sin(turn)])
    return Piece(frame, (ring,), low, high)


def _rings(loops: tuple[Loop, ...], kept: dict[Any, Any]) -> tuple[Floats, ...]:
    """Corners of loops; those of the same loops are the same arrays."""
    key = ("rings", loops)
    if key not in kept:
        kept[key] = tuple(np.array(loop.points(CHORD), float) for loop in loops)
    found: tuple[Floats, ...] = kept[key]
    return found


def _flats(piece: RoundPiece, frame: Frame) -> list[Piece]:
    """A roll as flats side by side, each touching it in its middle."""
    import shapely

    sagitta = 2 * math.acos(1 - min(1.0, CHORD / (piece.radius + piece.thickness / 2)))
    count = min(MOST_FLATS, max(1, math.ceil(abs(piece.angle) / sagitta)))
    width = piece.length / count
    region = _region(piece.loops, piece)
    if region.is_empty:
        return []
    _, low, _, high = region.bounds
    found: list[Piece] = []
    for number in range(count):
        middle = (number + 0.5) * width
        band = shapely.clip_by_rect(region, middle - width / 2, low - 1.0, middle + width / 2, high + 1.0)
        rings = _rings_of(band, middle)
        if not rings:
            continue
        spot = (piece.origin[0] + piece.across[0] * middle, piece.origin[1] + piece.across[1] * middle)
        x, y = (piece.direction(spot, (*way, 0.0)) for way in (piece.across, piece.along))
        z = piece.direction(spot, (0.0, 0.0, 1.0))
        if dot(cross(x, y), z) < 0:
            x, y = y, x
            rings = tuple(ring[::-1, ::-1] for ring in rings)
        found.append(Piece(Frame(piece.point(spot, 0.0), x, y, z).then(frame), rings, 0.0, piece.thickness))
    return found


def _region(loops: Sequence[Loop], piece: RoundPiece) -> Any:
    """What is there of a roll laid flat: x beyond the bend line, y along it."""
    import shapely

    rings = [np.array([piece.flat(point) for point in loop.points(CHORD)], float) for loop in loops]
    outer = [shapely.Polygon(ring) for ring, loop in zip(rings, loops, strict=True) if loop.area > 0]
    holes = [shapely.Polygon(ring) for ring, loop in zip(rings, loops, strict=True) if loop.area < 0]
    region = shapely.union_all(outer)
    return region.difference(shapely.union_all(holes)) if holes else region


def _rings_of(region: Any, middle: float) -> tuple[Floats, ...]:
    """Rings of a region with material on their left, x counted from `middle`."""
    import shapely

    found: list[np.ndarray] = []
    for polygon in shapely.get_parts(region):
        if isinstance(polygon, shapely.Polygon) and not polygon.is_empty:
            whole = shapely.geometry.polygon.orient(polygon)
            found += [np.array(ring.coords)[:-1] - np.array([middle, 0.0]) for ring in (whole.exterior, *whole.interiors)]
    return tuple(found)
