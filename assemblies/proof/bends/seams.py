"""Seams of walls that go all the way round: a note where nothing closes one, and what could."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.design.placed_sheet import Chain
from panelwright.assemblies.design.wall_path import fingered_land
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.joints.meeting.common_ground import ANGLES_DEG
from panelwright.joints.meeting.side import Body
from panelwright.plates.geometry.frame import Vector, dot

__all__ = ["seam_findings"]

BOTH_BORDERS = 2
"""Plates that hold both ends of a wall from which on its seam is held all along: one at either border."""


def seam_findings(resolved: Resolved, chains: Sequence[Chain]) -> list[Finding]:
    """A note for each bent sheet whose two ends meet, have no joint with each other, and are not held together by two plates.

    A base holds them at one border, and the seam gapes at the other; a base and a top hold both.

    Ends meet if their middles are no further apart than the sheet is thick: so are those of a wall that `add_wrap` lays round a
    path, at a sharp corner too, and no others that leave room for anything between them.
    """
    bodies = {body.name: body for body in resolved.bodies}
    joined = {frozenset(made.contact.names) for made in resolved.made if made.layout.strip is None}
    found: list[Finding] = []
    for chain in chains:
        first, last = chain.parts[0], chain.parts[-1]
        if first == last or frozenset({first, last}) in joined or not {first, last} <= bodies.keys():
            continue
        holding = _mates(chain.parts, joined, bodies) & _mates(chain.parts[::-1], joined, bodies)
        if len(holding) >= BOTH_BORDERS:
            continue
        begins, ends = _end(bodies[first], 0), _end(bodies[last], 2)
        if math.dist(begins, ends) > bodies[first].t:
            continue
        place = ((begins[0] + ends[0]) / 2, (begins[1] + ends[1]) / 2, (begins[2] + ends[2]) / 2)
        turn = _turn_deg(bodies[first], bodies[last])
        found.append(
            Finding(
                "note",
                "SEAM",
                (first, last),
                f"the two ends of {chain.name!r}, {first!r} and {last!r}, meet in a seam that no joint closes, at "
                f"{turn:.0f}°; {_help(chain, turn, bodies)}",
                place,
                {"turn_deg": turn, "least_deg": ANGLES_DEG[0]},
            )
        )
    return found


def _mates(parts: Sequence[str], joined: Collection[frozenset[str]], bodies: Mapping[str, Body]) -> set[str]:
    """Plates that are joined to a sheet's end: to its first part, or to the bend after it too where that is too short."""
    x0, _, x1, _ = bodies[parts[0]].plate.outline.bounds
    end = set(parts[: 1 if x1 - x0 >= 2 * bodies[parts[0]].t else 2])  # as `PlacedSheet.faces` has it
    return {name for pair in joined if pair & end for name in pair - end} - set(parts)


def _end(body: Body, side: int) -> Vector:
    """The middle of a sheet's end: of the border of its first part (0) or its last (2)."""
    bounds = body.plate.outline.bounds
    return body.point((bounds[side], (bounds[1] + bounds[3]) / 2, body.t / 2))


def _turn_deg(first: Body, last: Body) -> float:
    """By how much the sheet's ends lean towards each other: 0 in one plane, 90 at a square corner."""
    ahead, on = (body.frame.direction((1.0, 0.0, 0.0)) for body in (last, first))
    return math.degrees(math.acos(min(1.0, max(-1.0, dot(ahead, on)))))


def _help(chain: Chain, turn: float, bodies: Mapping[str, Body]) -> str:
    fingered = "join(*sheet.ends, fingers()) closes it, where sheet is what add_wrap gave"
    glued = "glue a strip behind it"
    least, most = ANGLES_DEG
    if least <= turn <= most:
        return f"{fingered}; else {glued}"
    beside = [bodies[name].roll for name in (chain.parts[1], chain.parts[-2])]
    t = bodies[chain.parts[0]].t
    if turn > 0.5 and all(beside):
        inner = max(roll.radius - t / 2 for roll in beside if roll is not None)
        land = fingered_land(inner)
        return (
            f"fingers hold from {least:.0f}° on: give add_wrap land={land:g}, the length of the flats on either side of it, "
            f"and {fingered}; else {glued}"
        )
    return (
        f"fingers hold from {least:.0f}° on: put it into a corner of the path that is drawn sharp (seam= says which) and "
        f"{fingered}; else {glued}"
    )
