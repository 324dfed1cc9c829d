"""Corner relief: a round cutter leaves a fillet in every inner corner, and a square tab does not go past it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from panelwright.plates._validate import one_of, positive, shown
from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.curves import Arc, Line, Loop, Point, Segment
from panelwright.plates.tolerances import SAME_PLACE, SMOOTH_TURN

__all__ = ["Relief", "dog_bone", "relief_cuts", "require_relief", "t_bone"]


@dataclass(frozen=True, slots=True)
class Relief:
    """A round relief in each inner corner of a joint, for a cutter of `tool` mm diameter.

    `style` is "dog-bone" or "T-bone"; `dog_bone` and `t_bone` make one.  Raises `SizeError` for other styles and for a tool
    that is not above 0 mm.

    >>> Relief("dog-bone", 3.175) == dog_bone(3.175)
    True
    """

    style: Literal["dog-bone", "T-bone"]
    tool: float

    def __post_init__(self) -> None:
        one_of(self.style, ("dog-bone", "T-bone"), "style of a relief")
        object.__setattr__(self, "tool", positive(self.tool, f"tool diameter of a {self.style}"))


def require_relief(given: Relief | None, what: str) -> Relief | None:
    """The relief as given.  Raises `SizeError` for what is none.

    >>> require_relief(None, "relief of tabs") is None
    True
    """
    if given is not None and not isinstance(given, Relief):
        raise SizeError(f"{what} is {shown(given)}; give dog_bone(tool) or t_bone(tool), with the tool's diameter", value=given)
    return given


def dog_bone(tool: float) -> Relief:
    """Relief bored on the corner's bisector, so that its rim passes through the corner.

    `tool` is the cutter's diameter in mm.  Raises `SizeError` if that is not above 0.

    >>> dog_bone(3.175).style
    'dog-bone'
    """
    return Relief("dog-bone", tool)


def t_bone(tool: float) -> Relief:
    """Relief bored into one of the corner's two sides only.

    In a slot that is the shorter side, where the plate that goes in hides it better; at the root of a tab or finger it is
    the shoulder, so that the tab keeps its width.  A side of which the two reliefs at its ends would leave less than a third
    is spared if the other one is longer.

    `tool` is the cutter's diameter in mm.  Raises `SizeError` if that is not above 0.

    >>> t_bone(3.175).tool
    3.175
    """
    return Relief("T-bone", tool)


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
            relief = next((relief for point, relief in wanted if math.dist(point, spot) < SAME_PLACE), None)
            if relief is None:
                continue
            if not _turns_in(before, after):
                continue  # an outer corner: material lies on the left, so inner corners turn right
            ax, ay = before.tangent_at(1.0)
            bx, by = after.tangent_at(0.0)
            radius = relief.tool / 2
            if relief.style == "dog-bone":
                # the free wedge opens between the way back along one edge and the way on along the other
                dx, dy = bx - ax, by - ay
                size = math.hypot(dx, dy)
                center = (spot[0] + dx / size * radius, spot[1] + dy / size * radius)
            elif _bores_into_first(loop, i, relief.tool):
                center = (spot[0] - ax * radius, spot[1] - ay * radius)
            else:
                center = (spot[0] + bx * radius, spot[1] + by * radius)
            start = (center[0] + radius, center[1])
            cuts.append(Loop((Arc(start, start, center, math.tau),)))
    return cuts


def _bores_into_first(loop: Loop, i: int, tool: float) -> bool:
    """Whether a T-bone at corner `i` goes into the side before it rather than the one after it.

    A side that ends in an outer corner is the flank of a tab; a side between two inner corners is the end of a slot or a
    shoulder between tabs.
    """
    before, after = loop.segments[i - 1], loop.segments[i]

    def worth(side: Segment, *, is_flank: bool) -> tuple[bool, bool, int]:
        leaves_a_third = side.length >= 3 * tool - SAME_PLACE
        steps = round(side.length / SAME_PLACE)  # sides of one length are equal, however the product stands
        return (leaves_a_third, not is_flank, steps if is_flank else -steps)

    first = worth(before, is_flank=not _turns_in(loop.segments[i - 2], before))
    second = worth(after, is_flank=not _turns_in(after, loop.segments[(i + 1) % len(loop)]))
    return first >= second


def _turns_in(before: Segment, after: Segment) -> bool:
    (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
    return ax * by - ay * bx < -SMOOTH_TURN
