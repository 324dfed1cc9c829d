"""Where a bent part of a sheet meets a flat plate that stands square to its axis.

Two cases.  The bent part's border stands on the plate's broad face: the footprint is a sector of a ring.  Or the plate's
edge, an arc about the same axis, butts on the bent part's inner or outer face.  In both u is counted along the middle of
the bent sheet from its first bend line, so widths and gaps are those along the curve; the flat plate sees the line as a
circle, the bent one as straight.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from panelwright.plates.errors import JointError
from panelwright.plates.geometry.bending import RoundPiece
from panelwright.plates.geometry.curves import Arc, Line, Loop, Point, Segment
from panelwright.plates.geometry.frame import dot, minus
from panelwright.plates.geometry.polygons import polygon_of
from panelwright.plates.geometry.probe import Interval, Probe, common, joined
from panelwright.plates.tolerances import CONTACT_TOLERANCE, INSIDE, MEETING_SINE, ROUNDING

from .common_ground import two_faces
from .contact import Contact, Hold, Side, joint_error
from .cylinder_contact import own_bend
from .remark import Remark

__all__ = ["RoundSide", "require_narrow", "round_contact", "straight_remark", "widest_straight", "widest_unlocked"]

RING_CHORDS = 360
"""Chords of a full turn where regions are looked at in a ring: 0.004 % of the radius off."""

LEAST_RADIUS = 0.1
"""How near to the axis a ring is looked at, mm."""


@dataclass(frozen=True, eq=False)
class RoundSide(Side):
    """How a flat plate sees a joint line that is a circle in its plane.

    `origin` is the centre, `across` the radial direction at u = 0, `along` the tangent there.  u is counted along the
    circle of `radius`; v = 0 lies at the radius `base`, and v grows outwards if `grows` is 1, inwards if it is
    −1.  `middle` is the u about which seen points are counted, since a circle comes round again.
    """

    radius: float = 1.0
    base: float = 1.0
    grows: float = 1.0
    middle: float = 0.0

    def _ray(self, u: float) -> Point:
        cosine, sine = math.cos(u / self.radius), math.sin(u / self.radius)
        return (
            self.across[0] * cosine + self.along[0] * sine,
            self.across[1] * cosine + self.along[1] * sine,
        )

    def flat(self, u: float, v: float) -> Point:
        """The point at (u, v) in the plate's own coordinates."""
        x, y = self._ray(u)
        rho = self.base + self.grows * v
        return (self.origin[0] + rho * x, self.origin[1] + rho * y)

    def seen(self, point: Point) -> Point:
        """The (u, v) of a point in the plate's own coordinates."""
        x, y = point[0] - self.origin[0], point[1] - self.origin[1]
        phi = math.atan2(x * self.along[0] + y * self.along[1], x * self.across[0] + y * self.across[1])
        turn = (phi - self.middle / self.radius + math.pi) % math.tau - math.pi
        return (self.middle + turn * self.radius, self.grows * (math.hypot(x, y) - self.base))

    def rectangle(self, u: Interval, v: Interval) -> Loop:
        """The sector of a ring over two intervals, counter-clockwise, its ends radial."""
        a, b, c, d = self.flat(u[0], v[0]), self.flat(u[1], v[0]), self.flat(u[1], v[1]), self.flat(u[0], v[1])
        turn = self.along[1] * self.across[0] - self.along[0] * self.across[1]
        sweep = (u[1] - u[0]) / self.radius * math.copysign(1.0, turn)
        segments: list[Segment] = [
            Arc(a, b, self.origin, sweep),
            Line(b, c),
            Arc(c, d, self.origin, -sweep),
            Line(d, a),
        ]
        return Loop(tuple(segments)).counter_clockwise()

    def grown(self, u: Interval, v: Interval) -> Loop:
        """What the plate gains over two intervals."""
        return self.rectangle(u, v)

    def run(self, probe: Probe, at: Point, way: Literal["along", "across"]) -> list[Interval]:
        """Material on the circle or the ray through (u, v), in mm from there."""
        u, v = at
        if way == "along":
            return [(low - u, high - u) for low, high in self._round(probe, v)]
        x, y = self._ray(u)
        return probe.along(self.flat(u, v), (self.grows * x, self.grows * y))

    def stretches(self, v: float) -> list[Interval]:
        """Material along the line at distance v, as intervals of u."""
        return self._round(self.body.probe, v)

    def taken(self, loop: Loop, strip: Interval) -> list[Interval]:
        """What a region in the plate's plane takes of the line: the u of those parts of it that lie in the ring of `strip`.

        The ring is cut open half a turn away from the middle, where nothing of the bend is.
        """
        import shapely

        half = math.pi * self.radius * (1 - 1e-6)
        low = max(strip[0], LEAST_RADIUS - self.base) if self.grows > 0 else strip[0]
        high = strip[1] if self.grows > 0 else min(strip[1], self.base - LEAST_RADIUS)
        us = np.linspace(self.middle - half, self.middle + half, RING_CHORDS + 1).tolist()
        ring = shapely.Polygon([*(self.flat(u, low) for u in us), *(self.flat(u, high) for u in reversed(us))])
        inside = ring.intersection(polygon_of(loop, tolerance=0.01))
        found: list[Interval] = []
        for piece in getattr(inside, "geoms", [inside]):
            if piece.area > 0:
                spots = [self.seen((x, y))[0] for x, y in piece.exterior.coords]
                found.append((min(spots), max(spots)))
        return joined(found)

    def columns(self, u: float) -> list[Interval]:
        """Material across the line at u, as intervals of v."""
        return self.run(self.body.probe, (u, 0.0), "across")

    def _round(self, probe: Probe, v: float) -> list[Interval]:
        """Stretches of material on a circle, as intervals of u within half a turn of the middle."""
        rho = self.base + self.grows * v
        edges = probe.edges - np.array([*self.origin, *self.origin])
        x0, y0, dx, dy = edges[:, 0], edges[:, 1], edges[:, 2] - edges[:, 0], edges[:, 3] - edges[:, 1]
        a, b, c = dx * dx + dy * dy, x0 * dx + y0 * dy, x0 * x0 + y0 * y0 - rho * rho
        under = b * b - a * c
        hit = (under > 0) & (a > 0)
        root = np.sqrt(under[hit])
        spots: list[float] = []
        for sign in (-1.0, 1.0):
            share = (-b[hit] + sign * root) / a[hit]
            inside = (share >= 0) & (share < 1)
            xs, ys = (x0[hit] + share * dx[hit])[inside], (y0[hit] + share * dy[hit])[inside]
            spots += [self.seen((x + self.origin[0], y + self.origin[1]))[0] for x, y in zip(xs, ys, strict=True)]
        half = math.pi * self.radius
        stops = sorted({self.middle - half, *spots, self.middle + half})
        middles = [(low + high) / 2 for low, high in pairwise(stops)]
        if not middles:
            return []
        held = probe.covers([self.flat(u, v) for u in middles])
        return joined([(low, high) for (low, high), is_in in zip(pairwise(stops), held, strict=True) if is_in])


