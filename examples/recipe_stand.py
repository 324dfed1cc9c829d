"""A lectern for glaze recipes: a sloped board between two cheeks, a ledge with a lip for sheets and pencil, a shelf below."""

import math
from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join, join_touching, tabs
from panelwright.plates import Frame, Range, finger_notch, handle_hole, polygon, rectangle

BIRCH = stock("birch 4")  # as measured in shop.toml
ACRYLIC = stock("acrylic 3")


def design(
    slope_deg: Annotated[float, Range(50, 75)] = 62.0,
    width: Annotated[float, Range(170, 340)] = 226.0,
    height: Annotated[float, Range(180, 300)] = 230.0,
    lip: Annotated[float, Range(14, 30)] = 18.0,
) -> Assembly:
    """A stand for glaze recipes beside the scales.

    Sheets stand on the ledge, with room for a pencil behind the lip; spare ones go between board and back.  Empty, it
    falls over only when tilted by more than 22°, to the rear first: so says its centre of mass, at the ends of all ranges.

    Args:
        slope_deg: how steep the board stands, in degrees from level.
        width: between the cheeks, so a little more than a sheet is wide, in mm.
        height: of the board along its slope, in mm.
        lip: how far the lip stands up from the ledge, in mm.
    """
    t, web = BIRCH.t, 9.0
    foot, trough = 20.0, 20.0  # from the table to the shelf, and from the board to the lip
    cosine, sine = math.cos(math.radians(slope_deg)), math.sin(math.radians(slope_deg))
    up_slope, out_of_board = (0.0, cosine, sine), (0.0, -sine, cosine)

    def at(up: float, out: float) -> tuple[float, float]:
        """The (y, z) of a point so far up the board and so far out of its back; the board's lower edge stands on the shelf."""
        return (up * cosine - out * sine, foot + t + up * sine + out * cosine)

    def sloped(up: float, out: float, show: tuple[float, float, float]) -> Frame:
        return Frame.facing((0.0, *at(up, out)), show=show, right=(1, 0, 0))

    # how far up the board the ledge's underside is, and how far out of the board's back the ledge and the cheeks reach there
    ledge, brim = 24.0, t + trough + ACRYLIC.t + web
    low, high = at(ledge - web, brim + web), at(ledge + t + lip + web, brim + web)
    step, top = at(ledge + t + lip + 4 * web, t + web), at(height + web, t + web)
    rear = height * cosine + 2 * web  # the inside of the back
    corners = [(low[0], 0), (rear + t + web, 0), (rear + t + web, top[1]), top, step, high, low]
    cheek = polygon(corners).rounded(7).cut(finger_notch(0.55 * (rear - low[0]), 8, side="-Y"))
    depth, rise = rear - low[0] - web, 0.6 * top[1]

    stand = Assembly("recipe stand", stock=BIRCH)
    left = stand.add("left", cheek.mirrored(), Frame.facing((-width / 2, 0, 0), show=(-1, 0, 0), right=(0, -1, 0)))
    right = stand.add("right", cheek, Frame.facing((width / 2, 0, 0), show=(1, 0, 0), right=(0, 1, 0)))
    stand.add("board", rectangle(width, height), sloped(height / 2, 0.0, out_of_board))
    stand.add("ledge", rectangle(width, brim - t), sloped(ledge, (t + brim) / 2, up_slope))
    guard = rectangle(width, lip).cut(finger_notch(60, 5))
    front = stand.add("lip", guard, sloped(ledge + t + lip / 2, t + trough, out_of_board), stock=ACRYLIC)
    stand.add("shelf", rectangle(width, depth), Frame((0.0, rear - depth / 2, foot)))
    back = rectangle(width, rise).cut(handle_hole(90, 28, inset=18))
    stand.add("back", back, Frame.facing((0, rear, 10 + rise / 2), show=(0, 1, 0), right=(-1, 0, 0)))
    join(front.face("<X"), left.back, tabs(count=1, width=8))  # a low lip has room for narrow tabs only
    join(front.face(">X"), right.back, tabs(count=1, width=8))
    join_touching(stand, tabs(width=12))
    return stand
