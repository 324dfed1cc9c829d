"""Arcs whose ends were snapped to shared corners a little off their circle still make solids."""

from __future__ import annotations

import math

import pytest
from panelwright.assemblies import Assembly
from panelwright.joints import join, t_bone, tabs
from panelwright.plates import Stock, rectangle, standing
from panelwright.plates._kernel.solids.build import plate_solid
from panelwright.plates._kernel.solids.read import volume_of
from panelwright.plates.geometry.curves import Arc, Line, Loop


def test_an_end_off_the_circle_by_a_micrometre_is_taken() -> None:
    """A quarter disc whose arc ends 0.8 nm to 0.9 µm off its circle has the volume of a quarter disc."""
    end = (8e-7, 10.0 + 4e-7)
    loop = Loop((Arc((10.0, 0.0), end, (0.0, 0.0), math.pi / 2), Line(end, (0.0, 0.0)), Line((0.0, 0.0), (10.0, 0.0))))
    solid = plate_solid([(loop, ())], 3.0)
    assert volume_of(solid) == pytest.approx(math.pi * 25 * 3, abs=1e-3)


def test_reliefs_that_nearly_touch_make_a_solid() -> None:
    """T-bones of an eighth-inch cutter at short tabs of 4 mm stock cross each other at a grazing angle."""
    stock = Stock("plywood", 4.0, clearance=0.1)
    assembly = Assembly("lip", stock=stock)
    base = assembly.add("base", rectangle(300, 110))
    lip = assembly.add("lip", rectangle(300, 30), standing(base.face(">Z"), facing="-Y", inset=12))
    join(lip.face("<Z"), base.face(">Z"), tabs(at=[40, 150, 260], width=14, depth=3, relief=t_bone(3.175)))
    product = assembly.product()
    assert product.errors == ()
    for part in product.parts:
        assert volume_of(part.solid) == pytest.approx(part.area_mm2 * 4, rel=1e-9)
