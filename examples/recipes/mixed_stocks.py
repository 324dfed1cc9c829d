"""A case for one test tile: birch walls, a clear window that slides between them, and a clearance for the pair of stocks."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock, tray
from panelwright.joints import join, tabs
from panelwright.plates import Frame, Range, rectangle

BIRCH, ACRYLIC = stock("birch 4"), stock("acrylic 3")


def design(
    tile: Annotated[float, Range(60, 150)] = 100.0,
    room: Annotated[float, Range(12, 40)] = 20.0,
) -> Assembly:
    """A case for a test tile.

    Args:
        tile: side of the tile, in mm.
        room: between floor and window, in mm.
    """
    outside = tile + 2 * BIRCH.t + 2
    lift = BIRCH.t
    height = lift + BIRCH.t + room + ACRYLIC.t + 6
    case = tray("tile case", stock=BIRCH, width=outside, depth=outside, height=height, lift=lift)
    case.set_clearance(BIRCH, ACRYLIC, 0.2)  # acrylic does not give: more play than wood in wood
    inside = outside - 2 * BIRCH.t
    window = case.add("window", rectangle(inside, inside), Frame((0, 0, lift + BIRCH.t + room)), stock=ACRYLIC)
    for wall, border in (("left", "<X"), ("right", ">X")):
        join(window.face(border), case[wall].back, tabs(count=2, width=12))
    return case
