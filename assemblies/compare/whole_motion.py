"""How a product as a whole was moved, turned or mirrored between two versions, so that this counts for nothing.

The motion under which the most plates of one shape lie where they lay is taken; the fewest means wins where several are as
good: none, then a shift, then a turn, then a mirror image.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.geometry.frame import Frame, Vector
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.tolerances import COSINE_ROUNDING, LEAST_LINE, SAME_PLACE

from .same_shape import Carriers, Likeness
from .version import Standing, Version

__all__ = ["STAYS", "WholeMotion", "lies_there", "planar_motion", "whole_motion"]

Floats = NDArray[np.float64]

MOST_TRIED = 400
"""So many motions are tried at most; products whose every plate has hundreds of twins are told apart by the first of them."""


@dataclass(frozen=True, slots=True)
class WholeMotion:
    """A motion of space that keeps lengths: v goes to `rows`·v + `shift`, a mirror image if `is_mirrored`.

    >>> WholeMotion(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), (5.0, 0.0, 0.0)).kind
    'moved'
    """

    rows: tuple[Vector, Vector, Vector] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    shift: Vector = (0.0, 0.0, 0.0)
    is_mirrored: bool = False

    @property
    def kind(self) -> Literal["none", "moved", "turned", "mirrored"]:
        """What it does to the product."""
        if self.is_mirrored:
            return "mirrored"
        if self.turn_deg > 0.0:
            return "turned"
        return "moved" if math.hypot(*self.shift) > LEAST_LINE else "none"

    @property
    def turn_deg(self) -> float:
        """Angle of its turn, 0 to 180; of a mirror image, that of what remains with all three axes reversed."""
        trace = sum(self.rows[i][i] for i in range(3)) * (-1.0 if self.is_mirrored else 1.0)
        cosine = max(-1.0, min(1.0, (trace - 1.0) / 2.0))
        return math.degrees(math.acos(cosine)) if cosine < 1.0 - COSINE_ROUNDING else 0.0

    @property
    def matrix(self) -> Floats:
        """As a 4 × 4 matrix."""
        made = np.eye(4)
        made[:3, :3], made[:3, 3] = self.rows, self.shift
        return made

    def point(self, spot: Vector) -> Vector:
        """Where a point goes."""
        x, y, z = (sum(a * b for a, b in zip(row, spot, strict=True)) + s for row, s in zip(self.rows, self.shift, strict=True))
        return (x, y, z)


STAYS = WholeMotion()
"""No motion."""


def matrix_of(frame: Frame) -> Floats:
    """The frame as a 4 × 4 matrix."""
    made = np.eye(4)
    made[:3, 0], made[:3, 1], made[:3, 2], made[:3, 3] = frame.x, frame.y, frame.z, frame.origin
    return made


def planar_motion(first: Standing, second: Standing, whole: WholeMotion) -> Motion | None:
    """How the first plate, moved along, lies on the second one's own plane; None if it is not in that very slab of space."""
    seen = np.linalg.inv(matrix_of(second.frame)) @ whole.matrix @ matrix_of(first.frame)
    up = float(seen[2, 2])
    if abs(abs(up) - 1.0) > COSINE_ROUNDING:
        return None
    t = second.shape.sheet.thickness_mm
    wide, high = first.shape.size_mm
    low = [float(seen[2, 0] * x + seen[2, 1] * y + seen[2, 3]) for x, y in ((0.0, 0.0), (wide, 0.0), (0.0, high))]
    floor = 0.0 if up > 0 else t
    if any(abs(value - floor) > LEAST_LINE for value in low):
        return None
    (a, b, e), (c, d, f) = ((float(seen[i, 0]), float(seen[i, 1]), float(seen[i, 3])) for i in (0, 1))
    return Motion(a, b, c, d, e, f)


def lies_there(first: Standing, second: Standing, carriers: Carriers, whole: WholeMotion) -> bool:
    """Whether the first plate, moved along, is the second one: the same material in the same place, the same face up."""
    motion = planar_motion(first, second, whole)
    if motion is None or not carriers.has(motion):
        return False
    # a piece on its other face: the planar part is a mirror image and the motion in space is none, or the other way round
    is_over = motion.flips is not whole.is_mirrored
    if is_over and (first.shape.marks or not first.shape.sheet.both_faces_good or first.bends):
        return False
    return _same_bends(first, second)


