"""Clearances that can be cut but are hardly meant."""

from __future__ import annotations

from collections.abc import Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.made import Made
from panelwright.plates.tolerances import ROUNDING

__all__ = ["MOST", "MOST_SHARE", "odd_clearances"]

MOST = 0.5
"""Largest clearance or press, mm, that passes without a word: twice a loose sliding fit (common practice, no source)."""

MOST_SHARE = 0.25
"""The same as a share of the thinner plate's thickness: card and thin ply bear less (common practice, no source)."""


def odd_clearances(made: Sequence[Made]) -> list[Finding]:
    """One warning for each kind of joint and clearance beyond `MOST` or `MOST_SHARE`, naming the plates of all such joints."""
    groups: dict[tuple[str, float, float], list[Made]] = {}
    for item in made:
        thinner = min(item.contact.first.body.t, item.contact.second.body.t)
        limit = min(MOST, MOST_SHARE * thinner)
        if abs(item.clearance) > limit + ROUNDING:
            groups.setdefault((item.joint.kind, item.clearance, limit), []).append(item)
    findings: list[Finding] = []
    for (kind, clearance, limit), items in groups.items():
        a, b = items[0].contact.names
        more = f" and {len(items) - 1} more like it" if len(items) > 1 else ""
        effect = "parts will rattle" if clearance > 0 else "parts may not go together, or split"
        findings.append(
            Finding(
                "warning",
                "CLEARANCE",
                tuple(dict.fromkeys(name for item in items for name in item.contact.names)),
                f"{kind} between {a!r} and {b!r}{more}: clearance is {clearance:g} mm, beyond {limit:g} mm either way, so "
                f"{effect}; give the gap of one joint, usually 0 to 0.3 mm",
                numbers={"clearance_mm": clearance, "limit_mm": limit, "joints": float(len(items))},
            )
        )
    return findings
