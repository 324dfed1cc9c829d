"""Living hinges: two plates and a strip of slits between them, cut flat as one panel and bent round a cylinder."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, Final

from panelwright.joints.meeting.contact import Body, Contact, Hold, joint_error
from panelwright.joints.meeting.cylinder_contact import bend_contact, nearness, own_bend, straight_edges
from panelwright.joints.meeting.side import Bend
from panelwright.joints.spec.kind_words import Words
from panelwright.joints.spec.pattern import Layout, Setting
from panelwright.joints.spec.relief import Relief
from panelwright.joints.spec.strip import Free, Slit, Stretch
from panelwright.plates._validate import finite, positive, shown
from panelwright.plates.errors import JointError, SizeError
from panelwright.plates.geometry.frame import Vector

from .hinge_advice import advice
from .hinge_findings import Level, findings, is_sound
from .hinge_mechanics import HingeMechanics
from .hinge_settling import HingeSizes, settle, tightest
from .slits import PATTERNS, Lattice, Pattern, slits_of

__all__ = ["HingeStrip", "LivingHinge", "living_hinge", "strip_of"]

RADIUS_SLACK = 0.01
"""How far the radius that the plates leave may be from one that is asked for, mm."""


LEAST_SIZE: Final = 0.01
"""Least size in mm of anything in a hinge: below the finest beam by far, and so few columns that none takes all memory."""


@dataclass(frozen=True, eq=False)
class HingeStrip:
    """The bent strip that a hinge adds: where it bends, its lattice of slits, and what its mechanics say.

    `least_radius` is the least inner radius in mm for the same angle and the sizes that are given, were nothing in
    the slits' way.
    """

    contact: Contact
    sizes: HingeSizes
    lattice: Lattice
    mechanics: HingeMechanics
    least_radius: float
    panel: str | None
    free: Free | None = None

    kind: ClassVar[str] = "living_hinge"

    @cached_property
    def remarks(self) -> tuple[tuple[Level, str], ...]:
        """What is wrong, and what would help: worked out when it is asked for, since that takes many trials."""
        found = findings(self.mechanics)
        if not is_sound(self.mechanics):
            help_ = self._help()
            return tuple((level, f"{text}; {help_}" if level == "error" else text) for level, text in found)
        return tuple(found)

    def _help(self) -> str:
        named = advice(self.contact, self.sizes, self.free)
        other = "make what stands or is cut there narrower, or fewer, or move it to flat parts"
        if self.mechanics.free_links == self.mechanics.series:
            other = f"bend it to an inner radius of {self.least_radius:.2f} mm at least"
        return f"give {named}; or {other}" if named else other

    @property
    def bend(self) -> Bend:
        """Where it bends."""
        bend = self.contact.bend
        assert bend is not None
        return bend

    @property
    def numbers(self) -> dict[str, Any]:
        """The settled sizes of a hinge and what its mechanics say, for people and for the manifest."""
        bend, lattice, found = self.bend, self.lattice, self.mechanics
        numbers: dict[str, Any] = {
            "angle_deg": bend.angle_deg,
            "inner_radius_mm": bend.radius,
            "strip_mm": [bend.length, bend.span[1] - bend.span[0]],
            "pattern": lattice.pattern,
            "columns": lattice.columns,
            "link_mm": lattice.link,
            "link_length_mm": lattice.link_length,
            "free_links": found.free_links,
            "slit_mm": lattice.width,
            "slit_length_mm": lattice.slit_length,
            "bridge_mm": lattice.bridge,
            "twist_per_link_deg": found.twist_per_link_deg,
            "slit_needed_mm": found.clearance_needed_mm,
            "least_links": found.least_links,
            "least_inner_radius_mm": self.least_radius,
        }
        for name, value in (
            ("limited_by", found.limited_by),
            ("shear_stress_mpa", found.shear_stress_mpa),
            ("shear_limit_mpa", found.shear_limit_mpa),
            ("spring_back_nmm", found.torque_nmm),
            ("grain", found.grain),
        ):
            if value is not None:
                numbers[name] = value
        notes = [text for level, text in findings(found) if level == "note"]
        if notes:
            numbers["notes"] = notes
        return numbers

    @property
    def bridge(self) -> float:
        """What stays between two slits of one column, mm."""
        return self.lattice.bridge

    @property
    def figures(self) -> dict[str, float]:
        """What a finding about it tells, with units in the keys."""
        return {
            "inner_radius_mm": self.bend.radius,
            "least_inner_radius_mm": self.least_radius,
            "links": float(self.mechanics.free_links),
            "least_links": float(self.mechanics.least_links),
        }

    def slits(self, free: Free | None) -> list[Slit]:
        """The slits, where `free` says that they may be (None: everywhere); s counts from the first plate's edge."""
        everywhere = [Stretch(*self.bend.span, True, True)]
        return slits_of(self.lattice, self.bend.span, self.bend.length, free or (lambda s0, s1: everywhere))

    def in_place(self, free: Free | None) -> HingeStrip:
        """The same settled anew, with links that count only where `free` lets slits be."""
        return self if free is None else strip_of(self.contact, self.sizes, self.panel, free)


