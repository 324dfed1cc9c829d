"""A plate's outline from a DXF file that somebody drew.

Lines, arcs and curves are chained end to end to closed loops; loops at even depth of nesting bound material, those at
odd depth are holes.  A drawing that could be read in two ways is refused, with the file, layer, handle and place in mm
of what is wrong, because a guess here would be cut out of a sheet.

Kinds that carry no outline (`IGNORED`) are passed over; blocks are exploded, and what lies on layer 0 of a block counts
to the layer on which the block stands.  Only model space is read.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any, NoReturn

import numpy as np

from .curves import TURN, Arc, EllipseArc, Line, Loop, Point, Segment, Spline
from .errors import OutlineError
from .region import sorted_loops
from .tolerances import POINT_TOLERANCE

__all__ = ["CHAIN_GAP", "IGNORED", "UNITS", "outline_loops_from_dxf"]

UNITS: dict[str, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""Millimetres in one unit of a drawing."""

UNIT_CODES: dict[int, str] = {1: "in", 4: "mm", 5: "cm", 6: "m"}
"""Values of the header variable $INSUNITS, DXF reference."""

IGNORED = ("TEXT", "MTEXT", "DIMENSION", "POINT", "ATTDEF", "ATTRIB")
"""Kinds of entity that say something about an outline without being part of it."""

CHAIN_GAP = 1e-4
"""Ends nearer than this are joined, mm: ten times the rounding of drawings written with five decimals."""

CHORD = 1e-4
"""How closely chords follow curves where loops are tested for crossing, mm."""


@dataclass(frozen=True, slots=True)
class _Piece:
    """One segment and the entity it came from, for messages."""

    segment: Segment
    label: str


class _Source:
    """Where we are, for messages."""

    def __init__(self, path: Path, layer: str | None) -> None:
        self.where = f"DXF file {path.name!r}" + (f", layer {layer!r}" if layer is not None else "")

    def refuse(
        self, text: str, *, value: object = None, limit: object = None, cause: Exception | None = None
    ) -> NoReturn:
        raise OutlineError(f"{self.where}: {text}", value=value, limit=limit) from cause


def outline_loops_from_dxf(
    path: str | Path, *, layer: str | None = None, unit: str | None = None
) -> tuple[Loop, ...]:
    """The one outline in a DXF file and its holes, in mm: outer loop first, counter-clockwise, holes clockwise.

    `layer` names the one layer to read (any case); None reads all.  `unit` ("mm", "cm", "m" or "in") says what one unit
    of the drawing is and wins over the file's own $INSUNITS; a file without units is refused unless it is given.

    LINE, ARC, CIRCLE, ELLIPSE, SPLINE, LWPOLYLINE and flat POLYLINE are read, each as the exact curve it is; ends that
    lie within `CHAIN_GAP` are joined.

    Raises `OutlineError` for a file that can't be read or has no units, no closed loop or nothing on the layer; for
    open chains, ends where more than two pieces meet, duplicate or overlapping pieces, loops that cross themselves or
    each other, entities that are not flat or of an unknown kind, and more than one outline.

    >>> try:
    ...     outline_loops_from_dxf("no such file.dxf")
    ... except ValueError as error:
    ...     print(error)
    DXF file 'no such file.dxf': the file can't be read (FileNotFoundError); give the path of a DXF file
    """
    path = Path(path)
    source = _Source(path, layer)
    doc = _read(path, source)
    scale = _scale(doc, unit, source)
    pieces: list[_Piece] = []
    loops: list[tuple[Loop, str]] = []
    entities = list(_entities(doc.modelspace(), layer, source))
    if not entities:
        used = sorted({_layer(entity) for entity in doc.modelspace()})
        hint = f"layers in use are {', '.join(map(repr, used))}" if used else "model space is empty"
        source.refuse(f"there is nothing to read; {hint}", value=layer)
    for entity, label in entities:
        chain = [_scaled(segment, scale) for segment in _guarded(_segments, entity, label, source)]
        chain = [segment for segment in chain if not _is_point(segment)]
        if chain and math.dist(chain[0].start, chain[-1].end) <= POINT_TOLERANCE and _runs_on(chain):
            loops.append((Loop((*chain[:-1], _ending_at(chain[-1], chain[0].start))), label))
        else:
            pieces.extend(_Piece(segment, label) for segment in chain)
    known = [_Piece(segment, label) for loop, label in loops for segment in loop]
    _refuse_overlaps([*known, *pieces], source)
    loops += _chained(pieces, source)
    if not loops:
        source.refuse("there is no closed loop; draw the outline as a closed polyline or as lines that meet")
    return _nested(loops, source)


