"""Corner relief: a round cutter leaves a fillet in every inner corner, and a square tab does not go past it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from panelwright.plates._validate import positive
from panelwright.plates.curves import Arc, Line, Loop, Point

__all__ = ["Relief", "dog_bone", "relief_cuts", "t_bone"]


@dataclass(frozen=True, slots=True)
class Relief:
    """A round relief in each inner corner of a joint, for a cutter of `tool` mm diameter."""

    style: Literal["dog-bone", "T-bone"]
    tool: float


def dog_bone(tool: float) -> Relief:
    """Relief bored on the corner's bisector, so that its rim passes through the corner.

    >>> dog_bone(3.175).style
    'dog-bone'
    """
    return Relief("dog-bone", positive(tool, "tool diameter of a dog-bone"))


def t_bone(tool: float) -> Relief:
    """Relief bored into the shorter of the corner's two sides only, where the mating plate hides it better."""
    return Relief("T-bone", positive(tool, "tool diameter of a T-bone"))


def relief_cuts(loops: Sequence[Loop], corners: Iterable[tuple[Point, Relief]]) -> list[Loop]:
    """Circles to cut: one for each given corner that is an inner corner between two straight edges of the loops.

    Points of `corners` that are no inner corner of the finished outline (on an open side, say) get none.
    """
    wanted = list(corners)
    cuts: list[Loop] = []
    for loop in loops:
        for i in range(len(loop)):
            before, after = loop.segments[i - 1], loop.segments[i]
            if not isinstance(before, Line) or not isinstance(after, Line):
                continue
            spot = after.start
            relief = next((relief for point, relief in wanted if math.dist(point, spot) < 1e-6), None)
            if relief is None:
                continue
            ax, ay = before.tangent_at(1.0)
            bx, by = after.tangent_at(0.0)
            if ax * by - ay * bx > -1e-6:
                continue  # an outer corner: material lies on the left, so inner corners turn right
            radius = relief.tool / 2
            if relief.style == "dog-bone":
                # the free wedge opens between the way back along one edge and forward along the other, mirrored
                dx, dy = ax - bx, ay - by
                size = math.hypot(dx, dy)
                center = (spot[0] + dx / size * radius, spot[1] + dy / size * radius)
            elif before.length <= after.length:
                center = (spot[0] - ax * radius, spot[1] - ay * radius)
            else:
                center = (spot[0] + bx * radius, spot[1] + by * radius)
            start = (center[0] + radius, center[1])
            cuts.append(Loop((Arc(start, start, center, math.tau),)))
    return cuts
