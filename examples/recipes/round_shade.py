"""A shade for the lamp over the wheel: a wall wrapped round a disc, its seam closed by fingers between two short flats."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import fingers, join, living_hinge, tabs
from panelwright.plates import Frame, Range, disc, ring

PLY = stock("bending birch 3")


def design(
    diameter: Annotated[float, Range(130, 170)] = 150.0,
    height: Annotated[float, Range(100, 180)] = 130.0,
) -> Assembly:
    """A shade for a lamp.

    Args:
        diameter: of the wall on its inside, in mm.
        height: of the wall, in mm.
    """
    brim, land = 12.0, 0.27 * diameter / 2  # each flat of the seam turns by 15°: 30° between them, the least that fingers hold
    shade = Assembly("lamp shade", stock=PLY)
    rim = ring(diameter + 2 * brim + 10, diameter - 40)
    lower = shade.add("lower ring", rim)
    wall = shade.add_wrap("wall", height, disc(diameter), Frame((0, 0, PLY.t)), land=land, hinge=living_hinge(slit_length=40))
    upper = shade.add("upper ring", rim, Frame((0, 0, PLY.t + height)))
    join(*wall.ends, fingers(width=12))
    for border, held in (("<Z", lower.face(">Z")), (">Z", upper.face("<Z"))):
        join([part.face(border) for part in wall.flats], held, tabs(count=1, width=5))
        join([part.face(border) for part in wall.bends], held, tabs(count=8, width=5))
    return shade
