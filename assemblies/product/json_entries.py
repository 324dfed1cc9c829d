"""What every JSON output tells of a product's panels, joints, stocks and findings: one dialect for all."""

from __future__ import annotations

import dataclasses
import enum
import math
import numbers
from collections.abc import Mapping
from typing import Any

from panelwright.assemblies.data.assembly_plan import Plan
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.product import JointRecord
from panelwright.plates.materials.stock import Stock

__all__ = [
    "finding_entry",
    "joint_entry",
    "panel_entry",
    "plain",
    "plan_entry",
    "stock_entry",
    "stock_key",
    "stock_name",
    "stock_words",
]

_STOCK_KEYS = {
    "thickness_mm": "nominal_thickness_mm",
    "measured_mm": "measured_thickness_mm",
    "tolerance_mm": "thickness_tolerance_mm",
    "tolerance_standard": "thickness_tolerance_standard",
    "press_mm": "press_clearance_mm",
    "snug_mm": "clearance_mm",
    "sliding_mm": "sliding_clearance_mm",
}
"""What keys of a shop file, where one speaks of one stock only, are called in a document."""


def stock_key(key: str) -> str:
    """The word that documents have for what a shop file states of a stock.

    >>> stock_key("snug_mm"), stock_key("kerf_mm")
    ('clearance_mm', 'kerf_mm')
    """
    return _STOCK_KEYS.get(key, key)


def stock_name(stock: Stock) -> str:
    """What documents call a stock: its name, or its material where it has none."""
    return stock.name or stock.material


def stock_words(stock: Stock) -> str:
    """A stock in words, with the thickness that was reckoned with.

    >>> stock_words(Stock("birch plywood", 4, measured=3.87, name="birch 4"))
    'birch 4, 3.87 mm thick'
    """
    return f"{stock_name(stock)}, {stock.t:g} mm thick"


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
        "stock": stock_name(panel.stock),
        "thickness_mm": plain(float(panel.stock.t)),
    }


def finding_entry(finding: Finding) -> dict[str, Any]:
    """A finding, wherever it stands: in the manifest, on the command line, in the report and the preview."""
    return {
        **({"accepted": finding.accepted} if finding.accepted else {}),
        "code": finding.code,
        "level": finding.level,
        "message": finding.message,
        "numbers": plain(finding.numbers),
        "place_mm": plain(finding.place) if finding.place is not None and all(map(math.isfinite, finding.place)) else None,
        "plates": list(finding.plates),
    }


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
    """A stock's numbers and where they come from, by the same keys; one without sources is stated by the design itself."""
    return {
        "both_faces_good": stock.both_faces_good,
        "clearance_mm": plain(float(stock.clearance)),
        "cutter": stock.cutter,
        "grain": stock.grain,
        "is_calibrated": stock.is_calibrated,
        "kerf_mm": plain(float(stock.kerf)),
        "material": stock.material,
        "measured_thickness_mm": plain(stock.measured),
        "nominal_thickness_mm": plain(float(stock.thickness)),
        "press_clearance_mm": plain(stock.press),
        "sliding_clearance_mm": plain(stock.sliding),
        "sources": {stock_key(key): source for key, source in stock.sources},
        "stock": stock_name(stock),
        "thickness_mm": plain(float(stock.t)),
        "thickness_tolerance_mm": plain(stock.tolerance),
    }


def joint_entry(joint: JointRecord) -> dict[str, Any]:
    """What the manifest says of a joint."""
    return {
        "by_join_touching": joint.is_found,
        "clearance_mm": plain(joint.clearance_mm),
        "faces": list(joint.faces),
        "joined_in": joint.line or None,
        "kind": joint.kind,
        "numbers": plain(joint.numbers),
        "plates": list(joint.plates),
    }


def plan_entry(plan: Plan) -> dict[str, Any]:
    """How a product goes together: its steps in order, by names of parts, and the parts that lock each other."""
    return {
        "locks": [
            {"certainty": lock.certainty, "freeing_joints": [list(pair) for pair in lock.frees], "parts": list(lock.parts)}
            for lock in plan.locks
        ],
        "not_proven_because": plan.unknown or None,
        "steps": [
            {
                "hardware": list(step.hardware),
                "is_turned": step.is_turned,
                "moves": [{"travel_mm": plain(move.far_mm), "way": plain(move.way)} for move in step.moves],
                "onto": list(step.onto),
                "parts": list(step.group),
                "pieces": step.pieces,
            }
            for step in plan.steps
        ],
        "up": plain(plan.up),
    }
