"""What is wrong with a hinge, from its mechanics, and how serious that is.  What would help is `hinge_advice`'s to say."""

from __future__ import annotations

import math
from typing import Literal

from panelwright.plates.tolerances import COUNT_TIE

from .hinge_mechanics import SAFE_STRAIN, HingeMechanics, least_links

__all__ = ["LONGEST_LINK", "Level", "findings", "is_sound"]

Level = Literal["error", "warning", "note"]

LONGEST_LINK = 10.0
"""Length of a link in thicknesses beyond which it is reported: the articles at defproc.co.uk advise 4 (2011), since long links
splay instead of twisting, and later cut links of 28 mm in 3 mm sheet (2012); nothing longer is published there."""

SHORTEST_LINK = 2.0
"""Length of a link in its longer sides below which it is reported: warping held back at an end fades over about one such
length (Saint-Venant's principle), and a link has two ends."""


def findings(hinge: HingeMechanics) -> list[tuple[Level, str]]:
    """What is wrong with a hinge, as pairs of level and text: errors first, always in the same order.

    Lengths that a hinge lacks are rounded up.

    >>> from .hinge_mechanics import assess
    >>> hinge = assess(90, thickness=3, width=3, length=14, gap=0.2, series=12, parallel=6)
    >>> for level, text in findings(hinge):
    ...     print(level, "-", text)
    error - 12 links turned by 7.5° each need slits of 0.37 mm and touch in slits of 0.2 mm, where 23 would turn freely
    note - the stock states no shear modulus, so torque and stress of the hinge are not computed
    """
    return [*_errors(hinge), *_warnings(hinge), *(("note", note) for note in hinge.notes)]


def is_sound(hinge: HingeMechanics) -> bool:
    """Whether a hinge has no errors."""
    return not _errors(hinge)


def _up(value: float) -> str:
    """A length rounded up to 0.01 mm, so that what is told is enough."""
    return f"{math.ceil(value * 100 - COUNT_TIE) / 100:.2f}".rstrip("0").rstrip(".")


def _errors(hinge: HingeMechanics) -> list[tuple[Level, str]]:
    found: list[tuple[Level, str]] = []
    clear = least_links(hinge.theta_deg, thickness=hinge.thickness_mm, width=hinge.width_mm, gap=hinge.clearance_mm)
    locked, solid = "", ""
    if hinge.free_links < hinge.series:
        locked = (
            f"{hinge.series - hinge.free_links} of {hinge.series} links are locked where slits stop short of tabs, slots or "
            "cut-outs; of the rest, "
        )
        if hinge.strain is not None:
            solid = (
                f" (the solid strip across the locked ones would be strained by {100 * hinge.strain:.2g} % if it were bent "
                f"instead, and {100 * SAFE_STRAIN:g} % is safe)"
            )
    if hinge.free_links == 0:
        return [("error", f"{locked or 'it has '}none is free{solid}")]
    if hinge.free_links < clear:
        needed = _up(hinge.clearance_needed_mm)
        found.append(
            (
                "error",
                f"{locked}{hinge.free_links} links turned by {hinge.twist_per_link_deg:.3g}° each need "
                f"slits of {needed} mm and "
                f"touch in slits of {hinge.clearance_mm:g} mm, where {clear} would turn freely{solid}",
            )
        )
    stress, limit = hinge.shear_stress_mpa, hinge.shear_limit_mpa
    if stress is not None and limit is not None and hinge.free_links * stress / limit > hinge.free_links + COUNT_TIE:
        found.append(
            (
                "error",
                f"{locked}shear stress in links {hinge.length_mm:.4g} mm long is {stress:.3g} MPa, "
                f"beyond {limit:.3g} MPa{solid}",
            )
        )
    return found


def _warnings(hinge: HingeMechanics) -> list[tuple[Level, str]]:
    found: list[tuple[Level, str]] = []
    longest = LONGEST_LINK * hinge.thickness_mm
    if hinge.length_mm > longest:
        found.append(
            (
                "warning",
                f"links {hinge.length_mm:g} mm long in sheet of {hinge.thickness_mm:g} mm bend aside as well as twist, so the "
                f"hinge is floppy and splays; keep them to {longest:g} mm, with more of them in each column",
            )
        )
    shortest = SHORTEST_LINK * max(hinge.width_mm, hinge.thickness_mm)
    if hinge.length_mm < shortest:
        found.append(
            (
                "warning",
                f"links {hinge.length_mm:g} mm long are stubs: stiffer and more stressed than computed; make them at least "
                f"{shortest:g} mm long",
            )
        )
    # both by the fibres' direction alone, as makers report it: common practice, no source
    if hinge.grain == "across":
        found.append(
            (
                "warning",
                f"the grain runs across links {hinge.width_mm:g} mm wide, so no fibre of the face goes from bridge to bridge "
                "and links snap easily; turn the panel by 90° on the sheet, or use sheet without grain",
            )
        )
    if hinge.grain == "along":
        found.append(
            (
                "note",
                "the grain runs along the slits, which may split on from their ends; "
                "bridges hold across the grain, so in solid "
                "wood or thin plywood cut a trial piece first",
            )
        )
    return found
