"""Templates: every panel's cut paths at true size, laid on pages, or tiled over several where one is too small.

Tiles overlap.  Both pages of a seam show the same dashed line and the same crosses in it: cut one page along the line, lay it
on the other so that line and crosses meet, and tape it.  Every page has a bar of 100 mm each way to check the printer with.

Guarantees: lines are exact to the digits written (1e-6 point), arcs within 1e-5 of their radius; each panel is there once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.files.dxf import CUT_INSIDE, CUT_OUTSIDE, MARK, SHEET
from panelwright.assemblies.files.pdf import POINT_MM
from panelwright.assemblies.files.svg import pens_of
from panelwright.plates.geometry.curves import Bounds, Loop, Point, Segment, around
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.materials.stock import OKABE_ITO

from .press import BLACK, GREY, Paper, Press

__all__ = ["CHECK_BAR", "Sheet", "draw_sheet", "sheets_of", "tiled_within"]

CHECK_BAR = 100.0
"""Length of the bar to measure, mm."""

LEFT, RIGHT, BOTTOM, TOP = 17.0, 9.0, 24.0, 24.0
"""Borders of a template page: left and below with room for the bars, above for the heading; mm."""

OVERLAP = 12.0
"""How much of a panel both pages of a seam show, mm."""

GAP, LABEL = 7.0, 7.0
"""Between panels that share a page, and the room for a name below each; mm."""

SEAM = OKABE_ITO["reddish purple"]
"""Colour of seams and crosses, which no cut path has."""


@dataclass(frozen=True, slots=True)
class Laid:
    """A panel on a page: `motion` takes its coordinates to the page's.  `border` is drawn with it, and not cut."""

    panel: Panel
    motion: Motion
    box: Bounds
    border: tuple[Loop, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page of templates: whole panels, or one tile of a large one.

    `tile` is (column, row) of `tiles`, counted from the lower left; a page of whole panels has one tile.
    """

    laid: tuple[Laid, ...]
    tile: tuple[int, int] = (0, 0)
    tiles: tuple[int, int] = (1, 1)


def tiled_within(panel: Panel, border: tuple[Loop, ...], paper: Paper) -> tuple[Sheet, ...]:
    """The pages of one drawing with a border that is not cut, such as the outline of the sheet that it lies on.

    They show it from the border's lower left corner to the last path, and all of it where that takes no more pages.
    """
    paths, whole = _box(panel), border[0].bounds
    left, bottom = min(paths[0], whole[0]), min(paths[1], whole[1])
    boxes = [
        (left, bottom, right, top)
        for right in (max(paths[2], whole[2]), paths[2])
        for top in (max(paths[3], whole[3]), paths[3])
    ]
    room = _room(paper)
    box = min(boxes, key=lambda box: min(_count(size, room) for size in _sizes(box)))  # of those alike the first, the largest
    motion, size = _lying(box, room)
    return tuple(_tiled(panel, motion, size, room, border))


def sheets_of(panels: Sequence[Panel], paper: Paper) -> tuple[Sheet, ...]:
    """All pages: large panels first in the order given, then the small ones, several to a page."""
    wide, high = _room(paper)
    sheets: list[Sheet] = []
    small: list[tuple[Panel, Motion, float, float]] = []
    for panel in panels:
        motion, size = _lying(_box(panel), (wide, high))
        if size[0] <= wide and size[1] + LABEL <= high:
            small.append((panel, motion, *size))
        else:
            sheets += _tiled(panel, motion, size, (wide, high))
    return (*sheets, *_shelved(small, (wide, high)))


def _lying(box: Bounds, room: tuple[float, float]) -> tuple[Motion, tuple[float, float]]:
    """How a box lies on the fewest pages, upright if it may: the motion to the origin, and its size as it lies."""
    upright, turned = _sizes(box)
    if _count(turned, room) < _count(upright, room):
        return Motion.turn(90).then(Motion.shift(box[3], -box[0])), turned
    return Motion.shift(-box[0], -box[1]), upright


def _sizes(box: Bounds) -> tuple[tuple[float, float], tuple[float, float]]:
    """Width and height of a box as it is, and turned by a quarter."""
    wide, high = box[2] - box[0], box[3] - box[1]
    return (wide, high), (high, wide)


def _room(paper: Paper) -> tuple[float, float]:
    return paper.width - LEFT - RIGHT, paper.height - BOTTOM - TOP


def _box(panel: Panel) -> Bounds:
    return around(segment.bounds for chain in _chains(panel) for segment in chain)


def _chains(panel: Panel) -> list[Sequence[Segment]]:
    return [*(loop.segments for loop in panel.cuts), *panel.strokes, *(mark for mark in panel.marks if mark)]


def _tiles(length: float, room: float) -> int:
    """How many tiles of a length cover another one."""
    return 1 if length <= room else math.ceil((length - OVERLAP) / (room - OVERLAP) - 1e-9)


def _count(size: tuple[float, float], room: tuple[float, float]) -> int:
    return _tiles(size[0], room[0]) * _tiles(size[1] + LABEL, room[1])


def _tiled(
    panel: Panel, motion: Motion, size: tuple[float, float], room: tuple[float, float], border: tuple[Loop, ...] = ()
) -> list[Sheet]:
    across, up = _tiles(size[0], room[0]), _tiles(size[1] + LABEL, room[1])
    found: list[Sheet] = []
    for row in range(up):
        for column in range(across):
            x, y = LEFT - column * (room[0] - OVERLAP), BOTTOM + LABEL - row * (room[1] - OVERLAP)
            place = motion.then(Motion.shift(x, y))
            found.append(Sheet((Laid(panel, place, (x, y, x + size[0], y + size[1]), border),), (column, row), (across, up)))
    return found


def _shelved(small: Sequence[tuple[Panel, Motion, float, float]], room: tuple[float, float]) -> list[Sheet]:
    """Small panels in rows from the top, the highest first, each where it still fits."""
    pages: list[list[Laid]] = []
    rows: list[tuple[int, float, float, float]] = []  # page, top, height, taken from the left
    floors: list[float] = []  # how far each page is filled, from its top
    for panel, motion, width, height in sorted(small, key=lambda item: -item[3]):
        needed = height + LABEL
        row = next((i for i, (_, _, high, taken) in enumerate(rows) if needed <= high and taken + width <= room[0]), None)
        if row is None:
            page = next((i for i, filled in enumerate(floors) if filled + needed <= room[1]), None)
            if page is None:
                page = len(pages)
                pages.append([])
                floors.append(0.0)
            rows.append((page, floors[page], needed, 0.0))
            floors[page] += needed + GAP
            row = len(rows) - 1
        page, top, high, taken = rows[row]
        x, y = LEFT + taken, BOTTOM + room[1] - top - height
        pages[page].append(Laid(panel, motion.then(Motion.shift(x, y)), (x, y, x + width, y + height)))
        rows[row] = (page, top, high, taken + width + GAP)
    return [Sheet(tuple(page)) for page in pages]


def draw_sheet(press: Press, sheet: Sheet, letters: dict[str, str], number: int) -> None:
    """Draw one page; `number` is that of the page, `letters` name the panels."""
    wide, high = _room(press.paper)
    canvas = press.canvas
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(LEFT / POINT_MM - 1, BOTTOM / POINT_MM - 1, wide / POINT_MM + 2, high / POINT_MM + 2)
    canvas.clipPath(window, stroke=0, fill=0)
    for laid in sheet.laid:
        _draw_panel(press, laid)
    canvas.restoreState()
    for laid in sheet.laid:
        x, y, *_ = laid.box
        if sheet.tile == (0, 0):
            pieces = f"cut {laid.panel.quantity}" if laid.panel.quantity > 1 else ""
            name = " · ".join(word for word in (f"{letters[laid.panel.name]}  {laid.panel.name}", pieces) if word)
            press.text(x, y - 4.5, name, size=9, bold=True)
    if sheet.tiles != (1, 1):
        _draw_seams(press, sheet, number)
    _draw_bars(press)


def _draw_panel(press: Press, laid: Laid) -> None:
    panel = laid.panel

    def moved(chain: Sequence[Segment]) -> list[Segment]:
        return [segment.moved(laid.motion) for segment in chain]

    def loops(wanted: bool) -> list[Loop]:
        return [loop for loop in panel.cuts if (loop.area >= 0) is wanted]

    layers: list[tuple[str, list[Sequence[Segment]]]] = [
        (MARK, [mark for mark in panel.marks if mark]),
        (CUT_INSIDE, [*panel.strokes, *(loop.segments for loop in loops(False))]),
        (CUT_OUTSIDE, [loop.segments for loop in loops(True)]),
        (SHEET, [loop.segments for loop in laid.border]),
    ]
    pens = pens_of(layer for layer, _ in layers)
    for layer, chains in layers:
        color, width = pens[layer]
        for chain in chains:
            press.chain(moved(chain), (0.0, 0.0), color=color, width=width)


def _draw_seams(press: Press, sheet: Sheet, number: int) -> None:
    """Dashed lines in the middle of each overlap, with crosses that both pages share, and which page comes there."""
    wide, high = _room(press.paper)
    (column, row), (across, up) = sheet.tile, sheet.tiles
    left, right, bottom, top = LEFT, LEFT + wide, BOTTOM, BOTTOM + high
    half = OVERLAP / 2
    middle = ((left + right) / 2, (bottom + top) / 2)
    borders = [
        (column > 0, (left + half, bottom), (left + half, top), number - 1),
        (column < across - 1, (right - half, bottom), (right - half, top), number + 1),
        (row > 0, (left, bottom + half), (right, bottom + half), number - across),
        (row < up - 1, (left, top - half), (right, top - half), number + across),
    ]
    for is_seam, start, end, page in borders:
        if not is_seam:
            continue
        press.line(start, end, color=SEAM, width=0.15, dash=1.5)
        for share in (0.2, 0.8):
            _cross(press, (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])))
        canvas = press.canvas
        canvas.saveState()
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        canvas.translate(x / POINT_MM, y / POINT_MM)
        if start[0] == end[0]:
            canvas.rotate(90 if x < middle[0] else -90)
        above = 1.2 if y >= middle[1] or start[0] == end[0] else -3.6
        press.text(0, above, f"page {page} goes here", size=7, color=SEAM, align="middle")
        canvas.restoreState()


def _cross(press: Press, at: Point) -> None:
    x, y = at
    press.line((x - 4, y), (x + 4, y), color=SEAM, width=0.15)
    press.line((x, y - 4), (x, y + 4), color=SEAM, width=0.15)


def _draw_bars(press: Press) -> None:
    """A bar of 100 mm along the lower and the left border: some printers shrink one way only."""
    beside = LEFT + CHECK_BAR + 4
    press.text(beside, 14.4, "100 mm", size=9, bold=True)
    press.text(beside + 14, 15.0, "Measure both bars.  If one is not 100 mm long,", size=7, color=GREY)
    press.text(beside + 14, 12.0, "print again at 100 %, not “fit to page”.", size=7, color=GREY)
    x, y = LEFT, 15.0
    press.line((x, y), (x + CHECK_BAR, y), color=BLACK, width=0.25)
    for step in range(11):
        high = 2.5 if step in (0, 5, 10) else 1.2
        press.line((x + 10 * step, y), (x + 10 * step, y - high), color=BLACK, width=0.25)
    x, y = 11.0, BOTTOM
    press.line((x, y), (x, y + CHECK_BAR), color=BLACK, width=0.25)
    for step in range(11):
        wide = 2.5 if step in (0, 5, 10) else 1.2
        press.line((x, y + 10 * step), (x - wide, y + 10 * step), color=BLACK, width=0.25)
