"""At which angle an outline goes into a rectangle, of all the angles there are.

Only the corners of its convex hull count.  Turned by θ, the hull is d·cos(θ + φ) wide, where d and φ are length and direction
of the line between its leftmost corner and its rightmost one.  These two stay the same until a side stands upright, so the
width is made of pieces of cosines, which are concave; so is the height.  What is left over beside it and above it is convex
on each piece, and the lesser of the two is greatest at an end of a piece or where both are equal, which is an equation in one
cosine.  Looking at these angles alone therefore looks at all of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from panelwright.plates.geometry.curves import Loop, Point

from .flatten import covering_polygon

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["BestTurn", "best_turn", "goes_turned", "hull_of", "turn_onto"]

TURNED_SPARE: Final = 0.01
"""How much of the room in mm must be left over where a panel goes in at an angle only.  A nest rounds outlines outwards to its
grid and rooms inwards, by 8 µm in all at most, so that what fits by this is laid out too."""

DECIMALS: Final = (2, 4, 6)
"""Decimals of a degree that an angle is rounded to: the fewest with which the outline still fits."""

ROOM_DECIMALS: Final = 9
"""Decimals of a mm to which the room of two angles is compared: of equal ones the smaller angle is taken, on every machine."""


@dataclass(frozen=True, slots=True)
class BestTurn:
    """The angle in degrees at which an outline has the most room in a rectangle, and that room.

    `room` is what is left over in mm beside it or above it, whichever is less; negative where it is too large.
    """

    turn_deg: float
    room: float


def hull_of(loops: Sequence[Loop]) -> list[Point]:
    """Corners in mm of a convex outline that holds the first loop and stands off its curves by 0.02 mm at most.

    >>> from panelwright.plates import rectangle
    >>> len(hull_of(rectangle(640, 50).loops))
    4
    """
    import shapely

    hull = covering_polygon(loops[:1]).convex_hull
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(hull)[:-1]]


def best_turn(corners: Sequence[Point], size: tuple[float, float]) -> BestTurn:
    """The turn in [0°, 180°), counter-clockwise, that leaves a convex outline the most room in a rectangle of `size` in mm.

    Exact but for rounding: no angle between those that are looked at leaves more.  A half turn changes no box.

    >>> ledge = [(0, 0), (640, 0), (640, 50), (0, 50)]
    >>> best = best_turn(ledge, (590, 390))
    >>> round(best.turn_deg, 2), round(best.room, 2)
    (31.13, 16.32)
    >>> best_turn(ledge, (600, 50)).room
    -40.0
    """
    points = np.asarray(corners, dtype=float)
    turns = np.array(sorted({turn % math.pi for turn in _critical(points, size)}))
    rooms = np.round(_rooms(points, turns, size), ROOM_DECIMALS)
    best = int(np.argmax(rooms))  # the first of equal ones
    return BestTurn(math.degrees(float(turns[best])), float(rooms[best]))


def goes_turned(corners: Sequence[Point], turn_deg: float, size: tuple[float, float]) -> bool:
    """Whether a convex outline goes into a rectangle of `size` in mm at a turn in degrees, with `TURNED_SPARE` left over."""
    return float(_rooms(np.asarray(corners), np.radians([turn_deg]), size)[0]) >= TURNED_SPARE


def turn_onto(loops: Sequence[Loop], size: tuple[float, float]) -> float | None:
    """The turn in degrees at which a panel goes into a rectangle of `size` in mm with the most room; None if at none.

    Rounded to 0.01°, finer only where that takes the room away.  Meant for panels that don't go in by quarter turns.

    >>> from panelwright.plates import rectangle
    >>> turn_onto(rectangle(640, 50).loops, (590, 390)), turn_onto(rectangle(700, 50).loops, (590, 390))
    (31.13, None)
    """
    x0, y0, x1, y1 = loops[0].bounds
    if min(size) <= 0 or max(x1 - x0, y1 - y0) > math.hypot(*size):  # longer than the diagonal
        return None
    corners = hull_of(loops)
    best = best_turn(corners, size)
    for decimals in DECIMALS:
        turn = round(best.turn_deg, decimals) % 180.0
        if goes_turned(corners, turn, size):
            return turn
    return None


def _critical(points: NDArray[np.float64], size: tuple[float, float]) -> Iterator[float]:
    """Angles in radians at which the most room can be: a side is along an axis, or as much is left over beside as above."""
    sides = np.roll(points, -1, axis=0) - points
    quarter = math.pi / 2
    upright = sorted({float(turn) % quarter for turn in -np.arctan2(sides[:, 1], sides[:, 0])})
    ends = [*upright, *(turn + quarter for turn in upright), upright[0] + math.pi]
    yield from ends
    low, high = np.array(ends[:-1]), np.array(ends[1:])
    middles = (low + high) / 2
    cosine, sine = np.cos(middles)[:, None], np.sin(middles)[:, None]
    x, y = points[:, 0], points[:, 1]
    across, along = x * cosine - y * sine, x * sine + y * cosine
    wide = points[across.argmax(axis=1)] - points[across.argmin(axis=1)]
    tall = points[along.argmax(axis=1)] - points[along.argmin(axis=1)]
    # width is wide.x·cos θ − wide.y·sin θ and height tall.x·sin θ + tall.y·cos θ; they differ as the rectangle's sides do
    a, b = wide[:, 0] - tall[:, 1], -wide[:, 1] - tall[:, 0]
    reach = np.hypot(a, b)
    difference = size[0] - size[1]
    for number in np.flatnonzero((reach > 0) & (reach >= abs(difference))):
        middle = math.atan2(b[number], a[number])
        half = math.acos(difference / float(reach[number]))
        for turn in (middle - half, middle + half):
            # the one of its turns that is not below the piece's beginning
            placed = float(low[number]) + (turn - float(low[number])) % (2 * math.pi)
            if placed <= high[number]:
                yield placed


def _rooms(points: NDArray[np.float64], turns: NDArray[np.float64], size: tuple[float, float]) -> NDArray[np.float64]:
    """What is left over at each turn, in radians, beside the outline or above it, whichever is less."""
    cosine, sine = np.cos(turns)[:, None], np.sin(turns)[:, None]
    across = points[:, 0] * cosine - points[:, 1] * sine
    along = points[:, 0] * sine + points[:, 1] * cosine
    left: NDArray[np.float64] = np.minimum(size[0] - np.ptp(across, axis=1), size[1] - np.ptp(along, axis=1))
    return left
