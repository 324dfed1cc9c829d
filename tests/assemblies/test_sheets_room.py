"""What can be known of sheets before anything is laid out is found by the proof: margins, the bed, sheets used up."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.proof.room_on_sheets import with_room
from panelwright.assemblies.sheets.costs import cost_of
from panelwright.assemblies.sheets.laying import lay_sheets
from panelwright.assemblies.sheets.request import Batch, SheetRules
from panelwright.assemblies.shop import Shop, using
from panelwright.plates import Frame, NestError, Stock, rectangle

SHOP = """\
[machine]
bed_mm = [500, 300]
edge_margin_mm = 4

[stocks.board]
material = "MDF"
thickness_mm = 4
measured_mm = 4
kerf_mm = 0.2
cut_mm_s = 10

[[stocks.board.sheets]]
width_mm = 420
height_mm = 220
count = 1

[[stocks.board.offcuts]]
outline_mm = [[0, 0], [100, 0], [100, 100], [0, 100]]
"""
DESIGN = """\
from panelwright.assemblies import Assembly, stock
from panelwright.plates import rectangle


def design(width: float = 412, height: float = 212) -> Assembly:
    made = Assembly("tile board", stock=stock("board"))
    made.add("board", rectangle(width, height))
    return made
"""


def board(width: float, height: float, stock: Stock, number: int = 1) -> Product:
    """So many boards, a hand above each other."""
    made = Assembly("tile board", stock=stock)
    for i in range(number):
        made.add(f"board {i}", rectangle(width, height), Frame((0, 1000.0 * i, 0)), loose=True)
    return made.product()


def codes(product: Product) -> list[str]:
    """Codes of its findings."""
    return [finding.code for finding in product.findings]


@pytest.mark.parametrize(
    ("width", "height", "found"),
    [
        (412, 212, []),
        (212, 412, []),
        (412.1, 212, ["SHEET"]),
        (212.1, 213, ["SHEET"]),
        (501, 20, ["SHEET"]),
        (601, 20, ["BED", "SHEET"]),
    ],
)
def test_margin_and_bed_are_found_by_the_proof(width: float, height: float, found: list[str]) -> None:
    """412 x 212 is what a sheet of 420 x 220 takes with 4 mm all round, either way; 501 x 20 goes across the bed."""
    shop = Shop.from_text(SHOP)
    with using(shop):
        product = board(width, height, shop["board"])
    assert codes(product) == found
    if found == ["SHEET"] and width < 420:
        assert "of 420 × 220 mm with a margin of 4 mm all round, which leaves 412 × 212 mm" in product.findings[0].message
        assert codes(with_room(product, shop, margin=0.0)) == []


def test_the_margin_of_a_stock_that_a_design_states() -> None:
    """A plate of 415 x 115 has no room on a sheet of 420 x 120, since 5 mm stay free all round unless told otherwise."""
    mdf = Stock("MDF", 4, measured=4, kerf=0.2, sheet=(420, 120))
    assert codes(board(415, 115, mdf)) == ["SHEET"]
    assert codes(board(410, 110, mdf)) == []
    along = Stock("birch plywood", 4, measured=4, kerf=0.2, sheet=(420, 120), grain="x")
    assert codes(board(110, 410, mdf)) == []
    assert codes(board(110, 410, along)) == ["SHEET"]


def test_sheets_used_up_are_told_as_that_and_not_as_panels_too_large() -> None:
    """Without a full sheet left, only the offcut counts; without any, nothing does; and areas alone may say it."""
    none_left = Shop.from_text(SHOP.replace("count = 1", "count = 0"))
    with using(none_left):
        product = board(200, 100, none_left["board"])
        assert codes(product) == ["SUPPLY"]
        assert "no sheet of board that panel 'board 0' of 200 × 100 mm goes on" in product.findings[0].message
        assert codes(board(90, 90, none_left["board"])) == []
    free = board(200, 100, none_left["board"])
    assert codes(free) == []
    with pytest.raises(NestError, match="there are 1 of offcut 100 × 100 mm, "):
        lay_sheets([Batch(free)], none_left)
    shop = Shop.from_text(SHOP)
    with using(shop):
        product = board(400, 200, shop["board"], 2)
        assert codes(product) == ["SUPPLY"]
        assert product.findings[0].numbers == {"wanted_mm2": 160000.0, "left_mm2": 102400.0}
    empty = Shop.from_text(SHOP[: SHOP.index("[[stocks.board.offcuts")].replace("count = 1", "count = 0"))
    with using(empty):
        assert "no sheet and no offcut of board is left" in board(50, 50, empty["board"]).findings[0].message


def test_check_and_build_agree(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What check passes is built; what it does not, is not, unless the options of build mend it."""
    (tmp_path / "shop.toml").write_text(SHOP)
    path = tmp_path / "board.py"
    path.write_text(DESIGN)
    out = str(tmp_path / "out")

    def both(*settings: str) -> tuple[int, int]:
        sets = [part for setting in settings for part in ("--set", setting)]
        return main(["check", str(path), *sets]), main(["build", str(path), "--out", out, "--effort", "2", *sets])

    assert both() == (0, 0)
    assert both("width=413") == (1, 1)
    assert "nothing written: mend the errors first" in capsys.readouterr().out
    wide = ["build", str(path), "--out", out, "--effort", "2", "--set", "width=413"]
    assert main([*wide, "--margin", "2"]) == 0
    assert main([*wide, "--no-sheets"]) == 0
    (tmp_path / "shop.toml").write_text(SHOP.replace("count = 1", "count = 0"))
    assert both() == (1, 1)
    assert main(["build", str(path), "--out", out, "--no-sheets"]) == 0
    assert main(["booklet", str(path), "--out", str(tmp_path / "b.pdf"), "--no-templates"]) == 0
    capsys.readouterr()
    assert main(["nest", str(path), "--out", str(tmp_path / "n"), "--json"]) == 1
    assert "SUPPLY" in json.dumps(json.loads(capsys.readouterr().out))


