"""Old and new panels drawn on each other as SVG: what stays, what is added, what is taken away.

Colours are Okabe and Ito's, and never alone: what is added has a full, thick border and dots, what is removed a dashed one and
slanting lines, what stays is plain.  Shapes are drawn on chords at most `CHORD` off; the areas told are those compared.
"""

from __future__ import annotations

from typing import Any
from xml.sax.saxutils import escape, quoteattr

from panelwright.assemblies.compare.differences import PanelChange
from panelwright.assemblies.compare.told import why_words
from panelwright.assemblies.report.html_text import number
from panelwright.plates.materials.stock import OKABE_ITO
from panelwright.plates.outlines.svg_path import decimal

__all__ = ["CHORD", "is_drawn", "overlay_drawing", "overlay_svg"]

CHORD = 0.01
"""How far chords may be off a curve in the picture, mm: far below the width of a line."""

ADDED, REMOVED, KEPT = OKABE_ITO["bluish green"], OKABE_ITO["vermillion"], OKABE_ITO["sky blue"]


def is_drawn(change: PanelChange) -> bool:
    """Whether there is something to be seen: another shape, not only another kerf or stock."""
    return bool({"shape", "marks", "mirrored"} & set(change.why))


def overlay_drawing(change: PanelChange, mark: str) -> str:
    """An SVG element, with `mark` before its ids, so that several may stand on one page."""
    overlay = change.overlay
    regions = [region for region in (overlay.moved, overlay.after.region) if not region.is_empty]
    left = min(region.bounds[0] for region in regions)
    low = min(region.bounds[1] for region in regions)
    right = max(region.bounds[2] for region in regions)
    high = max(region.bounds[3] for region in regions)
    line = max(right - left, high - low) / 400.0
    edge = 4 * line
    page = (left - edge, -high - edge, right - left + 2 * edge, high - low + 2 * edge)
    dense = 8 * line
    view = " ".join(decimal(value, 3) for value in page)
    words = f"{_named(change)}: {number(change.added_mm2)} mm² added, {number(change.removed_mm2)} mm² removed"
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" role="img" aria-label={quoteattr(words)}>',
            "<defs>",
            _pattern(
                f"{mark}added", dense, 45, f'<circle cx="{_n(dense / 2)}" cy="{_n(dense / 2)}" r="{_n(1.6 * line)}"/>', ADDED
            ),
            _pattern(f"{mark}removed", dense, 45, f'<rect width="{_n(2.2 * line)}" height="{_n(dense)}"/>', REMOVED),
            "</defs>",
            _area("kept", overlay.kept, f'fill="{KEPT}" fill-opacity="0.45" stroke="#555555" stroke-width="{_n(0.6 * line)}"'),
            _area(
                "removed",
                overlay.removed,
                f'fill="url(#{mark}removed)" stroke="{REMOVED}" stroke-width="{_n(1.5 * line)}" '
                f'stroke-dasharray="{_n(5 * line)} {_n(3 * line)}"',
            ),
            _area("added", overlay.added, f'fill="url(#{mark}added)" stroke="{ADDED}" stroke-width="{_n(2.2 * line)}"'),
            "</svg>",
        ]
    )


def overlay_svg(change: PanelChange) -> bytes:
    """The picture as a file of its own, at true size in mm."""
    drawing = overlay_drawing(change, "")
    view = drawing.partition('viewBox="')[2].partition('"')[0].split()
    sized = drawing.replace("<svg ", f'<svg width="{view[2]}mm" height="{view[3]}mm" ', 1)
    head, _, rest = sized.partition("\n")
    title = f"<title>{escape(_named(change))}: {escape(why_words(change.why, change))}</title>"
    # without a page around it the picture would stand on nothing
    ground = f'<rect x="{view[0]}" y="{view[1]}" width="{view[2]}" height="{view[3]}" fill="#ffffff"/>'
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{head}\n{title}\n{ground}\n{rest}\n'.encode("utf-8", "backslashreplace")


def _named(change: PanelChange) -> str:
    before, after = change.overlay.before.name, change.overlay.after.name
    return after if before == after else f"{before} → {after}"


def _pattern(name: str, dense: float, turn: float, what: str, colour: str) -> str:
    size = _n(dense)
    return (
        f'<pattern id="{name}" width="{size}" height="{size}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({turn:g})"><rect width="{size}" height="{size}" fill="{colour}" fill-opacity="0.22"/>'
        f'<g fill="{colour}">{what}</g></pattern>'
    )


def _area(name: str, region: Any, look: str) -> str:
    pieces = [piece for piece in getattr(region, "geoms", [region]) if piece.geom_type == "Polygon" and not piece.is_empty]
    paths = [_ring(ring) for piece in pieces for ring in (piece.exterior, *piece.interiors)]
    return f'<path class="{name}" fill-rule="evenodd" d="{" ".join(paths)}" {look}/>' if paths else ""


def _ring(ring: Any) -> str:
    points = [f"{decimal(x, 3)} {decimal(-y, 3)}" for x, y in ring.simplify(CHORD).coords[:-1]]
    return f"M {' L '.join(points)} Z"


def _n(value: float) -> str:
    return decimal(value, 3)
