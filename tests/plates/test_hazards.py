"""What no laser may cut is refused by whatever name people write for it, and nothing else is."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from panelwright.plates import MaterialError, Stock
from panelwright.plates.materials.hazards import HAZARDS, hazard_of

BANNED = list(csv.DictReader((Path(__file__).parents[1] / "reference" / "banned_materials.csv").open(encoding="utf-8")))


def test_list_is_the_published_one() -> None:
    """Material, reason and source of every row, cell by cell (tests/reference/banned_materials.csv)."""
    ours = [(hazard.material, hazard.reason, hazard.source) for hazard in HAZARDS]
    assert ours == [(row["material"], row["reason"], row["source"]) for row in BANNED]
    assert len(ours) == 13


@pytest.mark.parametrize("row", BANNED, ids=lambda row: row["material"])
def test_published_name_is_refused_with_its_reason(row: dict[str, str]) -> None:
    """As the source writes it, in capitals, and in small letters with underscores for spaces."""
    for name in (row["material"], row["material"].upper(), row["material"].lower().replace(" ", "_")):
        with pytest.raises(MaterialError) as caught:
            Stock(name, 3)
        assert row["reason"] in str(caught.value)
        assert row["source"] in str(caught.value)
        assert caught.value.limit == row["material"]


@pytest.mark.parametrize(
    ("written", "listed"),
    [
        ("pvc", "PVC / vinyl"),
        ("P.V.C. sheet", "PVC / vinyl"),
        ("PVC-U", "PVC / vinyl"),
        ("Polyvinyl-Chloride", "PVC / vinyl"),
        ("poly vinyl chloride", "PVC / vinyl"),
        ("white VINYL", "PVC / vinyl"),
        ("Teflon", "PTFE"),
        ("Polycarbonate", "polycarbonate >1 mm"),
        ("poly-carbonate clear", "polycarbonate >1 mm"),
        ("PC", "polycarbonate >1 mm"),
        ("A.B.S.", "ABS"),
        ("abs plastic", "ABS"),
        ("HD-PE", "HDPE"),
        ("high-density polyethylene", "HDPE"),
        ("Polyéthylène", "HDPE"),
        ("EPS", "polystyrene / polypropylene foam"),
        ("foam-board", "polystyrene / polypropylene foam"),
        ("FoamCore", "polystyrene / polypropylene foam"),
        ("polystyrene foam", "polystyrene / polypropylene foam"),
        ("FR-4", "fibreglass / epoxy composites"),
        ("G10", "fibreglass / epoxy composites"),
        ("glass-fibre board", "fibreglass / epoxy composites"),
        ("Fiberglass", "fibreglass / epoxy composites"),
        ("carbon-fiber plate", "coated carbon fibre"),
        ("acetal", "POM"),
        ("chlorinated rubber", "PVB, halogenated"),
        ("chrome tanned leather", "chrome-tanned leather"),
        ("galvanised steel", "zinc-coated steel"),
        ("pine, pressure treated", "pressure-treated wood"),
        ("birch plywood", None),
        ("MDF", None),
        ("cast acrylic", None),
        ("PMMA", None),
        ("grey card", None),
        ("vegetable-tanned leather", None),
        ("cork", None),
        ("PVC-free banner", None),
        ("non-PVC film", None),
        ("absorbent card", None),
        ("Pomeranian oak", None),
    ],
)
def test_names_that_people_write(written: str, listed: str | None) -> None:
    """Capitals, hyphens, points and spaces make no difference; words that merely begin alike do."""
    hazard = hazard_of(written, 3)
    assert (None if hazard is None else hazard.material) == listed


def test_thin_polycarbonate_is_not_meant() -> None:
    """The source forbids it above 1 mm only."""
    assert hazard_of("polycarbonate", 1.0) is None
    assert hazard_of("polycarbonate", 1.01) is not None
    assert Stock("polycarbonate", 0.75).t == 0.75


def test_other_cutters_are_not_lasers() -> None:
    """A router may cut what a laser may not."""
    assert Stock("HDPE", 10, cutter="router").cutter == "router"
    with pytest.raises(MaterialError, match='cutter="router"'):
        Stock("HDPE", 10)
