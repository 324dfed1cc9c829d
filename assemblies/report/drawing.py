"""A panel as a dimensioned drawing: the finished shape as seen from the show face, in mm.

Colours say what a line is and so do its dashes, so that a print in grey can be read too.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.verdict import counted
from panelwright.assemblies.files.dxf import circle_of
from panelwright.assemblies.files.svg import drawn
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.outlines.svg_path import Pen

from .html_text import number, text, width_of

__all__ = ["LEGEND", "openings_of", "panel_drawing", "width_for"]

LEGEND = (("outer", "outline"), ("inner", "opening"), ("stroke", "slit, one stroke"), ("mark", "mark"))
"""Classes of lines in drawings, and what they are called."""


TEXT: Final = 0.036
"""Height of dimensions as a share of a figure's width: 11 px of the 320 px that figures have at least."""


def width_for(panels: Sequence[Panel]) -> float:
    """The width of a figure in mm, one for all panels, so that the largest of them fits with its dimensions.

    The highest one makes a figure as high as wide, at most.
    """
    around = 3.7 * TEXT  # of the text's height: room for dimensions on one side, an edge on the other
    sizes = [panel.bbox_mm for panel in panels]
    return max(max(wide, high) for wide, high in sizes) / (1 - around)


def panel_drawing(panel: Panel, wide: float | None = None) -> str:
    """The panel as an SVG element without styles of its own: lines have the classes of `LEGEND`, dimensions `dim`.

    It takes such a share of the width of what holds it that this is `wide` mm wide (by default just its own width), and so
    do the drawings of other panels beside it.  Dimensions are as high for one as for all; `dim own` are those to be shown
    with the box in `data-view`, where the panel stands alone.

    >>> from panelwright.plates.geometry.curves import loop_through
    >>> from panelwright.plates.materials.stock import Stock
    >>> edge = loop_through([(0, 0), (50, 0), (50, 30), (0, 30)])
    >>> lid = Panel("lid", Stock("card", thickness=2), ("lid",), (edge,), (edge,), (), 1500.0, None)
    >>> panel_drawing(lid, 200.0).partition(" data-view")[0]
    '<svg viewBox="-19.44 -7.2 76.64 56.64" width="38.32%"'
    >>> panel_drawing(lid, 400.0).partition(" data-view")[0]  # beside a panel twice as large: half as wide, with room for words
    '<svg viewBox="-38.88 -14.4 103.28 83.28" width="25.82%"'
    """
    width, height = panel.bbox_mm
    whole = width_for([panel]) if wide is None else wide
    pen = Pen(0.0, height, digits=3)
    inner = [loop for loop in panel.loops if loop.area < 0]
    chains = [
        *(("mark", mark) for mark in panel.marks if mark),
        *(("stroke", stroke) for stroke in panel.strokes if stroke),
        *(("inner", loop.segments) for loop in inner if not _is_stroke(loop, panel)),
        *(("outer", loop.segments) for loop in panel.loops if loop.area >= 0),
    ]
    size, own = TEXT * whole, _own_size(width, height)
    view = _view(width, height, size)
    lines = [
        f'<svg viewBox="{_listed(view)}" width="{number(100 * view[2] / whole, 3)}%" '
        f'data-view="{_listed(_view(width, height, own))}" role="img" aria-label="{text(panel.name)}: '
        f'{number(width)} × {number(height)} mm, {counted(len(inner), "opening")}">',
    ]
    for kind, _ in LEGEND:
        paths = "".join(drawn(pen, chain) for which, chain in chains if which == kind)
        if paths:
            lines.append(f'<g class="{kind}">{paths}</g>')
    for words, high in (("dim", size), ("dim own", own)):
        lines.append(f'<g class="{words}">{_across(width, height, high)}{_upwards(height, high)}</g>')
    return "\n".join([*lines, "</svg>"])


def _own_size(width: float, height: float) -> float:
    """Height of a dimension that suits the panel alone, mm."""
    long, short = max(width, height), min(width, height)
    return min(12.0, max(3.0, min(0.04 * long, 0.12 * max(1.0, short) + 0.02 * long)))


