"""A rack that keeps glaze brushes upright."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join_touching, tabs
from panelwright.plates import Range, against, hole, lying, rectangle, row, standing

BIRCH = stock("birch 5")  # as measured in shop.toml


def design(
    width: Annotated[float, Range(220, 400)] = 240.0,
    depth: Annotated[float, Range(90, 200)] = 120.0,
    height: Annotated[float, Range(60, 200)] = 90.0,
    brushes: Annotated[int, Range(2, 8)] = 8,
    hole_diameter: Annotated[float, Range(5, 14)] = 9.0,
) -> Assembly:
    """A rack that keeps glaze brushes upright, with a partition in its middle.

    Args:
        width: inside width between the end walls, in mm.
        depth: depth of the base, in mm.
        height: height of the walls between base and top, in mm.
        brushes: how many holes the top has.
        hole_diameter: diameter of a brush hole, in mm.
    """
    t, inset = BIRCH.t, 10.0
    rack = Assembly("brush rack", stock=BIRCH)
    base = rack.add("base", rectangle(width, depth))
    front = rack.add("front", rectangle(width, height), standing(base.face(">Z"), facing="-Y", inset=inset))
    rear = rack.add("rear", rectangle(width, height), standing(base.face(">Z"), facing="+Y", inset=inset))
    between = depth - 2 * inset - 2 * t
    rack.add("partition", rectangle(between, height), standing(base.face(">Z"), facing="+X", inset=None))
    # two rows side by side leave the middle free, where the partition's tabs come through the top
    left = brushes // 2
    pitch = (width / 2 - 20) / (brushes - left)
    halves = ((left, -width / 4), (brushes - left, width / 4))
    holes = [row(hole(hole_diameter), count, pitch=pitch, at=(x, 0)) for count, x in halves]
    rack.add("top", rectangle(width, depth).cut(holes), lying([front.face(">Z"), rear.face(">Z")]))
    for name, side in (("left end", "<X"), ("right end", ">X")):
        rack.add(name, rectangle(depth, height + 4 * t).rounded(8, ">Y"), against(base.face(side), lift=-t))
    join_touching(rack, tabs(count=2, width=10))
    return rack
