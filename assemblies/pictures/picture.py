"""Pictures of an assembly: a line drawing as SVG and a shaded one as PNG, neither of which needs a display.

Both show the plates as a parallel projection, with everything hidden left out, from a *view*: an azimuth of
0° stands in front of the product (looking along +Y), 90° to its right; an elevation of 0° looks level, 90°
straight down.  `explode` moves the plates apart so that a reader sees how they come together; `highlight` shows one
plate in colour among pale ones.
"""

from __future__ import annotations

import difflib
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, runtime_checkable
from xml.sax.saxutils import escape

from panelwright.plates._validate import finite, positive, whole
from panelwright.plates.errors import KernelError, SelectionError, SizeError
from panelwright.plates.geometry.curves import Bounds, Segment, around, cos_sin_deg
from panelwright.plates.geometry.frame import Frame, Vector, minus, plus, scaled
from panelwright.plates.outlines.svg_path import Pen, decimal

if TYPE_CHECKING:
    from panelwright.plates._kernel.drawing.hidden_line import Outlook
    from panelwright.plates._kernel.drawing.shaded import Pixels
    from panelwright.plates._kernel.files.step import PlacedSolid

__all__ = ["HIGHLIGHT", "PALE", "VIEWS", "Carried", "Painted", "View", "line_drawing", "painted", "shaded_pixels", "shaded_png"]

HIGHLIGHT = (213, 94, 0)
"""Colour of a highlighted plate: the palette's vermillion."""

PALE = (221, 221, 221)
"""Colour of the plates around it: a grey that no stock is shown in."""

DECIMALS = 4
"""Decimals of coordinates in mm: finer than a pixel at any zoom that makes sense."""

_MOST_PIXELS = 16_000_000
"""Largest picture: with four samples a pixel it takes about 3 GB of memory."""


@dataclass(frozen=True, slots=True)
class View:
    """Where to look from, in degrees: azimuth 0 is in front, 90 at the right; elevation 90 is straight above.

    >>> View(90, 0).viewer
    (1.0, 0.0, 0.0)
    >>> View(0, 91)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: elevation of a view is 91°; give -90 (from below) to 90 (from above)
    """

    azimuth_deg: float
    elevation_deg: float

    def __post_init__(self) -> None:
        finite(self.azimuth_deg, "azimuth of a view")
        if abs(finite(self.elevation_deg, "elevation of a view")) > 90:
            raise SizeError(
                f"elevation of a view is {self.elevation_deg:g}°; give -90 (from below) to 90 (from above)",
                value=self.elevation_deg,
                limit=90,
            )

    @property
    def viewer(self) -> Vector:
        """Unit vector from the product to the viewer."""
        turn_cos, turn_sin = cos_sin_deg(self.azimuth_deg)
        rise_cos, rise_sin = cos_sin_deg(self.elevation_deg)
        return (turn_sin * rise_cos, -turn_cos * rise_cos + 0.0, rise_sin)

    @property
    def up(self) -> Vector:
        """Unit vector that points up in the picture; seen from above, the product's rear is up."""
        turn_cos, turn_sin = cos_sin_deg(self.azimuth_deg)
        rise_cos, rise_sin = cos_sin_deg(self.elevation_deg)
        return (-turn_sin * rise_sin, turn_cos * rise_sin, rise_cos)


@runtime_checkable
class Carried(Protocol):
    """A part that comes away with another one and then out of it: a screw, a nut."""

    @property
    def carrier(self) -> str:
        """Name of the other part."""
        ...

    @property
    def way_out(self) -> Vector:
        """Unit vector in which it leaves the other part."""
        ...


VIEWS: dict[str, View] = {
    "front": View(0, 0),
    "right": View(90, 0),
    "back": View(180, 0),
    "left": View(270, 0),
    "top": View(0, 90),
    "bottom": View(0, -90),
    "corner": View(32, 28),
    "iso": View(45, 35.26438968275466),
}
"""Views by name.  "corner" stands a little to the right of the front and looks down; "iso" is isometric: the
three directions of a box are foreshortened alike, by √(2/3)."""


