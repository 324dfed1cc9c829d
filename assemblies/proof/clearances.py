"""Clearances that can be cut but are hardly meant, and those that nobody stated."""

from __future__ import annotations

from collections.abc import Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.made import Made
from panelwright.plates.materials.stock import Stock
from panelwright.plates.tolerances import ROUNDING

__all__ = ["MOST", "MOST_SHARE", "odd_clearances", "unsaid_clearances"]

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


def unsaid_clearances(made: Sequence[Made]) -> list[Finding]:
    """One note for the joints of each stock that come out with 0 mm because the design states a stock without a clearance.

    Nothing is said of a clearance of 0 that a joint or an assembly states, nor of what a knife cuts, such as card, which gives.
    """
    groups: dict[Stock, list[Made]] = {}
    for item in made:
        stocks = [item.contact.first.body.plate.stock, item.contact.second.body.plate.stock]
        stated = next((one for one in stocks if one.is_stated and one.clearance == 0 and one.cutter != "knife"), None)
        is_unsaid = (
            item.rule.clearance_of == "stock" and item.clearance == 0 and any(fit.is_clearance for fit in item.layout.fits)
        )
        if stated is not None and is_unsaid:
            groups.setdefault(stated, []).append(item)
    findings: list[Finding] = []
    for stock, items in groups.items():
        a, b = items[0].contact.names
        more = f" and {len(items) - 1} more joints" if len(items) > 1 else ""
        findings.append(
            Finding(
                "note",
                "CLEARANCE",
                tuple(dict.fromkeys(name for item in items for name in item.contact.names)),
                f"stock {stock.name or stock.material!r}, stated in the design, has a clearance of 0 mm, and so have "
                f"{items[0].joint.kind} between {a!r} and {b!r}{more}: openings come out exactly as wide as what goes in, and "
                "parts may need a mallet or not go; state clearance= of the Stock (0.05 to 0.15 mm is usual), or clearance=0 "
                "of the Assembly if that is meant",
                numbers={"clearance_mm": 0.0, "joints": float(len(items))},
            )
        )
    return findings
