"""One fault gives one error: a joint that failed is told, and not once more as what floats for want of it."""

from __future__ import annotations

from panelwright.assemblies import Assembly, bend
from panelwright.joints import join, living_hinge, tabs
from panelwright.plates import Frame, Stock, bent_on, rectangle

PLY = Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, clearance=0.1)


def codes(made: Assembly) -> list[str]:
    return [finding.code for finding in made.check() if finding.level == "error"]


def test_a_joint_that_fails() -> None:
    """The two plates are too far apart to be joined; nothing else holds the second one either."""
    rack = Assembly("rack", stock=PLY)
    base = rack.add("base", rectangle(100, 80))
    rib = rack.add("rib", rectangle(60, 30), Frame.facing((0, 0, 90), show=(0, -1, 0), right=(1, 0, 0)))
    join(rib.face("<Z"), base.face(">Z"), tabs(count=2))
    assert codes(rack) == ["JOINT"]


def test_what_floats_without_a_joint_is_still_told() -> None:
    """It has no other error."""
    rack = Assembly("rack", stock=PLY)
    rack.add("base", rectangle(100, 80))
    rack.add("rib", rectangle(60, 30), Frame((0, 0, 90)))
    assert codes(rack) == ["FLOATS"]


def test_a_bend_that_is_one_plate_is_named_once() -> None:
    """And a hinge between two plates by both."""
    holder = Assembly("holder", stock=PLY)
    holder.add_bent("sheet", rectangle(200, 60), bend(-36, radius=9, angle_deg=90))
    (found,) = [finding for finding in holder.check() if finding.level == "error"]
    assert found.code == "HINGE"
    assert found.message.startswith("living_hinge of 'sheet bend 1', inner radius 9.00 mm")
    stand = Assembly("stand", stock=PLY)
    front = stand.add("front", rectangle(80, 60))
    side = stand.add("side", rectangle(50, 60), bent_on(front.face(">X"), radius=6, angle_deg=90))
    join(front.face(">X"), side, living_hinge())
    (found,) = [finding for finding in stand.check() if finding.level == "error"]
    assert found.message.startswith("living_hinge between 'front' and 'side'")
