"""Mechanics of living hinges against outside tables, a solution of Prandtl's equation, and links turned corner by corner."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from panelwright.joints.kinds.hinges.hinge_findings import findings, is_sound
from panelwright.joints.kinds.hinges.hinge_mechanics import (
    HingeMechanics,
    assess,
    clearance_needed,
    greatest_twist_deg,
    hinge_stiffness,
    least_links,
    least_radius,
)
from panelwright.joints.kinds.hinges.link_rows import LinkRow
from panelwright.joints.kinds.hinges.torsion import shear_stress, torsion_constant, torsion_factors
from panelwright.plates import SizeError, Stock

REFERENCE = Path(__file__).parents[1] / "reference"
TORSION: dict[str, Any] = json.loads((REFERENCE / "torsion_rect.json").read_text("utf-8"))
FRAME: dict[str, Any] = json.loads((REFERENCE / "lattice_hinge_frame.json").read_text("utf-8"))["rows"]
LINKS: dict[str, Any] = json.loads((REFERENCE / "hinge_min_links.json").read_text("utf-8"))

THICKNESSES = st.floats(1, 12)
WIDTHS = st.floats(1, 10)
GAPS = st.floats(0.05, 4)
BENDS = st.floats(1, 360)
COUNTS = st.integers(1, 60)


def tray_lid(theta_deg: float = 90, **changes: Any) -> HingeMechanics:
    """The hinged lid of the tile tray, 3 mm acrylic, fine as it is."""
    sizes: dict[str, Any] = {
        "thickness": 3,
        "width": 3,
        "length": 14,
        "gap": 0.2,
        "series": 25,
        "parallel": 6,
        "shear_modulus": 1148,
        "shear_strength": 55,
    }
    return assess(theta_deg, **(sizes | changes))


# torsion of one link


@pytest.mark.parametrize("row", TORSION["rows"], ids=lambda row: str(row["b_over_t"]))
def test_torsion_factors_agree_with_the_table(row: dict[str, float]) -> None:
    """Series, rounded table (Oasys GSA documentation) and finite elements (sectionproperties 3.10.2), as close as each is."""
    alpha, beta = torsion_factors(row["b_over_t"], 1)
    assert beta == pytest.approx(row["beta_series"], abs=6e-7)
    assert alpha == pytest.approx(row["alpha_series"], abs=6e-7)
    assert beta == pytest.approx(row["beta_roark"], rel=5e-3)
    if "beta_sectionproperties" in row:
        assert beta == pytest.approx(row["beta_sectionproperties"], rel=1e-4)
        assert alpha == pytest.approx(row["alpha_sectionproperties"], rel=1e-3)


def test_the_table_has_rows_by_finite_elements() -> None:
    """The comparison with finite elements isn't empty."""
    assert sum("beta_sectionproperties" in row for row in TORSION["rows"]) >= 6


