"""Part marks for the sheets: letter and name on every part, and ticks where others are glued on."""

from __future__ import annotations

from collections.abc import Sequence

from panelwright.plates.curves import Segment
from panelwright.plates.motion import Motion

from ..marks import Label, Ticks, alignment_ticks, label_of, letters_of
from ..marks.label import lacks
from .pieces import PieceSource
from .request import Batch, FaceUp, SheetRules

__all__ = ["Marker"]


class Marker:
    """Draws the marks of parts, each panel's once, and collects notes on what found no room."""

    def __init__(self, batches: Sequence[Batch], rules: SheetRules) -> None:
        self._rules = rules
        self._letters = [letters_of(batch.product.panels) for batch in batches]
        self._number = {id(batch): number for number, batch in enumerate(batches)}
        self._labels: dict[tuple[str, bool], Label | None] = {}
        self._ticks: dict[int, dict[str, list[Ticks]]] = {}
        self._notes: dict[str, None] = {}

    @property
    def notes(self) -> tuple[str, ...]:
        """What was left out, each thing once."""
        return tuple(self._notes)

    def strokes(self, source: PieceSource, face_up: FaceUp) -> list[Sequence[Segment]]:
        """Marks of one part, in coordinates of its panel as drawn from the show face."""
        ticks = self._ticks_of(source, face_up) if self._rules.ticks else []
        # where marks of the design keep the show face up, letters would end up on the face that people see
        if not self._rules.is_marked or source.panel.marks or face_up != self._rules.face_up:
            return ticks
        key = (source.name, source.is_mirrored)
        if key not in self._labels:
            panel = source.panel
            off = [*panel.strokes, *ticks]
            self._labels[key] = label_of(
                self._texts(source),
                panel.cuts,
                off,
                kerf=panel.stock.kerf,
                bends=panel.bends,
                is_mirrored=source.is_mirrored,
            )
        label = self._labels[key]
        if label is None:
            letter = self._letter(source)
            self._note(f"{source.name} has no room for its letter {letter}, 2 mm high, off its cuts; tell it by its shape")
            return ticks
        return [*ticks, *label.strokes]

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
        """Ticks on the face that lies up, of the plate that the panel is named after."""
        product, panel = source.batch.product, source.panel
        by_plate = self._ticks.get(id(source.batch))
        if by_plate is None:
            by_plate = self._ticks[id(source.batch)] = {}
            for ticks in alignment_ticks(product):
                by_plate.setdefault(ticks.plate, []).append(ticks)
        found = by_plate.get(panel.plates[0], [])
        hidden = [ticks for ticks in found if ticks.face != face_up]
        shown = [ticks for ticks in found if ticks.face == face_up]
        if hidden:
            count = sum(len(ticks.lines) for ticks in hidden)
            self._note(f"{source.name}: {count} ticks belong on its {hidden[0].face} face, which lies down, and are left out")
        if shown and len(panel.plates) > 1:
            self._note(f"{source.name} serves {', '.join(panel.plates)}; its ticks are those of {panel.plates[0]}")
        if not shown:
            return []
        part = next(part for part in product.parts if part.name == panel.plates[0])
        corner = [min(loop.bounds[k] for loop in part.loops) for k in (0, 1)]
        to_panel = Motion.shift(-corner[0], -corner[1])
        return [(line.moved(to_panel),) for ticks in shown for line in ticks.lines]

    def _note(self, words: str) -> None:
        self._notes.setdefault(words)
