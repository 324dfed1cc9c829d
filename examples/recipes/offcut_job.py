"""Stilts that hold a tile off the shelf, small enough for what other jobs leave: a job file cuts a dozen from offcuts."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import cross_lap, join
from panelwright.plates import Frame, Range, rectangle, trapezium

BIRCH = stock("birch 4")


def design(
    size: Annotated[float, Range(50, 100)] = 70.0,
    height: Annotated[float, Range(20, 40)] = 25.0,
) -> Assembly:
    """A stilt of two crossed blades, `size` mm across and `height` mm high."""
    blade = trapezium(size, size - height / 2, height).cut(rectangle(size / 2, height / 2).at(0, -height / 2))
    stilt = Assembly("tile stilt", stock=BIRCH)
    along = stilt.add("along", blade, Frame.facing((0, BIRCH.t / 2, height / 2), show=(0, -1, 0), right=(1, 0, 0)))
    across = stilt.add("across", blade, Frame.facing((-BIRCH.t / 2, 0, height / 2), show=(1, 0, 0), right=(0, 1, 0)))
    join(along, across, cross_lap())
    return stilt
