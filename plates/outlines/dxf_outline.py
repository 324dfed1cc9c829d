"""A plate's outline, or a list of cut-outs, from a DXF file that somebody drew.

Lines, arcs and curves are chained end to end to closed loops.  Of an outline, loops at even depth of nesting bound material,
those at odd depth are holes; of cut-outs, none lies in another.  A drawing that could be read in two ways is refused, with the
file, layer, handle and place in mm of what is wrong, because a guess here would be cut out of a sheet.

Kinds that carry no outline (`IGNORED`) are passed over; blocks are exploded, and what lies on layer 0 of a block counts
to the layer on which the block stands.  Only model space is read.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from panelwright.plates.geometry.curves import TURN, Arc, EllipseArc, Line, Loop, Point, Segment
from panelwright.plates.geometry.polygons import line_of, ring_of
from panelwright.plates.geometry.region import sorted_loops
from panelwright.plates.tolerances import CHAIN_GAP, CROSSING_CHORD, POINT_TOLERANCE

from .dxf_entities import IGNORED, Source, bulged, entities_of, layer_of, read_drawing, segments_of, unit_of
from .dxf_reading import UNITS, DxfReading

__all__ = ["CHAIN_GAP", "IGNORED", "UNITS", "cutout_loops_from_dxf", "outline_loops_from_dxf", "read_cutouts", "read_outline"]


@dataclass(frozen=True, slots=True)
class _Piece:
    """One segment and the entity it came from, for messages."""

    segment: Segment
    label: str


def outline_loops_from_dxf(path: str | Path, *, layer: str | None = None, unit: str | None = None) -> tuple[Loop, ...]:
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
    return read_outline(path, layer=layer, unit=unit)[0]


def read_outline(path: str | Path, *, layer: str | None, unit: str | None) -> tuple[tuple[Loop, ...], DxfReading]:
    """The same, and how the file was read."""
    source = Source(Path(path), None if layer is None else (layer,))
    loops, reading = _loops(Path(path), source, unit)
    return _nested(loops, source), reading


def cutout_loops_from_dxf(
    path: str | Path, *, layers: Sequence[str] | None = None, unit: str | None = None
) -> tuple[Loop, ...]:
    """Every closed loop on the given layers of a DXF file, in mm where it was drawn, counter-clockwise, in order of place.

    `layers` names the layers to read (any case), each of which must have something on it; None reads all.  `unit` as for
    `outline_loops_from_dxf`.  Loops may be chained of pieces on different ones of these layers.

    Raises `OutlineError` as that does, but for the number of loops; and for a loop in another one, since what lies in a cut-out
    falls out with it.
    """
    return read_cutouts(path, layers=layers, unit=unit)[0]


def read_cutouts(path: str | Path, *, layers: Sequence[str] | None, unit: str | None) -> tuple[tuple[Loop, ...], DxfReading]:
    """The same, and how the file was read."""
    source = Source(Path(path), None if layers is None else tuple(layers))
    loops, reading = _loops(Path(path), source, unit)
    for inner, outer in _within(_areas(loops, source)):
        place = _show(_middle(loops[outer][0]))
        source.refuse(
            f"the loop of {loops[inner][1]} lies in the loop of {loops[outer][1]} around {place}, and would fall out "
            "with that cut-out; delete one of them, or move it to a layer that is not read",
            value=loops[inner][0].bounds,
        )
    return sorted_loops([loop.counter_clockwise() for loop, _ in loops]), reading


def _loops(path: Path, source: Source, unit: str | None) -> tuple[list[tuple[Loop, str]], DxfReading]:
    """All closed loops on the source's layers, each with the label of its first entity, and how they were read."""
    doc = read_drawing(path, source)
    read_in = unit_of(doc, unit, source)
    scale = UNITS[read_in]
    pieces: list[_Piece] = []
    loops: list[tuple[Loop, str]] = []
    read: set[str] = set()
    for entity, label, on in entities_of(doc.modelspace(), source):
        read.add(on.casefold())
        chain = segments_of(entity, label, source, scale)
        if chain and math.dist(chain[0].start, chain[-1].end) <= POINT_TOLERANCE and _runs_on(chain):
            loops.append((Loop((*chain[:-1], _ending_at(chain[-1], chain[0].start))), label))
        else:
            pieces.extend(_Piece(segment, label) for segment in chain)
    _refuse_empty(read, doc, source)
    known = [_Piece(segment, label) for loop, label in loops for segment in loop]
    _refuse_overlaps([*known, *pieces], source)
    loops += _chained(pieces, source)
    if not loops:
        source.refuse("there is no closed loop; draw the outline as a closed polyline or as lines that meet")
    reading = DxfReading.of(path.name, read_in, [loop for loop, _ in loops], is_given=unit is not None)
    reading.require_plausible()
    return loops, reading


