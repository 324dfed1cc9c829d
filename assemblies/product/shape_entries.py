"""What the manifest tells of shapes: every panel's finished outline, and where in the product each plate stands.

With these two a folder can be laid beside another one by what its plates are, whatever they are called and whatever kerf their
cut paths were drawn for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from panelwright.assemblies.data.parts import Panel, Part
from panelwright.assemblies.data.product import Product
from panelwright.plates.geometry.bending import RoundPiece
from panelwright.plates.geometry.congruence import carrying
from panelwright.plates.geometry.frame import Frame, Vector
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.outlines.svg_path import Pen
from panelwright.plates.tolerances import ROUNDING

from .json_entries import plain

__all__ = ["outline_entry", "placed_panel", "standing_entries"]

AXIS_DIGITS = 9
"""Decimals of unit vectors: over a plate of a metre they are good to a nanometre, far below what coordinates are written to."""


def outline_entry(panel: Panel) -> dict[str, Any]:
    """A panel's finished shape and its marks as commands of SVG paths in mm, seen from the show face, y down from its top.

    >>> from panelwright.plates.geometry.curves import loop_through
    >>> from panelwright.plates.materials.stock import Stock
    >>> edge = loop_through([(0, 0), (50, 0), (50, 30), (0, 30)])
    >>> lid = Panel("lid", Stock("card", thickness=2, kerf=0.2), ("lid",), (edge,), (edge,), (), 1500.0, None)
    >>> outline_entry(lid)
    {'loops': ['M 0 30 L 50 30 L 50 0 L 0 0 Z'], 'marks': [], 'panel': 'lid'}
    """
    pen = Pen(0.0, panel.bbox_mm[1])
    return {
        "loops": [pen.path(loop.segments) for loop in panel.loops],
        "marks": [pen.path(mark) for mark in panel.marks if mark],
        "panel": panel.name,
    }


def standing_entries(product: Product) -> list[dict[str, Any]]:
    """Where each plate stands: the frame that carries its panel, as drawn, into the product, material from z = 0 up.

    `x` and `y` are unit vectors, z is across them.  `is_turned_over` tells plates that are cut as the mirror image; their frame
    is that of the piece once it has been turned over.  `bends` are those of a bent plate in order.  Nothing for products laid
    out together, which stand nowhere.
    """
    by_name = {part.name: part for part in product.parts}
    entries = []
    for panel in product.panels:
        for name in panel.plates:
            part = by_name.get(name)
            if part is None:
                continue
            is_over = name in panel.turned_over
            frame = placed_panel(panel, part, is_turned_over=is_over)
            entries.append(
                {
                    "bends": _bends(part),
                    "is_turned_over": is_over,
                    "origin_mm": plain(frame.origin),
                    "panel": panel.name,
                    "plate": name,
                    "x": plain(frame.x, AXIS_DIGITS),
                    "y": plain(frame.y, AXIS_DIGITS),
                }
            )
    order = {part.name: number for number, part in enumerate(product.parts)}
    return sorted(entries, key=lambda entry: order[str(entry["plate"])])


def placed_panel(panel: Panel, part: Part, *, is_turned_over: bool) -> Frame:
    """The frame that carries a panel, as drawn, to where one of its plates stands."""
    motion = _drawn_to_part(panel, part, is_turned_over)
    (a, c), (b, d) = motion.turned((1.0, 0.0)), motion.turned((0.0, 1.0))
    lift = part.stock.t if motion.flips else 0.0
    up = -1.0 if motion.flips else 1.0
    x, y = part.frame.direction((a, c, 0.0)), part.frame.direction((b, d, 0.0))
    z: Vector = part.frame.direction((0.0, 0.0, up))
    return Frame(part.frame.point((motion.e, motion.f, lift)), x, y, z)


def _drawn_to_part(panel: Panel, part: Part, is_turned_over: bool) -> Motion:
    """The motion from the panel as drawn to the part's own plane."""
    shift = Motion.shift(min(loop.bounds[0] for loop in part.loops), min(loop.bounds[1] for loop in part.loops))
    if _is_at(panel, part, shift):
        return shift
    has_grain = part.stock.grain is not None
    found = carrying(panel.loops, part.loops, is_mirrored=is_turned_over, has_grain=has_grain)
    return shift if found is None else found


def _is_at(panel: Panel, part: Part, shift: Motion) -> bool:
    """Whether the panel, shifted only, is the part: all of it, corner by corner."""
    pairs = zip(panel.loops, part.loops, strict=False)
    return len(panel.loops) == len(part.loops) and all(
        len(drawn) == len(own)
        and all(math.dist(shift.apply(s.start), t.start) < ROUNDING for s, t in zip(drawn, own, strict=True))
        for drawn, own in pairs
    )


def _bends(part: Part) -> Sequence[dict[str, Any]]:
    if part.unrolled is None:
        return []
    rolled = [piece for piece in part.unrolled.standing if isinstance(piece, RoundPiece)]
    return [{"angle_deg": plain(math.degrees(piece.angle)), "radius_mm": plain(piece.radius)} for piece in rolled]
