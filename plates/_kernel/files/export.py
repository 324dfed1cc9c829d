"""Finished solids as CadQuery objects."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from panelwright.plates._kernel.values.place import location_of
from panelwright.plates.geometry.frame import Frame

if TYPE_CHECKING:
    import cadquery as cq

__all__ = ["cadquery_assembly"]


def cadquery_assembly(name: str, parts: Sequence[tuple[str, Any, Frame, tuple[int, int, int]]]) -> cq.Assembly:
    """A CadQuery assembly of named solids, each with its place and its colour (red, green, blue from 0 to 255)."""
    import cadquery as cq

    assembly = cq.Assembly(name=name)
    for part_name, solid, frame, (red, green, blue) in parts:
        assembly.add(
            cq.Shape.cast(solid),
            name=part_name,
            loc=location_of(frame),
            color=cq.Color(red / 255, green / 255, blue / 255),
        )
    return assembly
