"""A jar rack: a divider with a shelf on either side, as high as the jars there ask for."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join_touching, tabs
from panelwright.plates import Frame, Range, against, rectangle, standing

BIRCH = stock("birch 6")


def design(
    width: Annotated[float, Range(320, 540)] = 420.0,
    left: Annotated[float, Range(80, 180)] = 120.0,
    right: Annotated[float, Range(80, 180)] = 120.0,
) -> Assembly:
    """A jar rack.

    Args:
        width: between the end walls, in mm.
        left: height of the left shelf above the floor, in mm.
        right: height of the right shelf above the floor, in mm.
    """
    t, depth, height, foot = BIRCH.t, 110.0, 240.0, 15.0
    rack = Assembly("jar rack", stock=BIRCH)
    floor = rack.add("floor", rectangle(width, depth))
    rack.add("divider", rectangle(depth, height), standing(floor.face(">Z"), facing="+X", inset=None))
    for name, border in (("left end", "<X"), ("right end", ">X")):
        rack.add(name, rectangle(depth, height + foot).rounded(20, ">Y"), against(floor.face(border), lift=-foot))
    bay = (width - t) / 2
    for name, up, x in (("left shelf", left, -(bay + t) / 2), ("right shelf", right, (bay + t) / 2)):
        rack.add(name, rectangle(bay, depth), Frame((x, 0, t + up)))
    join_touching(rack, tabs(count=2, width=14))
    return rack
