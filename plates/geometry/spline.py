"""B-splines in the plane."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray
from panelwright.plates.tolerances import POINT_TOLERANCE

from .motion import Bounds, Motion, Point

__all__ = ["Spline"]

Floats = NDArray[np.float64]
_Triple = tuple[float, float, float]

LEAST_HALVINGS = 2
"""How often a span is halved at least: a curve may cross its chord in the middle and at both quarters."""

MOST_HALVINGS = 14
"""How often a span is halved at most: 16,384 chords, enough for a span of ten metres at 0.01 µm."""


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
            for (x, y), w in zip(self.poles[span - degree : span + 1], weights[span - degree : span + 1], strict=True)
        ]
        last_two = net
        for level in range(1, degree + 1):
            if level == degree:
                last_two = net
            fresh: list[tuple[float, ...]] = []
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
        found = [point for low, high in self._spans() for point in self._refined(low, high, tolerance)]
        return [self.start, *found[1:]]

    def _refined(self, low: float, high: float, tolerance: float) -> list[Point]:
        """Points of one span of the knots, without its end: pieces that stand off their chord are halved, all at once."""
        lows, highs = np.array([low]), np.array([high])
        firsts, lasts = self._at(lows, low), self._at(highs, low)
        settled: list[tuple[Floats, Floats]] = []
        for depth in range(MOST_HALVINGS + 1):
            middles = 0.5 * (lows + highs)
            halfway = self._at(middles, low)
            run = lasts - firsts
            size2 = np.maximum((run * run).sum(axis=1), POINT_TOLERANCE**2)
            off = np.zeros(len(lows))
            for spots in (self._at(0.5 * (lows + middles), low), halfway, self._at(0.5 * (middles + highs), low)):
                way = spots - firsts
                # from the chord itself, not from its line: where a curve turns back on itself it runs beyond the chord's ends
                share = np.clip((way * run).sum(axis=1) / size2, 0.0, 1.0)[:, None]
                aside = way - share * run
                off = np.maximum(off, np.hypot(aside[:, 0], aside[:, 1]))
            is_settled = (off <= tolerance) & (depth >= LEAST_HALVINGS) | (depth == MOST_HALVINGS)
            settled.append((lows[is_settled], firsts[is_settled]))
            split = ~is_settled
            if not split.any():
                break
            lows, highs = (
                np.concatenate([lows[split], middles[split]]),
                np.concatenate([middles[split], highs[split]]),
            )
            firsts, lasts = (
                np.concatenate([firsts[split], halfway[split]]),
                np.concatenate([halfway[split], lasts[split]]),
            )
        order = np.argsort(np.concatenate([parameters for parameters, _ in settled]))
        points = np.concatenate([spots for _, spots in settled])[order]
        return [(x, y) for x, y in points.tolist()]

    def _at(self, parameters: Floats, low: float) -> Floats:
        """Points at many parameters of the span of knots that begins at `low`, by de Boor's recursion: an (n, 2) array."""
        degree, knots = self.degree, self.knots
        span = min(bisect_right(knots, low), len(self.poles)) - 1
        poles = np.array(self.poles[span - degree : span + 1])
        weights = np.ones(degree + 1) if self.weights is None else np.array(self.weights[span - degree : span + 1])
        table = np.column_stack([poles * weights[:, None], weights])
        net = [np.broadcast_to(row, (len(parameters), 3)) for row in table]
        for level in range(1, degree + 1):
            for j in range(degree + 1 - level):
                first = knots[span - degree + level + j]
                mix = ((parameters - first) / (knots[span + j + 1] - first))[:, None]
                net[j] = (1 - mix) * net[j] + mix * net[j + 1]
        points: Floats = net[0][:, :2] / net[0][:, 2:]
        return points


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
