"""Outlines to start from.  Each is centred on the origin and sized in millimetres, outside size."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from panelwright.plates._validate import file_path, finite, items, point, positive, shown, text, whole
from panelwright.plates.errors import OutlineError, SizeError
from panelwright.plates.geometry.arrangement import merged
from panelwright.plates.geometry.curves import Arc, Line, Loop, Point, cos_sin_deg, loop_through
from panelwright.plates.tolerances import ROUNDING, SAME_PLACE

from .outline import Outline, checked

__all__ = [
    "cutouts_from_dxf",
    "disc",
    "obround",
    "outline_from_dxf",
    "polygon",
    "rectangle",
    "regular_polygon",
    "ring",
    "rounded_rectangle",
    "sector",
    "trapezium",
]

MOST_SIDES = 1000
"""Most sides of a regular polygon: with more of them it is a disc by any measure, and `disc` is exact."""


def rectangle(width: float, height: float) -> Outline:
    """A rectangle, `width` mm along x and `height` mm along y.

    Raises `SizeError` for a size that is not above 0.

    >>> rectangle(240, 120).bounds
    (-120.0, -60.0, 120.0, 60.0)
    """
    w, h = positive(width, "width of a rectangle") / 2, positive(height, "height of a rectangle") / 2
    return Outline((loop_through([(-w, -h), (w, -h), (w, h), (-w, h)]),))


def rounded_rectangle(width: float, height: float, radius: float | Sequence[float]) -> Outline:
    """A rectangle with rounded corners, `width` mm along x and `height` mm along y.

    `radius` is one radius in mm, or four: lower left, lower right, upper right, upper left; 0 leaves a corner sharp.
    Raises `SizeError` if two radii along a side are longer than the side.

    >>> round(rounded_rectangle(20, 10, 5).area, 4) == round(100 + math.pi * 25, 4)
    True
    >>> len(rounded_rectangle(20, 10, [0, 0, 3, 0]).outer)
    5
    """
    w, h = positive(width, "width of a rectangle"), positive(height, "height of a rectangle")
    given = radius if isinstance(radius, list | tuple) else [radius] * 4
    if len(given) != 4:
        raise SizeError(f"{len(given)} corner radii are given; give one for all corners or four", value=given, limit=4)
    radii = [positive(r, "corner radius of a rectangle", zero_is_fine=True) for r in given]
    for side, (a, b), name in (
        (w, (0, 1), "lower"),
        (h, (1, 2), "right"),
        (w, (2, 3), "upper"),
        (h, (3, 0), "left"),
    ):
        if radii[a] + radii[b] > side + ROUNDING:
            raise SizeError(
                f"corner radii of {radii[a]:g} and {radii[b]:g} mm don't fit on the {name} side of {side:g} mm; "
                "make them smaller",
                value=radii[a] + radii[b],
                limit=side,
            )
    corners: list[Point] = [(-w / 2, -h / 2), (w / 2, -h / 2), (w / 2, h / 2), (-w / 2, h / 2)]
    segments: list[Line | Arc] = []
    for i, (x, y) in enumerate(corners):
        (ax, ay), (bx, by) = cos_sin_deg(90.0 * i), cos_sin_deg(90.0 * (i + 1))
        r = radii[i]
        # the side that arrives at corner i runs along turn i - 1, the one that leaves it along turn i
        start, end = (x - (-bx) * r, y - (-by) * r), (x + ax * r, y + ay * r)
        if r > 0:
            center = (x + (ax + bx) * r, y + (ay + by) * r)
            segments.append(Arc(start, end, center, math.pi / 2))
        after = corners[(i + 1) % 4]
        stop = (after[0] - ax * radii[(i + 1) % 4], after[1] - ay * radii[(i + 1) % 4])
        if math.dist(end, stop) > ROUNDING:
            segments.append(Line(end, stop))
    return Outline((merged(Loop(tuple(segments))),))


def disc(diameter: float) -> Outline:
    """A disc of `diameter` mm: a round plate, or a round mark.  A round cut-out is a `hole`.

    Raises `SizeError` for a diameter that is not above 0.

    >>> round(disc(2).area, 6)
    3.141593
    """
    r = positive(diameter, "diameter of a disc") / 2
    return Outline((Loop((Arc((r, 0.0), (r, 0.0), (0.0, 0.0), math.tau),)),))


def ring(outer_diameter: float, inner_diameter: float) -> Outline:
    """A flat ring, from `inner_diameter` to `outer_diameter`, in mm.

    Raises `SizeError` unless the inner diameter is the smaller.

    >>> washer = ring(20, 8)
    >>> washer.size, len(washer.holes)
    ((20.0, 20.0), 1)
    """
    outer = positive(outer_diameter, "outer diameter of a ring")
    inner = positive(inner_diameter, "inner diameter of a ring")
    if inner >= outer:
        raise SizeError(
            f"inner diameter of a ring is {inner:g} mm; it must be below the outer one, {outer:g} mm",
            value=inner,
            limit=outer,
        )
    return Outline((disc(outer).outer, disc(inner).outer.reversed()))


def sector(diameter: float, angle_deg: float) -> Outline:
    """A circular sector: a slice of a disc with its point at the origin, opening to both sides of +x.

    `diameter` is that of the disc in mm, `angle_deg` lies between 0 and 360.  Raises `SizeError` for others.

    >>> round(sector(20, 90).area, 6) == round(math.pi * 100 / 4, 6)
    True
    """
    r = positive(diameter, "diameter of a sector") / 2
    angle = positive(angle_deg, "angle of a sector", unit="°")
    if angle >= 360:
        raise SizeError(f"angle of a sector is {angle:g}°; it must be below 360°: use disc()", value=angle, limit=360)
    cosine, sine = cos_sin_deg(angle / 2)
    start, end = (r * cosine, -r * sine), (r * cosine, r * sine)
    origin = (0.0, 0.0)
    arc = Arc(start, end, origin, math.radians(angle))
    return Outline((Loop((Line(origin, start), arc, Line(end, origin))),))


def regular_polygon(sides: int, *, across_flats: float | None = None, across_corners: float | None = None) -> Outline:
    """A regular polygon of 3 to 1,000 `sides`, one side level at the bottom.

    Give one size in mm: `across_flats`, twice the distance from centre to side, or `across_corners`, twice that from
    centre to corner.  Raises `SizeError` for both, for neither, and for another number of sides.

    >>> hexagon = regular_polygon(6, across_flats=10)
    >>> round(hexagon.size[1], 6)
    10.0
    """
    n = whole(sides, "number of sides", least=3, most=MOST_SIDES)
    if (across_flats is None) == (across_corners is None):
        raise SizeError("a regular polygon takes one of across_flats and across_corners; give exactly one")
    if across_flats is not None:
        r = positive(across_flats, "across_flats of a polygon") / 2 / math.cos(math.pi / n)
    else:
        assert across_corners is not None  # the check above leaves no other case
        r = positive(across_corners, "across_corners of a polygon") / 2
    points = [cos_sin_deg(-90.0 - 180.0 / n + 360.0 * i / n) for i in range(1, n + 1)]
    return Outline((loop_through([(r * x, r * y) for x, y in points]),))


def polygon(points: Sequence[tuple[float, float]]) -> Outline:
    """The polygon through corners given in either direction; the last joins the first by itself.

    `points` are its corners, (x, y) in mm, which need not be centred: the outline's origin stays where they have theirs.
    Raises `OutlineError` for fewer than three corners, doubled corners or sides that cross.

    >>> polygon([(0, 0), (4, 0), (0, 3)]).area
    6.0
    """
    given = items(points, "corners of a polygon", "give a list of corners, [(x, y), …] in mm", OutlineError)
    corners = [point(corner, f"corner {number} of a polygon") for number, corner in enumerate(given, 1)]
    if len(corners) > 1 and math.dist(corners[0], corners[-1]) < ROUNDING:
        corners = corners[:-1]
    if len(corners) < 3:
        raise OutlineError(f"a polygon has {len(corners)} corners; give 3 or more", value=len(corners), limit=3)
    for p, q in zip(corners, corners[1:] + corners[:1], strict=True):
        if math.dist(p, q) < SAME_PLACE:
            raise OutlineError(f"two corners of a polygon lie at ({p[0]:g}, {p[1]:g}); leave one out", value=p)
    return Outline(checked([loop_through(corners).counter_clockwise()]))


def trapezium(bottom: float, top: float, height: float, *, shift: float = 0.0) -> Outline:
    """A trapezium with level parallel sides `bottom` and `top`, `height` mm high; `shift` moves the top one along x.

    Raises `SizeError` for a size that is not above 0.

    >>> trapezium(40, 20, 10).area
    300.0
    """
    b = positive(bottom, "bottom of a trapezium") / 2
    t = positive(top, "top of a trapezium") / 2
    h = positive(height, "height of a trapezium") / 2
    s = finite(shift, "shift of a trapezium")
    return Outline((loop_through([(-b, -h), (b, -h), (s + t, h), (s - t, h)]),))


def obround(length: float, width: float) -> Outline:
    """A slot with half-round ends, `length` mm overall along x and `width` mm wide.

    Raises `SizeError` unless longer than wide.

    >>> obround(20, 6).size
    (20.0, 6.0)
    """
    overall, w = positive(length, "length of an obround"), positive(width, "width of an obround")
    if overall <= w:
        raise SizeError(
            f"length of an obround is {overall:g} mm; it must be above its width, {w:g} mm: use disc(), or hole() to cut one",
            value=overall,
            limit=w,
        )
    return rounded_rectangle(overall, w, w / 2)


def outline_from_dxf(path: str | Path, *, layer: str | None = None, unit: str | None = None) -> Outline:
    """The one closed outline in a DXF file, with its holes; lines, arcs, ellipses and splines stay what they are.

    `path` says where the file lies.  `layer` restricts the reading to one layer.  `unit` ("mm", "cm", "m" or "in") overrides
    what the file says; a file that names no unit needs it, and so does one that says a unit by which it is larger than any
    sheet or smaller than any part.  Raises `OutlineError` naming the file, the layer and the place of what is wrong.

    >>> import tempfile
    >>> import ezdxf
    >>> drawing = ezdxf.new(units=4)  # millimetres
    >>> _ = drawing.modelspace().add_lwpolyline([(0, 0), (90, 0), (90, 30), (0, 30)], close=True)
    >>> _ = drawing.modelspace().add_circle((45, 15), 4)
    >>> file = Path(tempfile.mkdtemp()) / "rack.dxf"
    >>> drawing.saveas(file)
    >>> rack = outline_from_dxf(file)
    >>> rack.size, len(rack.holes)
    ((90.0, 30.0), 1)
    """
    from .dxf_outline import read_outline

    where = _read_from(path, {"layer": layer, "unit": unit})
    loops, reading = read_outline(where, layer=layer, unit=unit)
    return Outline(checked(loops), read_as=reading)


def cutouts_from_dxf(
    path: str | Path, *, layers: str | Sequence[str] | None = None, unit: str | None = None
) -> tuple[Outline, ...]:
    """Every closed loop on the chosen layers of a DXF file as a cut-out of its own, for `Outline.cut`.

    `path` says where the file lies.  Each stays where it was drawn, in mm, so they fit an `outline_from_dxf` of the same file;
    an outline from elsewhere must have its origin where the drawing has its own.  `layers` names one layer or several, none of
    which may be empty; None reads all.  `unit` as for `outline_from_dxf`.  They come in order of place, from left to right.

    Raises `OutlineError`, naming the file, the layer and the place, for whatever `outline_from_dxf` refuses; and for a loop
    in another one, since what lies in a cut-out falls out with it.

    >>> import tempfile
    >>> import ezdxf
    >>> drawing = ezdxf.new(units=4)  # millimetres
    >>> corners = [(0, 0), (90, 0), (90, 30), (0, 30)]
    >>> _ = drawing.modelspace().add_lwpolyline(corners, close=True, dxfattribs={"layer": "rack"})
    >>> for x in (15, 45, 75):
    ...     _ = drawing.modelspace().add_circle((x, 15), 4, dxfattribs={"layer": "brushes"})
    >>> file = Path(tempfile.mkdtemp()) / "rack.dxf"
    >>> drawing.saveas(file)
    >>> holes = cutouts_from_dxf(file, layers="brushes")
    >>> [hole.bounds for hole in holes]
    [(11.0, 11.0, 19.0, 19.0), (41.0, 11.0, 49.0, 19.0), (71.0, 11.0, 79.0, 19.0)]
    >>> len(outline_from_dxf(file, layer="rack").cut(holes).holes)
    3
    """
    from .dxf_outline import read_cutouts

    where = _read_from(path, {"unit": unit})
    chosen: tuple[str, ...] | None = None
    if layers is not None:
        what, give = f"layers of DXF file {str(where)!r}", "give the name of a layer, a list of them, or None"
        chosen = (layers,) if isinstance(layers, str) else items(layers, what, give, OutlineError)
        if not chosen or not all(isinstance(name, str) for name in chosen):
            raise OutlineError(f"{what} is {shown(layers)}; {give}", value=layers)
    loops, reading = read_cutouts(where, layers=chosen, unit=unit)
    return tuple(Outline(checked([loop]), read_as=reading) for loop in loops)


def _read_from(path: str | Path, words: dict[str, str | None]) -> Path:
    """The path of a DXF file, once it and what is said of the file are known to be of the right kind."""
    where = file_path(path, "path of a DXF file", OutlineError)
    for what, word in words.items():
        if word is not None:
            text(word, f"{what} of DXF file {str(where)!r}", "give text or None", OutlineError)
    return where
