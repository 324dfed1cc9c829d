"""The sections of the report that are text: findings, panels, lists.  Each is HTML, or nothing where there is no data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.data.verdict import counted
from panelwright.assemblies.product.json_entries import stock_entry, stock_name
from panelwright.assemblies.sheets.laid import LaidSheets
from panelwright.assemblies.variation.fit_over_sheet import FitOverSheet

from .drawing import LEGEND, openings_of, panel_drawing, width_for
from .fit_section import fit_section
from .html_text import number, table, text
from .played_sheets import cost_section, sheets_section

__all__ = ["findings_list", "headline", "sections"]

_LEVELS = {"error": "Error", "warning": "Warning", "note": "Note"}

_MANY = 40
"""From so many panels on, browsers may leave out what is not on the screen."""

_MOST_PLACES = 12
"""Places of openings of one size that are written out; more are counted only."""


def headline(product: Product) -> str:
    """One line under the name: what the product is made of."""
    words = [counted(len(product.parts), "plate"), counted(len(product.panels), "distinct panel")]
    words.append(counted(len(product.joints), "joint"))
    if product.bought:
        words.append(f"{len(product.bought)} screws and nuts")
    return " · ".join(words)


def findings_list(product: Product) -> str:
    """What the proof found, each with a button that shows it in the 3D view."""
    if not product.findings:
        return '<p class="fine">The proof found nothing wrong.</p>'
    rows = ['<ol class="findings">']
    for i, finding in enumerate(product.findings):
        where = "Show its place" if finding.place is not None else "Show its plates"
        shows = finding.plates or finding.place is not None
        rows.append(
            f'<li class="{finding.level}">'
            f'<button type="button" data-finding="{i}"{"" if shows else " disabled"} title="{where}">'
            f'<span class="level">{_LEVELS[finding.level]}</span> <code>{text(finding.code)}</code> '
            f"<span>{text(finding.text)}</span></button></li>"
        )
    return "\n".join([*rows, "</ol>"])


def sections(
    product: Product,
    manifest: Mapping[str, Any],
    sheets: LaidSheets | None = None,
    files: Sequence[str] = (),
    fits: FitOverSheet | None = None,
) -> list[tuple[str, str, str]]:
    """All sections below the 3D view: an id, a heading and HTML; `manifest` is the product's own."""
    found = [
        ("panels", "Panels", _panels(product)),
        ("sheets", "Sheets", sheets_section(sheets)),
        ("parts", "Parts", _parts(product)),
        ("hardware", "Hardware", _hardware(product)),
        ("cost", "Cost", cost_section(sheets)),
        ("joints", "Joints", _joints(product)),
        ("fits", "Fits over real sheet", fit_section(fits)),
        ("stocks", "Stock", _stocks(product)),
        ("parameters", "Parameters", _parameters(manifest)),
        ("files", "Files", _files(files)),
        ("cautions", "Cautions", "".join(f"<li>{text(line)}</li>" for line in manifest["cautions"])),
        ("versions", "Made with", _versions(manifest)),
    ]
    return [(name, head, f"<ul>{html}</ul>" if name == "cautions" else html) for name, head, html in found if html]


def _panels(product: Product) -> str:
    if not product.panels:
        return ""
    legend = "".join(
        '<li><svg viewBox="0 0 34 8" class="key" aria-hidden="true">'
        f'<g class="{kind}"><path d="M1 4H33"/></g></svg>{words}</li>'
        for kind, words in LEGEND
        if _draws(product, kind)
    )
    wide = width_for(product.panels)
    figures = "\n".join(_figure(i, panel, wide) for i, panel in enumerate(product.panels))
    return (
        f'<ul class="legend" aria-label="Lines">{legend}</ul>\n'
        "<p>Finished sizes in mm, seen from the show face, all drawn to one scale.  The cut paths in <code>panels/</code> run "
        "half a kerf beside them, in the waste.</p>\n"
        f'<div class="panels{" many" if len(product.panels) > _MANY else ""}">\n{figures}\n</div>'
    )


def _draws(product: Product, kind: str) -> bool:
    if kind == "stroke":
        return any(panel.strokes for panel in product.panels)
    if kind == "mark":
        return any(panel.marks for panel in product.panels)
    return kind == "outer" or any(loop.area < 0 for panel in product.panels for loop in panel.loops)


def _figure(index: int, panel: Panel, wide: float) -> str:
    notes = [f"{panel.quantity} × {stock_name(panel.stock)}, {number(panel.stock.t)} mm"]
    if panel.plates != (panel.name,):
        notes.append("for " + ", ".join(panel.plates))
    if panel.turned_over:
        notes.append("turn over for " + ", ".join(panel.turned_over))
    if panel.members:
        notes.append("cut flat, then bent")
    return (
        f'<figure id="panel-{index}">\n<button type="button" class="drawing" data-panel="{index}" '
        f'aria-label="Enlarge {text(panel.name)}">\n{panel_drawing(panel, wide)}\n</button>\n'
        f"<figcaption><strong>{text(panel.name)}</strong> {text('; '.join(notes))}{_openings(panel)}</figcaption></figure>"
    )