def test_the_default_spacing_follows_the_kerf() -> None:
    """Parts lie two tool diameters apart without anybody asking; a spacing asked for below the kerf stays an error."""
    mdf = Stock("MDF", 6, measured=6, kerf=3.175, cutter="router", sheet=(420, 220))
    batch = Batch(board(100, 60, mdf, 4))
    plan = lay_sheets([batch], rules=SheetRules(effort=2))
    assert "parts of MDF lie 6.35 mm apart, two kerfs" in " ".join(plan.notes)
    boxes = [[segment.start for path in plan.sheets[0].paths if path.piece == i for segment in path.segments] for i in range(4)]
    spans = [(min(x for x, _ in b), min(y for _, y in b), max(x for x, _ in b), max(y for _, y in b)) for b in boxes]
    apart = [max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3]) for i, a in enumerate(spans) for b in spans[:i]]
    assert min(apart) >= 3.175 - 1e-3, "paths are half a kerf outside each part"
    with pytest.raises(NestError, match="a spacing of 2 mm is less than the kerf"):
        lay_sheets([batch], rules=SheetRules(spacing=2.0))


def test_speeds_that_are_not_known_are_told() -> None:
    """Marks timed as cuts, ways not timed, slowing down not timed: each by name; nothing of marks where there are none."""
    shop = Shop.from_text(SHOP)
    product = board(90, 90, shop["board"])
    marked = lay_sheets([Batch(product)], shop, SheetRules(effort=2))
    said = cost_of(marked, [Batch(product)], shop).missing
    assert "marking speed of board (marks are timed as cuts)" in said
    assert "travel speed of the machine (ways between cuts are not timed)" in said
    assert "acceleration of the machine (slowing down is not timed)" in said
    plain = lay_sheets([Batch(product)], shop, SheetRules(effort=2, is_marked=False))
    assert "marking speed" not in " ".join(cost_of(plain, [Batch(product)], shop).missing)
    known = Shop.from_text(
        SHOP.replace("cut_mm_s = 10", "cut_mm_s = 10\nmark_mm_s = 100").replace(
            "edge_margin_mm = 4", "travel_mm_s = 300\nacceleration_mm_s2 = 3000"
        )
    )
    quick = lay_sheets([Batch(board(90, 90, known["board"]))], known, SheetRules(effort=2))
    assert cost_of(quick, [], known).missing == ("cost_per_hour of the machine",)
