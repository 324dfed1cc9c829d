"""What a design file can say about its parameters beyond their type."""

from __future__ import annotations

from dataclasses import dataclass

from ._validate import finite
from .errors import SizeError

__all__ = ["Range"]


@dataclass(frozen=True, slots=True)
class Range:
    """The least and the greatest value that a parameter may take, `low` to `high`, both allowed, in the unit of the parameter.

    Raises `SizeError` for a limit that is no finite number, and for limits the wrong way round.

    Written into the annotation, it shows in the command line's help and is enforced there:

    >>> from typing import Annotated
    >>> def design(width: Annotated[float, Range(80, 600)] = 240, brushes: Annotated[int, Range(1, 24)] = 8): ...
    >>> 600 in Range(80, 600), 600.5 in Range(80, 600)
    (True, False)
    >>> print(Range(80, 600))
    80 to 600
    """

    low: float
    high: float

    def __post_init__(self) -> None:
        finite(self.low, "low end of a range", unit="")
        finite(self.high, "high end of a range", unit="")
        if self.low > self.high:
            raise SizeError(
                f"range from {self.low:.12g} to {self.high:.12g} holds nothing; give the lower limit first",
                value=self.low,
                limit=self.high,
            )

    def __contains__(self, value: float) -> bool:
        try:
            return bool(self.low <= value <= self.high)
        except (TypeError, ValueError):  # what is no number lies in no range
            return False

    def __str__(self) -> str:
        return f"{self.low:.12g} to {self.high:.12g}"
