"""Loose things between faces on both sides: told where they have less play than what slides takes, by hand-computed gaps."""

from __future__ import annotations

from dataclasses import replace

import pytest
from panelwright.assemblies import Assembly, carcass, tray
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.variation.fit_over_sheet import fit_over_sheet
from panelwright.joints import join, join_touching, tabs
from panelwright.plates import Frame, Stock, disc, lying, rectangle, standing

PLY = Stock("birch plywood", 6.0, measured=6.0, kerf=0.18, clearance=0.1)
ROOM = 188.0
"""Between the walls of the cabinet, mm: 200 less twice the sheet."""


def no_play(made: Assembly) -> list[Finding]:
    return [finding for finding in made.check() if finding.code == "NO-PLAY"]


def cabinet(stock: Stock = PLY) -> Assembly:
    """A floor, two walls and a top; open to the front and to the rear."""
    made = Assembly("cabinet", stock=stock)
    floor = made.add("floor", rectangle(200, 150))
    left = made.add("left", rectangle(150, 100), standing(floor.show, facing="-X"))
    right = made.add("right", rectangle(150, 100), standing(floor.show, facing="+X"))
    made.add("top", rectangle(200, 150), lying([left.face(">Z"), right.face(">Z")]))
    join_touching(made, tabs())
    return made


def with_drawer(play: float, *, turn: Frame | None = None, stock: Stock = PLY, height: float = 60) -> Assembly:
    """A drawer, `play` narrower than the room."""
    made = cabinet(stock)
    made.add(
        "drawer",
        tray("drawer", stock=stock, width=ROOM - play, depth=140, height=height),
        lying(made["floor"].show),
        loose=True,
    )
    if turn is None:
        return made
    outer = Assembly("studio", stock=stock)
    outer.add("cabinet", made, turn)
    return outer


def lid_in(width: float, depth: float) -> Assembly:
    """A box with rests along two walls, and a lid that lies on them within four walls of 188 × 138 mm."""
    box = carcass("box", stock=PLY, width=200, depth=150, height=100)
    rests = [
        box.add(f"{side} rest", rectangle(138, 60), standing(box["base"].show, facing=facing, inset=6))
        for side, facing in (("left", "-X"), ("right", "+X"))
    ]
    join_touching(box, tabs(count=1))
    box.add("lid", rectangle(width, depth), lying([rest.face(">Z") for rest in rests]), loose=True)
    return box


@pytest.mark.parametrize(("play", "is_told"), [(0.0, True), (0.02, True), (0.09, True), (0.1, False), (0.3, False)])
def test_a_drawer_needs_a_tenth_of_a_millimetre(play: float, is_told: bool) -> None:
    found = no_play(with_drawer(play))
    assert [finding.level for finding in found] == ["warning"] * is_told
    if is_told:
        assert found[0].numbers == {"play_mm": pytest.approx(play, abs=1e-6), "limit_mm": 0.1}
        assert set(found[0].plates) == {"left", "right", "drawer.left", "drawer.right"}
        assert "'drawer' is loose and stands between 'left' and 'right'" in found[0].message
        assert "make 'drawer' 0.2 mm narrower" in found[0].message


def test_a_drawer_as_high_as_its_room_is_told_to_be_lower() -> None:
    (finding,) = no_play(with_drawer(1.0, height=99.95))
    assert finding.numbers["play_mm"] == pytest.approx(0.05)
    assert "between 'floor' and 'top'" in finding.message
    assert "0.2 mm lower" in finding.message


@pytest.mark.parametrize(
    ("width", "depth", "words"), [(188, 138, ["narrower", "less deep"]), (188, 137, ["narrower"]), (187.5, 137.5, [])]
)
def test_a_lid_let_in_is_measured_both_ways(width: float, depth: float, words: list[str]) -> None:
    """It lies on its rests, and nothing is above it: that way it has all the play there is."""
    found = no_play(lid_in(width, depth))
    assert sorted(word for finding in found for word in ("narrower", "less deep") if word in finding.message) == sorted(words)
    assert len(found) == len(words)


