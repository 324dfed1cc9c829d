"""Whether the parts of a panel keep clear of each other when it is laid flat: where they touch, they would be cut as one."""

from __future__ import annotations

from collections.abc import Sequence

from panelwright.joints.meeting.side import Bend
from panelwright.plates.errors import JointError
from panelwright.plates.geometry.curves import Loop, Point
from panelwright.plates.geometry.polygons import region_of
from panelwright.plates.tolerances import FLAT_TOUCH, SAME_AREA

__all__ = ["check_spread", "strip_corners"]

INSET = 2 * FLAT_TOUCH
"""How far from its bend lines a strip is looked at: on them it is joined to its plates."""

ADVICE = "join one of them by fingers or tabs instead, or make it smaller"


def strip_corners(bend: Bend) -> list[Point]:
    """Corners (u, s) of what of a strip is to keep clear of everything else."""
    (low, high), length = bend.span, bend.length
    return [(low, INSET), (high, INSET), (high, length - INSET), (low, length - INSET)]


def check_spread(
    kinds: str,
    names: Sequence[str],
    unslit: Sequence[Loop],
    loops: Sequence[Loop],
    plates: Sequence[tuple[str, Sequence[Loop]]],
    strips: Sequence[tuple[str, Sequence[Point]]],
) -> None:
    """Raises `JointError` if parts of a panel lie on each other or touch when laid flat.

    `kinds` names the kinds of joints that bend it, `unslit` is the whole panel before its slits and `loops` are those of all
    its parts; `plates` are the flat parts with their loops, `strips` the bent ones with their corners a little inside their
    bend lines, all with words for messages.
    """
    missing = sum(loop.area for loop in loops) - sum(loop.area for loop in unslit)
    if abs(missing) > SAME_AREA:
        listed = ", ".join(repr(name) for name in names)
        raise JointError(
            f"{kinds}: laid flat, plates {listed} and the strips between them lie on each other by {missing:.2f} mm²; {ADVICE}",
            plates=tuple(names),
            value=missing,
            limit=SAME_AREA,
        )
    import shapely

    shapes = [(words, region_of(own, 0.01)) for words, own in plates]
    shapes += [(words, shapely.Polygon(corners)) for words, corners in strips]
    regions = [shape for _, shape in shapes]
    first, second = shapely.STRtree(regions).query(regions, predicate="dwithin", distance=FLAT_TOUCH)
    for i, j in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if i < j:
            raise JointError(
                f"{kinds}: laid flat, {shapes[i][0]} and {shapes[j][0]} touch, so that they would be cut as one; leave a "
                f"gap between them, {ADVICE}",
                plates=tuple(names),
                limit=FLAT_TOUCH,
            )
