"""Letters and figures as strokes, to be marked on parts: one line wide, so that a beam draws each stroke once.

A small font of our own on a grid four wide and six high: capitals, figures and a few signs.  Small letters are drawn as
capitals; what the font lacks is an error, never left out in silence.
"""

from __future__ import annotations

from itertools import pairwise

from panelwright.plates._validate import positive
from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.curves import Line, Point

__all__ = ["lettering", "lettering_width"]

_ROUND = "01 05 16 36 45 41 30 10 01"
_GLYPHS: dict[str, str] = {
    " ": "",
    "A": "00 05 16 36 45 40|03 43",
    "B": "00 06 36 45 44 33 42 41 30 00|03 33",
    "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 26 44 42 20 00",
    "E": "40 00 06 46|03 33",
    "F": "00 06 46|03 33",
    "G": "45 36 16 05 01 10 30 41 43 23",
    "H": "00 06|40 46|03 43",
    "I": "10 30|20 26|16 36",
    "J": "01 10 30 41 46",
    "K": "00 06|46 03 40",
    "L": "06 00 40",
    "M": "00 06 23 46 40",
    "N": "00 06 40 46",
    "O": _ROUND,
    "P": "00 06 36 45 44 33 03",
    "Q": f"{_ROUND}|22 40",
    "R": "00 06 36 45 44 33 03|23 40",
    "S": "01 10 30 41 42 33 13 04 05 16 36 45",
    "T": "06 46|26 20",
    "U": "06 01 10 30 41 46",
    "V": "06 20 46",
    "W": "06 10 23 30 46",
    "X": "00 46|06 40",
    "Y": "06 23 46|23 20",
    "Z": "06 46 00 40",
    "0": _ROUND,
    "1": "15 26 20|10 30",
    "2": "05 16 36 45 44 00 40",
    "3": "05 16 36 45 44 33 42 41 30 10 01|13 33",
    "4": "30 36 02 42",
    "5": "46 06 03 33 42 41 30 10 01",
    "6": "45 36 16 05 01 10 30 41 42 33 03",
    "7": "06 46 10",
    "8": "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
    "9": "01 10 30 41 45 36 16 05 04 13 43",
    ".": "00 10 11 01 00",
    ",": "10 11 01",
    ":": "01 02|04 05",
    "-": "13 33",
    "+": "03 43|21 25",
    "=": "02 42|04 44",
    "×": "11 35|15 31",
    "/": "00 46",
    "(": "16 05 01 10",
    ")": "06 15 11 00",
}
"""Chains of grid points "xy", parted by bars."""

_HIGH, _WIDE, _GAP = 6, 4, 2
_NARROW = {".": 1, ",": 1, ":": 0, "(": 1, ")": 1}


def lettering_width(text: str, height: float) -> float:
    """Width in mm of a text whose letters are `height` mm high.

    >>> lettering_width("10", 3), lettering_width("", 3)
    (5.0, 0.0)
    """
    scale = positive(height, "height of lettering") / _HIGH
    cells = [_NARROW.get(char, _WIDE) for char in text]
    return scale * (sum(cells) + _GAP * max(0, len(cells) - 1))


def lettering(text: str, height: float, at: Point = (0.0, 0.0), *, centred: bool = False) -> tuple[tuple[Line, ...], ...]:
    """The strokes of a text whose letters are `height` mm high: chains of lines, as `Outline.marks` takes them.

    `at` is the lower left corner of the first letter, or the middle of the lower edge if `centred`.  Raises `SizeError` for a
    letter that the font lacks.

    >>> [len(chain) for chain in lettering("7", 3)], lettering("L", 6)[0][0].end
    ([2], (0.0, 0.0))
    >>> lettering("ß", 3)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: the lettering has no 'ß'; it has A to Z, 0 to 9 and . , : - + = × / ( )
    """
    scale = positive(height, "height of lettering") / _HIGH
    x = at[0] - (lettering_width(text, height) / 2 if centred else 0.0)
    chains: list[tuple[Line, ...]] = []
    for char in text:
        folded = char.upper() if len(char.upper()) == 1 else char
        if folded not in _GLYPHS:
            raise SizeError(f"the lettering has no {char!r}; it has A to Z, 0 to 9 and . , : - + = × / ( )", value=char)
        for stroke in filter(None, _GLYPHS[folded].split("|")):
            points = [(x + scale * int(spot[0]), at[1] + scale * int(spot[1])) for spot in stroke.split()]
            chains.append(tuple(Line(start, end) for start, end in pairwise(points)))
        x += scale * (_NARROW.get(folded, _WIDE) + _GAP)
    return tuple(chains)
