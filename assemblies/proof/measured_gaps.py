"""Measuring joints: every opening against what goes into it, on the finished solids."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.made import Made
from panelwright.assemblies.data.product import Gap
from panelwright.joints.meeting.contact import Body, Side
from panelwright.joints.spec.pattern import Fit, Lap
from panelwright.joints.spec.relief import Relief
from panelwright.plates.geometry.frame import Vector, dot
from panelwright.plates.geometry.probe import Probe
from panelwright.plates.tolerances import FIT_TOLERANCE, SAME_PLACE

__all__ = ["at_place", "measured"]


def at_place(place: tuple[float, float, float] | None) -> str:
    """Where something is, in words that follow on; nothing if it has no place."""
    return "" if place is None else f" around ({place[0]:.1f}, {place[1]:.1f}, {place[2]:.1f})"


def measured(
    made: Made, probes: dict[str, Probe], instead: Callable[[Made], str] | None = None
) -> tuple[list[Gap], list[Finding]]:
    """The openings of one joint as measured on the solids, and a finding for each that is not as planned.

    `instead` says what helps where reliefs meet or their tool does not go in; without it a finding says what usually does.
    """
    gaps: list[Gap] = []
    findings: list[Finding] = []
    narrow: dict[tuple[str, float], list[tuple[float, float, float]]] = {}
    items: list[Fit | Lap] = [*made.layout.fits, *made.layout.laps]
    for item in items:
        value, insert, problem = _fit(item, probes, made.relief) if isinstance(item, Fit) else _lap(item, probes)
        side = item.opening if isinstance(item, Fit) else item.first
        u, v = item.at if isinstance(item, Fit) else ((item.line[0] + item.line[1]) / 2, item.first_at)
        flat = side.flat(u, v)
        place = side.body.point((*flat, side.body.t / 2))
        a, b = made.contact.names
        if made.relief is not None and insert is not None and insert + item.clearance < made.relief.tool - SAME_PLACE:
            narrow.setdefault((side.body.name, round(insert + item.clearance, 6)), []).append(place)
            continue
        if value is None:
            findings.append(
                Finding(
                    "error",
                    "NO-MATE",
                    (a, b),
                    f"{made.joint.kind} between {a!r} and {b!r}: {problem[0]}{at_place(place)}; {problem[1]}",
                    place,
                )
            )
            continue
        if not isinstance(item, Fit) or item.is_clearance:
            way = side.along if not isinstance(item, Fit) or item.way == "along" else side.across
            gaps.append(_gap(item, side, place, side.body.direction(flat, way), value, made))
        off = value - item.clearance
        if abs(off) > FIT_TOLERANCE:
            code, word = ("FIT-TIGHT", "tight") if off < 0 else ("FIT-LOOSE", "loose")
            # two reliefs that meet leave nothing of the side between them to bear on
            meet = made.relief is not None and off > 0 and not (isinstance(item, Fit) and item.is_spared)
            why = f"; its corner reliefs meet there, so {_usual(made) if instead is None else instead(made)}" if meet else ""
            findings.append(
                Finding(
                    "error",
                    code,
                    (a, b),
                    f"{made.joint.kind} between {a!r} and {b!r}: the opening in {side.body.name!r}{at_place(place)} is "
                    f"{abs(off):.3f} mm too {word}: clearance is {value:.3f} mm where {item.clearance:.3f} mm is planned{why}",
                    place,
                    {"clearance_mm": value, "planned_mm": item.clearance},
                )
            )
    if narrow:  # that reliefs meet in an opening too narrow for their tool says nothing more
        findings = [finding for finding in findings if finding.code != "FIT-LOOSE"]
    return gaps, [*findings, *(_too_narrow(made, *key, places, instead) for key, places in narrow.items())]


def _usual(made: Made) -> str:
    is_dog_bone = made.relief is not None and made.relief.style == "dog-bone"
    return "use a smaller tool" + " or t_bone()" * is_dog_bone


def _gap(item: Fit | Lap, side: Side, place: Vector, way: Vector, value: float, made: Made) -> Gap:
    """An opening as measured, and what of sheet and kerf it hangs on.

    A wider kerf widens the opening and narrows a cut insert, by half of it at each border and so by the whole for each of
    the two.  A thicker sheet takes more of an opening.  How deep two laps seat is no fit, and hangs on nothing.
    """
    opening = side.body
    first, second = made.contact.first.body, made.contact.second.body
    insert = second if opening is first else first
    if isinstance(item, Lap):
        return Gap(place, way, value, opening.name, insert.name)
    if item.is_bought:
        return Gap(place, way, value, opening.name, "", (), ((opening.name, 1.0),))
    if isinstance(item.insert, Side):
        cut = item.insert.body.name
        return Gap(place, way, value, opening.name, cut, (), ((opening.name, 1.0), (cut, 1.0)))
    shares = _shadow_shares(insert, opening, item.insert)
    named = tuple((body.name, share) for body, share in zip((insert, opening), shares, strict=True) if share > 0)
    return Gap(place, way, value, opening.name, insert.name, named, ((opening.name, 1.0),))


def _shadow_shares(insert: Body, opening: Body, shadow: float) -> tuple[float, float]:
    """By how much a sheet's shadow in another grows for each mm of its own thickness, and of the other's.

    At an angle φ a sheet of thickness a casts a/sin φ + b·|cot φ| on one of thickness b that it goes right through, and
    a·sin φ + b·|cot φ| where its long face ends flush.  The shape that gives the shadow as drawn is the one meant; where
    neither does (an insert that stops within the sheet) the first is taken, which asks most.
    """
    if abs(shadow - insert.t) < SAME_PLACE:
        return 1.0, 0.0
    cos = min(abs(dot(insert.frame.z, opening.frame.z)), 1.0)
    sin = max(math.sqrt(1.0 - cos * cos), SAME_PLACE)
    for own in (1.0 / sin, sin):
        if abs(own * insert.t + cos / sin * opening.t - shadow) < SAME_PLACE:
            return own, cos / sin
    return 1.0 / sin, cos / sin


def _too_narrow(
    made: Made,
    name: str,
    size: float,
    places: Sequence[tuple[float, float, float]],
    instead: Callable[[Made], str] | None,
) -> Finding:
    """Openings of one size that the round cutter they are relieved for does not go into."""
    assert made.relief is not None
    a, b = made.contact.names
    tool = made.relief.tool
    where = at_place(places[0]) + (f" and {len(places) - 1} more like it" if len(places) > 1 else "")
    usual = f"use a tool of at most {size:g} mm, a thicker sheet or wider parts"
    return Finding(
        "error",
        "RELIEF",
        (a, b),
        f"{made.joint.kind} between {a!r} and {b!r}: the opening of {size:g} mm in {name!r}{where} is narrower than the tool "
        f"of {tool:g} mm; {usual if instead is None else instead(made)}",
        places[0],
        {"opening_mm": size, "tool_mm": tool, "openings": float(len(places))},
    )


Problem = tuple[str, str]
"""What is wrong with an opening, and what mends it."""

NO_PROBLEM = ("", "")

IN_THE_WAY = "another joint or a cut-out is in the way, so move one of them"

LINES = (0.0, -0.3, 0.3, -0.6, 0.6, -0.9, 0.9)
"""Shares of an opening's depth at which to measure where corner relief makes it uneven."""


