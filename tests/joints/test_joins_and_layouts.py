"""What each option of a joint does to the plates, and what a join that cannot be made says."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from panelwright.assemblies import Assembly
from panelwright.joints import cross_lap, dog_bone, fingers, join, t_bone, tabs
from panelwright.joints.rows.even_places import room_for, spread
from panelwright.plates import Frame, JointError, PanelwrightError, SizeError, Stock, disc, hole, rectangle, standing

PLY = Stock("plywood", 4.0, measured=4.0, cutter="knife")


def stand(joint: object, *, lift: float = 0.0, shift: float = 0.0, inset: float | None = None, base: object = None) -> Assembly:
    """A wall of 100 mm on a base of 120 × 80, joined by the given joint."""
    assembly = Assembly("stand", stock=PLY)
    floor = assembly.add("base", base or rectangle(120, 80))
    wall = assembly.add(
        "wall", rectangle(100, 60), standing(floor.face(">Z"), facing="-Y", inset=inset, lift=lift, shift=shift)
    )
    join(wall.face("<Z"), floor.face(">Z"), joint)  # type: ignore[arg-type]  # object: any joint
    return assembly


def numbers(joint: object, **options: object) -> dict[str, object]:
    """The settled numbers of the one joint, which must be sound."""
    product = stand(joint, **options).product()  # type: ignore[arg-type]  # options of any type
    assert product.errors == ()
    return dict(product.joints[0].numbers)


@pytest.mark.parametrize(
    ("joint", "positions", "width", "length"),
    [
        (tabs(count=2, width=10), [25, 75], 10, 4),
        (tabs(count=1, width=30), [50], 30, 4),
        (tabs(pitch=30, width=10), [5 + 0, 35, 65, 95], 10, 4),
        (tabs(pitch=30, width=10, margin=10), [20, 50, 80], 10, 4),
        (tabs(at=[80, 20], width=8), [20, 80], 8, 4),
        (tabs(count=2, width=10, depth=2.5), [25, 75], 10, 2.5),
        (tabs(count=2, width=10, proud=6), [25, 75], 10, 10),
        (tabs(), [25, 75], 16, 4),
    ],
)
def test_tabs_go_where_they_are_told(joint: object, positions: list[float], width: float, length: float) -> None:
    """Count, pitch, places, margins, blind and proud tabs, counted from the lower end of the contact."""
    found = numbers(joint)
    assert found["positions_mm"] == pytest.approx(positions)
    assert (found["width_mm"], found["length_mm"]) == (width, length)
    wall = stand(joint).resolve().parts[1]
    assert wall.area_mm2 == pytest.approx(6000 + len(positions) * width * length)


def test_a_footprint_at_the_border_is_an_open_notch() -> None:
    """A wall flush with the base's border leaves notches and no hole; one web in, slots."""
    flush = stand(tabs(count=2, width=10), inset=0.0).resolve().parts[0]
    assert len(flush.loops) == 1
    assert flush.area_mm2 == pytest.approx(9600 - 2 * 10 * 4)
    inside = stand(tabs(count=2, width=10), inset=4.0).resolve().parts[0]
    assert len(inside.loops) == 3


def test_tabs_keep_a_web_from_cut_outs() -> None:
    """Automatic tabs are spread over what a hole in the mate leaves free; a place in it is an error."""
    holed = rectangle(120, 80).cut(hole(20))
    found = numbers(tabs(count=2, width=10), base=holed)
    assert all(abs(place - 50) >= 10 + 4 + 5 for place in found["positions_mm"])  # type: ignore[union-attr]  # known to be there
    with pytest.raises(JointError, match="runs into a cut-out"):
        stand(tabs(at=[38], width=10), base=holed).resolve()


@pytest.mark.parametrize(
    ("ends", "count", "cells"),
    [("first", 3, 5), ("second", 3, 7), ("mixed", 3, 6)],
)
def test_fingers_by_count(ends: str, count: int, cells: int) -> None:
    """The count is of the first plate's fingers; the ends say how many the second has."""
    found = numbers(fingers(count, ends=ends))  # type: ignore[arg-type]  # text of a case
    assert found["count"] == cells
    assert found["width_mm"] == pytest.approx(100 / cells)


def test_cross_lap_ratio_and_direction() -> None:
    """The first plate's slot takes its share of the height from the side that is named."""
    for up in ("first", "second"):
        assembly = Assembly("cells", stock=PLY)
        one = assembly.add("one", rectangle(100, 60), Frame.facing((0, 2, 30), show=(0, -1, 0), right=(1, 0, 0)))
        two = assembly.add("two", rectangle(100, 60), Frame.facing((2, 0, 30), show=(1, 0, 0), right=(0, 1, 0)))
        join(one, two, cross_lap(0.25, opens_up=up))  # type: ignore[arg-type]  # text of a case
        first, second = assembly.resolve().parts
        assert first.area_mm2 == pytest.approx(6000 - 15 * 4)
        assert second.area_mm2 == pytest.approx(6000 - 45 * 4)
        highest = max(segment.start[1] for segment in first.loops[0] if abs(segment.start[0]) < 3)
        assert highest < 30 - 1e-6 or highest == pytest.approx(30)
        slot_bottom = [s.start[1] for s in first.loops[0] if abs(abs(s.start[0]) - 2) < 1e-6]
        assert min(slot_bottom) == pytest.approx(15 if up == "first" else -30)


