"""A dust-proof box for pyrometric cones, its lid lying over the walls and screwed into nuts that they hold."""

from typing import Annotated

from panelwright.assemblies import Assembly, carcass, stock
from panelwright.joints import fingers, t_nut, tabs
from panelwright.plates import Range

BIRCH, ACRYLIC = stock("birch 4"), stock("acrylic 3")


def design(
    width: Annotated[float, Range(120, 220)] = 160.0,
    height: Annotated[float, Range(50, 90)] = 60.0,
) -> Assembly:
    """A box for cones; `width` and `height` over all but the lid's brim, in mm."""
    return carcass(
        "cone box",
        stock=BIRCH,
        base_stock=ACRYLIC,  # of base and lid: one sees what is in it
        width=width,
        depth=110,
        height=height,
        joint=fingers(width=12),
        lid="overhanging",
        brim=7,
        lid_joint=t_nut("M3", count=1, screw="ISO 7380-1", tabs=tabs(count=2, width=10)),
    )