def _fit(fit: Fit, probes: dict[str, Probe], relief: Relief | None) -> tuple[float | None, float | None, Problem]:
    """Size of an opening less what goes into it, and the latter's size; with relief, at the tightest of several lines."""
    side = fit.opening
    shares = LINES if relief is not None else LINES[:1]
    sizes: list[float] = []
    for share in shares:
        size, problem = _opening(fit, share * fit.reach, probes[side.body.name])
        if size is None and not sizes:
            return None, None, problem
        sizes += [] if size is None else [size]
    if not isinstance(fit.insert, Side):
        return min(sizes) - fit.insert, fit.insert, NO_PROBLEM
    insert = fit.insert
    u, v = fit.insert_at
    inside: list[float] = []
    for share in shares:
        material = insert.run(probes[insert.body.name], (u, v + share * fit.insert_reach), "along")
        inside += _through(material, sizes[0])
        if not inside:
            return None, None, (f"what goes into {side.body.name!r} is missing from {insert.body.name!r}", IN_THE_WAY)
    return min(sizes) - max(inside), max(inside), NO_PROBLEM


def _through(material: Sequence[tuple[float, float]], size: float) -> list[float]:
    """How long what goes into an opening of a size is, on a line through its middle; none if it is missing.

    What has an opening of its own in the middle still reaches from one end of it to the other.
    """
    whole = [high - low for low, high in material if low < 0 < high]
    if whole:
        return whole
    parts = [part for part in material if -size < part[0] and part[1] < size]
    before, after = [low for low, high in parts if high <= 0], [high for low, high in parts if low >= 0]
    return [max(after) - min(before)] if before and after else []


def _opening(fit: Fit, off: float, probe: Probe) -> tuple[float | None, Problem]:
    """Free length on the line `off` mm beside the one to measure on."""
    side, (u, v) = fit.opening, fit.at
    spot = (u, v + off) if fit.way == "along" else (u + off, v)
    name = side.body.name
    stretches = side.run(probe, spot, fit.way)
    if any(low < 0 < high for low, high in stretches):
        return None, (f"the opening in {name!r} is missing", IN_THE_WAY)
    below = [high for _, high in stretches if high <= 0]
    above = [low for low, _ in stretches if low >= 0]
    if below and above:
        return min(above) - max(below), NO_PROBLEM
    designed = side.run(side.body.probe, spot, fit.way)
    half = 0.0 if isinstance(fit.insert, Side) else (fit.insert + fit.clearance) / 2
    ends = not any(high > half for _, high in designed) if below else not any(low < -half for low, _ in designed)
    mend = f"{name!r} ends there, so move one of the two plates or make {name!r} larger" if ends else IN_THE_WAY
    return None, (f"the opening in {name!r} is not closed", mend)


def _lap(lap: Lap, probes: dict[str, Probe]) -> tuple[float, None, Problem]:
    low, high = lap.line
    used = 0.0
    for side, v in ((lap.first, lap.first_at), (lap.second, lap.second_at)):
        for start, stop in probes[side.body.name].along(side.flat(0.0, v), side.along):
            used += max(0.0, min(stop, high) - max(start, low))
    return high - low - used, None, NO_PROBLEM
