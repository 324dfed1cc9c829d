"""Where two plates meet: the joint line, and what each plate looks like along it.

A contact has one *joint line* with coordinate u in mm.  Each plate sees it in its own plane as a `Side`: u along the line and
one more axis across it.  For the plate whose edge arrives (the *first* side of an edge contact) that axis, v, points out of
its edge, v = 0 at the edge as designed; for the plate that it arrives at (the *second*) the axis, w, runs across the arriving
plate's thickness; at a right angle it goes from 0 at that plate's back to its thickness at its show face.

u grows towards the side of greater x, then y, then z of the assembly in which the join was made, and is 0 at the lower end
of the arriving edge; positions given by hand count from there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from panelwright.plates.errors import JointError
from panelwright.plates.geometry.frame import Frame, Vector, cross, dot, minus, plus, scaled, unit
from panelwright.plates.geometry.probe import Interval, common, joined
from panelwright.plates.tolerances import ANGLE_TOLERANCE, INSIDE, SQUARE_TOLERANCE_DEG

from .common_ground import (
    faces_error,
    gap_in_plane,
    require_angle,
    require_two_plates,
    runs_back,
    section_between,
    side_of,
)
from .section import FAR, Reach, Section
from .side import Bend, Body, Hold, Side

__all__ = ["Body", "Contact", "Hold", "Side", "crossing_contact", "joint_error"]


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

    def between(self, first: Body, second: Body, view: Frame) -> Contact:
        """The same contact of the same two plates where they stand now: moved together, by `view`."""
        sides = replace(self.first, body=first), replace(self.second, body=second)
        # a frame that moves nothing is not applied, so that no sign of a zero changes
        way = self.direction if view == Frame() else view.direction(self.direction)
        return replace(self, first=sides[0], second=sides[1], direction=way)


def crossing_contact(a: Hold, b: Hold, kind: str) -> Contact:
    """The contact of two plates that pass through each other.

    u runs along the line in which they cross, towards greater z, or x or y where that is level; `slab` and `footprint` are each
    plate's thickness as the other sees it.
    Raises `JointError` if they are parallel, cross at less than 30°, or share no stretch of the line.
    """
    require_two_plates(a, b, kind)
    first, second = a.body, b.body
    line = cross(first.frame.z, second.frame.z)
    if dot(line, line) < ANGLE_TOLERANCE:
        raise faces_error(f"{kind} between {first.name!r} and {second.name!r}: they are parallel and never cross", a, b)
    run = unit(line)
    x, y, z = a.view.local_direction(run)
    if runs_back(z, x, y):
        run = scaled(run, -1.0)
    z1, z2 = first.frame.z, second.frame.z
    # the point of the line through both backs that lies nearest to the origin: height zero in both plates
    d1, d2, lean = dot(first.frame.origin, z1), dot(second.frame.origin, z2), dot(z1, z2)
    share = 1.0 - lean * lean
    point = plus(scaled(z1, (d1 - lean * d2) / share), scaled(z2, (d2 - lean * d1) / share))
    out = unit(minus(z2, scaled(z1, lean)))
    section = section_between(first, second, point, out)
    require_angle(section.angle_deg, a, b, kind)
    w_axis = plus(scaled(out, section.axis[0]), scaled(z1, section.axis[1]))
    sides = (side_of(first, point, run, out), side_of(second, point, run, w_axis))
    slab, footprint = section.shadow_in_first, section.shadow_in_second
    reached = _any_material(sides[0], slab), _any_material(sides[1], footprint)
    stretches = common(*reached)
    if not stretches:
        if all(reached):
            gap = min(max(low - stop, start - high) for start, stop in reached[0] for low, high in reached[1])
            how = f"along the line in which their planes cross they lie {gap:.3f} mm apart"
        else:
            which = 1 if reached[0] else 0
            gap = gap_in_plane(sides[which], (-FAR, FAR), (slab, footprint)[which])
            how = f"{(first, second)[which].name!r} ends {gap:.3f} mm before it comes to {(second, first)[which].name!r}"
        raise faces_error(
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
