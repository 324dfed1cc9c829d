"""A picture ledge of plywood with cherry on one side: the good face looks out on every plate, the engraving lies on it."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join_touching, tabs
from panelwright.plates import Range, against, disc, mirrored, obround, rectangle, standing

CHERRY = stock("veneered birch 4")  # both_faces_good = false in shop.toml


def design(
    width: Annotated[float, Range(220, 480)] = 360.0,
    lip: Annotated[float, Range(16, 30)] = 20.0,
) -> Assembly:
    """A ledge for pictures of pots.

    Args:
        width: between the ends, in mm.
        lip: height of the lip, in mm.
    """
    depth, height, foot = 70.0, 80.0, 12.0
    screws = [obround(12, 5).at(x, height / 4) for x in (-width / 3, width / 3)]
    rings = [disc(size).at(width / 2 - 20, 0) for size in (5, 9)]  # engraved on the show face, in the plate's own x and y
    ledge = Assembly("picture ledge", stock=CHERRY)
    shelf = ledge.add("shelf", rectangle(width, depth))
    ledge.add("lip", rectangle(width, lip).marked(rings), standing(shelf.show, facing="-Y", inset=8))
    # the back shows its face to the front too, so its place is counted from the shelf's rear border
    ledge.add("back", rectangle(width, height).cut(screws), standing(shelf.show, facing="-Y", edge="+Y", inset=8))
    cheek = rectangle(depth, height + foot + CHERRY.t).chamfered(30, ">X and >Y")
    left = ledge.add("left", cheek, against(shelf.face("<X"), lift=-foot))
    ledge.add("right", cheek, mirrored(left, about="YZ"))
    join_touching(ledge, tabs(width=10))
    return ledge
