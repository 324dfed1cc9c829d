"""The lattice of a hinge: sizes that the maker gives, and the rest so that links clear each other and hold if possible."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from panelwright.joints.meeting.contact import Contact, joint_error
from panelwright.joints.meeting.side import Bend
from panelwright.joints.spec.strip import Free
from panelwright.plates.materials.stock import Stock
from panelwright.plates.tolerances import COUNT_TIE, ROUNDING

from .hinge_findings import is_sound
from .hinge_mechanics import SAFETY, Grain, HingeMechanics, assess, least_links, least_radius
from .link_rows import link_rows, plain_rows
from .slits import Lattice, Pattern, slits_of

__all__ = ["HingeSizes", "room_on_border", "settle", "tightest"]

KIND = "living_hinge"

PLAIN_SLIT = 0.2
"""Width of a slit in stock without a kerf, mm: what a fine laser leaves (the gap of the published case of 2012)."""

WIDE_SLIT = 0.4
"""Width of an obround slit in thicknesses, if none is given, and no less than three kerfs: common practice, no source."""

LINK_LENGTH = 4.0
"""Free length of a link in thicknesses: what the articles at defproc.co.uk advise (2011)."""

NARROWEST_LINK = 0.5
"""Least width of a link in thicknesses that is chosen where none is given: narrower ones char through (common practice)."""

RADIUS_STEP = 0.01
"""What least radii are rounded up to, mm."""

GROWTH = 1.05
"""By how much the number of columns grows from one trial to the next, one at least."""


@dataclass(frozen=True, slots=True)
class HingeSizes:
    """What a maker asks of a hinge's lattice, mm; None leaves a size to be settled."""

    pattern: Pattern
    link: float | None = None
    slit: float | None = None
    slit_length: float | None = None
    bridge: float | None = None

    def bridge_in(self, stock: Stock) -> float:
        """The bridge: as given, or one thickness."""
        return stock.t if self.bridge is None else self.bridge

    def width_in(self, stock: Stock) -> float:
        """Width of a slit: as given, or the kerf, or wider for obrounds."""
        if self.slit is not None:
            return self.slit
        width = stock.kerf if stock.kerf > 0 else PLAIN_SLIT
        return max(WIDE_SLIT * stock.t, 3 * width) if self.pattern == "obround" else width

    def narrowest_in(self, stock: Stock) -> float:
        """The narrowest link that may be chosen; the given one if there is one."""
        return max(NARROWEST_LINK * stock.t, self.width_in(stock)) if self.link is None else self.link

    def room_on_border(self, bend: Bend, things: int) -> float:
        """How wide each of a number of things on a border of the strip may be, mm; see `room_on_border`."""
        return room_on_border(bend, self, things)


