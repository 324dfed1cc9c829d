"""A corner, a folded sheet, a wall round a path and a flap: four ways to one and the same living hinge."""

from typing import Annotated, Literal

from panelwright.assemblies import Assembly, bend, stock
from panelwright.joints import fingers, join, living_hinge, tabs
from panelwright.plates import Frame, Range, bent_on, rectangle, rounded_rectangle

PLY = stock("bending birch 3")
UPRIGHT = Frame.facing((0, 0, 30), show=(0, -1, 0), right=(1, 0, 0))  # of what bends: 60 mm high, looking to the front


def design(
    way: Literal["corner", "sheet", "wall", "flap"] = "corner",
    radius: Annotated[float, Range(46, 56)] = 50.0,
) -> Assembly:
    """A screen for a candle, bent to an inner `radius` in mm in one of four ways."""
    screen = Assembly("screen", stock=PLY)
    base = screen.add("base", rectangle(260, 190), Frame((15, 65, -PLY.t)))
    if way == "wall":  # a wall round a path: bent wherever the path is an arc
        path = rounded_rectangle(170, 150, [0, *[radius + PLY.t] * 3])
        wall = screen.add_wrap("wall", 60, path, Frame((15, 65, 0)), outside=False)
        join(*wall.ends, fingers(width=12))  # its seam, in the one sharp corner
        join([part.face("<Z") for part in wall.flats], base.show, tabs(count=1, width=10))
    elif way == "sheet":  # a sheet drawn flat, and where along its x it bends
        sheet = screen.add_bent("sheet", rectangle(220, 60), bend(-40, radius=radius, angle_deg=90), UPRIGHT)
        join([part.face("<Z") for part in sheet.flats], base.show, tabs(count=1))
    else:  # two plates and the bend between them: they are cut as one panel
        front = screen.add("front", rectangle(70, 60), UPRIGHT)
        beyond = bent_on(front.face(">X"), radius=radius, angle_deg=90)
        side = screen.add("side", rectangle(60, 60), beyond, loose=way == "flap")
        join(front.face(">X"), side, living_hinge())
        join(front.face("<Z"), base.show, tabs(count=2, width=12))
        if way == "corner":  # a flap is left free, and swings
            join(side.face("<Z"), base.show, tabs(count=2, width=12))
    return screen
