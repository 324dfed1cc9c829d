"""A bench for wet pots on trestles: the trestle is a body of one's own, a function that gives an `Assembly`."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.joints import join, join_touching, tabs
from panelwright.plates import Frame, Range, Stock, finger_notch, rectangle, trapezium

BIRCH = stock("birch 6")


def trestle(name: str, *, stock: Stock, depth: float, height: float) -> Assembly:
    """Two legs, front and rear, and a stretcher between them: stands at z = 0, centred, `depth` mm deep outside."""
    t, inner = stock.t, depth - 2 * stock.t
    made = Assembly(name, stock=stock)
    leg = trapezium(90, 60, height).cut(finger_notch(40, 12, side="-Y"))
    made.add("front leg", leg, Frame.facing((0, t - depth / 2, height / 2), show=(0, -1, 0), right=(1, 0, 0)))
    made.add("rear leg", leg, Frame.facing((0, depth / 2 - t, height / 2), show=(0, 1, 0), right=(-1, 0, 0)))
    stretcher = rectangle(inner, height / 2).cut(finger_notch(inner / 2, 15, side="-Y"))
    made.add("stretcher", stretcher, Frame.facing((-t / 2, 0, 0.6 * height), show=(1, 0, 0), right=(0, 1, 0)))
    join_touching(made, tabs(count=2, width=12))
    return made


def design(
    width: Annotated[float, Range(300, 560)] = 420.0,
    depth: Annotated[float, Range(140, 240)] = 180.0,
    height: Annotated[float, Range(100, 180)] = 130.0,
) -> Assembly:
    """A bench for wet pots; `width` and `depth` of its board and its `height`, all in mm."""
    bench = Assembly("bench", stock=BIRCH)
    under = height - BIRCH.t
    board = bench.add("board", rectangle(width, depth), Frame((0, 0, under)))
    for side, x in (("left", -width / 2 + 60), ("right", width / 2 - 60)):
        legs = bench.add(side, trestle("trestle", stock=BIRCH, depth=depth - 40, height=under), Frame((x, 0, 0)))
        join([legs[f"{end} leg"].face(">Z") for end in ("front", "rear")], board.back, tabs(count=1, width=20))
    return bench