def round_contact(edge: Hold, mate: Hold, kind: str) -> Contact:
    """The contact of an edge face with a broad face, where one of the two is of a bent part.

    Raises `JointError` if both are bent, the flat plate isn't square to the axis, the faces don't touch (with their
    distance), or the edge is not straight along the bend, or no arc about its axis.
    """
    where = f"{kind} between {two_faces(edge, mate)}"

    def error(message: str, *, value: object = None, limit: object = None) -> JointError:
        names = (edge.body.name, mate.body.name)
        return JointError(f"{where}: {message}", plates=names, face=edge.described, value=value, limit=limit)

    bent, flat = (edge.body, mate.body) if edge.body.rolled is not None else (mate.body, edge.body)
    piece = bent.rolled
    assert piece is not None
    if flat.rolled is not None:
        raise error("both are bent; only a flat plate can be joined to a bent one")
    center, axis, radial, tangent = piece.axis
    lean = math.sqrt(max(0.0, 1.0 - dot(axis, flat.frame.z) ** 2))
    if lean > MEETING_SINE:
        raise error(
            f"{flat.name!r} is {math.degrees(math.asin(min(1.0, lean))):.3f}° out of square to the axis that {bent.name!r} is "
            "bent about; turn one of them",
            value=lean,
            limit=MEETING_SINE,
        )
    x, y, _ = flat.frame.local(center)
    ax, ay, _ = flat.frame.local_direction(radial)
    tx, ty, _ = flat.frame.local_direction(tangent)
    length = piece.length

    def ring(base: float, grows: float) -> RoundSide:
        return RoundSide(flat, (x, y), (tx, ty), (ax, ay), (), piece.radius, base, grows, length / 2)

    def strip(level: float, way: float) -> Side:
        """The bent part with v counted from y = `level` in its own plane, towards greater y if `way` is 1."""
        return Side(bent, (piece.origin[0], level), (1.0, 0.0), (0.0, way))

    direction = piece.direction((piece.origin[0] + length / 2, 0.0), (1.0, 0.0, 0.0))
    if bent is edge.body:
        segment = edge.segment
        if not isinstance(segment, Line) or abs(segment.tangent_at(0.0)[1]) > MEETING_SINE:
            raise error("its border must run straight along the bend; make it so, or join the flat parts beside it")
        way = -1.0 if segment.end[0] > segment.start[0] else 1.0
        level = segment.start[1]
        out = piece.direction((piece.origin[0], 0.0), (0.0, way, 0.0))
        gap = dot(minus(flat.frame.origin, piece.point((piece.origin[0], level), 0.0)), flat.frame.z)
        ahead = dot(out, flat.frame.z) > 0
        near = gap if ahead else -(gap + flat.t)
        _check_gap(near, flat.t, error)
        sides: tuple[Side, Side] = (strip(level, way), ring(piece.radius_at(0.0), -piece.sign))
        slab, footprint = (near, near + flat.t), (0.0, bent.t)
        span = tuple(sorted((segment.start[0] - piece.origin[0], segment.end[0] - piece.origin[0])))
        within = [(max(0.0, span[0]), min(length, span[1]))]
    else:
        arc = edge.segment
        facing = bent.t if mate.place[0] == "show" else 0.0
        reach = piece.radius_at(facing)
        if not isinstance(arc, Arc) or math.dist(arc.center, (x, y)) > CONTACT_TOLERANCE:
            raise error("the edge is no arc about the axis of the bend; draw it concentric (ellipses and splines by in_arcs())")
        # material lies to the left of travel, so a counter-clockwise arc looks away from its centre
        grows = 1.0 if arc.sweep > 0 else -1.0
        looks = -piece.sign if mate.place[0] == "show" else piece.sign
        if looks == grows:
            raise error("the edge and the bent face look the same way; choose the bent part's other broad face")
        near = grows * (reach - arc.radius)
        _check_gap(near, bent.t, error)
        rise = piece.frame.local_direction(flat.frame.z)[1]
        foot = piece.frame.local(flat.frame.origin)[1]
        sides = (ring(arc.radius, grows), strip(foot, math.copysign(1.0, rise)))
        slab, footprint = (near, near + bent.t), (0.0, flat.t)
        within = _arc_span(sides[0], arc, piece)
    stretches = common(within, _held(sides[1], footprint))
    if not stretches:
        raise error("they touch nowhere along the bend; move one of them, or make it larger, so that the edge lies on it")
    return Contact(
        *sides,
        direction,
        slab,
        footprint,
        tuple(stretches),
        (edge.described, mate.described),
    )


