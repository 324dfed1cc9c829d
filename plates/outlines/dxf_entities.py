"""The entities of a DXF file as segments: the reading half of `dxf_outline`."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any, NoReturn

from panelwright.plates.errors import OutlineError
from panelwright.plates.geometry.curves import TURN, Arc, EllipseArc, Line, Point, Segment, Spline
from panelwright.plates.tolerances import ANGLE_TOLERANCE, CHAIN_GAP, POINT_TOLERANCE, TURN_ROUNDING

from .dxf_reading import UNITS

__all__ = [
    "IGNORED",
    "Source",
    "bulged",
    "entities_of",
    "layer_of",
    "read_drawing",
    "segments_of",
    "unit_of",
]

UNIT_CODES: dict[int, str] = {1: "in", 4: "mm", 5: "cm", 6: "m"}
"""Values of the header variable $INSUNITS, DXF reference."""

MOST_FROM_BLOCKS = 200_000
"""More entities than that from blocks are refused, not read: they would take minutes, and no panel has as many curves."""

_BEYOND = 1e9
"""Coordinates, in drawing units, are below this; what is no number is not."""

IGNORED = ("TEXT", "MTEXT", "DIMENSION", "POINT", "ATTDEF", "ATTRIB")
"""Kinds of entity that say something about an outline without being part of it."""


class Source:
    """Where we are, for messages."""

    def __init__(self, path: Path, layers: tuple[str, ...] | None) -> None:
        self.layers = layers
        said = f", layer{'s' * (len(layers) > 1)} {', '.join(map(repr, layers))}" if layers else ""
        self.where = f"DXF file {path.name or str(path)!r}{said}"

    def refuse(self, text: str, *, value: object = None, limit: object = None, cause: Exception | None = None) -> NoReturn:
        raise OutlineError(f"{self.where}: {text}", value=value, limit=limit) from cause


def segments_of(entity: Any, label: str, source: Source, scale: float) -> list[Segment]:
    """The segments of one entity in mm, those without length left out."""
    chain = [_scaled(segment, scale) for segment in _guarded(_segments, entity, label, source)]
    return [segment for segment in chain if not _is_point(segment)]


def read_drawing(path: Path, source: Source) -> Any:
    from ezdxf.filemanagement import readfile

    try:
        return readfile(path)
    except IsADirectoryError as error:
        source.refuse("that is a folder; give the path of a DXF file in it", cause=error)
    except OSError as error:
        kind = type(error).__name__ if type(error) is not OSError else "no DXF file"
        source.refuse(f"the file can't be read ({kind}); give the path of a DXF file", cause=error)
    except Exception as error:  # a damaged file fails anywhere in the reader, with anything
        source.refuse(f"the file is no sound DXF ({error}); export it again, as R2000 or later", cause=error)


def unit_of(doc: Any, unit: str | None, source: Source) -> str:
    """What one unit of a drawing is: as given, else as the file says."""
    if unit is not None:
        if unit not in UNITS:
            source.refuse(f"unit {unit!r} is not known; give one of {', '.join(UNITS)}", value=unit)
        return unit
    code = int(doc.header.get("$INSUNITS", 0))
    if code not in UNIT_CODES:
        what = "has no units" if code == 0 else f"has units of code {code}, which is not known here"
        source.refuse(
            f'the drawing {what}; set its units to millimetres, centimetres, metres or inches, or pass unit="mm"',
            value=code,
        )
    return UNIT_CODES[code]


def _guarded(read: Callable[[Any, str, Source], list[Any]], entity: Any, label: str, source: Source) -> list[Any]:
    """What `read` makes of an entity; one with missing or senseless data fails anywhere in the reader."""
    try:
        return read(entity, label, source)
    except OutlineError:
        raise
    except Exception as error:  # the reader raises whatever a damaged entity leads it to
        source.refuse(f"{label} is damaged ({error}); draw it again", value=label, cause=error)


def layer_of(entity: Any) -> str:
    return str(entity.dxf.layer) if entity.is_supported_dxf_attrib("layer") else "0"


def _exploded(insert: Any, _label: str, _source: Source) -> list[Any]:
    single = list(insert.multi_insert()) if insert.mcount > 1 else [insert]
    return [part for one in single for part in one.virtual_entities()]


def _refuse_endless(inserts: Sequence[Any], source: Source) -> None:
    """Refuse blocks that insert themselves, and more entities from blocks than `MOST_FROM_BLOCKS`, before any is exploded."""
    sizes: dict[str, int] = {}
    begun: set[str] = set()
    waiting = [(insert, False) for insert in inserts]
    while waiting:
        insert, is_done = waiting.pop()
        name = _block_name(insert)
        if is_done:
            inner = [entity for entity in insert.block() if entity.dxftype() == "INSERT"]
            sizes[name] = len(insert.block()) + sum(_times(entity) * max(1, sizes[_block_name(entity)]) for entity in inner)
            begun.discard(name)
        elif name in begun:
            source.refuse(f"block {insert.dxf.name!r} inserts itself, so it has no end; take it out of the block", value=name)
        elif name not in sizes and insert.block() is None:
            sizes[name] = 0
        elif name not in sizes:
            begun.add(name)
            waiting.append((insert, True))
            waiting.extend((entity, False) for entity in insert.block() if entity.dxftype() == "INSERT")
    total = sum(_times(insert) * max(1, sizes[_block_name(insert)]) for insert in inserts)
    if total > MOST_FROM_BLOCKS:
        source.refuse(
            f"its blocks make more than {MOST_FROM_BLOCKS:,} entities ({total:,}); explode those that are wanted, and take out "
            "the others",
            value=total,
            limit=MOST_FROM_BLOCKS,
        )


def _block_name(insert: Any) -> str:
    return str(insert.dxf.get("name", "")).casefold()


def _times(insert: Any) -> int:
    return max(1, int(insert.mcount))


def entities_of(space: Iterable[Any], source: Source) -> Iterator[tuple[Any, str, str]]:
    """Entities on the source's layers, blocks exploded, each with a label that says where it is, and its layer."""
    wanted = None if source.layers is None else {layer.casefold() for layer in source.layers}
    entities = list(space)
    _refuse_endless([entity for entity in entities if entity.dxftype() == "INSERT"], source)
    stack = [(entity, layer_of(entity), f"handle {entity.dxf.handle}") for entity in reversed(entities)]
    while stack:
        entity, on, origin = stack.pop()
        kind = entity.dxftype()
        if kind == "INSERT":
            parts = _guarded(_exploded, entity, f"INSERT ({origin}, layer {on!r})", source)
            origin = f"{origin.split(' in ')[0]} in block {entity.dxf.name!r}"
            stack.extend((part, on if layer_of(part) == "0" else layer_of(part), origin) for part in reversed(parts))
            continue
        if kind in IGNORED or (wanted is not None and on.casefold() not in wanted):
            continue
        yield entity, f"{kind} ({origin}, layer {on!r})", on


