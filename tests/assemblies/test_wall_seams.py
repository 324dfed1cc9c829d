"""Walls that go all the way round: held right up to the seam, and the seam closed, or told with what would do it."""

from __future__ import annotations

import math

import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.findings import Finding
from panelwright.joints import fingers, join, tabs
from panelwright.plates import Frame, SizeError, Stock, disc, rectangle, rounded_rectangle

PLY = Stock("birch plywood", 3.0, measured=3.0, kerf=0.2, clearance=0.1, shear_modulus=620, shear_strength=9.5, density=680)
AROUND = (math.tau - 2 * math.atan2(3, 77)) * 78.5
"""Length of the bend of a wall of 3 mm inside a disc of 160 mm, in its middle, less the flat land of 3 mm at either end."""


def shade(*, at: list[float], top: list[float] | None = None, turn: Frame | None = None) -> Assembly:
    """A shade round a disc on a base, with tabs at those places along its lower border, and along its upper one into a ring."""
    lamp = Assembly("kiln lamp", stock=PLY)
    base = lamp.add("base", disc(190))
    wall = lamp.add_wrap("shade", 120, disc(160), Frame((0, 0, 3)), outside=False)
    join(wall.faces("<Z"), base.face(">Z"), tabs(at=at, width=4))
    if top is not None:
        ring = lamp.add("ring", disc(190), Frame((0, 0, 123)))
        join(wall.faces(">Z"), ring.face("<Z"), tabs(at=top, width=4))
    if turn is None:
        return lamp
    room = Assembly("studio", stock=PLY)
    room.add("lamp", lamp, turn)
    return room


def told(assembly: Assembly, code: str) -> list[Finding]:
    return [finding for finding in assembly.check() if finding.code == code]


@pytest.mark.parametrize("turn", [None, Frame.turned((1, 2, 3), 37)], ids=["as built", "odd"])
def test_two_tabs_close_together_hold_a_wall_between_them_only(turn: Frame | None) -> None:
    """What goes on beyond the last tab goes flat from there on: its end moves from the arc to the tangent."""
    (found,) = told(shade(at=[220, 268], turn=turn), "SPRINGS")
    assert found.level == "warning"
    free = found.numbers["free_mm"]
    assert free == pytest.approx(max(220 - 2, AROUND - 268 - 2), abs=0.01)
    assert f"beyond its last tab, over {free:.0f} of its {AROUND:.0f} mm" in found.message
    turned, land = free / 78.5, 3.0
    # both faces of the end, where it stands and in line with the tangent at the tab
    ends = []
    for out in (-1.5, 1.5):
        r = 78.5 + out
        stands = (
            r * math.sin(turned) + land * math.cos(turned),
            78.5 - r * math.cos(turned) + land * math.sin(turned),
        )
        ends.append(math.dist(stands, (free + land, -out)))
    assert found.numbers["opens_mm"] == pytest.approx(max(ends), rel=1e-6)


def test_tabs_at_both_ends_hold_it_and_how_near_they_have_to_be_is_said() -> None:
    """The message names a distance; tabs that keep it are enough, and tabs two millimetres further off are not."""
    (found,) = told(shade(at=[100, 243, 386]), "SPRINGS")
    near = float(found.message.split("within ")[1].split(" mm")[0])
    assert 2 < near < 10
    assert told(shade(at=[near + 2, 243, AROUND - near - 2]), "SPRINGS") == []
    assert len(told(shade(at=[near + 4, 243, AROUND - near - 4]), "SPRINGS")) == 1


def test_one_tab_holds_nothing_and_two_plates_hold_each_what_lies_between_their_own_tabs() -> None:
    """One tab, or one above the other in two plates that nothing else joins, leave it free; two spans that overlap are one."""
    for lamp in (shade(at=[243]), shade(at=[243], top=[243])):
        (found,) = told(lamp, "SPRINGS")
        assert found.message.startswith("nothing holds the bend 'shade bend 1': it springs back")
        assert "free_mm" not in found.numbers
    assert told(shade(at=[8, 300], top=[200, AROUND - 8]), "SPRINGS") == []
    (found,) = told(shade(at=[8, 200], top=[300, AROUND - 8]), "SPRINGS")
    assert "between its tabs, over 96 of its" in found.message


def test_an_open_seam_is_told_with_the_land_that_lets_fingers_close_it() -> None:
    """With flats of that length the ends make a corner in which fingers hold: nothing is left to say, and nothing springs."""
    (found,) = told(shade(at=[8, 243, AROUND - 8]), "SEAM")
    assert (found.level, found.plates) == ("note", ("shade 1", "shade 2"))
    assert found.numbers["turn_deg"] == pytest.approx(2 * math.degrees(math.atan2(3, 77)))
    assert found.place == pytest.approx((-(math.hypot(77, 3) + 1.5), 0.0, 63.0), abs=0.01)
    land = float(found.message.split("land=")[1].split(",")[0])
    assert 77 * math.tan(math.radians(15)) <= land < 77 * math.tan(math.radians(15)) + 0.5
    for given, codes in ((land, set()), (land - 1, {"JOINT", "SEAM"})):
        lamp = Assembly("kiln lamp", stock=PLY)
        base = lamp.add("base", disc(190))
        wall = lamp.add_wrap("shade", 120, disc(160), Frame((0, 0, 3)), outside=False, land=given)
        join(*wall.ends, fingers())
        join(wall.faces("<Z"), base.face(">Z"), tabs(count=1, width=4))
        assert {finding.code for finding in lamp.check()} - {"SPRINGS"} == codes


