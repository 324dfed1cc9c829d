"""A drying rack for plates that holds without glue: every joint is pressed, as tight as the shop's own coupon says."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import cross_lap, join
from panelwright.plates import Frame, Range, finger_notch, rectangle, row

BIRCH = stock("birch 4")
PRESSED = cross_lap(clearance=BIRCH.fit("press"))  # press_mm in shop.toml: a mallet drives it home, nothing shakes it loose


def design(
    plates: Annotated[int, Range(4, 10)] = 7,
    pitch: Annotated[float, Range(24, 40)] = 28.0,
    gap: Annotated[float, Range(8, 12)] = 10.0,
) -> Assembly:
    """A drying rack.

    Args:
        plates: how many plates it takes.
        pitch: from one plate to the next, in mm.
        gap: how wide each plate's slot is, in mm.
    """
    length, span, height = plates * pitch + 60, 130.0, 55.0
    slots = row(rectangle(gap, height).at(0, height / 2), plates, pitch=pitch)  # half of each lies over the border
    rail = rectangle(length, height).cut(slots)
    tie = rectangle(span, height).cut(finger_notch(60, 20), finger_notch(70, 8, side="-Y"))
    rack = Assembly("drying rack", stock=BIRCH)
    rails = [
        rack.add(name, rail, Frame.facing((0, y, height / 2), show=(0, -1, 0), right=(1, 0, 0)))
        for name, y in (("front rail", -45), ("rear rail", 45))
    ]
    for name, x in (("left tie", 15 - length / 2), ("right tie", length / 2 - 15)):
        across = rack.add(name, tie, Frame.facing((x, 0, height / 2), show=(1, 0, 0), right=(0, 1, 0)))
        join(rails[0], across, PRESSED)
        join(rails[1], across, PRESSED)
    return rack
