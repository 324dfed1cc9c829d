"""Planar arrangement of lines and arcs: the engine under every flat cut and addition.

All segments are split where they meet, each distinct piece is asked what lies on its two sides, and the pieces with
material on exactly one side are stitched to loops with the material on the left.  That is the whole of union, difference
and fill rules, and coincident edges (the rule, not the exception, in finger joints) need no special case.  Lines and arcs
come out as lines and arcs, exactly.

Guarantees: coincident edges count once; collinear and co-circular neighbours are merged; equal input gives equal output.
Not guaranteed: features narrower than about `SIDE_STEP`; ellipses and splines (the kernel's boolean takes those).
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Callable, Sequence
from typing import cast

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.errors import OutlineError
from panelwright.plates.tolerances import CROSSING_CHORD, POINT_TOLERANCE, SIDE_STEP, SMOOTH_TURN

from .curves import Arc, Line, Loop, Point, Segment

__all__ = ["boundary", "merged", "winding_numbers"]

Simple = Line | Arc
Floats = NDArray[np.float64]
SNAP = 10 * POINT_TOLERANCE
"""Corners nearer than this become one: intersections of the same two curves computed twice differ by less."""


FINE_STEP = SIDE_STEP / 5
"""The second try's step off an edge: below `SNAP`, so that it can't pass what is a corner's width away."""


