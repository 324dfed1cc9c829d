"""Plates that touch others and are joined to none: said, and not held against a design that means it."""

from __future__ import annotations

import math

import pytest
from panelwright.assemblies import Assembly, bend
from panelwright.assemblies.data.findings import Finding
from panelwright.joints import join, join_touching, tabs
from panelwright.plates import Frame, Stock, rectangle, standing

PLY = Stock("birch plywood", 4.0, measured=4.0, cutter="knife", clearance=0.1)


def shelf(*, joined: tuple[str, ...], back_loose: bool = False, turn: Frame | None = None) -> Assembly:
    """A floor and three plates that stand on it; the two sides may be joined to the floor, and so may the back."""
    made = Assembly("jar shelf", stock=PLY)
    floor = made.add("floor", rectangle(160, 100))
    left = made.add("left", rectangle(92, 60), standing(floor.face(">Z"), facing="-X", inset=10))
    right = made.add("right", rectangle(92, 60), standing(floor.face(">Z"), facing="+X", inset=10))
    back = made.add("back", rectangle(100, 60), standing(floor.face(">Z"), facing="+Y", inset=None), loose=back_loose)
    for name, plate in (("left", left), ("right", right), ("back", back)):
        if name in joined:
            join(plate.face("<Z"), floor.face(">Z"), tabs(count=2, width=10))
    if turn is None:
        return made
    outer = Assembly("workshop", stock=PLY)
    outer.add("shelf", made, turn)
    return outer


def unheld(assembly: Assembly) -> list[Finding]:
    found = list(assembly.check())
    assert [f.code for f in found if f.code != "UNHELD"] == []
    return found


def test_a_plate_that_only_touches_is_told_of() -> None:
    """The back stands on the floor, but nothing holds it: a note that names both, and no error."""
    (finding,) = unheld(shelf(joined=("left", "right")))
    assert (finding.level, finding.plates) == ("note", ("back",))
    assert finding.message.startswith("'back' touches 'floor' but no joint holds it")
    assert shelf(joined=("left", "right")).product().errors == ()


def test_a_joined_plate_may_touch_whatever_it_likes() -> None:
    """All three are held by the floor; that is enough."""
    assert unheld(shelf(joined=("left", "right", "back"))) == []


def test_a_loose_plate_may_lie_there() -> None:
    """A plate that lifts out is meant to be held by nothing."""
    assert unheld(shelf(joined=("left", "right"), back_loose=True)) == []


def test_each_unheld_group_is_told_of_once() -> None:
    """What is joined to the floor counts as the product, and each other one is told of."""
    assert [finding.plates for finding in unheld(shelf(joined=("left",)))] == [("right",), ("back",)]


def test_a_product_without_any_joint_is_a_warning() -> None:
    """One for all that only lies there, which says that no faces are joined and what joins all that touch."""
    (finding,) = unheld(shelf(joined=()))
    assert (finding.level, finding.plates) == ("warning", ("left", "right", "back"))
    assert finding.message.startswith("no faces are joined at all: 'left' touches 'floor' but no joint holds it")
    assert "join_touching(assembly, tabs())" in finding.message
    # what is meant to lie there needs no joint
    assert [finding.plates for finding in unheld(shelf(joined=(), back_loose=True))] == [("left", "right")]


def test_plates_joined_to_each_other_only_are_one_group() -> None:
    """Two plates that hold each other still only lie against the rest."""
    made = shelf(joined=("left", "right"), back_loose=True)
    tray = made.add("tray", rectangle(60, 30), Frame((0, -25, 4)))
    lip = made.add("lip", rectangle(60, 20), Frame.facing((0, -25, 18), show=(0, -1, 0), right=(1, 0, 0)))
    join(lip.face("<Z"), tray.face(">Z"), tabs(count=2, width=8))
    (finding,) = unheld(made)
    assert finding.plates == ("tray", "lip")
    assert "'tray' touches 'floor' but no joint holds 'tray', 'lip' to the rest" in finding.message


def test_a_joint_that_failed_is_told_of_as_such_only() -> None:
    """A plate whose joint can't be made has its error; the note would say it twice."""
    made = shelf(joined=("left", "right"))
    join(made["back"].face("<Z"), made["floor"].face(">Z"), tabs(count=9, width=20))
    assert {finding.code for finding in made.check()} == {"JOINT"}


@pytest.mark.parametrize("turn", [Frame.turned("X", 90), Frame.turned((1, 2, 3), 37)], ids=["quarter", "odd"])
def test_it_is_told_wherever_the_product_stands(turn: Frame) -> None:
    """Touch is found in any pose."""
    (finding,) = unheld(shelf(joined=("left", "right"), turn=turn))
    assert finding.plates == ("shelf.back",)


def on_a_wall(gap: float, *, joined: bool = False, loose: bool = False) -> Assembly:
    """A wall tabbed into a floor, and a pad of 30 × 30 mm that stands on the floor, `gap` mm before the wall."""
    made = Assembly("jar shelf", stock=PLY)
    floor = made.add("floor", rectangle(100, 80))
    wall = made.add("wall", rectangle(100, 60), standing(floor.face(">Z"), facing="-Y", inset=None))
    join(wall.face("<Z"), floor.face(">Z"), tabs(count=2, width=10))
    pad = made.add("pad", rectangle(30, 30), Frame.facing((0, -2 - gap, 19), show=(0, -1, 0), right=(1, 0, 0)), loose=loose)
    if joined:
        join(pad.face("<Z"), floor.face(">Z"), tabs(count=1, width=10))
    return made


