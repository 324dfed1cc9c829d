"""A join carried out, which all rooms after that refer to."""

from __future__ import annotations

from dataclasses import dataclass

from panelwright.assemblies.design.joins import Rule
from panelwright.joints.meeting.contact import Contact
from panelwright.joints.spec.pattern import Joint, Layout
from panelwright.joints.spec.relief import Relief
from panelwright.plates.geometry.frame import Vector

__all__ = ["Made"]


@dataclass(frozen=True, eq=False)
class Made:
    """A join as carried out: the rule that it followed, where its two plates meet, and what it does to them."""

    rule: Rule
    contact: Contact
    layout: Layout

    @property
    def joint(self) -> Joint:
        """What joins the two plates."""
        return self.rule.joint

    @property
    def clearance(self) -> float:
        """Opening minus what goes in, mm."""
        return self.rule.clearance

    @property
    def relief(self) -> Relief | None:
        """Corner relief for a round cutter, or None."""
        return self.rule.relief

    @property
    def ways_in(self) -> tuple[Vector, ...]:
        """The ways in which it closes, as its kind says."""
        return self.joint.ways_in(self.contact, self.layout)
