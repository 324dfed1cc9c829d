"""A chest of drawers for modelling tools: rails on either side, and drawers that are set down on them as plates are."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock, tray
from panelwright.joints import join_touching, tabs
from panelwright.plates import Frame, Range, finger_notch, lying, rectangle

BIRCH = stock("birch 4")


def design(
    drawers: Annotated[int, Range(2, 4)] = 3,
    width: Annotated[float, Range(180, 320)] = 240.0,
) -> Assembly:
    """A chest with `drawers` one above the other; `width` is that between its sides, in mm."""
    t, depth, inside, play = BIRCH.t, 180.0, 40.0, 1.0
    pitch = inside + play + t
    height = drawers * pitch + t
    chest = Assembly("tool chest", stock=BIRCH)
    for name, way in (("left", -1), ("right", 1)):
        stands = Frame.facing((way * width / 2, 0, height / 2), show=(way, 0, 0), right=(0, way, 0))
        chest.add(name, rectangle(depth + 20, height + 20), stands)
    chest.add("back", rectangle(width, height), Frame.facing((0, depth / 2 - t, height / 2), show=(0, 1, 0), right=(-1, 0, 0)))
    chest.add("top", rectangle(width, depth - t), Frame((0, -t / 2, height - t)))
    for i in range(drawers):
        x = width / 2 - 8  # each rail is 16 mm wide
        rails = [
            chest.add(f"{name} rail {i + 1}", rectangle(16, depth - t), Frame((way * x, -t / 2, i * pitch)))
            for name, way in (("left", -1), ("right", 1))
        ]
        cut = {"front": finger_notch(40, 14)}
        drawer = tray("drawer", stock=BIRCH, width=width - 2 * play, depth=depth - t - play, height=inside, cut=cut)
        chest.add(f"drawer {i + 1}", drawer, lying([rail.show for rail in rails], flush="-Y"), loose=True)
    join_touching(chest, tabs(width=10))
    return chest
