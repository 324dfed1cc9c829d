"""Constant inputs: one board of 300 × 200 mm with so many slots, as an outline, as wires and for CadQuery."""

from __future__ import annotations

from typing import Any

from panelwright.plates import Outline, grid, rectangle

__all__ = ["BOARD", "GRIDS", "SLOT", "THICKNESS", "cadquery_board", "kernel_board", "kernel_wires", "slot_middles", "slotted"]

BOARD = (300.0, 200.0)
SLOT = (3.0, 2.0)
THICKNESS = 3.0

GRIDS: dict[int, tuple[int, int]] = {
    20: (5, 4),
    40: (8, 5),
    80: (10, 8),
    320: (20, 16),
    1600: (50, 32),
    3200: (64, 50),
}
"""Number of slots: (columns, rows), spread evenly over the board."""


def slotted(slots: int) -> Outline:
    """The board as an outline."""
    return rectangle(*BOARD).cut(grid(rectangle(*SLOT), *GRIDS[slots]))


def slot_middles(slots: int) -> list[tuple[float, float]]:
    """Where the slots are."""
    columns, rows = GRIDS[slots]
    width, height = BOARD
    return [
        ((i + 0.5) * width / columns - width / 2, (j + 0.5) * height / rows - height / 2)
        for j in range(rows)
        for i in range(columns)
    ]


def cadquery_board(slots: int) -> Any:
    """The board as CadQuery's users write it in a loop: one cut a slot, each on the solid that the last one left."""
    import cadquery as cq

    board = cq.Workplane().box(*BOARD, THICKNESS, centered=(True, True, False))
    for x, y in slot_middles(slots):
        board = board.cut(cq.Workplane().box(*SLOT, THICKNESS, centered=(True, True, False)).translate((x, y, 0)))
    return board.val()


def kernel_wires(slots: int) -> list[list[tuple[float, float]]]:
    """Corners of all wires: the border counter-clockwise, then the slots clockwise."""
    (width, height), (a, b) = BOARD, SLOT
    w, h = width / 2, height / 2
    border = [(-w, -h), (w, -h), (w, h), (-w, h)]
    slot = [(-a / 2, -b / 2), (-a / 2, b / 2), (a / 2, b / 2), (a / 2, -b / 2)]
    return [border, *([(x + dx, y + dy) for dx, dy in slot] for x, y in slot_middles(slots))]


def kernel_board(wires: list[list[tuple[float, float]]]) -> Any:
    """The board as the bare kernel makes it, given all wires: one face, one prism."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Vec

    made = []
    for corners in wires:
        polygon = BRepBuilderAPI_MakePolygon()
        for x, y in corners:
            polygon.Add(gp_Pnt(x, y, 0.0))
        polygon.Close()
        made.append(polygon.Wire())
    face = BRepBuilderAPI_MakeFace(gp_Pln(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1)), made[0], True)
    for wire in made[1:]:
        face.Add(wire)
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0, 0, THICKNESS)).Shape()
