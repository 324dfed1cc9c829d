"""Sub-assemblies placed by faces, as plates are: the box round them stands in for a plate."""

from __future__ import annotations

import pytest
from panelwright.assemblies import Assembly, tray
from panelwright.plates import DesignError, Frame, Placement, Stock, against, lying, mirrored, rectangle, standing

MDF = Stock("MDF", 4, measured=4, kerf=0.2, clearance=0.1)


def chest() -> Assembly:
    made = Assembly("chest", stock=MDF)
    made.add("floor", rectangle(200, 120))
    return made


def drawer(lift: float = 0.0) -> Assembly:
    """90 × 60 × 30, its lowest border `lift` mm above its own z = 0."""
    box = tray("drawer", stock=MDF, width=90, depth=60, height=30)
    if not lift:
        return box
    raised = Assembly("drawer", stock=MDF)
    raised.add("inner", box, Frame((7.0, 0.0, lift)))
    return raised


def box_of(made: Assembly, name: str) -> tuple[tuple[float, float], ...]:
    """Least and most of a sub-assembly's plates along x, y and z, read off their corners."""
    found = []
    for axis in range(3):
        values = [
            placed.point((x, y, z))[axis]
            for placed in made.placed_plates()
            if placed.name.startswith(f"{name}.")
            for x, y in placed.plate.outline.outer.points()
            for z in (0.0, placed.plate.stock.t)
        ]
        found.append((round(min(values), 6), round(max(values), 6)))
    return tuple(found)


@pytest.mark.parametrize("lift", [0.0, 12.0])
@pytest.mark.parametrize(
    ("options", "box"),
    [
        ({}, ((-45, 45), (-30, 30), (4, 34))),
        ({"flush": ("-X", "+Y"), "inset": 5}, ((-95, -5), (-5, 55), (4, 34))),
        ({"right": "+Y"}, ((-30, 30), (-45, 45), (4, 34))),
        ({"show": "in"}, ((-45, 45), (-30, 30), (4, 34))),
    ],
)
def test_a_sub_assembly_lies_on_a_face(lift: float, options: dict[str, object], box: object) -> None:
    """Its box stands on the face wherever its own origin is."""
    made = chest()
    made.add("drawer", drawer(lift), lying(made["floor"].show, **options), loose=True)
    assert box_of(made, "drawer") == box


def test_a_sub_assembly_stands_on_a_face_and_against_one() -> None:
    """As a plate of its box would: its y up, its z where it faces or out of the face."""
    made = chest()
    floor = made["floor"]
    made.add("upright", drawer(), standing(floor.show, facing="-Y", inset=3), loose=True)
    made.add("outside", drawer(), against(floor.face(">X")), loose=True)
    assert box_of(made, "upright") == ((-45, 45), (-57, -27), (4, 64))
    assert box_of(made, "outside") == ((100, 130), (-45, 45), (0, 60))


def test_one_without_plates_and_a_mirror_image_are_refused() -> None:
    """There is nothing to place by yet; and a mirror image would need mirrored plates."""
    made = chest()
    floor = made["floor"]
    with pytest.raises(DesignError, match="has no plates yet"):
        made.add("empty", Assembly("empty", stock=MDF), lying(floor.show))
    place: Placement = mirrored(floor, about="XZ")
    with pytest.raises(DesignError, match="cannot be mirrored as one"):
        made.add("other", drawer(), place)
