"""What a round cutter leaves of inner corners, and whether what is square still goes in.

The cutter's middle reaches every point that is half its width or further from the finished plate; what it takes away is all
within half its width of those points.  So a corner of what goes in stands in material by its distance from the nearest such
point, less half the width.  In a square corner without relief that is (√2 - 1) of the radius, less what the clearance gives.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.made import Made
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.resolve.other_relief import OtherRelief, widest_cut
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.joints.meeting.contact import Body
from panelwright.joints.spec.relief import Relief, dog_bone, t_bone
from panelwright.plates.geometry.curves import Arc, Line, Loop, Point
from panelwright.plates.geometry.polygons import region_of
from panelwright.plates.tolerances import CHORD_TOLERANCE, COVER_SINE, KERNEL_CORNER

from .measured_gaps import at_place

if TYPE_CHECKING:
    import shapely
from .stock_findings import WIDEST_BEAM

__all__ = ["CRUSH", "ReliefTrials", "tool_findings"]

CRUSH: Final = 0.1
"""By how many mm a corner may stand in material and still be pushed home (common practice, no source): no laser's kerf reaches
that, a cutter of half a millimetre does."""

LEAST_WIDTH: Final = 2 * CRUSH / (math.sqrt(2) - 1)
"""Width of cut in mm below which no square corner is left round enough to matter."""

SMALLER_TOOLS: Final = (3.0, 2.0, 1.5, 1.0)
"""Diameters in mm of cutters that are tried where the shop's own is too thick (common practice, no source)."""


@dataclass(frozen=True)
class ReliefTrials:
    """Which relief would help, found by proving the product with it.

    `errors_with` proves it with another relief and gives the errors found; `known` are codes and plates of those that have
    nothing to do with reliefs and tools.
    """

    errors_with: Callable[[OtherRelief], Sequence[Finding]]
    known: frozenset[tuple[str, tuple[str, ...]]]

    def that_help(self, joints: Sequence[Made], reliefs: Iterable[Relief]) -> list[Relief]:
        """Those reliefs with which nothing is wrong with these joints any more: all that do of the first tool that has any."""
        kerf = max(widest_cut(made.contact.first.body, made.contact.second.body) for made in joints)
        found: list[Relief] = []
        for relief in reliefs:
            if found and relief.tool != found[0].tool:
                break
            if self._helps(OtherRelief(relief, kerf), joints):
                found.append(relief)
        return found

    def _helps(self, other: OtherRelief, joints: Sequence[Made]) -> bool:
        pairs = [set(made.contact.names) for made in joints]
        names = set().union(*pairs)
        return not any(
            (set(error.plates) <= names or any(pair <= set(error.plates) for pair in pairs))
            and (error.code, error.plates) not in self.known
            for error in self.errors_with(other)
        )

    def instead_of(self, made: Made) -> str:
        """What to write instead of a relief that leaves nothing to bear on, or whose tool does not go in."""
        assert made.relief is not None
        tool = made.relief.tool
        found = self.that_help([made], [t_bone(tool), *_both(size for size in SMALLER_TOOLS if size < tool)])
        if not found:
            return "take a cutter that is thinner than the sheet by far, or wider parts: no relief down to 1 mm goes there"
        return f"ask for relief={_either(found)}" + ("" if found[0].tool == tool else " and cut with such a tool")


def _both(tools: Iterable[float]) -> Iterator[Relief]:
    for tool in tools:
        yield dog_bone(tool)
        yield t_bone(tool)


def _either(reliefs: Sequence[Relief]) -> str:
    return " or ".join(f"{'dog_bone' if relief.style == 'dog-bone' else 't_bone'}({relief.tool:g})" for relief in reliefs)


