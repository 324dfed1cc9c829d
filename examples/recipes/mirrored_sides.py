"""A wall shelf for glaze jars: one cheek is drawn, the other one is its mirror image."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join_touching, tabs
from panelwright.plates import Frame, Range, mirrored, obround, polygon, rectangle

BIRCH = stock("birch 6")


def design(
    width: Annotated[float, Range(200, 500)] = 320.0,
    depth: Annotated[float, Range(70, 140)] = 100.0,
) -> Assembly:
    """A wall shelf.

    Args:
        width: between the cheeks, in mm.
        depth: from the wall to the front of the shelf, in mm.
    """
    t, back, lip = BIRCH.t, 140.0, 30.0
    rear, front = depth / 2 + 2 * t, -depth / 2 - t  # as the cheek sees it: x runs from the wall to the front
    cheek = polygon([(-rear, 0), (-rear, back), (20 - rear, back), (-front, lip + 3 * t), (-front, 0)]).rounded(6)
    shelf_up = 2 * t
    shelf = Assembly("wall shelf", stock=BIRCH)
    left = shelf.add("left", cheek, Frame.facing((-width / 2, 0, 0), show=(-1, 0, 0), right=(0, -1, 0)))
    shelf.add("right", cheek, mirrored(left, about="YZ"))
    shelf.add("shelf", rectangle(width, depth), Frame((0, 0, shelf_up)))
    holes = [obround(14, 6).at(x, back / 4) for x in (-width / 3, width / 3)]
    rise = back - 3 * t
    wall = Frame.facing((0, depth / 2, shelf_up + t + rise / 2), show=(0, -1, 0), right=(1, 0, 0))
    shelf.add("back", rectangle(width, rise).cut(holes), wall)
    join_touching(shelf, tabs(width=15))
    return shelf
