"""An easel for glaze cards: a board that leans back on its base, and a prop behind it that follows the lean."""

import math
from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join_touching, tabs
from panelwright.plates import Frame, Range, polygon, rectangle, standing

BIRCH = stock("birch 4")


def design(
    lean: Annotated[float, Range(10, 35)] = 20.0,
    width: Annotated[float, Range(100, 240)] = 150.0,
    height: Annotated[float, Range(100, 200)] = 140.0,
) -> Assembly:
    """An easel for cards.

    Args:
        lean: how far the board leans back, in degrees.
        width: of the board, in mm.
        height: of the board along its slope, in mm.
    """
    t, rise = BIRCH.t, 0.7 * height
    back, up = rise * math.sin(math.radians(lean)), rise * math.cos(math.radians(lean))
    easel = Assembly("card easel", stock=BIRCH)
    base = easel.add("base", rectangle(width, back + 90))
    board = easel.add("board", rectangle(width, height), standing(base.show, facing="-Y", inset=28, lean_deg=lean))
    easel.add("lip", rectangle(width, 14), standing(base.show, facing="-Y", inset=6))
    # the prop lies square to both: it begins at the foot of the board's back and runs up along it
    x, y, z = board.frame.point((0, -height / 2, 0))
    prop = polygon([(0, 0), (back + 30, 0), (back + 10, up), (back, up)])
    easel.add("prop", prop, Frame.facing((x - t / 2, y, z), show=(1, 0, 0), right=(0, 1, 0)))
    join_touching(easel, tabs(count=2, width=10))
    return easel
