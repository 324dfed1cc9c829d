"""Flat panels as SVG: true size in millimetres, as seen from the show face.

One user unit is one millimetre.  The picture's y axis points down and a panel's up, so coordinates are turned over when
they are written, not by a transform that some programs ignore.  Groups carry the layer names of the DXF file as ids
and follow in cutting order; colours are Okabe-Ito, and strokes also differ in width, so that they can be told
apart in print.

Guarantees: lines, arcs, circles and ellipses are exact to the digits written (1e-6 mm); splines that are not rational
and of degree three or less are exact, others within `BEZIER_TOLERANCE`.  The same panel gives the same bytes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import cycle, pairwise
from xml.sax.saxutils import escape

from panelwright.assemblies.data.parts import Panel
from panelwright.plates.geometry.curves import Arc, Bounds, EllipseArc, Line, Loop, Point, Segment, Spline
from panelwright.plates.materials.stock import OKABE_ITO

from .dxf import CUT_INSIDE, CUT_OUTSIDE, MARK, SHEET, circle_of

__all__ = [
    "BEZIER_TOLERANCE",
    "EXTRA_STROKES",
    "MARGIN",
    "STROKES",
    "Pen",
    "beziers",
    "flat_svg",
    "layered_svg",
    "panel_svg",
    "pens_of",
]

MARGIN = 1.0
"""Empty border round the cut paths, mm."""

BEZIER_TOLERANCE = 1e-4
"""Largest distance between a rational or high-degree spline and the cubics written for it, mm."""

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
    box = (
        min(box[0] for box in boxes) - MARGIN,
        min(box[1] for box in boxes) - MARGIN,
        max(box[2] for box in boxes) + MARGIN,
        max(box[3] for box in boxes) + MARGIN,
    )
    return layered_svg(title, chains, box)


def layered_svg(title: str, layers: Mapping[str, Sequence[Sequence[Segment]]], page: Bounds) -> bytes:
    """An SVG file of chains in mm, one group a layer, in the order given; `page` is the box that it shows.

    >>> from panelwright.plates.geometry.curves import Line
    >>> text = layered_svg("bench", {"MARK": [[Line((0, 0), (5, 0))]]}, (0, 0, 600, 400)).decode()
    >>> 'width="600mm" height="400mm"' in text, '<g id="MARK"' in text
    (True, True)
    """
    left, bottom, right, top = page
    width, height = _number(right - left), _number(top - bottom)
    pen = Pen(left, top)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">',
        f"<title>{escape(title)}</title>",
    ]
    pens = pens_of(layers)
    for layer, drawn in layers.items():
        color, stroke = pens[layer]
        lines.append(f'<g id="{escape(layer)}" fill="none" stroke="{color}" stroke-width="{stroke}">')
        lines.extend(pen.drawn(chain) for chain in drawn)
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


def _number(value: float, digits: int = 6) -> str:
    """Up to so many decimals, without a trailing point or a negative zero.

    >>> _number(-0.00000001), _number(12.50)
    ('0', '12.5')
    """
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


class Pen:
    """Writes chains of segments as SVG elements, y turned over, with the page's corner as origin and `digits` decimals."""

    def __init__(self, left: float, top: float, *, digits: int = 6) -> None:
        self.left = left
        self.top = top
        self.digits = digits

    def number(self, value: float) -> str:
        return _number(value, self.digits)

    def at(self, point: Point) -> str:
        return f"{self.number(point[0] - self.left)} {self.number(self.top - point[1])}"

    def drawn(self, chain: Sequence[Segment]) -> str:
        circle = circle_of(chain)
        if circle is not None:
            x, y = self.at(circle.center).split()
            return f'<circle cx="{x}" cy="{y}" r="{self.number(circle.radius)}"/>'
        steps = [f"M {self.at(chain[0].start)}"]
        closed = math.dist(chain[0].start, chain[-1].end) <= 1e-6
        # closing a path draws its last straight segment; drawing that too would leave a segment of no length
        last = len(chain) - 1 if closed and len(chain) > 1 and isinstance(chain[-1], Line) else len(chain)
        for segment in chain[:last]:
            steps.extend(self.steps(segment))
        if closed:
            steps.append("Z")
        return f'<path d="{" ".join(steps)}"/>'

    def steps(self, segment: Segment) -> list[str]:
        if isinstance(segment, Line):
            return [f"L {self.at(segment.end)}"]
        if isinstance(segment, Arc):
            # an arc of nearly a full turn has ends too close together to carry its centre
            pieces = 2 if abs(segment.sweep) > 1.5 * math.pi else 1
            radius = self.number(segment.radius)
            return [
                self.arc(radius, radius, 0.0, segment.sweep / pieces, segment.point_at((index + 1) / pieces))
                for index in range(pieces)
            ]
        if isinstance(segment, EllipseArc):
            return self.ellipse(segment)
        return [f"C {self.at(a)} {self.at(b)} {self.at(c)}" for _, a, b, c in beziers(segment)]

    def ellipse(self, arc: EllipseArc) -> list[str]:
        sweep = arc.last - arc.first
        pieces = 2 if abs(sweep) > 1.5 * math.pi else 1
        longest = math.hypot(*arc.major)
        # turned over, the axis leans the other way
        lean = -math.degrees(math.atan2(arc.major[1], arc.major[0]))
        radii = (self.number(longest), self.number(longest * arc.ratio))
        return [self.arc(*radii, lean, sweep / pieces, arc.point_at((index + 1) / pieces)) for index in range(pieces)]

    def arc(self, rx: str, ry: str, lean_deg: float, sweep: float, end: Point) -> str:
        large = 1 if abs(sweep) > math.pi else 0
        clockwise_on_page = 0 if sweep > 0 else 1
        return f"A {rx} {ry} {self.number(lean_deg)} {large} {clockwise_on_page} {self.at(end)}"


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
