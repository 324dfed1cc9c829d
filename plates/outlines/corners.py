"""Rounding and chamfering corners chosen by a CadQuery vertex selector."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from panelwright.plates.errors import OutlineError, SelectionError
from panelwright.plates.geometry.curves import Arc, Line, Loop, Point, Segment

__all__ = ["chamfer_corners", "round_corners"]

SMOOTH = 1e-6
"""Turns below this many radians are no corner."""


def round_corners(loops: Sequence[Loop], radius: float, selector: str | None) -> tuple[Loop, ...]:
    """The loops with chosen corners replaced by tangent arcs."""

    def setback(turn: float) -> float:
        return radius * math.tan(abs(turn) / 2)

    def bridge(start: Point, end: Point, turn: float, before: Line) -> Segment:
        tx, ty = before.tangent_at(1.0)
        side = math.copysign(radius, turn)
        return Arc(start, end, (start[0] - ty * side, start[1] + tx * side), turn)

    return _replace(loops, selector, f"radius of {radius:g} mm", setback, bridge)


def chamfer_corners(loops: Sequence[Loop], size: float, selector: str | None) -> tuple[Loop, ...]:
    """The loops with chosen corners cut straight, `size` mm along each side."""
    return _replace(loops, selector, f"chamfer of {size:g} mm", lambda _: size, lambda s, e, _t, _b: Line(s, e))


def _replace(
    loops: Sequence[Loop],
    selector: str | None,
    what: str,
    setback: Callable[[float], float],
    bridge: Callable[[Point, Point, float, Line], Segment],
) -> tuple[Loop, ...]:
    chosen = _chosen(loops, selector)
    result: list[Loop] = []
    for number, loop in enumerate(loops):
        segments = list(loop.segments)
        count = len(segments)
        cuts: dict[int, tuple[float, float]] = {}
        for i in range(count):
            if (number, i) not in chosen:
                continue
            before, after = segments[i - 1], segments[i]
            if not isinstance(before, Line) or not isinstance(after, Line):
                raise OutlineError(
                    f"the corner at {_text(after.start)} lies between {_kind(before)} and {_kind(after)}; only corners "
                    "between two straight edges can be rounded or chamfered here: draw this one in a CadQuery Sketch",
                    value=after.start,
                )
            turn = corner_angle(before, after)
            cuts[i] = (setback(turn), turn)
        for i, segment in enumerate(segments):
            needed = cuts.get(i, (0.0, 0.0))[0] + cuts.get((i + 1) % count, (0.0, 0.0))[0]
            if needed > segment.length + 1e-9:
                raise OutlineError(
                    f"a {what} needs {needed:.3f} mm of the edge from {_text(segment.start)} to {_text(segment.end)}, "
                    f"which is {segment.length:.3f} mm long; make it smaller",
                    value=needed,
                    limit=segment.length,
                )
        fresh: list[Segment] = []
        for i, segment in enumerate(segments):
            start, end = segment.start, segment.end
            if isinstance(segment, Line):
                tx, ty = segment.tangent_at(0.0)
                first, last = cuts.get(i, (0.0, 0.0))[0], cuts.get((i + 1) % count, (0.0, 0.0))[0]
                start = (start[0] + tx * first, start[1] + ty * first)
                end = (end[0] - tx * last, end[1] - ty * last)
                if math.dist(start, end) > 1e-9:
                    fresh.append(Line(start, end))
            else:
                fresh.append(segment)
            if (i + 1) % count in cuts:
                after = segments[(i + 1) % count]
                step, turn = cuts[(i + 1) % count]
                ax, ay = after.tangent_at(0.0)
                beyond = (after.start[0] + ax * step, after.start[1] + ay * step)
                assert isinstance(segment, Line)  # checked above: only corners between lines are in `cuts`
                fresh.append(bridge(end, beyond, turn, segment))
        result.append(Loop(tuple(fresh)))
    return tuple(result)


def _chosen(loops: Sequence[Loop], selector: str | None) -> set[tuple[int, int]]:
    """Numbers of loop and segment whose start is a chosen corner."""
    corners: dict[tuple[int, int], Point] = {}
    for number, loop in enumerate(loops):
        if selector is None and number > 0:
            break
        for i in range(len(loop)):
            if abs(corner_angle(loop.segments[i - 1], loop.segments[i])) > SMOOTH:
                corners[(number, i)] = loop.segments[i].start
    if selector is None:
        picked = set(corners)
    else:
        from panelwright.plates._kernel.solids.select import select_points

        keys = list(corners)
        picked = {keys[i] for i in select_points([corners[key] for key in keys], selector)}
    if not picked:
        raise SelectionError(
            f"corner selector {selector!r} picks none of the {len(corners)} corners; "
            "use a CadQuery vertex selector such as '>Y' or '<X and >Y'",
            value=selector,
        )
    return picked


def _text(point: Point) -> str:
    return f"({point[0]:.2f}, {point[1]:.2f})"


def _kind(segment: Segment) -> str:
    return {"Line": "a straight edge", "Arc": "an arc", "EllipseArc": "an ellipse"}.get(
        type(segment).__name__, "a spline"
    )


def corner_angle(before: Segment, after: Segment) -> float:
    """Signed turn in radians from one segment to the next, positive to the left."""
    ax, ay = before.tangent_at(1.0)
    bx, by = after.tangent_at(0.0)
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)
