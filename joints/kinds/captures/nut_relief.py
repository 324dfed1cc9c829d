"""What a round tool may take of a nut's pocket, and the pocket and slot as it cuts them.

Seen as in `t_nut.py`, the edge with the mate at the top::

            │   │
      ╭─────┘   └─────╮      shoulders whole: they bear the screw's pull
      ╰┐             ┌╯      bored into the ends at the shoulders, so that the nut's corners get there
       │     nut     │       what is left of the ends keeps the nut from turning
       ╰─           ─╯       round beyond the nut, where nothing is borne
            │   │
            ╰───╯            round: a screw's tip, half a diameter short of the end, clears it

A bore of diameter D on the end's own line, its rim on the shoulder, takes D of the end and nothing of the shoulder.  Any other
place from which it frees the corner takes some of both.
"""

from __future__ import annotations

import math

from panelwright.joints.meeting.side import Side
from panelwright.joints.spec.fasteners import NUTS, NutKind
from panelwright.plates.geometry.curves import Arc, Line, Loop, Point, Segment
from panelwright.plates.geometry.probe import Interval
from panelwright.plates.tolerances import ROUNDING

__all__ = ["bored_pocket", "largest_tool", "nuts_for_tool", "round_slot"]

LEAST_END = 0.3
"""Least share of the nut's thickness along which a pocket's ends must hold its flats (common practice, no source).

The ends work only while the screw is started by hand.  Once it pulls, friction under the nut holds more than the thread turns:
steel on wood, 0.2 at the least, at the mean radius (s + hole) / 4 makes 0.40 to 0.83 N mm per newton for M2.5 to M6, the
thread 0.16 P + 0.58 d2 · 0.14 = 0.25 to 0.59 (VDI 2230, from memory)."""


def largest_tool(nut: NutKind) -> float:
    """Diameter in mm of the largest tool after which a pocket's ends still hold the nut; always narrower than its slot.

    >>> largest_tool(NUTS["ISO 4032"]["M5"]), largest_tool(NUTS["ISO 4035"]["M5"])
    (3.29, 1.89)
    """
    return round((1 - LEAST_END) * nut.m, 6)


def nuts_for_tool(tool: float, widest: float) -> list[str]:
    """Designations of nuts that are held after a tool of this diameter, at most `widest` mm across corners; small ones first.

    >>> nuts_for_tool(3.175, 10), nuts_for_tool(6, 20)
    (['ISO 4032 M5', 'DIN 557 M6'], [])
    """
    kinds = [
        (nut.s, i, f"{standard} {size}")
        for i, (standard, sizes) in enumerate(NUTS.items())
        for size, nut in sizes.items()
        if largest_tool(nut) >= tool - ROUNDING and nut.corners <= widest + ROUNDING
    ]
    return [name for *_, name in sorted(kinds)]


def bored_pocket(side: Side, u: Interval, v: Interval, tool: float) -> Loop:
    """A pocket over two intervals whose shoulders lie at `v[1]`, as a tool of this diameter cuts it, counter-clockwise."""
    (left, right), (far, near), r = u, v, tool / 2
    return _closed(
        side,
        [
            ((left + r, far - r), None),
            ((right - r, far - r), (right - r, far)),
            ((right, far), None),
            ((right, near - tool), (right, near - r)),
            ((right, near), None),
            ((left, near), (left, near - r)),
            ((left, near - tool), None),
            ((left, far), (left + r, far)),
        ],
    )


def round_slot(side: Side, u: Interval, v: Interval) -> Loop:
    """A slot over two intervals with a half circle at `v[0]`, counter-clockwise."""
    (left, right), (far, near) = u, v
    r = (right - left) / 2
    nodes: list[_Node] = [((right, far + r), None), ((right, near), None), ((left, near), None)]
    return _closed(side, [*nodes, ((left, far + r), (left + r, far + r))])


_Node = tuple[Point, Point | None]
"""A (u, v) on a loop, and the middle about which the loop goes on from there, to the left; None for straight on."""


def _closed(side: Side, nodes: list[_Node]) -> Loop:
    mirrored = side.along[0] * side.across[1] - side.along[1] * side.across[0] < 0
    segments: list[Segment] = []
    for (here, middle), (there, _) in zip(nodes, [*nodes[1:], nodes[0]], strict=True):
        start, end = side.flat(*here), side.flat(*there)
        if middle is None:
            segments.append(Line(start, end))
            continue
        before, after = (math.atan2(y - middle[1], x - middle[0]) for x, y in (here, there))
        turn = (after - before) % math.tau
        segments.append(Arc(start, end, side.flat(*middle), -turn if mirrored else turn))
    return Loop(tuple(segments)).counter_clockwise()
