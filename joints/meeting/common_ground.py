"""What every contact of two faces asks first: two plates, at an angle that square cuts hold, and how each sees a line."""

from __future__ import annotations

from panelwright.plates.errors import JointError
from panelwright.plates.geometry.frame import Vector, dot, minus
from panelwright.plates.geometry.polygons import polygon_of
from panelwright.plates.geometry.probe import Interval
from panelwright.plates.tolerances import SQUARE_TOLERANCE_DEG

from .section import Section
from .side import Body, Hold, Side

__all__ = [
    "ANGLES_DEG",
    "TURN_ONE",
    "faces_error",
    "gap_in_plane",
    "require_angle",
    "require_two_plates",
    "runs_back",
    "section_between",
    "side_of",
    "two_faces",
]

ANGLES_DEG = (30.0, 150.0)
"""Dihedral angles at which plates are joined: flatter ones need slots several thicknesses long and leave long wedges."""

TURN_ONE = "turn one of them"
"""How a message ends that says what helps where plates meet too flat; what knows more of the plates says something better."""

SAME_WAY = 0.01
"""Part of a joint line's direction, along an axis, that doesn't say which way it runs: 0.57° off square to that axis.

Far above rounding and what a plate leans by mistake, so that neither turns a joint over."""


def two_faces(a: Hold, b: Hold) -> str:
    """The two faces in words, for messages."""
    return f"{a.described} of {a.body.name!r} and {b.described} of {b.body.name!r}"


def faces_error(message: str, a: Hold, b: Hold, *, value: object = None, limit: object = None) -> JointError:
    """An error that names the two plates and the first face."""
    return JointError(message, plates=(a.body.name, b.body.name), face=a.described, value=value, limit=limit)


def require_angle(angle_deg: float, a: Hold, b: Hold, kind: str) -> None:
    """Raise `JointError` for two plates that meet at an angle beyond `ANGLES_DEG`."""
    low, high = ANGLES_DEG
    if not low - SQUARE_TOLERANCE_DEG <= angle_deg <= high + SQUARE_TOLERANCE_DEG:
        raise faces_error(
            f"{kind} between {two_faces(a, b)}: the plates meet at {angle_deg:.2f}°; square cuts hold from {low:g}° to "
            f"{high:g}°, so {TURN_ONE}",
            a,
            b,
            value=angle_deg,
            limit=ANGLES_DEG,
        )


def section_between(first: Body, second: Body, origin: Vector, out: Vector) -> Section:
    """Two plates in the plane across a line through `origin`, on the first one's back; `out` points out of its edge."""
    z1, z2 = first.frame.z, second.frame.z
    return Section(first.t, second.t, (dot(z2, out), dot(z2, z1)), dot(minus(second.frame.origin, origin), z2))


def require_two_plates(a: Hold, b: Hold, kind: str) -> None:
    """Raise `JointError` for two faces of one plate."""
    if a.body is b.body:
        raise faces_error(f"{kind} would join plate {a.body.name!r} to itself; choose a face of another plate", a, b)


def runs_back(*parts: float) -> bool:
    """Whether the first part of a direction that says something is below zero."""
    return next((value for value in parts if abs(value) > SAME_WAY), 1.0) < 0


def side_of(body: Body, point: Vector, along: Vector, across: Vector) -> Side:
    """How a plate sees a line through `point`, all given where the plate stands."""
    frame = body.frame
    x, y, _ = frame.local(point)
    ax, ay, _ = frame.local_direction(along)
    bx, by, _ = frame.local_direction(across)
    return Side(body, (x, y), (ax, ay), (bx, by))


def gap_in_plane(side: Side, u: Interval, v: Interval) -> float:
    """Distance in a plate's own plane from the plate to the rectangle over two intervals."""
    import shapely

    outline = side.body.plate.outline
    plate = polygon_of(outline.outer, outline.holes)
    corners = [(u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])]
    return float(plate.distance(shapely.Polygon([side.flat(*corner) for corner in corners])))
