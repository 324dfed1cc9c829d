"""Frames to and from CadQuery's `Location`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from panelwright.plates.geometry.frame import Frame

if TYPE_CHECKING:
    import cadquery as cq

__all__ = ["frame_of_location", "location_of", "transformation_of"]


def frame_of_location(location: cq.Location) -> Frame:
    """The frame that a CadQuery location moves the world's axes to, its rotation made exactly orthonormal."""
    matrix: Any = location.wrapped.Transformation()
    rows = [[matrix.Value(i, j) for j in range(1, 5)] for i in range(1, 4)]
    # -0.0 and 1e-17 from trigonometry of quarter turns would break exact comparisons
    columns = [tuple(_tidy(rows[i][j]) for i in range(3)) for j in range(3)]
    origin = (rows[0][3], rows[1][3], rows[2][3])
    return Frame.facing(origin, show=columns[2], right=columns[0])  # type: ignore[arg-type]


def _tidy(value: float) -> float:
    nearest = round(value)
    return float(nearest) if abs(value - nearest) < 1e-14 else value


def transformation_of(frame: Frame) -> Any:
    """The kernel's `gp_Trsf` that moves local coordinates of `frame` into the world."""
    from OCP.gp import gp_Trsf

    result = gp_Trsf()
    (a, d, g), (b, e, h), (c, f, i) = frame.x, frame.y, frame.z
    x, y, z = frame.origin
    result.SetValues(a, b, c, x, d, e, f, y, g, h, i, z)
    return result


def location_of(frame: Frame) -> cq.Location:
    """The frame as a CadQuery location."""
    import cadquery as cq

    return cq.Location(transformation_of(frame))
