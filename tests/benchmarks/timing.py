"""Timing and reporting for the benchmarks: best of some warm runs, as a ratio to something run beside it.

Other programs share the machine, and they only ever make a run longer; so the best run is the one that is compared,
and the median is printed beside it to show how noisy the hour was.
"""

from __future__ import annotations

import gc
import math
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

__all__ = ["Row", "Timing", "growth", "milliseconds", "power_law", "timed", "timed_beside"]


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds that each of some runs took."""

    seconds: tuple[float, ...]

    @property
    def best(self) -> float:
        """The shortest run, in seconds."""
        return min(self.seconds)

    @property
    def median(self) -> float:
        """The middle run, in seconds."""
        return statistics.median(self.seconds)

    def __str__(self) -> str:
        if len(self.seconds) == 1:
            return f"{milliseconds(self.best)} (one run)"
        return f"{milliseconds(self.best)} (median {milliseconds(self.median)} of {len(self.seconds)})"


@dataclass(frozen=True, slots=True)
class Row:
    """One case as printed: what was measured, both sides, and whether the target is met."""

    what: str
    ours: str
    beside: str
    result: str
    target: str
    is_met: bool | None

    def __str__(self) -> str:
        verdict = {True: "MET", False: "MISSED", None: "for information"}[self.is_met]
        return f"{self.what} | ours {self.ours} | {self.beside} | {self.result} | target {self.target} | {verdict}"


def milliseconds(seconds: float) -> str:
    """A time in words.

    >>> milliseconds(0.01234), milliseconds(107)
    ('12.3 ms', '107,000 ms')
    """
    value = seconds * 1e3
    return f"{value:,.1f} ms" if value < 1000 else f"{value:,.0f} ms"


def timed(work: Callable[[], Any], runs: int, *, warm: int = 1) -> Timing:
    """Time `work` so many times after `warm` runs that are not counted."""
    for _ in range(warm):
        work()
    return Timing(tuple(_once(work) for _ in range(runs)))


def timed_beside(ours: Callable[[], Any], theirs: Callable[[], Any], runs: int) -> tuple[Timing, Timing]:
    """Time two pieces of work in turn, so that both meet the same noise; one run of each is not counted."""
    ours()
    theirs()
    pairs = [(_once(ours), _once(theirs)) for _ in range(runs)]
    return Timing(tuple(first for first, _ in pairs)), Timing(tuple(second for _, second in pairs))


def _once(work: Callable[[], Any]) -> float:
    gc.collect()  # so that no run pays for the garbage of the one before it
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def power_law(sizes: Sequence[float], seconds: Sequence[float]) -> tuple[float, float]:
    """Factor and exponent of seconds = factor · size^exponent, by least squares on logarithms.

    >>> [round(value, 6) for value in power_law([1, 10, 100], [2, 200, 20000])]
    [2.0, 2.0]
    """
    fit = statistics.linear_regression([math.log(size) for size in sizes], [math.log(value) for value in seconds])
    return math.exp(fit.intercept), fit.slope


def growth(sizes: Sequence[float], seconds: Sequence[float]) -> float:
    """Exponent with which time grows with size."""
    return power_law(sizes, seconds)[1]
