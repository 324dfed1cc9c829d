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

Bent by θ, each of N columns turns by θ/N, and every link in it is twisted by that angle about its own length.  Where something
locks links of a row (`link_rows`), the N of that row are those that are free, and the worst row is what counts.

- Stiffness: m links side by side and N columns in a row give K = m · G · J / (l · N), J by `torsion`; rows of unlike links
  add up one by one.
- Stress: the twist θ/N over the length l, by `torsion`; of a row's links the shortest.
- Locked links: the sheet across them stays flat, or it bends with the hinge and is strained by t/(2 R) at its faces, R being
  the radius of its middle (pure bending, plane sections).
- Clearance: a link turned by φ about one of its edges measures b cos φ + t sin φ across, and b + gap is there for it.  With
  b = t this is the k = t (cos φ + sin φ) - t of the lattice-hinge articles at defproc.co.uk (2011-12).  Since the link passes
  through every angle on its way to φ, what counts is the greatest value up to φ: it grows until tan φ = t/b (45° for a square
  link) and stays, where the formula by itself comes down again and would call one column enough for a right angle.
- Room on the inner face: if the mid-plane keeps its length, the inner face loses t φ/2 of every gap.  Up to tan φ = t/b that is
  less than what clearance asks for (plane trigonometry); beyond, it is what counts.
- Radius: links can't come nearer than edge to edge along the inner face, so N · b = R · θ gives the least inner radius R, as in
  the articles (links are straight, so strictly it is smaller by φ²/12 of itself).  A hinge of at least `least_links` columns
  whose mid-plane keeps its length bends to no less than that.

Guarantees: all that is checked here holds, or is a finding (`hinge_findings`) that says by how much.  The rule for clearance is
on the safe side: links that turn about their own middle need about half the gap.

What the model leaves out: bridges are rigid and links neither bend nor shift, so real hinges are softer and splay; slit ends
concentrate stress; warping is held back at the ends of short links; creep and relaxation, so the torque is that of the first
bend; moisture, and charring by the beam, which weakens narrow links; the layers of plywood, which is neither isotropic nor
equally strong along and across its grain.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

from panelwright.plates._validate import positive, whole
from panelwright.plates.errors import SizeError
from panelwright.plates.tolerances import COUNT_TIE

from .link_rows import LinkRow
from .torsion import shear_stress, torsion_constant

__all__ = [
    "Grain",
    "HingeMechanics",
    "LeastBend",
    "Limit",
    "assess",
    "clearance_needed",
    "greatest_twist_deg",
    "hinge_stiffness",
    "least_links",
    "least_radius",
]

Grain = Literal["along", "across"]
"""Whether the grain of the face runs along the bend axis, and so along the links, or across it."""

Limit = Literal["gap", "stress"]

SAFETY = 2.0
"""Shear strength over allowed stress: common practice, no source.  The first published lattice hinges in acrylic, laid out for
its yield stress, broke easily (defproc.co.uk, 2012)."""

