"""Closed and open finger boxes, drawn in three styles that must all give the same box.

The size is the outside size; the box stands with its lower left front corner at the origin.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from panelwright.assemblies import Assembly
from panelwright.joints import fingers, join
from panelwright.plates import Frame, Stock, rectangle

Style = Literal["butting", "full", "short"]
STYLES: tuple[Style, ...] = ("butting", "full", "short")
"""Walls that butt on their neighbours; all plates out to the corners; all plates stopping short of them."""

WALLS = ("front", "rear", "left", "right")
PLATES = ("base", "lid", *WALLS)


@dataclass(frozen=True)
class Box:
    """Outside size of a box in mm, thickness of each plate, and how it is drawn."""

    width: float = 100.0
    depth: float = 80.0
    height: float = 60.0
    thickness: float | Mapping[str, float] = 4.0
    style: Style = "butting"
    has_lid: bool = True

    def t(self, name: str) -> float:
        """Thickness of a plate."""
        return self.thickness if isinstance(self.thickness, int | float) else self.thickness[name]

    @property
    def shell(self) -> float:
        """Volume of the walls in mm³: outside less inside."""
        inner_height = self.height - self.t("base") - (self.t("lid") if self.has_lid else 0.0)
        inner_width = self.width - self.t("left") - self.t("right")
        inner_depth = self.depth - self.t("front") - self.t("rear")
        return self.width * self.depth * self.height - inner_width * inner_depth * inner_height


def box(
    shape: Box,
    joint: Any | None = None,
    *,
    clearance: float = 0.0,
    joints: Mapping[str, Any] | None = None,
    order: tuple[str, ...] = PLATES,
) -> Assembly:
    """The box with fingers on every line.

    `joints` gives single lines their own, by names such as "front-base"; `order` is the order in which plates are added.
    """
    joint = joint or fingers(width=12)
    t = {name: shape.t(name) for name in PLATES}
    w, d, h = shape.width, shape.depth, shape.height
    lid = t["lid"] if shape.has_lid else 0.0
    # how far each plate's border stands in from the outside, by style: (from neighbours at x, at y, at z)
    x0, x1 = t["left"], w - t["right"]
    y0, y1 = t["front"], d - t["rear"]
    z0, z1 = t["base"], h - lid
    full, short = shape.style == "full", shape.style == "short"
    spans = {
        "base": ((x0, x1) if short else (0.0, w), (y0, y1) if short else (0.0, d)),
        "lid": ((x0, x1) if short else (0.0, w), (y0, y1) if short else (0.0, d)),
        "front": ((x0, x1) if short else (0.0, w), (0.0, h) if full else (z0, z1)),
        "rear": ((x0, x1) if short else (0.0, w), (0.0, h) if full else (z0, z1)),
        "left": ((0.0, d) if full else (y0, y1), (0.0, h) if full else (z0, z1)),
        "right": ((0.0, d) if full else (y0, y1), (0.0, h) if full else (z0, z1)),
    }
    assembly = Assembly("tile box", clearance=clearance)
    placed = {}
    for name in order:
        if name == "lid" and not shape.has_lid:
            continue
        (a0, a1), (b0, b1) = spans[name]
        a, b = (a0 + a1) / 2, (b0 + b1) / 2
        frames = {
            "base": Frame.facing((a, b, 0.0), show=(0, 0, 1), right=(1, 0, 0)),
            "lid": Frame.facing((a, b, z1), show=(0, 0, 1), right=(1, 0, 0)),
            "front": Frame.facing((a, y0, b), show=(0, -1, 0), right=(1, 0, 0)),
            "rear": Frame.facing((a, y1, b), show=(0, 1, 0), right=(-1, 0, 0)),
            "left": Frame.facing((x0, a, b), show=(-1, 0, 0), right=(0, -1, 0)),
            "right": Frame.facing((x1, a, b), show=(1, 0, 0), right=(0, 1, 0)),
        }
        stock = Stock(f"plywood {t[name]:g}", t[name], measured=t[name], cutter="knife")
        placed[name] = assembly.add(name, rectangle(a1 - a0, b1 - b0), frames[name], stock=stock)

    def connect(first: str, first_face: str, second: str, second_face: str) -> None:
        own = (joints or {}).get(f"{first}-{second}", joint)
        join(placed[first].face(first_face), placed[second].face(second_face), own)

    sides = {"front": "<Y", "rear": ">Y", "left": "<X", "right": ">X"}
    butting = shape.style == "butting"
    for wall in WALLS:
        connect(wall, "<Z", "base", ">Z" if butting else sides[wall])
        if shape.has_lid:
            connect(wall, ">Z", "lid", "<Z" if butting else sides[wall])
    for wall in ("left", "right"):
        connect(wall, "<Y", "front", ">Y" if butting else sides[wall])
        connect(wall, ">Y", "rear", "<Y" if butting else sides[wall])
    return assembly
