"""What is loose lies on something or stands beside it; what floats is told with how far off it is."""

from __future__ import annotations

import math

import pytest
from panelwright.assemblies import Assembly, tray
from panelwright.assemblies.data.findings import Finding
from panelwright.joints import join_touching, tabs
from panelwright.plates import Frame, Stock, disc, rectangle, standing

PLY = Stock("birch plywood", 4.0, measured=4.0, cutter="knife", clearance=0.1)


def chest(place: Frame, *, loose: bool) -> Assembly:
    """A base with a wall, and a drawer of five plates somewhere."""
    made = Assembly("card chest", stock=PLY)
    base = made.add("base", rectangle(200, 100))
    made.add("wall", rectangle(200, 60), standing(base.show, facing="+Y"))
    made.add("drawer", tray("drawer", stock=PLY, width=120, depth=80, height=40), place, loose=loose)
    join_touching(made, tabs(count=2))
    return made


def floats(made: Assembly) -> list[Finding]:
    return [finding for finding in made.check() if finding.code == "FLOATS"]


DRAWER = ("drawer.base", "drawer.front", "drawer.rear", "drawer.left", "drawer.right")


@pytest.mark.parametrize(("lift", "level"), [(0.0, None), (0.6, "note"), (0.99, "note"), (1.1, "warning"), (496.0, "warning")])
def test_a_loose_thing_that_hovers_is_told_within_play_as_a_note(lift: float, level: str | None) -> None:
    """A drawer that lies on the base is right; lifted off by hand it hangs in the air, `lift` off the nearest plate."""
    found = floats(chest(Frame((0, -8, 4 + lift)), loose=True))
    assert [finding.level for finding in found] == ([] if level is None else [level])
    for finding in found:
        assert sorted(finding.plates) == sorted(DRAWER)
        # from half a metre up the top of the wall is nearer, 60 above the base and 14 beside the drawer
        assert finding.numbers["gap_mm"] == pytest.approx(lift if lift < 60 else math.hypot(lift - 60, 14), abs=1e-6)
        assert ("'base'" if lift < 60 else "'wall'") + ", the nearest plate" in finding.message


def test_a_loose_board_that_hangs_in_its_box_is_told() -> None:
    """5 mm over the base of its box, 3 mm off the walls: the nearest plate counts."""
    box = tray("card box", stock=PLY, width=100, depth=80, height=40)
    box.add("board", rectangle(86, 66), Frame((0, 0, 13)), loose=True)
    (found,) = floats(box)
    assert (found.level, found.plates) == ("warning", ("board",))
    assert found.numbers["gap_mm"] == pytest.approx(3.0, abs=1e-6)


def test_what_stands_beside_the_product_hovers_not() -> None:
    """On the bench, as low as the product: a lid put aside, and several loose products next to each other."""
    assert floats(chest(Frame((300, 0, 0)), loose=True)) == []
    assert len(floats(chest(Frame((300, 0, 3)), loose=True))) == 1
    several = Assembly("studio", stock=PLY)
    for number in range(3):
        pot = tray("pot", stock=PLY, width=80, depth=80, height=40)
        several.add(f"pot {number}", pot, Frame((200.0 * number, 0, 0)), loose=True)
    assert floats(several) == []


def test_a_pile_of_loose_things_in_the_air_is_told_once() -> None:
    """Two loose plates that lie on each other hang together."""
    made = Assembly("pile", stock=PLY)
    made.add("base", rectangle(100, 80))
    made.add("lower", rectangle(60, 40), Frame((0, 0, 20)), loose=True)
    made.add("upper", rectangle(60, 40), Frame((0, 0, 24)), loose=True)
    (found,) = floats(made)
    assert (found.level, found.plates) == ("warning", ("lower", "upper"))
    assert found.message.startswith("'lower', 'upper', which are loose, lie on nothing: 16.00 mm off 'base', the nearest plate")


@pytest.mark.parametrize(("lift", "told"), [(0.0, 0), (2.0, 1)])
def test_a_loose_bent_wall_stands_or_hovers(lift: float, told: int) -> None:
    """A wall bent round a disc stands beside the product on its edge: the box round its bends ends where the edge does."""
    made = Assembly("lamp", stock=PLY)
    made.add("base", disc(150))
    shade = Assembly("shade", stock=PLY)
    shade.add_wrap("wall", 60, disc(100), Frame())
    made.add("shade", shade, Frame((300, 0, lift)), loose=True)
    assert len(floats(made)) == told


def test_the_smaller_group_floats_though_it_has_more_plates() -> None:
    """The drawer's five plates are less than the base and the wall: it is named, with what it floats over, in the plural."""
    (found,) = floats(chest(Frame((0, -8, 14)), loose=False))
    assert found.level == "error"
    assert sorted(found.plates) == sorted(DRAWER)
    assert found.numbers["gap_mm"] == pytest.approx(10.0, abs=1e-6)
    named = ", ".join(map(repr, found.plates[:2]))
    assert found.message.startswith(
        f"{named} and 3 more touch nothing else and are joined to nothing else: they stand 10.00 mm off 'base' of 'base', "
        "'wall'; move them, join them, or add them with loose=True"
    )


def test_a_single_plate_floats_in_the_singular_however_far_it_is() -> None:
    """Half a metre off is told like 4 mm off."""
    made = Assembly("shelf", stock=PLY)
    made.add("base", rectangle(100, 80))
    made.add("pad", rectangle(50, 40), Frame((0, 0, 504)))
    (found,) = floats(made)
    assert found.message == (
        "'pad' touches nothing and is joined to nothing: it stands 500.00 mm off 'base'; move it, join it, or add "
        "it with loose=True"
    )
