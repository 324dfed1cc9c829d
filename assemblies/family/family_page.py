"""The family's page: one HTML file with a contact sheet, plots, the panels that variants share, and a table of all.

It asks no network for anything: pictures are inside, and a Content-Security-Policy allows its one script and its style by their
SHA-256.  Reports of variants are links to the folders beside it.
"""

from __future__ import annotations

import base64
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import quote

from panelwright.assemblies.data.verdict import counted
from panelwright.assemblies.output.folder import REPORT
from panelwright.assemblies.report.html_text import number, table, text
from panelwright.assemblies.report.page_assets import allowed, asset
from panelwright.plates.outlines.svg_path import Pen

from .family_plots import Point, plot, value_words
from .one_variant import PICTURES, VARIANTS
from .records import Records
from .rows import Row, loops_of
from .same_panels import FamilyPanel

__all__ = ["MOST_CARDS", "family_html"]

MOST_CARDS = 1000
"""Variants that are shown with a picture, a row and a point: a page of more is slow to open, and `family.csv` has them all."""

MOST_PANELS = 200
"""Shared panels that are drawn."""


class _Measure(NamedTuple):
    """A number of a row that is plotted and sorted by."""

    key: str
    name: str
    unit: str
    digits: int


def _measures(currency: str) -> tuple[_Measure, ...]:
    return (
        _Measure("cost", "cost", currency, 2),
        _Measure("cut_s", "machine time", "s", 0),
        _Measure("mass_kg", "mass", "kg", 3),
        _Measure("sheets", "sheets", "", 0),
    )


def family_html(
    out: Path, design: str, read: Mapping[str, Any], names: Sequence[str], records: Records, panels: Sequence[FamilyPanel]
) -> bytes:
    """The page of the family in a folder, UTF-8; its pictures are read there.  The same family gives the same bytes."""
    rows = [row for row in records.rows(names[:MOST_CARDS]) if row is not None]
    measures = _measures(next((row.currency for row in rows if row.currency), ""))
    known = [m for m in measures if any(getattr(row, m.key) is not None for row in rows)]
    varied = [entry["name"] for entry in read["parameters"]]
    varied = [name for name in varied if len({repr(row.parameters.get(name)) for row in rows}) > 1]
    style, script = asset("panelwright.assemblies.report", "web", "report.css") + _own("family.css"), _own("family.js")
    policy = (
        f"default-src 'none'; script-src {allowed(script)}; style-src {allowed(style)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    fields = {
        "POLICY": policy,
        "NAME": text(design),
        "HEADLINE": text(_headline(names, rows)),
        "VERDICTS": "".join(
            f'<option value="{verdict}">{verdict} ({count})</option>' for verdict, count in sorted(_verdicts(rows).items())
        ),
        "SORTS": "".join(f'<option value="{m.key}">{m.name}</option>' for m in known),
        "CARDS": "\n".join(_card(out, row, varied, known) for row in rows),
        "PLOTS": "\n".join(_plots(rows, varied, known)) or "<p>No two variants differ in what could be plotted.</p>",
        "PANELS": _panels(panels),
        "TABLE": _table(rows, varied, known),
        "STYLE": style,
        "SCRIPT": script,
    }
    # split once, so that nothing that is filled in is taken for a field itself
    pieces = _own("family.html").split("@@")
    return "".join(piece if i % 2 == 0 else fields[piece] for i, piece in enumerate(pieces)).encode("utf-8")


def _verdicts(rows: Sequence[Row]) -> Counter[str]:
    return Counter(row.verdict for row in rows)


def _headline(names: Sequence[str], rows: Sequence[Row]) -> str:
    told = ", ".join(f"{count} {verdict}" for verdict, count in sorted(_verdicts(rows).items()))
    more = f"; the first {MOST_CARDS} by name are shown, family.csv has all" if len(names) > MOST_CARDS else ""
    waiting = min(len(names), MOST_CARDS) - len(rows)
    return f"{counted(len(names), 'variant')}: {told}{f', {waiting} not made yet' if waiting else ''}{more}"