def _read(path: Path, source: _Source) -> Any:
    from ezdxf.filemanagement import readfile

    try:
        return readfile(path)
    except OSError as error:
        kind = type(error).__name__ if type(error) is not OSError else "no DXF file"
        source.refuse(f"the file can't be read ({kind}); give the path of a DXF file", cause=error)
    except Exception as error:  # a damaged file fails anywhere in the reader, with anything
        source.refuse(f"the file is no sound DXF ({error}); export it again, as R2000 or later", cause=error)


def _scale(doc: Any, unit: str | None, source: _Source) -> float:
    if unit is not None:
        if unit not in UNITS:
            source.refuse(f"unit {unit!r} is not known; give one of {', '.join(UNITS)}", value=unit)
        return UNITS[unit]
    code = int(doc.header.get("$INSUNITS", 0))
    if code not in UNIT_CODES:
        what = "has no units" if code == 0 else f"has units of code {code}, which is not known here"
        source.refuse(
            f'the drawing {what}; set its units to millimetres, centimetres, metres or inches, or pass unit="mm"',
            value=code,
        )
    return UNITS[UNIT_CODES[code]]


def _guarded(read: Callable[[Any, str, _Source], list[Any]], entity: Any, label: str, source: _Source) -> list[Any]:
    """What `read` makes of an entity; one with missing or senseless data fails anywhere in the reader."""
    try:
        return read(entity, label, source)
    except OutlineError:
        raise
    except Exception as error:
        source.refuse(f"{label} is damaged ({error}); draw it again", value=label, cause=error)


def _layer(entity: Any) -> str:
    return str(entity.dxf.layer) if entity.is_supported_dxf_attrib("layer") else "0"


def _exploded(insert: Any, _label: str, _source: _Source) -> list[Any]:
    single = list(insert.multi_insert()) if insert.mcount > 1 else [insert]
    return [part for one in single for part in one.virtual_entities()]


def _entities(space: Iterable[Any], layer: str | None, source: _Source) -> Iterator[tuple[Any, str]]:
    """Entities on the layer, blocks exploded, each with a label that says where it is."""
    stack = [(entity, _layer(entity), f"handle {entity.dxf.handle}") for entity in reversed(list(space))]
    while stack:
        entity, on, origin = stack.pop()
        kind = entity.dxftype()
        if kind == "INSERT":
            parts = _guarded(_exploded, entity, f"INSERT ({origin}, layer {on!r})", source)
            origin = f"{origin.split(' in ')[0]} in block {entity.dxf.name!r}"
            stack.extend((part, on if _layer(part) == "0" else _layer(part), origin) for part in reversed(parts))
            continue
        if kind in IGNORED or (layer is not None and on.casefold() != layer.casefold()):
            continue
        yield entity, f"{kind} ({origin}, layer {on!r})"


def _segments(entity: Any, label: str, source: _Source) -> list[Segment]:
    """An entity's exact curves in drawing units, in order."""
    kind = entity.dxftype()
    if kind == "LINE":
        return [Line(*_flat([entity.dxf.start, entity.dxf.end], label, source))]
    if kind in ("CIRCLE", "ARC"):
        return [_circle(entity, label, source)]
    if kind == "LWPOLYLINE":
        corners = [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
        return _polyline(entity, corners, bool(entity.closed), label, source)
    if kind == "POLYLINE" and (entity.is_2d_polyline or entity.is_3d_polyline):
        real = [v for v in entity.vertices if not v.dxf.flags & 16]  # 16: only the frame of a smoothed polyline
        if entity.is_3d_polyline:
            points = _flat([v.dxf.location for v in real], label, source)
            ring = points[1:] + points[:1] if entity.is_closed else points[1:]
            return [Line(p, q) for p, q in zip(points, ring, strict=False)]
        corners = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in real]
        return _polyline(entity, corners, bool(entity.is_closed), label, source)
    if kind == "ELLIPSE":
        return [_ellipse(entity, label, source)]
    if kind != "SPLINE":
        source.refuse(
            f"{label} can't be part of an outline; explode it to lines, arcs or polylines, or move it to another layer",
            value=kind,
        )
    return [_spline(entity, label, source)]


