"""The manifest of an output folder: what was built from what, with which numbers, and what the proof found."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.product.cautions import cautions_for
from panelwright.assemblies.product.json_documents import document, is_manifest, lists_files
from panelwright.assemblies.product.json_entries import finding_entry, joint_entry, panel_entry, plain, plan_entry, stock_entry
from panelwright.assemblies.product.shape_entries import outline_entry, standing_entries
from panelwright.plates.errors import OutputError

if TYPE_CHECKING:
    from panelwright.assemblies.sheets.laid import LaidSheets

__all__ = ["files_of", "manifest_of", "read_manifest", "versions"]

DISTRIBUTIONS = {
    "panelwright": ("panelwright",),
    "cadquery": ("cadquery",),
    "cadquery-ocp": ("cadquery-ocp", "cadquery-ocp-novtk"),
    "ezdxf": ("ezdxf",),
}
"""What the output depends on, and the packages that may have brought it."""


def versions() -> dict[str, str]:
    """Versions of the toolkit and of what it stands on; "unknown" for what was not installed as a package."""
    found = {name: _first_version(packages) for name, packages in DISTRIBUTIONS.items()}
    found["python"] = f"{sys.version_info.major}.{sys.version_info.minor}"
    return found


def _first_version(packages: tuple[str, ...]) -> str:
    for package in packages:
        try:
            return version(package)
        except PackageNotFoundError:
            continue
    return "unknown"


def manifest_of(
    product: Product,
    digests: Mapping[str, str],
    *,
    file: str | None = None,
    parameters: Mapping[str, Any] | None = None,
    sources: Mapping[str, str] | None = None,
    sheets: LaidSheets | None = None,
) -> dict[str, Any]:
    """The manifest of a product.

    `digests` gives the SHA-256 of every file written, by its path relative to the folder with "/"; `file` is the name of the
    design file without its folder, None for an assembly made by other code; `parameters` are the values that the design ran
    with, `sources` the SHA-256 of the design and of what it imports from its own folder; `sheets` are its panels as laid out on
    sheets, if they are.  Lengths in mm, areas in mm², masses in kg, all rounded to
    1e-6 and parameters exact.
    """
    stocks = list(dict.fromkeys(panel.stock for panel in product.panels))
    entries = {
        "cautions": cautions_for(stocks),
        "checks": [finding_entry(finding) for finding in product.findings],
        "design": {"file": file, "name": product.name},
        "files": dict(digests),
        "hardware": [
            {"designation": item.designation, "mass_kg": plain(item.mass_kg), "note": item.note, "quantity": item.quantity}
            for item in product.hardware
        ],
        "joints": [joint_entry(joint) for joint in product.joints],
        "outlines": [outline_entry(panel) for panel in product.panels],
        "parameters": {name: plain(value, digits=None) for name, value in (parameters or {}).items()},
        "panels": [{**panel_entry(panel), "files": _panel_files(panel, digests)} for panel in product.panels],
        "standing": standing_entries(product),
        "stocks": [stock_entry(stock) for stock in stocks],
        "units": "mm",
        "versions": versions(),
        # products laid out together have none as a whole
        **({"order": plan_entry(product.plan)} if product.plan.steps else {}),
        **({"sources": dict(sources)} if sources else {}),
        **({} if sheets is None else sheets.entries(digests)),
    }
    return document("panelwright.manifest", entries)


def files_of(text: str) -> frozenset[str] | None:
    """The files that a manifest or a comparison lists, or None if the text is neither, of whichever version of this toolkit.

    >>> files_of('{"files": {"bom.csv": ""}, "schema": {"name": "panelwright.manifest", "version": 1}}')
    frozenset({'bom.csv'})
    >>> files_of('{"name": "somebody else\\'s"}') is None
    True
    """
    try:
        manifest = json.loads(text)
    except (ValueError, RecursionError):
        return None
    files = manifest.get("files") if lists_files(manifest) else None
    return frozenset(files) if isinstance(files, dict) else None


def read_manifest(file: Path, label: str) -> dict[str, Any]:
    """A manifest from its file; `label` is what errors call the folder.

    Raises `OutputError` for one that cannot be read, and for what is none.
    """
    broken = f"the manifest of {label!r} is broken: it is no"
    try:
        found = json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise OutputError(f"the manifest of {label!r} cannot be read: {error.strerror}", value=label) from error
    except UnicodeDecodeError as error:
        raise OutputError(f"{broken} UTF-8; build the folder again", value=label) from error
    except (ValueError, RecursionError) as error:
        raise OutputError(f"{broken} JSON ({error}); build the folder again", value=label) from error
    if not is_manifest(found):
        raise OutputError(f"{str(file)!r} is no manifest of a build; give a folder that `panelwright build` wrote", value=label)
    return dict(found)


def _panel_files(panel: Panel, digests: Mapping[str, str]) -> dict[str, str]:
    paths = [f"panels/{panel.name}.{ending}" for ending in ("dxf", "svg")]
    return {path: digests[path] for path in paths if path in digests}
