"""Nesting: pieces of any shape put onto the sheets and offcuts that are there.

Comes in: pieces, sheets and rules, a `NestJob`.  Goes out: a layout that `verifying` has measured, whichever engine made it.
Names are loaded when first used, so that `panelwright --help` answers at once.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .compaction import LastSheetCompaction
    from .engine import Engine, Layout, Progress, Report
    from .job import ALONG_GRAIN, AS_DRAWN, QUARTER_TURNS, NestJob, Piece, Pin, Sheet
    from .nesting import nest
    from .result import Leftover, Nest, Placement, SheetUse, Unplaced
    from .search import RuinAndRecreate
    from .verifying import Problem, verify

__all__ = [
    "ALONG_GRAIN",
    "AS_DRAWN",
    "QUARTER_TURNS",
    "Engine",
    "LastSheetCompaction",
    "Layout",
    "Leftover",
    "Nest",
    "NestJob",
    "Piece",
    "Pin",
    "Placement",
    "Problem",
    "Progress",
    "Report",
    "RuinAndRecreate",
    "Sheet",
    "SheetUse",
    "Unplaced",
    "nest",
    "verify",
]

_HOMES = {
    "ALONG_GRAIN": "job",
    "AS_DRAWN": "job",
    "QUARTER_TURNS": "job",
    "Engine": "engine",
    "LastSheetCompaction": "compaction",
    "Layout": "engine",
    "Leftover": "result",
    "Nest": "result",
    "NestJob": "job",
    "Piece": "job",
    "Pin": "job",
    "Placement": "result",
    "Problem": "verifying",
    "Progress": "engine",
    "Report": "engine",
    "RuinAndRecreate": "search",
    "Sheet": "job",
    "SheetUse": "result",
    "Unplaced": "result",
    "nest": "nesting",
    "verify": "verifying",
}


def __getattr__(name: str) -> object:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{home}"), name)