@pytest.mark.parametrize(("gap", "is_told"), [(0.0, False), (0.05, True), (0.6, True), (0.99, True), (1.1, False)])
def test_a_gap_before_what_it_would_be_glued_to_is_told(gap: float, is_told: bool) -> None:
    """900 mm² of the pad face the wall; it is held by nothing, so the gap is told with its width and area."""
    found = [finding for finding in on_a_wall(gap).check() if finding.code == "GAP"]
    assert len(found) == is_told
    for finding in found:
        assert (finding.level, finding.plates) == ("warning", ("pad", "wall"))
        assert finding.numbers["gap_mm"] == pytest.approx(gap, abs=2e-4)
        assert finding.numbers["area_mm2"] == pytest.approx(900, rel=0.03)


def test_gaps_of_plates_that_are_held_or_loose_are_meant() -> None:
    """A pad with a joint of its own, or one that lifts out, may stand off the wall."""
    assert [finding.code for finding in on_a_wall(0.6, joined=True).check()] == []
    assert [finding.code for finding in on_a_wall(0.6, loose=True).check()] == []


def test_a_plate_that_floats_near_another_is_told_how_far_off() -> None:
    """FLOATS says that it touches nothing, GAP what is missing."""
    made = Assembly("jar shelf", stock=PLY)
    made.add("floor", rectangle(100, 80))
    made.add("pad", rectangle(50, 40), Frame((0, 0, 4.6)))
    floats, gap = made.check()
    assert (floats.code, gap.code) == ("FLOATS", "GAP")
    assert gap.numbers["gap_mm"] == pytest.approx(0.6, abs=2e-4)


@pytest.mark.parametrize(("short", "told"), [(0.0, False), (0.01, True), (0.5, True), (0.9, True), (1.2, False)])
def test_a_divider_that_stops_short_of_its_wall_is_told_though_its_base_holds_it(short: float, told: bool) -> None:
    """join_touching passes over what touches nothing; the proof says how far it is off, over which area, on which side."""
    tray = Assembly("glaze tray", stock=PLY)
    base = tray.add("base", rectangle(120, 80))
    tray.add("wall", rectangle(80, 40), standing(base.face(">Z"), facing="+X", inset=10))
    tray.add("divider", rectangle(60 - short, 40), standing(base.face(">Z"), facing="+Y", shift=-(16 - short / 2)))
    join_touching(tray, tabs(count=1, width=15))
    found = [finding for finding in tray.check() if finding.code == "GAP"]
    assert len(found) == told
    for finding in found:
        assert (finding.level, finding.plates) == ("note", ("divider", "wall"))
        assert finding.numbers["gap_mm"] == pytest.approx(short, abs=2e-3)
        assert 4 * 40 <= finding.numbers["area_mm2"] <= 6 * 40, "about: what reaches over either side counts with it"


def ring(short: float) -> Assembly:
    """A sheet bent three times into a ring whose last side comes down square onto its first, `short` mm off it."""
    radius, t, arc = 45.0, 3.0, math.pi / 2 * 46.5
    first, second, third = 130.0, 70.0, 130.0 - 46.5 - t / 2
    last = 46.5 + second - t / 2 - short
    length = first + second + third + last + 3 * arc
    starts = (first, first + arc + second, first + second + third + 2 * arc)
    sheet = rectangle(length, 60)
    made = Assembly("brush ring", stock=Stock("birch plywood", t, measured=t, kerf=0.2, clearance=0.1))
    turns = [bend(start - length / 2, radius=radius, angle_deg=90, toward="show") for start in starts]
    made.add_bent("sheet", sheet, turns)
    return made


@pytest.mark.parametrize(("short", "told"), [(0.0, False), (0.5, True), (1.2, False)])
def test_the_ends_of_one_sheet_that_nearly_meet_at_a_sharp_corner_are_told_and_sides_of_a_bend_are_not(
    short: float, told: bool
) -> None:
    """The ends of a sheet are held by the sheet alone, like two plates on one base; its neighbours stand as bent."""
    found = [finding for finding in ring(short).check() if finding.code == "GAP"]
    assert [finding.plates for finding in found] == [("sheet 1", "sheet 4")] * told
    for finding in found:
        assert finding.level == "note"
        assert finding.numbers["gap_mm"] == pytest.approx(short, abs=2e-3)


def test_a_gap_before_a_slanting_plate_is_told_in_full() -> None:
    """A plate that leans by 20° and hangs 0.6 mm over a floor that nothing joins it to is 0.6 mm off, not half of that."""
    made = Assembly("leaning card", stock=PLY)
    made.add("floor", rectangle(160, 100))
    lean = math.radians(20)

    frame = Frame.facing((0, 0, 0), show=(math.cos(lean), 0.0, math.sin(lean)), right=(0, 1, 0))
    low = min(frame.point((x, y, z))[2] for x in (-40, 40) for y in (-30, 30) for z in (0, 4))
    made.add("card", rectangle(80, 60), frame.shifted((0, 0, 4.6 - low)))
    (found,) = [finding for finding in made.check() if finding.code == "GAP"]
    assert found.numbers["gap_mm"] == pytest.approx(0.6, abs=2e-3)
