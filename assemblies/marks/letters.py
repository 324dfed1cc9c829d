"""Part letters: what a part is called on the sheet, in the booklet and in lists, however long its name is."""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_uppercase

from panelwright.assemblies.data.parts import Panel

__all__ = ["letters_of"]


def letters_of(panels: Sequence[Panel]) -> dict[str, str]:
    """A letter for each panel by its name, in order: A to Z, then AA, AB and so on.

    >>> letters_of(())
    {}
    """
    found: dict[str, str] = {}
    for number, panel in enumerate(panels):
        letters, rest = "", number + 1
        while rest:
            rest, last = divmod(rest - 1, 26)
            letters = ascii_uppercase[last] + letters
        found[panel.name] = letters
    return found