def settle(contact: Contact, sizes: HingeSizes, free: Free | None = None) -> tuple[Lattice, HingeMechanics]:
    """The lattice of a hinge, and what its mechanics say.

    `free` tells where slits may be, if something stands in their way.  Links that are locked there count for nothing, so
    there may be more columns then.

    Raises `JointError` if the sizes leave no hinge.
    """
    bend = contact.bend
    assert bend is not None
    stock = bend.first.body.plate.stock
    t, width = bend.thickness, _checked_width(contact, sizes, stock)
    period = _period(contact, sizes, bend)
    height, grain = bend.span[1] - bend.span[0], _grain_along(bend, stock)

    def made(columns: int, link: float) -> tuple[Lattice, HingeMechanics]:
        lattice = Lattice(sizes.pattern, columns, link, width, period, sizes.bridge_in(stock))
        if lattice.link_width <= 0:
            raise joint_error(contact, KIND, f"links of {link:.3f} mm leave nothing between slits of {width:g} mm", value=link)
        if free is None:
            rows = plain_rows(lattice, bend.span)
        else:
            rows = link_rows(lattice, bend.span, slits_of(lattice, bend.span, bend.length, free))
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
            rows=rows,
            middle_radius=bend.middle_radius,
        )

    length = bend.length - 2 * _plain(sizes, stock, period).swing
    narrowest = sizes.narrowest_in(stock)
    most = int((length + COUNT_TIE) // (narrowest + width))
    _check_columns(contact, most, narrowest + width)
    if sizes.link is not None:
        return made(most, sizes.link)
    # first guess from the links' clearance, then as few more as stress and locked links ask for
    columns = max(2, int((length + COUNT_TIE) // (t + width)))
    columns = min(most, max(columns, least_links(bend.angle_deg, thickness=t, width=t, gap=width) + 1))
    found = made(columns, length / columns - width)
    while not is_sound(found[1]) and columns < most:
        columns = min(most, max(columns + 1, math.ceil(GROWTH * columns)))
        found = made(columns, length / columns - width)
    return found


def tightest(contact: Contact, sizes: HingeSizes, lattice: Lattice, mechanics: HingeMechanics) -> float:
    """The least inner radius in mm at which a strip has room for as many columns as links that narrow need.

    That is for a strip in whose way nothing stands.
    """
    bend = contact.bend
    assert bend is not None
    theta = math.radians(bend.angle_deg)
    length = _least_length(bend, sizes, lattice, mechanics.shear_limit_mpa)
    return round(max(1, math.ceil((length / theta - bend.thickness / 2) / RADIUS_STEP - COUNT_TIE)) * RADIUS_STEP, 6)


def room_on_border(bend: Bend, sizes: HingeSizes, things: int) -> float:
    """How wide each of a number of things on a border of the strip may be, mm, so that enough links stay free there.

    Things lock the links under them and a web on either side, and up to one column more.  Below 0 there is no room at all.
    """
    stock = bend.first.body.plate.stock
    bridge, width = sizes.bridge_in(stock), sizes.width_in(stock)
    height = bend.span[1] - bend.span[0]
    lattice = _plain(sizes, stock, (height - bridge) / _periods(height, bridge, _wanted(sizes, stock)))
    limit = None if stock.shear_strength is None else stock.shear_strength / SAFETY
    spare = bend.length - _least_length(bend, sizes, lattice, limit)
    return spare / things - 2 * max(bridge, stock.t) - width - 2 * lattice.swing - 2 * lattice.pitch


def _plain(sizes: HingeSizes, stock: Stock, period: float) -> Lattice:
    return Lattice(sizes.pattern, 1, sizes.narrowest_in(stock), sizes.width_in(stock), period, sizes.bridge_in(stock))


def _least_length(bend: Bend, sizes: HingeSizes, lattice: Lattice, limit: float | None) -> float:
    """Length across of the shortest strip that bends as far."""
    stock = bend.first.body.plate.stock
    narrowest = sizes.narrowest_in(stock)
    # rounding the radius up makes links of no given width a little wider, and stress may ask for one more then
    slack = 0.0 if sizes.link is not None else RADIUS_STEP * math.radians(bend.angle_deg) / 2
    links = max(
        least_radius(
            bend.angle_deg,
            thickness=bend.thickness,
            width=replace(lattice, link=narrowest + more).link_width,
            gap=lattice.width,
            length=lattice.link_length,
            shear_modulus=stock.rigidity,
            shear_limit=limit,
        ).links
        for more in (0.0, slack)
    )
    return (links + 1) * (narrowest + lattice.width) + 2 * lattice.swing


def _wanted(sizes: HingeSizes, stock: Stock) -> float:
    return 2 * LINK_LENGTH * stock.t + sizes.bridge_in(stock) if sizes.slit_length is None else sizes.slit_length


def _period(contact: Contact, sizes: HingeSizes, bend: Bend) -> float:
    """The period with which whole slits fill the strip, a bridge at either border."""
    stock, height = bend.first.body.plate.stock, bend.span[1] - bend.span[0]
    bridge, wanted = sizes.bridge_in(stock), _wanted(sizes, stock)
    periods = _periods(height, bridge, wanted)
    period = (height - bridge) / periods
    if wanted >= 3 * bridge - COUNT_TIE and period >= 4 * bridge - COUNT_TIE:
        return period
    problem = f"slits of {wanted:g} mm are too short for bridges of {bridge:g} mm; give at least {3 * bridge:g} mm"
    if wanted >= 3 * bridge - COUNT_TIE:
        problem = (
            f"the edges face each other on {height:.2f} mm only, and slits with bridges of {bridge:g} mm need {5 * bridge:g} mm"
        )
    raise joint_error(contact, KIND, problem, value=period, limit=4 * bridge)


def _periods(height: float, bridge: float, wanted: float) -> int:
    """How many periods, each no shorter than four bridges, come nearest to slits of the length that is wanted."""
    # a tie goes up, whatever rounding makes of the height where the product stands
    nearest = math.floor((height - bridge) / (wanted + bridge) + 0.5 + COUNT_TIE)
    return max(1, min(nearest, math.floor((height - bridge) / (4 * bridge) + COUNT_TIE)))


def _check_columns(contact: Contact, columns: int, pitch: float) -> None:
    bend = contact.bend
    assert bend is not None
    # parts of one sheet go on into each other, so there a single column will do
    least = 1 if contact.first.body is contact.second.body else 2
    if columns < least:
        raise joint_error(
            contact,
            KIND,
            f"a strip of {bend.length:.2f} mm has room for {columns} columns of slits {pitch:.2f} mm apart, and a hinge "
            "needs two; make the radius larger or the links narrower",
            value=bend.radius,
            limit=2 * pitch / math.radians(bend.angle_deg) - bend.thickness / 2,
        )


def _checked_width(contact: Contact, sizes: HingeSizes, stock: Stock) -> float:
    width = sizes.width_in(stock)
    if width < stock.kerf - ROUNDING:
        raise joint_error(
            contact,
            KIND,
            f"slits of {width:g} mm are narrower than the kerf of {stock.kerf:g} mm; leave slit= out to cut them in one pass",
            value=width,
            limit=stock.kerf,
        )
    return width


def _grain_along(bend: Bend, stock: Stock) -> Grain | None:
    if stock.grain is None:
        return None
    share = abs(bend.first.along[0] if stock.grain == "x" else bend.first.along[1])
    return "along" if share > math.sqrt(0.5) else "across"