def test_a_seam_whose_ends_two_plates_hold_is_closed_enough() -> None:
    """A base holds both ends at one border only; a base and a ring at both.  Elsewhere they hold nothing of the seam."""
    assert len(told(shade(at=[8, 243, AROUND - 8]), "SEAM")) == 1
    assert told(shade(at=[8, 243, AROUND - 8], top=[8, 243, AROUND - 8]), "SEAM") == []


@pytest.mark.parametrize(("radii", "seam", "helps"), [(45, None, "drawn sharp"), ([0, 45, 45, 45], None, "closes it, where")])
def test_what_closes_a_seam_depends_on_where_it_lies(
    radii: float | list[float], seam: tuple[float, float] | None, helps: str
) -> None:
    """On a straight side no cut holds, in a sharp corner fingers do; joined, it isn't told any more."""
    pot = Assembly("brush pot", stock=PLY)
    base = pot.add("base", rounded_rectangle(190, 160, 4))
    wall = pot.add_wrap("wall", 60, rounded_rectangle(150, 120, radii), Frame((0, 0, 3)), outside=False, seam=seam)
    join([part.face("<Z") for part in wall.flats], base.face(">Z"), tabs(count=1, width=6))
    (found,) = told(pot, "SEAM")
    assert helps in found.message
    if isinstance(radii, list):
        join(*wall.ends, fingers())
        assert told(pot, "SEAM") == []


def test_a_land_is_a_length_above_nothing() -> None:
    """A flat of no length could not be a part of the sheet."""
    with pytest.raises(SizeError, match="land of wall 'shade'"):
        Assembly("kiln lamp", stock=PLY).add_wrap("shade", 120, disc(160), land=0)


def lampshade(diameter: float, *, land: float | None = None, closed: bool = True) -> Assembly:
    """A shade round a disc, a tab on each of its parts in a base and in a ring, its seam closed by fingers or not at all."""
    lamp = Assembly("kiln lamp", stock=PLY)
    base, ring = lamp.add("base", disc(diameter + 30)), lamp.add("ring", disc(diameter + 30), Frame((0, 0, 123)))
    wall = lamp.add_wrap("shade", 120, disc(diameter), Frame((0, 0, 3)), land=land)
    join(wall.faces("<Z"), base.face(">Z"), tabs(count=1))
    join(wall.faces(">Z"), ring.face("<Z"), tabs(count=1))
    if closed:
        join(*wall.ends, fingers())
    return lamp


def named_land(found: Finding) -> float:
    """The land that a message names."""
    assert "give add_wrap land=" in found.message
    return float(found.message.partition("give add_wrap land=")[2].partition(",")[0])


@pytest.mark.parametrize("diameter", [150, 170])
def test_fingers_on_ends_that_lie_too_flat_are_told_the_land_that_would_do(diameter: float) -> None:
    """Nobody can turn the ends of one wall; the named land makes a corner of 30° or barely more, and a half less does not."""
    (found,) = told(lampshade(diameter, land=0.2 * diameter / 2), "JOINT")
    assert "turn one of them" not in found.message
    land = named_land(found)
    assert 30 <= 2 * math.degrees(math.atan2(land, diameter / 2)) < 31
    assert not told(lampshade(diameter, land=land), "JOINT")
    (found,) = told(lampshade(diameter, land=land - 0.5), "JOINT")
    assert named_land(found) == land


def test_two_plates_that_are_not_ends_of_one_wall_are_still_told_to_turn() -> None:
    """What is said of ends is said of them only: two walls of a lantern can be turned."""
    lamp = Assembly("lantern", stock=PLY)
    a = lamp.add("a", rectangle(60, 80))
    slope = math.radians(20)
    tilted = Frame.facing((60, 0, 0), show=(-math.sin(slope), 0, math.cos(slope)), right=(math.cos(slope), 0, math.sin(slope)))
    b = lamp.add("b", rectangle(60, 80), tilted)
    join(a.faces(">X")[0], b.faces("<X")[-1], fingers())
    (found,) = told(lamp, "JOINT")
    assert found.message.count("turn one of them") == 1


def test_a_wall_that_springs_names_what_closes_its_seam_where_no_note_does() -> None:
    """Two plates that hold both ends leave no note of the seam; the warning names land and fingers, and they do."""
    lamp = lampshade(150, closed=False)
    assert not told(lamp, "SEAM")
    (found,) = told(lamp, "SPRINGS")
    assert "join(*sheet.ends, fingers())" in found.message
    assert "one more plate" not in found.message
    assert not [finding.message for finding in lampshade(150, land=named_land(found)).check() if finding.level != "note"]
    (beside,) = told(shade(at=[220, 268]), "SPRINGS")  # a note stands beside this one
    assert "land=" not in beside.message
