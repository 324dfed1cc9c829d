"""Living hinges: two plates and a strip of slits between them, cut flat as one panel and bent round a cylinder."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from panelwright.plates._validate import finite, positive
from panelwright.plates.errors import JointError, SizeError
from panelwright.plates.stock import Stock

from .bend import Bend, bend_contact, nearness, straight_edges
from .contact import Body, Contact, Hold, Side
from .hinge_mechanics import Grain, HingeMechanics, Level, assess, findings, least_links, least_radius
from .pattern import Layout, Setting, joint_error
from .relief import Relief
from .slits import PATTERNS, Lattice, Pattern, Slit, Stretch, slits_of

__all__ = ["LivingHinge", "Strip", "living_hinge"]

PLAIN_SLIT = 0.2
"""Width of a slit in stock without a kerf, mm: what a fine laser leaves (the gap of the published case of 2012)."""

WIDE_SLIT = 0.4
"""Width of an obround slit in thicknesses, if none is given, and no less than three kerfs: common practice, no source."""

LINK_LENGTH = 4.0
"""Free length of a link in thicknesses: what the articles at defproc.co.uk advise (2011)."""

NARROWEST_LINK = 0.5
"""Least width of a link in thicknesses that is chosen where none is given: narrower ones char through (common practice)."""

TIE = 1e-9
"""How near to a tie counts and lengths in mm are tied."""

RADIUS_STEP = 0.01
"""What least radii are rounded up to, mm."""

RADIUS_SLACK = 0.01
"""How far the radius that the plates leave may be from one that is asked for, mm."""


@dataclass(frozen=True, eq=False)
class Strip:
    """The bent strip that a hinge adds: where it bends, its lattice of slits, and what its mechanics say.

    `least_radius` is the least inner radius in mm for the same angle and the sizes that are given.
    """

    bend: Bend
    lattice: Lattice
    mechanics: HingeMechanics
    least_radius: float
    remarks: tuple[tuple[Level, str], ...]
    panel: str | None

    def slits(self, free: Callable[[float, float], Sequence[Stretch]]) -> list[Slit]:
        """The slits, where `free` says that they may be; s counts from the first plate's edge."""
        return slits_of(self.lattice, self.bend.span, self.bend.length, free)


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

    kind: ClassVar[str] = "living_hinge"
    yields: ClassVar[bool] = False
    shares_corners: ClassVar[bool] = False
    clearance: ClassVar[float | None] = None
    relief: ClassVar[Relief | None] = None

    @classmethod
    def plain(cls) -> LivingHinge:
        """The hinge with every size left to be settled."""
        return cls(None, "staggered", None, None, None, None, None)

    def laid_into(self, body: Body) -> Contact:
        """The contact that a bent part of a sheet has with itself: it begins and ends at its own bend lines."""
        roll, piece = body.roll, body.rolled
        assert roll is not None
        assert piece is not None
        _, low, _, high = body.plate.outline.bounds
        first = Side(body, (roll.start, 0.0), (0.0, 1.0), (1.0, 0.0))
        second = Side(body, (roll.start + roll.length, 0.0), (0.0, 1.0), (-1.0, 0.0))
        inner = roll.radius - body.t / 2
        bend = Bend(first, second, (low, high), math.degrees(abs(roll.angle)), inner, body.t, roll.angle > 0)
        axis = piece.frame.direction((0.0, 1.0, 0.0))
        return Contact(first, second, axis, (0.0, 0.0), (0.0, 0.0), (bend.span,), ("bend line", "bend line"), bend=bend)

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
        stock = bend.first.body.plate.stock
        lattice, mechanics = self._settled(contact, bend, stock)
        remarks = tuple(findings(mechanics))
        strip = Strip(bend, lattice, mechanics, self._least_radius(bend, lattice, mechanics), remarks, self.panel)
        return Layout((), (), _numbers(strip), strip=strip)

    def _settled(self, contact: Contact, bend: Bend, stock: Stock) -> tuple[Lattice, HingeMechanics]:
        """The lattice: sizes that are given, and the rest so that links clear each other and hold if that can be had."""
        t, height = bend.thickness, bend.span[1] - bend.span[0]
        width = self._width(contact, stock)
        bridge = t if self.bridge is None else self.bridge
        wanted = 2 * LINK_LENGTH * t + bridge if self.slit_length is None else self.slit_length
        # a tie goes up, whatever rounding makes of the height where the product stands
        period = height / max(1, math.floor(height / (wanted + bridge) + 0.5 + TIE))
        if period < 4 * bridge - TIE:
            problem = f"slits of {wanted:g} mm are too short for bridges of {bridge:g} mm; give at least {3 * bridge:g} mm"
            if height < 4 * bridge - TIE:
                problem = (
                    f"the edges face each other on {height:.2f} mm only, and slits with bridges of {bridge:g} mm need "
                    f"{4 * bridge:g} mm"
                )
            raise joint_error(contact, self.kind, problem, value=period, limit=4 * bridge)
        grain = _grain_along(bend, stock)

        def made(columns: int, link: float) -> tuple[Lattice, HingeMechanics]:
            lattice = Lattice(self.pattern, columns, link, width, period, bridge)
            if lattice.link_width <= 0:
                raise joint_error(
                    contact, self.kind, f"links of {link:.3f} mm leave nothing between slits of {width:g} mm", value=link
                )
            return lattice, assess(
                bend.angle_deg,
                thickness=t,
                width=lattice.link_width,
                length=lattice.link_length,
                gap=width,
                series=lattice.series,
                parallel=lattice.parallel(height),
                shear_modulus=stock.rigidity,
                shear_strength=stock.shear_strength,
                grain=grain,
            )

        length = bend.length - 2 * Lattice(self.pattern, 1, t, width, period, bridge).swing
        if self.link is not None:
            columns = int((length + TIE) // (self.link + width))
            self._check_columns(contact, columns, self.link + width, bend)
            return made(columns, self.link)
        narrowest = max(NARROWEST_LINK * t, width)
        most = int((length + TIE) // (narrowest + width))
        self._check_columns(contact, most, narrowest + width, bend)
        # first guess from the links' clearance, then as few more as stress asks for
        columns = max(2, int((length + TIE) // (t + width)))
        columns = min(most, max(columns, least_links(bend.angle_deg, thickness=t, width=t, gap=width) + 1))
        found = made(columns, length / columns - width)
        while any(level == "error" for level, _ in findings(found[1])) and columns < most:
            columns = min(most, max(columns + 1, math.ceil(1.05 * columns)))
            found = made(columns, length / columns - width)
        return found

    def _least_radius(self, bend: Bend, lattice: Lattice, mechanics: HingeMechanics) -> float:
        """The least inner radius at which a strip has room for as many columns as links that narrow need."""
        t, theta, stock = bend.thickness, math.radians(bend.angle_deg), bend.first.body.plate.stock
        narrowest = max(NARROWEST_LINK * t, lattice.width) if self.link is None else self.link
        # rounding the radius up makes links of no given width a little wider, and stress may ask for one more then
        slack = 0.0 if self.link is not None else RADIUS_STEP * theta / 2
        links = max(
            least_radius(
                bend.angle_deg,
                thickness=t,
                width=replace(lattice, link=narrowest + more).link_width,
                gap=lattice.width,
                length=lattice.link_length,
                shear_modulus=stock.rigidity,
                shear_limit=mechanics.shear_limit_mpa,
            ).links
            for more in (0.0, slack)
        )
        length = (links + 1) * (narrowest + lattice.width) + 2 * lattice.swing
        return round(max(1, math.ceil((length / theta - t / 2) / RADIUS_STEP - TIE)) * RADIUS_STEP, 6)

    def _check_columns(self, contact: Contact, columns: int, pitch: float, bend: Bend) -> None:
        # parts of one sheet go on into each other, so there a single column will do
        least = 1 if contact.first.body is contact.second.body else 2
        if columns < least:
            raise joint_error(
                contact,
                self.kind,
                f"a strip of {bend.length:.2f} mm has room for {columns} columns of slits {pitch:.2f} mm apart, and a hinge "
                "needs two; make the radius larger or the links narrower",
                value=bend.radius,
                limit=2 * pitch / math.radians(bend.angle_deg) - bend.thickness / 2,
            )

    def _width(self, contact: Contact, stock: Stock) -> float:
        width = self.slit
        if width is None:
            width = stock.kerf if stock.kerf > 0 else PLAIN_SLIT
            if self.pattern == "obround":
                width = max(WIDE_SLIT * stock.t, 3 * width)
        if width < stock.kerf - 1e-9:
            raise joint_error(
                contact,
                self.kind,
                f"slits of {width:g} mm are narrower than the kerf of {stock.kerf:g} mm; leave slit= out to cut them in one "
                "pass",
                value=width,
                limit=stock.kerf,
            )
        return width


def _grain_along(bend: Bend, stock: Stock) -> Grain | None:
    if stock.grain is None:
        return None
    share = abs(bend.first.along[0] if stock.grain == "x" else bend.first.along[1])
    return "along" if share > math.sqrt(0.5) else "across"


def _numbers(strip: Strip) -> dict[str, Any]:
    bend, lattice, found = strip.bend, strip.lattice, strip.mechanics
    numbers: dict[str, Any] = {
        "angle_deg": bend.angle_deg,
        "inner_radius_mm": bend.radius,
        "strip_mm": [bend.length, bend.span[1] - bend.span[0]],
        "pattern": lattice.pattern,
        "columns": lattice.columns,
        "link_mm": lattice.link,
        "link_length_mm": lattice.link_length,
        "slit_mm": lattice.width,
        "slit_length_mm": lattice.slit_length,
        "bridge_mm": lattice.bridge,
        "twist_per_link_deg": found.twist_per_link_deg,
        "slit_needed_mm": found.clearance_needed_mm,
        "least_links": found.least_links,
        "least_inner_radius_mm": strip.least_radius,
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
    notes = [text for level, text in strip.remarks if level == "info"]
    if notes:
        numbers["notes"] = notes
    return numbers


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
    >>> stand = Assembly("card stand", stock=Stock("birch plywood", 3, measured=3, kerf=0.2))
    >>> front = stand.add("front", rectangle(80, 60))
    >>> side = stand.add("side", rectangle(50, 60), bent_on(front.face(">X"), radius=45, angle_deg=90))
    >>> join(front.face(">X"), side, living_hinge(45))
    >>> product = stand.product()
    >>> numbers = product.joints[0].numbers
    >>> [panel.name for panel in product.panels], numbers["columns"], numbers["limited_by"], product.findings
    (['front+side'], 24, 'gap', ())
    >>> living_hinge(pattern="woven")
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.SizeError: pattern of a hinge is 'woven'; give one of staggered, obround, chevron
    """
    if pattern not in PATTERNS:
        raise SizeError(f"pattern of a hinge is {pattern!r}; give one of {', '.join(PATTERNS)}", value=pattern, limit=PATTERNS)
    if panel is not None and (not isinstance(panel, str) or not panel.strip()):
        raise SizeError(f"panel= of a hinge is {panel!r}; give the panel's name", value=panel)

    def size(value: float | None, name: str) -> float | None:
        return None if value is None else positive(value, f"{name} of a hinge")

    return LivingHinge(
        None if radius is None else positive(finite(radius, "radius of a hinge"), "radius of a hinge"),
        pattern,
        size(link, "link"),
        size(slit, "slit"),
        size(slit_length, "slit_length"),
        size(bridge, "bridge"),
        panel,
    )