def line_drawing(
    parts: Sequence[PlacedSolid],
    *,
    view: str | View = "corner",
    explode: float = 0.0,
    highlight: str | None = None,
    width: int = 800,
    stroke_px: float = 1.1,
    background: str | None = None,
) -> bytes:
    """An SVG of what can be seen of the plates: one group each, its title the plate's name.

    - `view`: a name out of `VIEWS`, or a `View`.
    - `explode`: 0 for assembled; 1 doubles each plate's distance from the assembly's centre, and so on.  A screw or nut moves
      with the plate that it stays with, and out of it by twice its own length at 1.
    - `highlight`: name of a plate whose lines are wider and in `HIGHLIGHT`.
    - `width`: in pixels; the height follows.  One unit of the drawing's own coordinates is a projected mm.
    - `stroke_px`: width of a line in pixels.
    - `background`: "#RRGGBB", or None for none.

    Edges are exact, not traced: straight ones are lines and circular ones arcs; of more than 100 plates round ones are
    drawn as chords, 0.05 mm off at most.  Nothing hidden is drawn, nor lines where a round face runs smoothly into the
    next.  Equal plates give equal bytes.  Raises `SelectionError` for an unknown view or plate, `SizeError` for no plates
    or a size that no picture has, and `KernelError` for a solid that cannot be drawn.
    """
    from panelwright.plates._kernel.drawing.polygon_lines import edges_seen

    wide = whole(width, "width of a drawing in pixels", least=16)
    stroke = positive(stroke_px, "line width of a drawing", unit="px")
    if background is not None and not re.fullmatch(r"#[0-9A-Fa-f]{6}", background):
        raise SizeError(f"background of a drawing is {background!r}; give '#RRGGBB', or None for none", value=background)
    marked = _marked(parts, highlight)
    frames = _frames(parts, explode)
    seen = edges_seen([(p.solid, f) for p, f in zip(parts, frames, strict=True)], _outlook(view))
    x0, y0, x1, y1 = around(segment.bounds for edges in seen for segment in edges.creases)
    mm_a_pixel = (x1 - x0) / max(wide - 6.0 * stroke, 1.0)
    margin = 3.0 * stroke * mm_a_pixel
    box = (x0 - margin, -y1 - margin, x1 - x0 + 2 * margin, y1 - y0 + 2 * margin)
    high = max(1, round(box[3] / mm_a_pixel))

    rows = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" '
        f'viewBox="{" ".join(decimal(v, DECIMALS) for v in box)}" fill="none" stroke="#000000" '
        f'stroke-width="{decimal(stroke * mm_a_pixel, DECIMALS)}" stroke-linecap="round" stroke-linejoin="round">',
    ]
    if background is not None:
        x, y, w, h = (decimal(v, DECIMALS) for v in box)
        rows.append(f'<rect x="{x}" y="{y}" width="{w}" height="{h}" fill="{background}" stroke="none"/>')
    drawn = zip(parts, _ids([part.name for part in parts]), seen, marked, strict=True)
    # the highlighted plate comes last, over the lines that it shares with others
    for part, name, edges, is_marked in sorted(drawn, key=lambda item: item[3]):
        look = f' stroke="{_hex(HIGHLIGHT)}" stroke-width="{decimal(2 * stroke * mm_a_pixel, DECIMALS)}"' if is_marked else ""
        rows.append(f'<g id="{name}"{look}><title>{_text(part.name)}</title>')
        path = Pen(0.0, 0.0, DECIMALS).trail(edges.creases)
        if path:
            rows.append(f'<path d="{path}"/>')
        rows.append("</g>")
    rows.append("</svg>\n")
    return "\n".join(rows).encode("utf-8")


def shaded_png(
    parts: Sequence[PlacedSolid],
    *,
    view: str | View = "corner",
    explode: float = 0.0,
    highlight: str | None = None,
    width: int = 1200,
    height: int = 900,
    stroke_px: float = 1.3,
    background: tuple[int, int, int] = (255, 255, 255),
) -> bytes:
    """A PNG of the plates in the colours of their stock, shaded, with thin dark edges.

    `width` and `height` are in pixels; the assembly is fitted into them.  With `highlight`, the plate of that name is in
    `HIGHLIGHT` and all others are in `PALE`.  The other options are those of `line_drawing`.  Equal plates give equal bytes.
    """
    return _png(
        shaded_pixels(
            parts,
            view=view,
            explode=explode,
            highlight=highlight,
            width=width,
            height=height,
            stroke_px=stroke_px,
            background=background,
        )
    )


