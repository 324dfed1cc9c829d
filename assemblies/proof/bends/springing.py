"""What holds bends: a warning for each that springs back, with its torque, the weight against it and how far it opens.

A hinge is one link of the graph of joints.  Where the two sides of a bend hang together by that bend alone (it is a *bridge* of
that graph), only weight works against the torque with which its links spring back.  A bend that is a part of its sheet is held
also by tabs of its own, from the first of them to the last: what goes on beyond these is a bend by itself, with one side held.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from panelwright.assemblies.data.findings import Finding, Level
from panelwright.assemblies.data.made import Made
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.design.placed_sheet import Chain
from panelwright.assemblies.resolve.resolve import Resolved
from panelwright.assemblies.resolve.wall_ends import meeting_place, what_closes
from panelwright.joints.meeting.side import Bend, Body
from panelwright.joints.spec.strip import Strip
from panelwright.plates.geometry.congruence import centroid
from panelwright.plates.geometry.frame import Frame, Vector, cross, minus, plus, scaled
from panelwright.plates.geometry.probe import Interval
from panelwright.plates.tolerances import CONTACT_TOLERANCE

__all__ = ["springing_findings"]

GRAVITY = 9.80665
"""Standard gravity in m/s² (ISO 80000-3)."""

ENOUGH_WEIGHT = 10.0
"""Weight at its longest lever over the torque of a bend from which on nothing is said: even a tenth of that lever holds, and so
does friction of the whole weight.  Chosen here; no source."""

LEAST_OPENING = 0.5
"""How far a bend opens, in mm, before it is worth a word: the last land of a wall gives less.  Chosen here; no source."""

_Pair = tuple[str, str]


@dataclass(frozen=True)
class _Free:
    """A stretch of a bend that nothing holds at one end at least.

    From where to where in mm along the bend, and what hangs at its two ends, by the names of the plates.  The side that `moves`
    opens: 0 the one before it, 1 the one after; None the lighter.
    """

    span: Interval
    sides: tuple[frozenset[str], frozenset[str]]
    moves: int | None = None


def springing_findings(
    resolved: Resolved, chains: Sequence[Chain], loose: Sequence[frozenset[str]], seams: Sequence[Finding] = ()
) -> list[Finding]:
    """A warning for each bend that springs back, and a note where weight may hold it or one of the two isn't known.

    The weight of either side is taken at its longest lever, whichever way the product stands.  What is `loose` on one side
    of a bend only, such as a flap that is to swing, needs no hold.  `seams` are the notes of open seams, which say what closes
    them; where there is none of a wall that goes all the way round, the message says it.
    """
    bends = [made for made in resolved.made if made.layout.strip is not None]
    if not bends:
        return []
    own = {made.contact.first.body.name for made in bends if made.contact.first.body is made.contact.second.body}
    # what could not be joined has its error already
    links = [(a, b) for error in resolved.failures for a, b in itertools.pairwise(error.plates)]
    links += [made.contact.names for made in resolved.made if made.layout.strip is None]
    links += [pair for chain in chains for pair in itertools.pairwise(chain.parts)]
    found: list[Finding] = []
    for made in bends:
        strip = made.layout.strip
        assert strip is not None
        a, b = made.contact.names
        hinges = [item.contact.names for item in bends if item is not made and item.contact.names[0] not in own]
        near, far = (a, b) if a != b else _neighbours(a, chains)
        others = [pair for pair in (*links, *hinges) if a != b or a not in pair]
        sides = (_reached(near, others), _reached(far, others))
        if sides[0] & sides[1] or _swings(sides, loose):
            continue
        holds = _holds_on(a, strip.bend, resolved.made) if a == b else []
        told = [
            (free, weights, opens)
            for free in _free_stretches(strip.bend, sides, holds, others)
            if (opens := _opens(strip.bend, free, resolved)) >= LEAST_OPENING
            and not _is_held_by(weights := _weights(free, made, resolved), strip)
        ]
        if told:
            # two ends of one bend are one fault: the end that opens further is told
            free, weights, opens = max(told, key=lambda one: one[2])
            seam = _seam(a, chains, links, resolved, seams)
            help_ = _help(strip.bend, free, (near, far), len(told), resolved, seam)
            found.append(_finding(made, free, weights, opens, help_=help_))
    return found


def _neighbours(name: str, chains: Sequence[Chain]) -> tuple[str | None, str | None]:
    """What comes before and after a bent part of a sheet."""
    parts = next(chain.parts for chain in chains if name in chain.parts)
    at = parts.index(name)
    return (parts[at - 1] if at > 0 else None), (parts[at + 1] if at + 1 < len(parts) else None)


def _reached(name: str | None, links: Sequence[_Pair]) -> frozenset[str]:
    """All plates that hang together with one; none beyond the end of a sheet."""
    found: set[str] = set()
    waiting = [] if name is None else [name]
    while waiting:
        here = waiting.pop()
        if here not in found:
            found.add(here)
            waiting += [b if a == here else a for a, b in links if here in (a, b)]
    return frozenset(found)


def _holds_on(name: str, bend: Bend, made: Sequence[Made]) -> list[tuple[Interval, str]]:
    """Where along a bend of a sheet tabs, slots and screws hold it, in mm from its beginning, and to which plate, in order."""
    found: list[tuple[Interval, str]] = []
    for item in made:
        names = item.contact.names
        if name not in names or names[0] == names[1]:
            continue
        own = [claim for claim in item.layout.claims if claim.side.body.name == name]
        for claim in [claim for claim in own if claim.action == "add"] or own:
            ways = [bend.first.seen(corner)[1] for corner in claim.loop.points(CONTACT_TOLERANCE)]
            found.append(((min(ways), max(ways)), names[1] if names[0] == name else names[0]))
    return sorted(found)


def _free_stretches(
    bend: Bend, sides: tuple[frozenset[str], frozenset[str]], holds: Sequence[tuple[Interval, str]], links: Sequence[_Pair]
) -> list[_Free]:
    """The stretches of a bend that nothing holds at both their ends.

    What hangs together by more than the bend, two tabs of one plate or a tab and one side, holds it from the first to the last
    of these.  Where nothing holds it at two places, all of the bend is one stretch.
    """
    groups: list[tuple[float, float, frozenset[str]]] = []
    nodes = [((0.0, 0.0), sides[0]), *((place, _reached(mate, links)) for place, mate in holds)]
    for (low, high), names in [*nodes, ((bend.length, bend.length), sides[1])]:
        for k, (first, last, known) in enumerate(groups):
            if known & names:
                groups[k] = (min(first, low), max(last, high), known)
                break
        else:
            groups.append((low, high, names))
    if len(groups) == len(nodes) + 1:
        return [_Free((0.0, bend.length), sides)]
    found: list[_Free] = []
    (_, reach, before), *rest = sorted(groups, key=lambda group: group[:2])
    for low, high, names in rest:
        if low - reach > CONTACT_TOLERANCE:
            moves = 0 if reach <= 0 else 1 if low >= bend.length else None
            found.append(_Free((reach, low), (before, names), moves))
        if high >= reach:
            reach, before = high, names
    return found


def _swings(sides: Sequence[frozenset[str]], loose: Sequence[frozenset[str]]) -> bool:
    """Whether one side of a bend is loose as a whole, and the other is no part of the same."""
    one, other = sides
    return bool(one and other) and any((one <= group) != (other <= group) for group in loose)


def _weights(free: _Free, made: Made, resolved: Resolved) -> list[float | None]:
    """The most in N·mm that the weight of what moves can turn it by about the middle of the stretch; None where not known."""
    strip = made.layout.strip
    assert strip is not None
    moving = free.sides if free.moves is None else free.sides[free.moves : free.moves + 1]
    a, b = made.contact.names
    return [_weight(side, strip.bend, free.span, resolved, sheet=a if a == b else None) for side in moving]


def _is_held_by(weights: Sequence[float | None], strip: Strip) -> bool:
    torque = strip.numbers.get("spring_back_nmm")
    return torque is not None and all(weight is not None and weight >= ENOUGH_WEIGHT * torque for weight in weights)


def _weight(side: frozenset[str], bend: Bend, span: Interval, resolved: Resolved, *, sheet: str | None) -> float | None:
    """The same of one side; half of the stretch hangs on either, where it is a part of its own sheet."""
    total, extra = 0.0, 0.0
    turned: Vector = (0.0, 0.0, 0.0)
    for body, part in zip(resolved.bodies, resolved.flats, strict=True):
        if part.name not in side and part.name != sheet:
            continue
        if part.mass_kg is None:
            return None
        if part.name == sheet:
            length = span[1] - span[0]
            # half of it, its middle a fourth of the length away
            extra = part.mass_kg * length / bend.length / 2 * GRAVITY * length / 4
            continue
        total += part.mass_kg
        turned = plus(turned, scaled(_middle(body, part), part.mass_kg))
    if total <= 0:
        return extra
    middle = bend.piece.point(bend.first.flat(sum(bend.span) / 2, sum(span) / 2), bend.thickness / 2)
    away = cross(minus(scaled(turned, 1 / total), middle), bend.first.body.frame.direction((*bend.first.along, 0.0)))
    return total * GRAVITY * math.hypot(*away) + extra


def _middle(body: Body, part: Part) -> Vector:
    """Where the middle of a plate's material stands; of a bent one, that of its flat shape, put where it is bent to."""
    return body.point((*centroid(part.loops), part.stock.t / 2))


