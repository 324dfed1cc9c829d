"""Bends that nothing holds: they spring back as soon as they are let go.

Plates are held together by joints, and a hinge is one of these links.  Where the two sides of a bend hang together by that bend
alone (it is a *bridge* of the graph of joints), only weight works against the torque with which its links spring back.  A bend
that is a part of its sheet is held also by two tabs of its own: one would leave it free to turn about it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from panelwright.assemblies.data.findings import Finding, Level
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.design.placed_sheet import Chain
from panelwright.assemblies.resolve.resolve import Made, Resolved
from panelwright.joints.meeting.side import Body
from panelwright.joints.spec.strip import Strip
from panelwright.plates.geometry.congruence import centroid
from panelwright.plates.geometry.frame import Vector, cross, minus, plus, scaled

__all__ = ["springing_findings"]

GRAVITY = 9.80665
"""Standard gravity in m/s² (ISO 80000-3)."""

ENOUGH_TABS = 2
"""Tabs on a bend itself that keep it from turning."""

_Pair = tuple[str, str]


def springing_findings(resolved: Resolved, chains: Sequence[Chain], loose: Sequence[frozenset[str]]) -> list[Finding]:
    """A warning for each bend that springs back, and a note where its torque or the weight against it isn't known.

    The weight of either side is taken at its longest lever, whichever way the product stands.  What is `loose` on one side
    of a bend only, such as a flap that is to swing, needs no hold.
    """
    bends = [made for made in resolved.made if made.layout.strip is not None]
    if not bends:
        return []
    own = {made.contact.first.body.name for made in bends if made.contact.first.body is made.contact.second.body}
    # what could not be joined has its error already
    links = [(a, b) for error in resolved.failures for a, b in pairwise(error.plates)]
    links += [made.contact.names for made in resolved.made if made.layout.strip is None]
    links += [pair for chain in chains for pair in pairwise(chain.parts)]
    found = []
    for made in bends:
        strip = made.layout.strip
        assert strip is not None
        a, b = made.contact.names
        hinges = [item.contact.names for item in bends if item is not made and item.contact.names[0] not in own]
        near, far = (a, b) if a != b else _neighbours(a, chains)
        others = [pair for pair in (*links, *hinges) if a != b or a not in pair]
        sides = [_reached(name, others) for name in (near, far)]
        if sides[0] & sides[1] or (a == b and _tabs_on(a, resolved.made) >= ENOUGH_TABS) or _swings(sides, loose):
            continue
        weights = [_weight(side, strip, resolved) for side in sides]
        torque = strip.numbers.get("spring_back_nmm")
        if torque is not None and all(weight is not None and weight >= torque for weight in weights):
            continue
        found.append(_finding(made, strip, weights))
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


def _tabs_on(name: str, made: Sequence[Made]) -> int:
    """How many tabs, fingers and screws hold a plate to others."""
    return sum(
        sum(claim.action == "add" for claim in item.layout.claims) + len(item.layout.fasteners)
        for item in made
        if name in item.contact.names
    )


def _swings(sides: Sequence[frozenset[str]], loose: Sequence[frozenset[str]]) -> bool:
    """Whether one side of a bend is loose as a whole, and the other is no part of the same."""
    one, other = sides
    return bool(one and other) and any((one <= group) != (other <= group) for group in loose)


def _weight(side: frozenset[str], strip: Strip, resolved: Resolved) -> float | None:
    """The most in N·mm that the weight of one side can turn it by about the middle of a bend; None if it isn't known."""
    total = 0.0
    turned: Vector = (0.0, 0.0, 0.0)
    for body, part in zip(resolved.bodies, resolved.flats, strict=True):
        if part.name not in side:
            continue
        if part.mass_kg is None:
            return None
        total += part.mass_kg
        turned = plus(turned, scaled(_middle(body, part), part.mass_kg))
    if total <= 0:
        return 0.0
    bend = strip.bend
    away = cross(minus(scaled(turned, 1 / total), bend.middle), bend.first.body.frame.direction((*bend.first.along, 0.0)))
    return total * GRAVITY * math.hypot(*away)


def _middle(body: Body, part: Part) -> Vector:
    """Where the middle of a plate's material stands; of a bent one, that of its flat shape, put where it is bent to."""
    return body.point((*centroid(part.loops), part.stock.t / 2))


def _finding(made: Made, strip: Strip, weights: Sequence[float | None]) -> Finding:
    a, b = made.contact.names
    torque, known = strip.numbers.get("spring_back_nmm"), [weight for weight in weights if weight is not None]
    weight = min(known) if len(known) == len(weights) else None
    where = f"the bend {a!r}" if a == b else f"the bend between {a!r} and {b!r}"
    help_ = "join what lies on both sides of it to one more plate, or add a flap that is to swing with loose=True"
    level: Level = "warning" if torque is not None and weight is not None else "info"
    if torque is not None and weight is not None:
        text = f"it springs back with {torque:.3g} Nmm, against {weight:.2g} Nmm of weight at most"
    else:
        springs = "" if torque is None else f" with {torque:.3g} Nmm"
        lacks = " and no ".join(
            name for name, value in (("shear modulus", torque), ("density", weight)) if value is None
        )
        text = f"it springs back{springs}; whether weight holds it is not proven, as its stock states no {lacks}"
    numbers = {"spring_back_nmm": torque, "weight_nmm": weight}
    return Finding(
        level,
        "SPRINGS",
        (a,) if a == b else (a, b),
        f"nothing holds {where}: {text}; {help_}",
        strip.bend.middle,
        {name: value for name, value in numbers.items() if value is not None},
    )
