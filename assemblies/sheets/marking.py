"""Part marks for the sheets: letter and name on every part, and ticks where others are glued on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from panelwright.assemblies.marks import Label, Ticks, alignment_ticks, covered_regions, label_of, letters_of
from panelwright.assemblies.marks.covered import common_to
from panelwright.assemblies.marks.label import lacks
from panelwright.plates.geometry.congruence import carrying
from panelwright.plates.geometry.curves import Segment
from panelwright.plates.geometry.motion import Motion

from .pieces import PieceSource
from .request import Batch, FaceUp, SheetRules

__all__ = ["Marker"]

HIDDEN: Final = 0.5
"""Distance in mm that lettering keeps from the border of what covers it: plates are never glued on exactly (no source)."""


class Marker:
    """Draws the marks of parts, each panel's once, and collects notes on what found no room."""

    def __init__(self, batches: Sequence[Batch], rules: SheetRules) -> None:
        self._rules = rules
        self._letters = [letters_of(batch.product.panels) for batch in batches]
        self._number = {id(batch): number for number, batch in enumerate(batches)}
        self._labels: dict[tuple[str, bool], Label | None] = {}
        self._ticks: dict[int, dict[str, list[Ticks]]] = {}
        self._notes: dict[str, None] = {}
        self._bare: dict[str, None] = {}

    @property
    def notes(self) -> tuple[str, ...]:
        """What was left out, each thing once."""
        bare = ", ".join(self._bare)
        why = "no letters, since other plates cover no place with room for them on the show face"
        return (*self._notes, f"{bare}: {why}") if bare else tuple(self._notes)

    def strokes(self, source: PieceSource, face_up: FaceUp) -> list[Sequence[Segment]]:
        """Marks of one part, in coordinates of its panel as drawn from the show face."""
        ticks = self._ticks_of(source, face_up) if self._rules.ticks else []
        if not self._rules.is_marked:
            return ticks
        # where marks of the design keep the show face up, letters must not end up on what people see of it
        must_hide = bool(source.panel.marks) or face_up != self._rules.face_up
        key = (source.name, source.is_mirrored)
        if key not in self._labels:
            self._labels[key] = self._lettered(source, face_up, ticks, must_hide=must_hide)
        label = self._labels[key]
        if label is None and must_hide:
            self._bare.setdefault(source.name)
        elif label is None:
            letter = self._letter(source)
            self._note(f"{source.name} has no room for its letter {letter}, 2 mm high, off its cuts; tell it by its shape")
        return ticks if label is None else [*ticks, *label.strokes]

    def _lettered(
        self, source: PieceSource, face_up: FaceUp, ticks: Sequence[Sequence[Segment]], *, must_hide: bool
    ) -> Label | None:
        """Letters for the face that lies up; on a show face, of the places for a text one that is covered comes first."""
        panel = source.panel

        def fitted(texts: Sequence[str], within: Any = None) -> Label | None:
            off = [*panel.strokes, *panel.marks, *ticks]
            kerf, flips = panel.stock.kerf, source.is_mirrored
            return label_of(texts, panel.cuts, off, kerf=kerf, bends=panel.bends, within=within, is_mirrored=flips)

        texts = self._texts(source)
        if face_up == "back":
            return fitted(texts)
        hidden = self._hidden(source)
        if must_hide:
            return fitted(texts, hidden)
        return next((label for text in texts if (label := fitted([text], hidden) or fitted([text])) is not None), None)

    def _hidden(self, source: PieceSource) -> Any:
        """What other plates cover of a part's show face, wherever the part is used, in its panel's coordinates."""
        regions: list[tuple[Any, Motion | None]] = []
        for plate in _served(source):
            covered = covered_regions(source.batch.product, plate).show.buffer(-HIDDEN)
            # looking for the way onto the panel takes longer than to see that there is nothing to carry
            regions.append((covered, None if covered.is_empty else self._onto_panel(source, plate)))
        return common_to(regions)

    @staticmethod
    def _onto_panel(source: PieceSource, plate: str) -> Motion | None:
        """From a plate's own coordinates to those of the panel that it is cut as."""
        panel = source.panel
        part = next(part for part in source.batch.product.parts if plate in part.plates)
        has_grain = panel.stock.grain is not None
        return carrying(part.loops, panel.loops, is_mirrored=source.is_turned_over, has_grain=has_grain)

    def label(self, source: PieceSource, face_up: FaceUp) -> str:
        """What is marked on a part, "" if nothing is."""
        self.strokes(source, face_up)
        label = self._labels.get((source.name, source.is_mirrored))
        return "" if label is None else label.text

    def _letter(self, source: PieceSource) -> str:
        """The part's letter, led by the number of its product where there are several."""
        number = self._number[id(source.batch)]
        letter = self._letters[number][source.panel.name]
        return f"{number + 1}{letter}" if len(self._letters) > 1 else letter

    def _texts(self, source: PieceSource) -> list[str]:
        """What may stand on the part, the most telling first: letter and name, letter and the name's last word, the letter."""
        letter = self._letter(source)
        # the mirror image of a panel serves another plate than the one that it is named after
        name = source.panel.turned_over[0] if source.is_turned_over else source.panel.name
        words = name.replace(".", " ").split()
        known = [text for text in (name, " ".join(words[-2:]), words[-1] if words else "") if text and not lacks(text)]
        if not known:
            self._note(f"the lettering lacks letters of {name!r}, so its parts are marked {letter} only")
        return [*(f"{letter} {text}" for text in dict.fromkeys(known)), letter]

    def _ticks_of(self, source: PieceSource, face_up: FaceUp) -> list[Sequence[Segment]]:
        """Ticks on the face that lies up, of the first of the plates that the piece may be used for."""
        product = source.batch.product
        by_plate = self._ticks.get(id(source.batch))
        if by_plate is None:
            by_plate = self._ticks[id(source.batch)] = {}
            for ticks in alignment_ticks(product):
                by_plate.setdefault(ticks.plate, []).append(ticks)
        plates = _served(source)
        found = by_plate.get(plates[0], [])
        hidden = [ticks for ticks in found if ticks.face != face_up]
        shown = [ticks for ticks in found if ticks.face == face_up]
        if hidden:
            count = sum(len(ticks.lines) for ticks in hidden)
            self._note(f"{source.name}: {count} ticks belong on its {hidden[0].face} face, which lies down, and are left out")
        if shown and len(plates) > 1:
            self._note(f"{source.name} serves {', '.join(plates)}; its ticks are those of {plates[0]}")
        onto = self._onto_panel(source, plates[0]) if shown else None  # pyright: ignore[reportGeneralTypeIssues]  there is one
        return [] if onto is None else [(line.moved(onto),) for ticks in shown for line in ticks.lines]

    def _note(self, words: str) -> None:
        self._notes.setdefault(words)


def _served(source: PieceSource) -> tuple[str, ...]:
    """The plates that a piece may be used for: those that are mirror images of its panel, or those that are not."""
    return tuple(plate for plate in source.panel.plates if (plate in source.panel.turned_over) == source.is_turned_over)
