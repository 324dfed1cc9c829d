"""Cutting a sheet: the paths that a machine follows, in which order, and how long that takes.

Comes in: what a nest has laid where, the kerf, the machine's speeds.  Goes out: `CutPath`s in order, and their time.  A
new rule of order belongs in `order`, where all rules of what comes before what stand.
"""

from __future__ import annotations

from .bridges import with_bridges
from .layers import by_layer
from .nesting_depth import holders_of
from .order import cutting_order, travel_mm
from .path import CutKind, CutPath
from .shared_cuts import merged
from .times import SheetTime, Speeds, sheet_time

__all__ = [
    "CutKind",
    "CutPath",
    "SheetTime",
    "Speeds",
    "by_layer",
    "cutting_order",
    "holders_of",
    "merged",
    "sheet_time",
    "travel_mm",
    "with_bridges",
]
