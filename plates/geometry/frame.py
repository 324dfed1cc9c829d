"""Right-handed frames in space: where a plate stands.

A frame says where a plate's local origin is and which way its local axes point.  Public functions also take CadQuery's
`Location` and `Plane`; `Frame.of` turns either into a frame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panelwright.plates.errors import PlacementError
from panelwright.plates.tolerances import ANGLE_TOLERANCE

from .curves import cos_sin_deg

if TYPE_CHECKING:
    import cadquery as cq

__all__ = ["AXES", "Frame", "Vector", "axis", "cross", "dot", "minus", "plus", "scaled", "unit"]

Vector = tuple[float, float, float]

AXES: dict[str, Vector] = {
    "+X": (1.0, 0.0, 0.0),
    "-X": (-1.0, 0.0, 0.0),
    "+Y": (0.0, 1.0, 0.0),
    "-Y": (0.0, -1.0, 0.0),
    "+Z": (0.0, 0.0, 1.0),
    "-Z": (0.0, 0.0, -1.0),
}


def dot(a: Vector, b: Vector) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """Vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def plus(a: Vector, b: Vector) -> Vector:
    """Sum."""
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def minus(a: Vector, b: Vector) -> Vector:
    """Difference."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def scaled(a: Vector, factor: float) -> Vector:
    """Multiple."""
    return (a[0] * factor, a[1] * factor, a[2] * factor)


def unit(a: Vector) -> Vector:
    """The direction of a vector.  Raises `PlacementError` for one without a direction."""
    size = math.sqrt(dot(a, a))
    if not math.isfinite(size) or size < ANGLE_TOLERANCE:
        raise PlacementError(f"{a} has no direction; give a vector longer than 0", value=a)
    return (a[0] / size, a[1] / size, a[2] / size)


def axis(direction: str | Vector) -> Vector:
    """A unit vector from "+X", "-Y" and the like ("X" is "+X"), or from any vector.

    >>> axis("-Y")
    (0.0, -1.0, 0.0)
    """
    if isinstance(direction, str):
        name = direction.strip().upper()
        name = name if name[:1] in "+-" else f"+{name}"
        if name not in AXES:
            raise PlacementError(
                f"direction {direction!r} is not known; give one of {', '.join(AXES)} or a vector", value=direction
            )
        return AXES[name]
    return unit((float(direction[0]), float(direction[1]), float(direction[2])))


@dataclass(frozen=True, slots=True)
class Frame:
    """An origin in mm and three unit axes at right angles, x × y = z.

    >>> Frame().then(Frame.turned("Z", 90)).direction((1.0, 0.0, 0.0))
    (0.0, 1.0, 0.0)
    """

    origin: Vector = (0.0, 0.0, 0.0)
    x: Vector = (1.0, 0.0, 0.0)
    y: Vector = (0.0, 1.0, 0.0)
    z: Vector = (0.0, 0.0, 1.0)

    @classmethod
    def facing(cls, origin: Vector, *, show: Vector, right: Vector) -> Frame:
        """The frame with local z along `show` and local x along `right`, made square to z if it is not."""
        z = unit(show)
        x = unit(minus(right, scaled(z, dot(right, z))))
        return cls(origin, x, cross(z, x), z)

    @classmethod
    def turned(cls, about: str | Vector, angle_deg: float) -> Frame:
        """A turn about an axis through the origin by an angle in degrees; quarter turns about X, Y, Z are exact."""
        k = axis(about)
        cosine, sine = cos_sin_deg(angle_deg)

        def rotate(v: Vector) -> Vector:
            along = scaled(k, dot(k, v) * (1.0 - cosine))
            return plus(plus(scaled(v, cosine), scaled(cross(k, v), sine)), along)

        return cls((0.0, 0.0, 0.0), rotate(AXES["+X"]), rotate(AXES["+Y"]), rotate(AXES["+Z"]))

    @classmethod
    def of(cls, place: Frame | cq.Location | cq.Plane) -> Frame:
        """A frame from a frame, a CadQuery `Location` or a CadQuery `Plane`."""
        if isinstance(place, Frame):
            return place
        if hasattr(place, "zDir"):
            plane: Any = place
            origin, x, z = (tuple(v.toTuple()) for v in (plane.origin, plane.xDir, plane.zDir))
            return cls.facing(origin, show=z, right=x)
        if hasattr(place, "wrapped"):
            from panelwright.plates._kernel.values.place import frame_of_location

            return frame_of_location(place)
        raise PlacementError(
            f"{place!r} is no place; give a Frame, a cadquery Location or Plane, or one of the placement helpers",
            value=place,
        )

    def point(self, local: Vector) -> Vector:
        """World coordinates of a local point."""
        return plus(self.origin, self.direction(local))

    def direction(self, local: Vector) -> Vector:
        """World components of a local vector."""
        a, b, c = local
        return (
            self.x[0] * a + self.y[0] * b + self.z[0] * c,
            self.x[1] * a + self.y[1] * b + self.z[1] * c,
            self.x[2] * a + self.y[2] * b + self.z[2] * c,
        )

    def local(self, world: Vector) -> Vector:
        """Local coordinates of a world point."""
        return self.local_direction(minus(world, self.origin))

    def local_direction(self, world: Vector) -> Vector:
        """Local components of a world vector."""
        return (dot(world, self.x), dot(world, self.y), dot(world, self.z))

    def then(self, outer: Frame) -> Frame:
        """This frame, given in the coordinates of `outer`, seen from outside `outer`."""
        return Frame(
            outer.point(self.origin),
            outer.direction(self.x),
            outer.direction(self.y),
            outer.direction(self.z),
        )

    @property
    def inverse(self) -> Frame:
        """The frame that takes coordinates back: `frame.then(frame.inverse)` is the world's own.

        >>> Frame.turned("Z", 90).shifted((1.0, 2.0, 0.0)).inverse.point((1.0, 2.0, 0.0))
        (0.0, 0.0, 0.0)
        """
        rows = ((self.x[i], self.y[i], self.z[i]) for i in range(3))
        x, y, z = rows
        ox, oy, oz = self.local((0.0, 0.0, 0.0))
        return Frame((ox, oy, oz), x, y, z)

    def shifted(self, by: Vector) -> Frame:
        """The frame moved by a world vector."""
        return Frame(plus(self.origin, by), self.x, self.y, self.z)
