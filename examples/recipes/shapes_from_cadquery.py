"""An apron rail drawn as CadQuery sketches, and handed back to CadQuery to stand in a model of the whole studio."""

from typing import Annotated

import cadquery as cq
from panelwright.assemblies import Assembly, stock
from panelwright.joints import join, tabs
from panelwright.plates import Frame, Range

BIRCH = stock("birch 6")


def design(
    hooks: Annotated[int, Range(2, 6)] = 4,
    pitch: Annotated[float, Range(50, 90)] = 70.0,
) -> Assembly:
    """A rail with hooks for aprons; `hooks` in number, `pitch` mm apart."""
    length, t = hooks * pitch + 20, BIRCH.t
    board = cq.Sketch().rect(length, 90).vertices().fillet(20).reset()
    board = board.push([(20 - length / 2, 20), (length / 2 - 20, 20)]).circle(2.5, mode="s")
    hook = cq.Workplane().lineTo(44, 24).threePointArc((56, 30), (50, 42)).lineTo(38, 34).lineTo(0, 44).close()
    rail = Assembly("apron rail", stock=BIRCH)
    back = rail.add("board", board, Frame.facing((0, 0, 0), show=(0, -1, 0), right=(1, 0, 0)))
    for i in range(hooks):
        x = (i - (hooks - 1) / 2) * pitch
        upright = Frame.facing((x - t / 2, -t, -25), show=(1, 0, 0), right=(0, -1, 0))
        join(rail.add(f"hook {i + 1}", hook, upright).face(">Y"), back.show, tabs(count=1, width=20))
    return rail


def studio() -> cq.Assembly:
    """The rail on a wall that was modelled in CadQuery: every plate a named, placed solid."""
    wall = cq.Workplane("XZ").box(900, 600, 20).translate((0, 10, 0))
    return cq.Assembly(wall, name="wall").add(design().to_cadquery(), name="apron rail")
