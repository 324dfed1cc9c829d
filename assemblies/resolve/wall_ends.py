"""The two ends of a wall that goes all round: where they meet, how they lean to each other, and what closes the seam."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence

from panelwright.assemblies.design.placed_sheet import Chain
from panelwright.assemblies.design.wall_path import fingered_land
from panelwright.joints.meeting.common_ground import ANGLES_DEG, TURN_ONE
from panelwright.joints.meeting.side import Body
from panelwright.plates.errors import JointError
from panelwright.plates.geometry.frame import Vector, dot

__all__ = ["meeting_place", "told_of_ends", "turn_deg", "what_closes"]

FINGERED = "join(*sheet.ends, fingers()) closes it, where sheet is what add_wrap gave"
GLUED = "glue a strip behind it"
LEAST_TURN_DEG = 0.5
"""Turn of two ends below which they count as one plane: no flat of any length on a straight side turns them further."""


def meeting_place(chain: Chain, bodies: Mapping[str, Body]) -> Vector | None:
    """Where the two ends of a sheet meet, in the middle of the seam; None if they don't, or if it is one plate only.

    Ends meet if their middles are no further apart than the sheet is thick: so are those of a wall that `add_wrap` lays round a
    path, at a sharp corner too, and no others that leave room for anything between them.
    """
    first, last = chain.parts[0], chain.parts[-1]
    if first == last or not {first, last} <= bodies.keys():
        return None
    begins, ends = _end(bodies[first], 0), _end(bodies[last], 2)
    if math.dist(begins, ends) > bodies[first].t:
        return None
    return ((begins[0] + ends[0]) / 2, (begins[1] + ends[1]) / 2, (begins[2] + ends[2]) / 2)


def _end(body: Body, side: int) -> Vector:
    """The middle of a sheet's end: of the border of its first part (0) or its last (2)."""
    bounds = body.plate.outline.bounds
    return body.point((bounds[side], (bounds[1] + bounds[3]) / 2, body.t / 2))


def turn_deg(chain: Chain, bodies: Mapping[str, Body]) -> float:
    """By how much the sheet's ends lean towards each other: 0 in one plane, 90 at a square corner."""
    ahead, on = (bodies[name].frame.direction((1.0, 0.0, 0.0)) for name in (chain.parts[-1], chain.parts[0]))
    return math.degrees(math.acos(min(1.0, max(-1.0, dot(ahead, on)))))


def what_closes(chain: Chain, bodies: Mapping[str, Body]) -> str:
    """What closes the seam between the two ends of a sheet, in words."""
    least, most = ANGLES_DEG
    if least <= turn_deg(chain, bodies) <= most:
        return f"{FINGERED}; else {GLUED}"
    return f"fingers hold from {least:.0f}° on: {_steeper(chain, bodies)} and {FINGERED}; else {GLUED}"


def told_of_ends(error: JointError, chains: Collection[Chain], bodies: Sequence[Body]) -> JointError:
    """The error, with what makes the corner steeper where it says to turn a plate and the plates are the ends of one wall."""
    if not str(error).endswith(TURN_ONE):
        return error
    known = {body.name: body for body in bodies}
    for chain in chains:
        if {chain.parts[0], chain.parts[-1]} == set(error.plates) and meeting_place(chain, known) is not None:
            message = str(error).removesuffix(TURN_ONE) + _steeper(chain, known).rstrip(",")
            return JointError(message, plates=error.plates, face=error.face, value=error.value, limit=error.limit)
    return error


def _steeper(chain: Chain, bodies: Mapping[str, Body]) -> str:
    """What makes a corner for fingers of a seam whose ends lie too flat."""
    beside = [bodies[name].roll for name in (chain.parts[1], chain.parts[-2])]
    t = bodies[chain.parts[0]].t
    if turn_deg(chain, bodies) > LEAST_TURN_DEG and all(beside):
        inner = max(roll.radius - t / 2 for roll in beside if roll is not None)
        return f"give add_wrap land={fingered_land(inner):g}, the length of the flats on either side of the seam,"
    return "put the seam into a corner of the path that is drawn sharp (seam= says which)"