def _opens(bend: Bend, free: _Free, resolved: Resolved) -> float:
    """How far in mm a stretch that goes flat takes the side that moves, or the end of the sheet where nothing follows."""
    start, stop = free.span
    begun, bent = _tangent(bend, start), _tangent(bend, stop)
    straight = begun.shifted(scaled(begun.x, stop - start))
    low, high = bend.span
    ends = [[bend.piece.point(bend.first.flat(u, v), 0.0) for u in (low, high)] for v in (start, stop)]
    ways: list[float] = []
    # seen from the near side the far one goes from where it stands bent to where it lies flat, and the other way round
    for side, own, (here, there) in zip(free.sides, ends, ((straight, bent), (bent, straight)), strict=True):
        corners = [point for body in resolved.bodies if body.name in side for point in _corners(body)]
        ways.append(max(math.dist(point, there.point(here.local(point))) for point in (*own, *corners)))
    return min(ways) if free.moves is None else ways[free.moves]


def _tangent(bend: Bend, v: float) -> Frame:
    """Where the sheet would lie that goes on flat from v mm along a bend: x across the bend lines, z out of the show face."""
    spot = bend.first.flat(bend.span[0], v)
    ahead, show = bend.piece.direction(spot, (*bend.first.across, 0.0)), bend.piece.direction(spot, (0.0, 0.0, 1.0))
    return Frame.facing(bend.piece.point(spot, 0.0), show=show, right=ahead)


