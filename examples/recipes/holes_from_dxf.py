"""A box for the kiln's controller board: the board's four holes come from its maker's DXF file, as they were drawn there."""

from pathlib import Path
from typing import Annotated

from panelwright.assemblies import Assembly, stock, tray
from panelwright.plates import Range, cable_slot, cutouts_from_dxf, outline_from_dxf

BIRCH = stock("birch 4")
BOARD = Path(__file__).with_name("controller_board.dxf")  # 85 × 56 mm, drawn from its lower left corner


def design(
    room: Annotated[float, Range(6, 30)] = 10.0,
    height: Annotated[float, Range(30, 60)] = 40.0,
) -> Assembly:
    """A box for a board.

    Args:
        room: between the board's border and the walls, in mm.
        height: of the walls, in mm.
    """
    length, width = outline_from_dxf(BOARD, layer="BOARD").size
    holes = [hole.at(-length / 2, -width / 2) for hole in cutouts_from_dxf(BOARD, layers="HOLES")]
    around = 2 * (room + BIRCH.t)
    return tray(
        "board box",
        stock=BIRCH,
        width=length + around,
        depth=width + around,
        height=height,
        cut={"base": holes, "rear": cable_slot(8, 14, side="+Y")},
    )
