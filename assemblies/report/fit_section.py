"""The report's section on fits over real sheet: what they vary by, row by row how they come out, and what helps."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from panelwright.assemblies.variation.fit_over_sheet import FitOverSheet
from panelwright.assemblies.variation.fit_words import fit_table, fit_words

from .html_text import table, text

__all__ = ["fit_section"]

WORDS = 3
"""Columns of words before those of numbers."""


def fit_section(fits: FitOverSheet | None) -> str:
    """What `--tolerance` tells, as HTML: causes by how much they matter, the table of openings, remedies; empty without it."""
    if fits is None:
        return ""
    before, after = fit_words(fits)
    html = _paragraphs(before)
    if fits.rows:
        head, *rows = fit_table(fits)
        numeric = range(WORDS, len(head))
        html += table("Fits over real sheet", head, [[text(cell) for cell in row] for row in rows], numeric=numeric)
    return html + _paragraphs(after)


def _paragraphs(lines: Iterable[str]) -> str:
    """Lines as paragraphs, those that are set in as lists."""
    found: list[str] = []
    for is_inset, some in groupby(lines, key=lambda line: line.startswith("  ")):
        items = [text(line.strip()) for line in some]
        found.append(
            "<ul>" + "".join(f"<li>{item}</li>" for item in items) + "</ul>"
            if is_inset
            else "".join(f"<p>{item}</p>" for item in items)
        )
    return "\n".join(found)