def prandtl(ratio: int, across: int) -> tuple[float, float]:
    """(J, greatest stress at unit G and unit twist per length) of a bar of `ratio` × 1, by finite differences.

    Prandtl's stress function: ∇²ψ = -2 inside, 0 on the border; J = 2 ∫ψ, the stress is its slope across the border.
    """
    h, nx, ny = 1 / across, ratio * across - 1, across - 1

    def second(n: int) -> np.ndarray:
        return (np.diag(np.full(n - 1, 1.0), 1) + np.diag(np.full(n - 1, 1.0), -1) - 2 * np.eye(n)) / h**2

    laplace = np.kron(second(nx), np.eye(ny)) + np.kron(np.eye(nx), second(ny))
    psi = np.linalg.solve(laplace, np.full(nx * ny, -2.0)).reshape(nx, ny)
    # on the long side the second derivative across is -2, which gives the slope at the border from one value inside
    return 2 * float(psi.sum()) * h**2, float(psi[nx // 2, 0] + h**2) / h


@pytest.mark.parametrize("ratio", [1, 2, 3, 5])
def test_torsion_factors_solve_prandtls_equation(ratio: int) -> None:
    """Finite differences on two grids, extrapolated to none: 0.2 % for twist and 0.5 % for stress."""
    (coarse_j, coarse_stress), (fine_j, fine_stress) = prandtl(ratio, 8), prandtl(ratio, 16)
    j, stress = (4 * fine_j - coarse_j) / 3, (4 * fine_stress - coarse_stress) / 3
    alpha, beta = torsion_factors(ratio, 1)
    assert torsion_constant(ratio, 1) == pytest.approx(j, rel=2e-3)
    assert shear_stress(1, math.degrees(1), b=ratio, t=1, length=1) == pytest.approx(stress, rel=5e-3)
    assert beta / alpha == pytest.approx(stress, rel=5e-3)


@given(WIDTHS, THICKNESSES, st.floats(0.01, 100))
def test_torsion_factors_depend_on_the_ratio_of_sides_alone(b: float, t: float, scale: float) -> None:
    """Turned or enlarged, a section keeps its factors; between a square's and a thin strip's, and α above β."""
    alpha, beta = torsion_factors(b, t)
    assert torsion_factors(t, b) == (alpha, beta)
    assert torsion_factors(scale * b, scale * t) == pytest.approx((alpha, beta), rel=1e-12)
    square = torsion_factors(1, 1)
    assert square[0] - 1e-12 <= alpha < 1 / 3
    assert square[1] - 1e-12 <= beta < 1 / 3
    assert alpha >= beta - 1e-12


def test_stress_agrees_with_the_published_rule_for_links() -> None:
    """N ≥ 0.676125 θ G t/(τ l) for square links: lattice hinge test results, defproc.co.uk (2011), from a rounded table."""
    theta, modulus, t, length, columns = 90, 1148, 3, 14, 23
    stress = shear_stress(modulus, theta / columns, b=t, t=t, length=length)
    assert 0.676125 * math.radians(theta) * modulus * t / (stress * length) == pytest.approx(columns, rel=2e-3)


# a lattice of links


@pytest.mark.parametrize("ratio", [1.0, 1.25, 2.0, 5.0])
def test_torsion_factors_are_those_of_the_plain_series(ratio: float) -> None:
    """Two thousand terms as the books write them, with tanh and cosh, give the same twelve digits."""
    odd = range(1, 4001, 2)
    arguments = {n: n * math.pi * ratio / 2 for n in odd}
    beta = (1 - 192 / math.pi**5 / ratio * math.fsum(math.tanh(x) / n**5 for n, x in arguments.items())) / 3
    greatest = 1 - 8 / math.pi**2 * math.fsum(1 / (n**2 * math.cosh(x)) for n, x in arguments.items() if x < 700)
    assert torsion_factors(ratio, 1) == pytest.approx((beta / greatest, beta), rel=1e-12)


@pytest.mark.parametrize("case", FRAME["cases"], ids=lambda case: f"{case['torsion_cols']}x{case['segments_parallel']}")
def test_stiffness_agrees_with_a_frame(case: dict[str, Any]) -> None:
    """K against a frame model of the lattice (PyNiteFEA 3.2.0) to 0.01 %, and the torque that springs back is K·θ."""
    sizes = {
        "thickness": case["t"],
        "width": case["b"],
        "length": case["l"],
        "series": case["torsion_cols"],
        "parallel": case["segments_parallel"],
    }
    stiffness = hinge_stiffness(FRAME["G"], **sizes)
    assert stiffness == pytest.approx(case["K_frame"], rel=1e-4)
    assert stiffness == pytest.approx(case["K_formula"], rel=1e-6)
    bent = assess(45, gap=case["gap"], shear_modulus=FRAME["G"], **sizes)
    assert bent.torque_nmm == pytest.approx(case["K_frame"] * math.pi / 4, rel=1e-4)


@given(THICKNESSES, WIDTHS, st.floats(4, 60), COUNTS, COUNTS, st.floats(1, 180))
def test_torque_and_stress_follow_bend_and_counts(
    t: float, b: float, length: float, series: int, parallel: int, theta: float
) -> None:
    """Both grow in proportion to the bend; more columns or longer links ease both, more links in each add torque alone."""

    def bent(angle: float = theta, **changes: Any) -> tuple[float, float]:
        sizes = {"length": length, "series": series, "parallel": parallel} | changes
        hinge = assess(angle, thickness=t, width=b, gap=0.2, shear_modulus=1148, **sizes)
        assert hinge.torque_nmm is not None
        assert hinge.shear_stress_mpa is not None
        return hinge.torque_nmm, hinge.shear_stress_mpa

    torque, stress = bent()
    assert bent(2 * theta) == pytest.approx((2 * torque, 2 * stress))
    assert bent(series=2 * series) == pytest.approx((torque / 2, stress / 2))
    assert bent(length=2 * length) == pytest.approx((torque / 2, stress / 2))
    assert bent(parallel=3 * parallel) == pytest.approx((3 * torque, stress))
    assert bent(series=series + 1)[0] < torque
    # work of the torque is the energy in the links: each holds (τ/(G s β/α))² G J / (2 l)
    alpha, beta = torsion_factors(b, t)
    rate = stress * alpha / (beta * 1148 * min(b, t))
    energy = series * parallel * 1148 * torsion_constant(b, t) * rate**2 * length / 2
    assert torque * math.radians(theta) / 2 == pytest.approx(energy)


# clearance and radius


@pytest.mark.parametrize("row", LINKS["rows"], ids=lambda row: f"{row['t']}-{row['gap']}")
def test_least_links_and_radius_of_the_table(row: dict[str, Any]) -> None:
    """Rows from the condition of the lattice-hinge articles at defproc.co.uk (2011-12)."""
    sizes = {"thickness": row["t"], "width": row["link_w"], "gap": row["gap"]}
    assert least_links(row["theta_deg"], **sizes) == row["n_min"]
    bend = least_radius(row["theta_deg"], length=14, **sizes)
    assert (bend.links, bend.limited_by) == (row["n_min"], "gap")
    assert bend.inner_radius_mm == pytest.approx(row["R_inner"], abs=0.006)


def test_the_published_case() -> None:
    """90°, sheet and links of 3 mm, gap 0.2 mm: 23 links, inner radius 44 mm (defproc.co.uk, 2012)."""
    bend = least_radius(90, thickness=3, width=3, gap=0.2, length=14)
    assert (bend.links, round(bend.inner_radius_mm)) == (23, 44)


def turned_width(b: float, t: float, twist: float) -> float:
    """How wide a link measures at most on its way to `twist` (radians), corner by corner in small steps."""
    angles = np.append(np.linspace(0, twist, 2001), [math.atan2(t, b)] if twist > math.atan2(t, b) else [])
    corners = np.array([(0, 0), (b, 0), (b, t), (0, t)])
    across = np.outer(np.cos(angles), corners[:, 0]) + np.outer(np.sin(angles), corners[:, 1])
    return float((across.max(axis=1) - across.min(axis=1)).max())


@given(BENDS, THICKNESSES, WIDTHS, GAPS)
def test_least_links_are_enough_and_least(theta: float, t: float, b: float, gap: float) -> None:
    """That many columns, and every greater number, clear all the way and leave room on the inner face; one less doesn't."""
    least = least_links(theta, thickness=t, width=b, gap=gap)

    def lacking(columns: int) -> float:
        twist = math.radians(theta) / columns
        inner_face_needed, inner_face = columns * b, columns * (b + gap) - math.radians(theta) * t / 2
        return max(turned_width(b, t, twist) - b - gap, (inner_face_needed - inner_face) / columns)

    for columns in (*range(least, least + 4), 2 * least, 7 * least):
        assert lacking(columns) <= 1e-6
    if least > 1:
        assert lacking(least - 1) > -1e-6


def test_wide_angles_do_not_slip_through_where_the_formula_comes_down() -> None:
    """At 90° the width of a square link is its own again, but at 45° on the way it was 1.24 mm more."""
    assert turned_width(3, 3, math.pi / 2) - 3 == pytest.approx(3 * (math.sqrt(2) - 1), abs=1e-9)
    assert clearance_needed(47, thickness=3, width=3) == clearance_needed(45, thickness=3, width=3)
    assert clearance_needed(45, thickness=3, width=3) == pytest.approx(3 * (math.sqrt(2) - 1))
    assert least_links(90, thickness=3, width=3, gap=1.2) == 3
    # wide enough to turn freely, yet with one column the inner faces of the plates would pass through each other
    assert least_links(90, thickness=3, width=3, gap=1.25) == 2


@given(BENDS, THICKNESSES, WIDTHS, GAPS, st.integers(0, 5))
def test_hinges_with_enough_links_lie_apart_and_no_tighter_than_the_least_radius(
    theta: float, t: float, b: float, gap: float, more: int
) -> None:
    """Links set along the bend, the mid-plane as long as in the flat, don't overlap; the least radius lies inside."""
    bend = least_radius(theta, thickness=t, width=b, gap=gap, length=10)
    columns = bend.links + more
    middle = columns * (b + gap) / math.radians(theta)
    assert middle - t / 2 >= bend.inner_radius_mm * (1 - 1e-9)
    assume(columns > 1)
    step = math.radians(theta) / columns
    first, second = (
        shapely.Polygon(
            [
                (r * math.cos(turn) - s * math.sin(turn), r * math.sin(turn) + s * math.cos(turn))
                for r, s in (
                    (middle - t / 2, -b / 2),
                    (middle + t / 2, -b / 2),
                    (middle + t / 2, b / 2),
                    (middle - t / 2, b / 2),
                )
            ]
        )
        for turn in (0.0, step)
    )
    assert first.intersection(second).area <= 1e-9


@given(st.floats(0, 180), st.floats(0, 180), THICKNESSES, WIDTHS)
def test_clearance_never_falls_and_greatest_twist_is_its_inverse(one: float, other: float, t: float, b: float) -> None:
    """So that one comparison of gaps is as good as one of angles."""
    low, high = sorted((one, other))
    needed = clearance_needed(low, thickness=t, width=b)
    assert needed <= clearance_needed(high, thickness=t, width=b)
    assert needed >= t * math.radians(low) / 2 * (1 - 1e-12)
    assume(needed > 0.01)
    assert clearance_needed(greatest_twist_deg(thickness=t, width=b, gap=needed), thickness=t, width=b) == pytest.approx(
        needed, rel=1e-6
    )


@given(BENDS, THICKNESSES, WIDTHS, GAPS, st.floats(4, 60), st.floats(1, 100))
def test_what_limits_the_radius(theta: float, t: float, b: float, gap: float, length: float, limit: float) -> None:
    """The limiting condition fails with one column less, and the other one doesn't ask for more."""
    bend = least_radius(theta, thickness=t, width=b, gap=gap, length=length, shear_modulus=620, shear_limit=limit)
    by_gap = least_links(theta, thickness=t, width=b, gap=gap)
    assert bend.inner_radius_mm == pytest.approx(bend.links * b / math.radians(theta))
    assert shear_stress(620, theta / bend.links, b=b, t=t, length=length) <= limit * (1 + 1e-6)
    if bend.limited_by is None:
        assert bend.links == by_gap == 1
    elif bend.limited_by == "gap":
        assert bend.links == by_gap > 1
    else:
        assert bend.links > by_gap
        assert shear_stress(620, theta / (bend.links - 1), b=b, t=t, length=length) > limit * (1 - 1e-6)


def test_of_a_tie_the_gap_is_named() -> None:
    """Both ask for 23 columns: 90° over 22.5 of them give just the stress allowed."""
    limit = shear_stress(1148, 4, b=3, t=3, length=14)
    sizes = {"thickness": 3, "width": 3, "length": 14, "shear_modulus": 1148, "shear_limit": limit}
    assert least_radius(90, gap=0.2, **sizes)[1:] == (23, "gap")
    assert least_radius(90, gap=0.3, **sizes)[1:] == (23, "stress")
    assert least_radius(4, gap=0.3, **sizes)[1:] == (1, None)


def test_stress_has_no_direction() -> None:
    """A link twisted back is sheared as much."""
    assert shear_stress(1148, -4, b=3, t=2, length=14) == shear_stress(1148, 4, b=3, t=2, length=14) > 0


# assessment and findings


def test_a_hinge_that_holds_has_no_findings() -> None:
    """Acrylic of a known strength; each number is the one that its function gives."""
    lid = tray_lid()
    assert findings(lid) == []
    assert lid.notes == ()
    assert lid.twist_per_link_deg == 3.6
    assert lid.shear_limit_mpa == 27.5
    assert lid.clearance_needed_mm < lid.clearance_mm
    assert (lid.least_links, lid.limited_by) == (23, "gap")


LOCKED = [LinkRow(3.0, 19, 14.0, 19 * 14.0), LinkRow(20.0, 25, 14.0, 25 * 14.0)]
"""What tabs may leave on one border of a hinge for a right angle: 90°/19 need 0.238 mm by b cos φ + t sin φ - b."""

SHORT = [LinkRow(3.0, 25, 7.0, 24 * 14.0 + 7.0), LinkRow(20.0, 25, 14.0, 25 * 14.0)]
"""One link half as long as the others."""


@pytest.mark.parametrize(
    ("changes", "level", "says"),
    [
        ({"series": 12}, "error", r"12 links turned by 7.5° each need slits of 0.37 mm.*slits of 0.2 mm, where 23 would"),
        ({"length": 6, "safety": 3}, "error", r"in links 6 mm long is 24.4 MPa, beyond 18.3 MPa"),
        ({"rows": LOCKED}, "error", r"^6 of 25 links are locked.*; of the rest, 19 links turned by 4.74°.*slits of 0.24"),
        (
            {"rows": LOCKED, "middle_radius": 46.5},
            "error",
            r"slits of 0.2 mm, where 23 would turn freely \(the solid strip.*strained by 3.2 %.*and 0.2 % is safe",
        ),
        ({"rows": [LinkRow(3.0, 0, 0.0, 0.0)]}, "error", r"^25 of 25 links are locked.*of the rest, none is free"),
        ({"rows": SHORT, "safety": 3}, "error", r"in links 7 mm long is 20.9 MPa, beyond 18.3 MPa"),
        ({"length": 31}, "warning", "31 mm long in sheet of 3 mm bend aside.*keep them to 30 mm"),
        ({"length": 31, "width": 3.5}, "warning", "keep them to 30 mm"),
        ({"length": 5.9}, "warning", "5.9 mm long are stubs.*at least 6 mm"),
        ({"length": 5.9, "width": 2.5}, "warning", "at least 6 mm"),
        ({"length": 6.9, "width": 3.5}, "warning", "at least 7 mm"),
        ({"grain": "across"}, "warning", "across links 3 mm wide.*turn the panel by 90°"),
        ({"grain": "along"}, "note", "along the slits.*trial piece"),
        ({"shear_strength": None}, "note", "no shear strength, so 10.4 MPa"),
        ({"shear_modulus": None}, "note", "no shear modulus"),
    ],
)
def test_each_finding_says_by_how_much_and_what_to_change(changes: dict[str, Any], level: str, says: str) -> None:
    """One change to a lid that holds gives one finding."""
    [(found, text)] = findings(tray_lid(**changes))
    assert found == level
    assert re.search(says, text)


def test_findings_come_in_order() -> None:
    """Errors first, then warnings, then what is only told."""
    found = findings(tray_lid(series=5, length=5, grain="across", shear_modulus=1148, shear_strength=20))
    assert [level for level, _ in found] == ["error", "error", "warning", "warning"]
    found = findings(tray_lid(series=5, length=5, grain="along", shear_strength=None))
    assert [level for level, _ in found] == ["error", "warning", "note", "note"]


@given(st.floats(1, 180), THICKNESSES, WIDTHS, st.floats(0.05, 1), COUNTS, st.floats(4, 60))
def test_errors_come_where_there_are_fewer_links_than_the_least(
    theta: float, t: float, b: float, gap: float, series: int, length: float
) -> None:
    """Exactly there; as many links as the least have none, and one fewer has one."""
    sizes: dict[str, Any] = {
        "thickness": t,
        "width": b,
        "gap": gap,
        "length": length,
        "parallel": 4,
        "shear_modulus": 620,
        "shear_strength": 9.5,
    }
    hinge = assess(theta, series=series, **sizes)
    assert is_sound(hinge) == (series >= hinge.least_links)
    assert is_sound(assess(theta, series=hinge.least_links, **sizes))
    if hinge.least_links > 1:
        assert not is_sound(assess(theta, series=hinge.least_links - 1, **sizes))


def test_the_worst_row_counts() -> None:
    """Twist by the fewest free links, stress by the shortest one, torque row by row (springs in series, rows in parallel)."""
    plain = tray_lid()
    locked, short = tray_lid(rows=LOCKED), tray_lid(rows=SHORT)
    assert locked.twist_per_link_deg == pytest.approx(90 / 19)
    assert locked.shear_stress_mpa == pytest.approx(25 / 19 * plain.shear_stress_mpa)
    assert short.shear_stress_mpa == pytest.approx(2 * plain.shear_stress_mpa)
    one = tray_lid(rows=[LinkRow(0.0, 25, 14.0, 25 * 14.0)]).torque_nmm
    assert plain.torque_nmm == pytest.approx(6 * one)
    assert locked.torque_nmm == pytest.approx(one * (25 / 19 + 1))
    assert short.torque_nmm == pytest.approx(one * (25 * 14 / (24 * 14 + 7) + 1))


def test_a_solid_strip_that_bends_gently_locks_nothing() -> None:
    """t/2R up to 0.2 %: a sheet of 3 mm bends to 750 mm without slits; a little tighter, and its links count as locked."""
    assert tray_lid(rows=LOCKED, middle_radius=750).free_links == 25
    assert tray_lid(rows=LOCKED, middle_radius=749).free_links == 19
    assert tray_lid(rows=LOCKED, middle_radius=749).strain == pytest.approx(3 / 2 / 749)
    assert tray_lid(middle_radius=20).strain is None


def test_stock_feeds_the_assessment() -> None:
    """E and ν of acrylic give the modulus (isotropic elasticity); sheet with a grain has none until it is stated.

    E = 3100 MPa, ν = 0.35: cast acrylic data sheet, samson-supply.com; shear strength 55 MPa: UFGS 4-159-01.
    """
    acrylic = Stock("cast acrylic", 3, youngs_modulus=3100, poisson=0.35, shear_strength=55)
    assert acrylic.rigidity == pytest.approx(FRAME["G"])
    lid = tray_lid(shear_modulus=acrylic.rigidity, shear_strength=acrylic.shear_strength)
    assert findings(lid) == []
    ply = Stock("birch plywood", 4, grain="x", youngs_modulus=9000, poisson=0.3)
    assert tray_lid(shear_modulus=ply.rigidity).torque_nmm is None


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"theta_deg": 0}, "bend of a hinge is 0 °; it must be above 0"),
        ({"theta_deg": 361}, "361°; a sheet bent by more than 360°"),
        ({"thickness": 0}, "thickness of a hinge is 0 mm"),
        ({"width": -1}, "width of a link is -1 mm"),
        ({"length": 0}, "length of a link is 0 mm"),
        ({"gap": 0}, "width of a slit is 0 mm"),
        ({"series": 0}, "columns of links of a hinge is 0; it must be 1 or more"),
        ({"parallel": 1.5}, "links in a column of a hinge is 1.5; give a whole number"),
        ({"shear_modulus": 0}, "shear modulus of a hinge is 0 MPa|shear modulus of a bar is 0 MPa"),
        ({"shear_strength": math.nan}, "shear strength of a hinge is nan"),
        ({"safety": 0.5}, "safety of a hinge is 0.5; give the strength over the allowed stress"),
        ({"grain": "x"}, "'along', 'across' or None"),
    ],
)
def test_numbers_that_no_hinge_has(changes: dict[str, Any], says: str) -> None:
    """The error names the quantity, the value and what to give."""
    with pytest.raises(SizeError, match=says):
        tray_lid(**changes)
