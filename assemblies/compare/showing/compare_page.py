"""The page of a comparison: one HTML file with its pictures and styles inside, without scripts, which asks no network.

A Content-Security-Policy in the page allows its one style sheet by its SHA-256, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator

from panelwright.assemblies.compare.differences import Comparison, PanelChange
from panelwright.assemblies.compare.told import Rows, opening_words, told, verdict_of, why_words
from panelwright.assemblies.report.html_text import number, table, text
from panelwright.assemblies.report.page_assets import allowed, asset

from .overlay_drawing import ADDED, KEPT, REMOVED, is_drawn, overlay_drawing

__all__ = ["compare_html"]

LEGEND = (
    ("kept", "stays", f'<rect width="34" height="12" fill="{KEPT}" fill-opacity="0.45" stroke="#555555"/>'),
    (
        "added",
        "added",
        f'<rect width="34" height="12" fill="{ADDED}" fill-opacity="0.22" stroke="{ADDED}" stroke-width="3"/>'
        f'<g fill="{ADDED}"><circle cx="8" cy="6" r="2"/><circle cx="17" cy="6" r="2"/><circle cx="26" cy="6" r="2"/></g>',
    ),
    (
        "removed",
        "removed",
        f'<rect width="34" height="12" fill="{REMOVED}" fill-opacity="0.22" stroke="{REMOVED}" stroke-width="2" '
        f'stroke-dasharray="5 3"/><path d="M6 12 18 0M18 12 30 0" stroke="{REMOVED}" stroke-width="2.5"/>',
    ),
)


def compare_html(found: Comparison) -> bytes:
    """The page: the verdict, plates, changed panels drawn on each other, the work, joints, numbers and findings."""
    style = asset(__name__.rpartition(".")[0], "compare.css")
    policy = f"default-src 'none'; style-src {allowed(style)}; base-uri 'none'; form-action 'none'"
    counts = ", ".join(f"{count} {what}" for what, count in found.counts.items() if count)
    title = f"{text(found.after.name)}: what changed"
    lines = [
        "<!doctype html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{title}</title>",
        f"<style>{style}</style>",
        "</head>",
        "<body>",
        "<header>",
        f"<h1>{title}</h1>",
        f"<p><b>{text(found.before.label)}</b> → <b>{text(found.after.label)}</b></p>",
        "</header>",
        "<main>",
        f'<p class="verdict {"cut" if found.must_cut else "keep"}">{text(verdict_of(found))}</p>',
        f"<p>Plates: {text(counts or 'none')}.</p>",
        *_sections(found),
        "</main>",
        "</body>",
        "</html>",
    ]
    return ("\n".join(lines) + "\n").encode("utf-8")


def _sections(found: Comparison) -> Iterator[str]:
    """What the terminal is told, in sections, with the drawings after the plates."""
    loose: list[str] = []
    has_drawn = False
    for part in told(found)[3:-2]:
        if isinstance(part, str):
            loose += [f"<p>{text(part)}</p>"] if part else []
            continue
        if loose:
            yield "\n".join(loose)
            loose = []
        if part.title != "Plates" and not has_drawn:
            has_drawn = True
            yield from _drawings(found)
        yield _section(
            part.title, table(part.title, _heads(part), [[text(cell) for cell in row] for row in part.rows], numeric=part.right)
        )
    if loose:
        yield _section("Findings and what is left", "\n".join(loose))


def _heads(rows: Rows) -> tuple[str, ...]:
    return tuple(head or "what" for head in rows.head)


def _section(title: str, html: str) -> str:
    name = title.lower().replace(" ", "-")
    return f'<section aria-labelledby="{name}">\n<h2 id="{name}">{text(title)}</h2>\n{html}\n</section>'


def _drawings(found: Comparison) -> Iterator[str]:
    drawn = list(filter(is_drawn, found.panels))
    if not drawn:
        return
    legend = "".join(
        f'<li><svg class="key" viewBox="-2 -2 38 16" aria-hidden="true">{key}</svg>{word}</li>' for _, word, key in LEGEND
    )
    figures = "\n".join(_figure(change, number) for number, change in enumerate(drawn, 1))
    yield _section("Changed panels", f'<ul class="legend">{legend}</ul>\n<div class="panels">\n{figures}\n</div>')


def _figure(change: PanelChange, which: int) -> str:
    before, after = change.overlay.before.name, change.overlay.after.name
    name = text(after if before == after else f"{before} → {after}")
    openings = "".join(f"<li>{text(opening_words(opening))}</li>" for opening in change.openings)
    listed = f"<details><summary>Openings that changed: {len(change.openings)}</summary><ul>{openings}</ul></details>"
    plates = f"for {', '.join(map(text, change.plates))}" if change.plates != (after,) else ""
    return (
        f"<figure>\n{overlay_drawing(change, f'p{which}-')}\n<figcaption><b>{name}</b> {plates}<br>"
        f"{text(why_words(change.why, change))}<br>"
        f"{number(change.added_mm2)} mm² added, {number(change.removed_mm2)} mm² removed</figcaption>\n"
        f"{listed if openings else ''}</figure>"
    )
