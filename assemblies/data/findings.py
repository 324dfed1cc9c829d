"""What the proof finds, as plain data."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

__all__ = ["Finding", "Level"]


Level = Literal["error", "warning", "info"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that the proof found.

    `code` is short and stable (`OVERLAP`, `FLOATS`, …), `plates` names the plates concerned, `place` is a point in the
    assembly's frame in mm, or None where no single place is meant, and `numbers` holds what was measured and the
    limit, with units in the keys.
    """

    level: Level
    code: str
    plates: tuple[str, ...]
    message: str
    place: tuple[float, float, float] | None = None
    numbers: dict[str, float] = field(default_factory=dict)

    def __str__(self) -> str:
        return f"{self.level} {self.code}: {self.message}"
