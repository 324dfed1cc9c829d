"""Plots of what variants come to against their parameters, as inline SVG: readable in print, and told in words beside."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from panelwright.assemblies.data.verdict import counted
from panelwright.assemblies.report.html_text import number, text, width_of

__all__ = ["Point", "plot", "value_words"]

WIDTH, HEIGHT = 340.0, 230.0
"""Size of a plot in units of its own, about pixels."""

LEFT, RIGHT, TOP, BOTTOM = 52.0, 12.0, 26.0, 44.0
"""Room round the field of points for axes and words."""

MARK = 4.0
"""Half the size of a point's mark."""

MOST_CHOICES = 12
"""Choices of a parameter of which each is named under the axis."""


class Point(NamedTuple):
    """A variant in a plot: its name, the parameter's value and the measure's, and how it came out."""

    name: str
    at: Any
    value: float
    verdict: str


def plot(measure: str, unit: str, parameter: str, points: Sequence[Point]) -> str:
    """A figure with the measure against the parameter; numbers on a scale, everything else as choices in their order."""
    is_number = all(isinstance(point.at, int | float) and not isinstance(point.at, bool) for point in points)
    choices: list[str] = []
    if is_number:
        xs = [float(point.at) for point in points]
        ticks, low, high = _scale(xs)
    else:
        choices = sorted({value_words(point.at) for point in points})
        xs = [float(choices.index(value_words(point.at))) for point in points]
        ticks, low, high = [float(i) for i in range(len(choices))], -0.5, len(choices) - 0.5
    rows, least, most = _scale([point.value for point in points])
    wide, high_px = WIDTH - LEFT - RIGHT, HEIGHT - TOP - BOTTOM

    def across(x: float) -> float:
        return LEFT + wide * (x - low) / (high - low)

    def down(y: float) -> float:
        return TOP + high_px * (1 - (y - least) / (most - least))

    head = f"{measure}{f' in {unit}' if unit else ''}"
    told = _in_words(head, parameter, points)
    lines = [
        '<figure class="plot">',
        f'<svg viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" aria-label="{text(told)}">',
        f'<text x="4" y="14" class="head">{text(head)}</text>',
    ]
    for row in rows:
        y = down(row)
        lines.append(f'<path class="grid" d="M{LEFT:g} {y:.1f}H{WIDTH - RIGHT:g}"/>')
        lines.append(f'<text x="{LEFT - 6:g}" y="{y + 4:.1f}" text-anchor="end">{number(row, 6)}</text>')
    room = wide / max(len(ticks), 1)
    for tick in ticks if len(ticks) <= MOST_CHOICES else []:
        word = number(tick, 6) if is_number else _short(choices[int(tick)], room)
        lines.append(f'<text x="{across(tick):.1f}" y="{HEIGHT - BOTTOM + 16:g}" text-anchor="middle">{text(word)}</text>')
    lines.append(f'<path class="axis" d="M{LEFT:g} {TOP:g}V{HEIGHT - BOTTOM:g}H{WIDTH - RIGHT:g}"/>')
    lines.append(f'<text x="{LEFT + wide / 2:g}" y="{HEIGHT - 8:g}" text-anchor="middle" class="head">{text(parameter)}</text>')
    for x, point in zip(xs, points, strict=True):
        words = f"{point.name}: {parameter} {value_words(point.at)}, {measure} {number(point.value, 3)} {unit}".rstrip()
        lines.append(f"{_mark(across(x), down(point.value), point.verdict)}<title>{text(words)}</title></path>")
    return "\n".join([*lines, "</svg>", f"<figcaption>{text(told)}</figcaption>", "</figure>"])


def _mark(x: float, y: float, verdict: str) -> str:
    """A round mark where all is fine, a triangle with warnings, a square with errors: told apart without colours."""
    r = MARK
    if verdict == "fine":
        d = f"M{x - r:.1f} {y:.1f}a{r:g} {r:g} 0 1 0 {2 * r:g} 0a{r:g} {r:g} 0 1 0 {-2 * r:g} 0z"
    elif verdict == "warnings":
        d = f"M{x:.1f} {y - r:.1f}l{r:g} {2 * r:g}h{-2 * r:g}z"
    else:
        d = f"M{x - r:.1f} {y - r:.1f}h{2 * r:g}v{2 * r:g}h{-2 * r:g}z"
    return f'<path class="point {text(verdict)}" d="{d}">'


def _in_words(head: str, parameter: str, points: Sequence[Point]) -> str:
    """What a reader hears of the plot: how many points, and its least and largest value with where they are."""
    least, most = (pick(points, key=lambda point: (point.value, point.name)) for pick in (min, max))
    return (
        f"{head} against {parameter}, {counted(len(points), 'variant')}: from {number(least.value, 3)} at {parameter} "
        f"{value_words(least.at)} to {number(most.value, 3)} at {parameter} {value_words(most.at)}"
    )


def value_words(value: Any) -> str:
    """A parameter's value as the page shows it.

    >>> [value_words(value) for value in (240.0, True, None, "oak")]
    ['240', 'yes', 'none', 'oak']
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "none" if value is None else number(value, 6) if isinstance(value, int | float) else str(value)


def _short(word: str, room: float) -> str:
    """As much of a word as there is room for at the axis' size of letters."""
    while len(word) > 2 and width_of(word, 11.0) > room:
        word = word[:-2] + "…"
    return word


def _scale(values: Iterable[float]) -> tuple[list[float], float, float]:
    """Round numbers along an axis for these values, and where the axis begins and ends.

    >>> _scale([2.0, 8.0])
    ([2.0, 4.0, 6.0, 8.0], 1.7, 8.3)
    >>> _scale([5.0])
    ([4.0, 5.0, 6.0], 3.9, 6.1)
    """
    known = list(values)
    low, high = min(known), max(known)
    if math.isclose(high, low):
        low, high = low - max(abs(low) * 0.2, 0.5), high + max(abs(high) * 0.2, 0.5)
    span = high - low
    power = 10.0 ** math.floor(math.log10(span / 4))
    step = next(power * times for times in (1, 2, 5, 10) if span / (power * times) <= 4)
    if all(value.is_integer() for value in known):
        step = max(step, 1.0)  # nobody has two and a half columns
    first = math.ceil(round(low / step, 6))
    ticks = [round(i * step, 9) for i in range(first, math.floor(round(high / step, 6)) + 1)]
    return ticks, round(low - 0.05 * span, 9), round(high + 0.05 * span, 9)
