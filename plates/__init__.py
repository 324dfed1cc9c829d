"""One flat part: stock, outline, plate, and where it stands.

>>> from panelwright.plates import Stock, hole, rectangle, row
>>> top = rectangle(220, 100).cut(row(hole(9), 8))
>>> top.size
(220.0, 100.0)
"""

from typing import TYPE_CHECKING

from .errors import (
    ArgumentError,
    DesignError,
    ForeignFaceError,
    JointError,
    KerfError,
    KernelError,
    MaterialError,
    NamingError,
    NestError,
    OutlineError,
    OutputError,
    PanelwrightError,
    PlacementError,
    SelectionError,
    ShopError,
    SizeError,
)
from .geometry.frame import Frame
from .materials.stock import Stock
from .outlines.cutouts import cable_slot, finger_notch, grid, handle_hole, hole, row
from .outlines.outline import Outline, Pattern, outline_of
from .outlines.shapes import (
    cutouts_from_dxf,
    disc,
    obround,
    outline_from_dxf,
    polygon,
    rectangle,
    regular_polygon,
    ring,
    rounded_rectangle,
    sector,
    trapezium,
)
from .parameters import Range
from .placing.bend_placement import bent_on
from .placing.placement import Placement, against, lying, mirrored, parallel, standing
from .placing.plate import Face, PlacedPlate, Plate

__all__ = [
    "ArgumentError",
    "DesignError",
    "Face",
    "ForeignFaceError",
    "Frame",
    "JointError",
    "KerfError",
    "KernelError",
    "MaterialError",
    "NamingError",
    "NestError",
    "Outline",
    "OutlineError",
    "OutputError",
    "PanelwrightError",
    "Pattern",
    "PlacedPlate",
    "Placement",
    "PlacementError",
    "Plate",
    "Range",
    "SelectionError",
    "ShopError",
    "SizeError",
    "Stock",
    "against",
    "bent_on",
    "cable_slot",
    "cutouts_from_dxf",
    "disc",
    "finger_notch",
    "grid",
    "handle_hole",
    "hole",
    "lying",
    "mirrored",
    "obround",
    "outline_from_dxf",
    "outline_of",
    "parallel",
    "polygon",
    "rectangle",
    "regular_polygon",
    "ring",
    "rounded_rectangle",
    "row",
    "sector",
    "standing",
    "trapezium",
]

if not TYPE_CHECKING:  # else a type checker would believe in any name

    def __getattr__(name):
        if name == "circle":  # CadQuery's takes a radius, the one that stood here took a diameter
            raise ImportError(
                "panelwright.plates has no circle, since one could take it for a radius; write hole(diameter) for a round "
                "cut-out, or disc(diameter) for a round plate or mark",
                name=__name__,
            )
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
