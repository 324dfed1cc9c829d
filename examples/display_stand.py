"""A rounded display stand: one long wall, bent by living hinges round a rounded base, under a top that shows a pot."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join, living_hinge, tabs
from panelwright.plates import Frame, Range, obround, rounded_rectangle

PLY = stock("bending birch 3")  # as measured in shop.toml
LONG = living_hinge(slit_length=40)  # long links bear the twist, though tabs lock some of them


def design(
    width: Annotated[float, Range(204, 260)] = 220.0,
    depth: Annotated[float, Range(150, 200)] = 170.0,
    height: Annotated[float, Range(50, 110)] = 70.0,
    radius: Annotated[float, Range(48, 60)] = 52.0,
) -> Assembly:
    """A rounded stand to show a pot on.

    The wall is one panel, cut flat and wrapped from the middle of the rear; its ends are held by the tabs beside them.

    Args:
        width: outside width of the wall, in mm.
        depth: outside depth of the wall, in mm.
        height: height of the wall between base and top, in mm.
        radius: outside radius of the wall's corners, in mm.
    """
    t, brim = PLY.t, 8.0
    stand = Assembly("display stand", stock=PLY)
    ground = rounded_rectangle(width, depth, radius)
    brimmed = rounded_rectangle(width + 2 * brim, depth + 2 * brim, radius + brim)
    base = stand.add("base", brimmed)
    # a card with the glaze's name stands in the slot at the front; the wall's ends meet in the middle of the rear
    card = obround(70, 6).at(0.0, height / 2)
    front, rear = (0.0, -depth / 2), (0.0, depth / 2)
    stands = Frame((0.0, 0.0, t))
    wall = stand.add_wrap("wall", height, ground, stands, outside=False, seam=rear, zero=front, cut=card, hinge=LONG)
    top = stand.add("top", brimmed, Frame((0.0, 0.0, t + height)))
    for border, mate in (("<Z", base.face(">Z")), (">Z", top.face("<Z"))):
        join([part.face(border) for part in wall.flats], mate, tabs(count=1, width=12))
        # tabs stay straight where the wall is bent, so only narrow ones go into slots along the curve
        join([part.face(border) for part in wall.bends], mate, tabs(count=2, width=5))
    return stand
