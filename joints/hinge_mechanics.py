"""Mechanics of living hinges: how far a lattice of slits bends, what that asks of the material, and how hard it springs back.

Words used here, with the bend axis upright::

    ┃       ┃          slit: `gap` wide, along the bend axis
    ┃   ┃   ┃   ┐
    ┃ b ┃ b ┃   l      link: the bar between two slits that overlap, b wide, t thick, l long between the ends of those slits
    ┃   ┃   ┃   ┘
        ┃              bridge: what stands between the ends of two slits of one column
    ┃   ┃   ┃   ┐
    ┃   ┃   ┃   l      `parallel`: how many links stand one above the other in one column, 2 here
    ┃   ┃   ┃   ┘
    ┃       ┃
      ↔   ↔            `series`: how many columns of links stand in a row across the bend axis, 2 here

Bent by θ, each of N columns turns by θ/N, and every link in it is twisted by that angle about its own length.

- Stiffness: m links side by side and N columns in a row give K = m · G · J / (l · N), J by `torsion`.
- Stress: the twist θ/N over the length l, by `torsion`.
- Clearance: a link turned by φ about one of its edges measures b cos φ + t sin φ across, and b + gap is there for it.  With
  b = t this is the k = t (cos φ + sin φ) - t of the lattice-hinge articles at defproc.co.uk (2011-12).  Since the link passes
  through every angle on its way to φ, what counts is the greatest value up to φ: it grows until tan φ = t/b (45° for a square
  link) and stays, where the formula by itself comes down again and would call one column enough for a right angle.
- Room on the inner face: if the mid-plane keeps its length, the inner face loses t φ/2 of every gap.  Up to tan φ = t/b that is
  less than what clearance asks for (plane trigonometry); beyond, it is what counts.
- Radius: links can't come nearer than edge to edge along the inner face, so N · b = R · θ gives the least inner radius R, as in
  the articles (links are straight, so strictly it is smaller by φ²/12 of itself).  A hinge of at least `least_links` columns
  whose mid-plane keeps its length bends to no less than that.

Guarantees: all that is checked here holds, or is a finding that says by how much and what to change.  The rule for clearance is
on the safe side: links that turn about their own middle need about half the gap.

What the model leaves out: bridges are rigid and links neither bend nor shift, so real hinges are softer and splay; slit ends
concentrate stress; warping is held back at the ends of short links; creep and relaxation, so the torque is that of the first
bend; moisture, and charring by the beam, which weakens narrow links; the layers of plywood, which is neither isotropic nor
equally strong along and across its grain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, NamedTuple

from panelwright.plates._validate import positive, whole
from panelwright.plates.errors import SizeError

from .torsion import shear_stress, torsion_constant

__all__ = [
    "Grain",
    "HingeMechanics",
    "LeastBend",
    "Level",
    "Limit",
    "assess",
    "clearance_needed",
    "findings",
    "greatest_twist_deg",
    "hinge_stiffness",
    "least_links",
    "least_radius",
]

Grain = Literal["along", "across"]
"""Whether the grain of the face runs along the bend axis, and so along the links, or across it."""

Level = Literal["error", "warning", "info"]
Limit = Literal["gap", "stress"]

SAFETY = 2.0
"""Shear strength over allowed stress: common practice, no source.  The first published lattice hinges in acrylic, laid out for
its yield stress, broke easily (defproc.co.uk, 2012)."""

LONGEST_LINK = 10.0
"""Length of a link in thicknesses beyond which it is reported: the articles at defproc.co.uk advise 4 (2011), since long links
splay instead of twisting, and later cut links of 28 mm in 3 mm sheet (2012); nothing longer is published there."""

SHORTEST_LINK = 2.0
"""Length of a link in its longer sides below which it is reported: warping held back at an end fades over about one such
length (Saint-Venant's principle), and a link has two ends."""

COUNT_SLACK = 1e-9
"""How far above a whole number a count may come out by rounding alone."""

WIDEST_BEND_DEG = 360.0
"""A sheet bent further runs into itself."""


def _theta(theta_deg: float) -> float:
    theta = positive(theta_deg, "bend of a hinge", unit="°")
    if theta > WIDEST_BEND_DEG:
        raise SizeError(
            f"bend of a hinge is {theta:g}°; a sheet bent by more than {WIDEST_BEND_DEG:g}° runs into itself",
            value=theta_deg,
            limit=WIDEST_BEND_DEG,
        )
    return theta


def _at_least(count: float) -> int:
    return max(1, math.ceil(count - COUNT_SLACK))


def hinge_stiffness(
    shear_modulus: float, *, thickness: float, width: float, length: float, series: int, parallel: int
) -> float:
    """Stiffness K = m·G·J/(l·N) in N·mm per radian of bend: torque over the angle of the whole hinge.

    `shear_modulus` is in MPa, `thickness`, `width` and `length` of a link in mm; `series` columns stand in a row across the
    bend axis, with `parallel` links in each.  Series and parallel springs (mechanics of materials); bridges are taken as rigid.

    Raises `SizeError` for a size that is not above 0 and a count below 1.

    >>> round(hinge_stiffness(1148, thickness=3, width=3, length=14, series=23, parallel=6), 1)
    243.6
    """
    modulus = positive(shear_modulus, "shear modulus of a hinge", unit="MPa")
    rows, columns = whole(parallel, "links in a column of a hinge"), whole(series, "columns of links of a hinge")
    return rows * modulus * torsion_constant(width, thickness) / (positive(length, "length of a link") * columns)


def clearance_needed(twist_deg: float, *, thickness: float, width: float) -> float:
    """Gap in mm that a link of `width` × `thickness` mm needs on its way from flat to `twist_deg`.

    The greatest value of b cos φ + t sin φ - b from 0 to `twist_deg`, or t φ/2 at `twist_deg` if that is more; so it never
    falls as the twist grows.

    Raises `SizeError` for a twist below 0 or a size that is not above 0.

    >>> [round(clearance_needed(twist, thickness=3, width=3), 3) for twist in (0, 4, 45, 46, 90)]
    [0.0, 0.202, 1.243, 1.243, 2.356]
    """
    twist = math.radians(positive(twist_deg, "twist of a link", unit="°", zero_is_fine=True))
    t, b = positive(thickness, "thickness of a hinge"), positive(width, "width of a link")
    half = min(twist, math.atan2(t, b)) / 2
    # b cos φ + t sin φ - b, without the difference of nearly equal numbers
    return max(2 * math.sin(half) * (t * math.cos(half) - b * math.sin(half)), t * twist / 2)


def greatest_twist_deg(*, thickness: float, width: float, gap: float) -> float:
    """How far in degrees a link of `width` × `thickness` mm turns in slits of `gap` mm before it touches.

    The inverse of `clearance_needed`.

    Raises `SizeError` for a size that is not above 0.

    >>> round(greatest_twist_deg(thickness=3, width=3, gap=0.2), 2), round(greatest_twist_deg(thickness=3, width=3, gap=1.5), 2)
    (3.96, 57.3)
    """
    t, b = positive(thickness, "thickness of a hinge"), positive(width, "width of a link")
    k = positive(gap, "width of a slit")
    # with u = tan(φ/2), b cos φ + t sin φ = b + k is (2b + k)u² - 2tu + k = 0; the smaller root comes first.  Without a root
    # the link never fills the slits, and the inner face decides.
    under_root = t * t - k * (2 * b + k)
    return math.degrees(2 * k / t if under_root < 0 else 2 * math.atan(k / (t + math.sqrt(under_root))))


def least_links(theta_deg: float, *, thickness: float, width: float, gap: float) -> int:
    """The least number of columns with which links clear each other all the way to `theta_deg`.

    So do all greater numbers, since each link then turns less.  `thickness`, `width` of a link and `gap` are in mm, the bend is
    above 0° and at most 360°.

    Raises `SizeError` for a size that is not above 0 and a bend out of range.

    The published case (lattice-hinge articles at defproc.co.uk, 2012), and slits as wide as three quarters of a link:

    >>> least_links(90, thickness=3, width=3, gap=0.2)
    23
    >>> least_links(90, thickness=3, width=3, gap=2.25), least_links(80, thickness=3, width=3, gap=2.25)
    (2, 1)
    """
    return _at_least(_theta(theta_deg) / greatest_twist_deg(thickness=thickness, width=width, gap=gap))


class LeastBend(NamedTuple):
    """The tightest bend: inner radius in mm, the columns it takes, and what limits it; None where one column would do."""

    inner_radius_mm: float
    links: int
    limited_by: Limit | None


def least_radius(
    theta_deg: float,
    *,
    thickness: float,
    width: float,
    gap: float,
    length: float,
    shear_modulus: float | None = None,
    shear_limit: float | None = None,
) -> LeastBend:
    """The least inner radius to which links of these sizes bend by `theta_deg`, and whether gap or stress limits it.

    R = N·b/θ with the least N that both allow; of a tie the gap is named.  Sizes are in mm as in `least_links`, `length` is
    that of a link; `shear_limit` is the allowed stress in MPa.  Without it, or without the modulus (MPa), only the gap counts.

    Raises `SizeError` for a size that is not above 0 and a bend out of range.

    >>> bend = least_radius(90, thickness=3, width=3, gap=0.2, length=14)
    >>> round(bend.inner_radius_mm, 2), bend.links, bend.limited_by
    (43.93, 23, 'gap')
    >>> bend = least_radius(90, thickness=3, width=3, gap=0.2, length=8, shear_modulus=1150, shear_limit=15)
    >>> round(bend.inner_radius_mm, 2), bend.links, bend.limited_by
    (59.21, 31, 'stress')
    """
    by_gap = least_links(theta_deg, thickness=thickness, width=width, gap=gap)
    positive(length, "length of a link")
    by_stress = 1
    if shear_limit is not None and shear_modulus is not None:
        in_one = shear_stress(shear_modulus, theta_deg, b=width, t=thickness, length=length)
        by_stress = _at_least(in_one / positive(shear_limit, "allowed shear stress of a hinge", unit="MPa"))
    links = max(by_gap, by_stress)
    limited_by: Limit | None = None if links == 1 else "stress" if by_stress > by_gap else "gap"
    return LeastBend(links * width / math.radians(theta_deg), links, limited_by)


@dataclass(frozen=True, slots=True)
class HingeMechanics:
    """What one hinge asks of its material, and how tightly links of its sizes could bend; made by `assess`.

    - `theta_deg`, `series`, `parallel`: the bend, columns of links in a row, links in each column.
    - `thickness_mm`, `width_mm`, `length_mm`, `clearance_mm`: a link's sizes and the width of the slits.
    - `twist_per_link_deg`: the bend over the columns.
    - `shear_stress_mpa`, `torque_nmm`: greatest stress, and the torque that springs back; None if the shear modulus is unknown.
    - `shear_limit_mpa`: strength over safety; None if the stock states no strength.
    - `clearance_needed_mm`: how wide the slits have to be.
    - `least_links`, `least_inner_radius_mm`, `limited_by`: as in `LeastBend`.
    - `grain`: how the grain of the face runs to the bend axis; None if there is none.
    - `notes`: what could not be checked, and why.
    """

    theta_deg: float
    series: int
    parallel: int
    thickness_mm: float
    width_mm: float
    length_mm: float
    twist_per_link_deg: float
    shear_stress_mpa: float | None
    shear_limit_mpa: float | None
    torque_nmm: float | None
    clearance_needed_mm: float
    clearance_mm: float
    least_links: int
    least_inner_radius_mm: float
    limited_by: Limit | None
    grain: Grain | None
    notes: tuple[str, ...]


def assess(
    theta_deg: float,
    *,
    thickness: float,
    width: float,
    length: float,
    gap: float,
    series: int,
    parallel: int,
    shear_modulus: float | None = None,
    shear_strength: float | None = None,
    safety: float = SAFETY,
    grain: Grain | None = None,
) -> HingeMechanics:
    """Everything that can be said of a hinge bent by `theta_deg`, above 0° and at most 360°, either way.

    `thickness`, `width` and `length` of a link and `gap`, the width of the slits as cut, are in mm; `series` and `parallel`
    count columns and the links in each.  `shear_modulus` and `shear_strength` are in MPa, None if the stock doesn't state them;
    `safety` is the strength over the allowed stress.

    Raises `SizeError` for a size that is not above 0, a count or a safety below 1, a bend out of range and an unknown grain.

    Cast acrylic of E = 3100 MPa, ν = 0.35 and a shear strength of 55 MPa (data sheet at samson-supply.com; UFGS 4-159-01):

    >>> lid = assess(90, thickness=3, width=3, length=14, gap=0.2, series=25, parallel=6, shear_modulus=1148, shear_strength=55)
    >>> round(lid.twist_per_link_deg, 2), round(lid.shear_stress_mpa, 1), lid.shear_limit_mpa, round(lid.torque_nmm)
    (3.6, 10.4, 27.5, 352)
    >>> lid.least_links, round(lid.least_inner_radius_mm, 1), lid.limited_by, findings(lid)
    (23, 43.9, 'gap', [])
    >>> assess(90, thickness=3, width=3, length=14, gap=0.2, series=25, parallel=6).notes
    ('the stock states no shear modulus, so torque and stress of the hinge are not computed',)
    """
    theta, columns = _theta(theta_deg), whole(series, "columns of links of a hinge")
    rows = whole(parallel, "links in a column of a hinge")
    if not positive(safety, "safety of a hinge", unit="") >= 1:
        raise SizeError(
            f"safety of a hinge is {safety:g}; give the strength over the allowed stress, 1 or more", value=safety, limit=1
        )
    if grain not in (None, "along", "across"):
        raise SizeError(f"grain of a hinge is {grain!r}; give 'along', 'across' or None", value=grain)
    limit = None if shear_strength is None else positive(shear_strength, "shear strength of a hinge", unit="MPa") / safety
    bend = least_radius(
        theta, thickness=thickness, width=width, gap=gap, length=length, shear_modulus=shear_modulus, shear_limit=limit
    )
    twist = theta / columns
    stress = torque = None
    notes: tuple[str, ...] = ()
    if shear_modulus is None:
        notes = ("the stock states no shear modulus, so torque and stress of the hinge are not computed",)
    else:
        stress = shear_stress(shear_modulus, twist, b=width, t=thickness, length=length)
        torque = math.radians(theta) * hinge_stiffness(
            shear_modulus, thickness=thickness, width=width, length=length, series=columns, parallel=rows
        )
        if limit is None:
            notes = (f"the stock states no shear strength, so {stress:.3g} MPa in the links of the hinge are not judged",)
    return HingeMechanics(
        theta_deg=theta,
        series=columns,
        parallel=rows,
        thickness_mm=float(thickness),
        width_mm=float(width),
        length_mm=float(length),
        twist_per_link_deg=twist,
        shear_stress_mpa=stress,
        shear_limit_mpa=limit,
        torque_nmm=torque,
        clearance_needed_mm=clearance_needed(twist, thickness=thickness, width=width),
        clearance_mm=float(gap),
        least_links=bend.links,
        least_inner_radius_mm=bend.inner_radius_mm,
        limited_by=bend.limited_by,
        grain=grain,
        notes=notes,
    )


def findings(hinge: HingeMechanics) -> list[tuple[Level, str]]:
    """What is wrong with a hinge and what to change, as pairs of level and text: errors first, always in the same order.

    Each of the alternatives that an error names is enough against that error by itself; lengths in it are rounded up.

    >>> hinge = assess(90, thickness=3, width=3, length=14, gap=0.2, series=12, parallel=6)
    >>> for level, text in findings(hinge):
    ...     print(level, "-", text)
    error - links turned by 7.5° need slits of 0.37 mm and touch in slits of 0.2 mm; cut slits at least 0.37 mm wide, or give \
the hinge at least 23 columns of links, 12 now
    info - the stock states no shear modulus, so torque and stress of the hinge are not computed
    """
    return [*_errors(hinge), *_warnings(hinge), *(("info", note) for note in hinge.notes)]


def _up(value: float) -> str:
    """A length rounded up to 0.01 mm, so that what is advised is enough."""
    return f"{math.ceil(value * 100 - COUNT_SLACK) / 100:.2f}".rstrip("0").rstrip(".")


def _errors(hinge: HingeMechanics) -> list[tuple[Level, str]]:
    found: list[tuple[Level, str]] = []
    clear = least_links(hinge.theta_deg, thickness=hinge.thickness_mm, width=hinge.width_mm, gap=hinge.clearance_mm)
    if hinge.series < clear:
        needed = _up(hinge.clearance_needed_mm)
        found.append((
            "error",
            f"links turned by {hinge.twist_per_link_deg:.3g}° need slits of {needed} mm and touch in slits of "
            f"{hinge.clearance_mm:g} mm; cut slits at least {needed} mm wide, or give the hinge at least {clear} columns "
            f"of links, {hinge.series} now",
        ))
    if hinge.shear_stress_mpa is not None and hinge.shear_limit_mpa is not None:
        excess = hinge.shear_stress_mpa / hinge.shear_limit_mpa
        strong = _at_least(hinge.series * excess)  # stress falls with the columns as well as with the length
        if hinge.series < strong:
            found.append((
                "error",
                f"shear stress in the links is {hinge.shear_stress_mpa:.3g} MPa, beyond {hinge.shear_limit_mpa:.3g} MPa; "
                f"make links at least {_up(hinge.length_mm * excess)} mm long, {hinge.length_mm:g} mm now, or give the hinge "
                f"at least {strong} columns of links, {hinge.series} now",
            ))
    return found


def _warnings(hinge: HingeMechanics) -> list[tuple[Level, str]]:
    found: list[tuple[Level, str]] = []
    longest = LONGEST_LINK * hinge.thickness_mm
    if hinge.length_mm > longest:
        found.append((
            "warning",
            f"links {hinge.length_mm:g} mm long in sheet of {hinge.thickness_mm:g} mm bend aside as well as twist, so the "
            f"hinge is floppy and splays; keep them to {longest:g} mm, with more of them in each column",
        ))
    shortest = SHORTEST_LINK * max(hinge.width_mm, hinge.thickness_mm)
    if hinge.length_mm < shortest:
        found.append((
            "warning",
            f"links {hinge.length_mm:g} mm long are stubs: stiffer and more stressed than computed; make them at least "
            f"{shortest:g} mm long",
        ))
    # both by the fibres' direction alone, as makers report it: common practice, no source
    if hinge.grain == "across":
        found.append((
            "warning",
            f"the grain runs across links {hinge.width_mm:g} mm wide, so no fibre of the face goes from bridge to bridge "
            "and links snap easily; turn the panel by 90° on the sheet, or use sheet without grain",
        ))
    if hinge.grain == "along":
        found.append((
            "info",
            "the grain runs along the slits, which may split on from their ends; bridges hold across the grain, so in solid "
            "wood or thin plywood cut a trial piece first",
        ))
    return found
