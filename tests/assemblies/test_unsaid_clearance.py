"""A stock that a design states without a clearance: told once, unless a joint or an assembly says that 0 is meant."""

from __future__ import annotations

from dataclasses import replace

import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.console.outcome import Outcome
from panelwright.joints import join, tabs
from panelwright.plates import Stock, rectangle, standing

BARE = Stock("birch plywood", 4, measured=3.9, kerf=0.2)


def stand(stock: Stock, *, of_assembly: float | None = None, of_joint: float | None = None, inside: bool = False) -> Assembly:
    made = Assembly("card stand", stock=stock, clearance=None if inside else of_assembly)
    base = made.add("base", rectangle(100, 60))
    for facing in ("-Y", "+Y"):
        wall = made.add(f"wall {facing[0]}", rectangle(80, 40), standing(base.face(">Z"), facing=facing, inset=15))
        join(wall.face("<Z"), base.face(">Z"), tabs(count=2, clearance=of_joint))
    if not inside:
        return made
    studio = Assembly("studio", clearance=of_assembly)
    studio.add("stand", made)
    return studio


@pytest.mark.parametrize("inside", [False, True])
def test_a_clearance_that_nobody_stated_is_told_once_for_all_joints(inside: bool) -> None:
    """One note for the stock, with the number of joints and where a clearance is given."""
    (found,) = stand(BARE, inside=inside).check()
    assert (found.level, found.code, found.numbers) == ("note", "CLEARANCE", {"clearance_mm": 0.0, "joints": 2.0})
    assert "has a clearance of 0 mm" in found.message
    assert "state clearance= of the Stock" in found.message


@pytest.mark.parametrize(
    "made",
    [
        stand(BARE, of_joint=0.0),
        stand(BARE, of_assembly=0.0),
        stand(BARE, of_assembly=0.0, inside=True),
        stand(replace(BARE, clearance=0.05)),
        stand(replace(BARE, kerf=0.0, cutter="knife")),
    ],
    ids=["joint", "assembly", "assembly around it", "stock", "knife"],
)
def test_a_clearance_that_is_stated_is_meant(made: Assembly) -> None:
    """By the joint, the assembly, or one around it; and card that a knife cuts gives."""
    assert made.check() == ()


@pytest.mark.parametrize(("stock", "says"), [(replace(BARE, measured=None), True), (replace(BARE, clearance=0.1), False)])
def test_the_verdict_names_sheet_that_nobody_measured(stock: Stock, says: bool) -> None:
    """It is the one line that everybody reads."""
    verdict = Outcome(product=stand(stock).product()).words()[-1]
    assert ("; it rests on sheet that nobody measured here; not proven:" in str(verdict)) == says