def widest_straight(contact: Contact, clearance: float) -> float | None:
    """How wide a tab on a bent border may be that stays straight in a slot along the curve; None for any other contact.

    A tab is too wide for the slits beside it to bend, so its middle leaves the arc by w²/(8 R), which the clearance has to
    take up (plane trigonometry).
    """
    piece = contact.first.body.rolled
    return None if piece is None else math.sqrt(8 * piece.radius * max(clearance, 0.0))


def widest_unlocked(contact: Contact, count: int) -> float | None:
    """How wide each of `count` tabs on a bent border may be, mm, so that enough links stay free; None for any other contact."""
    body = contact.first.body
    if body.rolled is None or body.slit is None:
        return None
    return body.slit.room_on_border(own_bend(body), count)


def require_narrow(contact: Contact, kind: str, count: int, clearance: float, least: float) -> None:
    """Raise `JointError` if tabs at least `least` mm wide can't go into curved slots, or lock too many links."""
    straight, unlocked = widest_straight(contact, clearance), widest_unlocked(contact, count)
    piece = contact.first.body.rolled
    if piece is None or straight is None:
        return
    if straight < least - ROUNDING:
        needed = math.ceil(1000 * least * least / (8 * piece.radius)) / 1000
        raise joint_error(
            contact,
            kind,
            f"tabs stay straight, and with a clearance of {clearance:g} mm only tabs up to {straight:.2f} mm wide go into "
            f"slots along a curve of {piece.radius:.2f} mm; less than {least:g} mm, half the sheet's thickness, holds nothing: "
            f"give a clearance of {needed:g} mm or more",
            value=clearance,
            limit=needed,
        )
    if unlocked is not None and unlocked < least - ROUNDING:
        raise joint_error(
            contact,
            kind,
            f"{count} {'tab' if count == 1 else 'tabs'} on this border would lock links that the bend needs, however narrow "
            "they are: ask for fewer, put them on flat parts only, or make the bend's radius larger",
            value=count,
            limit=unlocked,
        )