def _flat(points: Sequence[Any], label: str, source: _Source) -> list[Point]:
    """The points without their height, if they all have the same and every coordinate is a number."""
    _refuse_nan([value for point in points for value in (point[0], point[1], point[2])], label, source)
    if points and max(p[2] for p in points) - min(p[2] for p in points) > CHAIN_GAP:
        source.refuse(f"{label} is not flat; draw the outline in the xy plane", value=label)
    return [(float(p[0]), float(p[1])) for p in points]


def _refuse_nan(values: Iterable[float], label: str, source: _Source) -> None:
    if not all(abs(value) < 1e9 for value in values):
        source.refuse(f"{label} has a coordinate that is not a number or beyond all bounds; draw it again", value=label)


def _is_flipped(entity: Any, label: str, source: _Source) -> bool:
    """Whether the entity is seen from below; refuses one that leans."""
    extrusion = entity.dxf.extrusion
    if math.hypot(extrusion.x, extrusion.y) > 1e-9 * abs(extrusion.z):
        source.refuse(f"{label} is not flat; draw the outline in the xy plane", value=label)
    return bool(extrusion.z < 0)


def _circle(entity: Any, label: str, source: _Source) -> Arc:
    flipped = _is_flipped(entity, label, source)
    radius = float(entity.dxf.radius)
    ((cx, cy),) = _flat([entity.dxf.center], label, source)
    angles = (entity.dxf.start_angle, entity.dxf.end_angle) if entity.dxftype() == "ARC" else ()
    _refuse_nan([radius, *angles], label, source)
    if not radius > 0:
        source.refuse(f"{label} has a radius of {radius:g}; draw it again", value=radius, limit=0)
    first, sweep = 0.0, TURN
    if angles:
        first = math.radians(angles[0])
        sweep = math.radians((angles[1] - angles[0]) % 360.0) or TURN
    start = (cx + radius * math.cos(first), cy + radius * math.sin(first))
    last = first + sweep
    end = start if sweep == TURN else (cx + radius * math.cos(last), cy + radius * math.sin(last))
    if flipped:  # seen from below, x runs the other way
        return Arc((-start[0], start[1]), (-end[0], end[1]), (-cx, cy), -sweep)
    return Arc(start, end, (cx, cy), sweep)


def _polyline(
    entity: Any, corners: Sequence[tuple[float, float, float]], closed: bool, label: str, source: _Source
) -> list[Segment]:
    sign = -1.0 if _is_flipped(entity, label, source) else 1.0
    _refuse_nan([value for corner in corners for value in corner], label, source)
    places = [((sign * x, y), sign * bulge) for x, y, bulge in corners]
    found: list[Segment] = []
    for (start, bulge), (end, _) in pairwise([*places, places[0]] if closed and places else places):
        if math.dist(start, end) > POINT_TOLERANCE:
            found.append(_bulged(start, end, 4 * math.atan(bulge)) if bulge else Line(start, end))
    return found