def test_the_inset_lid_of_a_carcass_has_its_play() -> None:
    """0.5 mm unless told otherwise; with 0.05 mm it is told along both."""
    assert no_play(carcass("box", stock=PLY, width=200, depth=150, height=100, lid="inset")) == []
    tight = no_play(carcass("box", stock=PLY, width=200, depth=150, height=100, lid="inset", play=0.05))
    assert [finding.numbers["play_mm"] for finding in tight] == [pytest.approx(0.05)] * 2


@pytest.mark.parametrize("angle", [90.0, 37.0])
def test_the_same_is_told_however_the_cabinet_stands(angle: float) -> None:
    (finding,) = no_play(with_drawer(0.02, turn=Frame.turned((1, 2, 3), angle)))
    assert finding.numbers["play_mm"] == pytest.approx(0.02, abs=1e-6)
    assert set(finding.plates) == {f"cabinet.{name}" for name in ("left", "right", "drawer.left", "drawer.right")}


def test_a_sliding_fit_that_the_shop_states_is_the_limit_if_it_is_wider() -> None:
    for sliding, told in ((0.25, [0.25]), (0.12, [])):
        assert [f.numbers["limit_mm"] for f in no_play(with_drawer(0.2, stock=replace(PLY, sliding=sliding)))] == told


@pytest.mark.parametrize(("last", "is_told"), [(0.03, True), (0.5, False)])
def test_loose_things_in_a_row_have_the_play_of_the_row(last: float, is_told: bool) -> None:
    """Two trays side by side touch each other and a wall; only what is left beside the second is play, and it is both's."""
    made = cabinet()
    width = (ROOM - last) / 2
    for name, x in (("one", -ROOM / 2 + width / 2), ("two", -ROOM / 2 + 1.5 * width)):
        made.add(name, tray(name, stock=PLY, width=width, depth=100, height=40), Frame((x, 0, 6)), loose=True)
    found = no_play(made)
    assert [finding.numbers["play_mm"] for finding in found] == [pytest.approx(last)] * is_told
    if is_told:
        assert "'one' and 'two' are loose and stand in one row between 'left' and 'right'" in found[0].message


def test_what_is_loose_within_something_loose_is_measured_against_that() -> None:
    """A lid in a drawer that has play itself; and a drawer, with its lid in it, that has none."""
    for drawer_play, names in ((1.0, ["'drawer.lid'"]), (0.0, ["'drawer.lid'", "'drawer'"])):
        made = cabinet()
        drawer = tray("drawer", stock=PLY, width=ROOM - drawer_play, depth=140, height=60)
        drawer.add("lid", rectangle(ROOM - drawer_play - 12, 100), Frame((0, 0, 6)), loose=True)
        made.add("drawer", drawer, lying(made["floor"].show), loose=True)
        found = no_play(made)
        assert sorted(finding.message.split(" is loose")[0] for finding in found) == sorted(names)


def test_what_lies_on_something_or_is_round_is_not_between_faces() -> None:
    made = cabinet()
    made.add("mat", rectangle(100, 100), lying(made["floor"].show), loose=True)
    made.add("bat", disc(80), Frame((0, 0, 12)), loose=True)
    assert no_play(made) == []


def test_two_with_a_joint_are_measured_as_that() -> None:
    """A divider that tabs hold in the floor still stands between the walls; tabs into both of these fit as tabs do."""
    made = cabinet()
    divider = made.add("divider", rectangle(ROOM, 80), standing(made["floor"].show, facing="-Y", inset=60), loose=True)
    join(divider.face("<Z"), made["floor"].show, tabs(count=2))
    assert len(no_play(made)) == 1
    for side, wall in (("<X", "left"), (">X", "right")):
        join(divider.face(side), made[wall].face(">X" if wall == "left" else "<X"), tabs(count=1))
    assert no_play(made) == []


def test_tolerance_says_that_the_fit_of_loose_things_is_not_counted() -> None:
    said = "how what is loose fits into its room: 'drawer'"
    assert said in fit_over_sheet(with_drawer(0.3).product()).not_counted
    assert not any("loose" in line for line in fit_over_sheet(cabinet().product()).not_counted)
