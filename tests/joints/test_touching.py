"""Which faces touch: square, slanting, along corners; and what stays out because it is loose or skipped."""

from __future__ import annotations

import math

import pytest
from panelwright.assemblies import Assembly
from panelwright.joints import fingers, join, join_touching, tabs, touching
from panelwright.plates import Frame, Stock, lying, rectangle, rounded_rectangle, standing
from panelwright.plates.errors import ForeignFaceError, JointError

PLY = Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, clearance=0.1)


def tray(*, loose: bool) -> Assembly:
    """A base with two walls and a lid that lies on them."""
    made = Assembly("tile tray", stock=PLY)
    base = made.add("base", rectangle(120, 80))
    walls = [
        made.add(name, rectangle(80, 50), standing(base.face(">Z"), facing=way, inset=10))
        for name, way in (("left", "-X"), ("right", "+X"))
    ]
    made.add("lid", rectangle(120, 80), lying([wall.face(">Z") for wall in walls]), loose=loose)
    return made


def joined(assembly: Assembly) -> set[tuple[str, str]]:
    return {record.plates for record in assembly.product().joints}


WALLS = {("left", "base"), ("right", "base")}
LID = {("left", "lid"), ("right", "lid")}


def test_a_loose_lid_is_not_joined_and_nothing_is_found_wrong_with_that() -> None:
    """The walls stay joined to the base; the lid lifts off, as the design says by `loose=True`, and the product names it."""
    made = tray(loose=True)
    assert {pair.names for pair in touching(made)} == WALLS
    assert {pair.names for pair in join_touching(made, tabs(count=1, width=15))} == WALLS
    assert joined(made) == WALLS
    assert made.check() == ()
    assert made.product().loose == ("lid",)
    fixed = tray(loose=False)
    join_touching(fixed, tabs(count=1, width=15))
    assert joined(fixed) == WALLS | LID
    assert fixed.check() == ()


def test_a_loose_lid_can_be_joined_by_name() -> None:
    """What a design says itself goes before what is guessed."""
    made = tray(loose=True)
    join(made["left"].face(">Z"), made["lid"].face("<Z"), tabs(count=1, width=15))
    join_touching(made, tabs(count=1, width=15))
    assert joined(made) == WALLS | {("left", "lid")}


def drawer_case() -> tuple[Assembly, object]:
    """A drawer (a loose sub-assembly of two plates) that stands on a rail of its case."""
    drawer = Assembly("drawer", stock=PLY)
    floor = drawer.add("floor", rectangle(60, 40))
    drawer.add("front", rectangle(60, 30), standing(floor.face(">Z"), facing="-Y", inset=5))
    case = Assembly("card drawer", stock=PLY)
    rail = case.add("rail", rectangle(60, 40), Frame.facing((0, 0, -20), show=(0, -1, 0), right=(1, 0, 0)))
    case.add("foot", rectangle(80, 60), Frame((0, 0, -44)))
    assert rail.name == "rail"
    return case, case.add("drawer", drawer, loose=True)


def test_a_loose_sub_assembly_is_one_group() -> None:
    """Inside it everything is joined; across its border nothing is."""
    case, _ = drawer_case()
    join_touching(case, tabs(count=1, width=12))
    assert joined(case) == {("rail", "foot"), ("drawer.front", "drawer.floor")}
    assert case.check() == ()
    assert case.product().loose == ("drawer",)


def test_what_a_sub_assembly_leaves_out_is_told_under_full_names() -> None:
    """Notes name plates as the whole product does, with the design's line; so does the list of what is loose."""
    inner = tray(loose=True)
    join_touching(inner, tabs(count=1, width=15), skip=inner["left"].face("<Z"))
    outer = Assembly("shop", stock=PLY)
    outer.add("first", inner)
    (finding,) = (found for found in outer.check() if found.code == "LEFT-OUT")
    assert set(finding.plates) == {"first.left", "first.base"}
    assert finding.message.startswith("join_touching (test_touching.py, line ")
    assert outer.product().loose == ("first.lid",)


