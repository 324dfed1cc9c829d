"""A plate that falls into pieces fails its proof, and can be looked at all the same."""

from __future__ import annotations

from pathlib import Path

from panelwright.assemblies import Assembly
from panelwright.assemblies.commands.main import main
from panelwright.joints import cross_lap, join
from panelwright.plates import Frame, Stock, rectangle
from panelwright.plates._kernel.files.step import step_bytes

PLY = Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, clearance=0.1)

DESIGN = """
from panelwright.assemblies import Assembly
from panelwright.joints import cross_lap, join
from panelwright.plates import Frame, Stock, rectangle

PLY = Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, clearance=0.1)


def design() -> Assembly:
    made = Assembly("rack", stock=PLY)
    notched = rectangle(100, 40).cut(rectangle(60, 3).at(30, -12))
    base = made.add("base", notched, Frame.facing((0, 0, 0), show=(0, -1, 0), right=(1, 0, 0)))
    other = made.add("other", rectangle(100, 40), Frame.facing((-2, 0, 0), show=(1, 0, 0), right=(0, 1, 0)))
    join(base, other, cross_lap(0.9))
    return made
"""


def rack() -> Assembly:
    """A plate with a notch from the side, which the slot of a cross-lap meets: its upper corner falls off."""
    made = Assembly("rack", stock=PLY)
    notched = rectangle(100, 40).cut(rectangle(60, 3).at(30, -12))
    base = made.add("base", notched, Frame.facing((0, 0, 0), show=(0, -1, 0), right=(1, 0, 0)))
    other = made.add("other", rectangle(100, 40), Frame.facing((-2, 0, 0), show=(1, 0, 0), right=(0, 1, 0)))
    join(base, other, cross_lap(0.9))
    return made


def test_a_step_holds_every_piece_of_a_plate_under_its_name() -> None:
    """One product with two coloured solids."""
    product = rack().product()
    assert [finding.plates for finding in product.errors if finding.code == "PIECES"] == [("base",)]
    text = step_bytes("rack", product.parts).decode("ascii")
    assert text.count("MANIFOLD_SOLID_BREP(") == 3
    assert text.count("STYLED_ITEM('color'") == 3
    assert text.count("PRODUCT('base'") == 1


def test_anyway_writes_a_plate_in_pieces(tmp_path: Path) -> None:
    """All files are there, and the exit code still says that the proof failed."""
    design = tmp_path / "rack.py"
    design.write_text(DESIGN, encoding="utf-8")
    out = tmp_path / "out"
    assert main(["build", str(design), "--out", str(out)]) == 1
    assert not out.exists()
    assert main(["build", str(design), "--out", str(out), "--anyway"]) == 1
    assert {path.name for path in out.iterdir()} >= {"assembly.step", "panels", "report.html", "manifest.json"}