def shaded_pixels(
    parts: Sequence[PlacedSolid],
    *,
    view: str | View = "corner",
    explode: float = 0.0,
    highlight: str | None = None,
    width: int = 1200,
    height: int = 900,
    stroke_px: float = 1.3,
    background: tuple[int, int, int] = (255, 255, 255),
) -> Pixels:
    """The picture of `shaded_png` as an array of (height, width, 3) bytes, the top row first."""
    stroke = positive(stroke_px, "line width of a picture", unit="px")
    marked = _marked(parts, highlight)
    colors = [part.stock.rgb for part in parts]
    if any(marked):
        colors = [HIGHLIGHT if is_marked else PALE for is_marked in marked]
    size = _size(width, height)
    if len(background) != 3 or not all(0 <= level <= 255 for level in background):
        raise SizeError(
            f"background of a picture is {background!r}; give red, green and blue from 0 to 255",
            value=background,
        )
    return painted(parts, _frames(parts, explode), colors, view=view, size=size, background=background, stroke_px=stroke).pixels


@dataclass(frozen=True, slots=True)
class Painted:
    """A shaded picture with what is needed to draw on top of it: `window` is the part of the picture's plane that it shows.

    `lines` are the visible edges in that plane, in mm, `outlook` says how points of the product get there.
    """

    pixels: Pixels
    lines: tuple[Segment, ...]
    window: Bounds
    outlook: Outlook


def painted(
    parts: Sequence[PlacedSolid],
    frames: Sequence[Frame],
    colors: Sequence[tuple[int, int, int]],
    *,
    view: str | View = "corner",
    size: tuple[int, int],
    beyond: Sequence[Vector] = (),
    background: tuple[int, int, int] = (255, 255, 255),
    stroke_px: float | None = None,
) -> Painted:
    """The parts standing at other frames than their own and in other colours than their stock's.

    `size` is in pixels; `beyond` are further points of the product's frame that the picture must hold.  Without
    `stroke_px` the pixels have no lines, for whoever draws them on top at a finer resolution.
    """
    from panelwright.plates._kernel.drawing.polygon_lines import edges_seen
    from panelwright.plates._kernel.drawing.shaded import shade, triangulated

    outlook = _outlook(view)
    placed = [(part.solid, frame) for part, frame in zip(parts, frames, strict=True)]
    lines = tuple(segment for edges in edges_seen(placed, outlook) for segment in edges.creases)
    x0, y0, x1, y1 = around(line.bounds for line in lines)
    points = [(x0, y0), (x1, y1), *(outlook.project(point) for point in beyond)]
    (x0, x1), (y0, y1) = ((min(values), max(values)) for values in zip(*points, strict=True))
    window = _fitted((x0, y0, x1, y1), *size)
    fine = 0.25 * (window[2] - window[0]) / size[0]
    meshes = [
        (triangulated(solid, frame, deflection=fine, bent=getattr(part, "bent_t", None)), color)
        for part, color, (solid, frame) in zip(parts, colors, placed, strict=True)
    ]
    inked = () if stroke_px is None else lines
    pixels = shade(meshes, inked, outlook, window, size, background=background, stroke_px=stroke_px or 1.0)
    return Painted(pixels, lines, window, outlook)


def _size(width: int, height: int) -> tuple[int, int]:
    wide, high = whole(width, "width of a picture", least=16), whole(height, "height of a picture", least=16)
    if wide * high > _MOST_PIXELS:
        raise SizeError(
            f"a picture of {wide} × {high} pixels is over {_MOST_PIXELS:,}; give a smaller width or height",
            value=wide * high,
            limit=_MOST_PIXELS,
        )
    return wide, high