def _bulged(start: Point, end: Point, sweep: float) -> Arc:
    """The arc of a given sweep between two points."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    height = 0.5 / math.tan(sweep / 2)
    return Arc(start, end, (start[0] + dx / 2 - dy * height, start[1] + dy / 2 + dx * height), sweep)


def _ellipse(entity: Any, label: str, source: _Source) -> EllipseArc:
    flipped = _is_flipped(entity, label, source)
    (center,) = _flat([entity.dxf.center], label, source)
    major = entity.dxf.major_axis
    first, last = float(entity.dxf.start_param), float(entity.dxf.end_param)
    sweep = (last - first) % TURN
    sweep = TURN if sweep < 1e-9 or sweep > TURN - 1e-9 else sweep
    last = first + sweep
    ratio = abs(float(entity.dxf.ratio))
    _refuse_nan((major.x, major.y, ratio, first, last), label, source)
    return EllipseArc(center, (major.x, major.y), ratio, -first if flipped else first, -last if flipped else last)


def _spline(entity: Any, label: str, source: _Source) -> Spline:
    tool = entity.construction_tool()
    poles = _flat(tool.control_points, label, source)
    weights = tuple(float(w) for w in tool.weights()) or (1.0,) * len(poles)
    degree = int(tool.degree)
    net = [(x * w, y * w, w) for (x, y), w in zip(poles, weights, strict=True)]
    knots = [float(knot) for knot in tool.knots()]
    _refuse_nan([*knots, *weights], label, source)
    if knots != sorted(knots) or not knots[degree] < knots[-degree - 1] or min(weights) <= 0:
        source.refuse(f"{label} has knots or weights that make no curve; draw it again", value=label)
    net, knots = _clamped(degree, net, knots)
    rational = max(w for *_, w in net) - min(w for *_, w in net) > 1e-12
    points = tuple((x / w, y / w) for x, y, w in net)
    return Spline(degree, points, tuple(knots), tuple(w for *_, w in net) if rational else None)


def _clamped(
    degree: int, net: list[tuple[float, float, float]], knots: list[float]
) -> tuple[list[tuple[float, float, float]], list[float]]:
    """The same curve with its end knots repeated: inserted by Boehm's algorithm, what lies beyond dropped."""
    low, high = knots[degree], knots[-degree - 1]
    for knot in (low, high):
        while knots.count(knot) < degree:
            span = max(i for i, k in enumerate(knots) if k <= knot)
            many = knots.count(knot)
            fresh = net[: span - degree + 1]
            for i in range(span - degree + 1, span - many + 1):
                mix = (knot - knots[i]) / (knots[i + degree] - knots[i])
                a, b = net[i - 1], net[i]
                fresh.append((a[0] + (b[0] - a[0]) * mix, a[1] + (b[1] - a[1]) * mix, a[2] + (b[2] - a[2]) * mix))
            net = fresh + net[span - many :]
            knots.insert(span + 1, knot)
    # the pole on the curve at a knot of full multiplicity stands just before that knot's run
    first = max(0, max(i for i, k in enumerate(knots) if k <= low) - degree)
    last = min(len(net) - 1, knots.index(high) - 1)
    inner = [k for k in knots if low < k < high]
    return net[first : last + 1], [low] * (degree + 1) + inner + [high] * (degree + 1)


def _scaled(segment: Segment, by: float) -> Segment:
    def place(point: Point) -> Point:
        return (point[0] * by, point[1] * by)

    if by == 1.0:
        return segment
    if isinstance(segment, Line):
        return Line(place(segment.start), place(segment.end))
    if isinstance(segment, Arc):
        return Arc(place(segment.start), place(segment.end), place(segment.center), segment.sweep)
    if isinstance(segment, EllipseArc):
        return replace(segment, center=place(segment.center), major=place(segment.major))
    return replace(segment, poles=tuple(place(pole) for pole in segment.poles))


def _is_point(segment: Segment) -> bool:
    return isinstance(segment, Line) and math.dist(segment.start, segment.end) <= POINT_TOLERANCE


def _runs_on(chain: Sequence[Segment]) -> bool:
    return all(math.dist(a.end, b.start) <= POINT_TOLERANCE for a, b in pairwise(chain))


def _ending_at(segment: Segment, point: Point) -> Segment:
    """The segment with its end moved a hair to `point`; an ellipse keeps its end."""
    if segment.end == point or isinstance(segment, EllipseArc):
        return segment
    if isinstance(segment, Line):
        return Line(segment.start, point)
    if isinstance(segment, Arc):
        if segment.is_full:
            return Arc(point, point, segment.center, segment.sweep)
        return _bulged(segment.start, point, segment.sweep)
    return replace(segment, poles=(*segment.poles[:-1], point))


def _chained(pieces: Sequence[_Piece], source: _Source) -> list[tuple[Loop, str]]:
    """Loops from loose pieces; refuses open ends and branches."""
    nodes = _nodes(pieces)
    at: dict[int, list[int]] = defaultdict(list)
    for number, (first, last) in enumerate(nodes):
        at[first].append(number)
        at[last].append(number)
    _refuse_ends(pieces, nodes, at, source)
    places = _places(pieces, nodes)
    unused = set(range(len(pieces)))
    loops: list[tuple[Loop, str]] = []
    for number in range(len(pieces)):
        if number not in unused:
            continue
        unused.discard(number)
        chain = [pieces[number].segment]
        home, here = nodes[number]
        stops = [here]
        while here != home:
            number = next(n for n in at[here] if n in unused)  # every node has exactly two ends
            unused.discard(number)
            first, last = nodes[number]
            segment = pieces[number].segment
            chain.append(segment if first == here else segment.reversed())
            here = last if first == here else first
            stops.append(here)
        loops.append((_closed(chain, [places[stop] for stop in stops]), pieces[number].label))
    return loops


