"""An enclosure for a kiln timer: finger corners, a base tabbed in for good, and a lid that screws into captive nuts."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import fingers, join, t_nut, tabs
from panelwright.plates import Frame, Range, disc, grid, hole, obround, rectangle, rounded_rectangle, row

PLY = stock("birch 4")  # as measured in shop.toml
ACRYLIC = stock("acrylic 3")


def design(
    width: Annotated[float, Range(130, 220)] = 160.0,
    depth: Annotated[float, Range(90, 160)] = 105.0,
    height: Annotated[float, Range(58, 90)] = 60.0,
    vents: Annotated[int, Range(3, 7)] = 6,
    cables: Annotated[int, Range(1, 3)] = 2,
) -> Assembly:
    """An enclosure for a kiln timer.

    Args:
        width: inside width, in mm.
        depth: inside depth, in mm.
        height: inside height, in mm.
        vents: upright slots in either side wall.
        cables: openings for cable glands in the rear wall.
    """
    t, brim = PLY.t, 6.0  # base and lid stand out by the brim, so that a web stays between the screws and their borders
    timer = Assembly("kiln timer", stock=PLY)
    flat = rounded_rectangle(width + 2 * (t + brim), depth + 2 * (t + brim), 10)
    feet = grid(hole(4.2), 2, 2, pitch=(width - 36, depth - 36))
    base = timer.add("base", flat.cut(feet))
    lid = timer.add("lid", flat, Frame((0.0, 0.0, t + height)), stock=ACRYLIC)

    across, along = rectangle(width + 2 * t, height), rectangle(depth + 2 * t, height)
    screen, knob = (-width / 2 + 48, 3.5), (width / 2 - 28, -2.0)
    buttons = row(hole(12.2), 2, pitch=28, at=(screen[0], -17))
    front = across.cut(rounded_rectangle(66, 20, 2).at(*screen), buttons, hole(7).at(*knob)).marked(disc(30).at(*knob))
    rear = across.cut(row(hole(12.5), cables, pitch=28, at=(0, -6)))
    side = along.cut(grid(obround(24, 4).turned(90), vents, 1, pitch=10, at=(0, -5)))
    walls = {
        name: timer.add(name, outline, Frame.facing((x, y, t + height / 2), show=show, right=right))
        for name, outline, x, y, show, right in (
            ("front", front, 0.0, -depth / 2, (0, -1, 0), (1, 0, 0)),
            ("rear", rear, 0.0, depth / 2, (0, 1, 0), (-1, 0, 0)),
            ("left", side, -width / 2, 0.0, (-1, 0, 0), (0, -1, 0)),
            ("right", side, width / 2, 0.0, (1, 0, 0), (0, 1, 0)),
        )
    }
    for wall in walls.values():
        join(wall.face("<Z"), base.face(">Z"), tabs(count=2, width=14))
        # a tab in the middle of each side locates the lid, the screws beside it hold it
        join(wall.face(">Z"), lid.face("<Z"), t_nut("M3", count=2, screw="ISO 7380-1", tabs=tabs(count=1, width=14)))
    for name, face in (("left", "<X"), ("right", ">X")):
        join(walls[name].face("<Y"), walls["front"].face(face), fingers(width=12))
        join(walls[name].face(">Y"), walls["rear"].face(face), fingers(width=12))
    return timer
