"""Rounding and chamfering corners chosen by a CadQuery vertex selector."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from panelwright.plates.errors import OutlineError, SelectionError
from panelwright.plates.geometry.curves import Arc, Line, Loop, Point, Segment
from panelwright.plates.tolerances import ROUNDING, SMOOTH_TURN

from .blends import Blend, chamfer, corner_angle, fillet

__all__ = ["chamfer_corners", "round_corners"]


def round_corners(loops: Sequence[Loop], radius: float, selector: str | None) -> tuple[Loop, ...]:
    """The loops with chosen corners, between straight edges and arcs, replaced by arcs tangent to both."""
    return _replace(loops, selector, f"radius of {radius:g} mm", lambda before, after: fillet(before, after, radius))


def chamfer_corners(loops: Sequence[Loop], size: float, selector: str | None) -> tuple[Loop, ...]:
    """The loops with chosen corners cut straight, `size` mm along each side, on arcs along their curve."""
    return _replace(loops, selector, f"chamfer of {size:g} mm", lambda before, after: chamfer(before, after, size))


def _replace(
    loops: Sequence[Loop],
    selector: str | None,
    what: str,
    blend: Callable[[Line | Arc, Line | Arc], Blend | None],
) -> tuple[Loop, ...]:
    chosen = _chosen(loops, selector)
    result: list[Loop] = []
    for number, loop in enumerate(loops):
        segments = list(loop.segments)
        count = len(segments)
        cuts: dict[int, Blend] = {}
        for i in range(count):
            if (number, i) not in chosen:
                continue
            before, after = segments[i - 1], segments[i]
            between = f"the corner at {_text(after.start)} lies between {_kind(before)} and {_kind(after)}"
            if not isinstance(before, Line | Arc) or not isinstance(after, Line | Arc):
                raise OutlineError(
                    f"{between}; only corners between straight edges and arcs can be rounded or chamfered here: draw this "
                    "one in a CadQuery Sketch, or turn the outline's curves to arcs first, by in_arcs()",
                    value=after.start,
                )
            found = blend(before, after)
            if found is None:
                raise OutlineError(f"{between}, and a {what} fits nowhere between them; make it smaller", value=after.start)
            cuts[i] = found
        for i, segment in enumerate(segments):
            needed = (cuts[i].ahead if i in cuts else 0.0) + (cuts[(i + 1) % count].back if (i + 1) % count in cuts else 0.0)
            if needed > segment.length + ROUNDING:
                raise OutlineError(
                    f"a {what} needs {needed:.3f} mm of the edge from {_text(segment.start)} to {_text(segment.end)}, "
                    f"which is {segment.length:.3f} mm long; make it smaller",
                    value=needed,
                    limit=segment.length,
                )
        fresh: list[Segment] = []
        for i, segment in enumerate(segments):
            first, last = cuts.get(i), cuts.get((i + 1) % count)
            if first is None and last is None:
                fresh.append(segment)
            elif isinstance(segment, Line | Arc) and (left := _trimmed(segment, first, last)) is not None:
                fresh.append(left)
            if last is not None:
                fresh.append(last.segment)
        result.append(Loop(tuple(fresh)))
    return tuple(result)


def _trimmed(segment: Line | Arc, first: Blend | None, last: Blend | None) -> Segment | None:
    """What two blends leave of a segment; None if nothing."""
    start = segment.start if first is None else first.segment.end
    end = segment.end if last is None else last.segment.start
    if isinstance(segment, Line):
        return Line(start, end) if math.dist(start, end) > ROUNDING else None
    taken = (0.0 if first is None else first.ahead) + (0.0 if last is None else last.back)
    if segment.length - taken <= ROUNDING:
        return None
    return Arc(start, end, segment.center, segment.sweep * (1 - taken / segment.length))


def _chosen(loops: Sequence[Loop], selector: str | None) -> set[tuple[int, int]]:
    """Numbers of loop and segment whose start is a chosen corner."""
    corners: dict[tuple[int, int], Point] = {}
    for number, loop in enumerate(loops):
        if selector is None and number > 0:
            break
        for i in range(len(loop)):
            if abs(corner_angle(loop.segments[i - 1], loop.segments[i])) > SMOOTH_TURN:
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
    return {"Line": "a straight edge", "Arc": "an arc", "EllipseArc": "an ellipse"}.get(type(segment).__name__, "a spline")