def _openings(panel: Panel) -> str:
    groups = openings_of(panel)
    if not groups:
        return ""
    rows: list[str] = []
    for size, count, spots in groups:
        shown = ", ".join(f"({number(x)}, {number(y)})" for x, y in spots[:_MOST_PLACES])
        more = f" and {len(spots) - _MOST_PLACES} more" if len(spots) > _MOST_PLACES else ""
        at = f" at {shown}{more}" if shown else ""
        rows.append(f"<li>{count} × <b>{text(size)}</b>{at}</li>")
    total = counted(sum(count for _, count, _ in groups), "opening")
    return f"<details><summary>{total}, middles from the lower left corner</summary><ul>{''.join(rows)}</ul></details>"


def _parts(product: Product) -> str:
    rows: list[list[str]] = []
    for panel in product.panels:
        width, height = panel.bbox_mm
        total = None if panel.mass_kg is None else 1000 * panel.mass_kg * panel.quantity
        notes = ", ".join(panel.plates) if panel.plates != (panel.name,) else ""
        size = f"{number(width)} × {number(height)} × {number(panel.stock.t)}"
        rows.append(
            [text(panel.name), str(panel.quantity), text(stock_name(panel.stock)), size, number(panel.area_mm2 / 100, 1)]
        )
        rows[-1] += [number(total, 0), text(notes)]
    if not rows:
        return ""
    heads = ("Panel", "Pieces", "Stock", "Size, mm", "Area of one, cm²", "Mass of all, g", "Plates")
    return table("Panels to cut", heads, rows, numeric=(1, 3, 4, 5))


def _hardware(product: Product) -> str:
    rows = [
        [
            text(item.designation),
            str(item.quantity),
            number(None if item.mass_kg is None else 1000 * item.mass_kg * item.quantity, 1),
            text(item.note),
        ]
        for item in product.hardware
    ]
    return table("Parts to buy", ("Designation", "Pieces", "Mass of all, g", "Note"), rows, numeric=(1, 2)) if rows else ""


def _joints(product: Product) -> str:
    rows: list[list[str]] = []
    for joint in product.joints:
        fits = [gap.clearance_mm for gap in joint.gaps]
        measured = "–"
        if fits:
            low, high = number(min(fits), 3), number(max(fits), 3)
            measured = low if low == high else f"{low} to {high}"
        rows.append(
            [
                text(joint.words.name),
                text(joint.plates[0]),
                text(joint.plates[1]),
                number(joint.clearance_mm, 3),
                measured,
                str(len(fits)) if fits else "–",
            ]
        )
    heads = ("Joint", "First plate", "Second plate", "Clearance, mm", "Measured, mm", "Fits measured")
    return table("Joints", heads, rows, numeric=(3, 4, 5)) if rows else ""


def _stocks(product: Product) -> str:
    rows: list[list[str]] = []
    for stock in dict.fromkeys(panel.stock for panel in product.panels):
        sources = stock_entry(stock)["sources"]
        said = "; ".join(f"{key}: {value}" for key, value in sources.items()) or "stated in the design"
        rows.append(
            [
                f"{text(stock_name(stock))}{f' ({text(stock.material)})' if stock.name else ''}",
                f"{number(stock.t, 3)}{'' if stock.measured is not None else ' nominal'}",
                number(stock.kerf, 3),
                number(stock.clearance, 3),
                "stated in the design" if stock.is_stated else "yes" if stock.is_calibrated else "no",
                text(said),
            ]
        )
    heads = ("Stock", "Thickness, mm", "Kerf, mm", "Clearance, mm", "Calibrated", "Numbers come from")
    return table("Stock", heads, rows, numeric=(1, 2, 3)) if rows else ""


def _parameters(manifest: Mapping[str, Any]) -> str:
    rows = [[text(name), text(_shown(value))] for name, value in manifest["parameters"].items()]
    return table("Parameters", ("Parameter", "Value"), rows) if rows else ""


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return ", ".join(_shown(one) for one in value)
    return "none" if value is None else f"{value:.12g}" if isinstance(value, float) else str(value)


def _files(files: Sequence[str]) -> str:
    """Links to what stands beside the page, by folder."""
    folders: dict[str, list[str]] = {}
    for path in files:
        folders.setdefault(path.rpartition("/")[0], []).append(path)
    items = "".join(f"<li>{' '.join(_link(path) for path in some)}</li>" for some in folders.values())
    return f'<ul class="files">{items}</ul>' if items else ""


def _link(path: str) -> str:
    return f'<a href="{text(quote(path))}" download>{text(path.rpartition("/")[2])}</a>'


def _versions(manifest: Mapping[str, Any]) -> str:
    rows = [[text(name), text(version)] for name, version in sorted(manifest["versions"].items())]
    file = manifest["design"]["file"]
    if file is not None:
        rows.insert(0, ["design file", text(file)])
    return table("Versions", ("What", "Version"), rows)
