"""What a sheet itself may not stand is told: a tighter press than its own, and bending across its grain."""

from __future__ import annotations

import pytest
from panelwright.assemblies import Assembly
from panelwright.joints import join, join_touching, tabs
from panelwright.plates import Frame, Stock, rectangle, standing


def stand(clearance: float, press: float | None) -> Assembly:
    """A wall on a base, pressed together."""
    acrylic = Stock("cast acrylic", 3, measured=3, kerf=0.15, clearance=0.05, press=press)
    assembly = Assembly("card stand", stock=acrylic)
    base = assembly.add("base", rectangle(120, 60))
    wall = assembly.add("wall", rectangle(100, 50), standing(base.face(">Z"), facing="-Y", inset=None))
    join(wall.face("<Z"), base.face(">Z"), tabs(count=2, width=12, clearance=clearance))
    return assembly


@pytest.mark.parametrize(
    ("clearance", "press", "level"),
    [
        (-0.2, 0.0, "warning"),
        (-0.01, 0.0, "warning"),
        (0.0, 0.0, ""),
        (-0.2, -0.2, ""),
        (-0.2, -0.1, "warning"),
        (-0.05, None, ""),
        (-0.2, None, "note"),
    ],
)
def test_a_press_tighter_than_the_stocks_own_is_told(clearance: float, press: float | None, level: str) -> None:
    """With both numbers; where nobody has stated a press fit, a note says that it is not proven."""
    findings = stand(clearance, press).check()
    assert [(finding.code, finding.level) for finding in findings] == ([("PRESS", level)] if level else [])
    for finding in findings:
        assert finding.plates == ("wall", "base")
        assert finding.numbers == {"clearance_mm": clearance, "press_mm": -0.05 if press is None else press, "joints": 1.0}
        assert f": parts are pressed in by {-clearance:g} mm, tighter than the " in finding.message
        assert ("is not proven" in finding.message) is (press is None)


def shelf(grain: str | None, *, back: bool = False) -> Assembly:
    """A shelf of 292 mm between two sides, its long way along its own x; with a back, it is held along its rear too."""
    ply = Stock("birch plywood", 4, measured=4, kerf=0.2, clearance=0.1, grain=grain)  # type: ignore[arg-type]  # text of a case
    assembly = Assembly("jar shelf", stock=ply)
    side = rectangle(120, 150)
    assembly.add("left", side, Frame.facing((-150, 0, 75), show=(1, 0, 0), right=(0, 1, 0)))
    assembly.add("right", side, Frame.facing((150, 0, 75), show=(-1, 0, 0), right=(0, -1, 0)))
    assembly.add("shelf", rectangle(292, 100), Frame((0, 0, 60)))
    if back:
        assembly.add("back", rectangle(292, 120), Frame.facing((0, 50, 70), show=(0, 1, 0), right=(-1, 0, 0)))
    join_touching(assembly, tabs(count=2, width=12))
    return assembly


def test_a_shelf_with_its_grain_across_the_span_is_told() -> None:
    """Along y, the grain is parallel to both sides; along x it runs from one to the other; a back holds the rear edge too."""
    (finding,) = (found for found in shelf("y").check() if found.code == "GRAIN")
    assert (finding.level, finding.plates) == ("warning", ("shelf", "left", "right"))
    assert finding.numbers == pytest.approx({"span_mm": 292.0, "thickness_mm": 4.0})
    assert "is not proven" in finding.message
    for other in (shelf("x"), shelf(None), shelf("y", back=True)):
        assert "GRAIN" not in {found.code for found in other.check()}
