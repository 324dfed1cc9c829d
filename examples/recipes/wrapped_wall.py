"""A pot for long brushes: one wall wrapped round three soft corners, its seam fingered in the one sharp corner."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import fingers, join, living_hinge, tabs
from panelwright.plates import Frame, Range, rounded_rectangle

PLY = stock("bending birch 3")


def design(
    height: Annotated[float, Range(60, 120)] = 90.0,
    radius: Annotated[float, Range(48, 60)] = 52.0,
) -> Assembly:
    """A pot for brushes.

    Args:
        height: of the wall, in mm.
        radius: outside radius of the soft corners, in mm.
    """
    width, depth, brim = 180.0, 140.0, 8.0
    pot = Assembly("brush pot", stock=PLY)
    base = pot.add("base", rounded_rectangle(width + 2 * brim, depth + 2 * brim, [4, *[radius + brim] * 3]))
    path = rounded_rectangle(width, depth, [0, radius, radius, radius])  # its sharp corner is where the wall begins and ends
    wall = pot.add_wrap("wall", height, path, Frame((0, 0, PLY.t)), outside=False, hinge=living_hinge(slit_length=40))
    join(*wall.ends, fingers(width=12))
    join([part.face("<Z") for part in wall.flats], base.show, tabs(count=1, width=12))
    join([part.face("<Z") for part in wall.bends], base.show, tabs(count=2, width=5))
    return pot
