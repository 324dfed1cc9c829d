"""What a sheet itself may not stand: a tighter press than its own, and bending across its grain."""

from __future__ import annotations

from collections.abc import Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.made import Made
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.assemblies.shop.sheet_tolerance import COMMON_FITS
from panelwright.joints.meeting.contact import Body
from panelwright.plates.tolerances import ROUNDING

from .clearances import MOST, MOST_SHARE

__all__ = ["grain_findings", "press_findings"]

LEAST_SPAN = 10.0
"""Span as a multiple of the thickness below which a plate is no shelf (common practice, no source)."""

LEVEL = 0.7
"""Least share of the upright in a plate's normal for it to be called a shelf: within 45° of level."""


def press_findings(made: Sequence[Made]) -> list[Finding]:
    """Joints pressed tighter than the press fit of their stock.

    `PRESS` is a warning where the stock states its press fit, as the shop found it; a note that this is not proven where it
    states none, for more than what is common in wood.
    """
    groups: dict[tuple[str, float, str, float | None], list[Made]] = {}
    for item in made:
        thinner = min(item.contact.first.body.t, item.contact.second.body.t)
        is_odd = -item.clearance > min(MOST, MOST_SHARE * thinner) + ROUNDING  # CLEARANCE tells that already
        for stock in dict.fromkeys(side.body.plate.stock for side in (item.contact.first, item.contact.second)):
            least = COMMON_FITS["press"] if stock.press is None else stock.press
            if item.clearance < min(least, 0.0) - ROUNDING and not (is_odd and stock.press is None):
                key = (item.joint.kind, item.clearance, stock.name or stock.material, stock.press)
                groups.setdefault(key, []).append(item)
    findings: list[Finding] = []
    for (kind, clearance, called, press), items in groups.items():
        a, b = items[0].contact.names
        more = f" and {len(items) - 1} more like it" if len(items) > 1 else ""
        told = f"{kind} between {a!r} and {b!r}{more}: parts are pressed in by {-clearance:g} mm, tighter than"
        common = COMMON_FITS["press"]
        text = (
            f"{told} the press fit of {called!r}, which is a clearance of {press:g} mm, so they may crack or split; give a "
            f"clearance of at least {min(press, 0.0):g} mm"
            if press is not None
            else f"{told} the {-common:g} mm that are common in wood; whether {called!r} stands it is not proven, since its "
            "press fit is not stated: state it as press=, or try it on scrap"
        )
        plates = tuple(dict.fromkeys(name for item in items for name in item.contact.names))
        numbers = {"clearance_mm": clearance, "press_mm": common if press is None else press, "joints": float(len(items))}
        findings.append(Finding("note" if press is None else "warning", "PRESS", plates, text, numbers=numbers))
    return findings


def grain_findings(resolved: Resolved) -> list[Finding]:
    """`GRAIN` (warning): a plate that lies and is held at two ends only, its grain parallel to them and so across the span."""
    findings: list[Finding] = []
    for body in resolved.bodies:
        grain = body.plate.stock.grain
        if grain is None or body.roll is not None or abs(body.frame.z[2]) < LEVEL:
            continue
        span = _span(body, resolved.made, 0 if grain == "x" else 1)
        if span is None or span[0] < LEAST_SPAN * body.t:
            continue
        length, ends = span
        other = "y" if grain == "x" else "x"
        findings.append(
            Finding(
                "warning",
                "GRAIN",
                (body.name, *ends),
                f"{body.name!r} spans {length:.1f} mm between {ends[0]!r} and {ends[1]!r} with its grain, along {grain}, "
                f"across the span: that is its weak way, and that it carries is not proven; draw it with {other} along the "
                "edges that are held, so that the grain runs from end to end",
                None,
                {"span_mm": length, "thickness_mm": body.t},
            )
        )
    return findings


def _span(body: Body, made: Sequence[Made], axis: int) -> tuple[float, tuple[str, str]] | None:
    """Distance of the two lines that hold a plate by its edges and are parallel to an axis of it, and what holds it there.

    None if anything else holds it: then it does not bend between two ends only.
    """
    held: list[tuple[float, str]] = []
    for item in made:
        first, second = item.contact.first, item.contact.second
        if body not in (first.body, second.body):
            continue
        if first.body is not body or abs(first.along[axis]) < 1 - 1e-6:
            return None
        held.append((first.origin[1 - axis], second.body.name))
    held.sort()
    places = {round(at, 3) for at, _ in held}
    if len(places) != 2:
        return None
    return held[-1][0] - held[0][0], (held[0][1], held[-1][1])
