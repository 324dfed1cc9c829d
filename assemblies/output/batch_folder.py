"""The output folder of a nest: sheets, a bill of materials and a manifest, written at once or not at all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.product import Hardware, Product
from panelwright.assemblies.sheets.laid import LaidSheets
from panelwright.assemblies.sheets.request import Batch
from panelwright.assemblies.writing.replace_folder import Along

from .bom import bom_csv
from .folder import write_folder
from .manifest import manifest_of

__all__ = ["combined", "write_nest"]


def write_nest(
    batches: Sequence[Batch],
    sheets: LaidSheets,
    out: str | Path,
    *,
    files: Sequence[str] = (),
    parameters: Sequence[Mapping[str, Any]] = (),
    along: Along | None = None,
) -> list[Path]:
    """Write the sheets of some products to a folder, and return the files written; as careful as `write_product`.

    `files` are the names of the designs and `parameters` what they ran with, in the order of the batches, for the manifest.
    `along` is a change that is made if and only if the folder is written.
    """
    whole = combined(batches)

    def contents() -> Iterator[tuple[str, bytes]]:
        yield "bom.csv", bom_csv(whole, sheets.plan.sheets).encode("utf-8", "backslashreplace")
        yield from sheets.files()

    def manifest(digests: Mapping[str, str]) -> dict[str, Any]:
        made = manifest_of(whole, digests, sheets=sheets)
        entries: list[dict[str, Any]] = []
        for index, batch in enumerate(batches):
            entries.append(
                {
                    "copies": batch.copies,
                    "file": files[index] if index < len(files) else None,
                    "label": batch.label,
                    "name": batch.product.name,
                    "parameters": manifest_of(batch.product, {}, parameters=dict(parameters[index]))["parameters"]
                    if index < len(parameters)
                    else {},
                }
            )
        return {**made, "products": entries}

    return write_folder(out, contents, manifest, along=along)


def combined(batches: Sequence[Batch]) -> Product:
    """All products of a run as one, for lists: every panel and every bought part with its number over all copies.

    >>> from panelwright.assemblies.data.product import Hardware
    >>> tray = Product("tray", (), (), (), (Hardware("ISO 4762 M3 × 16", 4),), ())
    >>> [item.quantity for item in combined([Batch(tray, 3)]).hardware]
    [12]
    """
    panels: list[Panel] = []
    hardware: dict[str, Hardware] = {}
    for batch in batches:
        for panel in batch.product.panels:
            plates = tuple(batch.piece_name(plate) for plate in panel.plates) * batch.copies
            over = tuple(batch.piece_name(plate) for plate in panel.turned_over)
            panels.append(replace(panel, name=batch.piece_name(panel.name), plates=plates, turned_over=over))
        for item in batch.product.hardware:
            before = hardware.get(item.designation)
            number = item.quantity * batch.copies + (before.quantity if before is not None else 0)
            hardware[item.designation] = replace(item if before is None else before, quantity=number)
    findings = tuple(
        replace(finding, plates=tuple(batch.piece_name(plate) for plate in finding.plates))
        for batch in batches
        for finding in batch.product.findings
    )
    name = ", ".join(batch.product.name for batch in batches)
    return Product(name, (), tuple(panels), (), tuple(hardware.values()), findings)
