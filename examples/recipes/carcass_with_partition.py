"""A caddy for glaze jars: a ready-made carcass, and its plates by name where the caddy needs something more."""

from typing import Annotated

from panelwright.assemblies import Assembly, carcass, stock
from panelwright.joints import fingers, join, tabs
from panelwright.plates import Frame, Range, handle_hole, rectangle

BIRCH = stock("birch 4")


def design(
    width: Annotated[float, Range(200, 320)] = 260.0,
    height: Annotated[float, Range(60, 110)] = 80.0,
) -> Assembly:
    """A caddy.

    Args:
        width: outside, in mm.
        height: of the walls, in mm; the partition stands up to hold it by.
    """
    t, depth = BIRCH.t, 130.0
    caddy = carcass("caddy", stock=BIRCH, width=width, depth=depth, height=height, joint=fingers(width=12))
    rise = height + 60 - t
    grip = rectangle(width - 2 * t, rise).chamfered(50, ">Y").cut(handle_hole(85, 26, inset=14))
    upright = Frame.facing((0, t / 2, t + rise / 2), show=(0, -1, 0), right=(1, 0, 0))
    partition = caddy.add("partition", grip, upright)
    join(partition.face("<Z"), caddy["base"].show, tabs(count=3, width=12))
    join(partition.face("<X"), caddy["left"].back, tabs(count=2, width=10))
    join(partition.face(">X"), caddy["right"].back, tabs(count=2, width=10))
    return caddy
