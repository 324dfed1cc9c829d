"""What the plan finds: parts that lock each other, and steps that take more than two hands."""

from __future__ import annotations

import math
from collections.abc import Sequence

from panelwright.assemblies.data.assembly_plan import Drop, Lock, Plan, PlanStep, ShutIn
from panelwright.assemblies.data.findings import Finding, Level
from panelwright.assemblies.data.name_lists import called, listed
from panelwright.assemblies.data.product import Product
from panelwright.plates.geometry.frame import Vector, dot
from panelwright.plates.tolerances import MEETING_COSINE

__all__ = ["order_findings", "way_words"]

EASY = 2
"""Pieces that one person puts together: one in either hand, or one on the bench."""

HANDS = 3
"""Pieces that one person can just hold at once: one on the bench, two in hand."""

MOST_PAIRS = 6
"""How many pairs of parts a message tells."""

_WAYS: tuple[tuple[str, Vector], ...] = (
    ("up", (0.0, 0.0, 1.0)),
    ("down", (0.0, 0.0, -1.0)),
    ("to the right", (1.0, 0.0, 0.0)),
    ("to the left", (-1.0, 0.0, 0.0)),
    ("to the rear", (0.0, 1.0, 0.0)),
    ("to the front", (0.0, -1.0, 0.0)),
)


def order_findings(product: Product, plan: Plan) -> list[Finding]:
    """One finding for each set of parts that lock, in the order found, then one for the step that asks for most hands."""
    # what bends is no lock: a wall goes round the tabs of its base as it is bent, which the plan, of rigid parts, cannot tell
    bent = {part.name for part in product.parts if part.unrolled is not None}
    found = [_locked(product, lock) for lock in plan.locks if bent.isdisjoint(lock.parts)]
    locked = {frozenset(lock.parts) for lock in plan.locks}
    lumps = [step.group for step in plan.steps if len(step.group) > 1 and not step.onto]
    found += [_unplanned(product, group) for group in lumps if frozenset(group) not in locked]
    found += [_shut_in(shut) for shut in plan.shut_in]
    # what touches nothing at all is told as that
    floating = {name for finding in product.findings if finding.code == "FLOATS" for name in finding.plates}
    found += [_drops(drop) for drop in plan.drops if floating.isdisjoint(drop.parts)]
    busy = max(plan.steps, key=lambda step: step.pieces, default=None)
    if busy is not None and busy.pieces > EASY and not plan.unknown:
        found.append(_hands(plan, busy))
    return found


def _locked(product: Product, lock: Lock) -> Finding:
    plates = tuple(name for part in product.parts if part.name in lock.parts for name in part.plates)
    who = listed(lock.parts, is_quoted=True)
    if lock.certainty == "rigid":
        graveness: Level = "error"
        words = f"{who} lock each other: none of them can even begin to move along any line, so no order puts them together"
    else:
        graveness = "warning"
        words = f"no order was found that puts {who} together: along the directions tried, in one move or two, none comes off"
    said = [f"{a!r} comes off {b!r} {_ways(ways)}" for a, b, ways in lock.pairs]
    if said:
        words += f"; alone, {'; '.join(said[:MOST_PAIRS])}" + (
            f"; and {len(said) - MOST_PAIRS} more" * (len(said) > MOST_PAIRS)
        )
    if lock.hidden:
        words += f"; no driver reaches the screws between {' or between '.join(f'{a!r} and {b!r}' for a, b in lock.hidden)}"
    frees = [f"{a!r} and {b!r}" for a, b in lock.frees]
    if frees:
        words += (
            f"; another joint between {' or between '.join(frees[:MOST_PAIRS])} would free all: change one, or leave a part out"
        )
    else:
        words += "; change several of their joints, or leave a part out"
    return Finding(
        graveness, "LOCKED", plates, words, numbers={"parts": float(len(lock.parts)), "joints_that_free": float(len(frees))}
    )


def _unplanned(product: Product, group: Sequence[str]) -> Finding:
    plates = tuple(name for part in product.parts if part.name in group for name in part.plates)
    return Finding(
        "note",
        "UNPLANNED",
        plates,
        f"in which order {listed(group, limit=MOST_PAIRS, is_quoted=True)} go together was not looked at: with "
        f"{len(product.parts)} parts the search was stopped; what goes onto them after that is known; put parts that belong "
        "together into sub-assemblies",
        numbers={"parts": float(len(group))},
    )


def _shut_in(shut: ShutIn) -> Finding:
    ways = " or ".join(f"{way_words(way)} ({listed(by, is_quoted=True)})" for by, way in shut.ways[:MOST_PAIRS])
    off = listed(shut.opened, limit=MOST_PAIRS, is_quoted=True)
    screws = f", even once screws are out and {off} {'is' if len(shut.opened) == 1 else 'are'} off" if shut.opened else ""
    hidden = [f"{a!r} and {b!r}" for a, b in shut.hidden[:MOST_PAIRS]]
    unreached = f"; no driver reaches the screws between {' or between '.join(hidden)}" if hidden else ""
    return Finding(
        "warning",
        "SHUT-IN",
        shut.parts,
        f"{_whole(shut.parts)} is loose, but cannot be taken out with what is joined in place{screws}, in one move or two "
        f"along the directions tried: least is in the way {ways}{unreached}; open one of these, or leave out loose=True if it "
        "is to stay in",
        numbers={"in_the_way": float(len(shut.ways[0][0]))},
    )


def _drops(drop: Drop) -> Finding:
    if math.isinf(drop.far_mm):
        where, numbers = "nothing is below it", {}
    else:
        where, numbers = f"it drops by {drop.far_mm:.1f} mm", {"drop_mm": drop.far_mm}
    return Finding(
        "warning",
        "DROPS",
        drop.parts,
        f"{_whole(drop.parts)} is loose, and nothing carries it where it is drawn: {where}; give it something to rest on, or "
        "place it where it will lie",
        numbers=numbers,
    )


def _whole(parts: Sequence[str]) -> str:
    """A loose plate by its name, several by that of the sub-assembly that they are."""
    name = called(parts)
    return repr(name) if name else listed(parts, is_quoted=True)


def _hands(plan: Plan, step: PlanStep) -> Finding:
    number = plan.steps.index(step) + 1
    level: Level = "note" if step.pieces <= HANDS else "warning"
    moved = listed(step.group, is_quoted=True)
    return Finding(
        level,
        "HANDS",
        step.group,
        f"at step {number} of assembly, where {moved} {'goes' if len(step.group) == 1 else 'go'} in, {step.pieces} pieces that"
        " nothing joins to each other yet must be held at once: tape them together, ask for help, or join some before",
        numbers={"pieces": float(step.pieces), "limit": float(EASY), "step": float(number)},
    )


def _ways(ways: Sequence[Vector]) -> str:
    return "no way" if not ways else f"only {' or '.join(way_words(way) for way in ways[:MOST_PAIRS])}"


def way_words(way: Vector) -> str:
    """A direction in words, of the product as the design stands it: its front looks towards negative y.

    >>> way_words((0.0, 0.0, 1.0)), way_words((0.6, 0.0, -0.8))
    ('up', 'along (0.60, 0.00, -0.80)')
    """
    for words, plain in _WAYS:
        if dot(way, plain) > 1 - MEETING_COSINE:
            return words
    return f"along ({', '.join(f'{v + 0.0:.2f}' for v in way)})"
