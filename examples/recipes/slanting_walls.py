"""A lantern for thin porcelain: walls that lean inwards all round, each edge named by the plate that it lies along."""

import math
from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import fingers, join, tabs
from panelwright.plates import PlacedPlate, Range, hole, obround, regular_polygon, standing, trapezium

BIRCH = stock("birch 4")


def design(
    sides: Annotated[int, Range(4, 6)] = 6,
    lean: Annotated[float, Range(4, 12)] = 8.0,
) -> Assembly:
    """A lantern of `sides` walls that `lean` inwards, in degrees."""
    width, slant, brim, half = 130.0, 140.0, 10.0, math.pi / sides
    foot = width / 2 - brim - BIRCH.t * math.cos(math.radians(lean))  # from the middle to the inside of a wall's foot
    top = foot - slant * math.sin(math.radians(lean))
    wall = trapezium(2 * foot * math.tan(half), 2 * top * math.tan(half), slant).cut(obround(60, 12).turned(90))
    lantern = Assembly("lantern", stock=BIRCH)
    base = lantern.add("base", regular_polygon(sides, across_flats=width).cut(hole(30)))
    walls: list[PlacedPlate] = []
    for i in range(sides):
        turn = math.radians(360 * i / sides - 90)
        place = standing(base.show, facing=(math.cos(turn), math.sin(turn), 0), inset=brim, lean_deg=lean)
        walls.append(lantern.add(f"wall {i + 1}", wall, place))
    for this, following in zip(walls, [*walls[1:], walls[0]], strict=True):
        join(this.edge_toward(base), base.show, tabs(count=1))
        join(this.edge_toward(following), following.edge_toward(this), fingers(width=14))
    return lantern
