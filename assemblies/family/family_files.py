"""What tells of all variants: `family.csv`, `panels.csv`, `family.json` and the page, row by row from the records."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

from panelwright.assemblies.output.bom import harmless
from panelwright.assemblies.output.manifest import versions
from panelwright.assemblies.product.json_documents import document, document_text
from panelwright.assemblies.writing.replace_file import write_file

from .folder_of_family import CSV, JSON, PAGE, PANELS
from .one_variant import Asked
from .records import Records
from .rows import Row
from .same_panels import FamilyPanel, SamePanels
from .tables.variant_table import NAME_COLUMN, table_files

__all__ = ["COLUMNS", "Bad", "Summary", "write_summary"]

COLUMNS = (
    "verdict",
    "errors",
    "warnings",
    "notes",
    "codes",
    "error",
    "plates",
    "panels",
    "shared_panels",
    "sheets",
    "use",
    "mass_kg",
    "hardware",
    "cut_s",
    "cost",
    "currency",
    "parts_id",
    "manifest_sha256",
)
"""Columns of `family.csv` behind the name and the parameters."""

NOT_MADE = "waiting"
"""Verdict of a variant that a run was stopped before."""


class Bad(NamedTuple):
    """A variant with errors: its name, what was set, and what is wrong in a few words."""

    name: str
    settings: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Summary:
    """What all variants came to: `verdicts` counts them, `panels` are the distinct ones, `bad` names those with errors.

    `written` names the variants that have a folder of their own.
    """

    count: int
    verdicts: Mapping[str, int]
    panels: tuple[FamilyPanel, ...]
    bad: tuple[Bad, ...]
    written: set[str]
    entries: dict[str, Any] = field(repr=False)


def write_summary(
    out: Path,
    asked: Asked,
    table: str,
    read: Mapping[str, Any],
    names: Sequence[str],
    records: Records,
) -> Summary:
    """Write the files that tell of all variants of these names, in their order, and give what they came to.

    The bytes depend on the variants and what they came to only: not on who made them, in which order, or when.
    """
    from .family_page import family_html

    same = SamePanels()
    own: dict[str, list[FamilyPanel]] = {}
    verdicts: Counter[str] = Counter()
    written: set[str] = set()
    bad: list[Bad] = []
    for row, name in zip(records.rows(names), names, strict=True):
        verdicts[NOT_MADE if row is None else row.verdict] += 1
        if row is None:
            continue
        own[name] = [same.add(name, shape) for shape in row.panels]
        if row.manifest:
            written.add(name)
        if row.verdict in ("errors", "failed"):
            bad.append(Bad(name, row.settings, row.error.partition("\n")[0] or ", ".join(row.codes)))
    shared = {name: sum(panel.is_shared for panel in panels) for name, panels in own.items()}
    parameters = [entry["name"] for entry in read["parameters"]]
    panels = tuple(sorted(same.found, key=lambda panel: -len(panel.serves)))
    entries = _entries(asked, table, read, len(names), verdicts, panels)
    write_file(out / CSV, _csv(parameters, names, records, shared).encode("utf-8", "backslashreplace"))
    write_file(out / PANELS, _panels_csv(panels).encode("utf-8", "backslashreplace"))
    write_file(out / PAGE, family_html(out, Path(asked.design).name, read, names, records, panels))
    # last: whoever finds it finds the others too
    write_file(out / JSON, document_text(document("panelwright.family", entries)).encode("utf-8", "backslashreplace"))
    return Summary(len(names), dict(verdicts), panels, tuple(bad), written, entries)


def _entries(
    asked: Asked,
    table: str,
    read: Mapping[str, Any],
    count: int,
    verdicts: Mapping[str, int],
    panels: Iterable[FamilyPanel],
) -> dict[str, Any]:
    return {
        "design": Path(asked.design).name,
        "is_check": asked.is_check,
        "panels": [
            {
                "name": panel.shape.name,
                "names": sorted(panel.names),
                "quantity": panel.pieces,
                "serves": list(panel.serves),
                "size_mm": list(panel.shape.size_mm),
                "stock": panel.shape.stock,
                "thickness_mm": panel.shape.thickness_mm,
                "words": panel.words(),
            }
            for panel in panels
        ],
        "parameters": [entry["name"] for entry in read["parameters"]],
        "table": table_files(table).name,
        "variants": count,
        "verdicts": dict(sorted(verdicts.items())),
        "versions": versions(),
    }


def _csv(parameters: Sequence[str], names: Sequence[str], records: Records, shared: Mapping[str, int]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    ours = {NAME_COLUMN, *COLUMNS}
    # a parameter that is called like a column of ours must not take its place
    writer.writerow([NAME_COLUMN, *(f"{name} (parameter)" if name in ours else name for name in parameters), *COLUMNS])
    for row, name in zip(records.rows(names), names, strict=True):
        if row is None:
            writer.writerow([harmless(name), *[""] * len(parameters), NOT_MADE, *[""] * (len(COLUMNS) - 1)])
        else:
            values = [_cell(row.parameters.get(parameter)) for parameter in parameters]
            writer.writerow([harmless(name), *values, *_cells(row, shared.get(name, 0))])
    return text.getvalue()


def _cells(row: Row, shared: int) -> list[str]:
    is_proven = row.verdict != "failed"
    found: list[Any] = [
        row.verdict,
        *(row.levels.get(level, 0) if is_proven else None for level in ("error", "warning", "note")),
        " ".join(f"{code}:{count}" for code, count in row.codes.items()),
        row.error,
        row.plates,
        len(row.panels) if is_proven else None,
        shared if is_proven else None,
        row.sheets,
        row.use,
        row.mass_kg,
        row.hardware,
        row.cut_s,
        row.cost,
        row.currency,
        row.parts,
        row.manifest,
    ]
    return list(map(_cell, found))


def _cell(value: Any) -> str:
    """A value as a cell: numbers as Python reads them, texts that no spreadsheet takes for a formula."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return str(value) if isinstance(value, int) else harmless(str(value))


def _panels_csv(panels: Iterable[FamilyPanel]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["panel", "stock", "thickness_mm", "width_mm", "height_mm", "pieces", "serves", "variants"])
    for panel in panels:
        shape = panel.shape
        sizes = map(_cell, (shape.thickness_mm, *shape.size_mm, panel.pieces, len(panel.serves)))
        writer.writerow([harmless(shape.name), harmless(shape.stock), *sizes, harmless("; ".join(panel.serves))])
    return text.getvalue()
