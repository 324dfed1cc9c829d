"""What the recipe stand says of itself: that it stands."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.plates.geometry.frame import Vector

PATH = Path(__file__).parents[2] / "examples" / "recipe_stand.py"


def centre_of_mass(product: Product) -> Vector:
    """By the kernel's integration over the solids, each with its stock's density."""
    import cadquery as cq
    from panelwright.plates._kernel.solids.booleans import placed_solid

    mass, moment = 0.0, [0.0, 0.0, 0.0]
    for part in product.parts:
        solid = cq.Shape.cast(placed_solid((part.solid, part.frame)))
        assert part.stock.density is not None
        weight = solid.Volume() * part.stock.density
        mass += weight
        for i, value in enumerate(solid.Center().toTuple()):
            moment[i] += weight * value
    return (moment[0] / mass, moment[1] / mass, moment[2] / mass)


def feet(product: Product) -> tuple[float, float]:
    """The foremost and the rearmost y of what stands on the table, z = 0, read from the plates' loops."""
    found = []
    for part in product.parts:
        for loop in part.loops:
            for segment in loop:
                for flat in (segment.start, segment.end):
                    _, y, z = part.frame.point((*flat, 0.0))
                    assert z > -1e-6, (part.name, "reaches below the table")
                    if z < 1e-6:
                        found.append(y)
    assert len(found) >= 8  # two feet on either cheek, two ends each
    return min(found), max(found)


@pytest.mark.parametrize(
    ("slope_deg", "width", "height", "lip"),
    [(62.0, 226.0, 230.0, 18.0), *itertools.product((50.0, 75.0), (170.0, 340.0), (180.0, 300.0), (14.0, 30.0))],
)
def test_it_falls_over_only_when_tilted_by_more_than_22_degrees(
    slope_deg: float, width: float, height: float, lip: float
) -> None:
    """The centre of mass lies so far inside its feet, and as low, that 22° to front or rear don't carry it past them."""
    settings = {"slope_deg": slope_deg, "width": width, "height": height, "lip": lip}
    product = run(load_design(PATH), settings).product()
    x, y, z = centre_of_mass(product)
    front, rear = feet(product)
    assert x == pytest.approx(0.0, abs=1e-6)
    to_front, to_rear = (math.degrees(math.atan2(room, z)) for room in (y - front, rear - y))
    assert 22 < to_rear < to_front