def strip_of(contact: Contact, sizes: HingeSizes, panel: str | None, free: Free | None = None) -> HingeStrip:
    """The strip of a contact with a bend.  Raises `JointError` if the sizes leave no hinge."""
    lattice, mechanics = settle(contact, sizes, free)
    return HingeStrip(contact, sizes, lattice, mechanics, tightest(contact, sizes, lattice, mechanics), panel, free)


@dataclass(frozen=True, slots=True)
class LivingHinge:
    """Spec of a living hinge; make one with `living_hinge`."""

    radius: float | None
    pattern: Pattern
    link: float | None
    slit: float | None
    slit_length: float | None
    bridge: float | None
    panel: str | None

    kind: ClassVar[str] = HingeStrip.kind
    yields: ClassVar[bool] = False
    shares_corners: ClassVar[bool] = False
    words: ClassVar[Words] = Words(
        "living hinge", "Bend {parts} round to {mates}.", prepare="Bend it along its slits first, a little at a time."
    )

    @property
    def clearance(self) -> float | None:
        """None: nothing goes into anything."""
        return None

    @property
    def relief(self) -> Relief | None:
        """None: there are no corners that something has to go into."""
        return None

    def laid_into(self, body: Body) -> Contact:
        """The contact that a bent part of a sheet has with itself: it begins and ends at its own bend lines."""
        bend, piece = own_bend(body), body.rolled
        assert piece is not None
        axis, lines = piece.frame.direction((0.0, 1.0, 0.0)), ("bend line", "bend line")
        return Contact(bend.first, bend.second, axis, (0.0, 0.0), (0.0, 0.0), (bend.span,), lines, bend=bend)

    def meet(self, first: Hold, second: Hold) -> Contact:
        """Two straight edges that one cylinder is tangent to; of a plate given as a whole, the one edge that fits."""
        contact = self._found(first, second)
        assert contact.bend is not None
        found = contact.bend.radius
        if self.radius is not None and abs(found - self.radius) > RADIUS_SLACK:
            raise joint_error(
                contact,
                self.kind,
                f"the plates leave an inner radius of {found:.3f} mm where {self.radius:g} mm is asked for; place one with "
                f"bent_on(…, radius={self.radius:g}), or leave radius out here",
                value=found,
                limit=self.radius,
            )
        return contact

    def _found(self, first: Hold, second: Hold) -> Contact:
        if first.is_broad == second.is_broad:
            return bend_contact(first, second, self.kind)
        contacts: list[Contact] = []
        reasons: list[JointError] = []
        for a in straight_edges(first):
            for b in straight_edges(second):
                try:
                    contacts.append(bend_contact(a, b, self.kind))
                except JointError as error:
                    reasons.append(error)
        if len(contacts) == 1:
            return contacts[0]
        if not contacts:
            # of all its edges, the one that comes nearest to fitting says what is wrong
            raise min(reasons, key=nearness)
        edge, plate = (second, first.body.name) if first.is_broad else (first, second.body.name)
        raise JointError(
            f"{self.kind}: {len(contacts)} edges of {plate!r} can be reached from {edge.described} of {edge.body.name!r} round "
            "one cylinder; pick one with face()",
            plates=(edge.body.name, plate),
            value=len(contacts),
            limit=1,
        )

    def lay_out(self, contact: Contact, setting: Setting) -> Layout:
        """No claims on either plate: the strip between them is a part of its own."""
        bend = contact.bend
        assert bend is not None
        if self.radius is not None and abs(bend.radius - self.radius) > RADIUS_SLACK:
            raise joint_error(
                contact,
                self.kind,
                f"the sheet is bent to an inner radius of {bend.radius:.3f} mm where the hinge asks for {self.radius:g} mm; "
                "leave radius out of the hinge",
                value=bend.radius,
                limit=self.radius,
            )
        strip = strip_of(contact, self.sizes, self.panel)
        return Layout((), (), strip.numbers, strip=strip)  # pyright: ignore[reportArgumentType]  a class says what an object is asked

    def ways_in(self, contact: Contact, layout: Layout) -> tuple[Vector, ...]:
        """None: the two plates are one panel."""
        return ()

    @property
    def sizes(self) -> HingeSizes:
        """What is asked of the lattice."""
        return HingeSizes(self.pattern, self.link, self.slit, self.slit_length, self.bridge)