def straight_remark(contact: Contact, width: float, clearance: float, middle: float) -> tuple[Remark, ...]:
    """An error for tabs on a bent border that are too wide to go into their slots straight."""
    widest = widest_straight(contact, clearance)
    if widest is None or width <= widest + ROUNDING:
        return ()
    bent, piece = contact.first.body, contact.first.body.rolled
    assert piece is not None
    rise = width * width / (8 * piece.radius)
    place = piece.point(contact.first.flat(middle, 0.0), bent.t / 2)
    x, y, z = place
    text = (
        f"tabs of {width:g} mm stay straight where {bent.name!r} is bent to {piece.radius:.2f} mm, around "
        f"({x:.1f}, {y:.1f}, {z:.1f}), and stand {rise:.2f} mm off "
        f"the arc of their slots, more than the clearance of {clearance:g} mm; make them at most "
        f"{math.floor(widest * 100) / 100:g} mm wide there, give more clearance, or put them on flat parts only"
    )
    numbers = {"width_mm": width, "widest_mm": widest, "rise_mm": rise, "clearance_mm": clearance}
    return (Remark("BENT-TAB", text, place, numbers, "error"),)


def _check_gap(near: float, thickness: float, error: Callable[..., JointError]) -> None:
    if near > CONTACT_TOLERANCE or near + thickness < -CONTACT_TOLERANCE:
        apart = near if near > 0 else -near - thickness
        how = "are" if near > 0 else "overlap and the edge has passed the plate: they are"
        raise error(
            f"they {how} {apart:.3f} mm apart; move one of the plates so that they touch",
            value=apart,
            limit=0.0,
        )


def _arc_span(side: Side, arc: Arc, piece: RoundPiece) -> list[Interval]:
    """Where along the bend an arc runs, in u."""
    if arc.is_full:
        return [(0.0, piece.length)]
    middle, _ = side.seen(arc.point_at(0.5))
    half = abs(arc.sweep) / 2 * piece.radius
    turn = math.tau * piece.radius
    spans = [(middle + k * turn - half, middle + k * turn + half) for k in (-1, 0, 1)]
    return common([(0.0, piece.length)], spans)


def _held(side: Side, footprint: Interval) -> list[Interval]:
    low, high = footprint
    found = side.stretches(low + INSIDE)
    for w in ((low + high) / 2, high - INSIDE):
        found = common(found, side.stretches(w))
    return found