def _card(out: Path, row: Row, varied: Sequence[str], measures: Sequence[_Measure]) -> str:
    """One variant of the contact sheet; what its script sorts and filters by stands in attributes."""
    data = "".join(
        f' data-{m.key.replace("_", "-")}="{getattr(row, m.key)!r}"' for m in measures if getattr(row, m.key) is not None
    )
    picture = _picture(out, row)
    shown = f'<img src="{picture}" alt="" width="216" height="162">' if picture else '<span class="none">no picture</span>'
    inside = f"{shown}<strong>{text(row.name)}</strong>"
    if row.manifest:
        link = f"{VARIANTS}/{quote(row.name)}/{REPORT}"
        inside = f'<a href="{text(link)}">{inside}</a>'
    facts = [f"{name} {value_words(row.parameters.get(name))}" for name in varied]
    numbers = [f"{m.name} {number(getattr(row, m.key), m.digits)} {m.unit}".rstrip() for m in measures]
    what = row.error.partition("\n")[0] or ", ".join(f"{code} × {count}" for code, count in row.codes.items())
    return (
        f'<li class="variant {row.verdict}" data-name="{text(row.name)}" data-verdict="{row.verdict}"{data}>{inside}'
        f'<p class="verdict {_level(row)}">{row.verdict}{f": {text(what)}" if what else ""}</p>'
        f"<p>{text(', '.join(facts))}</p>"
        f'<p class="hint">{text(", ".join(numbers))}</p></li>'
    )


def _level(row: Row) -> str:
    return {"fine": "fine", "warnings": "warning"}.get(row.verdict, "error")


def _picture(out: Path, row: Row) -> str:
    if not row.picture:
        return ""
    try:
        data = (out / PICTURES / f"{row.name}.png").read_bytes()
    except OSError:
        return ""
    return f"data:image/png;base64,{base64.b64encode(data).decode('ascii')}"


def _plots(rows: Sequence[Row], varied: Sequence[str], measures: Sequence[_Measure]) -> Iterator[str]:
    for parameter in varied:
        figures = []
        for m in measures:
            found = ((row, getattr(row, m.key)) for row in rows)
            points = [
                Point(row.name, row.parameters.get(parameter), float(value), row.verdict)
                for row, value in found
                if value is not None
            ]
            if points:
                figures.append(plot(m.name, m.unit, parameter, points))
        if figures:
            yield f"<h3>Against {text(parameter)}</h3>\n" + '<div class="plots">\n' + "\n".join(figures) + "\n</div>"


def _panels(panels: Sequence[FamilyPanel]) -> str:
    shared = [panel for panel in panels if panel.is_shared]
    if not shared:
        return "<p>No panel serves more than one variant.</p>"
    items = []
    for panel in shared[:MOST_PANELS]:
        shape = panel.shape
        width, height = shape.size_mm
        size = f"{number(width)} × {number(height)} × {number(shape.thickness_mm)} mm, {shape.stock}"
        path = "".join(Pen(0.0, height, 2).path(loop.segments) for loop in loops_of(shape.segments))
        edge = max(width, height) / 50
        box = f"{-edge:.2f} {-edge:.2f} {width + 2 * edge:.2f} {height + 2 * edge:.2f}"
        items.append(
            f'<figure><svg viewBox="{box}" class="panel" aria-hidden="true"><path class="outer" d="{path}"/></svg>'
            f"<figcaption><strong>{text(panel.words())}</strong> {text(size)}, {counted(panel.pieces, 'piece')} in all"
            f"<details><summary>which</summary><p>{text(', '.join(panel.serves))}</p></details></figcaption></figure>"
        )
    more = f"<p>and {len(shared) - MOST_PANELS} more: panels.csv lists them all</p>" if len(shared) > MOST_PANELS else ""
    return f'<div class="panels">{"".join(items)}</div>{more}'


def _table(rows: Sequence[Row], varied: Sequence[str], measures: Sequence[_Measure]) -> str:
    heads = ["variant", *varied, "verdict", "errors", "warnings", "plates", "panels"]
    heads += [f"{m.name}{f', {m.unit}' if m.unit else ''}" for m in measures]
    cells = [
        [
            text(row.name),
            *(text(value_words(row.parameters.get(name))) for name in varied),
            row.verdict,
            number(row.levels.get("error", 0)),
            number(row.levels.get("warning", 0)),
            number(row.plates),
            number(len(row.panels)),
            *(number(getattr(row, m.key), m.digits) for m in measures),
        ]
        for row in rows
    ]
    first = len(varied) + 2
    return table("All variants", heads, cells, numeric=range(first, len(heads)))


def _own(name: str) -> str:
    return asset(__name__.rpartition(".")[0], "web", name)