def _segments(entity: Any, label: str, source: Source) -> list[Segment]:
    """An entity's exact curves in drawing units, in order."""
    kind = entity.dxftype()
    if kind == "LINE":
        return [_line(entity, label, source)]
    if kind in ("CIRCLE", "ARC"):
        return [_circle(entity, label, source)]
    if kind == "LWPOLYLINE":
        corners = [(float(x), float(y), float(bulge)) for x, y, bulge in entity.get_points("xyb")]
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


def _line(entity: Any, label: str, source: Source) -> Line:
    """The line between its two ends: as `_flat` gives them, but quicker, since large drawings are made of lines."""
    start, end = entity.dxf.start, entity.dxf.end
    (x0, y0, z0), (x1, y1, z1) = start.xyz, end.xyz
    if abs(z1 - z0) <= CHAIN_GAP and all(map(_BEYOND.__gt__, map(abs, (x0, y0, z0, x1, y1, z1)))):
        return Line((x0, y0), (x1, y1))
    return Line(*_flat([start, end], label, source))


def _flat(points: Sequence[Any], label: str, source: Source) -> list[Point]:
    """The points without their height, if they all have the same and every coordinate is a number."""
    _refuse_nan([value for point in points for value in (point[0], point[1], point[2])], label, source)
    if points and max(p[2] for p in points) - min(p[2] for p in points) > CHAIN_GAP:
        source.refuse(f"{label} is not flat; draw the outline in the xy plane", value=label)
    return [(float(p[0]), float(p[1])) for p in points]


def _refuse_nan(values: Iterable[float], label: str, source: Source) -> None:
    if not all(map(_BEYOND.__gt__, map(abs, values))):
        source.refuse(f"{label} has a coordinate that is not a number or beyond all bounds; draw it again", value=label)


def _is_flipped(entity: Any, label: str, source: Source) -> bool:
    """Whether the entity is seen from below; refuses one that leans."""
    extrusion = entity.dxf.extrusion
    if math.hypot(extrusion.x, extrusion.y) > ANGLE_TOLERANCE * abs(extrusion.z):
        source.refuse(f"{label} is not flat; draw the outline in the xy plane", value=label)
    return bool(extrusion.z < 0)


def _circle(entity: Any, label: str, source: Source) -> Arc:
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
    entity: Any, corners: Sequence[tuple[float, float, float]], closed: bool, label: str, source: Source
) -> list[Segment]:
    sign = -1.0 if _is_flipped(entity, label, source) else 1.0
    _refuse_nan([value for corner in corners for value in corner], label, source)
    places = [((sign * x, y), sign * bulge) for x, y, bulge in corners]
    found: list[Segment] = []
    for (start, bulge), (end, _) in pairwise([*places, places[0]] if closed and places else places):
        if math.dist(start, end) > POINT_TOLERANCE:
            found.append(bulged(start, end, 4 * math.atan(bulge)) if bulge else Line(start, end))
    return found


def bulged(start: Point, end: Point, sweep: float) -> Arc:
    """The arc of a given sweep between two points."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    height = 0.5 / math.tan(sweep / 2)
    return Arc(start, end, (start[0] + dx / 2 - dy * height, start[1] + dy / 2 + dx * height), sweep)


def _ellipse(entity: Any, label: str, source: Source) -> EllipseArc:
    flipped = _is_flipped(entity, label, source)
    (center,) = _flat([entity.dxf.center], label, source)
    major = entity.dxf.major_axis
    first, last = float(entity.dxf.start_param), float(entity.dxf.end_param)
    sweep = (last - first) % TURN
    sweep = TURN if sweep < TURN_ROUNDING or sweep > TURN - TURN_ROUNDING else sweep
    last = first + sweep
    ratio = abs(float(entity.dxf.ratio))
    _refuse_nan((major.x, major.y, ratio, first, last), label, source)
    return EllipseArc(center, (major.x, major.y), ratio, -first if flipped else first, -last if flipped else last)


def _spline(entity: Any, label: str, source: Source) -> Spline:
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