def _refuse_empty(read: set[str], doc: Any, source: Source) -> None:
    """Refuse a drawing of which nothing was read, or nothing of one of the layers that were asked for."""
    empty = [layer for layer in source.layers or () if layer.casefold() not in read]
    if read and not empty:
        return
    used = sorted({layer_of(entity) for entity in doc.modelspace()})
    hint = f"layers in use are {', '.join(map(repr, used))}" if used else "model space is empty"
    which = f" on layer {empty[0]!r}" if empty and len(source.layers or ()) > 1 else ""
    source.refuse(f"there is nothing to read{which}; {hint}", value=empty[0] if empty else None)


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
        return bulged(segment.start, point, segment.sweep)
    return replace(segment, poles=(*segment.poles[:-1], point))


def _chained(pieces: Sequence[_Piece], source: Source) -> list[tuple[Loop, str]]:
    """Loops from loose pieces; refuses open ends and branches."""
    nodes = _nodes(pieces)
    places = _places(pieces, nodes)
    at: dict[int, list[int]] = defaultdict(list)
    for number, (first, last) in enumerate(nodes):
        at[first].append(number)
        at[last].append(number)
    _refuse_ends(pieces, places, at, source)
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
        if isinstance(segment, Line):
            out.append(Line(start, end))
            continue
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
            names[name] = names[names[name]]  # half the way, so that long chains of near ends take no quadratic time
            name = names[name]
        return name

    if ends:
        spots = shapely.points(ends)
        first, second = shapely.STRtree(spots).query(spots, predicate="dwithin", distance=CHAIN_GAP)
        once = first < second
        for a, b in zip(first[once].tolist(), second[once].tolist(), strict=True):
            one, two = root(a), root(b)
            names[max(one, two)] = min(one, two)
    return [(root(2 * i), root(2 * i + 1)) for i in range(len(pieces))]


def _places(pieces: Sequence[_Piece], nodes: Sequence[tuple[int, int]]) -> dict[int, Point]:
    """Where joined ends go: to the end of an ellipse, which can't be moved, or else of the first piece in the file."""
    places: dict[int, Point] = {}
    ordered = sorted(range(len(pieces)), key=lambda i: not isinstance(pieces[i].segment, EllipseArc))
    for number in ordered:
        for node, point in zip(nodes[number], (pieces[number].segment.start, pieces[number].segment.end), strict=True):
            places.setdefault(node, point)
    return places


def _refuse_ends(pieces: Sequence[_Piece], ends: dict[int, Point], at: dict[int, list[int]], source: Source) -> None:
    """Refuse ends that lead nowhere, and those where more than two pieces meet.  `ends` are the places of all nodes."""
    loose = sorted(node for node, here in at.items() if len(here) == 1)
    if len(loose) == 1:
        label = pieces[at[loose[0]][0]].label
        source.refuse(f"{label} ends at {_show(ends[loose[0]])} and leads nowhere; remove it", value=ends[loose[0]])
    if loose:
        import shapely

        spots = shapely.points([ends[node] for node in loose])
        (here, there), gaps = shapely.STRtree(spots).query_nearest(spots, exclusive=True, return_distance=True)
        gap, a, b = min(zip(gaps.tolist(), (loose[i] for i in here.tolist()), (loose[i] for i in there.tolist()), strict=True))
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


def _refuse_overlaps(pieces: Sequence[_Piece], source: Source) -> None:
    """Refuse two pieces that run along each other, be it twice the same line or a part of one."""
    import shapely

    boxes = np.array([piece.segment.bounds for piece in pieces]).reshape(-1, 4) + np.array([-1, -1, 1, 1]) * CHAIN_GAP
    areas = shapely.box(*boxes.T)
    first, second = shapely.STRtree(areas).query(areas)
    once = first < second
    first, second = first[once], second[once]
    straight = np.array([isinstance(piece.segment, Line) for piece in pieces])
    plain = straight[first] & straight[second]
    along = _lines_along(pieces, first[plain], second[plain])
    doubtful = list(zip(first[~plain].tolist(), second[~plain].tolist(), strict=True))
    for a, b in sorted([*doubtful, *along]):
        one, two = pieces[a].segment, pieces[b].segment
        place = _shared(one, two) or _shared(two, one)
        if place is not None:
            both = f"{pieces[a].label} and {pieces[b].label}"
            source.refuse(f"{both} run along each other at {_show(place)}; delete one of them", value=place)


