"""A product in one frame: all plates, all joins with what applies to each, sub-assemblies taken apart."""

from __future__ import annotations

from collections.abc import Iterator

from panelwright.joints.joining.join import hold_of
from panelwright.joints.joining.touching import sorted_touching
from panelwright.joints.meeting.contact import Body, Hold
from panelwright.joints.spec.pattern import Joint
from panelwright.plates.errors import DesignError
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.materials.stock import Stock

from .collected import Collected
from .joins import ClearanceOf, Join, Omission, Rule

__all__ = ["flattened"]


def flattened(assembly: Collected) -> tuple[tuple[Body, ...], tuple[Rule, ...], tuple[Omission, ...]]:
    """The plates of an assembly by number, its joins, and what `join_touching` left out, in a stable order.

    Raises `DesignError` if there is no plate.
    """
    slit = {name: chain.hinge.sizes for chain in assembly.chains() for name in chain.parts}
    bodies = tuple(
        Body(number, placed.name, placed.plate, placed.frame, placed.roll, slit.get(placed.name))
        for number, placed in enumerate(assembly.placed_plates())
    )
    if not bodies:
        raise DesignError(f"assembly {assembly.name!r} holds no plates; add one with add()")
    omitted: list[Omission] = []
    rules = tuple(_rules((assembly,), {body.name: body for body in bodies}, "", Frame(), omitted))
    return bodies, rules, tuple(omitted)


def _rules(
    chain: tuple[Collected, ...], bodies: dict[str, Body], prefix: str, view: Frame, omitted: list[Omission]
) -> Iterator[Rule]:
    """The joins of the first assembly of a chain, which stands in the second one and so on, and of what stands in it."""
    assembly = chain[0]
    joins = list(assembly.joins)
    if assembly.touching_joint is not None:
        joint, skip, line = assembly.touching_joint
        pairs, left = sorted_touching(assembly, skip, joint)
        joins += [Join(pair.edge, pair.broad, joint, line, is_found=True) for pair in pairs]
        omitted += [Omission(prefix, item, joint, line) for item in left]
    for join in joins:
        holds = [
            Hold(bodies[prefix + face.placed.name], face.place, face.describe, view, own)
            for face in (join.first, join.second)
            for own in (hold_of(face, assembly.body_of(face.placed)),)
        ]
        stocks = [hold.body.plate.stock for hold in holds]
        clearance, whose = _clearance(chain, join.joint, stocks[0], stocks[1])
        relief = next((one.relief for one in chain if one.relief is not None), None)
        yield Rule(join, holds[0], holds[1], clearance, join.joint.relief or relief, whose)
    for sub in assembly.sub_assemblies:
        yield from _rules((sub.assembly, *chain), bodies, f"{prefix}{sub.name}.", sub.frame.then(view), omitted)


def _clearance(chain: tuple[Collected, ...], joint: Joint, first: Stock, second: Stock) -> tuple[float, ClearanceOf]:
    """Clearance of a joint made in the first assembly of a chain, each of which stands in the next, and whose it is.

    The first that says anything of it counts; where none does, the stocks do.
    """
    saying = next((one for one in chain if one.says_clearance(first, second)), None)
    whose: ClearanceOf = "joint" if joint.clearance is not None else "stock" if saying is None else "assembly"
    return (saying or chain[0]).clearance_of(joint, first, second), whose
