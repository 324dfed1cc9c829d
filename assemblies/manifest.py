"""The manifest of an output folder: what was built from what, with which numbers, and what the proof found."""

from __future__ import annotations

import dataclasses
import enum
import json
import math
import numbers
import sys
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING, Any

from panelwright.plates.stock import Stock

from .cautions import cautions_for
from .product import Finding, JointRecord, Panel, Product

if TYPE_CHECKING:
    from .sheets.laid import LaidSheets

__all__ = ["files_of", "finding_entry", "manifest_of", "manifest_text", "panel_entry", "plain", "stock_entry", "versions"]

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
    sheets: LaidSheets | None = None,
) -> dict[str, Any]:
    """The manifest of a product.

    `digests` gives the SHA-256 of every file written, by its path relative to the folder with "/"; `file` is the name of the
    design file without its folder, None for an assembly made by other code; `parameters` are the values that the design ran
    with; `sheets` are its panels as laid out on sheets, if they are.  Lengths in mm, areas in mm², masses in kg, all rounded to
    1e-6 and parameters exact.
    """
    stocks = list(dict.fromkeys(panel.stock for panel in product.panels))
    return {
        "cautions": cautions_for(stocks),
        "checks": [finding_entry(finding) for finding in product.findings],
        "design": {"file": file, "name": product.name},
        "files": dict(digests),
        "hardware": [
            {"designation": item.designation, "mass_kg": plain(item.mass_kg), "note": item.note, "quantity": item.quantity}
            for item in product.hardware
        ],
        "joints": [_joint_entry(joint) for joint in product.joints],
        "parameters": {name: plain(value, digits=None) for name, value in (parameters or {}).items()},
        "plates": [{**panel_entry(panel), "files": _panel_files(panel, digests)} for panel in product.panels],
        "stocks": [stock_entry(stock) for stock in stocks],
        "units": "mm",
        "versions": versions(),
        **({} if sheets is None else sheets.entries(digests)),
    }


def manifest_text(manifest: Mapping[str, Any]) -> str:
    """A manifest as JSON: keys sorted, two spaces a level, a newline at the end."""
    return json.dumps(manifest, ensure_ascii=False, allow_nan=False, indent=2, sort_keys=True) + "\n"


def panel_entry(panel: Panel) -> dict[str, Any]:
    """What the manifest and the command line say of a panel.

    `instances` names the plates that it serves; `members` those that hinges make one panel, none for a panel without hinges;
    `strokes` counts slits that the beam cuts in one pass, open lines in the files.
    """
    return {
        "area_mm2": plain(panel.area_mm2),
        "bbox_mm": plain(panel.bbox_mm),
        "instances": list(panel.plates),
        "kerf_mm": plain(float(panel.stock.kerf)),
        "mass_kg": plain(panel.mass_kg),
        "members": list(panel.members),
        "name": panel.name,
        "quantity": panel.quantity,
        "strokes": len(panel.strokes),
        "stock": panel.stock.material,
        "thickness_mm": plain(float(panel.stock.t)),
    }


def finding_entry(finding: Finding) -> dict[str, Any]:
    """What the manifest and the command line say of a finding."""
    return {
        "code": finding.code,
        "level": finding.level,
        "message": finding.message,
        "numbers": plain(finding.numbers),
        "place": plain(finding.place),
        "plates": list(finding.plates),
    }


def files_of(text: str) -> frozenset[str] | None:
    """The files that a manifest lists, or None if the text is no manifest of this toolkit.

    >>> files_of('{"files": {"bom.csv": ""}, "plates": [], "versions": {"panelwright": "0.1.0"}}')
    frozenset({'bom.csv'})
    >>> files_of('{"name": "somebody else\\'s"}') is None
    True
    """
    try:
        manifest = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if not isinstance(manifest, dict):
        return None
    files, plates, known = (manifest.get(key) for key in ("files", "plates", "versions"))
    if not (isinstance(files, dict) and isinstance(plates, list) and isinstance(known, dict)):
        return None
    return frozenset(files) if "panelwright" in known else None


def plain(value: Any, digits: int | None = 6) -> Any:
    """A value as JSON can carry it: numbers rounded to `digits` places (None: exact), infinities and NaN as null.

    >>> plain({"web_mm": 1.23456789, "turns": 2, "reach": (math.inf, -0.0)})
    {'web_mm': 1.234568, 'turns': 2, 'reach': [None, 0.0]}
    """
    if isinstance(value, enum.Enum):
        return value.name
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, numbers.Integral):
        return int(value)
    if isinstance(value, numbers.Real):
        number = float(value)
        if not math.isfinite(number):
            return None
        return (number if digits is None else round(number, digits)) + 0.0
    if isinstance(value, Mapping):
        return {str(key): plain(inner, digits) for key, inner in value.items()}
    if isinstance(value, set | frozenset):
        return sorted((plain(inner, digits) for inner in value), key=repr)
    if isinstance(value, list | tuple):
        return [plain(inner, digits) for inner in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name), digits) for field in dataclasses.fields(value)}
    return type(value).__name__  # its text might hold a memory address, which no two runs share


def stock_entry(stock: Stock) -> dict[str, Any]:
    """A stock's numbers and where they come from; one without sources is stated by the design itself."""
    return {
        "clearance_mm": plain(float(stock.clearance)),
        "cutter": stock.cutter,
        "is_calibrated": stock.is_calibrated,
        "kerf_mm": plain(float(stock.kerf)),
        "material": stock.material,
        "measured_mm": plain(stock.measured),
        "name": stock.name,
        "nominal_mm": plain(float(stock.thickness)),
        "press_mm": plain(stock.press),
        "sliding_mm": plain(stock.sliding),
        "sources": dict(stock.sources) or "stated in the design",
        "tolerance_mm": plain(stock.tolerance),
    }


def _joint_entry(joint: JointRecord) -> dict[str, Any]:
    return {
        "clearance_mm": plain(joint.clearance_mm),
        "faces": list(joint.faces),
        "kind": joint.kind,
        "numbers": plain(joint.numbers),
        "plates": list(joint.plates),
    }


def _panel_files(panel: Panel, digests: Mapping[str, str]) -> dict[str, str]:
    paths = [f"panels/{panel.name}.{ending}" for ending in ("dxf", "svg")]
    return {path: digests[path] for path in paths if path in digests}
