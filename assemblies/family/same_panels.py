"""Which panels are the same over variants, by their geometry: cut once, they serve many sizes."""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from dataclasses import dataclass, field

from panelwright.plates.geometry.congruence import same_panel
from panelwright.plates.geometry.curves import Loop

from .rows import PanelShape, loops_of

__all__ = ["FamilyPanel", "SamePanels"]


@dataclass(slots=True)
class FamilyPanel:
    """One panel of the family: as its first variant has it, the variants that it serves, and pieces over all of them."""

    shape: PanelShape
    serves: list[str] = field(default_factory=list)
    pieces: int = 0
    names: list[str] = field(default_factory=list)

    @property
    def is_shared(self) -> bool:
        """Whether it serves more than one variant."""
        return len(self.serves) > 1

    def words(self) -> str:
        """What it is to the family.

        >>> shape = PanelShape("base", "birch 3", "", 3.0, 1, (90.0, 60.0), 5400.0, True, False, "", [])
        >>> FamilyPanel(shape, ["small", "large"], 2, ["base"]).words()
        'this base serves 2 variants'
        """
        return f"this {self.shape.name} serves {len(self.serves)} variant{'s' * (len(self.serves) != 1)}"


class SamePanels:
    """Panels as they come, variant after variant, gathered by what is the same: turned, and over where the stock allows it."""

    def __init__(self) -> None:
        self.found: list[FamilyPanel] = []
        self._exactly: dict[str, FamilyPanel] = {}
        self._nearly: dict[tuple[object, ...], list[FamilyPanel]] = defaultdict(list)
        self._loops: dict[int, tuple[Loop, ...]] = {}

    def add(self, variant: str, shape: PanelShape) -> FamilyPanel:
        """The panel of the family that a variant's panel is."""
        told = json.dumps([shape.stock_id, shape.exact, shape.segments], separators=(",", ":"))
        digest = hashlib.sha256(told.encode("ascii")).hexdigest()
        panel = self._exactly.get(digest)
        if panel is None:
            panel = self._exactly[digest] = self._congruent(shape)
        if variant not in panel.serves[-1:]:  # a variant has each panel once, but may be its own near twin
            panel.serves.append(variant)
        panel.pieces += shape.quantity
        if shape.name not in panel.names:
            panel.names.append(shape.name)
        return panel

    def _congruent(self, shape: PanelShape) -> FamilyPanel:
        segments = sum(map(len, shape.segments))
        key = (shape.stock_id, shape.exact, len(shape.segments), segments)
        area = round(shape.area_mm2, 1)
        # an area on the border between two tenths must find its like on either side
        near = {round(area + off, 1) for off in (-0.1, 0.0, 0.1)} if not shape.exact else set()
        loops: tuple[Loop, ...] | None = None
        for panel in [panel for value in sorted(near) for panel in self._nearly[(*key, value)]]:
            loops = loops or loops_of(shape.segments)
            if same_panel(self._loops_of(panel), loops, may_flip=shape.may_flip, has_grain=shape.has_grain):
                return panel
        panel = FamilyPanel(shape)
        self.found.append(panel)
        self._nearly[(*key, area)].append(panel)
        return panel

    def _loops_of(self, panel: FamilyPanel) -> tuple[Loop, ...]:
        found = self._loops.get(id(panel))
        if found is None:
            found = self._loops[id(panel)] = loops_of(panel.shape.segments)
        return found
