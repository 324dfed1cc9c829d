"""In which unit a drawing was read, and in which other one it would have a size that fits.

A DXF file says in its header what one unit of the drawing is, and many say it wrongly: the numbers are millimetres, the header
says metres or inches.  What comes of that is a thousand times too large or too small, which is told with both readings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from panelwright.plates.errors import OutlineError
from panelwright.plates.geometry.curves import Loop, around

__all__ = ["LARGEST", "SMALLEST", "UNITS", "DxfReading"]

UNITS: dict[str, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""Millimetres in one unit of a drawing."""

NAMES = {"mm": "millimetres", "cm": "centimetres", "m": "metres", "in": "inches"}

SMALLEST, LARGEST = 0.5, 5000.0
"""Size in mm, the longer side, below or above which nothing is cut of sheet: less than a beam leaves whole, more than the
longest common sheets, of 3 to 4 m (common practice, no source)."""


@dataclass(frozen=True)
class DxfReading:
    """How a file was read: which one, in which unit, whether the call said so or the file, and the size in mm of all of it."""

    file: str
    unit: str
    is_given: bool
    size: tuple[float, float]

    @classmethod
    def of(cls, file: str, unit: str, loops: Sequence[Loop], *, is_given: bool) -> DxfReading:
        """The reading of a file whose loops, in mm, are known."""
        x0, y0, x1, y1 = around(loop.bounds for loop in loops)
        return cls(file, unit, is_given, (x1 - x0, y1 - y0))

    def size_in(self, unit: str) -> tuple[float, float]:
        """The size in mm that it would have with another unit."""
        scale = UNITS[unit] / UNITS[self.unit]
        return (self.size[0] * scale, self.size[1] * scale)

    def require_plausible(self) -> None:
        """Raise `OutlineError` for a size that nothing cut of sheet has, unless the call itself named the unit."""
        if self.is_given or SMALLEST <= max(self.size) <= LARGEST:
            return
        likely = next((unit for unit in UNITS if 2 * SMALLEST < max(self.size_in(unit)) < LARGEST / 2), None)
        other = f'pass unit="{likely}", by which it is {_shown(self.size_in(likely))}' if likely else "pass unit= as drawn"
        raise OutlineError(
            f"DXF file {self.file!r} says {NAMES[self.unit]}, by which what it draws is {_shown(self.size)}; {other}, or "
            f'unit="{self.unit}" if that is meant',
            value=self.size,
            limit=(SMALLEST, LARGEST),
        )

    def instead(self, room: tuple[float, float]) -> str:
        """What to say where it finds no room in a plate of that size in mm: another unit that does, or nothing."""

        def goes(unit: str) -> bool:
            (w, h), (most_w, most_h) = self.size_in(unit), room
            return w <= most_w and h <= most_h

        others = [unit for unit in UNITS if unit != self.unit and goes(unit)]
        if goes(self.unit) or not others:
            return ""
        likely = max(others, key=UNITS.__getitem__)
        said = "was read in" if self.is_given else "says"
        return (
            f"DXF file {self.file!r} {said} {NAMES[self.unit]}, by which its cut-outs span {_shown(self.size)}; in "
            f'{NAMES[likely]} they span {_shown(self.size_in(likely))}: pass unit="{likely}"'
        )


def _shown(size: tuple[float, float]) -> str:
    return f"{size[0]:.4g} × {size[1]:.4g} mm" if max(size) < 10_000 else f"{size[0]:,.0f} × {size[1]:,.0f} mm"
