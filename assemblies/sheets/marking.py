"""Part marks for the sheets: number and name in every part, and ticks where others are glued on."""

from __future__ import annotations

from collections.abc import Sequence

from panelwright.plates.curves import Segment

from .pieces import PieceSource
from .request import Batch, FaceUp, SheetRules

__all__ = ["Marker"]


class Marker:
    """Draws the marks of parts."""

    def __init__(self, batches: Sequence[Batch], rules: SheetRules) -> None:
        self.notes: list[str] = []

    def strokes(self, source: PieceSource, face_up: FaceUp) -> list[Sequence[Segment]]:
        """Marks of one part, in coordinates of its panel as drawn from the show face."""
        return []
