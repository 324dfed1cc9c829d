"""A low stool for the potter's wheel, cut by a router: reliefs let square tabs go into corners that a round tool left."""

from typing import Annotated

from panelwright.assemblies import Assembly
from panelwright.joints import dog_bone, join, join_touching, tabs
from panelwright.plates import Frame, Range, Stock, finger_notch, handle_hole, lying, rectangle, rounded_rectangle

TOOL = 6.0
PLY = Stock("birch plywood", 18, measured=17.8, kerf=TOOL, clearance=0.2, cutter="router", density=680)


def design(
    width: Annotated[float, Range(280, 420)] = 340.0,
    height: Annotated[float, Range(200, 320)] = 260.0,
) -> Assembly:
    """A low stool.

    Args:
        width: of the seat, in mm.
        height: of the seat's upper face above the floor, in mm.
    """
    t, depth = PLY.t, 240.0
    between, rise = width - 120, height - t
    stool = Assembly("wheel stool", stock=PLY, relief=dog_bone(TOOL))
    leg = rectangle(depth, rise).cut(finger_notch(110, 40, side="-Y"))
    legs = [
        stool.add(name, leg, Frame.facing((x, 0, rise / 2), show=(way, 0, 0), right=(0, way, 0)))
        for name, x, way in (("left leg", -between / 2, -1), ("right leg", between / 2, 1))
    ]
    rail = stool.add("rail", rectangle(between, 80), Frame.facing((0, t / 2, rise - 80), show=(0, 1, 0), right=(-1, 0, 0)))
    seat = rounded_rectangle(width, depth + 40, 30).cut(handle_hole(90, 30, inset=35))
    stool.add("seat", seat, lying([leg.face(">Z") for leg in legs]))
    join([rail.face("<X"), rail.face(">X")], [leg.back for leg in legs], tabs(count=1, width=30))
    join_touching(stool, tabs(count=2, width=40))
    return stool