def _corners(body: Body) -> list[Vector]:
    """The corners of a plate's box where they stand, of a bent one those of its flat shape where they are bent to."""
    x0, y0, x1, y1 = body.plate.outline.bounds
    return [body.point(corner) for corner in itertools.product((x0, x1), (y0, y1), (0.0, body.t))]


def _seam(
    name: str, chains: Sequence[Chain], links: Sequence[_Pair], resolved: Resolved, told: Sequence[Finding]
) -> str | None:
    """What closes the open seam of the sheet that a bend is a part of, "" if a note of its own says so; None without."""
    chain = next((one for one in chains if name in one.parts), None)
    bodies = {body.name: body for body in resolved.bodies}
    if chain is None or meeting_place(chain, bodies) is None:
        return None
    ends = (chain.parts[0], chain.parts[-1])
    if any(set(ends) == set(pair) for pair in links):
        return None
    return "" if any(finding.plates == ends for finding in told) else what_closes(chain, bodies)


def _help(
    bend: Bend, free: _Free, ends: tuple[str | None, str | None], count: int, resolved: Resolved, seam: str | None
) -> str:
    closed = f"close the wall's seam ({seam})" if seam else "close the wall's seam"
    if free.moves is None and seam is not None:
        return f"put tabs near both its ends, or {closed}"
    if free.moves is None:
        return "join what lies on both sides of it to one more plate, or add a flap that is to swing with loose=True"
    beyond = ends[free.moves]
    part = next((body for body in resolved.bodies if body.name == beyond), None)
    if part is not None:
        x0, _, x1, _ = part.plate.outline.bounds
        if x1 - x0 >= 2 * part.t:  # the least that `PlacedSheet.faces` picks
            return f"join {beyond!r}, which follows it, as well"
    where = "each of its ends" if count > 1 else "that end"
    return f"put a tab within {_most_free(bend, free, resolved):.1f} mm of {where} too, by tabs(at=[…]), or {closed}"


