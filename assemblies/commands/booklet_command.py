"""The command `panelwright booklet`: what its options mean, and writing its file."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

from panelwright.assemblies.data.product import Product
from panelwright.assemblies.paper.press import paper_of
from panelwright.assemblies.writing.single_files import check_file, write_files

__all__ = ["check_booklet", "write_booklet"]


def check_booklet(chosen: argparse.Namespace) -> None:
    """Refuse a paper that is not known (`SelectionError`) or a file that cannot be written (`OutputError`)."""
    paper_of(chosen.paper)
    check_file(chosen.out, (".pdf",))


def write_booklet(product: Product, chosen: argparse.Namespace, parameters: Mapping[str, Any], summary: str) -> None:
    """Make the booklet and put it in place, whole or not at all."""
    from panelwright.assemblies.booklet.booklet import booklet_pdf

    data = booklet_pdf(
        product,
        paper_of(chosen.paper),
        summary=summary,
        parameters=parameters,
        templates=not chosen.no_templates,
    )
    write_files([(check_file(chosen.out, (".pdf",)), data)])
