"""What is printed with: a canvas in millimetres, its type and its colours.

All places are in mm from the lower left corner of the page.  The same calls give the same bytes: no clock, no random ids; the
date is that of SOURCE_DATE_EPOCH.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from panelwright.assemblies.files.pdf import POINT_MM, path_of
from panelwright.plates.errors import SelectionError
from panelwright.plates.geometry.curves import Point, Segment
from panelwright.plates.materials.stock import OKABE_ITO

__all__ = ["ACCENT", "BLACK", "FAINT", "GREY", "LETTER", "WARN", "WHITE", "Paper", "Press", "paper_of", "printable"]

BLACK, WHITE, GREY, FAINT = "#000000", "#FFFFFF", "#595959", "#D9D9D9"
"""Ink, paper, and the greys of small print and of rules."""

ACCENT, WARN = OKABE_ITO["blue"], OKABE_ITO["vermillion"]
"""Headings and arrows; what is new or needs care."""

PLAIN, BOLD = "Helvetica", "Helvetica-Bold"

MARGIN = 15.0
"""Empty border at the left and right, mm."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright, in mm."""

    name: str
    width: float
    height: float

    @property
    def text_width(self) -> float:
        """Width between the margins."""
        return self.width - 2 * MARGIN


LETTER = Paper("letter", 215.9, 279.4)
_PAPERS = {"a4": Paper("A4", 210.0, 297.0), "letter": LETTER}


def paper_of(name: str) -> Paper:
    """The paper of that name: A4 (ISO 216) or letter (ANSI/ASME Y14.1, 8.5 × 11 in).

    >>> paper_of("A4").height, paper_of("Letter").text_width
    (297.0, 185.9)
    >>> paper_of("A5")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SelectionError: paper 'A5' is not known; give A4 or letter
    """
    found = _PAPERS.get(name.casefold())
    if found is None:
        known = tuple(paper.name for paper in _PAPERS.values())
        raise SelectionError(f"paper {name!r} is not known; give {' or '.join(known)}", value=name, limit=known)
    return found


def printable(text: str) -> str:
    r"""Text in the characters that the booklet's type has (Windows-1252); others are told by their number.

    >>> printable("M3 × 12"), printable("Я")
    ('M3 × 12', '\\u042f')
    """
    return text.encode("cp1252", "backslashreplace").decode("cp1252")


class Press:
    """One document in the making."""

    def __init__(self, paper: Paper, title: str) -> None:
        from reportlab.pdfgen.canvas import Canvas

        self.paper = paper
        self._data = io.BytesIO()
        size = (paper.width / POINT_MM, paper.height / POINT_MM)
        # invariant: no time stamp of now and no random id
        self.canvas: Any = Canvas(self._data, pagesize=size, invariant=1, pageCompression=1)
        self.canvas.setTitle(printable(title))
        self.canvas.setAuthor("")
        self.canvas.setLineJoin(1)
        self.canvas.setLineCap(1)

    def finished(self) -> bytes:
        """The file."""
        self.canvas.save()
        return self._data.getvalue()

    def end_page(self) -> None:
        """Go on to the next page."""
        self.canvas.showPage()
        self.canvas.setLineJoin(1)
        self.canvas.setLineCap(1)

    def text(
        self, x: float, y: float, words: str, *, size: float = 10, bold: bool = False, color: str = BLACK, align: str = "left"
    ) -> None:
        """One line with its base line at y; `size` in points, `align` "left", "middle" or "right" of x."""
        self.canvas.setFillColor(color)
        self.canvas.setFont(BOLD if bold else PLAIN, size)
        put = {"left": "drawString", "middle": "drawCentredString", "right": "drawRightString"}[align]
        getattr(self.canvas, put)(x / POINT_MM, y / POINT_MM, printable(words))

    def paragraph(
        self,
        x: float,
        y: float,
        words: str,
        width: float,
        *,
        size: float = 10,
        bold: bool = False,
        color: str = BLACK,
        most: int | None = None,
    ) -> float:
        """Lines no wider than `width` from the base line y downwards; gives the next base line.

        Of more than `most` lines the last one drawn ends in an ellipsis.
        """
        lines = self.lines(words, width, size=size, bold=bold)
        if most is not None and len(lines) > most:
            lines = [*lines[: most - 1], f"{lines[most - 1][:-2]}…"]
        for line in lines:
            self.text(x, y, line, size=size, bold=bold, color=color)
            y -= leading(size)
        return y

    def lines(self, words: str, width: float, *, size: float = 10, bold: bool = False) -> list[str]:
        """The words broken into lines; a word that is wider than a line is broken itself."""
        found: list[str] = []
        line = ""
        for word in printable(words).split():
            tried = f"{line} {word}".strip()
            if not line or self.width_of(tried, size=size, bold=bold) <= width:
                line = tried
            else:
                found.append(line)
                line = word
            while self.width_of(line, size=size, bold=bold) > width and len(line) > 1:
                lengths = range(len(line) - 1, 0, -1)
                fits = next((n for n in lengths if self.width_of(line[:n], size=size, bold=bold) <= width), 1)
                found.append(line[:fits])
                line = line[fits:]
        return [*found, line] if line else found

    def width_of(self, words: str, *, size: float = 10, bold: bool = False) -> float:
        """Width of a line in mm."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        return float(stringWidth(printable(words), BOLD if bold else PLAIN, size)) * POINT_MM

    def box(self, x: float, y: float, width: float, height: float, *, fill: str | None = None, line: str | None = None) -> None:
        """A rectangle from its lower left corner."""
        if fill is not None:
            self.canvas.setFillColor(fill)
        if line is not None:
            self.canvas.setStrokeColor(line)
            self.canvas.setLineWidth(0.25 / POINT_MM)
        corner = (x / POINT_MM, y / POINT_MM, width / POINT_MM, height / POINT_MM)
        self.canvas.rect(*corner, stroke=int(line is not None), fill=int(fill is not None))

    def line(self, start: Point, end: Point, *, color: str = BLACK, width: float = 0.2, dash: float | None = None) -> None:
        """A straight line, `width` mm wide."""
        self.canvas.setStrokeColor(color)
        self.canvas.setLineWidth(width / POINT_MM)
        if dash is not None:
            self.canvas.setDash(dash / POINT_MM)
        self.canvas.line(*(value / POINT_MM for value in (*start, *end)))
        self.canvas.setDash()

    def badge(self, x: float, y: float, words: str, *, radius: float = 4.0, color: str = ACCENT, size: float = 12) -> None:
        """A filled disc with a number or letter in it, its middle at (x, y)."""
        self.canvas.setFillColor(color)
        self.canvas.circle(x / POINT_MM, y / POINT_MM, radius / POINT_MM, stroke=0, fill=1)
        self.text(x, y - 0.35 * size * POINT_MM, words, size=size, bold=True, color=WHITE, align="middle")

    def chain(self, chain: Sequence[Segment], corner: Point, *, color: str = BLACK, width: float = 0.2) -> None:
        """Segments at true size, `corner` of their own coordinates at the page's."""
        self.canvas.setStrokeColor(color)
        self.canvas.setLineWidth(width / POINT_MM)
        self.canvas.drawPath(path_of(self.canvas, chain, corner), stroke=1, fill=0)


def leading(size: float) -> float:
    """Distance of base lines in mm for type of a size in points."""
    return 1.35 * size * POINT_MM