@pytest.mark.parametrize(
    ("chosen", "left"),
    [
        ("plate", WALLS),
        ("face", WALLS),
        ("faces", {("left", "base"), *LID}),
        ("pair of plates", {*WALLS, ("right", "lid")}),
        ("pair of a plate and a face", {*WALLS, ("right", "lid")}),
        ("found pair", {("right", "base"), *LID}),
        ("two plates", set()),
        ("pair the other way round", {*WALLS, ("right", "lid")}),
        ("nothing", WALLS | LID),
    ],
)
def test_what_is_skipped_stays_unjoined_and_is_told(chosen: str, left: set[tuple[str, str]]) -> None:
    """Plates, faces and pairs; whoever skips something is told what that was."""
    made = tray(loose=False)
    lid, wall = made["lid"], made["left"]
    skips = {
        "plate": lid,
        "face": lid.face("<Z"),
        "faces": [made["right"].face("<Z")],
        "pair of plates": [(wall, lid)],
        "pair of a plate and a face": [(wall, lid.face("<Z"))],
        "found pair": [touching(made)[0]],
        "two plates": [lid, made["base"]],
        "pair the other way round": [(lid, wall)],
        "nothing": [],
    }
    assert {pair.names for pair in touching(made, skip=skips[chosen])} == left
    assert {pair.names for pair in join_touching(made, tabs(count=1, width=15), skip=skips[chosen])} == left
    assert joined(made) == left
    told = [f for f in made.check() if f.code == "LEFT-OUT"]
    assert len(told) == (left != WALLS | LID)
    for finding in told:
        assert "left out what skip= names" in finding.message
        assert finding.numbers == {"pairs": float(4 - len(left))}


def test_a_sub_assembly_can_be_skipped() -> None:
    """As a whole: then nothing of it is joined, not even its own plates."""
    case, drawer = drawer_case()
    assert {pair.names for pair in touching(case, skip=drawer)} == {("rail", "foot")}


def test_a_skip_that_means_nothing_is_refused() -> None:
    """Plates of another assembly and things that are none are named."""
    made, other = tray(loose=False), tray(loose=False)
    with pytest.raises(ForeignFaceError, match="skip names plate 'lid' of assembly 'tile tray'"):
        join_touching(made, tabs(), skip=other["lid"])
    for bad in (5, "lid", ["lid"], [5], [("lid", made["base"])], None):
        with pytest.raises(JointError, match="skip"):
            touching(made, skip=bad)
    join_touching(made, tabs(count=1, width=15))  # a refused call leaves nothing behind


@pytest.mark.parametrize("angle_deg", [30.0, 45.0, 70.0, 89.0, 91.0, 120.0, 150.0])
@pytest.mark.parametrize("shows_up", [True, False])
def test_a_sloped_plate_that_meets_the_base_along_a_line_is_found(angle_deg: float, *, shows_up: bool) -> None:
    """A lectern's front stands on one border of its square-cut edge; what is found can be joined and proven."""
    slope = math.radians(angle_deg)
    up, out = (0.0, math.cos(slope), math.sin(slope)), (0.0, -math.sin(slope), math.cos(slope))
    show = out if shows_up else tuple(-value for value in out)
    lowest = min(0.0, PLY.t * math.cos(slope) * (1 if shows_up else -1))
    lift = PLY.t + 30 * up[2] - lowest
    made = Assembly("lectern", stock=PLY)
    base = made.add("base", rectangle(120, 200))
    made.add("front", rectangle(100, 60), Frame.facing((0.0, 0.0, lift), show=show, right=(1, 0, 0)))
    assert [pair.names for pair in touching(made)] == [("front", "base")]
    assert touching(made)[0].broad.place == base.face(">Z").place
    join_touching(made, tabs(count=2, width=12))
    product = made.product()
    assert product.errors == ()
    assert [record.plates for record in product.joints] == [("front", "base")]


@pytest.mark.parametrize(("lift", "count"), [(-0.2, 0), (-2.0, 0), (0.01, 0), (0.0, 1)])
def test_a_sloped_plate_that_stands_off_or_dips_in_does_not_touch(lift: float, count: int) -> None:
    """A hundredth above the base, or designed to overlap it: neither lies on it."""
    slope = math.radians(70)
    show = (0.0, -math.sin(slope), math.cos(slope))
    made = Assembly("lectern", stock=PLY)
    made.add("base", rectangle(120, 200))
    height = PLY.t + 30 * math.sin(slope) + lift
    made.add("front", rectangle(100, 60), Frame.facing((0.0, 0.0, height), show=show, right=(1, 0, 0)))
    assert len(touching(made)) == count


