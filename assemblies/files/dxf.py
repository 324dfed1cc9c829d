"""Flat panels as DXF: true size in millimetres, one closed entity for each loop where the format has one.

The file is R2000, the oldest version with units and polylines of little weight, so that every cutter's program reads
it.  Layers are `MARK`, `CUT-INSIDE` and `CUT-OUTSIDE`, all three always defined, and entities follow in that order:
what is inside a panel is done while the sheet still holds it.  R2000 has no true colours, so layers carry the nearest
entries of the 255-colour index to three Okabe-Ito colours; none of them is one of the seven pure colours that programs
like to take for a power setting, and line weights differ too.

Guarantees: the same panel gives the same bytes, in any process and at any time; coordinates are rounded to 1e-6 mm, and to
1e-9 mm in a loop of several entities, so that their ends meet within 1e-6 mm.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from panelwright.assemblies.data.parts import Panel
from panelwright.plates.geometry.curves import Arc, Bounds, EllipseArc, Line, Loop, Point, Segment, Spline
from panelwright.plates.tolerances import POINT_TOLERANCE, TURN_ROUNDING, WRITTEN

__all__ = ["CUT_INSIDE", "CUT_OUTSIDE", "LAYERS", "MARK", "SHEET", "circle_of", "flat_dxf", "layered_dxf", "panel_dxf"]

MARK = "MARK"
CUT_INSIDE = "CUT-INSIDE"
CUT_OUTSIDE = "CUT-OUTSIDE"

SHEET = "SHEET"
"""Layer of the outline of what all is cut from: to look at, never to be cut."""

LAYERS: dict[str, tuple[int, int]] = {
    MARK: (122, 13),
    CUT_INSIDE: (142, 25),
    CUT_OUTSIDE: (32, 50),
}
"""Layer: (colour index nearest to bluish green, blue and vermillion; line weight in 1/100 mm), in cutting order."""

EXTRA_COLORS = (30, 151, 241, 41, 250)
"""Colour indices nearest to orange, sky blue, reddish purple, yellow and black, for further layers of marks in turn."""

FIXED_STAMP = 2451544.5
"""Julian date of 1 January 2000, in place of the time at which the file was written."""

FIXED_GUID = "{00000000-0000-0000-0000-000000000000}"


def panel_dxf(panel: Panel) -> bytes:
    """The DXF file of one panel: its cut paths and marks as seen from the show face, in mm."""
    return flat_dxf(panel.cuts, panel.marks, panel.strokes)


def flat_dxf(
    cuts: Iterable[Loop],
    marks: Iterable[Sequence[Segment]] = (),
    strokes: Iterable[Sequence[Segment]] = (),
    *,
    more_marks: Mapping[str, Iterable[Sequence[Segment]]] | None = None,
) -> bytes:
    """A DXF file of cut paths and marks, all in mm.

    Clockwise loops go to `CUT-INSIDE`, counter-clockwise ones to `CUT-OUTSIDE`, chains of `marks` to `MARK`, and those of
    `more_marks` to layers of the names given, right after it.  A loop of lines and arcs becomes one closed LWPOLYLINE, a
    circle a CIRCLE, a full ellipse an ELLIPSE, a closed spline a SPLINE; other loops become entities end to end.  `strokes`,
    slits that are cut in one pass, become open polylines on `CUT-INSIDE`, before its loops.

    >>> from panelwright.plates.geometry.curves import loop_through
    >>> text = flat_dxf([loop_through([(0, 0), (50, 0), (50, 30), (0, 30)])]).decode("ascii")
    >>> text.count("LWPOLYLINE"), "CUT-INSIDE" in text
    (1, True)
    """
    loops = list(cuts)
    chains: dict[str, list[Sequence[Segment]]] = {
        layer: [tuple(chain) for chain in sorted(some, key=_chain_key)]
        for layer, some in {MARK: marks, **(more_marks or {}), CUT_INSIDE: strokes}.items()
    }
    chains[CUT_OUTSIDE] = []
    for loop in sorted(loops, key=_loop_key):
        chains[CUT_INSIDE if loop.area < 0 else CUT_OUTSIDE].append(loop.canonical().segments)
    return layered_dxf(chains)


def layered_dxf(layers: Mapping[str, Sequence[Sequence[Segment]]], limits: Bounds | None = None) -> bytes:
    """A DXF file of chains in mm, by layer, written in the order given.

    The extents in its header are those of all that is drawn; `limits` is the box of the page, that of the drawing unless
    it is given.  Layers other than `LAYERS` get colours of their own; a chain that
    ends where it starts becomes a closed entity, and starts where it is given to start if it is a polyline.

    >>> from panelwright.plates.geometry.curves import Line
    >>> layered_dxf({"MARK": [[Line((0, 0), (5, 0))]]}).decode("ascii").count("LWPOLYLINE")
    1
    """
    doc = _blank()
    if SHEET in layers:
        doc.layers.add(SHEET, color=250, lineweight=LAYERS[MARK][1]).dxf.plot = 0  # black, and not printed
    for index, layer in enumerate(layer for layer in layers if layer not in (*LAYERS, SHEET)):
        doc.layers.add(layer, color=EXTRA_COLORS[index % len(EXTRA_COLORS)], lineweight=LAYERS[MARK][1])
    space = doc.modelspace()
    for layer, chains in layers.items():
        for chain in chains:
            _add(space, tuple(chain), layer)
    boxes = [segment.bounds for chains in layers.values() for chain in chains for segment in chain]
    if boxes:
        drawn = _common_box(boxes)
        _set_extents(doc, drawn, limits or drawn)
    stream = io.StringIO()
    doc.write(stream)
    return bytes(doc.encode(stream.getvalue()))


def _blank() -> Any:
    """An empty document with the layers, in mm, whose header does not know the time."""
    from ezdxf.document import Drawing

    class Stamped(Drawing):
        """A drawing that writes fixed stamps: ezdxf's own switch for that would change every other drawing too."""

        def _create_ezdxf_metadata(self) -> None:
            """Leave out the note of version and time at which the drawing was made."""

        def _update_metadata(self) -> None:
            for name in ("$TDCREATE", "$TDUCREATE", "$TDUPDATE", "$TDUUPDATE"):
                self.header[name] = FIXED_STAMP
            self.header["$VERSIONGUID"] = self.header["$FINGERPRINTGUID"] = FIXED_GUID
            self.header["$HANDSEED"] = str(self.entitydb.handles)
            self.header["$DWGCODEPAGE"] = "ANSI_1252"

    doc = Stamped.new("AC1015")
    doc.header["$INSUNITS"] = 4  # millimetres
    doc.header["$MEASUREMENT"] = 1  # metric
    doc.header["$LUNITS"] = 2  # decimal
    doc.header["$LWDISPLAY"] = 1
    for name, (color, weight) in LAYERS.items():
        doc.layers.add(name, color=color, lineweight=weight)
    return doc


