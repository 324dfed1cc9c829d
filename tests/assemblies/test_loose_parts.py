"""Lids, drawers and other loose things: they come out with everything else in place, and something carries them."""

from __future__ import annotations

import math

import pytest
from panelwright.assemblies import Assembly, carcass, tray
from panelwright.assemblies.data.findings import Finding
from panelwright.joints import join, join_touching, tabs
from panelwright.plates import Frame, Stock, disc, rectangle, standing
from panelwright.plates._kernel.solids.booleans import common_of

PLY = Stock("birch plywood", 4.0, measured=4.0, kerf=0.18, clearance=0.1, density=680)


def told(assembly: Assembly) -> list[Finding]:
    return [finding for finding in assembly.product().findings if finding.code in ("SHUT-IN", "DROPS", "FLOATS")]


def chest(*, has_front: bool, turn: Frame | None = None, insert: bool = False) -> Assembly:
    """A box on its back, so that it is open to the front, with a drawer in it; or with a lid that shuts that in."""
    made = Assembly("chest", stock=PLY)
    body = carcass("body", stock=PLY, width=160, depth=80, height=120, lid=has_front)
    made.add("body", body, Frame.facing((0, 0, 40), show=(0, -1, 0), right=(1, 0, 0)))
    drawer = tray("drawer", stock=PLY, width=150, depth=108, height=60)
    if insert:
        drawer.add("insert", disc(30), Frame((0, 0, 8)), loose=True)
    made.add("drawer", drawer, Frame((0, -60, 4)), loose=True)
    if turn is None:
        return made
    outer = Assembly("studio", stock=PLY)
    outer.add("chest", made, turn)
    return outer


def case(lid: float, *, up: float = 0.0, opening: float = 70.7) -> Assembly:
    """Two walls and a rest on a base, and a lid between the walls that lies on the rest or hangs above it."""
    made = Assembly("case", stock=PLY)
    base = made.add("base", rectangle(opening + 40, 100))
    for name, facing in (("left", "-X"), ("right", "+X")):
        made.add(name, rectangle(80, 40), standing(base.show, facing=facing, inset=16))
    made.add("rest", rectangle(60, 20), standing(base.show, facing="-Y", inset=48))
    join_touching(made, tabs(count=1, width=12))
    made.add("lid", rectangle(lid, 70), Frame((0, 0, 4 + 20 + up)), loose=True)
    return made


def test_a_drawer_behind_a_front_is_shut_in() -> None:
    """The front is among what is in its way; without it the drawer comes out, and nothing is said."""
    assert told(chest(has_front=False)) == []
    (finding,) = told(chest(has_front=True))
    assert (finding.code, finding.level) == ("SHUT-IN", "warning")
    assert "'drawer' is loose, but cannot be taken out" in finding.message
    assert "to the front ('body.lid')" in finding.message
    assert {plate.split(".")[0] for plate in finding.plates} == {"drawer"}


@pytest.mark.parametrize("has_front", [False, True])
def test_the_same_holds_however_the_chest_stands(has_front: bool) -> None:
    """Turned about the vertical by 30°: what is shut in stays so, and what comes out still does."""
    c, s = math.cos(math.pi / 6), math.sin(math.pi / 6)
    turn = Frame.facing((10, 20, 30), show=(0, 0, 1), right=(c, s, 0))
    assert [finding.code for finding in told(chest(has_front=has_front, turn=turn))] == ["SHUT-IN"] * has_front


def test_what_lies_in_something_loose_comes_out_after_it() -> None:
    """An insert in a drawer is not shut in by the chest; where the drawer is shut in, only that is told."""
    assert told(chest(has_front=False, insert=True)) == []
    assert [len(finding.plates) for finding in told(chest(has_front=True, insert=True))] == [6]


@pytest.mark.parametrize(("up", "drop"), [(0.0, None), (0.5, None), (3.0, 3.0), (15.0, 15.0)])
def test_a_lid_that_hangs_over_its_rest_drops_onto_it(up: float, drop: float | None) -> None:
    """By as much as it hangs too high; up to 1 mm is play."""
    found = told(case(70.7, up=up))
    assert [finding.numbers.get("drop_mm") for finding in found] == ([] if drop is None else [pytest.approx(drop, abs=0.1)])


def test_a_lid_that_hangs_on_nothing_is_measured_to_what_stops_it() -> None:
    """Drawn above the rest by 20 mm: lowered by what the finding says it touches, and shares no more than a film."""
    made = case(70.7, up=20.0)
    product = made.product()
    (finding,) = (one for one in product.findings if one.code == "DROPS")
    lid, rest = (next(part for part in product.parts if part.name == name) for name in ("lid", "rest"))
    drop = finding.numbers["drop_mm"]
    assert common_of((lid.solid, lid.frame.shifted((0, 0, -drop))), (rest.solid, rest.frame))[0] < 1e-3 * 70.7 * 70
    assert common_of((lid.solid, lid.frame.shifted((0, 0, -drop - 0.2))), (rest.solid, rest.frame))[0] > 1.0


def test_what_stands_on_the_ground_beside_a_product_is_carried() -> None:
    """Two things on one bench; lifted off it, the loose one touches nothing, and is told as that and once."""
    for up, codes in ((0.0, []), (30.0, ["FLOATS"])):
        made = Assembly("pair", stock=PLY)
        base = made.add("base", rectangle(80, 80))
        wall = made.add("wall", rectangle(60, 40), standing(base.show, facing="-Y", inset=20))
        join(wall.face("<Z"), base.show, tabs(count=1))
        made.add("coaster", disc(60), Frame((200, 0, up)), loose=True)
        assert [finding.code for finding in told(made)] == codes
