"""What first designs get wrong: each slip is said, with the numbers and with what mends it, and mending it that way works."""

from __future__ import annotations

import re

import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.product import Finding
from panelwright.joints import fingers, join, tabs
from panelwright.plates import Outline, Stock, rectangle, standing

PLY = Stock("birch plywood", 6.0, clearance=0.1)


def stand(
    joint: object = None,
    *,
    wall: Outline | None = None,
    base: Outline | None = None,
    stock: Stock = PLY,
    clearance: float | None = None,
    **place: object,
) -> Assembly:
    """A display stand: one wall on a base, in its middle unless placed otherwise."""
    assembly = Assembly("display stand", stock=stock, clearance=clearance)
    floor = assembly.add("base", base or rectangle(120, 80))
    upright = assembly.add(
        "wall",
        wall or rectangle(100, 60),
        standing(floor.face(">Z"), facing="-Y", **({"inset": None} | place)),  # type: ignore[arg-type]
    )
    join(upright.face("<Z"), floor.face(">Z"), joint or tabs(count=2, width=15))  # type: ignore[arg-type]
    return assembly


def only(findings: tuple[Finding, ...], code: str) -> Finding:
    """The one finding of a code."""
    (finding,) = [finding for finding in findings if finding.code == code]
    return finding


@pytest.mark.parametrize("beyond", [0.05, 3.0, 5.0])
def test_tabs_that_the_border_cuts_through(beyond: float) -> None:
    """A wall over the border says how much of its tabs is held and how far to move it; moved so, nothing is found."""
    found = stand(inset=-beyond).check()
    assert [finding.level for finding in found] == ["error"]
    finding = only(found, "JOINT")
    assert f"'base' cuts through the tab at 25.00 mm and holds only {6 - beyond:.3f} of 6.000 mm" in finding.message
    assert finding.numbers == pytest.approx({"value": 6 - beyond, "limit": 6})
    (by,) = re.findall(r"move 'wall' ([\d.]+) mm in", finding.message)
    assert stand(inset=-beyond + float(by)).check() == ()


def test_a_mate_too_narrow_for_tabs_is_to_be_made_larger() -> None:
    """Where no move helps, none is proposed."""
    finding = only(stand(base=rectangle(120, 5)).check(), "JOINT")
    assert "holds only 5.000 of 6.000 mm of its thickness; make 'base' larger there" in finding.message
    assert stand(base=rectangle(120, 18)).check() == ()


def test_fingers_reach_a_border_that_tabs_cannot() -> None:
    """Fingers make a plate that stops short of the corner longer, so that a wall over the border is no fault there."""
    assert [finding.level for finding in stand(fingers(width=15), inset=-5).check() if finding.level == "error"] == []
