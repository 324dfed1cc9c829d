"""Where a plate goes that stands beyond a bend of another one's sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from panelwright.plates._validate import finite, one_of, positive, shown
from panelwright.plates.errors import PlacementError
from panelwright.plates.geometry.bending import RoundPiece
from panelwright.plates.geometry.curves import Line, Motion, Point
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.tolerances import ANGLE_TOLERANCE

from .placement import Placement
from .plate import Face, Plate

__all__ = ["bent_on"]

BENDS_DEG = (1.0, 350.0)
"""Least and greatest turn of one bend: less is no bend, more leaves no room for the plates that it joins."""


@dataclass(frozen=True)
class _BentOn:
    face: Face
    radius: float
    angle_deg: float
    toward: Literal["show", "back"]
    shift: float

    def place(self, plate: Plate) -> tuple[Plate, Frame]:
        other, segment = self.face.placed, self.face.segment
        t = other.plate.stock.t
        tx, ty = segment.tangent_at(0.5)
        out = (ty, -tx)
        angle = math.radians(self.angle_deg) * (1 if self.toward == "show" else -1)
        middle = segment.point_at(0.5)
        bend = RoundPiece((), other.frame, middle, (tx, ty), out, self.radius + t / 2, angle, t)
        turn = _turn(out)
        # the border of the plate that looks back at the bend, and its middle along the bend
        corners = [turn.apply(point) for point in _corners(plate)]
        depth = min(x * out[0] + y * out[1] for x, y in corners)
        along = [x * tx + y * ty for x, y in corners]
        across = (max(along) + min(along)) / 2
        at = (
            middle[0] + (bend.length - depth) * out[0] + (self.shift - across) * tx,
            middle[1] + (bend.length - depth) * out[1] + (self.shift - across) * ty,
        )
        beyond = bend.beyond
        (a, c), (b, d) = turn.turned((1.0, 0.0)), turn.turned((0.0, 1.0))
        frame = Frame(beyond.point((*at, 0.0)), beyond.direction((a, c, 0.0)), beyond.direction((b, d, 0.0)), beyond.z)
        return plate, frame


def _corners(plate: Plate) -> list[Point]:
    x0, y0, x1, y1 = plate.outline.bounds
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _turn(out: Point) -> Motion:
    """How the new plate is turned in the flat panel: not at all if the bend is square to the other plate's axes."""
    if min(abs(out[0]), abs(out[1])) < ANGLE_TOLERANCE:
        return Motion()
    return Motion(out[0], -out[1], out[1], out[0])


def bent_on(
    face: Face, *, radius: float, angle_deg: float, toward: Literal["show", "back"] = "back", shift: float = 0.0
) -> Placement:
    """Beyond a bend of the sheet: as if the other plate went on from its edge `face`, bent round a cylinder.

    `radius` is the inner radius in mm, `angle_deg` the turn, from 1 to 350°; `toward` says which face the bend closes: with
    "back" the show faces look outwards.  The plate keeps the other one's axes as if both lay flat (from an edge that is
    aslant, its x points away from the bend), its border stands on the bend line, and it is centred on the edge, then moved
    by `shift` mm along it, counted the way the other plate's outline runs.  A `living_hinge` joins the two.

    Raises `PlacementError` for a face that is no straight edge and an angle out of range, `SizeError` for other bad sizes.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.plates import Stock, rectangle
    >>> stand = Assembly("card stand", stock=Stock("birch plywood", 3))
    >>> front = stand.add("front", rectangle(80, 60))
    >>> side = stand.add("side", rectangle(50, 60), bent_on(front.face(">X"), radius=30, angle_deg=90))
    >>> [round(value, 6) + 0.0 for value in side.frame.point((-25, -30, 3))]
    [73.0, -30.0, -30.0]
    """
    if not isinstance(face, Face) or face.is_broad or not isinstance(face.segment, Line):
        given = face if isinstance(face, Face) else shown(face)
        raise PlacementError(f"bent_on() is given {given}; give a straight edge face, such as front.face('>X')", value=face)
    one_of(toward, ("show", "back"), "toward of bent_on()", PlacementError)
    angle = finite(angle_deg, "angle of bent_on()", unit="°")
    if not BENDS_DEG[0] <= angle <= BENDS_DEG[1]:
        raise PlacementError(
            f"angle of bent_on() is {angle:g}°; give {BENDS_DEG[0]:g} to {BENDS_DEG[1]:g}°", value=angle, limit=BENDS_DEG
        )
    return _BentOn(face, positive(radius, "radius of bent_on()"), angle, toward, finite(shift, "shift of bent_on()"))
