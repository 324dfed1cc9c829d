"""Slanting segments of one strip on its two cylinders: each kind is rolled once, and moved to wherever it comes again.

Slits repeat, so most segments differ only by where they begin, and a kernel moves what it has in a fraction of the time that
making it takes.  On a cylinder that move is a turn about the axis and a shift along it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from panelwright.plates.geometry.bending import RoundPiece
from panelwright.plates.geometry.curves import Arc, Line, Point, Segment

from .rolled import rolled

__all__ = ["SlantingSegments"]

ALIKE = 9
"""Decimals in mm to which segments are alike: a hundredth of what corners may be off their curves."""

_Shape = tuple[tuple[Any, ...], Any, Any]
"""Curves of a segment on the two cylinders, the wall between them, and the curve in a cylinder's parameters."""


class SlantingSegments:
    """The splines of a strip's segments, on the cylinders of the two radii, back first."""

    def __init__(self, piece: RoundPiece, radii: Sequence[float], thickness: float) -> None:
        from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Vec

        self._piece, self._radii, self._thickness = piece, tuple(radii), thickness
        center, direction, _, _ = piece.axis
        self._axis = gp_Ax1(gp_Pnt(*center), gp_Dir(*direction))
        self._lift = gp_Vec(*direction)
        around = piece.frame.direction((*piece.along, 0.0))
        # heights on the cylinders grow along the axis, which may run against the bend line
        self._rise = math.copysign(1.0, sum(a * b for a, b in zip(around, direction, strict=True)))
        self._known: dict[Segment, _Shape] = {}

    def rolled(self, segment: Segment) -> _Shape:
        """The curves of a segment, the wall between them, and the curve in a cylinder's own parameters, angle and height.

        All run from 0 to 1 along the segment; the wall's second parameter from 0 to the thickness.
        Raises `KernelError` for segments that are neither lines nor arcs.
        """
        from OCP.gp import gp_Trsf, gp_Vec2d

        curves, wall, drawn = self._from_the_bend_line(segment)
        s, u = self._piece.flat(segment.start)
        phi, height = s / self._piece.radius, u * self._rise
        turn, move = gp_Trsf(), gp_Trsf()
        turn.SetRotation(self._axis, phi)
        move.SetTranslation(self._lift.Multiplied(height))
        move.Multiply(turn)
        carried = tuple(curve.Transformed(move) for curve in curves)
        return carried, wall.Transformed(move), drawn.Translated(gp_Vec2d(phi, height))

    def _from_the_bend_line(self, segment: Segment) -> _Shape:
        """The same for a segment like this one that begins at the first bend line, at height 0."""
        piece, rise = self._piece, self._rise
        s0, u0 = piece.flat(segment.start)

        def moved(spot: Point) -> Point:
            s, u = piece.flat(spot)
            return (round(s - s0, ALIKE), round((u - u0) * rise, ALIKE))

        key = segment
        if isinstance(segment, Line):
            key = Line((0.0, 0.0), moved(segment.end))
        elif isinstance(segment, Arc):
            (ax, ay), (bx, by) = piece.across, piece.along
            turns = math.copysign(1.0, (ax * by - ay * bx) * rise)
            key = Arc((0.0, 0.0), moved(segment.end), moved(segment.center), turns * round(segment.sweep, ALIKE))
        found = self._known.get(key)
        if found is None:
            # made of the rounded segment, so that it doesn't matter which of its like came first
            shape = rolled(key, lambda spot: (spot[0] / piece.radius, spot[1]), piece.radius)
            curves = tuple(shape.in_space(piece, radius) for radius in self._radii)
            found = (curves, shape.wall(piece, self._radii, self._thickness), shape.in_parameters())
            self._known[key] = found
        return found
