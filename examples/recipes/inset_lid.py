"""A box for the weights of the glaze scales: its lid lies between the walls on two rests, held by a screw into either."""

from typing import Annotated

from panelwright.assemblies import Assembly, carcass, stock
from panelwright.joints import fingers, t_nut
from panelwright.plates import Range, hole

BIRCH = stock("birch 4")


def design(
    width: Annotated[float, Range(120, 240)] = 170.0,
    depth: Annotated[float, Range(80, 160)] = 110.0,
) -> Assembly:
    """A box for weights; `width` and `depth` outside, in mm."""
    return carcass(
        "weight box",
        stock=BIRCH,
        width=width,
        depth=depth,
        height=60,
        joint=fingers(width=12),
        lid="inset",
        play=0.6,
        lid_joint=t_nut("M3", count=1),
        cut={"lid": hole(22)},  # to lift it by
    )
