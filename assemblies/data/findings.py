"""What the proof finds, as plain data."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from panelwright.plates.errors import JointError

__all__ = ["Finding", "Level", "joint_findings"]


Level = Literal["error", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that the proof found.

    `code` is short and stable (`OVERLAP`, `FLOATS`, …), `plates` names the plates concerned, `place` is a point in the
    assembly's frame in mm, or None where no single place is meant, and `numbers` holds what was measured and the
    limit, with units in the keys.  `accepted` is why the design lets it stand (`Assembly.accept`), empty if it doesn't.
    """

    level: Level
    code: str
    plates: tuple[str, ...]
    message: str
    place: tuple[float, float, float] | None = None
    numbers: dict[str, float] = field(default_factory=dict)
    accepted: str = ""

    def __repr__(self) -> str:
        plates = ", ".join(map(repr, self.plates[:3])) + (" …" if len(self.plates) > 3 else "")
        return f"<Finding {self.level} {self.code}: {plates or 'no plate'}>"

    def __str__(self) -> str:
        return f"{self.level} {self.code}: {self.text}"

    @property
    def text(self) -> str:
        """What is told of it: its message, and why the design accepts it."""
        return f"{self.message} (accepted: {self.accepted})" if self.accepted else self.message


def joint_findings(failures: Iterable[JointError]) -> list[Finding]:
    """What there is to tell of joints that could not be made, in the order given.

    >>> from panelwright.plates.errors import JointError
    >>> [found.message for found in joint_findings([JointError("no room for a tab", plates=("rear", "base"))])]
    ['no room for a tab']
    """
    return [
        Finding("error", "JOINT", error.plates, str(error), numbers=_numbers(value=error.value, limit=error.limit))
        for error in failures
    ]


def _numbers(**values: Any) -> dict[str, float]:
    return {name: float(v) for name, v in values.items() if isinstance(v, int | float) and not isinstance(v, bool)}
