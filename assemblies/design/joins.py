"""A join as the design tells it, and as a product takes it up.

It is told once: a `Rule` holds the `Join`, a joint in the making and one made hold the rule, and each says only what it adds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from panelwright.joints.joining.touching import LeftOut
from panelwright.joints.meeting.contact import Hold
from panelwright.joints.spec.pattern import Joint
from panelwright.joints.spec.relief import Relief
from panelwright.plates.errors import JointError
from panelwright.plates.placing.plate import Face

__all__ = ["ClearanceOf", "Join", "Omission", "Rule"]


ClearanceOf = Literal["joint", "assembly", "stock"]


@dataclass(frozen=True)
class Join:
    """A join as the design tells it: two faces in the assembly that it was made in, what joins them, and the design's line.

    A hinge that is laid into a sheet joins the bent part with itself.  `is_found` tells that `join_touching` found the two.
    """

    first: Face
    second: Face
    joint: Joint
    line: str
    is_found: bool = False


@dataclass(frozen=True)
class Rule:
    """A join in the product: its two faces where they stand there, and what applies to it."""

    join: Join
    first: Hold
    second: Hold
    clearance: float
    relief: Relief | None
    clearance_of: ClearanceOf = "stock"
    """Whose clearance that is: the joint's own, an assembly's, or that of the two stocks."""

    @property
    def joint(self) -> Joint:
        """What joins the two faces."""
        return self.join.joint

    def told(self, error: JointError) -> JointError:
        """The error with the line of the design in which the join was made."""
        if not self.join.line:
            return error
        message = f"{error} (joined in {self.join.line})"
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
