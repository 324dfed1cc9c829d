"""Lettering that finds room for itself on a panel: as large as is sensible, off every cut, upright or on its side.

The text that says most is tried first, each from the largest height down; `room.py` says where there is room.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.curves import Line, Loop, Segment
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.outlines.stroke_font import lettering, lettering_width

from .covered import moved
from .room import CLEAR, Room, free_region

if TYPE_CHECKING:
    import shapely

__all__ = ["CLEAR", "HEIGHTS", "Label", "label_of", "lacks"]

HEIGHTS: Final = (6.0, 5.0, 4.0, 3.5, 3.0, 2.5, 2.0)
"""Heights of letters in mm that are tried: below 2 mm a beam's own width blurs them (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Label:
    """Lettering on a panel: the text, the height of its letters in mm, and its strokes in the panel's coordinates."""

    text: str
    height: float
    strokes: tuple[tuple[Line, ...], ...]


def label_of(
    texts: Sequence[str],
    cuts: Sequence[Loop],
    keep_off: Sequence[Sequence[Segment]] = (),
    *,
    kerf: float = 0.0,
    bends: Sequence[Loop] = (),
    within: shapely.Geometry | None = None,
    is_mirrored: bool = False,
) -> Label | None:
    """The first of the texts that finds room among the cut paths of a panel, at the largest height it has room for.

    `keep_off` are other paths, such as slits and marks; `kerf` is the width in mm of what the beam takes away along them all,
    and `bends` are parts that will be bent.  `within` is a region in the panel's coordinates that lettering must not leave.
    `is_mirrored` gives lettering that reads right once the panel is drawn as its mirror image, left for right.  None if none of
    the texts fits.  Raises `SizeError` for a letter that the font lacks.

    >>> from panelwright.plates import rectangle
    >>> found = label_of(["A left wall", "A"], rectangle(20, 12).loops)
    >>> found.text, found.height
    ('A', 6.0)
    """
    mirror = Motion.mirror_x() if is_mirrored else Motion()
    loops = [loop.moved(mirror) for loop in cuts]
    others = [[segment.moved(mirror) for segment in chain] for chain in keep_off]
    region = free_region(loops, others, kerf=kerf, bends=[loop.moved(mirror) for loop in bends])
    if within is not None:
        region = region.intersection(moved(within, mirror))
    room = Room(region, loops[0].bounds)
    for text in texts:
        for height in HEIGHTS:
            strokes = _lettered(room, text, height)
            if strokes is not None:
                back = mirror.inverse
                return Label(text, height, tuple(tuple(line.moved(back) for line in chain) for chain in strokes))
    return None


def _lettered(room: Room, text: str, height: float) -> tuple[tuple[Line, ...], ...] | None:
    """The strokes of a text in the best place for it, None if there is none: level, or else to be read from the right."""
    width = lettering_width(text, height)
    for turn, size in ((0.0, (width, height)), (90.0, (height, width))):
        at = room.place(size)
        if at is None:
            continue
        # turned by a quarter, the text's lower left corner is the lower right one of its box
        placed = Motion.turn(turn).then(Motion.shift(at[0] + (size[0] if turn else 0.0), at[1]))
        return tuple(tuple(line.moved(placed) for line in chain) for chain in lettering(text, height))
    return None


def lacks(text: str) -> bool:
    """Whether the font lacks a letter of a text.

    >>> lacks("jar shelf"), lacks("Töpfe")
    (False, True)
    """
    try:
        lettering(text, 1.0)
    except SizeError:
        return True
    return False
