"""How much material two plates share, without 3D booleans wherever their planes are square or parallel.

Two plates at right angles share the points (x, y, z) with (x, y) in the one and (x, z) in the other, so their common volume
is ∫ len_A(x) · len_B(x) dx along the line in which they meet: len_A(x) is how much of the slab of B the first plate fills at x,
and the other way round.  Between corners of the outlines both are linear, so two Gauss points a stretch integrate their
product exactly.  Parallel plates need one planar intersection.  Other angles go to the kernel.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.geometry.curves import Line, Motion
from panelwright.plates.geometry.frame import Frame, Vector, cross, dot, minus, plus, scaled, unit
from panelwright.plates.geometry.polygons import region_of
from panelwright.plates.geometry.probe import Probe
from panelwright.plates.tolerances import ANGLE_TOLERANCE, MEASURED_CHORD, OVERLAP_VOLUME

__all__ = ["Slab", "all_pairs", "common_volume"]

Floats = NDArray[np.float64]


class Slab:
    """A plate ready for many interference questions."""

    def __init__(self, name: str, frame: Frame, thickness: float, probe: Probe, solid: object) -> None:
        self.name = name
        self.frame = frame
        self.t = thickness
        self.probe = probe
        self.solid = solid
        low, high = probe.box
        flat = [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (0.0, thickness)]
        world = np.array([frame.point((float(x), float(y), z)) for x, y, z in flat])
        self.corners = world
        self.low, self.high = world.min(axis=0), world.max(axis=0)

    @cached_property
    def polygon(self) -> Any:
        """The plate's region as a shapely polygon."""
        return region_of(self.probe.loops, MEASURED_CHORD)

    @cached_property
    def _loop_tree(self) -> tuple[Any, NDArray[np.float64]]:
        """An index of the regions inside the plate's loops, and for each whether it adds (1) or takes away (−1)."""
        import shapely

        regions = shapely.polygons([shapely.linearrings(ring) for ring in self.probe.rings])  # pyright: ignore[reportCallIssue, reportArgumentType]  shapely declares too little
        return shapely.STRtree(regions), np.array([1.0 if loop.area > 0 else -1.0 for loop in self.probe.loops])

    def area_within(self, shape: Any) -> float:
        """How much of the plate's region lies in a shapely shape, mm²; only loops near the shape are looked at."""
        import shapely

        tree, signs = self._loop_tree
        near = np.sort(tree.query(shape))
        # a long border is cut down to the shape's surroundings first, which takes a tenth of the time
        close = shapely.clip_by_rect(tree.geometries[near], *shape.buffer(1.0).bounds)
        return float((signs[near] * shapely.area(shapely.intersection(close, shape))).sum())

    @property
    def is_of_lines(self) -> bool:
        """Whether all borders are straight, so that nothing here is rounded to chords."""
        return all(isinstance(segment, Line) for loop in self.probe.loops for segment in loop)


def common_volume(a: Slab, b: Slab, *, grow: float = 0.0) -> tuple[float, Vector | None]:
    """Volume in mm³ that two plates share, and a point in the middle of it.

    With `grow`, both plates count as that much thicker on either side: a volume above zero then means that they touch.
    """
    if (a.low > b.high + 2 * grow).any() or (b.low > a.high + 2 * grow).any():
        return 0.0, None
    lean = abs(dot(a.frame.z, b.frame.z))
    if ANGLE_TOLERANCE <= lean <= 1 - 1e-12:
        return _oblique(a, b, grow)
    volume, place = _square(a, b, grow) if lean < ANGLE_TOLERANCE else _parallel(a, b, grow)
    if volume > OVERLAP_VOLUME and not grow and not (a.is_of_lines and b.is_of_lines):
        # chords of a hole and of what fills it overlap by their rise; the kernel keeps arcs as arcs
        return _oblique(a, b, grow)
    return volume, place


def _square(a: Slab, b: Slab, grow: float) -> tuple[float, Vector | None]:
    za, zb = a.frame.z, b.frame.z
    run = unit(cross(za, zb))
    # a point at height 0 in both plates
    origin = plus(scaled(za, dot(a.frame.origin, za)), scaled(zb, dot(b.frame.origin, zb)))
    in_a, in_b = _seen(a, origin, run, zb), _seen(b, origin, run, za)
    span_a, span_b = (-grow, b.t + grow), (-grow, a.t + grow)
    low = max(in_a[:, 0].min(), in_b[:, 0].min())
    high = min(in_a[:, 0].max(), in_b[:, 0].max())
    if high <= low or not _reaches(in_a, span_a) or not _reaches(in_b, span_b):
        return 0.0, None
    stops = np.unique(np.concatenate([[low, high], _stops(in_a, span_a), _stops(in_b, span_b)]))
    stops = stops[(stops >= low) & (stops <= high)]
    stops = stops[np.append(True, np.diff(stops) > 1e-10)]
    half = np.diff(stops) / 2
    middle = (stops[:-1] + stops[1:]) / 2
    offset = half / math.sqrt(3)
    nodes = np.column_stack([middle - offset, middle + offset]).ravel()
    shared = _filled(in_a, nodes, span_a) * _filled(in_b, nodes, span_b)
    volumes = half * shared.reshape(-1, 2).sum(axis=1)
    total = float(volumes.sum())
    if total <= 0:
        return 0.0, None
    u = float((volumes * middle).sum() / total)
    place = plus(origin, plus(scaled(run, u), plus(scaled(zb, b.t / 2), scaled(za, a.t / 2))))
    return total, place


