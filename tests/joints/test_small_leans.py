"""A plate that leans by a hair is joined as if it didn't: nothing turns over."""

from __future__ import annotations

import math

import pytest
from panelwright.assemblies import Assembly
from panelwright.joints import cross_lap, join, tabs
from panelwright.plates import Frame, Stock, rectangle

PLY = Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, clearance=0.1)


def opens_up(lean_deg: float, *, level: bool) -> bool:
    """Whether the first of two plates that cross, upright or along y, is slotted from its upper border."""
    lean = math.radians(lean_deg)
    cosine, sine = math.cos(lean), math.sin(lean)
    made = Assembly("card rack", stock=PLY)
    # the line in which they cross leans in the plane of the first one
    up = (sine, 0.0, cosine) if not level else (sine, cosine, 0.0)
    flat = (cosine, 0.0, -sine) if not level else (cosine, -sine, 0.0)
    third = (0.0, -1.0, 0.0) if not level else (0.0, 0.0, 1.0)
    first = made.add("first", rectangle(100, 60), Frame.facing((0, 0, 0), show=third, right=flat))
    second = made.add("second", rectangle(100, 60), Frame.facing((0, 0, 0), show=flat, right=third))
    join(first, second, cross_lap(0.7))
    (item,) = made.resolve().made
    assert max(abs(a - b) for a, b in zip(item.contact.direction, up, strict=True)) < 1e-9
    assert made.check() == ()
    slot = next(claim for claim in item.layout.claims if claim.side.body.name == "first")
    u = [slot.side.seen(segment.start)[0] for segment in slot.loop]
    assert max(abs(max(u)), abs(min(u))) > 30  # it runs out over a border
    return max(u) > -min(u)


@pytest.mark.parametrize("lean_deg", [-30.0, -1.0, -0.001, -1e-6, 0.0, 1e-6, 0.001, 1.0, 30.0])
def test_the_same_plate_opens_up_whichever_way_it_leans(lean_deg: float) -> None:
    """Upward is towards greater z wherever the line rises."""
    assert opens_up(lean_deg, level=False)


@pytest.mark.parametrize("lean_deg", [-0.1, -0.001, -1e-6, 0.0, 1e-6, 0.001, 0.1])
def test_the_same_plate_opens_to_greater_y_where_the_line_is_level(lean_deg: float) -> None:
    """A hair of x in a line along y says nothing."""
    assert opens_up(lean_deg, level=True)


@pytest.mark.parametrize("turn_deg", [-0.001, 0.0, 0.001])
def test_places_along_an_edge_count_from_the_same_end(turn_deg: float) -> None:
    """An edge that runs along y, turned by a hair: `at` still counts from its end of least y."""
    turn = Frame.turned("Z", turn_deg)
    made = Assembly("stand", stock=PLY)
    base = made.add("base", rectangle(100, 140), turn)
    right = turn.direction((0.0, 1.0, 0.0))
    look = turn.direction((1.0, 0.0, 0.0))
    wall = made.add("wall", rectangle(100, 40), Frame.facing((0.0, 0.0, 24.0), show=look, right=right))
    join(wall.face("<Z"), base.face(">Z"), tabs(at=20, width=10))
    (item,) = made.resolve().made
    (slot,) = [claim for claim in item.layout.claims if claim.side.body.name == "base"]
    _, y0, _, y1 = slot.loop.bounds
    assert (y0 + y1) / 2 == pytest.approx(-30.0, abs=0.01)


@pytest.mark.parametrize("opens", ["first", "second"])
@pytest.mark.parametrize("lean_deg", [-10.0, -3.0, -1.0, 1.0, 3.0, 10.0])
def test_a_lap_is_measured_where_both_plates_are(lean_deg: float, opens: str) -> None:
    """One plate leans about its own border, so that the line leaves the other one through its slanting ends."""
    rack = Assembly("card rack", stock=PLY)
    leaning = Frame.turned("X", 90 + lean_deg).then(Frame((0, 2, 0)))
    low = rack.add("low", rectangle(120, 40), leaning)
    high = rack.add("high", rectangle(100, 40), Frame.facing((-2, 0, 0), show=(1, 0, 0), right=(0, 1, 0)))
    join(low, high, cross_lap(opens_up=opens))
    product = rack.product()
    assert [str(finding) for finding in product.findings] == []
    (record,) = product.joints
    assert record.numbers["measured_clearance_mm"] == pytest.approx([0.1, 0.1], abs=1e-6)