def _lines_along(pieces: Sequence[_Piece], first: NDArray[np.int64], second: NDArray[np.int64]) -> list[tuple[int, int]]:
    """Those pairs of lines, all looked at in one go, of which one may run along the other as `_shared` tells.

    Limits are a little wider than there, so that rounding loses no pair.  Lines of one smooth curve lie on each other's line
    all along it but share only an end, so how much they share is looked at here too.
    """
    if not len(first):
        return []
    table = np.array([(*piece.segment.start, *piece.segment.end) for piece in pieces])
    found = np.zeros(len(first), dtype=bool)
    for one, two in ((first, second), (second, first)):
        start, way = table[one, :2], table[one, 2:] - table[one, :2]
        length = np.hypot(*way.T)
        way = way / length[:, None]
        ends = [table[two, :2] - start, table[two, 2:] - start]
        off = [np.abs(spot[:, 0] * way[:, 1] - spot[:, 1] * way[:, 0]) for spot in ends]
        places = [spot[:, 0] * way[:, 0] + spot[:, 1] * way[:, 1] for spot in ends]
        shared = np.minimum(length, np.maximum(*places)) - np.maximum(0.0, np.minimum(*places))
        found |= (np.maximum(*off) <= 2 * CHAIN_GAP) & (shared > 5 * CHAIN_GAP)
    return list(zip(first[found].tolist(), second[found].tolist(), strict=True))


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
    line = line_of([a], CROSSING_CHORD / 4)
    points = [b.point_at(share) for share in (0.1, 0.3, 0.5, 0.7, 0.9)]
    return points[2] if all(line.distance(shapely.Point(point)) <= CHAIN_GAP for point in points) else None


def _areas(loops: Sequence[tuple[Loop, str]], source: Source) -> list[Any]:
    """What the loops enclose, as polygons; refuses a loop that crosses itself, and loops that meet."""
    import shapely

    rings = [ring_of(loop, CROSSING_CHORD) for loop, _ in loops]
    areas = [shapely.Polygon(ring) for ring in rings]
    for ring, area, (_, label) in zip(rings, areas, loops, strict=True):
        if not ring.is_simple:
            reason = str(shapely.is_valid_reason(area))
            place = reason[reason.find("[") + 1 : reason.find("]")].split() if "[" in reason else []
            spot = (
                _show((float(place[0]), float(place[1]))) if len(place) >= 2 else _show((ring.coords[0][0], ring.coords[0][1]))
            )
            source.refuse(f"the loop of {label} crosses itself at {spot}; draw it without the crossing", value=label)
    first, second = shapely.STRtree(rings).query(rings, predicate="dwithin", distance=2 * CROSSING_CHORD)
    for a, b in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if a < b:
            x, y = shapely.shortest_line(rings[a], rings[b]).coords[0]
            source.refuse(
                f"the loops of {loops[a][1]} and {loops[b][1]} meet at {_show((x, y))}; keep them apart", value=(x, y)
            )
    return areas


def _within(areas: Sequence[Any]) -> list[tuple[int, int]]:
    """Pairs of numbers: what lies in what."""
    import shapely

    inside, around = shapely.STRtree(areas).query(areas, predicate="within")
    return sorted((a, b) for a, b in zip(inside.tolist(), around.tolist(), strict=True) if a != b)


def _middle(loop: Loop) -> Point:
    x0, y0, x1, y1 = loop.bounds
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def _nested(loops: Sequence[tuple[Loop, str]], source: Source) -> tuple[Loop, ...]:
    """Loops turned the right way by their depth; refuses crossings and a second outline."""
    depths = Counter(inner for inner, _ in _within(_areas(loops, source)))
    found = [loop.clockwise() if depths[number] % 2 else loop.counter_clockwise() for number, (loop, _) in enumerate(loops)]
    outer = [loop for loop in found if loop.area > 0]
    if len(outer) > 1:
        sizes = "; ".join(
            f"{x1 - x0:.6g} × {y1 - y0:.6g} mm around {_show(((x0 + x1) / 2, (y0 + y1) / 2))}"
            for x0, y0, x1, y1 in sorted(loop.bounds for loop in outer)
        )
        source.refuse(
            f"there are {len(outer)} outlines, and one plate has one: {sizes}; put each on a layer of its own, or read "
            "cut-outs by cutouts_from_dxf()",
            value=len(outer),
            limit=1,
        )
    return sorted_loops(found)
