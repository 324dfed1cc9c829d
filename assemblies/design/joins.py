"""Joins as an assembly keeps them, and as the resolver wants them."""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.joints.joining.touching import LeftOut
from panelwright.joints.meeting.contact import Hold
from panelwright.joints.spec.pattern import Joint
from panelwright.joints.spec.relief import Relief
from panelwright.plates.errors import JointError
from panelwright.plates.placing.plate import Face

__all__ = ["Join", "Omission", "Rule"]


@dataclass(frozen=True)
class Join:
    """A join as recorded: names of plates in the assembly that it was made in, places on them, and the design's line."""

    first: Face
    second: Face
    joint: Joint
    line: str


@dataclass(frozen=True)
class Rule:
    """Where a join comes from and what applies to it."""

    first: Hold
    second: Hold
    joint: Joint
    clearance: float
    relief: Relief | None
    line: str

    def told(self, error: JointError) -> JointError:
        """The error with the line of the design in which the join was made."""
        if not self.line:
            return error
        message = f"{error} (joined in {self.line})"
        told = JointError(message, plates=error.plates, face=error.face, value=error.value, limit=error.limit)
        told.__cause__ = error
        return told


@dataclass(frozen=True)
class Omission:
    """A pair of faces that touch and that `join_touching` left out; `prefix` is put before the names of its plates."""

    prefix: str
    left: LeftOut
    joint: Joint
    line: str