def corner_of(*, overlapping: bool) -> Assembly:
    """Two upright plates that meet along their inner borders, or that both reach to the outer corner."""
    made = Assembly("corner", stock=PLY)
    by = PLY.t if overlapping else 0.0
    made.add("one", rectangle(60 + by, 40), Frame.facing((30 - by / 2, 0, 0), show=(0, -1, 0), right=(1, 0, 0)))
    made.add("two", rectangle(50 + by, 40), Frame.facing((0, 25 - by / 2, 0), show=(-1, 0, 0), right=(0, -1, 0)))
    return made


@pytest.mark.parametrize("overlapping", [False, True])
def test_plates_that_meet_along_a_corner_are_found(*, overlapping: bool) -> None:
    """Fingers close it; tabs can't, which is told once: with the overlap where there is one, and moving comes first."""
    made = corner_of(overlapping=overlapping)
    (pair,) = touching(made)
    assert (pair.names, pair.broad.is_broad) == (("one", "two"), False)
    assert len(join_touching(made, fingers(count=5))) == 1
    assert made.check() == ()
    tabbed = corner_of(overlapping=overlapping)
    assert join_touching(tabbed, tabs()) == ()
    (told,) = [f for f in tabbed.check() if f.code in ("LEFT-OUT", "OVERLAP")]
    if overlapping:
        assert told.code == "OVERLAP"
        assert "tabs can't be made there, at a corner of two edges: move one off the other, or join them by" in told.message
    else:
        assert told.code == "LEFT-OUT"
        assert "corners of two edges, where tabs can't be made: 'one' and 'two'; join them by fingers" in told.message


def test_a_skipped_pair_that_shares_material_is_told_as_both() -> None:
    """What `skip=` names is no advice, and stays told."""
    made = corner_of(overlapping=True)
    assert join_touching(made, tabs(), skip=[(made["one"], made["two"])]) == ()
    assert {found.code for found in made.check()} >= {"LEFT-OUT", "OVERLAP"}


def test_a_lid_flush_with_a_wall_makes_no_corner() -> None:
    """The wall's edge under the lid is one contact, not two."""
    made = Assembly("box", stock=PLY)
    made.add("wall", rectangle(60, 40), Frame.facing((0, 0, -20), show=(0, -1, 0), right=(1, 0, 0)))
    made.add("lid", rectangle(60, 60), Frame((0, 30 - PLY.t, 0)))
    assert [(pair.names, pair.broad.is_broad) for pair in touching(made)] == [(("wall", "lid"), True)]


@pytest.mark.parametrize("outside", [True, False])
def test_the_ends_of_a_wall_round_a_sharp_corner_touch(*, outside: bool) -> None:
    """`touching` lists the wall's two ends, `ends` names them, and fingers between them close the seam."""
    soft = Stock("birch plywood", 3.0, measured=3.0, kerf=0.2, clearance=0.1)
    pot = Assembly("brush pot", stock=soft)
    wall = pot.add_wrap("wall", 50, rounded_rectangle(190, 170, [0, 60, 60, 60]), outside=outside)
    (pair,) = touching(pot)
    assert {(face.placed.name, face.place) for face in (pair.edge, pair.broad)} == {
        (face.placed.name, face.place) for face in wall.ends
    }
    join(*wall.ends, fingers(count=5))
    assert touching(pot) == ()
    assert pot.product().errors == ()


@pytest.mark.parametrize("turn", [Frame(), Frame.turned((1, 2, 3), 40)])
def test_plates_side_by_side_in_one_plane_are_no_corner(turn: Frame) -> None:
    """Two halves of a board that meet edge to edge, and two plates in one and the same place, have no faces to join."""
    board = Assembly("board", stock=Stock("MDF", 4))
    board.add("left", rectangle(100, 60), turn)
    board.add("right", rectangle(100, 60), Frame((100, 0, 0)).then(turn))
    board.add("over", rectangle(100, 60), turn)
    assert touching(board) == ()
    join_touching(board, tabs())
    assert {finding.code for finding in board.check()} >= {"OVERLAP"}
