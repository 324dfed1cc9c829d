"""Figures of the booklet: shaded pictures under exact vector lines, arrows, thumbnails of panels and of bought parts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panelwright.assemblies.data.parts import Bought, Panel, Part
from panelwright.assemblies.files.pdf import POINT_MM, path_of
from panelwright.assemblies.paper.press import ACCENT, BLACK, GREY, WHITE, Press
from panelwright.assemblies.pictures.picture import HIGHLIGHT, PALE, Painted, painted
from panelwright.assemblies.product.steps import Step
from panelwright.joints.spec.fasteners import ScrewBody
from panelwright.plates.geometry.curves import Point, around, points_along
from panelwright.plates.geometry.frame import Frame, Vector, dot, minus, plus, scaled
from panelwright.plates.tolerances import SAME_PLACE

if TYPE_CHECKING:
    from panelwright.plates._kernel.files.step import PlacedSolid

__all__ = ["Box", "Sizes", "cover_figure", "fastener_figure", "panel_figure", "step_figure"]

DOTS_PER_MM = 4.0
"""Resolution of the shading, 102 dots an inch; lines are drawn on top as vectors."""

BOUGHT = (0, 158, 115)
"""Colour of screws and nuts that a step needs: the palette's bluish green."""

SCREW_OUT = 14.0
"""How far in mm a screw is drawn out of its hole."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the page, mm."""

    x: float
    y: float
    width: float
    height: float


class Sizes:
    """Where parts stand, measured once for a booklet: their boxes in the product's frame."""

    def __init__(self) -> None:
        self._known: dict[str, tuple[Vector, Vector]] = {}

    def of(self, part: PlacedSolid) -> tuple[Vector, Vector]:
        """Least and most coordinates of a part."""
        from panelwright.plates._kernel.drawing.hidden_line import world_bounds

        if part.name not in self._known:
            self._known[part.name] = world_bounds(part.solid, part.frame)
        return self._known[part.name]

    def around(self, parts: Sequence[PlacedSolid]) -> tuple[Vector, Vector]:
        """The box round several parts."""
        boxes = [self.of(part) for part in parts]
        low, high = (tuple(pick(box[end][i] for box in boxes) for i in range(3)) for end, pick in ((0, min), (1, max)))
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def cover_figure(press: Press, parts: Sequence[PlacedSolid], box: Box) -> None:
    """The product as it will be, in the colours of its stock."""
    _show(press, painted(parts, [p.frame for p in parts], [p.stock.rgb for p in parts], size=_pixels(box)), box, 0.25)


def step_figure(press: Press, step: Step, before: Sequence[Part], held: Sequence[Bought], sizes: Sizes, box: Box) -> None:
    """One step: what is there pale, what is new in colour and drawn back along its way in, an arrow for each part.

    `before` are the parts there, `held` the screws and nuts already in.
    """
    everything = sizes.around([*before, *step.parts])
    reach = math.dist(*everything)
    shifts: dict[str, Vector] = {}
    arrows: list[tuple[Vector, Vector]] = []
    if before:
        there = sizes.around(before)
        boxes = [sizes.around(move.parts) for move in step.moves]
        back = min(_drawn_back(box, there, move.way, reach) for box, move in zip(boxes, step.moves, strict=True))
        for moving, move in zip(boxes, step.moves, strict=True):
            for part in move.parts:
                for plate in part.plates:
                    shifts[plate] = scaled(move.way, -back)
            arrows.append(_arrow(moving, move.way, back))
    shown: list[PlacedSolid] = [*before, *held]
    frames = [part.frame for part in shown]
    colors: list[tuple[int, int, int]] = [PALE] * len(shown)
    for part in step.parts:
        shown.append(part)
        frames.append(part.frame.shifted(shifts.get(part.plates[0], (0.0, 0.0, 0.0))))
        colors.append(HIGHLIGHT)
    for item in step.bought:
        shown.append(item)
        frames.append(_out(item, shifts))
        colors.append(BOUGHT)
    beyond = [point for arrow in arrows for point in arrow]
    picture = painted(shown, frames, colors, size=_pixels(box), beyond=beyond)
    _show(press, picture, box, 0.18)
    for start, end in arrows:
        _draw_arrow(press, *(_on_page(picture, picture.outlook.project(point), box) for point in (start, end)))


def panel_figure(press: Press, panel: Panel, box: Box) -> None:
    """A panel's finished shape, as large as the box allows, in a light tint of its stock's colour."""
    (x0, y0, x1, y1) = around([loop.bounds for loop in panel.loops])
    is_turned = (y1 - y0 > x1 - x0) != (box.height > box.width)
    wide, high = (y1 - y0, x1 - x0) if is_turned else (x1 - x0, y1 - y0)
    scale = min(box.width / wide, box.height / high)
    tint = "#{:02X}{:02X}{:02X}".format(*(round(255 - 0.45 * (255 - level)) for level in panel.stock.rgb))
    canvas = press.canvas
    canvas.saveState()
    canvas.translate((box.x + box.width / 2) / POINT_MM, (box.y + box.height / 2) / POINT_MM)
    if is_turned:
        canvas.rotate(90)
    canvas.scale(scale, scale)
    canvas.setFillColor(tint)
    canvas.setStrokeColor(BLACK)
    canvas.setLineWidth(0.18 / scale / POINT_MM)
    # slits as wide as the beam would run together to black at this scale: a fine line each
    first, *more = [loop.segments for loop in (panel.cuts if panel.strokes else panel.loops)]
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    canvas.drawPath(path_of(canvas, first, middle, more=more), stroke=1, fill=1, fillMode=0)
    canvas.setStrokeColor(GREY)
    canvas.setLineWidth(0.05 / scale / POINT_MM)
    for stroke in panel.strokes:
        canvas.drawPath(path_of(canvas, stroke, middle), stroke=1, fill=0)
    canvas.restoreState()


