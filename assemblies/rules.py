"""Joins as an assembly keeps them, and as the resolver wants them."""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.joints.contact import Hold
from panelwright.joints.pattern import Joint
from panelwright.joints.relief import Relief
from panelwright.plates.plate import Face

__all__ = ["Join", "Rule"]


@dataclass(frozen=True)
class Join:
    """A join as recorded: names of plates in the assembly that it was made in, and places on them."""

    first: Face
    second: Face
    joint: Joint


@dataclass(frozen=True)
class Rule:
    """Where a join comes from and what applies to it."""

    first: Hold
    second: Hold
    joint: Joint
    clearance: float
    relief: Relief | None