def living_hinge(
    radius: float | None = None,
    *,
    pattern: Pattern = "staggered",
    link: float | None = None,
    slit: float | None = None,
    slit_length: float | None = None,
    bridge: float | None = None,
    panel: str | None = None,
) -> LivingHinge:
    """A strip of slits that bends: two plates and what lies between their edges become one panel, cut flat.

    Join two straight *edge faces* of plates of one stock that stand at an angle, both tangent to one cylinder; `bent_on`
    places a plate so.  Of one of the two the plate itself will do: the edge that fits is found.  The strip is drawn flat
    over its middle, θ·(R + t/2) long for an inner radius R, and shown bent in the STEP.

    - `radius`: inner radius in mm; it follows from where the plates stand, and is checked if it is given.
    - `pattern`: "staggered" (straight slits, cut in one pass), "obround" (wide slits with round ends that spread the stress) or
      "chevron" (zigzag slits, which also give a little the other way).
    - `link`: width of sheet between two columns of slits, mm.  By default one thickness, or narrower, down to half of one,
      as far as the bend asks for more links.
    - `slit`: width of a slit, mm; by default the kerf, so that each is one pass of the beam, and for "obround" 0.4 thicknesses.
    - `slit_length`: mm along the axis; by default so that links twist freely over four thicknesses.  It is adjusted so that
      whole slits fill the strip.
    - `bridge`: what stays between two slits of a column, and between a slit's end and a border, mm; by default one thickness.
    - `panel`: name of the panel; by default the names of its plates with "+" between them.

    What the mechanics leave out stands in `hinge_mechanics`; cut a trial piece of your own sheet first.  The joint's
    numbers say how far each link twists, the least radius with the sizes that are given, and whether the slits' width or
    stress limits it.

    Raises `SizeError` for sizes that are not above 0 and for unknown patterns.

    >>> from panelwright.assemblies import Assembly
    >>> from panelwright.joints import join
    >>> from panelwright.plates import Stock, bent_on, rectangle
    >>> ply = Stock("birch plywood", 3, measured=3, kerf=0.2, shear_modulus=620, shear_strength=9.5)
    >>> stand = Assembly("card stand", stock=ply)
    >>> front = stand.add("front", rectangle(80, 60))
    >>> side = stand.add("side", rectangle(50, 60), bent_on(front.face(">X"), radius=45, angle_deg=90))
    >>> join(front.face(">X"), side, living_hinge(45))
    >>> product = stand.product()
    >>> numbers = product.joints[0].numbers
    >>> [panel.name for panel in product.panels], numbers["columns"], numbers["limited_by"], product.errors
    (['front+side'], 34, 'stress', ())
    >>> living_hinge(pattern="woven")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: pattern of a hinge is 'woven'; give one of staggered, obround, chevron
    """
    if not isinstance(pattern, str) or pattern not in PATTERNS:
        raise SizeError(
            f"pattern of a hinge is {shown(pattern)}; give one of {', '.join(PATTERNS)}", value=pattern, limit=PATTERNS
        )
    if panel is not None and (not isinstance(panel, str) or not panel.strip()):
        raise SizeError(f"panel= of a hinge is {shown(panel)}; give the panel's name", value=panel)

    def size(value: float | None, name: str) -> float | None:
        number = None if value is None else positive(value, f"{name} of a hinge")
        if number is not None and number < LEAST_SIZE:
            raise SizeError(
                f"{name} of a hinge is {number:g} mm; it must be {LEAST_SIZE:g} mm or more", value=value, limit=LEAST_SIZE
            )
        return number

    return LivingHinge(
        None if radius is None else positive(finite(radius, "radius of a hinge"), "radius of a hinge"),
        pattern,
        size(link, "link"),
        size(slit, "slit"),
        size(slit_length, "slit_length"),
        size(bridge, "bridge"),
        panel,
    )
