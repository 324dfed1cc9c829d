"""What the maker must know of a joint, told as a warning or a note."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from panelwright.plates.geometry.frame import Vector

__all__ = ["Remark"]


@dataclass(frozen=True, eq=False)
class Remark:
    """Something to know or to do before a joint goes together: the proof passes it on, by default as a warning.

    `code` is the finding's; `place` is a point in the product's frame; `numbers` have units in their keys.
    """

    code: str
    text: str
    place: Vector
    numbers: Mapping[str, float]
    level: Literal["error", "warning"] = "warning"
