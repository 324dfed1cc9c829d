"""A sub-assembly as a plate, so that what places plates can place it: the box that it fills, laid flat."""

from __future__ import annotations

from collections.abc import Sequence

from panelwright.plates.errors import DesignError
from panelwright.plates.geometry.frame import AXES, Frame
from panelwright.plates.materials.stock import Stock
from panelwright.plates.outlines.shapes import rectangle
from panelwright.plates.placing.placement import Placement
from panelwright.plates.placing.plate import PlacedPlate, Plate

__all__ = ["frame_of"]


def frame_of(name: str, plates: Sequence[PlacedPlate], place: Placement) -> Frame:
    """Where a sub-assembly goes that a placement places: as a plate as large and as thick as its box, its z the show side.

    The box is that of its plates as designed, in the sub-assembly's own coordinates.  Raises `DesignError` for one without
    plates, and for a placement that mirrors.

    >>> from panelwright.assemblies import tray
    >>> from panelwright.plates import lying
    >>> floor = PlacedPlate("floor", Plate(rectangle(200, 100), Stock("MDF", 4)), Frame(), tray("x", stock=Stock("MDF", 4),
    ...     width=90, depth=60, height=30))
    >>> drawer = tray("drawer", stock=Stock("MDF", 4), width=90, depth=60, height=30)
    >>> frame_of("drawer", drawer.placed_plates(), lying(floor.show, flush="-X", inset=10)).origin
    (-45.0, 0.0, 4.0)
    """
    if not plates:
        raise DesignError(
            f"sub-assembly {name!r} has no plates yet, so it cannot be placed by faces; add them first", value=name
        )
    spans = [[face.extent(AXES[way]) for placed in plates for face in (placed.show, placed.back)] for way in ("+X", "+Y", "+Z")]
    (x0, x1), (y0, y1), (z0, z1) = ((min(low for low, _ in span), max(high for _, high in span)) for span in spans)
    box = Plate(rectangle(x1 - x0, y1 - y0).at((x0 + x1) / 2, (y0 + y1) / 2), Stock(f"box of {name}", z1 - z0))
    placed, frame = place.place(box)
    if placed is not box:
        raise DesignError(
            f"sub-assembly {name!r} cannot be mirrored as one, since its plates would have to be; build a mirrored one, or "
            "mirror its plates one by one",
            value=name,
        )
    return Frame(frame.point((0.0, 0.0, -z0)), frame.x, frame.y, frame.z)