def _closed(chain: list[Segment], ends: list[Point]) -> Loop:
    """A loop through the chain with each end moved to the given point, and a short line where an ellipse can't move."""
    out: list[Segment] = []
    for segment, start, end in zip(chain, ends[-1:] + ends[:-1], ends, strict=True):
        moved = _ending_at(_ending_at(segment, end).reversed(), start).reversed()
        if math.dist(start, moved.start) > POINT_TOLERANCE:
            out.append(Line(start, moved.start))
        out.append(moved)
        if math.dist(moved.end, end) > POINT_TOLERANCE:
            out.append(Line(moved.end, end))
    return Loop(tuple(out))


def _nodes(pieces: Sequence[_Piece]) -> list[tuple[int, int]]:
    """For each piece the numbers of its two ends; ends within `CHAIN_GAP` share one."""
    import shapely

    ends = [point for piece in pieces for point in (piece.segment.start, piece.segment.end)]
    names = list(range(len(ends)))

    def root(name: int) -> int:
        while names[name] != name:
            name = names[name]
        return name

    if ends:
        tree = shapely.STRtree(shapely.points(ends))
        first, second = tree.query(shapely.points(ends), predicate="dwithin", distance=CHAIN_GAP)
        for a, b in sorted(zip(first.tolist(), second.tolist(), strict=True)):
            low, high = sorted((root(a), root(b)))
            names[high] = low
    return [(root(2 * i), root(2 * i + 1)) for i in range(len(pieces))]


def _places(pieces: Sequence[_Piece], nodes: Sequence[tuple[int, int]]) -> dict[int, Point]:
    """Where joined ends go: to the end of an ellipse, which can't be moved, or else of the first piece in the file."""
    places: dict[int, Point] = {}
    ordered = sorted(range(len(pieces)), key=lambda i: not isinstance(pieces[i].segment, EllipseArc))
    for number in ordered:
        for node, point in zip(nodes[number], (pieces[number].segment.start, pieces[number].segment.end), strict=True):
            places.setdefault(node, point)
    return places


def _refuse_ends(
    pieces: Sequence[_Piece], nodes: Sequence[tuple[int, int]], at: dict[int, list[int]], source: _Source
) -> None:
    ends = _places(pieces, nodes)
    loose = sorted(node for node, here in at.items() if len(here) == 1)
    if len(loose) == 1:
        label = pieces[at[loose[0]][0]].label
        source.refuse(f"{label} ends at {_show(ends[loose[0]])} and leads nowhere; remove it", value=ends[loose[0]])
    if loose:
        gaps = [(math.dist(ends[a], ends[b]), a, b) for i, a in enumerate(loose) for b in loose[i + 1 :]]
        gap, a, b = min(gaps)
        one, two = (pieces[at[node][0]].label for node in (a, b))
        source.refuse(
            f"the outline is open at {_show(ends[a])}: {one} ends {gap:.6g} mm from the nearest other loose end, "
            f"{two} at {_show(ends[b])}; close the gap, or remove what is not outline",
            value=gap,
            limit=CHAIN_GAP,
        )
    for node in sorted(at):
        if len(at[node]) > 2:
            names = ", ".join(dict.fromkeys(pieces[i].label for i in at[node]))
            source.refuse(f"{len(at[node])} ends meet at {_show(ends[node])}: {names}; leave two", value=ends[node])


def _show(point: Point) -> str:
    return f"({point[0]:.6g}, {point[1]:.6g})"


