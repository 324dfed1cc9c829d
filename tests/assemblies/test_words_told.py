"""What people read of stocks and places can be told apart and read aloud."""

from __future__ import annotations

from dataclasses import replace

from panelwright.assemblies import Assembly, Batch, SheetRules, lay_sheets
from panelwright.assemblies.commands.outcome import Outcome
from panelwright.assemblies.commands.shown import Table, as_plain
from panelwright.assemblies.sheets.costs import cost_of
from panelwright.assemblies.sheets.sheet_entries import plan_words
from panelwright.joints import join, tabs
from panelwright.plates import Frame, Stock, rectangle, rounded_rectangle, standing

THIN = Stock("birch plywood", 4, measured=3.87, kerf=0.2, clearance=0.1, sheet=(300, 200), name="birch 4")
THICK = replace(THIN, measured=3.95, name="birch 4 exterior")


def two_stocks() -> Assembly:
    """A base and a wall of the same material, from two different shelves."""
    stand = Assembly("card stand", stock=THIN)
    base = stand.add("base", rectangle(120, 60))
    wall = stand.add("wall", rectangle(100, 50), standing(base.face(">Z"), facing="-Y", inset=None), stock=THICK)
    join(wall.face("<Z"), base.face(">Z"), tabs(count=2))
    return stand


def test_panels_of_two_stocks_of_one_material_are_told_apart() -> None:
    """By the stocks' names, in what `check` prints."""
    told = Outcome(product=two_stocks().product()).words()
    (table,) = (part for part in told if isinstance(part, Table))
    assert [row[1] for row in table.rows] == ["stock", "birch 4", "birch 4 exterior"]
    assert "birch plywood" not in as_plain([table])


def test_a_stock_with_a_number_in_its_name_is_told_from_its_thickness() -> None:
    """ "birch 4 3.87" reads like a slip of the pen."""
    product = two_stocks().product()
    plan = lay_sheets([Batch(product)], rules=SheetRules(effort=0))
    said = "\n".join(plan_words(plan, cost_of(plan, [Batch(product)], None)))
    assert "birch 4, 3.87 mm thick" in said
    assert "birch 4 exterior, 3.95 mm thick" in said
    assert "birch 4 3.87" not in said


def test_a_tab_too_wide_for_its_bend_is_told_with_its_place() -> None:
    """Of a wall with four bends it must be known which one."""
    pot = Assembly("brush pot", stock=Stock("birch plywood", 3, measured=3, kerf=0.2, clearance=0.1))
    base = pot.add("base", rounded_rectangle(160, 130, 50))
    wall = pot.add_wrap("wall", 60, rounded_rectangle(140, 110, 45), Frame((0, 0, 3)))
    join(wall.faces("<Z"), base.face(">Z"), tabs(count=1, width=20))
    found = [finding for finding in pot.check() if finding.code == "BENT-TAB"]
    assert len(found) == 4
    for finding in found:
        assert finding.place is not None
        x, y, z = finding.place
        assert f"around ({x:.1f}, {y:.1f}, {z:.1f})" in finding.message