@pytest.mark.parametrize("relief", [dog_bone(3.0), t_bone(3.0)])
def test_relief_lets_a_round_cutter_reach_every_corner(relief: object) -> None:
    """With relief, every inner corner of a slot lies on or in a circle of the tool's size."""
    import math

    base = stand(tabs(count=1, width=20, relief=relief)).resolve().parts[0]
    (slot,) = [loop for loop in base.loops if loop.area < 0]
    circles = [s for s in slot if type(s).__name__ == "Arc"]
    assert len(circles) == 4
    corners = [(x, y) for x in (-10, 10) for y in (-2, 2)]
    for corner in corners:
        assert any(math.dist(corner, c.center) <= 1.5 + 1e-6 for c in circles), corner
    assert {round(c.radius, 9) for c in circles} == {1.5}


def test_spread_is_even_and_complete() -> None:
    """Things are spread by length over several stretches; what cannot fit gives None."""
    assert spread([(0, 30), (50, 110)], 3, 10) == pytest.approx([15, 65, 95])
    assert spread([(0, 9)], 1, 10) is None
    assert spread([], 1, 10) is None
    assert room_for([(0, 9), (20, 51)], 10) == 2


def self_joined() -> Assembly:
    assembly = Assembly("x", stock=PLY)
    base = assembly.add("base", rectangle(50, 50))
    join(base.face(">X"), base.face(">Z"), tabs())
    return assembly


def broad_to_broad() -> Assembly:
    assembly = Assembly("x", stock=PLY)
    one = assembly.add("one", rectangle(50, 50))
    two = assembly.add("two", rectangle(50, 50), Frame((0, 0, 4)))
    join(one.face(">Z"), two.face("<Z"), tabs())
    return assembly


def beside() -> Assembly:
    return stand(tabs(), shift=150.0)


def curved() -> Assembly:
    assembly = Assembly("x", stock=PLY)
    base = assembly.add("base", rectangle(50, 50))
    round_one = assembly.add("round", disc(40), standing(base.face(">Z"), facing="-Y", inset=None))
    join(round_one.all_faces()[2], base.face(">Z"), tabs())
    return assembly


def parallel_lap() -> Assembly:
    assembly = Assembly("x", stock=PLY)
    one = assembly.add("one", rectangle(50, 50))
    two = assembly.add("two", rectangle(50, 50), Frame((0, 0, 4)))
    join(one, two, cross_lap())
    return assembly


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: tabs(count=0), "count of tabs is 0"),
        (lambda: tabs(count=2.5), "whole number"),
        (lambda: tabs(width=-3), "width of tabs is -3 mm"),
        (lambda: tabs(width=float("nan")), "nan"),
        (lambda: tabs(count=2, pitch=20), "one of count, pitch and at"),
        (lambda: tabs(at=[]), "holds no place"),
        (lambda: tabs(depth=2, proud=3), "depth and proud"),
        (lambda: fingers(0), "count of fingers is 0"),
        (lambda: fingers(3, width=10), "count and width"),
        (lambda: fingers(ends="both"), "'first', 'second' or 'mixed'"),
        (lambda: cross_lap(1.0), "between 0 and 1"),
        (lambda: cross_lap(opens_up="up"), "'first' or 'second'"),
        (lambda: dog_bone(0), "tool diameter"),
        (lambda: stand(tabs(count=1, width=130)).resolve(), "130 mm wide, but the contact is only 100.000 mm"),
        (lambda: stand(tabs(count=9, width=12)).resolve(), "9 tabs of 12 mm don't fit"),
        (lambda: stand(tabs(margin=50)).resolve(), "margins of 50 mm at both ends leave no room"),
        (lambda: stand(tabs(at=[3], width=10)).resolve(), "reaches off the contact"),
        (lambda: stand(tabs(at=[30, 35], width=10)).resolve(), "overlap"),
        (lambda: stand(tabs(depth=9)).resolve(), "only 4 mm thick"),
        (lambda: stand(fingers(width=200)).resolve(), "200 mm wide, but the line is only 100.000 mm"),
        (lambda: stand(tabs(), lift=3.25).resolve(), "3.250 mm apart"),
        (lambda: beside().resolve(), "mm beside it"),
        (self_joined, "to itself"),
        (lambda: broad_to_broad().resolve(), "both are broad faces"),
        (lambda: curved().resolve(), "the edge is curved"),
        (lambda: parallel_lap().resolve(), "parallel"),
        (lambda: stand("tabs"), "is no joint"),
    ],
)
def test_a_join_that_cannot_be_made_says_why(make: Callable[[], object], says: str) -> None:
    """Each error names the plates or the option, the value and the limit."""
    with pytest.raises(PanelwrightError, match=says) as caught:
        make()
    assert isinstance(caught.value, SizeError | JointError)
    assert isinstance(caught.value, ValueError)