def _same_bends(first: Standing, second: Standing) -> bool:
    ours, theirs = sorted(first.bends), sorted(second.bends)
    return len(ours) == len(theirs) and all(
        abs(a - b) < LEAST_LINE and abs(r - q) < LEAST_LINE for (a, r), (b, q) in zip(ours, theirs, strict=True)
    )


def whole_motion(before: Version, after: Version, likeness: Likeness) -> WholeMotion:
    """The motion under which the most plates of `before` lie where one of the same shape lies in `after`."""
    classes = _classes(before, after, likeness)
    if not classes:
        return STAYS
    most = sum(min(len(a), len(b)) for a, b, _ in classes)
    best, best_key = STAYS, (_count(classes, STAYS), 0)
    if best_key[0] == most:
        return best
    for tried, candidate in enumerate(_candidates(classes)):
        if tried == MOST_TRIED:
            break
        key = (_count(classes, candidate), -("none", "moved", "turned", "mirrored").index(candidate.kind))
        if key > best_key:
            best, best_key = candidate, key
        if key == (most, -1):
            break
    return best


_Class = tuple[list[Standing], list[Standing], Carriers]


def _classes(before: Version, after: Version, likeness: Likeness) -> list[_Class]:
    """Plates of one shape in both versions, those of the rarest shape first."""
    ours: dict[int, list[Standing]] = defaultdict(list)
    theirs: dict[int, list[Standing]] = defaultdict(list)
    for groups, version in ((ours, before), (theirs, after)):
        for plate in version.standing:
            groups[id(plate.shape)].append(plate)
    by_key = defaultdict(list)
    for plates in theirs.values():
        by_key[plates[0].shape.key[:2]].append(plates)
    found = []
    for plates in ours.values():
        for others in by_key[plates[0].shape.key[:2]]:
            carriers = likeness.of(plates[0].shape, others[0].shape)
            if carriers.is_same_shape:
                found.append((plates, others, carriers))
    return sorted(found, key=lambda one: len(one[0]) * len(one[1]))


def _candidates(classes: Sequence[_Class]) -> Iterator[WholeMotion]:
    """Motions that carry a plate of one version onto one of the other."""
    seen: set[tuple[float, ...]] = set()
    for plates, others, carriers in classes:
        t = others[0].shape.sheet.thickness_mm
        for other in others:
            for motion in (*carriers.direct, *carriers.mirrored):
                for over in (False, True):
                    made = matrix_of(other.frame) @ _in_space(motion, t, over) @ np.linalg.inv(matrix_of(plates[0].frame))
                    key = tuple(np.round(made[:3], 3).ravel().tolist())
                    if key not in seen:
                        seen.add(key)
                        yield _whole(made)


def _in_space(motion: Motion, t: float, over: bool) -> Floats:
    """A planar motion as one of space that keeps the sheet's slab: upside down if `over`."""
    made = np.eye(4)
    made[0, :2], made[1, :2] = (motion.a, motion.b), (motion.c, motion.d)
    made[0, 3], made[1, 3] = motion.e, motion.f
    if over:
        made[2, 2], made[2, 3] = -1.0, t
    return made


def _whole(made: Floats) -> WholeMotion:
    # the rounding of coordinates in files must not make a turn of nothing
    near = np.round(made[:3, :3])
    turn = near if np.abs(made[:3, :3] - near).max() < SAME_PLACE else made[:3, :3]
    x, y, z = ((float(r[0]), float(r[1]), float(r[2])) for r in turn)
    shift = made[:3, 3]
    return WholeMotion((x, y, z), (float(shift[0]), float(shift[1]), float(shift[2])), bool(np.linalg.det(turn) < 0))


def _count(classes: Sequence[_Class], whole: WholeMotion) -> int:
    """How many plates lie where one of their shape lies, by their middles and what they are across."""
    turn = whole.matrix[:3, :3]
    total = 0
    for plates, others, _ in classes:
        moved = np.array([p.middle for p in plates]) @ turn.T + whole.matrix[:3, 3]
        there = np.array([p.middle for p in others])
        facing = np.array([p.frame.z for p in plates]) @ turn.T
        across = np.array([p.frame.z for p in others])
        near = np.linalg.norm(moved[:, None] - there[None], axis=2) < LEAST_LINE
        along = np.abs(np.abs(facing @ across.T) - 1.0) < COSINE_ROUNDING
        total += int((near & along).any(axis=1).sum())
    return total