def winding_numbers(loops: Sequence[Loop], points: Floats) -> NDArray[np.int64]:
    """How many times the loops, taken together, run round each of the `points` (an (n, 2) array of mm).

    Exact for lines and arcs; ellipses and splines are followed by chords within 0.1 µm.  Points on a loop get the number of one
    of its two sides.

    >>> from panelwright.plates.geometry.curves import loop_through
    >>> square = loop_through([(0, 0), (2, 0), (2, 2), (0, 2)])
    >>> winding_numbers([square, square.reversed()], np.array([[1.0, 1.0], [5.0, 5.0]])).tolist()
    [0, 0]
    """
    edges: list[tuple[float, float, float, float]] = []
    arcs: list[tuple[float, ...]] = []
    for loop in loops:
        for number, segment in enumerate(loop):
            if isinstance(segment, Line):
                edges.append((*segment.start, *segment.end))
            elif isinstance(segment, Arc):
                for half in _halves(segment):
                    edges.append((*half.start, *half.end))
                    arcs.append((*half.start, *half.end, *half.center, half.radius, math.copysign(1.0, half.sweep)))
            else:
                corners = [*loop.chords(CROSSING_CHORD)[number], segment.end]
                edges.extend((*p, *q) for p, q in itertools.pairwise(corners))
    total = np.zeros(len(points), dtype=np.int64)
    edge_table, arc_table = np.array(edges).reshape(-1, 4), np.array(arcs).reshape(-1, 8)
    step = max(1, 2_000_000 // max(1, len(edge_table)))
    for first in range(0, len(points), step):
        chunk = points[first : first + step]
        total[first : first + step] = _winding_of_chords(edge_table, chunk) + _winding_of_segments(arc_table, chunk)
    return total


def _left_of(start: Floats, end: Floats, points: Floats) -> NDArray[np.bool_]:
    """Whether each point lies left of each directed chord; points on a level chord count as above it."""
    dx, dy = (end - start).T
    px = points[:, :1] - start[:, 0]
    py = points[:, 1:] - start[:, 1]
    side = dx * py - dy * px
    return cast("NDArray[np.bool_]", (side > 0) | ((side == 0) & (dy == 0) & (dx > 0)))


def _winding_of_chords(edges: Floats, points: Floats) -> NDArray[np.int64]:
    y0, y1 = edges[:, 1], edges[:, 3]
    y = points[:, 1:]
    left = _left_of(edges[:, :2], edges[:, 2:], points)
    up = (y0 <= y) & (y1 > y) & left
    down = (y1 <= y) & (y0 > y) & ~left
    return cast("NDArray[np.int64]", up.sum(axis=1) - down.sum(axis=1))


def _winding_of_segments(arcs: Floats, points: Floats) -> NDArray[np.int64]:
    """What the slivers between arcs (of at most half a turn) and their chords add."""
    if not len(arcs):
        return np.zeros(len(points), dtype=np.int64)
    left = _left_of(arcs[:, :2], arcs[:, 2:4], points)
    near = np.hypot(points[:, :1] - arcs[:, 4], points[:, 1:] - arcs[:, 5]) < arcs[:, 6]
    sign = arcs[:, 7]
    beyond = np.where(sign > 0, ~left, left)
    return cast("NDArray[np.int64]", ((near & beyond) * sign.astype(np.int64)).sum(axis=1))


def _halves(arc: Arc) -> tuple[Arc, ...]:
    if abs(arc.sweep) <= math.pi * (1 + 1e-12):
        return (arc,)
    middle = arc.point_at(0.5)
    return (
        Arc(arc.start, middle, arc.center, arc.sweep / 2),
        Arc(middle, arc.end, arc.center, arc.sweep / 2),
    )


def boundary(loops: Sequence[Loop], inside: Callable[[Floats], NDArray[np.bool_]]) -> tuple[Loop, ...]:
    """The boundary of the set of points for which `inside` is true, made of pieces of `loops`.

    `inside` takes an (n, 2) array of points, none of which lies on any loop, and returns n truth values; it may only
    change across one of the loops.  The loops that come back have the inside on their left.  Raises `OutlineError` if a
    loop holds an ellipse or spline, or if the pieces do not close (which features narrower than `SIDE_STEP` can cause).
    """
    segments = _simple_segments(loops)
    corners = _Corners()
    cuts = _split_points(segments)
    pieces: dict[tuple[int, int, int], Simple] = {}
    middles = _Corners()
    for segment in segments:  # original corners first, so that they stay what they are
        corners.index(segment.start)
        corners.index(segment.end)
    for segment, shares in zip(segments, cuts, strict=True):
        for piece in _pieces(segment, shares, corners):
            a, b = corners.index(piece.start), corners.index(piece.end)
            middle = middles.index(piece.point_at(0.5))
            pieces.setdefault((min(a, b), max(a, b), middle), piece)
    distinct = list(pieces.values())
    if not distinct:
        return ()
    try:
        return _bounding(distinct, inside, corners, SIDE_STEP)
    except OutlineError:  # curves that nearly touch leave slivers in which the usual step goes too far
        return _bounding(distinct, inside, corners, FINE_STEP)


def _bounding(
    distinct: Sequence[Simple], inside: Callable[[Floats], NDArray[np.bool_]], corners: _Corners, step: float
) -> tuple[Loop, ...]:
    """Loops of those pieces that have the inside on one side only, as far as can be told `step` mm off each."""
    probes = np.empty((2 * len(distinct), 2))
    for i, piece in enumerate(distinct):
        # not the exact middle: there a probe is likelier to fall on some other piece's chord
        x, y = piece.point_at(0.4871)
        tx, ty = piece.tangent_at(0.4871)
        probes[2 * i] = (x - ty * step, y + tx * step)
        probes[2 * i + 1] = (x + ty * step, y - tx * step)
    sides = inside(probes)
    kept: list[Simple] = []
    for i, piece in enumerate(distinct):
        left, right = bool(sides[2 * i]), bool(sides[2 * i + 1])
        if left != right:
            kept.append(piece if left else piece.reversed())
    return tuple(merged(loop) for loop in _stitched(kept, corners))


def _simple_segments(loops: Sequence[Loop]) -> list[Simple]:
    segments: list[Simple] = []
    for loop in loops:
        for segment in loop:
            if isinstance(segment, Line):
                segments.append(segment)
            elif isinstance(segment, Arc):
                segments.extend(_halves(segment))
            else:
                raise OutlineError(f"a {type(segment).__name__} is left to the kernel's boolean", value=segment)
    return segments


class _Corners:
    """Numbers for points, equal for points nearer than `SNAP`."""

    def __init__(self) -> None:
        self.points: list[Point] = []
        self._cells: dict[tuple[int, int], list[int]] = defaultdict(list)
        self._known: dict[Point, int] = {}

    def index(self, point: Point) -> int:
        known = self._known.get(point)
        if known is not None:
            return known
        x, y = point[0] / (4 * SNAP), point[1] / (4 * SNAP)
        column, row = math.floor(x), math.floor(y)
        columns = {math.floor(x - 0.25), column, math.floor(x + 0.25)}
        rows = {math.floor(y - 0.25), row, math.floor(y + 0.25)}
        for i in columns:
            for j in rows:
                for number in self._cells.get((i, j), ()):
                    if math.dist(self.points[number], point) <= SNAP:
                        self._known[point] = number
                        return number
        number = len(self.points)
        self.points.append(point)
        self._cells[(column, row)].append(number)
        self._known[point] = number
        return number


def _split_points(segments: list[Simple]) -> list[list[float]]:
    """For each segment the shares of its way at which another one meets it."""
    import shapely

    shares: list[list[float]] = [[] for _ in segments]
    boxes = np.array([segment.bounds for segment in segments]).reshape(-1, 4)
    grown = boxes + np.array([-SNAP, -SNAP, SNAP, SNAP])
    tree = shapely.STRtree(shapely.box(*grown.T))
    first, second = tree.query(tree.geometries)
    once = first < second
    first, second = first[once], second[once]
    is_line = np.array([isinstance(segment, Line) for segment in segments])
    straight = is_line[first] & is_line[second]
    _split_lines(segments, first[straight], second[straight], shares)
    for i, j in zip(first[~straight].tolist(), second[~straight].tolist(), strict=True):
        _split_pair(segments[i], segments[j], shares[i], shares[j])
    return shares


def _split_lines(
    segments: list[Simple], first: NDArray[np.int64], second: NDArray[np.int64], shares: list[list[float]]
) -> None:
    """All line-line pairs at once: proper crossings, and ends of one that lie on the other."""
    if not len(first):
        return
    table = np.array([(*s.start, *s.end) for s in segments])
    p, r = table[first, :2], table[first, 2:] - table[first, :2]
    q, s = table[second, :2], table[second, 2:] - table[second, :2]
    r_size, s_size = np.hypot(*r.T), np.hypot(*s.T)
    turn = r[:, 0] * s[:, 1] - r[:, 1] * s[:, 0]
    gap = q - p
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (gap[:, 0] * s[:, 1] - gap[:, 1] * s[:, 0]) / turn
        u = (gap[:, 0] * r[:, 1] - gap[:, 1] * r[:, 0]) / turn
    crossing = np.abs(turn) > 1e-9 * r_size * s_size
    crossing &= (t > -SNAP / r_size) & (t < 1 + SNAP / r_size) & (u > -SNAP / s_size) & (u < 1 + SNAP / s_size)
    for k in np.flatnonzero(crossing).tolist():
        shares[first[k]].append(float(t[k]))
        shares[second[k]].append(float(u[k]))
    for host, way, size, guests, owner in (
        (p, r, r_size, (q, q + s), first),
        (q, s, s_size, (p, p + r), second),
    ):
        for guest in guests:
            to = guest - host
            along = (to[:, 0] * way[:, 0] + to[:, 1] * way[:, 1]) / size**2
            off = np.abs(to[:, 0] * way[:, 1] - to[:, 1] * way[:, 0]) / size
            on = (off <= SNAP) & (along > 0) & (along < 1)
            for k in np.flatnonzero(on).tolist():
                shares[owner[k]].append(float(along[k]))


def _split_pair(a: Simple, b: Simple, on_a: list[float], on_b: list[float]) -> None:
    """A pair with at least one arc."""
    for point in (*_crossings(a, b), a.start, a.end, b.start, b.end):
        share_a, share_b = _share_of(a, point), _share_of(b, point)
        if share_a is not None and share_b is not None:
            on_a.append(share_a)
            on_b.append(share_b)


def _share_of(segment: Simple, point: Point) -> float | None:
    """Where on the segment a point lies, or None if it is off it by more than `SNAP`."""
    if math.dist(point, segment.start) <= SNAP:
        return 0.0
    if math.dist(point, segment.end) <= SNAP:
        return 1.0
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        dx, dy = x1 - x0, y1 - y0
        size = dx * dx + dy * dy
        share = ((point[0] - x0) * dx + (point[1] - y0) * dy) / size
        off = abs((point[0] - x0) * dy - (point[1] - y0) * dx) / math.sqrt(size)
        return share if 0 < share < 1 and off <= SNAP else None
    if abs(math.dist(point, segment.center) - segment.radius) > SNAP:
        return None
    angle = math.atan2(point[1] - segment.center[1], point[0] - segment.center[0])
    turned = (angle - segment.start_angle) % math.tau
    share = (turned if segment.sweep > 0 else (math.tau - turned) % math.tau) / abs(segment.sweep)
    return share if 0 < share < 1 else None


def _crossings(a: Simple, b: Simple) -> list[Point]:
    """Points that the full line or circle of `a` shares with that of `b`."""
    if isinstance(a, Line):
        return _crossings(b, a) if isinstance(b, Arc) else []
    if isinstance(b, Line):
        return _line_circle(b, a)
    gap = math.dist(a.center, b.center)
    ra, rb = a.radius, b.radius
    if gap <= SNAP or gap > ra + rb + SNAP or gap < abs(ra - rb) - SNAP:
        return []
    along = (gap * gap + ra * ra - rb * rb) / (2 * gap)
    off = math.sqrt(max(0.0, ra * ra - along * along))
    ux, uy = (b.center[0] - a.center[0]) / gap, (b.center[1] - a.center[1]) / gap
    x, y = a.center[0] + ux * along, a.center[1] + uy * along
    return [(x - uy * off, y + ux * off), (x + uy * off, y - ux * off)]


def _line_circle(line: Line, arc: Arc) -> list[Point]:
    (x0, y0), (x1, y1) = line.start, line.end
    size = math.hypot(x1 - x0, y1 - y0)
    ux, uy = (x1 - x0) / size, (y1 - y0) / size
    cx, cy = arc.center
    along = (cx - x0) * ux + (cy - y0) * uy
    off = (cx - x0) * uy - (cy - y0) * ux
    radius = arc.radius
    if abs(off) > radius + SNAP:
        return []
    half = math.sqrt(max(0.0, radius * radius - off * off))
    return [(x0 + ux * s, y0 + uy * s) for s in (along - half, along + half)]


def _pieces(segment: Simple, shares: list[float], corners: _Corners) -> list[Simple]:
    """The segment cut at the given shares, its ends snapped to shared corners."""
    stops = sorted({0.0, 1.0, *(share for share in shares if 0 < share < 1)})
    found: list[Simple] = []
    here, reached = corners.index(segment.start), 0.0
    for stop in stops[1:]:
        there = corners.index(segment.point_at(stop))
        if there == here:
            continue
        start, end = corners.points[here], corners.points[there]
        if isinstance(segment, Line):
            found.append(Line(start, end))
        else:
            found.append(Arc(start, end, segment.center, segment.sweep * (stop - reached)))
        here, reached = there, stop
    return found


def _direction(piece: Simple) -> float:
    """The angle at which a piece leaves its start, taken a little way along so that tangent arcs differ."""
    length = piece.length
    x, y = piece.point_at(min(0.5, 1e-3 / length) if length > 0 else 0.5)
    return math.atan2(y - piece.start[1], x - piece.start[0])


def _stitched(pieces: list[Simple], corners: _Corners) -> list[Loop]:
    """Chain directed pieces to loops; where several leave one corner, keep to the same wedge of material."""
    leaving: dict[int, list[int]] = defaultdict(list)
    for number, piece in enumerate(pieces):
        leaving[corners.index(piece.start)].append(number)
    unused = [True] * len(pieces)
    loops: list[Loop] = []
    for first in range(len(pieces)):
        if not unused[first]:
            continue
        chain = [first]
        unused[first] = False
        home = corners.index(pieces[first].start)
        while (here := corners.index(pieces[chain[-1]].end)) != home:
            options = [number for number in leaving[here] if unused[number]]
            if not options:
                x, y = corners.points[here]
                raise OutlineError(
                    f"the outline does not close at ({x:.4f}, {y:.4f}); something there is narrower than the "
                    f"smallest gap that can be told apart, {SIDE_STEP} mm",
                    value=(x, y),
                    limit=SIDE_STEP,
                )
            if len(options) > 1:
                back = _direction(pieces[chain[-1]].reversed())
                options.sort(key=lambda number: (back - _direction(pieces[number])) % math.tau)
            chain.append(options[0])
            unused[options[0]] = False
        loops.append(Loop(tuple(pieces[number] for number in chain)))
    return loops


def merged(loop: Loop) -> Loop:
    """The loop without corners between collinear lines or between arcs of one circle.

    >>> from panelwright.plates.geometry.curves import loop_through
    >>> len(merged(loop_through([(0, 0), (1, 0), (2, 0), (2, 2), (0, 2)])))
    4
    """
    chain: list[Segment] = []
    for segment in loop:
        joined = _joined(chain[-1], segment) if chain else None
        if joined is None:
            chain.append(segment)
        else:
            chain[-1] = joined
    while len(chain) > 1:
        joined = _joined(chain[-1], chain[0])
        if joined is None:
            break
        chain = [joined, *chain[1:-1]]
    return Loop(tuple(chain))


def _joined(a: Segment, b: Segment) -> Segment | None:
    """One segment for two in a row, or None if they turn."""
    if isinstance(a, Line) and isinstance(b, Line):
        (x0, y0), (x1, y1), (x2, y2) = a.start, a.end, b.end
        dx, dy = x2 - x0, y2 - y0
        size = math.hypot(dx, dy)
        if size <= SNAP or (x1 - x0) * (x2 - x1) + (y1 - y0) * (y2 - y1) <= 0:
            return None
        off = abs((x1 - x0) * dy - (y1 - y0) * dx) / size
        return Line(a.start, b.end) if off <= POINT_TOLERANCE else None
    if isinstance(a, Arc) and isinstance(b, Arc):
        same = math.dist(a.center, b.center) <= SNAP and abs(a.radius - b.radius) <= SNAP
        sweep = a.sweep + b.sweep
        if not same or a.sweep * b.sweep < 0 or abs(sweep) > math.tau + SMOOTH_TURN:
            return None
        if math.dist(a.start, b.end) <= SNAP and abs(sweep) > math.pi:
            return Arc(a.start, a.start, a.center, math.copysign(math.tau, sweep))
        return Arc(a.start, b.end, a.center, sweep)
    return None
