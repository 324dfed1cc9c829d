"""The frame of every JSON document that the toolkit writes or prints: which kind it is, in which version, and its one spelling.

`output.schema.json` beside this module describes all kinds (JSON Schema, draft 2020-12).  Its words hold everywhere:

- Keys are in small letters with their unit behind them: `_mm`, `_deg`, `_kg`, `_s`.
- `thickness_mm` is the thickness that was reckoned with, `nominal_thickness_mm` the one that the sheet is sold by.
- `clearance_mm` is an opening less what goes in.
- `stock` is a stock's name, or its material where it has none.
- A finding is the same object wherever it stands.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

__all__ = ["KINDS", "document", "document_text", "is_manifest", "lists_files", "output_schema"]

KINDS = {
    "panelwright.manifest": 1,
    "panelwright.result": 1,
    "panelwright.picture": 1,
    "panelwright.stocks": 1,
    "panelwright.coupon": 1,
    "panelwright.calibration": 1,
    "panelwright.codes": 1,
    "panelwright.comparison": 1,
    "panelwright.family": 1,
    "panelwright.verification": 1,
    "panelwright.project": 1,
}
"""Kinds of documents with the version of each, which counts up when a key goes or changes its meaning."""


def document(kind: str, entries: Mapping[str, Any]) -> dict[str, Any]:
    """A document: what it is, and its entries.

    >>> document("panelwright.codes", {"ok": True})["schema"]
    {'name': 'panelwright.codes', 'version': 1}
    """
    return {"schema": {"name": kind, "version": KINDS[kind]}, **entries}


def document_text(made: Mapping[str, Any]) -> str:
    """A document as text: keys sorted, two spaces a level, a newline at the end."""
    return json.dumps(made, ensure_ascii=False, allow_nan=False, indent=2, sort_keys=True) + "\n"


def is_manifest(found: object) -> bool:
    """Whether this is a manifest of ours, of whichever version: those before 1 state none, and called their panels plates.

    >>> is_manifest(document("panelwright.manifest", {})), is_manifest({"versions": {"panelwright": "0.1.0"}, "plates": []})
    (True, True)
    >>> is_manifest({"name": "somebody else's"})
    False
    """
    if not isinstance(found, dict):
        return False
    schema, known = found.get("schema"), found.get("versions")
    if isinstance(schema, dict):
        return schema.get("name") == "panelwright.manifest"
    return isinstance(found.get("plates"), list) and isinstance(known, dict) and "panelwright" in known


def lists_files(found: object) -> bool:
    """Whether this is what tells in a folder of ours which files are ours: a manifest, or a comparison written to a folder.

    >>> lists_files(document("panelwright.comparison", {})), lists_files(document("panelwright.codes", {}))
    (True, False)
    """
    schema = found.get("schema") if isinstance(found, dict) else None
    return is_manifest(found) or (isinstance(schema, dict) and schema.get("name") == "panelwright.comparison")


def output_schema() -> dict[str, Any]:
    """The JSON Schema of all documents."""
    from importlib.resources import files

    text = files("panelwright.assemblies.product").joinpath("output.schema.json").read_text(encoding="utf-8")
    return dict(json.loads(text))
