"""Where two plates meet: the joint line, and what each plate looks like along it.

A contact has one *joint line* with coordinate u in mm.  Each plate sees it in its own plane as a `Side`: u along the line and
one more axis across it.  For the plate whose edge arrives (the *first* side of an edge contact) that axis, v, points out of
its edge, v = 0 at the edge as designed; for the plate that it arrives at (the *second*) the axis, w, runs across the arriving
plate's thickness; at a right angle it goes from 0 at that plate's back to its thickness at its show face.

u grows towards the side of greater x, then y, then z of the assembly in which the join was made, and is 0 at the lower end
of the arriving edge; positions given by hand count from there.
"""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.plates.errors import JointError
from panelwright.plates.geometry.frame import Vector, cross, dot, minus, plus, scaled, unit
from panelwright.plates.geometry.polygons import polygon_of
from panelwright.plates.geometry.probe import Interval, common, joined
from panelwright.plates.tolerances import ANGLE_TOLERANCE, INSIDE, SQUARE_TOLERANCE_DEG

from .section import FAR, Reach, Section
from .side import Bend, Body, Hold, Side

__all__ = ["ANGLES_DEG", "Body", "Contact", "Hold", "Side", "crossing_contact", "gap_between", "joint_error"]

ANGLES_DEG = (30.0, 150.0)
"""Dihedral angles at which plates are joined: flatter ones need slots several thicknesses long and leave long wedges."""

SAME_WAY = 0.01
"""Part of a joint line's direction, along an axis, that doesn't say which way it runs: 0.57° off square to that axis.

Far above rounding and what a plate leans by mistake, so that neither turns a joint over."""


@dataclass(frozen=True, eq=False)
class Contact:
    """Two plates along one joint line.

    `slab` is the interval of the first side's v from where its leading corner meets the second plate to where it comes out
    flush with the far face; `footprint` is the shadow of what goes through there on the second side's axis.  `stretches` are
    the intervals of u on which both plates have material to join.  `swapped` says that the first side belongs to the second
    face named in the join.

    Where the second plate ends at the line (a corner), `reach` says from which side it comes and where it is flush with
    the first one's far face; where it goes on to both sides (a T), it is None.  `bite` is the v from which
    on the second plate is in the first one's way.  `bend` is set where the two meet along a cylinder instead.
    """

    first: Side
    second: Side
    direction: Vector
    slab: Interval
    footprint: Interval
    stretches: tuple[Interval, ...]
    faces: tuple[str, str]
    swapped: bool = False
    section: Section | None = None
    reach: Reach | None = None
    bite: float = 0.0
    bend: Bend | None = None

    @property
    def is_square(self) -> bool:
        """Whether the plates meet at a right angle."""
        return self.section is None or abs(self.section.angle_deg - 90.0) < SQUARE_TOLERANCE_DEG

    @property
    def numbers(self) -> dict[str, float]:
        """What an oblique contact adds to a joint's numbers: its angle, and the wedge that square edges leave open."""
        if self.section is None or self.is_square:
            return {}
        return {"angle_deg": round(self.section.angle_deg, 6), "wedge_gap_mm": round(self.section.wedge_gap, 6)}

    @property
    def names(self) -> tuple[str, str]:
        """Names of the first and second plate."""
        return (self.first.body.name, self.second.body.name)


def gap_between(a: Hold, b: Hold) -> str:
    """Words for how far apart two faces are, for messages."""
    return f"{a.described} of {a.body.name!r} and {b.described} of {b.body.name!r}"


def _error(message: str, a: Hold, b: Hold, *, value: object = None, limit: object = None) -> JointError:
    return JointError(message, plates=(a.body.name, b.body.name), face=a.described, value=value, limit=limit)


def _require_angle(angle_deg: float, a: Hold, b: Hold, kind: str) -> None:
    low, high = ANGLES_DEG
    if not low - SQUARE_TOLERANCE_DEG <= angle_deg <= high + SQUARE_TOLERANCE_DEG:
        raise _error(
            f"{kind} between {gap_between(a, b)}: the plates meet at {angle_deg:.2f}°; square cuts hold from {low:g}° to "
            f"{high:g}°, so turn one of them",
            a,
            b,
            value=angle_deg,
            limit=ANGLES_DEG,
        )


