"""Segments as the commands of an SVG path: the one place that writes them.

Lines, arcs and ellipses are exact to the decimals written; splines that are not rational and of degree three or less are
exact, others within `BEZIER_TOLERANCE`.  Source of the commands: SVG 1.1 (W3C), section 8.3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Point, Segment, Spline
from panelwright.plates.tolerances import WRITTEN

__all__ = ["BEZIER_TOLERANCE", "Pen", "beziers", "decimal"]

BEZIER_TOLERANCE = 1e-4
"""Largest distance between a rational or high-degree spline and the cubics written for it, mm."""


MOST_TURN = math.tau / 3
"""Turn of an arc that is written in one piece: its ends then fix its centre as well as they are written themselves."""


def decimal(value: float, digits: int = 6) -> str:
    """A number with up to so many decimals, without a trailing point or a negative zero.

    >>> decimal(-0.00000001), decimal(12.50)
    ('0', '12.5')
    """
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@dataclass(frozen=True, slots=True)
class Pen:
    """Writes chains of segments in mm, y turned over, with (`left`, `top`) as the page's origin and `digits` decimals.

    An arc that turns by more than `MOST_TURN` is written as several: one of nearly a full turn has ends too close together to
    carry its centre, and one of nearly half a turn carries it only to the root of its radius times what the decimals leave.

    >>> Pen(0.0, 10.0).path([Line((0.0, 0.0), (5.0, 0.0)), Line((5.0, 0.0), (5.0, 10.0))])
    'M 0 10 L 5 10 L 5 0'
    """

    left: float
    top: float
    digits: int = 6

    def number(self, value: float) -> str:
        """A number with the pen's decimals."""
        return decimal(value, self.digits)

    def at(self, point: Point) -> str:
        """A point on the page."""
        return f"{self.number(point[0] - self.left)} {self.number(self.top - point[1])}"

    def path(self, chain: Sequence[Segment]) -> str:
        """The commands that draw a chain whose segments begin where the one before ends; one that closes is closed."""
        steps = [f"M {self.at(chain[0].start)}"]
        closed = math.dist(chain[0].start, chain[-1].end) <= WRITTEN
        # closing a path draws its last straight segment; drawing that too would leave a segment of no length
        last = len(chain) - 1 if closed and len(chain) > 1 and isinstance(chain[-1], Line) else len(chain)
        for segment in chain[:last]:
            steps.extend(self.steps(segment))
        return " ".join([*steps, "Z"] if closed else steps)

    def trail(self, segments: Sequence[Segment]) -> str:
        """The commands that draw segments one after the other, lifted only where the next begins elsewhere; none closes."""
        steps: list[str] = []
        there: str | None = None
        for segment in segments:
            if (start := self.at(segment.start)) != there:
                steps.append(f"M {start}")
            steps.extend(self.steps(segment))
            there = self.at(segment.end)
        return " ".join(steps)

    def steps(self, segment: Segment) -> list[str]:
        """The commands from a segment's start to its end."""
        if isinstance(segment, Line):
            return [f"L {self.at(segment.end)}"]
        if isinstance(segment, Spline):
            return [f"C {self.at(a)} {self.at(b)} {self.at(c)}" for _, a, b, c in beziers(segment)]
        if isinstance(segment, Arc):
            radius = self.number(segment.radius)
            return self._arcs(segment, f"{radius} {radius} 0", segment.sweep)
        longest = math.hypot(*segment.major)
        # turned over, the axis leans the other way
        lean = -math.degrees(math.atan2(segment.major[1], segment.major[0]))
        radii = f"{self.number(longest)} {self.number(longest * segment.ratio)} {self.number(lean)}"
        return self._arcs(segment, radii, segment.last - segment.first)

    def _arcs(self, segment: Arc | EllipseArc, radii: str, sweep: float) -> list[str]:
        pieces = max(1, math.ceil(abs(sweep) / MOST_TURN - 1e-9))
        flags = f"{int(abs(sweep / pieces) > math.pi)} {int(sweep <= 0)}"  # large; clockwise on the page
        return [f"A {radii} {flags} {self.at(segment.point_at((i + 1) / pieces))}" for i in range(pieces)]


Cubic = tuple[Point, Point, Point, Point]


