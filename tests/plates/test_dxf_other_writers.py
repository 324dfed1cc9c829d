"""Outlines and cut-outs from DXF files that other writers made: GDAL's own driver, and a file of tags written out by hand.

The hand-written one follows the DXF reference of R12 (AC1009), from memory: POLYLINE, VERTEX with bulge (42) and SEQEND, LINE,
ARC (angles in degrees, counter-clockwise) and CIRCLE; no handles, no subclass markers, no $INSUNITS, which R12 does not know.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pyogrio.raw
import pytest
import shapely
from panelwright.plates import OutlineError, cutouts_from_dxf, outline_from_dxf


def tags(*pairs: tuple[int, object]) -> str:
    """Group codes and values, a line each, as the reference has them."""
    return "".join(f"{code:>3}\n{value}\n" for code, value in pairs)


def vertex(x: float, y: float, bulge: float = 0.0) -> str:
    return tags((0, "VERTEX"), (8, "PLATE"), (10, x), (20, y), (30, 0.0), (42, bulge))


R12 = "".join(
    [
        tags((0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")),
        # 80 × 40 with a half-round right end: a bulge of 1 is a half circle
        tags((0, "POLYLINE"), (8, "PLATE"), (66, 1), (70, 1)),
        vertex(0, 0),
        vertex(80, 0, 1),
        vertex(80, 40),
        vertex(0, 40),
        tags((0, "SEQEND"), (8, "PLATE")),
        tags((0, "CIRCLE"), (8, "HOLES"), (10, 80.0), (20, 20.0), (30, 0.0), (40, 6.0)),
        # a slot with round ends, its pieces in no order and the lower line drawn from right to left
        tags((0, "LINE"), (8, "HOLES"), (10, 50.0), (20, 15.0), (30, 0.0), (11, 20.0), (21, 15.0), (31, 0.0)),
        tags((0, "ARC"), (8, "HOLES"), (10, 20.0), (20, 20.0), (30, 0.0), (40, 5.0), (50, 90.0), (51, 270.0)),
        tags((0, "LINE"), (8, "HOLES"), (10, 50.0), (20, 25.0), (30, 0.0), (11, 20.0), (21, 25.0), (31, 0.0)),
        tags((0, "ARC"), (8, "HOLES"), (10, 50.0), (20, 20.0), (30, 0.0), (40, 5.0), (50, 270.0), (51, 90.0)),
        tags((0, "ENDSEC"), (0, "EOF")),
    ]
)


def test_a_file_of_the_twelfth_release_is_read_exactly(tmp_path: Path) -> None:
    """Plate and holes of a bare R12 file have the areas and boxes that its numbers give."""
    file = tmp_path / "r12.dxf"
    file.write_text(R12, "ascii")
    plate = outline_from_dxf(file, layer="plate", unit="mm")
    assert plate.bounds == pytest.approx((0, 0, 100, 40), abs=1e-9)
    assert plate.area == pytest.approx(80 * 40 + math.pi * 20**2 / 2, rel=1e-12)
    slot, hole = cutouts_from_dxf(file, layers="HOLES", unit="mm")
    assert slot.bounds == pytest.approx((15, 15, 55, 25), abs=1e-9)
    assert slot.area == pytest.approx(30 * 10 + math.pi * 25, rel=1e-12)
    assert hole.bounds == pytest.approx((74, 14, 86, 26), abs=1e-9)
    whole = outline_from_dxf(file, unit="mm")
    assert whole.area == pytest.approx(plate.area - slot.area - hole.area, rel=1e-12)
    with pytest.raises(OutlineError, match=r'has no units; set its units .* or pass unit="mm"'):
        outline_from_dxf(file)


@pytest.mark.filterwarnings("ignore:'crs' was not provided")  # a plate lies nowhere on earth
def test_what_gdal_writes_is_read_as_it_was_given(tmp_path: Path) -> None:
    """Polygons by GDAL's driver, corner by corner: a plate of many corners, and its holes on a layer of their own."""
    angles = np.linspace(0, 2 * math.pi, 61)[:-1]
    leaf = shapely.Polygon(np.column_stack([90 * np.cos(angles), (40 + 8 * np.cos(5 * angles)) * np.sin(angles)]))
    holes = [shapely.box(x - 4, -3, x + 4, 3) for x in (-40, 0, 40)]
    rings = [shapely.LineString(shape.exterior.coords) for shape in (leaf, *holes)]
    file = tmp_path / "leaf.dxf"
    pyogrio.raw.write(
        str(file),
        geometry=np.array(shapely.to_wkb(rings)),
        field_data=[np.array(["LEAF", "HOLES", "HOLES", "HOLES"], dtype=object)],
        fields=["Layer"],
        geometry_type="LineString",
        crs=None,
        driver="DXF",
    )
    plate = outline_from_dxf(file, layer="LEAF", unit="mm")
    assert len(plate.outer) == 60
    assert plate.area == pytest.approx(leaf.area, rel=1e-9)
    assert plate.bounds == pytest.approx(leaf.bounds, abs=1e-6)
    found = cutouts_from_dxf(file, layers="HOLES", unit="mm")
    assert [hole.bounds for hole in found] == [pytest.approx(hole.bounds, abs=1e-6) for hole in holes]
    assert plate.cut(found).area == pytest.approx(leaf.area - 3 * 48, rel=1e-9)