def fastener_figure(press: Press, item: Bought, box: Box) -> None:
    """A screw or nut, lying, at twice its size if the box allows."""
    lying = Frame() if not isinstance(item.fastener.body, ScrewBody) else Frame.turned("Y", 90)
    picture = painted([item], [lying], [item.stock.rgb], size=_pixels(box))
    x0, _, x1, _ = picture.window
    share = min(1.0, 2.0 * (x1 - x0) / box.width)
    width, height = box.width * share, box.height * share
    _show(press, picture, Box(box.x + (box.width - width) / 2, box.y + (box.height - height) / 2, width, height), 0.15)


def _pixels(box: Box) -> tuple[int, int]:
    return max(16, round(box.width * DOTS_PER_MM)), max(16, round(box.height * DOTS_PER_MM))


def _drawn_back(part: tuple[Vector, Vector], there: tuple[Vector, Vector], way: Vector, reach: float) -> float:
    """How far to draw a part back along its way: clear of what is there, but never out of sight."""
    leading = max(dot(corner, way) for corner in _corners(part))
    rear = min(dot(corner, way) for corner in _corners(there))
    return min(max(leading - rear + 0.08 * reach, 0.2 * reach), 0.42 * reach)


def _corners(box: tuple[Vector, Vector]) -> list[Vector]:
    (x0, y0, z0), (x1, y1, z1) = box
    return [(x, y, z) for x in (x0, x1) for y in (y0, y1) for z in (z0, z1)]


def _arrow(part: tuple[Vector, Vector], way: Vector, shift: float) -> tuple[Vector, Vector]:
    """From the middle of the drawn-back part's leading side, most of the way to where that side will be."""
    middle = scaled(plus(*part), 0.5)
    half = max(dot(minus(corner, middle), way) for corner in _corners(part))
    return (plus(middle, scaled(way, half - 0.94 * shift)), plus(middle, scaled(way, half - 0.12 * shift)))


def _out(item: Bought, shifts: dict[str, Vector]) -> Frame:
    """Where a bought part is shown: screws out of their holes along their thread, nuts in place, both with what they sit in."""
    moved = item.frame
    moving = [shifts[plate] for plate in item.plates if plate in shifts]
    if isinstance(item.fastener.body, ScrewBody):
        # a screw goes with the plate under its head if that plate comes the way that the screw does
        if moving and abs(dot(moving[0], item.frame.z)) > 0.9 * math.hypot(*moving[0]):
            moved = moved.shifted(moving[0])
        moved = moved.shifted(scaled(item.frame.z, -SCREW_OUT))
    return moved


def _show(press: Press, picture: Painted, box: Box, width: float) -> None:
    """The shading as an image, and over it the lines as vectors, `width` mm wide."""
    from PIL import Image
    from reportlab.lib.utils import ImageReader

    place = (box.x / POINT_MM, box.y / POINT_MM, box.width / POINT_MM, box.height / POINT_MM)
    press.canvas.drawImage(ImageReader(Image.fromarray(picture.pixels)), *place)
    path: Any = press.canvas.beginPath()
    pen: Point | None = None
    for segment in picture.lines:
        points = [_on_page(picture, point, box) for point in points_along([segment], 0.02)]
        if pen is None or math.dist(pen, points[0]) > SAME_PLACE:
            path.moveTo(*(value / POINT_MM for value in points[0]))
        for point in points[1:]:
            path.lineTo(*(value / POINT_MM for value in point))
        pen = points[-1]
    press.canvas.setStrokeColor(BLACK)
    press.canvas.setLineWidth(width / POINT_MM)
    press.canvas.drawPath(path, stroke=1, fill=0)


def _on_page(picture: Painted, point: Point, box: Box) -> Point:
    x0, y0, x1, y1 = picture.window
    return (
        box.x + (point[0] - x0) / (x1 - x0) * box.width,
        box.y + (point[1] - y0) / (y1 - y0) * box.height,
    )


def _draw_arrow(press: Press, start: Point, end: Point) -> None:
    """A blue arrow with a white rim, so that it stands out on every part."""
    long = math.dist(start, end)
    if long < 1.0:  # it comes straight at the reader: a ring says so
        canvas = press.canvas
        canvas.setStrokeColor(ACCENT)
        canvas.setLineWidth(1.0 / POINT_MM)
        canvas.circle(start[0] / POINT_MM, start[1] / POINT_MM, 2.5 / POINT_MM, stroke=1, fill=0)
        return
    ux, uy = (end[0] - start[0]) / long, (end[1] - start[1]) / long
    head, half = min(4.0, 0.6 * long), min(1.9, 0.3 * long)
    neck = (end[0] - head * ux, end[1] - head * uy)
    for color, rim in ((WHITE, 0.5), (ACCENT, 0.0)):
        press.line(start, neck, color=color, width=1.1 + 2 * rim)
        path = press.canvas.beginPath()
        corners = [
            end,
            (neck[0] - half * uy, neck[1] + half * ux),
            (neck[0] + half * uy, neck[1] - half * ux),
        ]
        path.moveTo(*(value / POINT_MM for value in corners[0]))
        for corner in corners[1:]:
            path.lineTo(*(value / POINT_MM for value in corner))
        path.close()
        press.canvas.setFillColor(color)
        press.canvas.setStrokeColor(color)
        press.canvas.setLineWidth(2 * rim / POINT_MM)
        press.canvas.drawPath(path, stroke=int(rim > 0), fill=1)
