"""A tray for glaze test tiles, parted by a grid of cross-lapped dividers that are tabbed into its walls."""

from typing import Annotated

from panelwright.assemblies import Assembly, divider_grid, stock, tray
from panelwright.joints import fingers, join, tabs
from panelwright.plates import Frame, Range, finger_notch

PLY = stock("birch 3")  # as measured in shop.toml


def design(
    columns: Annotated[int, Range(2, 8)] = 5,
    rows: Annotated[int, Range(2, 6)] = 4,
    tile: Annotated[float, Range(30, 60)] = 42.0,
    height: Annotated[float, Range(30, 70)] = 40.0,
) -> Assembly:
    """A tray with one cell for each test tile.

    Args:
        columns: cells from left to right.
        rows: cells from front to rear.
        tile: side of one cell, inside, in mm.
        height: outside height of the walls, in mm.
    """
    t = PLY.t
    inside = (columns * tile + (columns - 1) * t, rows * tile + (rows - 1) * t)
    box = tray(
        "tile tray",
        stock=PLY,
        width=inside[0] + 2 * t,
        depth=inside[1] + 2 * t,
        height=height,
        corner=fingers(width=10),
        floor=tabs(pitch=60, width=15),
        cut={"front": finger_notch(30, 8), "rear": finger_notch(30, 8)},
    )
    cells = divider_grid(
        "cells", stock=PLY, width=inside[0], depth=inside[1], height=height - 2 * t - 12, columns=columns, rows=rows
    )
    grid = box.add("cells", cells, Frame((0.0, 0.0, 2 * t)))
    for i in range(1, rows):
        for side, wall in (("<X", "left"), (">X", "right")):
            join(grid[f"along {i}"].face(side), box[wall].back, tabs(count=1, width=8))
    for i in range(1, columns):
        for side, wall in (("<Y", "front"), (">Y", "rear")):
            join(grid[f"across {i}"].face(side), box[wall].back, tabs(count=1, width=8))
    return box