def tool_findings(resolved: Resolved, trials: ReliefTrials | None = None) -> list[Finding]:
    """Reliefs too small for the cutter, and inner corners that it leaves round.

    What they advise has been tried by `trials`; without them, while one is made, they advise what usually helps.

    `RELIEF` is a note where the relief of a joint is for a larger tool than the router's, and an error where it is smaller than
    the cut is wide; or where a joint without relief has inner corners so
    round that what is square doesn't go in.  `ROUND` (note): inner corners of an outline as designed come out round.
    """
    spoiled: dict[tuple[str, float, bool], list[_Spoiled]] = {}
    notes: list[Finding] = []
    for body, part in zip(resolved.bodies, resolved.flats, strict=True):
        if part.stock.kerf > LEAST_WIDTH:
            for found in _rounded(body, part, resolved.made, notes):
                made, kerf = found.made, part.stock.kerf
                spoiled.setdefault((made.joint.kind, kerf, kerf > made.layout.largest_tool + KERNEL_CORNER), []).append(found)
    too_round = [_no_entry(kerf, found, trials) for (_, kerf, _), found in spoiled.items()]
    return [*_small_reliefs(resolved.made, trials), *too_round, *_large_reliefs(resolved.made, trials), *notes]


@dataclass(frozen=True)
class _Spoiled:
    """An inner corner of a plate that what a joint puts in there doesn't get into, and by how many mm."""

    made: Made
    body: Body
    at: Point
    depth: float


def _small_reliefs(made: Sequence[Made], trials: ReliefTrials | None) -> list[Finding]:
    """One error for each tool and width of cut that do not agree, naming the plates of all such joints."""
    groups: dict[tuple[float, float, str], list[Made]] = {}
    for item in made:
        if item.relief is None:
            continue
        for stock in dict.fromkeys(claim.side.body.plate.stock for claim in item.layout.claims):
            if item.relief.tool < stock.kerf - KERNEL_CORNER:
                groups.setdefault((item.relief.tool, stock.kerf, stock.name or stock.material), []).append(item)
    findings: list[Finding] = []
    for (tool, kerf, called), items in groups.items():
        a, b = items[0].contact.names
        more = f" and {len(items) - 1} more like it" if len(items) > 1 else ""
        is_dog_bone = items[0].relief is not None and items[0].relief.style == "dog-bone"
        own, other = (dog_bone, t_bone) if is_dog_bone else (t_bone, dog_bone)
        most = min(item.layout.largest_tool for item in items)
        best = (
            [own(kerf)] if trials is None else (trials.that_help(items, [own(kerf)]) or trials.that_help(items, [other(kerf)]))
        )
        mend = f"give the width of the cut as kerf={tool:g}, of a smaller cutter"
        if best:
            mend = f"ask for relief={_either(best)}, or give the width of the cut as kerf={tool:g}"
        if kerf > most + KERNEL_CORNER:
            mend = f"cut with a tool of at most {most:g} mm, the most that these joints bear, and give it as kerf and relief"
        findings.append(
            Finding(
                "error",
                "RELIEF",
                tuple(dict.fromkeys(name for item in items for name in item.contact.names)),
                f"{items[0].joint.kind} between {a!r} and {b!r}{more}: the relief is for a tool of {tool:g} mm, but "
                f"{called!r} is cut {kerf:g} mm wide, so the tool does not go into it and corners stay round; {mend}",
                numbers={"tool_mm": tool, "kerf_mm": kerf, "joints": float(len(items))},
            )
        )
    return findings


