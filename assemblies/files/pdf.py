"""Flat drawings as PDF at 1:1: a page of the drawing's own size, for print shops and cutters that take nothing else.

Print it at 100 %, never "fit to page".  Colours and line widths are those of the SVG; the format has no layers that every
reader knows, so groups only follow each other in cutting order.

Guarantees: lines are exact to the digits written (1e-6 point), arcs within 1e-5 of their radius; the same drawing gives the
same bytes.
"""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence
from typing import Any

from panelwright.plates.geometry.biarcs import as_arcs
from panelwright.plates.geometry.curves import Arc, Bounds, Line, Loop, Point, Segment, around
from panelwright.plates.tolerances import CURVE_FOLLOW, WRITTEN

from .dxf import CUT_INSIDE, CUT_OUTSIDE, MARK
from .svg import MARGIN, pens_of

__all__ = ["POINT_MM", "flat_pdf", "layered_pdf", "path_of"]

POINT_MM = 25.4 / 72
"""A point, the format's unit, in mm."""


def flat_pdf(
    title: str,
    cuts: Sequence[Loop],
    marks: Sequence[Sequence[Segment]] = (),
    strokes: Sequence[Sequence[Segment]] = (),
    *,
    more_marks: Mapping[str, Sequence[Sequence[Segment]]] | None = None,
) -> bytes:
    """A PDF file of cut paths, slits cut in one stroke, and marks: one page, the box round them and `MARGIN` mm, true size.

    >>> from panelwright.plates.geometry.curves import loop_through
    >>> flat_pdf("tile", [loop_through([(0, 0), (50, 0), (50, 30), (0, 30)])])[:5]
    b'%PDF-'
    """
    loops = [loop.canonical() for loop in cuts]
    layers: dict[str, Sequence[Sequence[Segment]]] = {
        MARK: [mark for mark in marks if mark],
        **{layer: [mark for mark in chains if mark] for layer, chains in (more_marks or {}).items()},
        CUT_INSIDE: [*strokes, *(loop.segments for loop in loops if loop.area < 0)],
        CUT_OUTSIDE: [loop.segments for loop in loops if loop.area >= 0],
    }
    boxes = [segment.bounds for chains in layers.values() for chain in chains for segment in chain]
    left, low, right, high = around(boxes)
    return layered_pdf(title, layers, (left - MARGIN, low - MARGIN, right + MARGIN, high + MARGIN))


def layered_pdf(title: str, layers: Mapping[str, Sequence[Sequence[Segment]]], page: Bounds) -> bytes:
    """A PDF file of chains in mm, layer by layer in the order given, on one page that is the box `page`, true size.

    >>> from panelwright.plates.geometry.curves import Line
    >>> layered_pdf("bench", {"MARK": [[Line((0, 0), (5, 0))]]}, (0, 0, 600, 400))[:5]
    b'%PDF-'
    """
    from reportlab.pdfgen.canvas import Canvas

    left, bottom, right, top = page
    data = io.BytesIO()
    # invariant: no time stamp and no random id
    canvas = Canvas(data, pagesize=((right - left) / POINT_MM, (top - bottom) / POINT_MM), invariant=1, pageCompression=0)
    canvas.setTitle(title)
    canvas.setLineJoin(1)
    pens = pens_of(layers)
    for layer, chains in layers.items():
        color, width = pens[layer]
        canvas.setStrokeColor(color)
        canvas.setLineWidth(width / POINT_MM)
        for chain in chains:
            canvas.drawPath(path_of(canvas, chain, (left, bottom)), stroke=1, fill=0)
    canvas.showPage()
    canvas.save()
    return data.getvalue()


def path_of(canvas: Any, chain: Sequence[Segment], corner: Point, *, more: Sequence[Sequence[Segment]] = ()) -> Any:
    """A chain of segments, in mm, as a path of the canvas, with the point `corner` at its origin.

    `more` are further chains of the same path, such as the holes of an outline to be filled.
    """

    def at(point: Point) -> Point:
        return ((point[0] - corner[0]) / POINT_MM, (point[1] - corner[1]) / POINT_MM)

    path = canvas.beginPath()
    for one in (chain, *more):
        path.moveTo(*at(one[0].start))
        for segment in one:
            for piece in as_arcs(segment, CURVE_FOLLOW):
                if isinstance(piece, Line):
                    path.lineTo(*at(piece.end))
                else:
                    for first, second, end in _cubics(piece):
                        path.curveTo(*at(first), *at(second), *at(end))
        if math.dist(one[0].start, one[-1].end) <= WRITTEN:
            path.close()
    return path


def _cubics(arc: Arc) -> list[tuple[Point, Point, Point]]:
    """Bezier handles and ends that follow an arc, each over an eighth of a turn at most: 4e-6 of the radius off.

    Source: tangent handles of length 4/3·tan(sweep/4)·radius, the textbook construction.
    """
    pieces = max(1, math.ceil(abs(arc.sweep) / (math.pi / 4) - 1e-9))
    sweep = arc.sweep / pieces
    reach = 4 / 3 * math.tan(sweep / 4)
    found: list[tuple[Point, Point, Point]] = []
    for index in range(pieces):
        (x0, y0), (x1, y1) = arc.point_at(index / pieces), arc.point_at((index + 1) / pieces)
        cx, cy = arc.center
        first = (x0 - reach * (y0 - cy), y0 + reach * (x0 - cx))
        second = (x1 + reach * (y1 - cy), y1 - reach * (x1 - cx))
        found.append((first, second, (x1, y1)))
    return found
