"""What `build`, `check`, `booklet` and `nest` print with `--json`, and every command that fails."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click
from panelwright.assemblies.product.json_documents import document

if TYPE_CHECKING:
    from panelwright.assemblies.data.product import Product
    from panelwright.assemblies.sheets.laid import LaidSheets
    from panelwright.assemblies.variation.fit_over_sheet import FitOverSheet

__all__ = ["result_document"]


def result_document(
    product: Product | None = None,
    *,
    is_fine: bool,
    out: str | None = None,
    sheets: LaidSheets | None = None,
    booked: str = "",
    error: BaseException | None = None,
    message: str = "",
    fits: FitOverSheet | None = None,
) -> dict[str, Any]:
    """A run's result: the product with its panels and findings, what was written where, or the error and its `message`.

    `sheets` add what the manifest says of them, and what was booked in the shop file, in words; `fits` how they come out over
    real sheet.

    >>> made = result_document(is_fine=False, error=ValueError("no such design"), message="no such design")
    >>> made["error"]
    {'message': 'no such design', 'plates': [], 'type': 'ValueError'}
    """
    panels: list[Any] = []
    joints: list[Any] = []
    findings: list[Any] = []
    cautions: list[str] = []
    if product is not None:
        from panelwright.assemblies.product.cautions import cautions_for
        from panelwright.assemblies.product.json_entries import finding_entry, joint_entry, panel_entry

        joints = [joint_entry(joint) for joint in product.joints]
        panels = [panel_entry(panel) for panel in product.panels]
        findings = [finding_entry(finding) for finding in product.findings]
        cautions = list(cautions_for(dict.fromkeys(panel.stock for panel in product.panels)))
    told = None
    if error is not None:
        # wrong use has one name, whatever Click's many are called
        kind = "UsageError" if isinstance(error, click.ClickException) else type(error).__name__
        told = {"message": message, "plates": list(getattr(error, "plates", ())), "type": kind}
    of_fits = {}
    if fits is not None:
        from panelwright.assemblies.variation.fit_words import fits_entry

        of_fits = {"fits": fits_entry(fits)}
    entries = {
        **of_fits,
        "cautions": cautions,
        "error": told,
        "findings": findings,
        "joints": joints,
        "ok": is_fine,
        "out": out,
        "panels": panels,
        "product": None if product is None else product.name,
        **({} if sheets is None else {**sheets.entries({}), "booked": booked}),
    }
    return document("panelwright.result", entries)
