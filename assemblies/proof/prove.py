"""The proof: everything that can be known to be wrong before a sheet is cut, measured on the finished solids."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING

from panelwright.assemblies.data.findings import Finding, joint_findings
from panelwright.assemblies.data.made import Made
from panelwright.assemblies.data.name_lists import called
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Gap, JointRecord, Product
from panelwright.assemblies.data.verdict import LEVELS
from panelwright.assemblies.resolve.bought_parts import bought_parts, hardware_list
from panelwright.assemblies.resolve.other_relief import OtherRelief
from panelwright.assemblies.resolve.panels import panels_of
from panelwright.assemblies.resolve.resolve import Resolved, resolve
from panelwright.assemblies.shop.in_force import shop_in_force
from panelwright.joints.meeting.contact import Body
from panelwright.plates.geometry.curves import Loop
from panelwright.plates.geometry.probe import Probe
from panelwright.plates.tolerances import CONTACT_TOLERANCE, OVERLAP_VOLUME, SAME_AREA

from .bends.seams import seam_findings
from .bends.springing import springing_findings
from .bent_proof import hinge_findings, strip_overlaps
from .clearances import odd_clearances, unsaid_clearances
from .hardware_clashes import hardware_overlaps
from .held import held_findings
from .interference import Slab, all_pairs, common_volume
from .loose.play import play_findings
from .mark_findings import mark_findings
from .material_findings import grain_findings, press_findings
from .measured_gaps import at_place, measured
from .omissions import corner_pairs, left_out_findings, loose_items
from .room_on_sheets import room_findings
from .stock_findings import stock_findings
from .tool_corners import ReliefTrials, tool_findings
from .webs import thin_findings

if TYPE_CHECKING:
    from panelwright.assemblies.design.collected import Collected

__all__ = ["prove"]

MOST_PLACES = 4
"""How many places of one finding its message tells."""


def prove(assembly: Collected) -> Product:
    """Resolve an assembly and check it.  Joints that cannot be made become findings like everything else."""
    return _proved(assembly, None)


def _proved(assembly: Collected, other: OtherRelief | None) -> Product:
    """The product, or what it would be with another relief, whose own advice isn't tried any further."""
    resolved = resolve(assembly) if other is None else resolve(assembly, other)
    probes = {part.name: Probe(part.loops) for part in resolved.flats}
    slabs = [
        Slab(part.name, part.frame, part.stock.t, probes[part.name], part.solid)
        for body, part in zip(resolved.bodies, resolved.flats, strict=True)
        if body.roll is None
    ]
    bought = bought_parts(resolved.made)
    panels, kerf_findings = panels_of(resolved.parts)
    seams = seam_findings(resolved, assembly.chains())
    overlaps = _overlaps(slabs, resolved)
    before = [
        *joint_findings(resolved.failures),
        *overlaps,
        *strip_overlaps(resolved.strips, slabs),
        *hardware_overlaps(bought, slabs),
        *held_findings(slabs, resolved, assembly.loose_groups()),
        *play_findings(resolved, assembly.loose_groups()),
        *left_out_findings(resolved.omitted, {frozenset(finding.plates) for finding in overlaps}),
        *_missing_slots(resolved),
        *hinge_findings(resolved.made),
        *springing_findings(resolved, assembly.chains(), assembly.loose_groups(), seams),
        *seams,
        *_remarks(resolved),
        *odd_clearances(resolved.made),
        *unsaid_clearances(resolved.made),
        *press_findings(resolved.made),
        *grain_findings(resolved),
    ]
    trials = _trials(assembly, before) if other is None else None
    sizes = [measured(made, probes, None if trials is None else trials.instead_of) for made in resolved.made]
    tool = tool_findings(resolved, trials)
    # a relief smaller than the cutter closes up under the kerf: that is one fault
    too_small = {
        name for finding in tool if finding.level == "error" and "tool_mm" in finding.numbers for name in finding.plates
    }
    records = tuple(_record(made, gaps) for made, (gaps, _) in zip(resolved.made, sizes, strict=True))
    findings = [
        *before,
        *(finding for _, found in sizes for finding in found),
        *tool,
        *_pieces(resolved.flats),
        *_pieces([part for part in resolved.parts if part.unrolled is not None]),
        *_lost_holes(resolved),
        *mark_findings(resolved, assembly.loose_groups()),
        *(finding for finding in kerf_findings if not too_small.issuperset(finding.plates)),
        *room_findings(panels, shop_in_force()),
        *_names(resolved.parts),
        *(finding for panel in panels for finding in thin_findings(panel.plates, resolved)),
        *stock_findings(resolved.parts, records),
    ]
    findings.sort(key=lambda found: LEVELS.index(found.level))
    return Product(
        assembly.name,
        resolved.parts,
        panels,
        records,
        hardware_list(resolved.made, bought),
        tuple(findings),
        bought,
        assembly.show_hardware,
        loose=loose_items(resolved.omitted),
        loose_things=tuple(dict.fromkeys(map(called, assembly.loose_groups()))),
    )


