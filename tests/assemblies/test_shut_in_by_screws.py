"""What screws alone hold comes off again: what lies behind it is not shut in, as long as a driver and a way are there."""

from __future__ import annotations

import math

import pytest
from panelwright.assemblies import Assembly, carcass, tray
from panelwright.assemblies.data.findings import Finding
from panelwright.joints import join, t_nut, tabs
from panelwright.plates import Frame, Stock, disc, lying, rectangle, standing

PLY = Stock("birch plywood", 6.0, measured=5.9, kerf=0.18, clearance=0.1, density=680)
BOARD = Stock("circuit board", 1.6, measured=1.6, kerf=0.2, clearance=0.1, density=1900)


def told(assembly: Assembly) -> list[Finding]:
    return [finding for finding in assembly.product().findings if finding.code == "SHUT-IN"]


def timer_box(*, board: bool = True, height: float = 60.0) -> Assembly:
    """A box whose lid is screwed on, and a loose board on its base."""
    made = carcass("box", stock=PLY, width=117, depth=88, height=height, lid="overhanging")
    if board:
        made.add("board", rectangle(85, 56), lying(made["base"].show), stock=BOARD, loose=True)
    return made


def lidded(*glued: str) -> Assembly:
    """The same by hand: the lid is screwed to the walls, but to some of them it has tabs."""
    made = carcass("box", stock=PLY, width=117, depth=88, height=60)
    made.add("board", rectangle(85, 56), lying(made["base"].show), stock=BOARD, loose=True)
    lid = made.add("lid", rectangle(141, 112), lying([made["front"].face(">Z")]))
    for name in ("front", "rear", "left", "right"):
        join(made[name].face(">Z"), lid.face("<Z"), tabs(count=1) if name in glued else t_nut("M3", count=1))
    return made


def turned(made: Assembly) -> Assembly:
    outer = Assembly("studio", stock=PLY)
    way = (math.cos(0.4), math.sin(0.4), 0.0)
    outer.add("shelf", made, Frame.facing((10, 20, 30), show=(-way[1], way[0], 0.0), right=way))
    return outer


def test_a_board_under_a_screwed_lid_comes_out() -> None:
    """However the box stands; and neither a lower box nor screws that hold the lid to fewer walls make a difference."""
    assert told(timer_box()) == []
    assert told(timer_box(height=30.0)) == []
    assert told(turned(timer_box())) == []
    assert told(lidded()) == []


@pytest.mark.parametrize("glued", [("front",), ("left", "right")])
def test_a_lid_that_is_tabbed_to_one_wall_too_stays_on(glued: tuple[str, ...]) -> None:
    """Screws to the other walls don't open it."""
    (finding,) = told(lidded(*glued))
    assert finding.plates == ("board",)
    assert "up ('lid')" in finding.message
    assert "screws" not in finding.message


def test_a_drawer_behind_a_screwed_back_comes_out() -> None:
    """A chest on its back, shut by a lid: on tabs it shuts the drawer in, on screws it does not."""
    for lid, codes in (("overhanging", []), (True, ["SHUT-IN"])):
        made = Assembly("chest", stock=PLY)
        body = carcass("body", stock=PLY, width=160, depth=90, height=120, lid=lid)
        made.add("body", body, Frame.facing((0, 0, 45), show=(0, -1, 0), right=(1, 0, 0)))
        drawer = tray("drawer", stock=PLY, width=146, depth=106, height=60)
        made.add("drawer", drawer, Frame((0, -60, 5.9)), loose=True)
        assert [finding.code for finding in told(made)] == codes


def test_what_screws_hold_from_below_opens_as_well() -> None:
    """The walls' and the lid's own tabs stay; the base comes off downwards."""
    made = carcass("box", stock=PLY, width=117, depth=88, height=60, lid="overhanging")
    made.add("board", rectangle(85, 56), Frame((0, 0, 52.0)), stock=BOARD, loose=True)
    assert told(made) == []


def test_a_shelf_that_stays_is_named_and_the_lid_that_comes_off_too() -> None:
    """Half of the way opens: what is still to be opened is the shelf."""
    made = timer_box()
    shelf = made.add("shelf", rectangle(117 - 2 * PLY.t, 88 - 2 * PLY.t), Frame((0, 0, 30.0)))
    for edge, wall in (("<X", "left"), (">X", "right")):
        join(shelf.face(edge), made[wall].show, tabs(count=1))
    (finding,) = told(made)
    assert "even once screws are out and 'lid' is off" in finding.message
    assert "up ('shelf')" in finding.message


