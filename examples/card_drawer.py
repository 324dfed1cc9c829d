"""A drawer for glaze recipe cards, with finger corners and a hole to pull it by."""

from typing import Annotated

from panelwright.assemblies import Assembly, carcass, stock
from panelwright.joints import fingers
from panelwright.plates import Range, handle_hole

MDF = stock("MDF 4")  # as measured in shop.toml


def design(
    card_width: Annotated[float, Range(80, 220)] = 155.0,
    length: Annotated[float, Range(100, 350)] = 240.0,
    height: Annotated[float, Range(50, 120)] = 75.0,
    finger: Annotated[float, Range(8, 25)] = 14.0,
) -> Assembly:
    """A drawer for recipe cards.

    Args:
        card_width: inside width, in mm.
        length: outside length from front to rear, in mm.
        height: outside height, in mm.
        finger: about how wide the fingers are, in mm.
    """
    return carcass(
        "card drawer",
        stock=MDF,
        width=card_width + 2 * MDF.t,
        depth=length,
        height=height,
        joint=fingers(width=finger),
        cut={"front": handle_hole(width=60, height=18, inset=14)},
    )