def _marked(parts: Sequence[PlacedSolid], highlight: str | None) -> list[bool]:
    """For each part whether it is the highlighted plate, or the panel that this plate is a part of."""
    names = [(part.name, *getattr(part, "plates", ())) for part in parts]
    marked = [highlight is not None and highlight in known for known in names]
    if highlight is not None and not any(marked):
        known = sorted({name for several in names for name in several})
        near = difflib.get_close_matches(highlight, known, n=1, cutoff=0.4)
        hint = f"did you mean {near[0]!r}?" if near else f"give one of {', '.join(known)}"
        raise SelectionError(f"there is no plate {highlight!r} to highlight; {hint}", value=highlight, limit=tuple(known))
    return marked


def _outlook(view: str | View) -> Outlook:
    from panelwright.plates._kernel.drawing.hidden_line import Outlook

    if isinstance(view, str):
        if view not in VIEWS:
            raise SelectionError(
                f"view {view!r} is not known; give one of {', '.join(VIEWS)}, or View(azimuth_deg, elevation_deg)",
                value=view,
            )
        view = VIEWS[view]
    return Outlook.towards(view.viewer, up=view.up)


def _frames(parts: Sequence[PlacedSolid], explode: float) -> list[Frame]:
    """Where the plates stand, moved apart if asked."""
    from panelwright.plates._kernel.drawing.hidden_line import world_bounds

    if not parts:
        raise SizeError("there are no plates to draw; give at least one", value=0, limit=1)
    apart = finite(explode, "explode factor")
    boxes: list[tuple[Vector, Vector]] = []
    for part in parts:
        try:
            boxes.append(world_bounds(part.solid, part.frame))
        except KernelError as error:
            raise KernelError(f"plate {part.name!r} cannot be drawn: {error}", plates=(part.name,)) from error
    low, high = ([pick(box[end][i] for box in boxes) for i in range(3)] for end, pick in ((0, min), (1, max)))
    middle = _halfway((low[0], low[1], low[2]), (high[0], high[1], high[2]))
    moves = [scaled(minus(_halfway(*box), middle), apart) for box in boxes]
    by_name = {part.name: move for part, move in zip(parts, moves, strict=True)}
    for i, (part, box) in enumerate(zip(parts, boxes, strict=True)):
        if isinstance(part, Carried) and part.carrier in by_name:
            length = sum(abs(d) * (most - least) for d, least, most in zip(part.way_out, *box, strict=True))
            moves[i] = plus(by_name[part.carrier], scaled(part.way_out, 2 * length * apart))
    return [part.frame.shifted(move) for part, move in zip(parts, moves, strict=True)]


def _halfway(a: Vector, b: Vector) -> Vector:
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2)


def _fitted(bounds: Bounds, width: int, height: int) -> Bounds:
    """A window of the picture's proportions, with a margin of 4 % of its smaller side around the bounds."""
    x0, y0, x1, y1 = bounds
    room = 0.08 * min(width, height)
    mm = max((x1 - x0) / (width - room), (y1 - y0) / (height - room))
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    return (x - mm * width / 2, y - mm * height / 2, x + mm * width / 2, y + mm * height / 2)


def _hex(rgb: tuple[int, int, int]) -> str:
    return "#{:02X}{:02X}{:02X}".format(*rgb)


def _text(name: str) -> str:
    """A name as XML text; characters that XML cannot hold become the replacement character."""
    return escape(re.sub(r"[^\t\n\r\x20-\uD7FF\uE000-\uFFFD\U00010000-\U0010FFFF]", "\ufffd", name))


def _ids(names: Sequence[str]) -> list[str]:
    """An id for each name, of letters, digits, hyphens and underscores only, all different."""
    found: list[str] = []
    taken: set[str] = set()
    for name in names:
        stem = "plate-" + re.sub(r"[^A-Za-z0-9_]+", "-", name).strip("-")
        unique, count = stem, 1
        while unique in taken:
            count += 1
            unique = f"{stem}-{count}"
        taken.add(unique)
        found.append(unique)
    return found


def _png(pixels: Pixels) -> bytes:
    """A PNG file of an array of (height, width, 3) bytes, without any note of when and by what it was made."""
    from PIL import Image

    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "PNG")
    return file.getvalue()