def _refuse_overlaps(pieces: Sequence[_Piece], source: _Source) -> None:
    """Refuse two pieces that run along each other, be it twice the same line or a part of one."""
    import shapely

    boxes = np.array([piece.segment.bounds for piece in pieces]).reshape(-1, 4) + np.array([-1, -1, 1, 1]) * CHAIN_GAP
    areas = shapely.box(*boxes.T)
    first, second = shapely.STRtree(areas).query(areas)
    for a, b in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if a < b:
            one, two = pieces[a].segment, pieces[b].segment
            place = _shared(one, two) or _shared(two, one)
            if place is not None:
                both = f"{pieces[a].label} and {pieces[b].label}"
                source.refuse(f"{both} run along each other at {_show(place)}; delete one of them", value=place)


def _shared(a: Segment, b: Segment) -> Point | None:
    """A point of `b` at which it runs along `a`, or None.  Curves are only tested for lying on `a` as a whole."""
    import shapely

    probes = [b.start, b.point_at(0.5), b.end]
    if isinstance(a, Line) and isinstance(b, Line):
        tx, ty = a.tangent_at(0.0)
        places = [((x - a.start[0]) * tx + (y - a.start[1]) * ty) for x, y in probes]
        off = max(abs((x - a.start[0]) * ty - (y - a.start[1]) * tx) for x, y in probes)
        low, high = max(0.0, min(places)), min(a.length, max(places))
        if off > CHAIN_GAP or high - low <= 10 * CHAIN_GAP:
            return None
        return a.point_at(0.5 * (low + high) / a.length)
    if isinstance(a, Arc) and isinstance(b, Arc):
        if math.dist(a.center, b.center) > CHAIN_GAP or abs(a.radius - b.radius) > CHAIN_GAP:
            return None
        margin = 10 * CHAIN_GAP / a.radius
        for x, y in probes:
            turned = (math.atan2(y - a.center[1], x - a.center[0]) - a.start_angle) * math.copysign(1.0, a.sweep) % TURN
            if margin < turned < abs(a.sweep) - margin:
                return (x, y)
        return None
    if {type(a), type(b)} == {Line, Arc}:
        return None
    line = shapely.LineString([*a.chords(CHORD / 4), a.end])
    points = [b.point_at(share) for share in (0.1, 0.3, 0.5, 0.7, 0.9)]
    return points[2] if all(line.distance(shapely.Point(point)) <= CHAIN_GAP for point in points) else None


def _nested(loops: Sequence[tuple[Loop, str]], source: _Source) -> tuple[Loop, ...]:
    """Loops turned the right way by their depth; refuses crossings and a second outline."""
    import shapely

    rings = [shapely.LinearRing(loop.points(CHORD)) for loop, _ in loops]
    areas = [shapely.Polygon(ring) for ring in rings]
    for ring, area, (_, label) in zip(rings, areas, loops, strict=True):
        if not ring.is_simple:
            reason = str(shapely.is_valid_reason(area))
            place = reason[reason.find("[") + 1 : reason.find("]")].split() if "[" in reason else []
            spot = _show((float(place[0]), float(place[1]))) if len(place) >= 2 else _show(ring.coords[0])
            source.refuse(f"the loop of {label} crosses itself at {spot}; draw it without the crossing", value=label)
    first, second = shapely.STRtree(rings).query(rings, predicate="dwithin", distance=2 * CHORD)
    for a, b in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if a < b:
            x, y = shapely.shortest_line(rings[a], rings[b]).coords[0]
            source.refuse(
                f"the loops of {loops[a][1]} and {loops[b][1]} meet at {_show((x, y))}; keep them apart", value=(x, y)
            )
    found: list[Loop] = []
    inside, around = shapely.STRtree(areas).query(areas, predicate="within")
    for number, (loop, _) in enumerate(loops):
        depth = sum(1 for a, b in zip(inside.tolist(), around.tolist(), strict=True) if a == number != b)
        found.append(loop.counter_clockwise() if depth % 2 == 0 else loop.clockwise())
    outer = [loop for loop in found if loop.area > 0]
    if len(outer) > 1:
        sizes = "; ".join(
            f"{x1 - x0:.6g} × {y1 - y0:.6g} mm around {_show(((x0 + x1) / 2, (y0 + y1) / 2))}"
            for x0, y0, x1, y1 in sorted(loop.bounds for loop in outer)
        )
        source.refuse(
            f"there are {len(outer)} outlines, and one plate has one: {sizes}; put each on a layer of its own",
            value=len(outer),
            limit=1,
        )
    return sorted_loops(found)
