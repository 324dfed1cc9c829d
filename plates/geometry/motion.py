"""Planar motions: turns, mirror images and shifts, exact at quarter turns."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["TURN", "Bounds", "Motion", "Point", "cos_sin_deg"]

Point = tuple[float, float]
Bounds = tuple[float, float, float, float]
TURN = 2.0 * math.pi


@dataclass(frozen=True, slots=True)
class Motion:
    """A planar map that keeps lengths: turn, optional mirror, then shift.

    Takes (x, y) to (a·x + b·y + e, c·x + d·y + f).

    >>> Motion.turn(90).apply((1.0, 0.0))
    (0.0, 1.0)
    >>> Motion.mirror_x().flips
    True
    """

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def shift(cls, x: float, y: float) -> Motion:
        """A shift by (x, y) mm."""
        return cls(e=x, f=y)

    @classmethod
    def turn(cls, angle_deg: float) -> Motion:
        """A turn about the origin, counter-clockwise, in degrees; quarter turns are exact."""
        cosine, sine = cos_sin_deg(angle_deg)
        return cls(cosine, -sine, sine, cosine)

    @classmethod
    def mirror_x(cls) -> Motion:
        """The mirror image that swaps left and right (x becomes −x)."""
        return cls(a=-1.0)

    @property
    def flips(self) -> bool:
        """Whether the map turns left into right."""
        return self.a * self.d - self.b * self.c < 0

    def apply(self, point: Point) -> Point:
        """Where a point goes."""
        x, y = point
        return (self.a * x + self.b * y + self.e, self.c * x + self.d * y + self.f)

    def turned(self, vector: Point) -> Point:
        """Where a direction goes: without the shift."""
        x, y = vector
        return (self.a * x + self.b * y, self.c * x + self.d * y)

    def then(self, after: Motion) -> Motion:
        """This map followed by another."""
        e, f = after.apply((self.e, self.f))
        a, c = after.turned((self.a, self.c))
        b, d = after.turned((self.b, self.d))
        return Motion(a, b, c, d, e, f)

    @property
    def inverse(self) -> Motion:
        """The map that takes every point back.

        >>> Motion.turn(90).then(Motion.shift(3, 1)).inverse.apply((3.0, 1.0))
        (0.0, 0.0)
        """
        # the linear part keeps lengths, so its transpose takes it back
        e, f = -(self.a * self.e + self.c * self.f), -(self.b * self.e + self.d * self.f)
        return Motion(self.a, self.c, self.b, self.d, e, f)


def cos_sin_deg(angle_deg: float) -> tuple[float, float]:
    """Cosine and sine of an angle in degrees, exact at quarter turns.

    >>> cos_sin_deg(270)
    (0.0, -1.0)
    """
    quarter, rest = divmod(angle_deg, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    radians = math.radians(angle_deg)
    return (math.cos(radians), math.sin(radians))