def _large_reliefs(made: Sequence[Made], trials: ReliefTrials | None) -> list[Finding]:
    """One note for each relief and width of cut where a router's tool is thinner than the one that the relief is for.

    All goes together, with larger holes in the corners than the tool needs.  A beam needs none: a design that asks for them
    there is one that may be routed as well.
    """
    groups: dict[tuple[Relief, float], list[Made]] = {}
    for item in made:
        kerf = widest_cut(item.contact.first.body, item.contact.second.body)
        cutters = {side.body.plate.stock.cutter for side in (item.contact.first, item.contact.second)}
        if item.relief is not None and cutters == {"router"} and LEAST_WIDTH < kerf < item.relief.tool - KERNEL_CORNER:
            groups.setdefault((item.relief, kerf), []).append(item)
    findings: list[Finding] = []
    for (relief, kerf), items in groups.items():
        a, b = items[0].contact.names
        more = f" and {len(items) - 1} more like it" if len(items) > 1 else ""
        meant = [dog_bone(kerf) if relief.style == "dog-bone" else t_bone(kerf)]
        found = meant if trials is None else trials.that_help(items, meant)
        mend = f"ask for relief={_either(found)}, or " if found else ""
        findings.append(
            Finding(
                "note",
                "RELIEF",
                tuple(dict.fromkeys(name for item in items for name in item.contact.names)),
                f"{items[0].joint.kind} between {a!r} and {b!r}{more}: the relief is for a tool of {relief.tool:g} mm, but the "
                f"router cuts {kerf:g} mm wide, so it bores larger holes into corners than it needs; {mend}give the width of "
                f"the cut as kerf={relief.tool:g} if that is the tool",
                numbers={"tool_mm": relief.tool, "kerf_mm": kerf, "joints": float(len(items))},
            )
        )
    return findings


def _rounded(body: Body, part: Part, made: Sequence[Made], notes: list[Finding]) -> Iterator[_Spoiled]:
    """What the cutter leaves round where a joint puts something in; what is round as designed goes to the notes."""
    corners = list(_inner_corners(part.loops))
    tight = [at for at, radius in _inner_arcs(part.loops) if radius < part.stock.kerf / 2 - KERNEL_CORNER]
    if not corners and not tight:
        return
    drawn = [at for at, _ in _inner_corners(body.plate.outline.loops)]
    arcs = [at for at, _ in _inner_arcs(body.plate.outline.loops)]
    as_designed = [at for at in tight if _near(at, arcs)]
    reach = _reach(part)
    for at, free in corners:
        # a joint whose claim has a corner there comes first: what is joined to an outline's own notch goes in too
        owner = next((item for item in made if _has_corner(item, body, at)), None)
        if owner is None and _near(at, drawn):
            as_designed.append(at)
            continue
        if owner is None:  # where three plates meet
            owner = next((item for item in made if body.name in item.contact.names), None)
        if owner is None:
            continue
        depth = _stands_in(at, free, max(0.0, owner.clearance), reach, part.stock.kerf / 2)
        if CRUSH < depth < part.stock.kerf:  # further from all that the tool reaches, the tool doesn't go in at all: KERF
            yield _Spoiled(owner, body, at, depth)
    if as_designed:
        notes.append(_note(body, part.stock.kerf, as_designed))


def _no_entry(kerf: float, spoiled: Sequence[_Spoiled], trials: ReliefTrials | None) -> Finding:
    """One error for all joints of a kind: one relief mends them all, or none does."""
    first = spoiled[0]
    joints = list(dict.fromkeys(found.made for found in spoiled))
    a, b = first.made.contact.names
    more = f" and {len(joints) - 1} more like it" if len(joints) > 1 else ""
    place = first.body.point((*first.at, first.body.t / 2))
    depth = max(found.depth for found in spoiled)
    is_slip = first.body.plate.stock.cutter == "laser" and kerf > WIDEST_BEAM
    mend = "no laser cuts so wide, so correct the kerf" if is_slip else _advice(kerf, joints, trials)
    number = f"{len(spoiled)} inner corners round, the first" if len(spoiled) > 1 else "an inner corner round"
    return Finding(
        "error",
        "RELIEF",
        tuple(dict.fromkeys(name for item in joints for name in item.contact.names)),
        f"{first.made.joint.kind} between {a!r} and {b!r}{more}: a cutter of {kerf:g} mm leaves {number} in "
        f"{first.body.name!r}{at_place(place)}, so what is square stands off by {depth:.2f} mm and does not go in; {mend}",
        place,
        {"stands_off_mm": depth, "kerf_mm": kerf, "corners": float(len(spoiled)), "joints": float(len(joints))},
    )