def _view(width: float, height: float, size: float) -> tuple[float, float, float, float]:
    """The box to show: the panel, its dimensions on two sides, and their words where these are longer than it."""
    room, edge = 2.7 * size, size
    right = max(width + edge, width / 2 + width_of(number(width), size) / 2)
    left = min(-room, width / 2 - width_of(number(width), size) / 2)
    top = min(-edge, height / 2 - width_of(number(height), size) / 2)
    low = max(height + room, height / 2 + width_of(number(height), size) / 2)
    return (left, top, right - left, low - top)


def _listed(view: tuple[float, float, float, float]) -> str:
    return " ".join(number(value, 3) for value in view)


def _is_stroke(loop: Loop, panel: Panel) -> bool:
    """Whether an opening is a slit as wide as the kerf, which is drawn as its middle line."""
    if not panel.strokes:
        return False
    narrow = 2 * abs(loop.area) / max(1e-9, loop.length)
    return narrow < 1.05 * panel.stock.kerf


def _across(width: float, height: float, size: float) -> str:
    """The dimension line below the panel."""
    y = height + 1.3 * size
    return (
        f'<path d="M0 {number(height + 0.3 * size, 3)}V{number(y + 0.4 * size, 3)}'
        f"M{number(width, 3)} {number(height + 0.3 * size, 3)}V{number(y + 0.4 * size, 3)}"
        f'M0 {number(y, 3)}H{number(width, 3)}{_tips(0, y, width, y, size)}"/>'
        f'<text x="{number(width / 2, 3)}" y="{number(y + 1.15 * size, 3)}" font-size="{number(size, 3)}" '
        f'text-anchor="middle">{number(width)}</text>'
    )


def _upwards(height: float, size: float) -> str:
    """The dimension line to the left of the panel, its number turned to be read from the right."""
    x, middle = -1.3 * size, height / 2
    return (
        f'<path d="M{number(-0.3 * size, 3)} 0H{number(x - 0.4 * size, 3)}'
        f"M{number(-0.3 * size, 3)} {number(height, 3)}H{number(x - 0.4 * size, 3)}"
        f'M{number(x, 3)} 0V{number(height, 3)}{_tips(x, 0, x, height, size)}"/>'
        f'<text x="{number(x - 0.4 * size, 3)}" y="{number(middle, 3)}" font-size="{number(size, 3)}" text-anchor="middle" '
        f'transform="rotate(-90 {number(x - 0.4 * size, 3)} {number(middle, 3)})">{number(height)}</text>'
    )


def _tips(x0: float, y0: float, x1: float, y1: float, size: float) -> str:
    """Oblique ticks at both ends of a dimension line."""
    reach = 0.28 * size
    return "".join(
        f"M{number(x - reach, 3)} {number(y + reach, 3)}L{number(x + reach, 3)} {number(y - reach, 3)}"
        for x, y in ((x0, y0), (x1, y1))
    )


def openings_of(panel: Panel) -> list[tuple[str, int, list[tuple[float, float]]]]:
    """The panel's openings by size: words, how many, and their middles in mm from its lower left corner.

    Round ones go by their diameter, others by the box around them; slits cut in one stroke are counted only.
    """
    groups: dict[str, list[tuple[float, float]]] = {}
    for loop in panel.loops:
        if loop.area >= 0 or _is_stroke(loop, panel):
            continue
        x0, y0, x1, y1 = loop.bounds
        circle = circle_of(loop.segments)
        words = f"⌀ {number(2 * circle.radius)}" if circle is not None else f"{number(x1 - x0)} × {number(y1 - y0)}"
        groups.setdefault(words, []).append((round((x0 + x1) / 2, 2) + 0.0, round((y0 + y1) / 2, 2) + 0.0))
    found = [(words, len(spots), sorted(spots)) for words, spots in sorted(groups.items())]
    if panel.strokes:
        found += _slits(panel)
    return found


def _slits(panel: Panel) -> list[tuple[str, int, list[tuple[float, float]]]]:
    lengths = Counter(number(sum(segment.length for segment in stroke)) for stroke in panel.strokes)
    return [(f"slit, {length} long", count, []) for length, count in sorted(lengths.items())]