def _most_free(bend: Bend, free: _Free, resolved: Resolved) -> float:
    """How long in mm the stretch may be that opens by no more than `LEAST_OPENING`."""
    low, high = 0.0, free.span[1] - free.span[0]
    while high - low > 0.01:
        middle = (low + high) / 2
        span = (free.span[0], free.span[0] + middle) if free.moves == 0 else (free.span[1] - middle, free.span[1])
        if _opens(bend, _Free(span, free.sides, free.moves), resolved) < LEAST_OPENING:
            low = middle
        else:
            high = middle
    return math.floor(low * 10) / 10


def _finding(made: Made, free: _Free, weights: Sequence[float | None], opens: float, *, help_: str) -> Finding:
    strip = made.layout.strip
    assert strip is not None
    a, b = made.contact.names
    torque, known = strip.numbers.get("spring_back_nmm"), [weight for weight in weights if weight is not None]
    weight = min(known) if len(known) == len(weights) else None
    where = f"the bend {a!r}" if a == b else f"the bend between {a!r} and {b!r}"
    length = free.span[1] - free.span[0]
    what = f"nothing holds {where}"
    if strip.bend.length - length > CONTACT_TOLERANCE:
        which = "between its tabs" if free.moves is None else "beyond its last tab"
        what += f" {which}, over {length:.0f} of its {strip.bend.length:.0f} mm"
    level: Level = "note"
    if torque is not None and weight is not None and weight >= torque:
        text = (
            f"its {torque:.3g} Nmm of springing back are held by {_shown(weight)} Nmm of weight, lying as it helps most; "
            "upright by none"
        )
    elif torque is not None and weight is not None:
        level = "warning"
        text = f"it springs back with {torque:.3g} Nmm, against {_shown(weight)} Nmm of weight at most"
    else:
        springs = "" if torque is None else f" with {torque:.3g} Nmm"
        lacks = " and no ".join(name for name, value in (("shear modulus", torque), ("density", weight)) if value is None)
        text = f"it springs back{springs}; whether weight holds it is not proven, as its stock states no {lacks}"
    numbers = {"spring_back_nmm": torque, "weight_nmm": weight, "opens_mm": opens}
    if strip.bend.length - length > CONTACT_TOLERANCE:
        numbers["free_mm"] = length
    return Finding(
        level,
        "SPRINGS",
        (a,) if a == b else (a, b),
        f"{what}: {text}; let go, it opens by up to {opens:.0f} mm; {help_}",
        strip.bend.middle,
        {name: value for name, value in numbers.items() if value is not None},
    )


def _shown(value: float) -> str:
    return f"{value:.2g}" if value < 99.5 else f"{value:.0f}"
