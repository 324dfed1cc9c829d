"""Flat panels as SVG: true size in millimetres, as seen from the show face.

One user unit is one millimetre.  The picture's y axis points down and a panel's up, so coordinates are turned over when
they are written, not by a transform that some programs ignore.  Groups carry the layer names of the DXF file as ids
and follow in cutting order; colours are Okabe-Ito, and strokes also differ in width, so that they can be told
apart in print.

Guarantees: lines, arcs, circles and ellipses are exact to the digits written (1e-6 mm); splines that are not rational
and of degree three or less are exact, others within `BEZIER_TOLERANCE` (`svg_path.py`).  The same panel gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import cycle
from xml.sax.saxutils import escape

from panelwright.assemblies.data.parts import Panel
from panelwright.plates.geometry.curves import Bounds, Loop, Segment, around
from panelwright.plates.materials.stock import OKABE_ITO
from panelwright.plates.outlines.svg_path import Pen, decimal

from .dxf import CUT_INSIDE, CUT_OUTSIDE, MARK, SHEET, circle_of

__all__ = [
    "EXTRA_STROKES",
    "MARGIN",
    "STROKES",
    "drawn",
    "flat_svg",
    "layered_svg",
    "panel_svg",
    "pens_of",
]

MARGIN = 1.0
"""Empty border round the cut paths, mm."""

STROKES: dict[str, tuple[str, float]] = {
    MARK: (OKABE_ITO["bluish green"], 0.1),
    CUT_INSIDE: (OKABE_ITO["blue"], 0.2),
    CUT_OUTSIDE: (OKABE_ITO["vermillion"], 0.3),
}
"""Layer: (colour, stroke width in mm), in cutting order.  No dashes: a cutter might cut them as dashes."""

EXTRA_STROKES = tuple(OKABE_ITO[name] for name in ("orange", "sky blue", "reddish purple", "yellow", "black"))
"""Colours for further layers of marks, in turn."""


def panel_svg(panel: Panel) -> bytes:
    """The SVG file of one panel: its cut paths and marks, UTF-8.

    The page is the box round cut paths and marks with `MARGIN` mm to spare, its size given in mm.

    >>> from panelwright.plates.geometry.curves import loop_through
    >>> from panelwright.plates.materials.stock import Stock
    >>> edge = loop_through([(0, 0), (50, 0), (50, 30), (0, 30)])
    >>> lid = Panel("lid", Stock("card", thickness=2), ("lid",), (edge,), (edge,), (), 1500.0, None)
    >>> panel_svg(lid).decode().splitlines()[1]
    '<svg xmlns="http://www.w3.org/2000/svg" width="52mm" height="32mm" viewBox="0 0 52 32">'
    """
    return flat_svg(panel.name, panel.cuts, panel.marks, panel.strokes)


def flat_svg(
    title: str,
    cuts: Sequence[Loop],
    marks: Sequence[Sequence[Segment]] = (),
    strokes: Sequence[Sequence[Segment]] = (),
    *,
    more_marks: Mapping[str, Sequence[Sequence[Segment]]] | None = None,
) -> bytes:
    """An SVG file of cut paths and marks, in groups as `flat_dxf` puts them on layers."""
    further = more_marks or {}
    chains: dict[str, list[Sequence[Segment]]] = {
        MARK: [mark for mark in marks if mark],
        **{layer: [mark for mark in some if mark] for layer, some in further.items()},
        CUT_INSIDE: [
            *sorted(strokes, key=_place),
            *(loop.segments for loop in _ordered(cuts) if loop.area < 0),
        ],
        CUT_OUTSIDE: [loop.segments for loop in _ordered(cuts) if loop.area >= 0],
    }
    boxes = [segment.bounds for some in chains.values() for chain in some for segment in chain]
    left, low, right, high = around(boxes)
    return layered_svg(title, chains, (left - MARGIN, low - MARGIN, right + MARGIN, high + MARGIN))


def layered_svg(title: str, layers: Mapping[str, Sequence[Sequence[Segment]]], page: Bounds) -> bytes:
    """An SVG file of chains in mm, one group a layer, in the order given; `page` is the box that it shows.

    >>> from panelwright.plates.geometry.curves import Line
    >>> text = layered_svg("bench", {"MARK": [[Line((0, 0), (5, 0))]]}, (0, 0, 600, 400)).decode()
    >>> 'width="600mm" height="400mm"' in text, '<g id="MARK"' in text
    (True, True)
    """
    left, bottom, right, top = page
    width, height = decimal(right - left), decimal(top - bottom)
    pen = Pen(left, top)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">',
        f"<title>{escape(title)}</title>",
    ]
    pens = pens_of(layers)
    for layer, chains in layers.items():
        color, stroke = pens[layer]
        lines.append(f'<g id="{escape(layer)}" fill="none" stroke="{color}" stroke-width="{stroke}">')
        lines.extend(drawn(pen, chain) for chain in chains)
        lines.append("</g>")
    lines.append("</svg>\n")
    return "\n".join(lines).encode("utf-8")


def pens_of(layers: Iterable[str]) -> dict[str, tuple[str, float]]:
    """Colour and stroke width in mm of each layer; those not in `STROKES` take `EXTRA_STROKES` in turn."""
    further = (layer for layer in layers if layer not in (*STROKES, SHEET))
    extra = {layer: (color, STROKES[MARK][1]) for layer, color in zip(further, cycle(EXTRA_STROKES), strict=False)}
    return {**STROKES, SHEET: (OKABE_ITO["black"], STROKES[MARK][1]), **extra}


def _place(stroke: Sequence[Segment]) -> tuple[float, ...]:
    return (*(round(v, 6) for v in stroke[0].start), *(round(v, 6) for v in stroke[-1].end))


def _ordered(loops: Sequence[Loop]) -> list[Loop]:
    begun = [loop.canonical() for loop in loops]
    return sorted(begun, key=lambda loop: (*(round(v, 6) for v in loop.bounds), round(loop.area, 6)))


def drawn(pen: Pen, chain: Sequence[Segment]) -> str:
    """A chain as an SVG element: a circle where it is one, else a path.

    >>> from panelwright.plates import disc
    >>> drawn(Pen(-5.0, 5.0), disc(8).loops[0].segments)
    '<circle cx="5" cy="5" r="4"/>'
    """
    circle = circle_of(chain)
    if circle is None:
        return f'<path d="{pen.path(chain)}"/>'
    x, y = pen.at(circle.center).split()
    return f'<circle cx="{x}" cy="{y}" r="{pen.number(circle.radius)}"/>'