def _set_extents(doc: Any, drawn: Bounds, page: Bounds) -> None:
    space = doc.modelspace()
    space.reset_extents((_round(drawn[0]), _round(drawn[1]), 0.0), (_round(drawn[2]), _round(drawn[3]), 0.0))
    space.reset_limits((_round(page[0]), _round(page[1])), (_round(page[2]), _round(page[3])))
    for layout in doc.layouts:
        if not layout.is_modelspace:  # nothing is drawn there, and "no extents" is ±1e20, which some programs zoom to
            layout.reset_extents((0.0, 0.0, 0.0), (0.0, 0.0, 0.0))


def _common_box(boxes: Sequence[Bounds]) -> Bounds:
    return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))


def _loop_key(loop: Loop) -> tuple[float, ...]:
    return (*(_round(v) for v in loop.bounds), _round(loop.area), float(len(loop)))


def _chain_key(chain: Sequence[Segment]) -> tuple[float, ...]:
    boxes = [segment.bounds for segment in chain]
    low = tuple(_round(min(box[i] for box in boxes)) for i in (0, 1)) if boxes else ()
    ends = (*chain[0].start, *chain[-1].end) if chain else ()
    return (*low, *(_round(v) for v in ends), float(len(chain)))


def _round(value: float, digits: int = 6) -> float:
    """A rounded number that is never −0."""
    return round(value, digits) + 0.0


def _at(point: Point) -> Point:
    return (_round(point[0]), _round(point[1]))


def _near(point: Point) -> Point:
    """The point of an entity that others may join, rounded so finely that what each is made of doesn't part them."""
    return (_round(point[0], 9), _round(point[1], 9))


