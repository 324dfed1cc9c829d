"""What people read of stocks and places can be told apart and read aloud."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from panelwright.assemblies import Assembly, Batch, SheetRules, lay_sheets
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.console.outcome import Outcome
from panelwright.assemblies.console.shown import Table, as_plain
from panelwright.assemblies.product.joint_words import found_joints
from panelwright.assemblies.sheets.costs import cost_of
from panelwright.assemblies.sheets.sheet_entries import plan_words
from panelwright.joints import join, join_touching, tabs
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


TRAY = """
from panelwright.assemblies import Assembly
from panelwright.joints import fingers, join, join_touching, tabs
from panelwright.plates import Stock, lying, rectangle, standing

def design(loose: bool = False) -> Assembly:
    tray = Assembly("tray", stock=Stock("birch plywood", 4, measured=4, kerf=0.2, clearance=0.1))
    base = tray.add("base", rectangle(120, 80))
    left = tray.add("left", rectangle(80, 50), standing(base.face(">Z"), facing="-X", inset=10))
    right = tray.add("right", rectangle(80, 50), standing(base.face(">Z"), facing="+X", inset=10))
    tray.add("lid", rectangle(120, 80), lying([left.face(">Z"), right.face(">Z")]), loose=loose)
    join(left.face("<Z"), base.face(">Z"), tabs(count=2, width=15))
    join_touching(tray, tabs(count=1, width=15))
    return tray
"""


@pytest.fixture
def tray_file(tmp_path: Path) -> str:
    """A tray whose lid was meant to lift off."""
    path = tmp_path / "tray.py"
    path.write_text(TRAY, encoding="utf-8")
    return str(path)


def test_a_lid_tabbed_by_mistake_is_named(tray_file: str, capsys: pytest.CaptureFixture[str]) -> None:
    """What `join_touching` joined stands in one line, plates and all; what `join` joined is no news."""
    assert main(["check", tray_file]) == 0
    told = capsys.readouterr().out
    assert "join_touching (tray.py, line 13) made 3 joints, 3 × tabs: 'left', 'right' on 'lid'; 'right' on 'base'\n" in told
    assert main(["check", tray_file, "--set", "loose=true"]) == 0
    told = capsys.readouterr().out
    assert "join_touching (tray.py, line 13) made 1 joint, 1 × tabs: 'right' on 'base'\n" in told
    assert "join_touching left alone what is loose: 'lid'\n" in told
    assert "LEFT-OUT" not in told
    assert "found nothing wrong" in told


def test_every_joint_is_listed_with_its_faces(tray_file: str, capsys: pytest.CaptureFixture[str]) -> None:
    """In words if asked for, in JSON always; each with the line of the design that asked for it."""
    main(["check", tray_file])
    assert "show face" not in capsys.readouterr().out
    main(["check", tray_file, "--joints"])
    rows = [re.split(r" {2,}", line.strip()) for line in capsys.readouterr().out.splitlines() if "straight edge face" in line]
    assert len(rows) == 4
    lid = [row for row in rows if "lid" in row]
    assert len(lid) == 2
    assert all("back face (looks to -Z)" in row and row[-1] == "join_touching (tray.py, line 13)" for row in lid)
    assert [row[-1] for row in rows].count("join (tray.py, line 12)") == 1
    main(["check", tray_file, "--json"])
    joints = json.loads(capsys.readouterr().out)["joints"]
    assert sorted((joint["plates"][1], joint["by_join_touching"], joint["joined_in"]) for joint in joints) == [
        ("base", False, "tray.py, line 12"),
        ("base", True, "tray.py, line 13"),
        ("lid", True, "tray.py, line 13"),
        ("lid", True, "tray.py, line 13"),
    ]


def test_a_product_of_many_joints_is_told_in_few_words() -> None:
    """A rack of 20 shelves on four posts: the first mates and the last ones, and how many are between."""
    rack = Assembly("jar shelf", stock=THIN)
    for number in range(20):
        floor = rack.add(f"floor {number}", rectangle(60, 40), Frame((0, 100.0 * number, 0)))
        for name, way in (("left", "-X"), ("right", "+X")):
            rack.add(f"{name} {number}", rectangle(30, 20), standing(floor.face(">Z"), facing=way, inset=8))
    join_touching(rack, tabs(count=1, width=10))
    (line,) = found_joints(rack.product())
    assert "made 40 joints, 40 × tabs: 'left 0', 'right 0' on 'floor 0'; " in line
    assert "; 8 more like it; " in line
    assert line.endswith("'left 19', 'right 19' on 'floor 19'")


def test_what_no_join_touching_joined_is_no_news() -> None:
    """Joins that the design names are not listed as found."""
    assert found_joints(two_stocks().product()) == []
