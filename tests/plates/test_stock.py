"""Stock: measured beats nominal, and sizes that no sheet has are refused."""

from __future__ import annotations

import math

import pytest
from panelwright.plates import SizeError, Stock, rectangle
from panelwright.plates.materials.stock import OKABE_ITO
from panelwright.plates.placing.plate import Plate


def test_measured_thickness_beats_nominal() -> None:
    """Everything is computed with the caliper's value once there is one."""
    assert Stock("MDF", 6).t == 6.0
    assert Stock("MDF", 6, measured=5.83).t == 5.83


@pytest.mark.parametrize(
    ("thickness", "density", "mass"),
    [(4, 660, 7.9), (6.5, 670, 13.0), (9, 710, 19.0), (12, 695, 24.8)],
)
def test_mass_of_a_whole_sheet(thickness: float, density: float, mass: float) -> None:
    """A 1220 × 2440 mm sheet of birch plywood weighs what its data sheet says, to the tenth of a kilogram.

    Source of densities and masses: birch plywood data sheet (vdocuments.site, birch-plywood-datasheet).
    """
    sheet = Plate(rectangle(1220, 2440), Stock("birch plywood", thickness, density=density))
    assert sheet.mass_kg == pytest.approx(mass, abs=0.06)


@pytest.mark.parametrize(
    ("give", "says"),
    [
        ({"thickness": 0}, "thickness of stock 'x' is 0 mm"),
        ({"thickness": -3}, "above 0"),
        ({"thickness": math.nan}, "nan"),
        ({"thickness": 3, "measured": 0}, "measured thickness"),
        ({"thickness": 3, "kerf": -0.1}, "0 or more"),
        ({"thickness": 3, "kerf": 3}, "width of one cut"),
        ({"thickness": 3, "clearance": 5}, "gap of one joint"),
        ({"thickness": 3, "density": 0}, "kg/m³"),
        ({"thickness": 3, "sheet": (600, 0)}, "sheet height"),
        ({"thickness": 3, "grain": "z"}, "'x', 'y' or None"),
        ({"thickness": 3, "color": "wood"}, "orange"),
        ({"thickness": 3, "shear_modulus": 0}, "shear modulus of stock 'x' is 0 MPa; it must be above 0"),
        ({"thickness": 3, "shear_strength": -5}, "shear strength of stock 'x' is -5 MPa"),
        ({"thickness": 3, "youngs_modulus": math.inf}, "Young's modulus of stock 'x' is inf"),
        ({"thickness": 3, "poisson": 0.5}, "above -1 and below 0.5"),
        ({"thickness": 3, "poisson": -1}, "above -1 and below 0.5"),
        ({"thickness": 3, "clearance": 0.0, "press": 0.1}, "press must be the tightest"),
        ({"thickness": 3, "clearance": 0.1, "sliding": 0.05}, "sliding the loosest"),
        ({"thickness": 3, "press": -3}, "press fit of stock 'x' is -3 mm"),
        ({"thickness": 3, "tolerance": (0.1, 0.3)}, "about the nominal thickness"),
        ({"thickness": 3, "tolerance": (-3, 0.3)}, "about the nominal thickness"),
        ({"thickness": 3, "tolerance": 0.3}, r"give \(least, most\) in mm"),
        ({"thickness": 3, "cutter": "saw"}, "'laser', 'router' or 'knife'"),
    ],
)
def test_sizes_that_no_sheet_has(give: dict[str, object], says: str) -> None:
    """The error names the stock, the size and the limit."""
    with pytest.raises(SizeError, match=says):
        Stock("x", **give)  # type: ignore[arg-type]  # options of any type


def test_a_nameless_stock_is_refused() -> None:
    """A stock needs the name that the shop uses."""
    with pytest.raises(SizeError, match="name the shop uses"):
        Stock("  ", 3)


def test_colors_are_the_published_palette() -> None:
    """Okabe and Ito's eight colours (Color Universal Design, 2008), values as published."""
    assert OKABE_ITO["vermillion"] == "#D55E00"
    assert OKABE_ITO["bluish green"] == "#009E73"
    assert len(OKABE_ITO) == 8
    assert Stock("x", 3, color="sky blue").rgb == (86, 180, 233)
    assert Stock("x", 3, color="#010203").rgb == (1, 2, 3)


def test_shear_modulus_is_derived_for_isotropic_sheet_only() -> None:
    """G = E/(2(1 + ν)) (isotropic elasticity) where none is stated, but not where there is a grain.

    E and ν: cast acrylic data sheet, samson-supply.com.  G of birch plywood: Handbook of Finnish Plywood, from memory.
    """
    assert Stock("cast acrylic", 3, youngs_modulus=3100, poisson=0.35).rigidity == pytest.approx(1148.148, abs=1e-3)
    assert Stock("cast acrylic", 3, youngs_modulus=3100, poisson=0.35, shear_modulus=1200).rigidity == 1200.0
    assert Stock("birch plywood", 4, shear_modulus=620, grain="x").rigidity == 620.0
    assert Stock("birch plywood", 4, youngs_modulus=9000, poisson=0.3, grain="x").rigidity is None
    assert Stock("MDF", 4, youngs_modulus=2700).rigidity is None
    assert Stock("MDF", 4).rigidity is None
