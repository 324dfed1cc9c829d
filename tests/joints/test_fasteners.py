"""Fastener tables against two outside sources, cell by cell, and the simple solids made from them."""

from __future__ import annotations

import csv
import math
from functools import cache
from pathlib import Path

import cadquery as cq
import pytest
from panelwright.joints.spec.fasteners import (
    CLEARANCE_HOLES,
    NUTS,
    PITCHES,
    SCREWS,
    SIZES,
    THREAD_LENGTHS,
    hole_for,
    nut_of,
    screw_of,
)
from panelwright.plates._kernel.solids.fastener_solids import nut_solid, screw_solid, volume_of
from panelwright.plates.errors import KernelError, SizeError
from readers import is_valid, solids_in

REFERENCE = Path(__file__).parents[1] / "reference"

Cell = tuple[str, str, str]
"""Standard, size, quantity."""

DIN_7991 = "the columns named iso10642 hold DIN 7991 values, which has smaller heads; the two are different screws"
WIDEST_KEY = "the source gives the largest width of the socket, the table the nominal size of the key"
KNOWN: dict[tuple[str, str, str, str], str] = {
    **{
        ("bd_warehouse", "ISO 10642", size, quantity): DIN_7991
        for size in ("M3", "M4", "M5", "M6")
        for quantity in ("dk", "k", "key", "key_depth")
    },
    **{("bd_warehouse", "ISO 7380-1", size, "key"): WIDEST_KEY for size in ("M3", "M4", "M5", "M6")},
    ("bd_warehouse", "ISO 4035", "M3", "pitch"): "the source's row is M3-0.45; the coarse pitch of M3 is 0.5 (ISO 261)",
}
"""Source, standard, size and quantity that are known to differ, with the reason."""

FROM_MEMORY = {("ISO 10642", size, "key_depth") for size in ("M3", "M4", "M5", "M6")}
"""Cells that no source here gives: the tables say so too."""


def ours() -> dict[Cell, float]:
    """Every cell of the tables."""
    cells: dict[Cell, float] = {}
    for standard, sizes in NUTS.items():
        for size, nut in sizes.items():
            cells |= {(standard, size, "s"): nut.s, (standard, size, "m"): nut.m}
    for standard, screws in SCREWS.items():
        for size, screw in screws.items():
            for quantity in ("dk", "k", "key", "key_depth"):
                cells[(standard, size, quantity)] = getattr(screw, quantity)
    for series, holes in CLEARANCE_HOLES.items():
        cells |= {("ISO 273", size, series): hole for size, hole in holes.items()}
    return cells


@cache
def bd_warehouse() -> dict[Cell, float]:
    """The cells of bd_warehouse's files under our names."""
    standards = {
        "iso4032": "ISO 4032",
        "iso4035": "ISO 4035",
        "din557": "DIN 557",
        "iso4762": "ISO 4762",
        "iso7380_1": "ISO 7380-1",
        "iso10642": "ISO 10642",
    }
    screw = {"dk": "dk", "k": "k", "s": "key", "t": "key_depth", "short": "short", "long": "long"}
    cells: dict[Cell, float] = {}
    for path in sorted((REFERENCE / "bd_warehouse").glob("*.csv")):
        for row in csv.DictReader(path.open(encoding="utf-8")):
            if "Size" not in row:
                continue
            size, _, pitch = row["Size"].partition("-")
            for header, text in row.items():
                if not text or header == "Size":
                    continue
                # header cells carry trailing spaces
                if header in ("Close", "Normal", "Loose"):
                    series = {"Close": "fine", "Normal": "medium", "Loose": "coarse"}[header]
                    cells[("ISO 273", size, series)] = float(text)
                    continue
                name, _, quantity = header.strip().partition(":")
                cells[(standards[name], size, "pitch")] = float(pitch)
                quantity = quantity if "nut" in path.name else screw.get(quantity, "")
                if quantity:
                    cells[(standards[name], size, quantity)] = float(text)
    return cells


@cache
def collected() -> dict[Cell, float]:
    """The cells of the collected tables, under the names used there."""
    rows = csv.DictReader((REFERENCE / "fasteners_metric.csv").open(encoding="utf-8"))
    return {(row["standard"], row["size"], row["parameter"]): float(row["value"]) for row in rows}


RENAMED = {
    "s_max": "s",
    "m_max": "m",
    "s": "s",
    "m": "m",
    "dk_max_knurled": "dk",
    "dk_max": "dk",
    "dk_theoretical_max": "dk",
    "k_max": "k",
    "fine_H12": "fine",
    "medium_H13": "medium",
    "coarse_H14": "coarse",
}


