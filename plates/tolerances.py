"""Every tolerance of the toolkit, each with its reason.  All in millimetres unless the name says otherwise."""

from __future__ import annotations

from typing import Final

__all__ = [
    "ANGLE_TOLERANCE",
    "CHORD_TOLERANCE",
    "CONTACT_TOLERANCE",
    "FIT_TOLERANCE",
    "LARGEST",
    "MEASURED_CHORD",
    "OVERLAP_VOLUME",
    "POINT_TOLERANCE",
    "SIDE_STEP",
    "SQUARE_TOLERANCE_DEG",
    "is_zero",
]

POINT_TOLERANCE: Final = 1e-7
"""Two points nearer than this are one point: the kernel's own confusion length."""

SIDE_STEP: Final = 2e-6
"""How far to step off an edge to ask what lies on either side: well above POINT_TOLERANCE and the rounding of
coordinates of a few metres, well below anything that a machine could cut."""

CONTACT_TOLERANCE: Final = 1e-4
"""Faces nearer than this touch: far above rounding in chained placements, far below a sheet's thickness tolerance."""

ANGLE_TOLERANCE: Final = 1e-9
"""Sine of the angle below which two unit vectors count as parallel: over a metre of edge that is a nanometre."""

SQUARE_TOLERANCE_DEG: Final = 1e-6
"""Dihedral angles nearer to 90° than this are 90°: over a metre that is 17 nm."""

CHORD_TOLERANCE: Final = 2e-3
"""Largest distance between a curve and its chords where a check works on polygons: a tenth of the finest kerf."""

MEASURED_CHORD: Final = 1e-5
"""Largest distance between a curve and its chords where lengths, areas and volumes are measured on them: a tenth of what
touches, and far below `FIT_TOLERANCE`."""

FIT_TOLERANCE: Final = 5e-3
"""Largest difference between the clearance planned and the one measured on the solids."""

OVERLAP_VOLUME: Final = 1e-3
"""Common volume (mm³) below which two plates only touch: a 0.1 µm film on a contact of 100 × 100 mm."""

LARGEST: Final = 1e5
"""No size and no place is further from 0 than this: 100 m, beyond any sheet and any product of sheets, and the last digit
of such a number (1.5e-11 mm) is still far below POINT_TOLERANCE.  Far beyond it, what is computed is silently wrong."""


def is_zero(length: float) -> bool:
    """Whether a length in mm is nothing, as far as the kernel can tell.

    >>> is_zero(5e-8), is_zero(2e-7)
    (True, False)
    """
    return abs(length) <= POINT_TOLERANCE
