"""What an assembly becomes once its joints are resolved: parts, panels and findings.  Plain data, ready to write."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from panelwright.joints.spec.kind_words import Words
from panelwright.plates.geometry.frame import Vector

from .acceptances import Acceptance, after_acceptance
from .assembly_plan import Plan
from .findings import Finding
from .parts import Bought, Panel, Part

__all__ = ["Gap", "Hardware", "JointRecord", "Product"]


@dataclass(frozen=True, slots=True)
class Gap:
    """One opening as measured: a point in it and the unit vector it was measured along, in the assembly's frame.

    `clearance_mm` is the size of the opening minus the size of what goes in; below 0 it is pressed.  `opening` is the plate
    that has the opening, `insert` the one that goes in, "" for a bought part.  `per_thickness` says for a plate by how many mm
    the opening closes for each mm that its sheet is thicker, `per_kerf` by how many it opens for each mm of a wider kerf.
    """

    place: Vector
    way: Vector
    clearance_mm: float
    opening: str = ""
    insert: str = ""
    per_thickness: tuple[tuple[str, float], ...] = ()
    per_kerf: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class JointRecord:
    """One resolved joint in plain words and numbers: its kind, the two plates, the faces as chosen, and what it settled on.

    A product may be built in another process and sent home, where a design's own kinds of joints are not known, so this is the
    one place that copies what it says of a join.

    `ways` are the directions in which the first plate can go into the second one, as its kind says (`Joint.ways_in`);
    `hardware` says which bought parts close the joint, and how many of each; `gaps` are its openings as measured; `words` is
    what people read of its kind; `line` is the design's line that asked for it, "" if unknown, and `is_found` tells that
    `join_touching` did, which names no faces.  `clearance_of` tells whose clearance it has.
    """

    kind: str
    plates: tuple[str, str]
    faces: tuple[str, str]
    clearance_mm: float
    numbers: dict[str, Any]
    ways: tuple[Vector, ...] = ()
    hardware: tuple[tuple[str, int], ...] = ()
    gaps: tuple[Gap, ...] = ()
    words: Words = field(kw_only=True)
    line: str = field(default="", kw_only=True)
    is_found: bool = field(default=False, kw_only=True)
    clearance_of: Literal["joint", "assembly", "stock"] = field(default="stock", kw_only=True)


@dataclass(frozen=True, slots=True)
class Hardware:
    """Bought parts that joints need: a full designation, how many, the mass of one, and a note for the bench.

    The mass is that of a simple solid in steel: without thread, with sharp corners.  None where there is no solid.
    """

    designation: str
    quantity: int
    mass_kg: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Product:
    """A resolved and checked assembly.  `show_hardware` says whether `bought` is shown in the STEP; `plan` is how it goes
    together, `loose` names what `join_touching` left alone since it is loose, `loose_things` all that is loose, `acceptances`
    are findings that the design lets stand.
    """

    name: str
    parts: tuple[Part, ...]
    panels: tuple[Panel, ...]
    joints: tuple[JointRecord, ...]
    hardware: tuple[Hardware, ...]
    findings: tuple[Finding, ...]
    bought: tuple[Bought, ...] = ()
    show_hardware: bool = True
    plan: Plan = field(default_factory=Plan)
    loose: tuple[str, ...] = ()
    acceptances: tuple[Acceptance, ...] = ()
    loose_things: tuple[str, ...] = ()

    def __repr__(self) -> str:
        count = f"{len(self.parts)} parts, {len(self.panels)} panels, {len(self.joints)} joints"
        return f"<Product {self.name!r}, {count}, {len(self.findings)} findings, {len(self.errors)} errors>"

    @property
    def shown(self) -> tuple[Part | Bought, ...]:
        """What previews show: the plates, then the screws and nuts unless the assembly hides them."""
        return (*self.parts, *self.bought) if self.show_hardware else self.parts

    def with_findings(self, more: Iterable[Finding]) -> Product:
        """The same product with more found, the gravest first; what the design accepts is a note there too."""
        return replace(self, findings=after_acceptance((*self.findings, *more), self.acceptances))

    @property
    def errors(self) -> tuple[Finding, ...]:
        """The findings that forbid cutting."""
        return tuple(finding for finding in self.findings if finding.level == "error")