SAFE_STRAIN = 0.002
"""Strain that a solid strip across locked links may take.  Softwood plywood breaks at 0.4 to 0.6 %, MDF at 1 % and cast acrylic
at 3.5 % (modulus of rupture over that of elasticity: Wood Handbook FPL-GTR-190, table 12-1; cast acrylic data sheet at
samson-supply.com); half of the least, as for shear."""

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
    return max(1, math.ceil(count - COUNT_TIE))


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
    - `free_links`, `worst_level`: how many links turn in the row with the fewest, and the u of its middle in mm; None where no
      rows were given.
    - `strain`: that of the solid strip across locked links, were it bent like the sheet; None if there are none, or no radius.
    - `thickness_mm`, `width_mm`, `length_mm`, `clearance_mm`: sizes of the shortest link, and the width of the slits.
    - `twist_per_link_deg`: the bend over the free links of the worst row.
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
    free_links: int
    worst_level: float | None
    strain: float | None
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
    rows: Sequence[LinkRow] = (),
    middle_radius: float | None = None,
) -> HingeMechanics:
    """Everything that can be said of a hinge bent by `theta_deg`, above 0° and at most 360°, either way.

    `thickness`, `width` and `length` of a link and `gap`, the width of the slits as cut, are in mm; `series` and `parallel`
    count columns and the links in each, and `rows` say what is left of them where something stands in their way (by default
    nothing does).  `middle_radius` in mm is that of the middle of the sheet: a solid strip across locked links bends with it if
    that strains it by no more than `SAFE_STRAIN`.

    `shear_modulus` and `shear_strength` are in MPa, None if the stock doesn't state them;
    `safety` is the strength over the allowed stress.

    Raises `SizeError` for a size that is not above 0, a count or a safety below 1, a bend out of range and an unknown grain.

    Cast acrylic of E = 3100 MPa, ν = 0.35 and a shear strength of 55 MPa (data sheet at samson-supply.com; UFGS 4-159-01):

    >>> lid = assess(90, thickness=3, width=3, length=14, gap=0.2, series=25, parallel=6, shear_modulus=1148, shear_strength=55)
    >>> round(lid.twist_per_link_deg, 2), round(lid.shear_stress_mpa, 1), lid.shear_limit_mpa, round(lid.torque_nmm)
    (3.6, 10.4, 27.5, 352)
    >>> lid.least_links, round(lid.least_inner_radius_mm, 1), lid.limited_by
    (23, 43.9, 'gap')
    >>> assess(90, thickness=3, width=3, length=14, gap=0.2, series=25, parallel=6).notes
    ('the stock states no shear modulus, so torque and stress of the hinge are not computed',)
    """
    theta, columns = _theta(theta_deg), whole(series, "columns of links of a hinge")
    rows_of_links = whole(parallel, "links in a column of a hinge")
    if not positive(safety, "safety of a hinge", unit="") >= 1:
        raise SizeError(
            f"safety of a hinge is {safety:g}; give the strength over the allowed stress, 1 or more", value=safety, limit=1
        )
    if grain not in (None, "along", "across"):
        raise SizeError(f"grain of a hinge is {grain!r}; give 'along', 'across' or None", value=grain)
    limit = None if shear_strength is None else positive(shear_strength, "shear strength of a hinge", unit="MPa") / safety
    if not rows:
        rows = [LinkRow(math.nan, columns, float(length), columns * float(length))] * rows_of_links
    strain = None
    if middle_radius is not None and any(row.free < columns for row in rows):
        strain = thickness / (2 * positive(middle_radius, "radius of a hinge"))
    if strain is not None and strain <= SAFE_STRAIN:
        # what is solid bends like the sheet, so the links beside it turn no further than all others
        rows = [replace(row, free=max(row.free, columns)) for row in rows]
    worst = min(rows, key=lambda row: row.free)
    shortest = min((row.shortest for row in rows if row.shortest > 0), default=float(length))
    bend = least_radius(
        theta, thickness=thickness, width=width, gap=gap, length=shortest, shear_modulus=shear_modulus, shear_limit=limit
    )
    twist = theta / max(1, worst.free)
    stress = torque = None
    notes: tuple[str, ...] = ()
    if shear_modulus is None:
        notes = ("the stock states no shear modulus, so torque and stress of the hinge are not computed",)
    else:
        # a link 1 mm long twisted by the whole bend, and then what each row makes of it
        one = shear_stress(shear_modulus, theta, b=width, t=thickness, length=1.0)
        stress = max(one / (max(1, row.free) * (row.shortest or shortest)) for row in rows)
        spring = hinge_stiffness(shear_modulus, thickness=thickness, width=width, length=1.0, series=1, parallel=1)
        torque = math.radians(theta) * spring * sum(1.0 / (row.total or shortest) for row in rows)
        if limit is None:
            notes = (f"the stock states no shear strength, so {stress:.3g} MPa in the links of the hinge are not judged",)
    return HingeMechanics(
        theta_deg=theta,
        series=columns,
        parallel=rows_of_links,
        free_links=worst.free,
        worst_level=None if math.isnan(worst.level) else worst.level,
        strain=strain,
        thickness_mm=float(thickness),
        width_mm=float(width),
        length_mm=shortest,
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