def circle_of(segments: Sequence[Segment]) -> Arc | None:
    """The circle that a chain makes, if it does: one arc of a full turn, or arcs about one centre that add up to it.

    >>> half = Arc((1.0, 0.0), (-1.0, 0.0), (0.0, 0.0), math.pi)
    >>> circle_of([half, Arc((-1.0, 0.0), (1.0, 0.0), (0.0, 0.0), math.pi)]).is_full
    True
    >>> circle_of([half]) is None
    True
    """
    first = segments[0] if segments else None
    if not isinstance(first, Arc):
        return None
    total = 0.0
    for arc in segments:
        if not isinstance(arc, Arc) or math.dist(arc.center, first.center) > POINT_TOLERANCE:
            return None
        if abs(arc.radius - first.radius) > POINT_TOLERANCE:
            return None
        total += arc.sweep
    if abs(abs(total) - math.tau) > TURN_ROUNDING:
        return None
    return Arc(first.start, first.start, first.center, math.copysign(math.tau, total))


def _add(space: Any, segments: tuple[Segment, ...], layer: str) -> None:
    """Add a chain of segments as few entities: one, where an entity exists for it."""
    if not segments:
        return
    style = {"layer": layer}
    circle = circle_of(segments)
    if circle is not None:
        space.add_circle(_at(circle.center), _round(circle.radius), dxfattribs=style)
    elif all(isinstance(segment, Line | Arc) for segment in segments):
        _add_polyline(space, segments, style)
    else:
        for segment in segments:
            _add_single(space, segment, style)


def _add_polyline(space: Any, segments: tuple[Segment, ...], style: dict[str, str]) -> None:
    corners: list[tuple[float, float, float]] = []
    for segment in segments:
        pieces = 2 if isinstance(segment, Arc) and abs(segment.sweep) > 1.5 * math.pi else 1
        sweep = segment.sweep / pieces if isinstance(segment, Arc) else 0.0
        for index in range(pieces):
            bulge = _round(math.tan(sweep / 4), 12)
            corners.append((*_at(segment.point_at(index / pieces)), bulge))
    closed = math.dist(segments[0].start, segments[-1].end) <= WRITTEN
    if not closed:
        corners.append((*_at(segments[-1].end), 0.0))
    space.add_lwpolyline(corners, format="xyb", close=closed, dxfattribs=style)


def _add_single(space: Any, segment: Segment, style: dict[str, str]) -> None:
    if isinstance(segment, Line):
        space.add_line(_near(segment.start), _near(segment.end), dxfattribs=style)
    elif isinstance(segment, Arc):
        start, end = segment.start_angle, segment.start_angle + segment.sweep
        if segment.sweep < 0:
            start, end = end, start
        degrees = (_round(math.degrees(start) % 360, 9), _round(math.degrees(end) % 360, 9))
        space.add_arc(_near(segment.center), _round(segment.radius, 9), *degrees, dxfattribs=style)
    elif isinstance(segment, EllipseArc):
        _add_ellipse(space, segment, style)
    else:
        _add_spline(space, segment, style)


def _add_ellipse(space: Any, arc: EllipseArc, style: dict[str, str]) -> None:
    first, last = min(arc.first, arc.last), max(arc.first, arc.last)
    ends = (0.0, math.tau) if arc.is_full else (_round(first % math.tau, 12), _round(last % math.tau, 12))
    major, ratio = arc.major, arc.ratio
    if ratio > 1:  # the format wants the longer axis first, and angles counted from it
        major, ratio = (-major[1] * ratio, major[0] * ratio), 1 / ratio
        ends = ends if arc.is_full else ((ends[0] - math.pi / 2) % math.tau, (ends[1] - math.pi / 2) % math.tau)
    space.add_ellipse(
        _near(arc.center),
        major_axis=(_round(major[0], 9), _round(major[1], 9)),
        ratio=_round(ratio, 12),
        start_param=ends[0],
        end_param=ends[1],
        dxfattribs=style,
    )


def _add_spline(space: Any, spline: Spline, style: dict[str, str]) -> None:
    entity = space.add_spline(degree=spline.degree, dxfattribs=style)
    entity.control_points = [(*_near(pole), 0.0) for pole in spline.poles]
    entity.knots = [_round(knot, 12) for knot in spline.knots]
    if spline.weights is not None:
        entity.weights = [_round(weight, 12) for weight in spline.weights]
        entity.dxf.flags |= 4
    entity.dxf.flags |= 8  # planar
    entity.closed = math.dist(spline.start, spline.end) <= WRITTEN