def let_in(*walls: str) -> Assembly:
    """A lid between four walls that are tabbed to each other, with a screw and tabs of its own into some of them."""
    made = carcass("box", stock=PLY, width=117, depth=88, height=60)
    made.add("board", rectangle(85, 56), lying(made["base"].show), stock=BOARD, loose=True)
    lid = made.add("lid", rectangle(117 - 2 * PLY.t, 88 - 2 * PLY.t), Frame((0, 0, 40.0)))
    for wall, edge in (("left", "<X"), ("right", ">X"), ("front", "<Y"), ("rear", ">Y")):
        if wall in walls:
            join(lid.face(edge), made[wall].show, t_nut("M3", count=1, tabs=tabs(count=1, width=10)))
    return made


def test_tabs_in_four_walls_lock_a_screwed_lid_in() -> None:
    """The screws come out, but the walls stay together, and the lid's tabs in them."""
    for walls in (("left", "right"), ("left", "right", "front", "rear")):
        (finding,) = told(let_in(*walls))
        assert finding.plates == ("board",)
        assert "up ('lid')" in finding.message
        assert "is off" not in finding.message


def test_screws_that_no_driver_reaches_open_nothing() -> None:
    """A roof on a handle, both tabbed to the lid: over the screws it keeps them in; narrow, all come off as one."""
    for size, hides in (((150.0, 120.0), True), ((60.0, 30.0), False)):
        made = timer_box()
        handle = made.add("handle", rectangle(50, 30), standing(made["lid"].show, facing="-Y", inset=48))
        made.add("roof", rectangle(*size), lying(handle.face(">Z")))
        join(handle.face("<Z"), made["lid"].show, tabs(count=1))
        join(handle.face(">Z"), made["roof"].face("<Z"), tabs(count=1))
        found = told(made)
        assert len(found) == hides
        for finding in found:
            assert "no driver reaches the screws between" in finding.message
            assert "'lid'" in finding.message


def test_nested_boxes_open_one_after_the_other() -> None:
    """A loose box with a screwed lid and a counter in it: out of a screwed box both come; in one shut for good the box
    alone is told of."""
    for lid, told_of in (("overhanging", []), (True, ["inner"])):
        inner = carcass("inner", stock=PLY, width=70, depth=60, height=40, lid="overhanging")
        inner.add("counter", disc(20), lying(inner["base"].show), loose=True)
        made = Assembly("chest", stock=PLY)
        made.add("outer", carcass("outer", stock=PLY, width=160, depth=150, height=90, lid=lid))
        made.add("inner", inner, Frame((0, 0, PLY.t)), loose=True)
        found = told(made)
        assert [{plate.split(".")[0] for plate in finding.plates} for finding in found] == [{name} for name in told_of]


def test_a_loose_box_of_its_own_shut_for_good_keeps_what_is_in_it() -> None:
    """It comes out of the screwed box, but does not open itself."""
    inner = carcass("inner", stock=PLY, width=70, depth=60, height=40, lid=True)
    inner.add("counter", disc(20), lying(inner["base"].show), loose=True)
    made = Assembly("chest", stock=PLY)
    made.add("outer", carcass("outer", stock=PLY, width=160, depth=150, height=90, lid="overhanging"))
    made.add("inner", inner, Frame((0, 0, PLY.t)), loose=True)
    (finding,) = told(made)
    assert finding.plates == ("inner.counter",)


def test_something_loose_is_not_taken_apart_to_get_it_out() -> None:
    """A spool round a shelf: its flange comes off by screws, but the spool as a whole stays in."""
    spool = Assembly("spool", stock=PLY)
    foot = spool.add("foot", disc(70))
    stem = spool.add("stem", rectangle(40, 50), standing(foot.show, facing="-Y", inset=32))
    flange = spool.add("flange", disc(70), lying(stem.face(">Z")))
    join(stem.face("<Z"), foot.show, tabs(count=1))
    join(stem.face(">Z"), flange.face("<Z"), t_nut("M3", count=1))
    made = Assembly("rack", stock=PLY)
    shelf = rectangle(160, 120).cut([rectangle(50, 50)])
    made.add("shelf", shelf, Frame((0, 0, PLY.t)))
    made.add("spool", spool, loose=True)
    (finding,) = told(made)
    assert {plate.split(".")[0] for plate in finding.plates} == {"spool"}
