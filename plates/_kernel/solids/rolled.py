"""Segments that lie aslant on a cylinder: splines that the two cylinders and the wall between them share.

A segment of the flat panel becomes angle φ(w) and height v(w) over w from 0 to 1.  Cosine and sine of φ, φ itself and v are
interpolated by one quintic spline with the same knots (interpolation at Greville's abscissae: de Boor, *A Practical Guide to
Splines*, chapter XIII).  Curves on cylinders of any radius are then affine images of the same poles, and the wall of radial
lines between two of them is the spline surface over both rows of poles: all three fit each other exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.bending import RoundPiece
from panelwright.plates.geometry.curves import Arc, Line, Point, Segment

__all__ = ["Rolled", "rolled"]

DEGREE = 5
ARC_SPAN = math.pi / 6
"""Turn of a small arc about its own centre that one span of the spline covers."""

CYLINDER_SPAN = math.pi / 12
"""Turn about the axis of a small cylinder that one span covers."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Rolled:
    """Poles of a segment: an (n, 4) array of angle, height, cosine and sine of the angle."""

    poles: Floats
    spans: int

    def in_parameters(self) -> Any:
        """The curve in a cylinder's own parameters, angle and height."""
        from OCP.Geom2d import Geom2d_BSplineCurve
        from OCP.gp import gp_Pnt2d
        from OCP.TColgp import TColgp_Array1OfPnt2d

        poles = TColgp_Array1OfPnt2d(1, len(self.poles))
        for number, (phi, height, _, _) in enumerate(self.poles.tolist(), start=1):
            poles.SetValue(number, gp_Pnt2d(phi, height))
        return Geom2d_BSplineCurve(poles, *_knots(self.spans), DEGREE, False)

    def in_space(self, piece: RoundPiece, radius: float) -> Any:
        """The curve on the cylinder of a radius about the piece's axis."""
        from OCP.Geom import Geom_BSplineCurve
        from OCP.gp import gp_Pnt
        from OCP.TColgp import TColgp_Array1OfPnt

        poles = TColgp_Array1OfPnt(1, len(self.poles))
        for number, place in enumerate(self._places(piece, radius), start=1):
            poles.SetValue(number, gp_Pnt(*place))
        return Geom_BSplineCurve(poles, *_knots(self.spans), DEGREE, False)

    def wall(self, piece: RoundPiece, radii: Sequence[float], thickness: float) -> Any:
        """The surface between the curves on two cylinders; its second parameter runs from 0 to `thickness`."""
        from OCP.Geom import Geom_BSplineSurface
        from OCP.gp import gp_Pnt
        from OCP.TColgp import TColgp_Array2OfPnt
        from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal

        poles = TColgp_Array2OfPnt(1, len(self.poles), 1, 2)
        for column, radius in enumerate(radii, start=1):
            for number, place in enumerate(self._places(piece, radius), start=1):
                poles.SetValue(number, column, gp_Pnt(*place))
        knots, multiplicities = _knots(self.spans)
        ends, twice = TColStd_Array1OfReal(1, 2), TColStd_Array1OfInteger(1, 2)
        for number, value in enumerate((0.0, thickness), start=1):
            ends.SetValue(number, value)
            twice.SetValue(number, 2)
        return Geom_BSplineSurface(poles, knots, ends, multiplicities, twice, DEGREE, 1, False, False)

    def _places(self, piece: RoundPiece, radius: float) -> list[tuple[float, float, float]]:
        center, direction, radial, tangent = (np.array(v) for v in piece.axis)
        _, heights, cosines, sines = self.poles.T[:, :, None]
        places = center + heights * direction + radius * (cosines * radial + sines * tangent)
        return [(x, y, z) for x, y, z in places.tolist()]


def rolled(segment: Segment, flat: Callable[[Point], Point], radius: float) -> Rolled:
    """The poles of a line or an arc; `flat` gives angle and height of a point, `radius` is that of the middle of the sheet.

    On a cylinder of that radius the curve through them is within 2e-6 mm of the true one, whatever the segment's size.

    Raises `KernelError` for other curves, which no hinge strip has.
    """
    (first, _), (last, _) = flat(segment.start), flat(segment.end)
    # errors fall with the sixth power of a span
    if isinstance(segment, Line):
        fine = max(1.0, radius / 50) ** (1 / (DEGREE + 1))
        spans = math.ceil(abs(last - first) / CYLINDER_SPAN * fine)
    elif isinstance(segment, Arc):
        # along an arc that swings far, its own turn and that about the axis add up, each at its fastest
        swing = segment.radius / radius
        fine = max(1.0, segment.radius) ** (1 / (DEGREE + 1))
        spans = math.ceil(abs(segment.sweep) * (1 / ARC_SPAN + swing / CYLINDER_SPAN) * fine)
    else:
        raise KernelError(f"a {type(segment).__name__} on a bend can't be rolled; use lines and arcs there")
    spans = max(1, spans)
    abscissae, inverse = _interpolation(spans)
    samples = np.array([flat(segment.point_at(w)) for w in abscissae.tolist()])
    values = np.column_stack([samples, np.cos(samples[:, 0]), np.sin(samples[:, 0])])
    return Rolled(inverse @ values, spans)


def _knots(spans: int) -> tuple[Any, Any]:
    from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal

    knots, multiplicities = TColStd_Array1OfReal(1, spans + 1), TColStd_Array1OfInteger(1, spans + 1)
    for number in range(spans + 1):
        knots.SetValue(number + 1, number / spans)
        multiplicities.SetValue(number + 1, DEGREE + 1 if number in (0, spans) else 1)
    return knots, multiplicities


@lru_cache(maxsize=64)
def _interpolation(spans: int) -> tuple[Floats, Floats]:
    """Greville's abscissae of the clamped knots, and what turns values there into poles."""
    knots = np.concatenate([np.zeros(DEGREE), np.linspace(0.0, 1.0, spans + 1), np.ones(DEGREE)])
    count = spans + DEGREE
    abscissae = np.array([knots[i + 1 : i + DEGREE + 1].mean() for i in range(count)])
    matrix = np.array([_basis(knots, count, w) for w in abscissae.tolist()])
    return abscissae, np.linalg.inv(matrix)  # pyright: ignore[reportReturnType]  numpy loses the width of numbers


def _basis(knots: Floats, count: int, w: float) -> Floats:
    """All basis functions at w, by the recursion of Cox and de Boor."""
    if w >= 1.0:
        end = np.zeros(count)
        end[-1] = 1.0
        return end
    level = ((knots[:-1] <= w) & (w < knots[1:])).astype(float)
    for degree in range(1, DEGREE + 1):
        size = len(knots) - degree - 1
        left, right = np.zeros(size), np.zeros(size)
        for i in range(size):
            below, above = knots[i + degree] - knots[i], knots[i + degree + 1] - knots[i + 1]
            left[i] = (w - knots[i]) / below * level[i] if below > 0 else 0.0
            right[i] = (knots[i + degree + 1] - w) / above * level[i + 1] if above > 0 else 0.0
        level = left + right
    return level
