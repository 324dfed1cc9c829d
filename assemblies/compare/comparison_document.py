"""What changed as one JSON document."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from panelwright.assemblies.product.json_documents import document
from panelwright.assemblies.product.json_entries import plain

from .differences import Comparison, PanelChange
from .version import Version

__all__ = ["comparison_document"]


def comparison_document(found: Comparison, files: Mapping[str, str] | None = None) -> dict[str, Any]:
    """The document `panelwright.comparison`; `files` are those written beside it, with their SHA-256."""
    entries = {
        "after": _version(found.after),
        "before": _version(found.before),
        "files": dict(files or {}),
        "findings_gone": list(found.findings_gone),
        "findings_new": list(found.findings_new),
        "hardware": [{"after": new, "before": old, "designation": name} for name, old, new in found.hardware],
        "is_same": found.is_same,
        "joints": [
            {
                "kind": joint.kind,
                "numbers": [{"after": plain(new), "before": plain(old), "name": name} for name, old, new in joint.numbers],
                "plates": list(joint.plates),
                "what": joint.what,
            }
            for joint in found.joints
        ],
        "left_over": [{"panel": name, "pieces": count} for name, count in found.left],
        "must_cut": found.must_cut,
        "panels": [_panel(change) for change in found.panels],
        "plates": [
            {
                "after": plate.after,
                "before": plate.before,
                "moved_mm": plain(plate.moved_mm),
                "panel_after": plate.panels[1],
                "panel_before": plate.panels[0],
                "turned_deg": plain(plate.turned_deg),
                "what": plate.what,
                "why": list(plate.why),
            }
            for plate in found.plates
        ],
        "whole": {
            "kind": found.whole.kind,
            "shift_mm": plain(found.whole.shift),
            "turn": plain(found.whole.rows, 9),
        },
        "work": [
            {
                "cut": work.cut,
                "keep": work.keep,
                "kept_of": list(work.kept_of),
                "old_kerf_mm": plain(work.old_kerf_mm),
                "panel": work.panel,
                "trims": [
                    {"panel": trim.panel, "pieces": trim.pieces, "removed_mm2": plain(trim.removed_mm2)} for trim in work.trims
                ],
            }
            for work in found.work
        ],
    }
    return document("panelwright.comparison", entries)


def _version(version: Version) -> dict[str, Any]:
    numbers = version.numbers
    return {
        "area_mm2": plain(numbers.area_mm2),
        "cost": plain(numbers.cost),
        "currency": numbers.currency,
        "label": version.label,
        "machine_s": plain(numbers.machine_s),
        "mass_kg": plain(numbers.mass_kg),
        "panels": numbers.panels,
        "parameters": dict(version.parameters),
        "plates": numbers.plates,
        "product": version.name,
        "sheets": numbers.sheets,
    }


def _panel(change: PanelChange) -> dict[str, Any]:
    overlay = change.overlay
    return {
        "added_mm2": plain(change.added_mm2),
        "after": overlay.after.name,
        "before": overlay.before.name,
        "bbox_after_mm": plain(overlay.after.size_mm),
        "bbox_before_mm": plain(overlay.before.size_mm),
        "kept_mm2": plain(float(overlay.kept.area)),
        "openings": [
            {
                "after": opening.after,
                "before": opening.before,
                "place_before_mm": plain(opening.place_before_mm),
                "place_mm": plain(opening.place_mm),
                "what": opening.what,
            }
            for opening in change.openings
        ],
        "plates": list(change.plates),
        "removed_mm2": plain(change.removed_mm2),
        "why": list(change.why),
    }
