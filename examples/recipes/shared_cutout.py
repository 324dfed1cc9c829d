"""A cable tray under the glazing bench: one shape, drawn once, is the opening in every rib, so that they line up."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join_touching, tabs
from panelwright.plates import Range, obround, rectangle, standing

BIRCH = stock("birch 4")


def design(
    ribs: Annotated[int, Range(3, 5)] = 4,
    pitch: Annotated[float, Range(60, 110)] = 90.0,
    bundle: Annotated[float, Range(12, 30)] = 20.0,
) -> Assembly:
    """A cable tray.

    Args:
        ribs: how many ribs hold the cables.
        pitch: from one rib to the next, in mm.
        bundle: diameter of the bundle of cables, in mm.
    """
    depth, height, end = 90.0, bundle + 40, 30.0
    channel = obround(2 * bundle, bundle + 2)  # centred in every rib, and every rib stands in one line
    rib = rectangle(depth, height).rounded(12, ">Y").cut(channel)
    cables = Assembly("cable tray", stock=BIRCH)
    floor = cables.add("floor", rectangle((ribs - 1) * pitch + 2 * end, depth + 16))
    for i in range(ribs):
        cables.add(f"rib {i + 1}", rib, standing(floor.show, facing="-X", inset=end - BIRCH.t / 2 + i * pitch))
    join_touching(cables, tabs(count=2, width=14))
    return cables