def _seen(slab: Slab, origin: Vector, along: Vector, across: Vector) -> Floats:
    """A plate's edges as rows x0, y0, x1, y1 with x along the line and y across it."""
    frame = slab.frame
    ox, oy, _ = frame.local(origin)
    ax, ay, _ = frame.local_direction(along)
    bx, by, _ = frame.local_direction(across)
    edges = slab.probe.edges - np.array([ox, oy, ox, oy])
    turn = np.array([[ax, bx], [ay, by]])
    seen = np.hstack([edges[:, :2] @ turn, edges[:, 2:] @ turn])
    if ax * by - ay * bx < 0:
        seen = seen[:, [2, 3, 0, 1]]  # seen from behind: swap ends so that material stays on the left
    return seen


def _reaches(edges: Floats, span: tuple[float, float]) -> bool:
    ys = edges[:, 1]
    return bool(ys.max() > span[0] and ys.min() < span[1])


def _stops(edges: Floats, span: tuple[float, float]) -> Floats:
    """Where the filled length may bend: corners inside the slab, and edges that enter or leave it."""
    x0, y0, x1, y1 = edges.T
    found = [x0[(np.maximum(y0, y1) >= span[0]) & (np.minimum(y0, y1) <= span[1])]]
    found.append(x1[(np.maximum(y0, y1) >= span[0]) & (np.minimum(y0, y1) <= span[1])])
    for y in span:
        through = (y0 < y) != (y1 < y)
        share = (y - y0[through]) / (y1[through] - y0[through])
        found.append(x0[through] + share * (x1[through] - x0[through]))
    return np.concatenate(found)


def _filled(edges: Floats, xs: Floats, span: tuple[float, float]) -> Floats:
    """Length of material between the two y of `span` at each x: upper borders less lower ones, clamped to the slab.

    `xs` must rise, so that each edge finds the few of them that it passes over.
    """
    x0, y0, x1, y1 = edges[np.abs(edges[:, 2] - edges[:, 0]) >= 1e-12].T
    spread = x1 - x0
    left, right = np.minimum(x0, x1), np.maximum(x0, x1)
    result = np.empty(len(xs))
    step = max(1, 4_000_000 // max(1, len(spread)))
    for first in range(0, len(xs), step):
        chunk = xs[first : first + step]
        begin, end = np.searchsorted(chunk, left), np.searchsorted(chunk, right)
        count = end - begin
        edge = np.repeat(np.arange(len(spread)), count)
        spot = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count - begin, count)
        slope = (y1[edge] - y0[edge]) / spread[edge]
        height = np.clip(y0[edge] + (chunk[spot] - x0[edge]) * slope, *span)
        result[first : first + step] = np.bincount(spot, -np.sign(spread[edge]) * height, len(chunk))
    return result


def _parallel(a: Slab, b: Slab, grow: float) -> tuple[float, Vector | None]:
    z = a.frame.z
    base = dot(minus(b.frame.origin, a.frame.origin), z)
    top = base + b.t * dot(b.frame.z, z)
    low, high = max(0.0, min(base, top)) - grow, min(a.t, max(base, top)) + grow
    if high <= low:
        return 0.0, None
    (xx, xy, _), (yx, yy, _) = a.frame.local_direction(b.frame.x), a.frame.local_direction(b.frame.y)
    ox, oy, _ = a.frame.local(b.frame.origin)
    motion = Motion(xx, yx, xy, yy, ox, oy)
    shared = a.polygon.intersection(region_of([loop.moved(motion) for loop in b.probe.loops], MEASURED_CHORD))
    if shared.area <= 0:
        return 0.0, None
    x, y = shared.representative_point().coords[0]
    return float(shared.area * (high - low)), a.frame.point((x, y, (low + high) / 2))


def _oblique(a: Slab, b: Slab, grow: float) -> tuple[float, Vector | None]:
    from panelwright.plates._kernel.solids.booleans import common_of, gap_of

    if grow:
        gap = gap_of((a.solid, a.frame), (b.solid, b.frame))
        return (1.0, None) if gap <= 2 * grow else (0.0, None)
    return common_of((a.solid, a.frame), (b.solid, b.frame))


def all_pairs(slabs: Sequence[Slab], *, within: float = 1e-3) -> list[tuple[Slab, Slab]]:
    """Pairs whose bounding boxes meet or are no more than `within` mm apart, in a stable order."""
    lows, highs = np.array([s.low for s in slabs]), np.array([s.high for s in slabs])
    near = (lows[:, None, :] <= highs[None, :, :] + within).all(axis=2)
    near &= near.T
    first, second = np.nonzero(np.triu(near, 1))
    return [(slabs[i], slabs[j]) for i, j in zip(first.tolist(), second.tolist(), strict=True)]