def beziers(spline: Spline) -> list[Cubic]:
    """Cubic Beziers for a spline: the very same curve up to degree three without weights, else `BEZIER_TOLERANCE` near.

    >>> parabola = Spline(2, ((0.0, 0.0), (1.0, 2.0), (2.0, 0.0)), (0.0, 0.0, 0.0, 1.0, 1.0, 1.0))
    >>> [tuple(round(v, 3) for v in p) for p in beziers(parabola)[0]]
    [(0.0, 0.0), (0.667, 1.333), (1.333, 1.333), (2.0, 0.0)]
    """
    if spline.degree <= 3 and spline.weights is None:
        return [_raised(net) for net in _bezier_nets(spline)]
    low, high = spline.knots[spline.degree], spline.knots[-spline.degree - 1]
    inner = sorted({knot for knot in spline.knots if low < knot < high})
    stops = [(knot - low) / (high - low) for knot in (low, *inner, high)]
    found: list[Cubic] = []
    for first, last in pairwise(stops):
        _fit(spline, first, last, found, depth=0)
    return found


def _bezier_nets(spline: Spline) -> list[list[Point]]:
    """Poles of each polynomial piece, by inserting every knot until it has full multiplicity (Boehm's algorithm)."""
    degree, knots, poles = spline.degree, list(spline.knots), list(spline.poles)
    low, high = knots[degree], knots[-degree - 1]
    for knot in sorted({k for k in knots if low < k < high}):
        for _ in range(degree - knots.count(knot)):
            span = max(i for i, k in enumerate(knots) if k <= knot)
            fresh = poles[: span - degree + 1]
            for i in range(span - degree + 1, span - knots.count(knot) + 1):
                mix = (knot - knots[i]) / (knots[i + degree] - knots[i])
                (x0, y0), (x1, y1) = poles[i - 1], poles[i]
                fresh.append((x0 + (x1 - x0) * mix, y0 + (y1 - y0) * mix))
            poles = fresh + poles[span - knots.count(knot) :]
            knots.insert(span + 1, knot)
    nets: list[list[Point]] = []
    first = 0
    for knot in sorted({k for k in knots if low <= k < high}):
        nets.append(poles[first : first + degree + 1])
        following = min(k for k in knots if k > knot)
        first += max(degree, knots.count(following)) if following < high else degree
    return nets


def _raised(net: list[Point]) -> Cubic:
    """A Bezier curve of degree one, two or three as one of degree three."""
    while len(net) < 4:
        n = len(net)
        between = [
            (
                i / n * net[i - 1][0] + (1 - i / n) * net[i][0],
                i / n * net[i - 1][1] + (1 - i / n) * net[i][1],
            )
            for i in range(1, n)
        ]
        net = [net[0], *between, net[-1]]
    return (net[0], net[1], net[2], net[3])


def _fit(spline: Spline, first: float, last: float, found: list[Cubic], depth: int) -> None:
    """Append cubics with the spline's ends and tangents, halved until five probes keep within half the tolerance."""
    inset = 1e-6 * (last - first)
    start, end = spline.point_at(first), spline.point_at(last)
    handles: list[Point] = []
    for share, anchor, sign in ((first + inset, start, 1.0), (last - inset, end, -1.0)):
        (x0, y0), (x1, y1) = spline.point_at(share - inset / 2), spline.point_at(share + inset / 2)
        reach = sign * (last - first) / (3 * inset)
        handles.append((anchor[0] + (x1 - x0) * reach, anchor[1] + (y1 - y0) * reach))
    net = (start, handles[0], handles[1], end)
    worst = 0.0
    for at in (0.15, 0.3, 0.5, 0.7, 0.85):
        other = 1 - at
        mix = (other**3, 3 * other**2 * at, 3 * other * at**2, at**3)
        x, y = (sum(m * p[k] for m, p in zip(mix, net, strict=True)) for k in (0, 1))
        worst = max(worst, math.dist((x, y), spline.point_at(first + (last - first) * at)))
    if worst <= BEZIER_TOLERANCE / 2 or depth >= 16:
        found.append(net)
        return
    middle = 0.5 * (first + last)
    _fit(spline, first, middle, found, depth + 1)
    _fit(spline, middle, last, found, depth + 1)
