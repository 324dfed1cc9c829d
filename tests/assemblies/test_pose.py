"""What an assembly becomes does not depend on where it stands in another one."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from panelwright.assemblies import Assembly, carcass, tray
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.resolve.panels import grouped
from panelwright.joints import cross_lap, fingers, join, t_bone, t_nut, tabs
from panelwright.joints.rows.even_places import spread
from panelwright.plates import Frame, Stock, hole, rectangle, standing
from readers import polygon_of_loops

MDF = Stock("MDF", 3.0, measured=3.0, cutter="knife", clearance=0.1)

TURNS = {
    "about-a-diagonal": Frame.turned((1, 2, 3), 37),
    "about-x-by-10": Frame.turned("X", 10),
    "about-x-by-180": Frame.turned("X", 180),
    "about-y-by-45": Frame.turned("Y", 45),
    "far-away": Frame.turned((-5, 0.3, 2), 201.5).shifted((-1234.5, 0.25, 987.6)),
}


def lidded() -> Assembly:
    """Its upright corners leave 54 mm for fingers of 9: exactly between five and seven of them."""
    return carcass("glaze box", stock=MDF, width=100, depth=80, height=60, lid=True)


def mixed() -> Assembly:
    return carcass("glaze box", stock=MDF, width=96, depth=78, height=60, lid=True, joint=fingers(width=12, ends="mixed"))


def pot() -> Assembly:
    return carcass("tool pot", stock=MDF, sides=5, width=90, height=66, lid=True)


def tiles() -> Assembly:
    return tray("tile tray", stock=MDF, width=120, depth=90, height=30, floor=tabs(count=3, width=9, relief=t_bone(1.0)))


def stand() -> Assembly:
    """Three tabs for two equal stretches, relief in square slots, nuts, and a rib across."""
    made = Assembly("display stand", stock=MDF)
    base = made.add("base", rectangle(140, 120).cut(hole(10).at(0, -20)))
    front = made.add("front", rectangle(110, 40), standing(base.face(">Z"), facing="-Y", inset=38.5))
    rear = made.add("rear", rectangle(110, 40), standing(base.face(">Z"), facing="+Y", inset=20))
    rib = made.add("rib", rectangle(90, 40), Frame.facing((20, 5, 30), show=(1, 0, 0), right=(0, 1, 0)))
    join(front.face("<Z"), base.face(">Z"), tabs(count=3, width=3, relief=t_bone(0.8)))
    join(rear.face("<Z"), base.face(">Z"), t_nut("M3", count=2, tabs=tabs(width=8)))
    join(rib, front, cross_lap())
    join(rib, rear, cross_lap(0.4))
    return made


BODIES: dict[str, Callable[[], Assembly]] = {f.__name__: f for f in (lidded, mixed, pot, tiles, stand)}


@cache
def alone(body: str) -> Product:
    return BODIES[body]().product()


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("turn", TURNS)
def test_a_body_is_the_same_wherever_it_stands(body: str, turn: str) -> None:
    """Put into another assembly at any angle, every plate keeps its shape, and no panel more is distinct."""
    outer = Assembly("workshop", stock=MDF)
    outer.add("inner", BODIES[body](), TURNS[turn])
    before, after = alone(body), outer.product()
    assert before.errors == after.errors == ()
    assert len(after.findings) == len(before.findings)
    assert [panel.quantity for panel in after.panels] == [panel.quantity for panel in before.panels]
    areas = [sorted(panel.area_mm2 for panel in product.panels) for product in (before, after)]
    assert areas[0] == pytest.approx(areas[1], abs=1e-4)
    for one, other in zip(before.parts, after.parts, strict=True):
        assert [len(loop) for loop in one.loops] == [len(loop) for loop in other.loops]
        shapes = [polygon_of_loops(part.loops) for part in (one, other)]
        assert shapes[0].symmetric_difference(shapes[1]).area < 1e-3, one.name
    for first, second in zip(before.joints, after.joints, strict=True):
        assert first.numbers.keys() == second.numbers.keys()
        assert first.numbers.get("count") == second.numbers.get("count")


@pytest.mark.parametrize("noise", [-1e-12, 0.0, 1e-12])
def test_rounding_does_not_choose_between_equal_stretches(noise: float) -> None:
    """The third of three things goes to the first of two stretches that are equal but for rounding."""
    assert spread([(0, 40), (60, 100 + noise)], 3, 10) == pytest.approx([10, 30, 80])


@pytest.mark.parametrize("areas", [(0.0499999, 0.0500001), (0.0500001, 0.0499999)])
def test_areas_on_either_side_of_a_rounding_are_one_panel(areas: tuple[float, float]) -> None:
    """Two lids of 100.05 mm², give or take a rounding, are the same panel whichever comes first."""
    parts: list[Any] = [Part(str(i), MDF, Frame(), None, rectangle(10, 10 + a / 10).loops) for i, a in enumerate(areas)]
    assert round(parts[0].area_mm2, 1) != round(parts[1].area_mm2, 1)
    assert [len(group) for group in grouped(parts)] == [2]
