"""Materials that no laser may cut, by the names that people write for them.

The list is public (`tests/reference/banned_materials.csv`, cell by cell the same); the other names of each material are common
trade words, from memory.  It is not complete: what is not listed here may still be dangerous, so a machine's manual and the
maker's safety sheet have the last word.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from panelwright.plates.errors import MaterialError

__all__ = ["HAZARDS", "Hazard", "hazard_of", "refuse_hazard"]


@dataclass(frozen=True, slots=True)
class Hazard:
    """One material that must not be cut by laser.

    `material`, `reason` and `source` are as published; `names` are the names that mean it, in small letters; sheets up to
    `above_mm` thick are not meant.
    """

    material: str
    reason: str
    source: str
    names: tuple[str, ...]
    above_mm: float = 0.0


HAZARDS: tuple[Hazard, ...] = (
    Hazard(
        "PVC / vinyl",
        "chlorine / HCl; corrodes optics",
        "UIC fab lab; UT Austin wiki; BOFA",
        ("pvc", "upvc", "pvcu", "vinyl", "vinyls", "polyvinyl chloride", "polyvinylchloride", "forex", "sintra"),
    ),
    Hazard(
        "PTFE",
        "carbonyl fluoride COF2",
        "UT Austin wiki",
        ("ptfe", "teflon", "polytetrafluoroethylene"),
    ),
    Hazard(
        "polycarbonate >1 mm",
        "absorbs IR, discolours, burns",
        "UIC; x-p.nu",
        ("polycarbonate", "polycarb", "pc", "lexan", "makrolon"),
        above_mm=1.0,
    ),
    Hazard(
        "ABS",
        "HCN; melts",
        "UT Austin; x-p.nu",
        ("abs", "acrylonitrile butadiene styrene"),
    ),
    Hazard(
        "HDPE",
        "melts, burns",
        "UIC; x-p.nu",
        ("hdpe", "pehd", "high density polyethylene", "polyethylene", "polythene"),
    ),
    Hazard(
        "polystyrene / polypropylene foam",
        "fire",
        "UIC; x-p.nu",
        (
            "polystyrene foam",
            "polypropylene foam",
            "expanded polystyrene",
            "extruded polystyrene",
            "expanded polypropylene",
            "foamed polystyrene",
            "foamed polypropylene",
            "styrofoam",
            "eps",
            "xps",
            "epp",
            "ps foam",
            "pp foam",
            "foam board",
            "foam core",
        ),
    ),
    Hazard(
        "fibreglass / epoxy composites",
        "HCN, resin fume",
        "UT Austin; x-p.nu",
        ("fibreglass", "fiberglass", "glass fibre", "glass fiber", "epoxy", "grp", "gfrp", "g10", "fr4"),
    ),
    Hazard(
        "coated carbon fibre",
        "HCN, resin fume",
        "UT Austin; x-p.nu",
        ("carbon fibre", "carbon fiber", "cfrp"),
    ),
    Hazard(
        "POM",
        "formaldehyde",
        "UT Austin",
        ("pom", "polyoxymethylene", "acetal", "polyacetal", "delrin"),
    ),
    Hazard(
        "PVB, halogenated",
        "halogens",
        "UT Austin; eclaserstudio.com",
        (
            "pvb",
            "polyvinyl butyral",
            "halogenated",
            "chlorinated",
            "brominated",
            "fluorinated",
            "fluoropolymer",
            "pvdf",
            "etfe",
            "fep",
            "neoprene",
            "polychloroprene",
        ),
    ),
    Hazard(
        "chrome-tanned leather",
        "Cr(VI)",
        "eclaserstudio.com",
        ("chrome tanned", "chromium tanned", "chrome leather"),
    ),
    Hazard(
        "zinc-coated steel",
        "zinc oxide, metal fume fever",
        "biologyinsights.com (general), not a cutter list",
        ("zinc coated", "zinc plated", "galvanised", "galvanized"),
    ),
    Hazard(
        "pressure-treated wood",
        "prohibited list",
        "protohaven.org",
        ("pressure treated", "cca treated", "tanalised", "tanalized", "creosoted"),
    ),
)
"""What the sources forbid, in their order."""

_BEFORE = frozenset({"no", "non", "not", "without"})
"""Words that turn the name after them into its opposite."""

_LONGEST = 5
"""Most words that one name may be spread over, as in "P. V. C." or "poly vinyl chloride"."""


def hazard_of(material: str, thickness: float) -> Hazard | None:
    """The entry that forbids laser cutting a sheet of this material, `thickness` in mm, or None.

    Capitals, accents, hyphens and spaces make no difference; "PVC-free" and "non-PVC" do not mean PVC.

    >>> hazard_of("Poly-Carbonate, clear", 3).reason
    'absorbs IR, discolours, burns'
    >>> hazard_of("polycarbonate", 0.5) is None, hazard_of("PVC-free banner", 1) is None
    (True, True)
    >>> hazard_of("birch plywood", 4) is None
    True
    """
    bare = unicodedata.normalize("NFKD", material).encode("ascii", "ignore").decode().casefold()
    words = re.findall(r"[a-z]+|[0-9]+", bare)
    written: set[str] = set()
    for first in range(len(words)):
        if first > 0 and words[first - 1] in _BEFORE:
            continue
        for last in range(first + 1, min(first + _LONGEST, len(words)) + 1):
            if words[last : last + 1] != ["free"]:
                written.add("".join(words[first:last]))
    for hazard in HAZARDS:
        if thickness > hazard.above_mm and any(name.replace(" ", "") in written for name in hazard.names):
            return hazard
    return None


def refuse_hazard(material: str, thickness: float) -> None:
    """Raise `MaterialError` with the reason and its source if no laser may cut this material.

    >>> refuse_hazard("ABS", 3)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.MaterialError: 'ABS' must not be cut by laser: HCN; melts (UT Austin; x-p.nu).  Choose another \
material, or say that a router or knife cuts it: cutter="router"
    """
    hazard = hazard_of(material, thickness)
    if hazard is None:
        return
    also = "" if hazard.material.casefold() == material.casefold() else f" (listed as {hazard.material})"
    raise MaterialError(
        f"{material!r}{also} must not be cut by laser: {hazard.reason} ({hazard.source}).  Choose another material, or say "
        'that a router or knife cuts it: cutter="router"',
        value=material,
        limit=hazard.material,
    )
