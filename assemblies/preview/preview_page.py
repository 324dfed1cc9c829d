"""The page of the preview: the report's own with nothing in it yet, a bar for parameters and state, a script that asks."""

from __future__ import annotations

import re

from panelwright.assemblies.report.html_text import text
from panelwright.assemblies.report.page_assets import asset
from panelwright.assemblies.report.report_page import Content, page_html

__all__ = ["shell"]

EMPTY = {"findings": [], "joints": [], "meshes": [], "name": "", "parts": [], "shared": []}


def shell(name: str) -> tuple[str, str]:
    """The page for a design file of that name, and its Content-Security-Policy, to be sent as a header too."""
    html, style, script = (_asset(f"live.{ending}") for ending in ("html", "css", "js"))
    content = Content(text(name), "", '<li><a href="#view">3D</a></li>', '<p class="hint">Nothing is built yet.</p>', "")
    page = page_html(f"{text(name)}, live", content, EMPTY, live=(html, style, script))
    found = re.search(r'http-equiv="Content-Security-Policy" content="([^"]+)"', page)
    assert found is not None  # the page's own template has it
    return page, found.group(1)


def _asset(name: str) -> str:
    return asset(__name__.rpartition(".")[0], "web", name)