def _trials(assembly: Collected, known: Sequence[Finding]) -> ReliefTrials:
    """Proofs of the same product with other reliefs, each made once and only if it is asked for."""

    @cache
    def errors_with(other: OtherRelief) -> tuple[Finding, ...]:
        return _proved(assembly, other).errors

    return ReliefTrials(errors_with, frozenset((finding.code, finding.plates) for finding in known))


def _record(made: Made, gaps: Sequence[Gap]) -> JointRecord:
    numbers = dict(made.layout.numbers)
    if gaps:
        fits = [gap.clearance_mm for gap in gaps]
        numbers["measured_clearance_mm"] = [round(min(fits), 6), round(max(fits), 6)]
    counts = Counter(dict(made.layout.hardware))
    counts.update(fastener.designation for fastener in made.layout.fasteners)
    contact, needed = made.contact, tuple(sorted(counts.items()))
    return JointRecord(
        made.joint.kind,
        contact.names,
        contact.faces,
        made.clearance,
        numbers,
        made.ways_in,
        needed,
        tuple(gaps),
        words=made.joint.words,
        line=made.rule.join.line,
        is_found=made.rule.join.is_found,
        clearance_of=made.rule.clearance_of,
    )


def _overlaps(slabs: Sequence[Slab], resolved: Resolved) -> list[Finding]:
    allowed: dict[frozenset[str], float] = {}
    for made in resolved.made:
        pair = frozenset(made.contact.names)
        allowed[pair] = allowed.get(pair, 0.0) + made.layout.overlap_mm3
    corners = corner_pairs(resolved.omitted)
    findings: list[Finding] = []
    for a, b in all_pairs(slabs):
        volume, place = common_volume(a, b)
        limit = OVERLAP_VOLUME + 1.01 * allowed.get(frozenset({a.name, b.name}), 0.0)
        if volume > limit:
            places = _places_shared(a, b) or ([] if place is None else [place])
            where = "; ".join(at_place(spot).strip() for spot in places[:MOST_PLACES])
            more = f"; and at {len(places) - MOST_PLACES} more" if len(places) > MOST_PLACES else ""
            several = f" at {len(places)} places:" if len(places) > 1 else ""
            joined = frozenset({a.name, b.name}) in allowed
            of_joined = "their joint leaves that; move one of them, or cut it out of one by hand"
            kind = corners.get(frozenset({a.name, b.name}))
            of_corner = f"{kind} can't be made there, at a corner of two edges: move one off the other, or join them by fingers"
            advice = of_joined if joined else of_corner if kind else "join them there or move one" + _sunk(a, b)
            text = f"plates {a.name!r} and {b.name!r} share {volume:.3f} mm³{several} {where}{more}; {advice}"
            numbers = {"volume_mm3": volume, "limit_mm3": limit}
            if len(places) > 1:
                numbers["places"] = float(len(places))
            findings.append(Finding("error", "OVERLAP", (a.name, b.name), text, places[0] if places else None, numbers))
    return findings


def _sunk(a: Slab, b: Slab) -> str:
    """That one plate goes into the other as far as its far face, the usual slip, unless each does, as at a corner."""
    found = [text for one, other in ((a, b), (b, a)) if (text := _sunk_into(one, other))]
    return found[0] if len(found) == 1 else ""


def _sunk_into(one: Slab, other: Slab) -> str:
    x, y, z = other.frame.origin
    across = (one.corners - (x, y, z)) @ other.frame.z
    low, high = float(across.min()), float(across.max())
    if abs(low) <= CONTACT_TOLERANCE and high > other.t + CONTACT_TOLERANCE:
        face = "show"
    elif abs(high - other.t) <= CONTACT_TOLERANCE and low < -CONTACT_TOLERANCE:
        face = "back"
    else:
        return ""
    return f": {one.name!r} is sunk into {other.name!r} by all its {other.t:g} mm; to stand on it, it begins at the {face} face"


def _places_shared(a: Slab, b: Slab) -> list[tuple[float, float, float]]:
    """The middle of each piece that two plates share, the largest first: the mean of several lies in none of them."""
    from panelwright.plates._kernel.solids.booleans import common_parts_of

    return [place for volume, place in common_parts_of((a.solid, a.frame), (b.solid, b.frame)) if volume > OVERLAP_VOLUME / 10]


