"""B-splines in the plane."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.polynomial import chebyshev
from panelwright.plates.tolerances import POINT_TOLERANCE

from .motion import Bounds, Motion, Point

__all__ = ["Spline"]

_Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Spline:
    """A clamped B-spline, rational if `weights` are given.

    `knots` is the full knot vector (each knot repeated by its multiplicity), so its length is poles + degree + 1.
    """

    degree: int
    poles: tuple[Point, ...]
    knots: tuple[float, ...]
    weights: tuple[float, ...] | None = None

    def _evaluate(self, parameter: float) -> tuple[Point, Point]:
        """Point and derivative."""
        (x, y, w), (dx, dy, dw) = self._homogeneous(parameter)
        return (x / w, y / w), ((dx - x / w * dw) / w, (dy - y / w * dw) / w)

    def _homogeneous(self, parameter: float) -> tuple[_Triple, _Triple]:
        """x·w, y·w and w, and how fast they change, by de Boor's recursion."""
        degree, knots = self.degree, self.knots
        count = len(self.poles)
        span = degree
        while span < count - 1 and parameter >= knots[span + 1]:
            span += 1
        weights = self.weights or (1.0,) * count
        net = [
            (x * w, y * w, w)
            for (x, y), w in zip(
                self.poles[span - degree : span + 1], weights[span - degree : span + 1], strict=True
            )
        ]
        last_two = net
        for level in range(1, degree + 1):
            if level == degree:
                last_two = net
            fresh = []
            for j in range(len(net) - 1):
                index = span - degree + level + j
                low, high = knots[index], knots[index + degree + 1 - level]
                mix = (parameter - low) / (high - low) if high > low else 0.0
                fresh.append(tuple((1 - mix) * p + mix * q for p, q in zip(net[j], net[j + 1], strict=True)))
            net = fresh  # type: ignore[assignment]  # tuples of three, built by zip
        x, y, w = net[0]
        gap = knots[span + 1] - knots[span]
        rate = degree / gap if gap > 0 else 0.0
        dx, dy, dw = (rate * (q - p) for p, q in zip(last_two[0], last_two[1], strict=True))
        return (x, y, w), (dx, dy, dw)

    def _parameter(self, share: float) -> float:
        low, high = self.knots[self.degree], self.knots[-self.degree - 1]
        return low + (high - low) * share

    @property
    def start(self) -> Point:
        """First point."""
        return self.poles[0]

    @property
    def end(self) -> Point:
        """Last point."""
        return self.poles[-1]

    @property
    def length(self) -> float:
        """Length in mm along fine chords."""
        points = [*self.chords(1e-4), self.end]
        return sum(math.dist(p, q) for p, q in pairwise(points))

    @property
    def bounds(self) -> Bounds:
        """(x least, y least, x most, y most) of the curve itself, which its control points may stand far outside of.

        In each span x·w and w are polynomials, so x turns where (x·w)′·w − (x·w)·w′ is zero.
        """
        spans = self._spans()
        found = [self.start, self.end, *(self._evaluate(low)[0] for low, _ in spans[1:])]
        for low, high in spans:
            x0, y0, x1, y1 = _box(found)
            last = bisect_right(self.knots, low) - 1
            around = _box(self.poles[last - self.degree : last + 1])
            if around[0] < x0 or around[1] < y0 or around[2] > x1 or around[3] > y1:  # else the hull holds the span inside
                found.extend(self._turning_points(low, high))
        return _box(found)

    def _turning_points(self, low: float, high: float) -> list[Point]:
        """Where x or y turns within a span of the knots.  Other points of the curve among them do no harm."""
        half, middle = (high - low) / 2, (high + low) / 2
        nodes = chebyshev.chebpts1(self.degree + 1)
        table = np.array([self._homogeneous(middle + half * float(node))[0] for node in nodes])
        x, y, w = chebyshev.chebfit(nodes, table, self.degree).T
        slope = chebyshev.chebder(w)
        found: list[Point] = []
        for own in (x, y):
            turns = chebyshev.chebsub(chebyshev.chebmul(chebyshev.chebder(own), w), chebyshev.chebmul(own, slope))
            turns = chebyshev.chebtrim(turns, tol=1e-13 * float(np.abs(turns).max()))
            roots = chebyshev.chebroots(turns) if len(turns) > 1 else np.array([])
            found.extend(self._evaluate(middle + half * float(np.clip(root.real, -1.0, 1.0)))[0] for root in roots)
        return found

    def point_at(self, share: float) -> Point:
        """The point at a share of the parameter range."""
        if share <= 0.0:
            return self.start
        if share >= 1.0:
            return self.end
        return self._evaluate(self._parameter(share))[0]

    def tangent_at(self, share: float) -> Point:
        """Unit direction of travel."""
        dx, dy = self._evaluate(self._parameter(share))[1]
        size = math.hypot(dx, dy)
        return (dx / size, dy / size)

    def reversed(self) -> Spline:
        """The same curve travelled the other way."""
        low, high = self.knots[0], self.knots[-1]
        return Spline(
            self.degree,
            self.poles[::-1],
            tuple(low + high - knot for knot in reversed(self.knots)),
            None if self.weights is None else self.weights[::-1],
        )

    def moved(self, motion: Motion) -> Spline:
        """The curve after a rigid motion or mirror."""
        return Spline(self.degree, tuple(motion.apply(p) for p in self.poles), self.knots, self.weights)

    def _spans(self) -> list[tuple[float, float]]:
        distinct = sorted(set(self.knots[self.degree : len(self.knots) - self.degree]))
        return list(pairwise(distinct))

    def area_term(self) -> float:
        """½∮(x dy − y dx) by eight-point Gauss-Legendre quadrature a knot span (exact for degrees up to 8)."""
        total = 0.0
        for low, high in self._spans():
            half, middle = (high - low) / 2, (high + low) / 2
            for node, weight in _GAUSS_8:
                (x, y), (dx, dy) = self._evaluate(middle + half * node)
                total += 0.5 * half * weight * (x * dy - y * dx)
        return total

    def chords(self, tolerance: float) -> list[Point]:
        """Points from the start up to, but without, the end, refined until chords keep within `tolerance`."""
        points: list[Point] = []
        for low, high in self._spans():
            self._refine(low, self._evaluate(low)[0], high, self._evaluate(high)[0], tolerance, points, depth=0)
        points[0] = self.start
        return points

    def _refine(
        self,
        low: float,
        first: Point,
        high: float,
        last: Point,
        tolerance: float,
        points: list[Point],
        depth: int,
    ) -> None:
        middle = 0.5 * (low + high)
        halfway = self._evaluate(middle)[0]
        off = 0.0
        for probe in (0.5 * (low + middle), middle, 0.5 * (middle + high)):
            x, y = self._evaluate(probe)[0]
            run_x, run_y = last[0] - first[0], last[1] - first[1]
            size = math.hypot(run_x, run_y)
            cross = (x - first[0]) * run_y - (y - first[1]) * run_x
            off = max(off, abs(cross) / size if size > POINT_TOLERANCE else math.dist((x, y), first))
        if (off <= tolerance and depth >= 1) or depth >= 14:
            points.append(first)
            return
        self._refine(low, first, middle, halfway, tolerance, points, depth + 1)
        self._refine(middle, halfway, high, last, tolerance, points, depth + 1)


def _box(points: Sequence[Point]) -> Bounds:
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


_GAUSS_8 = tuple(
    (sign * node, weight)
    for node, weight in (
        (0.1834346424956498, 0.3626837833783620),
        (0.5255324099163290, 0.3137066458778873),
        (0.7966664774136267, 0.2223810344533745),
        (0.9602898564975363, 0.1012285362903763),
    )
    for sign in (-1.0, 1.0)
)
"""Gauss-Legendre nodes and weights for eight points, Abramowitz and Stegun table 25.4."""