def compared_with_bd_warehouse() -> dict[Cell, tuple[float, float]]:
    mine = ours()
    return {cell: (mine[cell], value) for cell, value in bd_warehouse().items() if cell in mine}


def compared_with_collected() -> dict[Cell, tuple[float, float]]:
    mine = ours()
    found = {}
    for (standard, size, parameter), value in collected().items():
        cell = (standard, size, RENAMED.get(parameter, ""))
        if cell in mine:
            found[cell] = (mine[cell], value)
    return found


def test_tables_agree_with_bd_warehouse() -> None:
    """Every cell that both have is the same, except those that are listed with a reason."""
    pairs = compared_with_bd_warehouse()
    assert len(pairs) >= 85
    for cell, (mine, theirs) in pairs.items():
        if ("bd_warehouse", *cell) not in KNOWN:
            assert mine == theirs, cell


def test_tables_agree_with_collected_values() -> None:
    """Every cell that both have is the same."""
    pairs = compared_with_collected()
    assert len(pairs) >= 70
    for cell, (mine, theirs) in pairs.items():
        assert ("collected", *cell) not in KNOWN
        assert mine == theirs, cell


def test_known_disagreements_are_disagreements() -> None:
    """The list of exceptions holds nothing that agrees by now, and what is mislabelled there is what it is said to be."""
    for source, *cell in KNOWN:
        assert source == "bd_warehouse"
        standard, size, quantity = cell
        mine = PITCHES[size] if quantity == "pitch" else ours()[(standard, size, quantity)]
        assert mine != bd_warehouse()[(standard, size, quantity)], cell
    for size in ("M3", "M4", "M5", "M6"):
        for quantity, parameter in (("dk", "dk"), ("k", "k_max")):
            assert bd_warehouse()[("ISO 10642", size, quantity)] == collected()[("DIN 7991", size, parameter)]


def test_every_cell_has_a_source() -> None:
    """Only the cells that are said to be from memory are in no source."""
    sourced = {cell for cell in compared_with_bd_warehouse() if ("bd_warehouse", *cell) not in KNOWN}
    sourced |= set(compared_with_collected())
    keys = {(s, size, "key") for s in ("ISO 7380-1", "ISO 10642") for size in ("M3", "M4", "M5", "M6")}
    # sockets of these: the nominal key is the widest socket of the source, cut down to half millimetres
    assert set(ours()) - sourced == FROM_MEMORY | keys
    for standard, size, quantity in keys:
        assert ours()[(standard, size, quantity)] == math.floor(2 * bd_warehouse()[(standard, size, quantity)]) / 2


def test_pitches_are_those_of_the_coarse_thread() -> None:
    """Every row of the source that names a pitch names ours."""
    found = {cell: value for cell, value in bd_warehouse().items() if cell[2] == "pitch"}
    assert len(found) > 20
    for (standard, size, quantity), pitch in found.items():
        if ("bd_warehouse", standard, size, quantity) not in KNOWN:
            assert pitch == PITCHES[size], (standard, size)


def test_lengths_are_those_of_the_standard() -> None:
    """The lengths of each size are the source's nominal ones between its shortest and longest."""
    path = REFERENCE / "bd_warehouse" / "nominal_screw_lengths.csv"
    nominal = {row["Screw_Type"]: row["Nominal_Sizes"] for row in csv.DictReader(path.open(encoding="utf-8"))}
    looked = 0
    for key, standard in (("iso4762", "ISO 4762"), ("iso7380_1", "ISO 7380-1"), ("iso10642", "ISO 10642")):
        for size, screw in SCREWS[standard].items():
            short, long = (bd_warehouse()[(standard, size, end)] for end in ("short", "long"))
            expected = tuple(float(text) for text in nominal[key].split(",") if short <= float(text) <= long)
            assert screw.lengths == expected, (standard, size)
            looked += 1
    assert looked == 13


def test_largest_sizes_are_larger_than_the_least() -> None:
    """Least sizes of the source lie below the table's, and least corners below those of a sharp hexagon."""
    looked = 0
    for (standard, size, parameter), value in collected().items():
        if parameter in ("s_min", "m_min", "e_min"):
            nut = NUTS[standard][size]
            assert value < {"s_min": nut.s, "m_min": nut.m, "e_min": nut.corners}[parameter]
            looked += 1
        elif parameter == "dk_max_plain":
            assert value < SCREWS[standard][size].dk
            looked += 1
    assert looked == 20


