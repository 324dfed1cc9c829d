"""The edge of a plate that lies along another plate: what a design joins without working out where it looks."""

from __future__ import annotations

import pytest
from panelwright.assemblies import Assembly, carcass
from panelwright.joints import join, tabs
from panelwright.plates import Frame, SelectionError, Stock, finger_notch, lying, rectangle, standing

MDF = Stock("MDF", 4, measured=4, kerf=0.2, clearance=0.1)


@pytest.mark.parametrize(("sides", "lean"), [(3, 0.0), (5, 12.0), (8, -10.0)])
def test_walls_of_a_regular_body_find_the_edges_that_it_joined(sides: int, lean: float) -> None:
    """For each joint that the ready-made body has made by itself, the two edges are those that are found."""
    body = carcass("pot", stock=MDF, width=120, height=70, sides=sides, lean_deg=lean)
    looked = 0
    for made in body.joins:
        for face, other in ((made.first, made.second), (made.second, made.first)):
            if not face.is_broad:
                assert face.placed.edge_toward(other.placed).place == face.place
                looked += 1
    assert looked == 3 * sides


def stand(**options: float) -> Assembly:
    made = Assembly("stand", stock=MDF)
    base = made.add("base", rectangle(120, 90))
    made.add("wall", rectangle(60, 200), standing(base.show, facing="-Y", inset=20, **options))
    return made


@pytest.mark.parametrize("options", [{}, {"lift": 30}, {"lean_deg": 35}, {"lean_deg": -35}, {"lift": 3, "lean_deg": 20}])
def test_an_upright_or_leaning_wall_finds_its_lower_edge(options: dict[str, float]) -> None:
    """Whether it touches the other plate or stands off it."""
    made = stand(**options)
    assert made["wall"].edge_toward(made["base"]).segment == made["wall"].plate.outline.outer.segments[0]


def test_an_edge_that_a_notch_parts_is_found_in_both_parts() -> None:
    """One is refused with both named, all are given by the other call, and joined."""
    made = Assembly("stand", stock=MDF)
    base = made.add("base", rectangle(120, 90))
    wall = made.add("wall", rectangle(100, 60).cut(finger_notch(30, 8, side="-Y")), standing(base.show, facing="-Y", inset=20))
    with pytest.raises(SelectionError, match=r"2 edges of plate 'wall' lie equally near to plate 'base' .* edges_toward"):
        wall.edge_toward(base)
    found = wall.edges_toward(base)
    assert len(found) == 2
    join(found, base.show, tabs(count=1))
    assert made.check() == ()


def test_plates_without_such_an_edge_are_refused() -> None:
    """One that lies on the other, the same plate, and a plate of another assembly."""
    made = stand()
    base = made["base"]
    flat = made.add("flat", rectangle(40, 40), lying(made["wall"].show, right="+X"))
    with pytest.raises(SelectionError, match="are one"):
        base.edge_toward(base)
    with pytest.raises(SelectionError, match="stand in two assemblies"):
        flat.edge_toward(stand()["base"])
    far = made.add("far", rectangle(300, 300), Frame((0, 0, 400)))
    small = made.add("small", rectangle(20, 20), Frame((0, 0, 300)))
    with pytest.raises(SelectionError, match="no straight edge of plate 'small' looks to plate 'far'"):
        small.edge_toward(far)