def _advice(kerf: float, joints: Sequence[Made], trials: ReliefTrials | None) -> str:
    """Which relief to ask for, or how small a cutter to take: what was tried and goes."""
    most = min(item.layout.largest_tool for item in joints)
    goes = kerf <= most + KERNEL_CORNER
    first = kerf if goes else math.floor(most * 100) / 100
    smaller = [tool for tool in SMALLER_TOOLS if tool < first]
    reliefs = [*_both([first, *smaller])]
    found = reliefs[:2] if trials is None else trials.that_help(joints, reliefs)
    if not found:
        return "no relief for a cutter down to 1 mm goes there, so take a thicker sheet or wider parts, or cut it by a beam"
    if found[0].tool == kerf:
        return f"ask for relief={_either(found)}, in the joint or for the whole assembly"
    if found[0].tool < first:
        named = f"of {found[0].tool:g} mm and ask for relief={_either(found)}"
    else:
        names = " or ".join("dog_bone" if relief.style == "dog-bone" else "t_bone" for relief in found)
        named = f"of at most {first:g} mm and ask for relief={names} of its diameter"
    return f"relief for that would leave too little there, so use a cutter {named}"


def _note(body: Body, kerf: float, places: Sequence[Point]) -> Finding:
    place = body.point((*places[0], body.t / 2))
    number = f"{len(places)} inner corners" if len(places) > 1 else "an inner corner"
    return Finding(
        "note",
        "ROUND",
        (body.name,),
        f"plate {body.name!r} has {number} that a cutter of {kerf:g} mm leaves with a radius of {kerf / 2:g} mm, the first"
        f"{at_place(place)}; round them so, or see to it that nothing square has to go in",
        place,
        {"radius_mm": kerf / 2, "corners": float(len(places))},
    )


def _inner_corners(loops: Sequence[Loop]) -> Iterator[tuple[Point, Point]]:
    """Each inner corner between two straight edges, with the way into its free side.

    That way is so long that it leads to where two lines 1 mm off the edges meet.
    """
    for loop in loops:
        for i in range(len(loop)):
            before, after = loop.segments[i - 1], loop.segments[i]
            if not isinstance(before, Line) or not isinstance(after, Line):
                continue
            (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
            sine = ax * by - ay * bx  # material lies on the left, so inner corners turn right
            if sine < -COVER_SINE:
                yield after.start, ((bx - ax) / -sine, (by - ay) / -sine)


def _inner_arcs(loops: Sequence[Loop]) -> Iterator[tuple[Point, float]]:
    """The middle of each arc that bulges into the material, with its radius; whole circles left out, which `KERF` speaks of."""
    for loop in loops:
        for segment in loop:
            if isinstance(segment, Arc) and segment.sweep < 0 and not loop.is_circle:
                yield segment.point_at(0.5), segment.radius


def _near(at: Point, points: Sequence[Point]) -> bool:
    return any(math.dist(at, point) < KERNEL_CORNER for point in points)


def _has_corner(made: Made, body: Body, at: Point) -> bool:
    claims = [claim for claim in made.layout.claims if claim.side.body is body]
    return any(math.dist(segment.start, at) < KERNEL_CORNER for claim in claims for segment in claim.loop)


def _reach(part: Part) -> shapely.Geometry:
    """All points about a plate that the cutter's middle may go to."""
    import shapely

    material = region_of(part.loops, CHORD_TOLERANCE)
    x0, y0, x1, y1 = material.bounds
    far = 2 * part.stock.kerf
    taken = material.buffer(part.stock.kerf / 2, quad_segs=32)
    return shapely.box(x0 - far, y0 - far, x1 + far, y1 + far).difference(taken)


def _stands_in(at: Point, free: Point, clearance: float, reach: shapely.Geometry, radius: float) -> float:
    """By how many mm the corner of what goes in, half the clearance off both edges, stands in what the cutter leaves."""
    import shapely

    corner = shapely.Point(at[0] + free[0] * clearance / 2, at[1] + free[1] * clearance / 2)
    return float(shapely.distance(corner, reach)) - radius