def _missing_slots(resolved: Resolved) -> list[Finding]:
    findings: list[Finding] = []
    for made, claim in resolved.idle:
        a, b = made.contact.names
        x0, y0, x1, y1 = claim.loop.bounds
        place = claim.side.body.point(((x0 + x1) / 2, (y0 + y1) / 2, claim.side.body.t / 2))
        findings.append(
            Finding(
                "error",
                "NO-MATE",
                (a, b),
                f"{made.joint.kind} between {a!r} and {b!r}: at {at_place(place)[8:]} there is no material of "
                f"{claim.side.body.name!r} to take it; move it, or enlarge that plate",
                place,
            )
        )
    return findings


def _remarks(resolved: Resolved) -> list[Finding]:
    """What the joints themselves have to say to whoever puts them together."""
    findings: list[Finding] = []
    for made in resolved.made:
        a, b = made.contact.names
        for remark in made.layout.remarks:
            text = f"{made.joint.kind} between {a!r} and {b!r}: {remark.text}"
            findings.append(Finding(remark.level, remark.code, (a, b), text, remark.place, dict(remark.numbers)))
    return findings


def _pieces(parts: Sequence[Part]) -> list[Finding]:
    findings: list[Finding] = []
    for part in parts:
        outers = [loop for loop in part.loops if loop.area > 0]
        if len(outers) > 1:
            small = min(outers, key=lambda loop: loop.area)
            place = _place(part, small)
            what, advice = "plate", "move the joint or the cut-out that parts it"
            if part.unrolled is not None:
                what, advice = "panel", "leave wider bridges between the slits of its hinges"
            findings.append(
                Finding(
                    "error",
                    "PIECES",
                    part.plates,
                    f"{what} {part.name!r} falls into {len(outers)} pieces; the smallest, {small.area:.2f} mm², lies"
                    f"{at_place(place)}: {advice}",
                    place,
                    {"pieces": float(len(outers)), "smallest_mm2": small.area},
                )
            )
    return findings


def _place(part: Part, loop: Loop) -> tuple[float, float, float]:
    x0, y0, x1, y1 = loop.bounds
    return part.frame.point(((x0 + x1) / 2, (y0 + y1) / 2, part.stock.t / 2))


def _lost_holes(resolved: Resolved) -> list[Finding]:
    """Cut-outs as designed that joints have cut into or swallowed."""
    findings: list[Finding] = []
    grown: dict[int, list[Loop]] = {}
    for made in resolved.made:
        for claim in made.layout.claims:
            if claim.action == "add":
                grown.setdefault(claim.side.body.number, []).append(claim.loop)
    for body, part in zip(resolved.bodies, resolved.flats, strict=True):
        kept = {_trace(loop) for loop in part.loops}
        for hole in body.plate.outline.holes:
            if _trace(hole) in kept or any(_near(hole, loop) for loop in part.loops if loop.area < 0):
                continue
            if any(_meets(hole, loop) for loop in grown.get(body.number, ())):
                continue  # an edge of the hole itself has been joined, and its tabs stand in the hole
            place = _place(part, hole)
            findings.append(_lost(body, hole, place))
    return findings


def _lost(body: Body, hole: Loop, place: tuple[float, float, float]) -> Finding:
    x0, y0, x1, y1 = hole.bounds
    return Finding(
        "error",
        "LOST",
        (body.name,),
        f"the cut-out of {x1 - x0:.2f} × {y1 - y0:.2f} mm in plate {body.name!r}{at_place(place)} is cut into by a joint and "
        "is no longer what was designed; move one of them",
        place,
        {"area_mm2": -hole.area},
    )


def _trace(loop: Loop) -> tuple[float, ...]:
    return (round(loop.area, 3), *(round(value, 3) for value in loop.bounds))


def _meets(a: Loop, b: Loop) -> bool:
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = a.bounds, b.bounds
    return ax0 < bx1 and bx0 < ax1 and ay0 < by1 and by0 < ay1


def _near(a: Loop, b: Loop) -> bool:
    return abs(a.area - b.area) < SAME_AREA and all(
        abs(p - q) < CONTACT_TOLERANCE for p, q in zip(a.bounds, b.bounds, strict=True)
    )


def _names(parts: Sequence[Part]) -> list[Finding]:
    seen: dict[str, str] = {}
    findings: list[Finding] = []
    for part in parts:
        folded = part.name.casefold()
        if folded in seen:
            findings.append(
                Finding(
                    "error",
                    "NAME",
                    (seen[folded], part.name),
                    f"plates {seen[folded]!r} and {part.name!r} differ only in capitals, so on many systems one file would "
                    "overwrite the other; rename one",
                )
            )
        seen.setdefault(folded, part.name)
    return findings
