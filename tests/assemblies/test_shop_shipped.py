"""Shipped stocks: every value against the cell that it comes from, and what the standards let a sheet be."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from panelwright.assemblies.shop import Shop
from panelwright.assemblies.shop.sheet_tolerance import COMMON_FITS, STANDARDS, fit_range, thickness_tolerance
from panelwright.assemblies.shop.shop_file import _shipped_tables
from panelwright.plates import SizeError, Stock

REFERENCE = Path(__file__).parents[1] / "reference"


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


KERFS = {(row["material"], float(row["thickness_mm"]), row["source"]): float(row["kerf_mm"]) for row in rows("kerf_co2.csv")}
MATERIALS = {(row["material"], row["property"]): row for row in rows("materials.csv") if row["status"] == "verified"}
GUIDE = "laserengravingservice.co.uk artwork guide"
INCHES = "laser504.com/kerfs-and-laser-thickness (in converted)"
SLIDE = "protolab.certifitrax.com U3M2 slide 003"

KERF_CELLS: dict[str, list[tuple[str, float, str]]] = {
    "birch 3": [("birch/poplar plywood", 3, GUIDE)],
    "birch 4": [("birch/poplar plywood", 3, GUIDE), ("birch/poplar plywood", 6, GUIDE)],
    "birch 6.5": [("birch plywood", 6.35, INCHES)],
    "MDF 3": [("MDF", 3, GUIDE)],
    "MDF 6": [("MDF", 6, GUIDE)],
    "acrylic 3": [("acrylic", 3, GUIDE)],
    "acrylic 6": [("acrylic", 6, GUIDE)],
    "acrylic 10": [("acrylic", 10, GUIDE)],
    "extruded acrylic 3": [("acrylic", 3, GUIDE)],
}
"""One cell, or two to go between in proportion to the thickness."""

DENSITY_CELLS: dict[str, tuple[str, str]] = {
    "birch 3": ("birch plywood 4 mm 3-ply", "density"),
    "birch 4": ("birch plywood 4 mm 3-ply", "density"),
    "birch 6.5": ("birch plywood 6.5 mm 5-ply", "density"),
    "birch 9": ("birch plywood 9 mm 7-ply", "density"),
    "birch 12": ("birch plywood 12 mm 9-ply", "density"),
    "MDF 3": ("MDF", "specific_gravity"),
    "MDF 6": ("MDF", "specific_gravity"),
    "acrylic 3": ("cast PMMA", "specific_gravity"),
    "acrylic 6": ("cast PMMA", "specific_gravity"),
    "acrylic 10": ("cast PMMA", "specific_gravity"),
    "extruded acrylic 3": ("cast PMMA", "specific_gravity"),
}
"""A density in kg/m³, or a specific gravity whose range is met in its middle."""

SPEED_CELLS: dict[str, tuple[str, float]] = {
    "birch 3": ("birch plywood", 3),
    "birch 6.5": ("birch plywood", 6),
    "MDF 3": ("MDF", 3),
    "acrylic 3": ("cast acrylic", 3),
    "acrylic 6": ("cast acrylic", 6),
}
TOLERANCE_CELLS = {
    "birch 4": "birch plywood 4 mm sanded",
    "birch 6.5": "birch plywood 6.5 mm sanded",
    "birch 9": "birch plywood 9 mm sanded",
    "birch 12": "birch plywood 12 mm sanded",
    "MDF 3": "HDF/MDF thin",
    "MDF 6": "HDF/MDF thin",
}
FOR_HINGES: dict[str, dict[str, tuple[str, str, float]]] = {
    "birch plywood": {
        "shear_modulus_mpa": ("birch plywood", "G_panel_mean", 1.0),
        "shear_strength_mpa": ("birch plywood", "panel_shear_fv_k", 1.0),
    },
    "cast acrylic": {
        "youngs_modulus_mpa": ("cast PMMA", "E_tensile", 1000.0),
        "poisson": ("cast PMMA", "poisson", 1.0),
        "shear_strength_mpa": ("cast PMMA", "shear_strength_min", 1.0),
    },
}
"""By material, the cell of each value that a hinge is judged by, and its unit in that of the key."""

SHOP = Shop.of_shipped()


def gravity_row(material: str) -> dict[str, str]:
    """The specific gravity that the shipped density names: that of the data sheet, not the UFGS minimum."""
    found = [row for row in rows("materials.csv") if (row["material"], row["property"]) == (material, "specific_gravity")]
    return next(row for row in found if not row["source"].startswith("UFGS"))


@pytest.mark.parametrize("name", SHOP.names)
def test_every_value_has_a_source_and_is_the_cell_it_names(name: str) -> None:
    """Kerf, density, speed and tolerance against tests/reference; what has no cell is not shipped."""
    table = _shipped_tables()[name]
    numbers = {key for key, value in table.items() if isinstance(value, int | float)} | {"tolerance_standard"} & set(table)
    assert numbers - {"thickness_mm"} == set(table["sources"])
    shelf = SHOP.shelf(name)
    if name in KERF_CELLS:
        cells = KERF_CELLS[name]
        values = [KERFS[cell] for cell in cells]
        expected = values[0]
        if len(cells) == 2:
            share = (shelf.stock.thickness - cells[0][1]) / (cells[1][1] - cells[0][1])
            expected += share * (values[1] - values[0])
        assert shelf.stock.kerf == pytest.approx(expected, abs=5e-4)
        assert cells[0][2] in table["sources"]["kerf_mm"]
    else:
        assert "kerf_mm" not in table
    material, key = DENSITY_CELLS[name]
    row = MATERIALS[material, key] if key == "density" else gravity_row(material)
    scale = 1.0 if key == "density" else 1000.0
    assert shelf.stock.density == pytest.approx(scale * (float(row["low"]) + float(row["high"])) / 2)
    assert row["source"] in table["sources"]["density_kg_m3"]
    if name in SPEED_CELLS:
        found = [
            row
            for row in rows("cut_speed_co2.csv")
            if (row["material"], float(row["thickness_mm"])) == SPEED_CELLS[name] and row["source"] == SLIDE
        ]
        assert shelf.cut_mm_s == float(found[0]["speed_mm_s_lo"])
        assert table["sources"]["cut_mm_s"].startswith(SLIDE)
        assert found[0]["tube_W"] + " W" in table["sources"]["cut_mm_s"]
    else:
        assert shelf.cut_mm_s is None
    if name in TOLERANCE_CELLS:
        row = MATERIALS[TOLERANCE_CELLS[name], "thickness_tol"]
        assert shelf.stock.tolerance == (float(row["low"]), float(row["high"]))
        assert row["source"] in table["sources"]["tolerance_standard"]
        assert STANDARDS[table["tolerance_standard"]] == table["sources"]["tolerance_standard"]


@pytest.mark.parametrize("name", SHOP.names)
def test_what_hinges_are_judged_by_is_the_cell_it_names(name: str) -> None:
    """Moduli and shear strengths; those of plywood are from memory, and say so, and materials without a cell have none."""
    table = _shipped_tables()[name]
    cells = FOR_HINGES.get(table["material"], {})
    keys = {"shear_modulus_mpa", "shear_strength_mpa", "youngs_modulus_mpa", "poisson"}
    assert keys.intersection(table) == set(cells)
    for key, (material, prop, scale) in cells.items():
        (row,) = [row for row in rows("materials.csv") if (row["material"], row["property"]) == (material, prop)]
        assert table[key] == pytest.approx(scale * float(row["low"]))
        assert row["source"].removesuffix(", from memory").removesuffix(" 450000 psi") in table["sources"][key]
        assert ("from memory" in table["sources"][key]) == (row["status"] == "FROM MEMORY")
    assert (SHOP[name].rigidity is not None and SHOP[name].shear_strength is not None) == bool(cells)


def test_fits_are_marked_as_without_source() -> None:
    """Nobody publishes fits; what is shipped says that it is common practice."""
    for name in SHOP.names:
        table = _shipped_tables()[name]
        assert {table["sources"][f"{fit}_mm"] for fit in COMMON_FITS} == {"common practice, no source"}
        if table["material"] != "cast acrylic" and table["material"] != "extruded acrylic":
            assert {fit: table[f"{fit}_mm"] for fit in COMMON_FITS} == COMMON_FITS


def test_shipped_stocks_are_uncalibrated_and_have_no_sheets() -> None:
    """All of them, until a shop measures."""
    assert len(SHOP.names) == 11
    for name in SHOP.names:
        shelf = SHOP.shelf(name)
        assert not shelf.stock.is_calibrated
        assert shelf.is_shipped
        assert shelf.stock.measured is None
        assert shelf.sheets == ()


@pytest.mark.parametrize("thickness", [2.0, 3.0, 5.0, 8.0, 12.0])
def test_tolerance_of_cast_acrylic_is_the_published_formula(thickness: float) -> None:
    """±(0.4 + 0.1·t), as tests/reference/materials.csv has it."""
    row = MATERIALS["cast PMMA ISO 7823-1", "thickness_tol_formula"]
    assert row["high"] == "+(0.4+0.1t)"
    assert thickness_tolerance("ISO 7823-1", thickness) == pytest.approx((-(0.4 + 0.1 * thickness), 0.4 + 0.1 * thickness))


def test_tolerance_of_extruded_acrylic() -> None:
    """±5 % from 3 mm on; below, the table here says nothing."""
    row = MATERIALS["extruded PMMA ISO 7823-2 t>=3", "thickness_tol"]
    share = float(row["high"]) / 100
    assert thickness_tolerance("ISO 7823-2", 6) == pytest.approx((-6 * share, 6 * share))
    with pytest.raises(SizeError, match="3 mm and more"):
        thickness_tolerance("ISO 7823-2", 2)


def test_fit_over_the_tolerance_is_what_the_sheets_do() -> None:
    """A slot for 4 mm + 0.05 mm, tried with the thinnest and the thickest sheet that EN 315 lets pass."""
    ply = SHOP["birch 4"]
    found = fit_range(ply)
    assert found is not None
    slot = ply.t + ply.clearance
    assert found.tightest == pytest.approx(slot - 4.3)
    assert found.loosest == pytest.approx(slot - 3.5)
    assert found.jams
    assert found.falls_out
    even = fit_range(Stock("MDF", 3, clearance=0.05, press=-0.2, sliding=0.3, tolerance=(-0.2, 0.2)))
    assert even is not None
    assert not even.must_measure
    assert "measure first" not in str(even)
    jams = fit_range(Stock("MDF", 3, clearance=0.0, press=-0.1, sliding=0.3, tolerance=(-0.2, 0.2)))
    assert jams is not None
    assert (jams.jams, jams.falls_out) == (True, False)
    assert str(jams).endswith("parts jam; measure first")


def test_published_kerfs_lie_where_the_shipped_ones_do() -> None:
    """No shipped kerf leaves the range of all published ones; the sources differ by up to 0.05 mm at one thickness."""
    low, high = min(KERFS.values()), max(KERFS.values())
    kerfs = [SHOP[name].kerf for name in KERF_CELLS]
    assert low <= min(kerfs)
    assert max(kerfs) <= high
