"""Text and numbers as HTML can carry them: whatever a design names its plates, it stays text."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Sequence
from html import escape
from typing import Any

__all__ = ["json_text", "number", "table", "text", "width_of"]

_UNFIT = re.compile("[^\t\n\r\x20-\x7e\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What HTML text must not hold: control characters and lone surrogates."""


def text(value: object) -> str:
    """A value as HTML text, good between quotes too.

    >>> text("</script><b title='x'>")
    '&lt;/script&gt;&lt;b title=&#x27;x&#x27;&gt;'
    """
    return escape(_UNFIT.sub("\N{REPLACEMENT CHARACTER}", str(value)), quote=True)


def json_text(value: Any) -> str:
    """A value as JSON for a script element, in ASCII: nothing in it can end the element or open a comment.

    >>> json_text({"name": "</script><!--"})
    '{"name":"\\\\u003c/script\\\\u003e\\\\u003c!--"}'
    """
    plain = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"), sort_keys=True)
    for char in "<>&":  # in JSON these occur in strings only
        plain = plain.replace(char, f"\\u{ord(char):04x}")
    return plain


def number(value: float | None, digits: int = 2) -> str:
    """A number with up to so many decimals, without trailing zeros; a dash for one that nobody knows.

    >>> number(12.5), number(None), number(-0.001)
    ('12.5', '–', '0')
    """
    if value is None:
        return "–"
    shown = f"{value:.{digits}f}"
    shown = shown.rstrip("0").rstrip(".") if "." in shown else shown
    return "0" if shown == "-0" else shown


def width_of(words: str, size: float) -> float:
    """How wide words are at most in a sans-serif face of that size, in its unit; which face a browser takes is not known.

    Advances as shares of the size: 0.6 for small letters and digits, 0.9 for capitals and the like, 1 for East Asian ones.

    >>> round(width_of("keep 130", 10.0), 6), round(width_of("MW", 10.0), 6), width_of("", 10.0)
    (48.0, 18.0, 0.0)
    """
    return size * sum(_advance(char) for char in words)


def _advance(char: str) -> float:
    if unicodedata.east_asian_width(char) in "WF":
        return 1.0
    return 0.6 if char.isdigit() or char in " .,:;-/×'" or (char.islower() and char not in "mw") else 0.9


def table(caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], *, numeric: Sequence[int] = ()) -> str:
    """An HTML table of cells that are HTML already; `numeric` columns are set flush right, the first column heads its row."""
    marks = [' class="num"' if column in numeric else "" for column in range(len(heads))]
    head = "".join(f'<th scope="col"{mark}>{text(word)}</th>' for word, mark in zip(heads, marks, strict=True))
    lines = [
        f'<div class="scroll" tabindex="0" role="group" aria-label="{text(caption)}">',
        f'<table><caption class="unseen">{text(caption)}</caption>',
        f"<thead><tr>{head}</tr></thead>",
        "<tbody>",
    ]
    for first, *others in rows:
        cells = "".join(f"<td{mark}>{cell}</td>" for cell, mark in zip(others, marks[1:], strict=True))
        lines.append(f'<tr><th scope="row"{marks[0]}>{first}</th>{cells}</tr>')
    return "\n".join([*lines, "</tbody></table></div>"])
