"""Seams of walls that go all the way round: a note where nothing closes one, and what could."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.design.placed_sheet import Chain
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.assemblies.resolve.wall_ends import meeting_place, turn_deg, what_closes
from panelwright.joints.meeting.common_ground import ANGLES_DEG
from panelwright.joints.meeting.side import Body

__all__ = ["seam_findings"]

BOTH_BORDERS = 2
"""Plates that hold both ends of a wall from which on its seam is held all along: one at either border."""


def seam_findings(resolved: Resolved, chains: Sequence[Chain]) -> list[Finding]:
    """A note for each bent sheet whose two ends meet, have no joint with each other, and are not held together by two plates.

    A base holds them at one border, and the seam gapes at the other; a base and a top hold both.

    Where ends meet is what `meeting_place` says.
    """
    bodies = {body.name: body for body in resolved.bodies}
    joined = {frozenset(made.contact.names) for made in resolved.made if made.layout.strip is None}
    found: list[Finding] = []
    for chain in chains:
        first, last = chain.parts[0], chain.parts[-1]
        place = meeting_place(chain, bodies)
        if place is None or frozenset({first, last}) in joined:
            continue
        holding = _mates(chain.parts, joined, bodies) & _mates(chain.parts[::-1], joined, bodies)
        if len(holding) >= BOTH_BORDERS:
            continue
        turn = turn_deg(chain, bodies)
        found.append(
            Finding(
                "note",
                "SEAM",
                (first, last),
                f"the two ends of {chain.name!r}, {first!r} and {last!r}, meet in a seam that no joint closes, at "
                f"{turn:.0f}°; {what_closes(chain, bodies)}",
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
