"""Right-handed frames in space: where a plate stands.

A frame says where a plate's local origin is and which way its local axes point.  Public functions also take CadQuery's
`Location` and `Plane`; `Frame.of` turns either into a frame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panelwright.plates._validate import finite, instance, shown, vector
from panelwright.plates.errors import PlacementError
from panelwright.plates.tolerances import ANGLE_TOLERANCE, LARGEST

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
                f"direction {shown(direction)} is not known; give one of {', '.join(AXES)} or a vector", value=direction
            )
        return AXES[name]
    return unit(vector(direction, "direction", f"one of {', '.join(AXES)} or a vector (x, y, z)"))


@dataclass(frozen=True, slots=True)
class Frame:
    """An origin in mm and three unit axes at right angles, x × y = z.

    Raises `SizeError` for what is no vector and for an origin further away than 100 m, `PlacementError` for axes that are not
    unit vectors or not at right angles; `facing` and `turned` make axes that are.

    >>> Frame().then(Frame.turned("Z", 90)).direction((1.0, 0.0, 0.0))
    (0.0, 1.0, 0.0)
    """

    origin: Vector = (0.0, 0.0, 0.0)
    x: Vector = (1.0, 0.0, 0.0)
    y: Vector = (0.0, 1.0, 0.0)
    z: Vector = (0.0, 0.0, 1.0)

    def __post_init__(self) -> None:
        for name in ("origin", "x", "y", "z"):
            value = getattr(self, name)
            # frames are made by the thousand, nearly all of them of floats already
            if type(value) is not tuple or len(value) != 3 or not type(value[0]) is type(value[1]) is type(value[2]) is float:
                object.__setattr__(self, name, vector(value, f"{name} of a frame"))
        ox, oy, oz = self.origin
        x, y, z = self.x, self.y, self.z
        if not (abs(ox) <= LARGEST and abs(oy) <= LARGEST and abs(oz) <= LARGEST):
            vector(self.origin, "origin of a frame")
        off = max(abs(dot(x, x) - 1), abs(dot(y, y) - 1), abs(dot(x, y)), *map(abs, minus(cross(x, y), z)))
        if not off <= ANGLE_TOLERANCE:
            raise PlacementError(
                f"axes of a frame are {x}, {y} and {z}, {off:.3g} off unit vectors at right angles with x × y = z; give such, "
                "or use Frame.facing(origin, show=…, right=…), which makes them so",
                value=(x, y, z),
                limit=ANGLE_TOLERANCE,
            )

    @classmethod
    def facing(cls, origin: Vector, *, show: Vector, right: Vector) -> Frame:
        """The frame with local z along `show` and local x along `right`, made square to z if it is not."""
        z = unit(vector(show, "show= of a frame"))
        along = vector(right, "right= of a frame")
        x = minus(along, scaled(z, dot(along, z)))
        if dot(x, x) <= ANGLE_TOLERANCE**2 * dot(along, along):
            raise PlacementError(f"show= and right= of a frame are both along {show}; give two directions", value=(show, right))
        x = unit(x)
        return cls(origin, x, cross(z, x), z)

    @classmethod
    def turned(cls, about: str | Vector, angle_deg: float) -> Frame:
        """A turn about an axis through the origin by an angle in degrees; quarter turns about X, Y, Z are exact."""
        k = axis(about)
        cosine, sine = cos_sin_deg(finite(angle_deg, "angle of a frame", unit="°"))

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
        if hasattr(getattr(place, "wrapped", None), "Transformation"):
            from panelwright.plates._kernel.values.place import origin_and_axes

            origin, x, z = origin_and_axes(place)  # pyright: ignore[reportArgumentType]  only a Location is left here
            return cls.facing(origin, show=z, right=x)
        raise PlacementError(
            f"{shown(place)} is no place; give a Frame, a cadquery Location or Plane, or one of the placement helpers",
            value=place,
        )

    def point(self, local: Vector) -> Vector:
        """World coordinates of a local point."""
        return plus(self.origin, self.direction(local))

    def direction(self, local: Vector) -> Vector:
        """World components of a local vector."""
        if type(local) is not tuple:  # an array's numbers would go on into all that is worked out from here
            local = vector(local, "vector given to a frame")
        try:
            a, b, c = local
            return (
                self.x[0] * a + self.y[0] * b + self.z[0] * c,
                self.x[1] * a + self.y[1] * b + self.z[1] * c,
                self.x[2] * a + self.y[2] * b + self.z[2] * c,
            )
        except (TypeError, ValueError, OverflowError):  # what is wrong with it is asked afterwards: this is called a lot
            return self.direction(vector(local, "vector given to a frame"))

    def local(self, world: Vector) -> Vector:
        """Local coordinates of a world point."""
        if type(world) is not tuple:
            world = vector(world, "point given to a frame")
        try:
            away = minus(world, self.origin)
        except (TypeError, IndexError, KeyError, OverflowError):
            away = minus(vector(world, "point given to a frame"), self.origin)
        return self.local_direction(away)

    def local_direction(self, world: Vector) -> Vector:
        """Local components of a world vector."""
        if type(world) is not tuple:
            world = vector(world, "vector given to a frame")
        try:
            return (dot(world, self.x), dot(world, self.y), dot(world, self.z))
        except (TypeError, IndexError, KeyError, OverflowError):
            return self.local_direction(vector(world, "vector given to a frame"))

    def then(self, outer: Frame) -> Frame:
        """This frame, given in the coordinates of `outer`, seen from outside `outer`."""
        instance(outer, Frame, "frame given to then()", "give a Frame", PlacementError)
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
        return Frame(plus(self.origin, vector(by, "shift of a frame")), self.x, self.y, self.z)
