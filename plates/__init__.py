"""One flat part: stock, outline, plate, and where it stands.

>>> from panelwright.plates import Stock, circle, rectangle, row
>>> top = rectangle(220, 100).cut(row(circle(9), 8))
>>> top.size
(220.0, 100.0)
"""

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
from .outlines.cutouts import cable_slot, finger_notch, grid, handle_hole, row
from .outlines.outline import Outline, outline_of
from .outlines.shapes import (
    circle,
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
from .placing.placement import against, lying, mirrored, parallel, standing
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
    "PlacedPlate",
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
    "circle",
    "cutouts_from_dxf",
    "disc",
    "finger_notch",
    "grid",
    "handle_hole",
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