def _section(first: Body, second: Body, origin: Vector, out: Vector) -> Section:
    z1, z2 = first.frame.z, second.frame.z
    return Section(first.t, second.t, (dot(z2, out), dot(z2, z1)), dot(minus(second.frame.origin, origin), z2))


def _require_two_plates(a: Hold, b: Hold, kind: str) -> None:
    if a.body is b.body:
        raise _error(f"{kind} would join plate {a.body.name!r} to itself; choose a face of another plate", a, b)


def _runs_back(*parts: float) -> bool:
    """Whether the first part of a direction that says something is below zero."""
    return next((value for value in parts if abs(value) > SAME_WAY), 1.0) < 0


def _side(body: Body, point: Vector, along: Vector, across: Vector) -> Side:
    frame = body.frame
    x, y, _ = frame.local(point)
    ax, ay, _ = frame.local_direction(along)
    bx, by, _ = frame.local_direction(across)
    return Side(body, (x, y), (ax, ay), (bx, by))


def _gap_to(side: Side, u: Interval, v: Interval) -> float:
    """Distance in a plate's own plane from the plate to the rectangle over two intervals."""
    import shapely

    outline = side.body.plate.outline
    plate = polygon_of(outline.outer, outline.holes)
    corners = [(u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])]
    return float(plate.distance(shapely.Polygon([side.flat(*corner) for corner in corners])))


def crossing_contact(a: Hold, b: Hold, kind: str) -> Contact:
    """The contact of two plates that pass through each other.

    u runs along the line in which they cross, towards greater z, or x or y where that is level; `slab` and `footprint` are each
    plate's thickness as the other sees it.
    Raises `JointError` if they are parallel, cross at less than 30°, or share no stretch of the line.
    """
    _require_two_plates(a, b, kind)
    first, second = a.body, b.body
    line = cross(first.frame.z, second.frame.z)
    if dot(line, line) < ANGLE_TOLERANCE:
        raise _error(f"{kind} between {first.name!r} and {second.name!r}: they are parallel and never cross", a, b)
    run = unit(line)
    x, y, z = a.view.local_direction(run)
    if _runs_back(z, x, y):
        run = scaled(run, -1.0)
    z1, z2 = first.frame.z, second.frame.z
    # the point of the line through both backs that lies nearest to the origin: height zero in both plates
    d1, d2, lean = dot(first.frame.origin, z1), dot(second.frame.origin, z2), dot(z1, z2)
    share = 1.0 - lean * lean
    point = plus(scaled(z1, (d1 - lean * d2) / share), scaled(z2, (d2 - lean * d1) / share))
    out = unit(minus(z2, scaled(z1, lean)))
    section = _section(first, second, point, out)
    _require_angle(section.angle_deg, a, b, kind)
    w_axis = plus(scaled(out, section.axis[0]), scaled(z1, section.axis[1]))
    sides = (_side(first, point, run, out), _side(second, point, run, w_axis))
    slab, footprint = section.shadow_in_first, section.shadow_in_second
    reached = _any_material(sides[0], slab), _any_material(sides[1], footprint)
    stretches = common(*reached)
    if not stretches:
        if all(reached):
            gap = min(max(low - stop, start - high) for start, stop in reached[0] for low, high in reached[1])
            how = f"along the line in which their planes cross they lie {gap:.3f} mm apart"
        else:
            which = 1 if reached[0] else 0
            gap = _gap_to(sides[which], (-FAR, FAR), (slab, footprint)[which])
            how = f"{(first, second)[which].name!r} ends {gap:.3f} mm before it comes to {(second, first)[which].name!r}"
        raise _error(
            f"{kind} between {first.name!r} and {second.name!r}: {how}; move them so that they pass through each other",
            a,
            b,
            value=gap,
            limit=0.0,
        )
    return Contact(*sides, run, slab, footprint, tuple(stretches), (a.described, b.described), section=section)


def _any_material(side: Side, across: Interval) -> list[Interval]:
    low, high = across
    lines = [low + INSIDE, (low + high) / 2, high - INSIDE]
    return joined([stretch for v in lines for stretch in side.stretches(v)])


def joint_error(contact: Contact, kind: str, message: str, *, value: object = None, limit: object = None) -> JointError:
    """An error that names the joint, its plates and faces."""
    a, b = contact.names
    return JointError(
        f"{kind} between {contact.faces[0]} of {a!r} and {contact.faces[1]} of {b!r}: {message}",
        plates=(a, b),
        face=contact.faces[0],
        value=value,
        limit=limit,
    )
