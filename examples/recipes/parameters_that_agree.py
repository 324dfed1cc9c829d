"""A rack for rolling pins whose parameters are checked against each other, each refusal saying what would do."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join_touching, tabs
from panelwright.plates import DesignError, Frame, Range, against, hole, rectangle, row

BIRCH = stock("birch 4")


def design(
    pins: Annotated[int, Range(2, 8)] = 5,
    diameter: Annotated[float, Range(20, 60)] = 38.0,
    width: Annotated[float, Range(200, 560)] = 320.0,
) -> Assembly:
    """A rack that rolling pins stand in.

    Args:
        pins: how many it holds.
        diameter: of the thickest pin, in mm.
        width: between the end walls, in mm.
    """
    opening, web = diameter + 3, 12.0
    needed = pins * (opening + web)
    if width < needed:
        most = int(width // (opening + web))
        raise DesignError(
            f"{pins} pins of {diameter:g} mm need a width of {needed:g} mm, but it is {width:g} mm; "
            f"make it wider, or hold {most} pins",
            value=width,
            limit=needed,
        )
    rack = Assembly("pin rack", stock=BIRCH)
    depth, height = opening + 2 * web, 120.0
    floor = rack.add("floor", rectangle(width, depth))
    rack.add("top", rectangle(width, depth).cut(row(hole(opening), pins)), Frame((0, 0, height - 30)))
    for name, border in (("left end", "<X"), ("right end", ">X")):
        rack.add(name, rectangle(depth, height), against(floor.face(border), lift=-12))
    join_touching(rack, tabs(count=2, width=12))
    return rack
