"""Flat faces of finished parts that look at each other across a narrow gap, direction by direction."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from panelwright.assemblies.data.parts import Part
from panelwright.plates.geometry.bending import FlatPiece
from panelwright.plates.geometry.curves import Line, Loop
from panelwright.plates.geometry.frame import Frame, Vector, dot, scaled
from panelwright.plates.geometry.polygons import region_of
from panelwright.plates.tolerances import CONTACT_TOLERANCE, MEETING_COSINE

__all__ = ["FlatFace", "Meeting", "facing_pairs", "flat_faces"]

Floats = NDArray[np.float64]

LEAST_AREA = 1.0
"""Area in mm² from which on faces that look at each other bear; less is a corner that passes another.  Chosen here."""


@dataclass(frozen=True, eq=False)
class FlatFace:
    """A flat face of a part: the plate, the way out of the material, and a region (shapely) on two directions from a point."""

    plate: str
    normal: Vector
    origin: Vector
    axes: tuple[Vector, Vector]
    region: Any


@dataclass(frozen=True, eq=False)
class Meeting:
    """A face of one plate below that of another along a direction, `gap` mm apart over some mm²; `place` is its middle."""

    below: str
    above: str
    gap: float
    area: float
    place: Vector


def flat_faces(part: Part) -> list[FlatFace]:
    """Both broad faces of a part and all straight edge faces; of a bent one those of the pieces that stay flat."""
    name = part.plates[0]
    if part.unrolled is None:
        return _faces_of(name, part.frame, part.loops, part.stock.t)
    pieces = [piece for piece in part.unrolled.standing if isinstance(piece, FlatPiece)]
    return [face for piece in pieces for face in _faces_of(name, piece.frame.then(part.frame), piece.loops, part.stock.t)]


def _faces_of(name: str, frame: Frame, loops: Sequence[Loop], t: float) -> list[FlatFace]:
    import shapely

    region, (x, y, z) = region_of(loops), (frame.x, frame.y, frame.z)
    found = [
        FlatFace(name, z, frame.point((0.0, 0.0, t)), (x, y), region),
        FlatFace(name, scaled(z, -1.0), frame.origin, (x, y), region),
    ]
    for loop in loops:
        for segment in loop:
            if not isinstance(segment, Line) or segment.length * t < LEAST_AREA:
                continue
            (x0, y0), (x1, y1), long = segment.start, segment.end, segment.length
            along = frame.direction(((x1 - x0) / long, (y1 - y0) / long, 0.0))
            # material lies on the left of every loop: what is on the right is outside
            out = frame.direction(((y1 - y0) / long, (x0 - x1) / long, 0.0))
            found.append(FlatFace(name, out, frame.point((x0, y0, 0.0)), (along, z), shapely.box(0.0, 0.0, long, t)))
    return found


def facing_pairs(
    faces: Sequence[FlatFace], directions: Sequence[Vector], within: float, matters: Callable[[str, str], bool]
) -> Iterator[tuple[Vector, list[Meeting]]]:
    """For each direction the faces that look at each other along it over some area, up to `within` mm apart.

    Only pairs of plates that `matters` says are looked at.
    """
    normals = np.array([face.normal for face in faces])
    for way in directions:
        along = normals @ np.array(way)
        looking_up = [face for face, cosine in zip(faces, along, strict=True) if cosine > 1 - MEETING_COSINE]
        looking_down = [face for face, cosine in zip(faces, along, strict=True) if cosine < MEETING_COSINE - 1]
        yield way, _met(looking_up, looking_down, way, within, matters)


def _met(
    looking_up: Sequence[FlatFace],
    looking_down: Sequence[FlatFace],
    way: Vector,
    within: float,
    matters: Callable[[str, str], bool],
) -> list[Meeting]:
    across = _across(way)
    at = np.array(way)
    over = sorted(((dot(face.origin, way), k) for k, face in enumerate(looking_down)))
    heights = [height for height, _ in over]
    shapes: dict[int, Any] = {}
    found: list[Meeting] = []
    for face in looking_up:
        height = dot(face.origin, way)
        for other_height, k in over[bisect_left(heights, height - CONTACT_TOLERANCE) :]:
            if other_height > height + within:
                break
            other = looking_down[k]
            if not matters(face.plate, other.plate):
                continue
            one, two = _shape(face, across, shapes), _shape(other, across, shapes)
            if not one.intersects(two):
                continue
            shared = one.intersection(two)
            if shared.area >= LEAST_AREA:
                gap = max(0.0, round(other_height - height, 6))
                middle = np.array([shared.centroid.x, shared.centroid.y]) @ across + at * (height + other_height) / 2
                place = (float(middle[0]), float(middle[1]), float(middle[2]))
                found.append(Meeting(face.plate, other.plate, gap, round(shared.area, 3), place))
    return found


def _across(way: Vector) -> Floats:
    """Two directions square to one and to each other."""
    least = min(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), key=lambda axis: abs(dot(axis, way)))
    first = np.cross(way, least)
    first /= np.linalg.norm(first)
    return np.array([first, np.cross(way, first)])


def _shape(face: FlatFace, across: Floats, known: dict[int, Any]) -> Any:
    """A face as a shapely region on the plane of two directions; `known` keeps those made."""
    import shapely

    if id(face) not in known:
        origin, axes = across @ np.array(face.origin), np.array(face.axes) @ across.T
        known[id(face)] = shapely.transform(face.region, lambda points: points @ axes + origin)
    return known[id(face)]
