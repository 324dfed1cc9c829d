"""Sheets laid out for one run, with what they cost and on which paper they are wanted: all that the output folder needs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from .costs import Cost
from .plan import SheetPlan

if TYPE_CHECKING:
    from panelwright.assemblies.paper.press import Paper

__all__ = ["LaidSheets"]


@dataclass(frozen=True)
class LaidSheets:
    """A plan, its cost, and the paper to write it on as well, if any."""

    plan: SheetPlan
    cost: Cost
    paper: Paper | None = None

    def files(self) -> Iterator[tuple[str, bytes]]:
        """The files of all sheets by their path in the output folder."""
        from .sheet_files import plan_files

        return plan_files(self.plan, self.paper)

    def entries(self, digests: Mapping[str, str]) -> dict[str, Any]:
        """What the manifest says: `sheets`, `nests` (one a stock), `cost` and `sheet_notes`."""
        from .sheet_entries import cost_entry, sheet_entry, use_entries

        return {
            "cost": cost_entry(self.cost),
            "nests": use_entries(self.plan),
            "sheet_notes": list(self.plan.notes),
            "sheets": [sheet_entry(sheet, digests) for sheet in self.plan.sheets],
        }

    def words(self) -> list[str]:
        """The same for the console."""
        from .sheet_entries import plan_words

        return plan_words(self.plan, self.cost)
