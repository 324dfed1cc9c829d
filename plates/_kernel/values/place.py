"""Places as plain numbers, to and from CadQuery's `Location` and the kernel's transformation.

A place is anything with an origin and three axes, such as our `Frame`, which stands above this module and isn't named here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    import cadquery as cq

__all__ = ["Place", "location_of", "origin_and_axes", "transformation_of"]

Triple = tuple[float, float, float]


class Place(Protocol):
    """An origin in mm and three unit axes at right angles."""

    @property
    def origin(self) -> Triple:
        """Where it is."""
        ...

    @property
    def x(self) -> Triple:
        """Its first axis."""
        ...

    @property
    def y(self) -> Triple:
        """Its second axis."""
        ...

    @property
    def z(self) -> Triple:
        """Its third axis."""
        ...


def origin_and_axes(location: cq.Location) -> tuple[Triple, Triple, Triple]:
    """Where a CadQuery location moves the world's origin, x axis and z axis to."""
    matrix: Any = location.wrapped.Transformation()
    rows = [[matrix.Value(i, j) for j in range(1, 5)] for i in range(1, 4)]
    # -0.0 and 1e-17 from trigonometry of quarter turns would break exact comparisons
    x, z = ((_tidy(rows[0][j]), _tidy(rows[1][j]), _tidy(rows[2][j])) for j in (0, 2))
    return (rows[0][3], rows[1][3], rows[2][3]), x, z


def _tidy(value: float) -> float:
    nearest = round(value)
    return float(nearest) if abs(value - nearest) < 1e-14 else value


def transformation_of(place: Place) -> Any:
    """The kernel's `gp_Trsf` that moves local coordinates of `place` into the world."""
    from OCP.gp import gp_Trsf

    result = gp_Trsf()
    (a, d, g), (b, e, h), (c, f, i) = place.x, place.y, place.z
    x, y, z = place.origin
    result.SetValues(a, b, c, x, d, e, f, y, g, h, i, z)
    return result


def location_of(place: Place) -> cq.Location:
    """The place as a CadQuery location."""
    import cadquery as cq

    return cq.Location(transformation_of(place))
