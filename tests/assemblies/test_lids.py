"""Lids of a carcass that come off again: lying over its walls, or let in between them, held by screws."""

from __future__ import annotations

import pytest
from panelwright.assemblies import Assembly, carcass
from panelwright.joints import t_nut, tabs
from panelwright.plates import DesignError, Stock
from readers import shared_volume

PLY = Stock("birch plywood", 4, measured=4, kerf=0.18, clearance=0.08, density=680)
SIZE = {"stock": PLY, "width": 140, "depth": 100, "height": 60}


def height_of(body: Assembly) -> float:
    """From z = 0 to the highest face."""
    return max(placed.show.extent((0, 0, 1))[1] for placed in body.placed_plates())


def screws(body: Assembly) -> int:
    """How many screws hold its lid."""
    return sum(joint.numbers["count"] for joint in body.product().joints if joint.kind == "t_nut" and "lid" in joint.plates)


@pytest.mark.parametrize(("brim", "out"), [(None, 8.0), (5.0, 5.0)])
def test_an_overhanging_lid_lies_on_the_walls_and_stands_out(brim: float | None, out: float) -> None:
    """It is larger by twice the brim, the body is as high as asked for, and screws hold it on each wall."""
    body = carcass("box", lid="overhanging", brim=brim, **SIZE)
    assert body["lid"].plate.outline.size == (140 + 2 * out, 100 + 2 * out)
    assert body["lid"].frame.origin[2] == 56
    assert height_of(body) == 60
    assert body.check() == ()
    assert screws(body) == 8


def test_an_overhanging_lid_of_a_regular_body() -> None:
    """Its polygon is larger by twice the brim, and each wall is screwed to it."""
    body = carcass("pot", stock=PLY, width=140, height=60, sides=6, lid="overhanging", brim=7)
    assert body["lid"].plate.outline.size[1] == pytest.approx(154)
    assert body.check() == ()
    assert screws(body) >= 6


def test_an_inset_lid_lies_between_the_walls() -> None:
    """It is as much smaller than the room as the play, flush with the walls, on rests that hold its screws."""
    body = carcass("box", lid="inset", play=0.8, **SIZE)
    assert body["lid"].plate.outline.size == pytest.approx((140 - 8 - 0.8, 100 - 8 - 0.8))
    assert height_of(body) == body["lid"].show.middle[2] == 60
    assert body.check() == ()
    assert screws(body) == 4
    parts = {part.name: part for part in body.resolve().parts}
    for wall in ("front", "rear", "left", "right", "left rest", "right rest"):
        assert shared_volume(parts["lid"], parts[wall]) < 1e-6


def test_a_lid_takes_another_joint() -> None:
    """Tabs alone, for a lid that is lifted off."""
    body = carcass("box", lid="overhanging", lid_joint=tabs(count=1, width=12), **SIZE)
    assert body.check() == ()
    assert {joint.kind for joint in body.product().joints} == {"fingers", "tabs"}


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        ({"lid": "over"}, "give 'overhanging' or 'inset'"),
        ({"lid": 3}, "lid= of a carcass is 3"),
        ({"brim": 5}, r"brim= .* belongs to an 'overhanging' lid"),
        ({"lid": "inset", "brim": 5}, r"its lid is 'inset'; it belongs to an 'overhanging' lid"),
        ({"lid": "overhanging", "play": 0.4}, "belongs to an 'inset' lid"),
        ({"lid": True, "lid_joint": t_nut("M3")}, "belongs to one of these two"),
        ({"lid": "inset", "depth": None}, "give the carcass a depth"),
        ({"lid": "overhanging", "lid_joint": "screws"}, "lid_joint of a carcass: 'screws' is no joint"),
        ({"lid": "overhanging", "brim": -2}, "brim of a carcass is -2 mm"),
    ],
)
def test_what_does_not_go_with_a_lid_is_refused(given: dict[str, object], reason: str) -> None:
    """Each refusal says what belongs to what."""
    with pytest.raises((DesignError, ValueError, TypeError), match=reason):
        carcass("box", **{**SIZE, **given})
