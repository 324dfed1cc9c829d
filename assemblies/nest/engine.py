"""What an engine is: anything that lays pieces on sheets.  What it gives is verified, whoever wrote it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from .job import NestJob
from .result import Placement, Unplaced

__all__ = ["Engine", "Layout", "Progress", "Report"]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search is: attempts made and to be made, and what the best layout so far leaves over and takes.

    `unplaced` counts the copies without a place, `sheets` the sheets used; `sheets_taken` counts the emptiest of them by
    the share of its longer side that is taken up.
    """

    iterations: int
    effort: int
    unplaced: int
    sheets: int
    sheets_taken: float


Report = Callable[[Progress], None]
"""Called now and then as a search goes on."""


@dataclass(frozen=True, slots=True)
class Layout:
    """What an engine gives back: where pieces lie, how many attempts it made, and whether it was stopped from the keyboard.

    Copies that are neither placed nor named in `unplaced` count as unplaced for want of room.  An engine that looks at a clock
    says so by `is_reproducible`.  `notes` tell, in words, what was asked for and could not be done.
    """

    placements: Sequence[Placement]
    unplaced: Sequence[Unplaced] = field(default=(), kw_only=True)
    iterations: int = field(default=0, kw_only=True)
    interrupted: bool = field(default=False, kw_only=True)
    is_reproducible: bool = field(default=True, kw_only=True)
    notes: Sequence[str] = field(default=(), kw_only=True)


class Engine(Protocol):
    """Lays the pieces of a job on its sheets."""

    def lay_out(self, job: NestJob, report: Report | None) -> Layout:
        """Lay out `job`, telling `report` how it goes.

        Must give the same layout for the same job, unless the job has a time limit, and must answer a KeyboardInterrupt
        with the best layout so far, if there is one.
        """
        ...
