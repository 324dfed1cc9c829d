"""Marks on parts that the shop needs and the product does not: part letters and names, and ticks where others are glued on.

Comes in: parts where they stand, and what of them is hidden.  Goes out: strokes on their broad faces, for sheets and templates.
"""

from __future__ import annotations

from .covered import Covered, covered_regions
from .label import Label, label_of
from .letters import letters_of
from .ticks import Ticks, alignment_ticks

__all__ = ["Covered", "Label", "Ticks", "alignment_ticks", "covered_regions", "label_of", "letters_of"]
