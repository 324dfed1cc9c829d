"""The page itself: one HTML file with its styles, scripts and data inside, which asks no network for anything.

A Content-Security-Policy in the page allows the two scripts and the one style sheet by their SHA-256 and nothing else, so that
a name in a design can never run.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from panelwright.assemblies.data.product import Product
from panelwright.assemblies.data.verdict import LEVELS, tally
from panelwright.assemblies.sheets.laid import LaidSheets
from panelwright.assemblies.variation.fit_over_sheet import FitOverSheet

from .html_text import json_text, text
from .page_assets import allowed, asset
from .scene import scene_of
from .sections import findings_list, headline, sections

__all__ = ["Content", "content_of", "page_html", "report_html"]

_SCRIPTS = ("kit", "stage", "look", "marks", "plates", "findings", "panels", "sheets", "start")
"""The page's own scripts, in the order in which they need each other."""


def report_html(
    product: Product,
    manifest: Mapping[str, Any],
    *,
    sheets: LaidSheets | None = None,
    files: Sequence[str] = (),
    fits: FitOverSheet | None = None,
) -> bytes:
    """The report of a product as HTML, UTF-8; `manifest` is what `manifest_of` says of the same product.

    `sheets` are its panels as laid out, `files` what stands beside the page, by paths in its folder, `fits` how its fits come
    out over real sheet.

    The same arguments give the same bytes.  Raises `KernelError` if a solid cannot be shown.
    """
    content = content_of(product, manifest, sheets=sheets, files=files, fits=fits)
    return page_html(text(product.name), content, scene_of(product)).encode("utf-8")


@dataclass(frozen=True, slots=True)
class Content:
    """What the page says of a product, as HTML: its name and one line, links to the sections, findings, and the sections."""

    title: str
    headline: str
    links: str
    findings: str
    sections: str


def content_of(
    product: Product,
    manifest: Mapping[str, Any],
    *,
    sheets: LaidSheets | None = None,
    files: Sequence[str] = (),
    fits: FitOverSheet | None = None,
) -> Content:
    """All that the page says of a product, without the 3D view."""
    listed = sections(product, manifest, sheets, files, fits)
    links = "".join(f'<li><a href="#{name}">{text(head)}</a></li>' for name, head, _ in listed)
    below = "\n".join(
        f'<section id="{name}" aria-labelledby="{name}-head">\n<h2 id="{name}-head">{text(head)}</h2>\n{html}\n</section>'
        for name, head, html in listed
    )
    return Content(
        text(product.name),
        f"{text(headline(product))} {_verdict(product)}",
        f'<li><a href="#view">3D</a></li>{links}',
        findings_list(product),
        below,
    )


def page_html(name: str, content: Content, scene: Mapping[str, Any], *, live: tuple[str, str, str] | None = None) -> str:
    """The page with its styles, scripts and data inside.

    `live` adds HTML before the view, styles and a script for a page that a server keeps up to date; only such a page may ask
    for anything, and only of that server.
    """
    before, more_style, more_script = live or ("", "", "")
    style, vendor, script = _asset("web/report.css") + more_style, _asset("vendor/three.bundle.js"), _script() + more_script
    policy = (
        f"default-src 'none'; script-src {allowed(vendor)} {allowed(script)}; style-src {allowed(style)}; img-src data:; "
        "base-uri 'none'; form-action 'none'" + ("; connect-src 'self'" if live else "")
    )
    fields = {
        "POLICY": policy,
        "NAME": name,
        "HEADLINE": content.headline,
        "LINKS": content.links,
        "BEFORE": before,
        "FINDINGS": content.findings,
        "SECTIONS": content.sections,
        "STYLE": style,
        "DATA": json_text(scene),
        "VENDOR": vendor,
        "SCRIPT": script,
    }
    # split once, so that nothing that is filled in is taken for a field itself
    pieces = _asset("web/report.html").split("@@")
    filled = [piece if i % 2 == 0 else fields[piece] for i, piece in enumerate(pieces)]
    return "".join(filled)


def _verdict(product: Product) -> str:
    if not product.findings:
        return '<a class="verdict fine" href="#found-card">proof: nothing found</a>'
    worst = min((finding.level for finding in product.findings), key=LEVELS.index)
    return f'<a class="verdict {worst}" href="#found-card">proof: {text(tally(product.findings))}</a>'


def _asset(path: str) -> str:
    return asset(__name__.rpartition(".")[0], path)


def _script() -> str:
    return "\n".join(_asset(f"web/{name}.js") for name in _SCRIPTS)
