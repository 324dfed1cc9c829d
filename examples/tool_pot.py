"""A hexagonal pot for modelling tools, its walls leaning outward."""

from typing import Annotated

from panelwright.assemblies import Assembly, carcass, stock
from panelwright.joints import fingers
from panelwright.plates import Range, hole

ACRYLIC = stock("acrylic 4")  # as measured in shop.toml


def design(
    sides: Annotated[int, Range(4, 8)] = 6,
    width: Annotated[float, Range(80, 140)] = 100.0,
    height: Annotated[float, Range(80, 160)] = 120.0,
    lean: Annotated[float, Range(0, 20)] = 8.0,
) -> Assembly:
    """A pot for modelling tools.

    Args:
        sides: how many walls it has.
        width: width of the base across flats, in mm.
        height: height over all, in mm.
        lean: how far the walls lean outward, in degrees.
    """
    return carcass(
        "tool pot",
        stock=ACRYLIC,
        sides=sides,
        width=width,
        height=height,
        lean_deg=lean,
        joint=fingers(width=14),
        cut={"base": hole(12)},
    )
