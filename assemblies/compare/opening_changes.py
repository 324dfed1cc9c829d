"""Which holes, slots and windows of a panel came, went, moved or changed their size."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from panelwright.plates.geometry.congruence import centroid
from panelwright.plates.geometry.curves import Arc, Loop, Point
from panelwright.plates.tolerances import CONTACT_TOLERANCE

from .overlay_match import Overlay

__all__ = ["OpeningChange", "opening_changes"]

FAR = 0.5
"""An opening moved by more than so many of its own widths, and no less alike than others, is another one."""


@dataclass(frozen=True, slots=True)
class OpeningChange:
    """One opening: its size in words before and after, and where its middle is in mm from the new panel's lower left corner.

    `what` is "new", "gone", "moved" or "resized"; None stands for what is not there.
    """

    what: Literal["new", "gone", "moved", "resized"]
    before: str | None
    after: str | None
    place_before_mm: Point | None
    place_mm: Point | None


def opening_changes(overlay: Overlay) -> tuple[OpeningChange, ...]:
    """The openings that differ where the old panel is laid on the new one: gone, moved, resized, new, each by place."""
    motion = overlay.motion
    ours = [loop.moved(motion) for loop in overlay.before.loops if loop.area < 0]
    theirs = [loop for loop in overlay.after.loops if loop.area < 0]
    ours, theirs = _without_same(ours, theirs)
    changes = []
    for first, second in _pairs(ours, theirs):
        ours.remove(first)
        theirs.remove(second)
        what: Literal["moved", "resized"] = "moved" if _is_same_size(first, second) else "resized"
        changes.append(OpeningChange(what, _words(first), _words(second), _middle(first), _middle(second)))
    changes += [OpeningChange("gone", _words(loop), None, _middle(loop), None) for loop in ours]
    changes += [OpeningChange("new", None, _words(loop), None, _middle(loop)) for loop in theirs]
    order = ("gone", "moved", "resized", "new")
    return tuple(sorted(changes, key=lambda c: (order.index(c.what), c.place_mm or c.place_before_mm or (0.0, 0.0))))


def _without_same(ours: list[Loop], theirs: list[Loop]) -> tuple[list[Loop], list[Loop]]:
    """Both without the openings that are the same and in the same place."""
    import shapely

    if not ours or not theirs:
        return list(ours), list(theirs)
    tree = shapely.STRtree([shapely.Point(_middle(loop)) for loop in theirs])
    left, taken = [], set()
    for loop in ours:
        near = tree.query(shapely.Point(_middle(loop)), predicate="dwithin", distance=CONTACT_TOLERANCE).tolist()
        twin = next((k for k in sorted(near) if k not in taken and _is_same(loop, theirs[k])), None)
        if twin is None:
            left.append(loop)
        else:
            taken.add(twin)
    return left, [loop for k, loop in enumerate(theirs) if k not in taken]


def _is_same(a: Loop, b: Loop) -> bool:
    return all(abs(p - q) < CONTACT_TOLERANCE for p, q in zip(a.bounds, b.bounds, strict=True)) and (
        abs(a.area - b.area) < CONTACT_TOLERANCE * max(1.0, a.length)
    )


def _is_same_size(a: Loop, b: Loop) -> bool:
    return abs(a.area - b.area) < CONTACT_TOLERANCE * max(1.0, a.length) and abs(a.length - b.length) < 10 * CONTACT_TOLERANCE


def _pairs(ours: Sequence[Loop], theirs: Sequence[Loop]) -> list[tuple[Loop, Loop]]:
    """Openings that are one and the same before and after: nearest first, those that overlap or are alike."""
    near = []
    for i, first in enumerate(ours):
        for k, second in enumerate(theirs):
            away = math.dist(_middle(first), _middle(second))
            overlaps = _boxes_overlap(first, second)
            if overlaps or (_is_same_size(first, second) and away < FAR * max(_extent(first), _extent(second)) + 10.0):
                near.append((not overlaps, away, i, k))
    found, ones, others = [], set(), set()
    for _, _, i, k in sorted(near):
        if i not in ones and k not in others:
            ones.add(i)
            others.add(k)
            found.append((ours[i], theirs[k]))
    return found


def _boxes_overlap(a: Loop, b: Loop) -> bool:
    left, low, right, top = a.bounds
    x0, y0, x1, y1 = b.bounds
    return left < x1 and x0 < right and low < y1 and y0 < top


def _extent(loop: Loop) -> float:
    x0, y0, x1, y1 = loop.bounds
    return max(x1 - x0, y1 - y0)


def _middle(loop: Loop) -> Point:
    only = loop.segments[0]
    x, y = only.center if loop.is_circle and isinstance(only, Arc) else centroid([loop])
    return (round(x, 4) + 0.0, round(y, 4) + 0.0)


def _words(loop: Loop) -> str:
    only = loop.segments[0]
    if loop.is_circle and isinstance(only, Arc):
        return f"⌀ {2 * only.radius:.2f}".rstrip("0").rstrip(".")
    x0, y0, x1, y1 = loop.bounds
    return " × ".join(f"{side:.2f}".rstrip("0").rstrip(".") for side in (x1 - x0, y1 - y0))
