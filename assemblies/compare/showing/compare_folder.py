"""The folder of a comparison: the page, a picture of every changed panel, the summary, and the document with checksums."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from panelwright.assemblies.compare.comparison_document import comparison_document
from panelwright.assemblies.compare.differences import Comparison
from panelwright.assemblies.compare.told import markdown_of
from panelwright.assemblies.output.folder import write_folder

from .compare_page import compare_html
from .overlay_drawing import is_drawn, overlay_svg

__all__ = ["write_comparison"]


def write_comparison(found: Comparison, out: str | Path) -> list[Path]:
    """Write a comparison to a folder, whole or not at all; returns the files written, sorted.

    A folder that an earlier run wrote is replaced, any other that holds something is refused with an `OutputError`.  The same
    comparison gives the same bytes.
    """

    def contents() -> Iterator[tuple[str, bytes]]:
        yield "compare.html", compare_html(found)
        yield "summary.md", markdown_of(found).encode("utf-8", "backslashreplace")
        taken: set[str] = set()
        for change in filter(is_drawn, found.panels):
            old, new = change.overlay.before.name, change.overlay.after.name
            # one new panel may come from several old ones
            name = new if new not in taken else f"{new} from {old}"
            taken.add(name)
            yield f"overlays/{name}.svg", overlay_svg(change)

    return write_folder(out, contents, lambda digests: comparison_document(found, digests))
