"""Volumes of the solids in a STEP file, from its text alone: no CAD kernel takes part.

The text is parsed by steputils.  The volume of a solid is a third of the flux of the position vector out of it (divergence
theorem); over a flat face that is a point of its plane times the face's vector area, over a cylinder's the same with a point of
the axis, and radius times area besides.  Vector areas are ½ ∮ r × dr round the face's loops (Stokes), exact for lines and arcs.
ISO 10303-42 says how loops, edges and faces are oriented.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from pathlib import Path
from typing import Any

__all__ = ["step_volumes"]

Vec = tuple[float, float, float]


def step_volumes(path: Path, names: Collection[str]) -> dict[str, float]:
    """The volume in mm³ of each product of these names that is a solid.

    Asserts that faces lie on planes or cylinders and edges on lines or circles, that every solid's vector areas add up to
    nothing, as those of a closed surface do, and that each face looks the way its surface says.
    """
    from steputils import p21

    file = p21.readfile(str(path))
    entities = {
        item.ref: item.entity for section in file.data for item in section.instances.values() if hasattr(item, "entity")
    }
    volumes = {}
    for entity in entities.values():
        if entity.name == "SHAPE_DEFINITION_REPRESENTATION":
            shape, representation = (entities[ref] for ref in entity.params)
            # definition shape → definition → formation → product
            product = entities[entities[entities[shape.params[2]].params[2]].params[2]]
            for ref in representation.params[1]:
                if entities[ref].name == "MANIFOLD_SOLID_BREP" and str(product.params[0]) in names:
                    volumes[str(product.params[0])] = _Solid(entities).volume(ref)
    return volumes


class _Solid:
    """Reads one solid out of the entities of a file."""

    def __init__(self, entities: dict[str, Any]) -> None:
        self.entities = entities

    def volume(self, ref: str) -> float:
        """The volume of a MANIFOLD_SOLID_BREP."""
        total, area, extent = 0.0, (0.0, 0.0, 0.0), 0.0
        for face in self._of(self._of(ref)[1])[1]:
            flux, own = self._face(face)
            total, area, extent = total + flux, _plus(area, own), extent + math.hypot(*own)
        assert math.hypot(*area) < 1e-9 * extent, "the surface is not closed"
        return total / 3

    def _of(self, ref: str, name: str | None = None) -> Any:
        entity = self.entities[ref]
        assert name is None or entity.name == name, (ref, entity.name, name)
        return entity.params

    def _face(self, ref: str) -> tuple[float, Vec]:
        """The flux of the position vector through an ADVANCED_FACE, and its vector area."""
        _, bounds, surface, sense = self._of(ref, "ADVANCED_FACE")
        kind, out = self.entities[surface].name, 1.0 if str(sense) == ".T." else -1.0
        origin, axis, _ = self._place(self._of(surface)[1])
        edges = [edge for bound in bounds for edge in self._bound(bound)]
        area = (0.0, 0.0, 0.0)
        for start, end, circle, turn in edges:
            area = _plus(area, _vector_area(start, end, circle, turn))
        if kind == "PLANE":
            assert out * _dot(axis, area) > 0, "a face looks away from its plane"
            return _dot(origin, area), area
        assert kind == "CYLINDRICAL_SURFACE", kind
        radius = float(self._of(surface)[2])
        swept = 0.0
        for _, _, circle, turn in edges:
            if circle is not None:
                center, normal, _ = circle
                assert abs(abs(_dot(normal, axis)) - 1) < 1e-9, "an edge that is no ring of its cylinder"
                swept -= radius * _dot(_minus(center, origin), axis) * turn * math.copysign(1.0, _dot(normal, axis))
        # loops run counter-clockwise seen from outside the solid, so the area swept has the sign of the side that is outside
        assert out * swept > 0, "a face looks to the wrong side of its cylinder"
        return _dot(origin, area) + radius * swept, area

    def _bound(self, ref: str) -> list[tuple[Vec, Vec, tuple[Vec, Vec, float] | None, float]]:
        """The edges of a FACE_BOUND in its direction: start, end, circle (centre, normal, radius) and turn in radians."""
        _, loop, forward = self._of(ref)
        found = []
        for oriented in self._of(loop, "EDGE_LOOP")[1]:
            _, _, _, edge, ahead = self._of(oriented, "ORIENTED_EDGE")
            _, first, last, curve, same = self._of(edge, "EDGE_CURVE")
            start, end = (self._point(self._of(vertex)[1]) for vertex in (first, last))
            circle, turn = None, 0.0
            if self.entities[curve].name == "CIRCLE":
                center, normal, right = self._place(self._of(curve)[1])
                circle = (center, normal, float(self._of(curve)[2]))
                angles = [self._angle(_minus(point, center), normal, right) for point in (start, end)]
                way = 1.0 if str(same) == ".T." else -1.0
                turn = way * (((way * (angles[1] - angles[0])) % math.tau) or math.tau)
            else:
                assert self.entities[curve].name == "LINE", self.entities[curve].name
            item = (start, end, circle, turn) if str(ahead) == ".T." else (end, start, circle, -turn)
            found.append(item)
        if str(forward) == ".F.":
            found = [(end, start, circle, -turn) for start, end, circle, turn in reversed(found)]
        for (_, end, _, _), (start, _, _, _) in zip(found, [*found[1:], found[0]], strict=True):
            assert math.dist(end, start) < 1e-7, "a loop is open"
        return found

    @staticmethod
    def _angle(way: Vec, normal: Vec, right: Vec) -> float:
        angle = math.atan2(_dot(way, _cross(normal, right)), _dot(way, right)) % math.tau
        return 0.0 if math.tau - angle < 1e-9 else angle

    def _point(self, ref: str) -> Vec:
        x, y, z = self._of(ref, "CARTESIAN_POINT")[1]
        return (float(x), float(y), float(z))

    def _place(self, ref: str) -> tuple[Vec, Vec, Vec]:
        _, origin, axis, right = self._of(ref, "AXIS2_PLACEMENT_3D")
        ways = [tuple(float(v) for v in self._of(way, "DIRECTION")[1]) for way in (axis, right)]
        return self._point(origin), ways[0], ways[1]  # type: ignore[return-value]  # a DIRECTION has three numbers


def _vector_area(start: Vec, end: Vec, circle: tuple[Vec, Vec, float] | None, turn: float) -> Vec:
    """½ ∫ r × dr along a line, or along an arc that turns by `turn` about its circle's normal."""
    if circle is None:
        return _scaled(_cross(start, end), 0.5)
    center, normal, radius = circle
    return _scaled(_plus(_cross(center, _minus(end, start)), _scaled(normal, radius**2 * turn)), 0.5)


def _plus(a: Vec, b: Vec) -> Vec:
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def _minus(a: Vec, b: Vec) -> Vec:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _scaled(a: Vec, by: float) -> Vec:
    return (a[0] * by, a[1] * by, a[2] * by)


def _dot(a: Vec, b: Vec) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _cross(a: Vec, b: Vec) -> Vec:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
