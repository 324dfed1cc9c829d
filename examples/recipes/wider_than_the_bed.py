"""A jar shelf wider than the laser's bed: its long boards are halves that meet in the middle, on an upright that holds both."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join_touching, tabs
from panelwright.plates import Frame, Range, rectangle

BIRCH = stock("birch 6")


def design(
    width: Annotated[float, Range(600, 1100)] = 640.0,
    height: Annotated[float, Range(200, 360)] = 260.0,
    shelves: Annotated[int, Range(1, 2)] = 1,
) -> Assembly:
    """A jar shelf.

    Args:
        width: over all, in mm.
        height: over all, in mm.
        shelves: between the lowest board and the highest one.
    """
    t, depth, foot = BIRCH.t, 100.0, 14.0
    bay = (width - 3 * t) / 2
    rack = Assembly("jar shelf", stock=BIRCH)
    for name, x in (("left end", -width / 2), ("middle", -t / 2), ("right end", width / 2 - t)):
        rack.add(name, rectangle(depth + 16, height), Frame.facing((x, 0, height / 2), show=(1, 0, 0), right=(0, 1, 0)))
    step = (height - 2 * foot - t) / (shelves + 1)
    for side, x in (("left", -(bay + t) / 2), ("right", (bay + t) / 2)):
        for i in range(shelves + 2):
            rack.add(f"{side} board {i + 1}", rectangle(bay, depth), Frame((x, 0, foot + i * step)))
        back = Frame.facing((x, depth / 2 - t, foot + t + step / 2 - t / 2), show=(0, 1, 0), right=(-1, 0, 0))
        rack.add(f"{side} back", rectangle(bay, step - t), back)
    join_touching(rack, tabs(width=12))
    return rack
