"""Bought parts: screws and nuts as solids where they sit, what they weigh, how many to buy."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from panelwright.assemblies.data.made import Made
from panelwright.assemblies.data.parts import Bought
from panelwright.assemblies.data.product import Hardware
from panelwright.joints.spec.fasteners import Fastener, NutBody, ScrewBody

__all__ = ["STEEL", "bought_parts", "hardware_list"]


STEEL = 7850.0
"""Density of fasteners, kg/m³: the usual value for carbon steel (EN 1991-1-1, table A.4 gives 77.0 to 78.5 kN/m³)."""


def bought_parts(made: Sequence[Made]) -> tuple[Bought, ...]:
    """The fasteners of all joints as named solids, sorted by designation and place; parts alike share one solid."""
    from panelwright.plates._kernel.solids.fastener_solids import nut_solid, screw_solid, volume_of

    solids: dict[ScrewBody | NutBody, tuple[Any, float]] = {}
    counts: Counter[str] = Counter()
    found: list[Bought] = []
    fasteners = [(fastener, item.contact.names) for item in made for fastener in item.layout.fasteners]
    for fastener, plates in sorted(fasteners, key=lambda pair: _order(pair[0])):
        body = fastener.body
        if body not in solids:
            if isinstance(body, ScrewBody):
                solid = screw_solid(
                    body.head,
                    d=body.d,
                    dk=body.dk,
                    k=body.k,
                    proud=body.proud,
                    reach=body.reach,
                    key=body.key,
                    key_depth=body.key_depth,
                )
            else:
                solid = nut_solid(body.sides, s=body.s, m=body.m, bore=body.bore)
            solids[body] = (solid, volume_of(solid) * 1e-9 * STEEL)
        counts[fastener.designation] += 1
        solid, mass = solids[body]
        found.append(Bought(f"{fastener.designation} {counts[fastener.designation]}", fastener, solid, mass, plates))
    return tuple(found)


def _order(fastener: Fastener) -> tuple[str, tuple[float, ...]]:
    return fastener.designation, tuple(round(value, 6) + 0.0 for value in fastener.frame.origin)


def hardware_list(made: Sequence[Made], bought: Sequence[Bought]) -> tuple[Hardware, ...]:
    """What to buy, by designation, with the mass of one piece where there is a solid of it."""
    counts: Counter[str] = Counter()
    for item in made:
        for designation, quantity in item.layout.hardware:
            counts[designation] += quantity
    masses: dict[str, float] = {}
    notes: dict[str, str] = {}
    for part in bought:
        counts[part.fastener.designation] += 1
        masses[part.fastener.designation] = part.mass_kg
        notes[part.fastener.designation] = part.fastener.note
    return tuple(Hardware(name, counts[name], masses.get(name), notes.get(name, "")) for name in sorted(counts))