def test_holes_take_their_screws_and_heads_cover_their_holes() -> None:
    """Fine, medium and coarse holes grow in that order, and every head is wider than the coarse one."""
    for size, d in SIZES.items():
        fine, medium, coarse = (hole_for(size, series) for series in ("fine", "medium", "coarse"))
        assert d < fine < medium < coarse
        heads = [sizes[size].dk for sizes in SCREWS.values() if size in sizes]
        assert heads
        assert min(heads) > coarse
        assert THREAD_LENGTHS[size] == 2 * d + 12


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: nut_of("ISO 4032", "M8"), "thread size is 'M8'; give one of M2.5, M3"),
        (lambda: nut_of("ISO 4033", "M5"), "nut is 'ISO 4033'; give one of ISO 4032"),
        (lambda: nut_of("DIN 557", "M4"), "there is no nut DIN 557 M4 here; DIN 557 has M5, M6"),
        (lambda: screw_of("ISO 7380-1", "M2.5"), "there is no screw ISO 7380-1 M2.5 here"),
        (lambda: hole_for("M3", "tight"), "hole is 'tight'; give one of fine, medium, coarse"),
    ],
)
def test_what_the_tables_do_not_hold(call: object, says: str) -> None:
    """Unknown sizes, standards and series are refused with what there is."""
    with pytest.raises(SizeError, match=says):
        call()  # type: ignore[operator]  # object: anything may be given


def hexagon_area(s: float) -> float:
    return math.sqrt(3) / 2 * s * s


def frustum(r: float, q: float, h: float) -> float:
    return math.pi * h * (r * r + r * q + q * q) / 3


@pytest.mark.parametrize(("standard", "size"), [(s, size) for s, sizes in NUTS.items() for size in sizes])
def test_nut_solid_has_the_volume_of_its_formula(standard: str, size: str) -> None:
    """A prism less its bore, two flats square to x, from z = 0 to m."""
    nut, d = NUTS[standard][size], SIZES[size]
    solid = nut_solid(nut.sides, s=nut.s, m=nut.m, bore=d)
    area = hexagon_area(nut.s) if nut.sides == 6 else nut.s**2
    assert volume_of(solid) == pytest.approx((area - math.pi * d * d / 4) * nut.m, rel=1e-9)
    assert is_valid(solid)
    box = cq.Shape.cast(solid).BoundingBox()
    assert (box.xmin, box.xmax) == pytest.approx((-nut.s / 2, nut.s / 2), abs=1e-6)
    assert (box.ymin, box.ymax) == pytest.approx((-nut.corners / 2, nut.corners / 2), abs=1e-6)
    assert (box.zmin, box.zmax) == pytest.approx((0, nut.m), abs=1e-6)


@pytest.mark.parametrize(("standard", "size"), [(s, size) for s, sizes in SCREWS.items() for size in sizes])
def test_screw_solid_has_the_volume_of_its_formula(standard: str, size: str) -> None:
    """Head and shank less the socket; the tip at z = reach and the head's top at z = -proud."""
    screw, d = SCREWS[standard][size], SIZES[size]
    proud = screw.k - 0.2 if screw.head == "countersunk" else screw.k
    solid = screw_solid(
        screw.head, d=d, dk=screw.dk, k=screw.k, proud=proud, reach=12, key=screw.key, key_depth=screw.key_depth
    )
    assert is_valid(solid)
    assert solids_in(solid) == 1
    r = screw.dk / 2
    head = {
        "cap": math.pi * r * r * screw.k,
        "button": math.pi * screw.k * (3 * r * r + screw.k**2) / 6,
        "countersunk": frustum(r, d / 2, screw.k),
    }[screw.head]
    shank = math.pi * d * d / 4 * (12 - (screw.k - proud))
    whole = head + shank
    socket = hexagon_area(screw.key) * screw.key_depth
    found = volume_of(solid)
    if screw.head == "button":
        # the dome's top leaves part of the socket in the air
        assert whole - socket < found < whole - 0.5 * socket
    else:
        assert found == pytest.approx(whole - socket, rel=1e-9)
    box = cq.Shape.cast(solid).BoundingBox()
    assert box.zmax == pytest.approx(12, abs=1e-6)
    assert (box.xmin, box.xmax) == pytest.approx((-r, r), abs=1e-6)
    top = -proud if screw.head != "button" else box.zmin
    assert -proud - 1e-6 <= box.zmin <= min(top, 0) + 1e-6


def test_unknown_head_is_refused() -> None:
    """The seam says which heads it can make."""
    with pytest.raises(KernelError, match="'round' is not known"):
        screw_solid("round", d=3, dk=6, k=2, proud=2, reach=10, key=2, key_depth=1)
