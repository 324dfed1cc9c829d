"""What a machine follows: one path of a mark or a cut, of one part."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from panelwright.plates.geometry.curves import Bounds, Point, Segment, around
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.tolerances import WRITTEN

__all__ = ["CutKind", "CutPath"]

CutKind = Literal["mark", "inside", "outside"]
"""What a path does: it only marks, cuts something out of a part, or cuts the part itself free."""


@dataclass(frozen=True)
class CutPath:
    """One path: `segments` end to end, closed or open; `piece` numbers the part on its sheet that it belongs to.

    >>> from panelwright.plates import disc
    >>> hole = CutPath("inside", disc(10).loops[0].segments, 0)
    >>> hole.is_closed, round(hole.length_mm, 3)
    (True, 31.416)
    """

    kind: CutKind
    segments: tuple[Segment, ...]
    piece: int

    @property
    def start(self) -> Point:
        """Where the beam goes on."""
        return self.segments[0].start

    @property
    def end(self) -> Point:
        """Where the beam goes off."""
        return self.segments[-1].end

    @property
    def is_closed(self) -> bool:
        """Whether it ends where it starts."""
        return math.dist(self.start, self.end) <= WRITTEN

    @cached_property
    def length_mm(self) -> float:
        """Length in mm."""
        return math.fsum(segment.length for segment in self.segments)

    @cached_property
    def bounds(self) -> Bounds:
        """(x least, y least, x most, y most) in mm."""
        return around(segment.bounds for segment in self.segments)

    def moved(self, motion: Motion) -> CutPath:
        """The path after a motion, travelled the same way."""
        return CutPath(self.kind, tuple(segment.moved(motion) for segment in self.segments), self.piece)
