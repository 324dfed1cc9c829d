"""What messages tell somebody who does not know the toolkit yet: which line to write, by how much, and what comes next."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Literal

import pytest
from panelwright.assemblies import Assembly, Shop, carcass, stock
from panelwright.assemblies.booklet.step_words import step_lines
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.product.steps import steps_of
from panelwright.assemblies.shop.in_force import using
from panelwright.assemblies.variation.fit_over_sheet import fit_over_sheet
from panelwright.joints import fingers, join, t_nut, tabs
from panelwright.plates import Frame, SelectionError, ShopError, Stock, disc, rectangle, rounded_rectangle, standing

DESIGN = """
from panelwright.assemblies import Assembly, stock
from panelwright.joints import join, tabs
from panelwright.plates import disc, rectangle, standing

def design(width: float = 120) -> Assembly:
    stand = Assembly("card stand", stock=stock("MDF 3"))
    base = stand.add("base", rectangle(width, 60))
    wall = stand.add("wall", rectangle(100, 40), standing(base.face(">Z"), facing="-Y", inset=20))
    join(wall.face("<Z"), base.face(">Z"), tabs(count=COUNT))
    return stand
"""


def test_a_stock_that_is_not_there_says_both_ways_of_stating_it() -> None:
    """Once with the shipped stocks alone, once with a shop file; what goes into the file makes a stock there."""
    with pytest.raises(ShopError, match=r"did you mean 'birch 6\.5'\?") as told:
        stock("birch 6")
    design, file = str(told.value).splitlines()[1:]
    assert 'stated in the design: Stock("birch plywood", 6, measured=…, kerf=…, clearance=0.05)' in design
    keys = re.fullmatch(
        r'or in shop\.toml: (\[stocks\."birch 6"\]) with (material = ".*?"), (thickness_mm = 6), (\w+), (\w+), (\w+)', file
    )
    assert keys is not None
    head, material, thickness, *measured = keys.groups()
    text = "\n".join(
        [head, material, thickness, *(f"{key} = {value}" for key, value in zip(measured, (5.9, 0.2, 0.05), strict=True))]
    )
    assert tomllib.loads(text)
    with using(Shop.from_text(text)):
        assert (stock("birch 6").t, stock("birch 6").kerf, stock("birch 6").clearance) == (5.9, 0.2, 0.05)
        with pytest.raises(ShopError, match=r'or in shop\.toml: \[stocks\."card"\]'):
            stock("card")


@pytest.mark.parametrize(
    ("size", "grain", "told"),
    [
        ((640, 300), None, "by 40.0 mm along the first; make it smaller, or two plates of it that meet over a third one"),
        ((390, 640), "x", "by 240.0 mm along the second; make it smaller"),
        ((390, 590), "x", "by 190.0 mm along the second; turned by 90° it would go, which its grain forbids; make it smaller"),
        ((610, 420), None, "by 10.0 mm along the first and 20.0 mm along the second"),
    ],
)
def test_a_panel_that_is_too_large_for_its_sheet_says_by_how_much_and_what_can_be_done(
    size: tuple[float, float], grain: str | None, told: str
) -> None:
    """As it lies best; where only the grain forbids a turn, that is said."""
    ply = Stock("birch plywood", 6, measured=5.9, kerf=0.2, clearance=0.1, sheet=(600, 400), grain=grain)  # type: ignore[arg-type]  # from a table
    board = Assembly("jar board", stock=ply)
    board.add("board", rectangle(*size))
    (found,) = [finding for finding in board.check() if finding.code == "SHEET"]
    assert told in found.message


def test_a_bent_wall_that_is_too_large_for_the_bed_is_not_told_to_meet_over_an_upright() -> None:
    """What bends is not parted over an upright: two walls go half of the way each."""
    with using(Shop.from_text("[machine]\nbed_mm = [400, 400]")):
        lamp = Assembly("lamp", stock=stock("birch 3"))
        lamp.add_wrap("shade", 100, disc(170))
        (found,) = [finding for finding in lamp.check() if finding.code == "BED"]
        assert "two walls of it, each half of the way round" in found.message
        assert "upright" not in found.message


def test_a_panel_that_is_too_large_for_the_bed_says_by_how_much() -> None:
    """The bed takes panels either way."""
    shop = Shop.from_text("[machine]\nbed_mm = [400, 600]")
    with using(shop):
        board = Assembly("jar board", stock=stock("MDF 6"))
        board.add("board", rectangle(640, 300))
        (found,) = [finding for finding in board.check() if finding.code == "BED"]
    assert "400 × 600 mm, by 40.0 mm along the second; make it smaller, or two plates of it that meet" in found.message


@pytest.mark.parametrize("thickness", [3, 4, 6])
@pytest.mark.parametrize("own", [False, True])
def test_an_inset_lid_keeps_its_webs_whatever_holds_it(thickness: float, own: bool) -> None:
    """Its own screws and one's own, with tabs beside them: the rests stand where slots and holes leave a web in the lid."""
    ply = Stock("birch plywood", thickness, measured=thickness, kerf=0.2, clearance=0.1)
    joint = t_nut("M3", count=1, tabs=tabs(count=2, width=8)) if own else None
    box = carcass("board box", stock=ply, width=123, depth=94, height=50, lid="inset", lid_joint=joint)
    assert box.check() == ()


@pytest.mark.parametrize("count", [2, 40])
def test_a_picture_and_an_explanation_say_what_comes_next(
    count: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A picture proves nothing, so the check is next, with the same settings; where a joint failed, what mends it."""
    path = tmp_path / "stand.py"
    path.write_text(DESIGN.replace("COUNT", str(count)), "utf-8")
    failed = count == 40
    out = str(tmp_path / "stand.svg")
    assert main(["picture", str(path), "--out", out, "--set", "width=130"]) == failed
    last = capsys.readouterr().out.splitlines()[-1]
    check = f"panelwright check {path} --set width=130"
    if failed:
        assert last == f"next: panelwright explain JOINT tells what mends it, {check} lists all that is wrong"
    else:
        assert last == f"next: {check} proves it; a picture proves nothing"
    for words, says in ((["JOINT"], "panelwright check DESIGN.py"), ([], "panelwright explain CODE")):
        assert main(["explain", *words]) == 0
        last = capsys.readouterr().out.splitlines()[-1]
        assert last.startswith("next: ")
        assert says in last


def test_the_booklet_says_when_to_close_the_seam_of_a_wall() -> None:
    """Bent first, then its ends are pushed into each other, in the step in which the wall goes in; only one that has a seam."""
    ply = Stock("birch plywood", 3, measured=3, kerf=0.2, clearance=0.1, shear_modulus=620, shear_strength=9.5, density=680)
    pot = Assembly("brush pot", stock=ply)
    pot.add("base", rounded_rectangle(190, 150, 4))
    wall = pot.add_wrap("wall", 60, rounded_rectangle(170, 130, [0, 48, 48, 48]), Frame((0, 0, 3)), outside=False)
    join(*wall.ends, fingers())
    join([part.face("<Z") for part in wall.flats], pot["base"].show, tabs(count=1, width=10))
    product = pot.product()
    told = [[text for text, _ in step_lines(step, product)] for step in steps_of(product)]
    (lines,) = [lines for lines in told if any("seam" in line for line in lines)]
    bend = lines.index("Bend it along its slits first, a little at a time.")
    assert lines[bend + 1] == "Bend it round until its ends meet, and close the seam: push wall 1 into wall 4."


@pytest.mark.parametrize("whose", ["stock", "shop", "assembly", "joint"])
def test_more_clearance_says_where_to_write_it_and_what(whose: str) -> None:
    """An assembly's clearance stands over the stock's, and a joint's over both; written there, it does as told."""
    bare = {"thickness": 4, "measured": 4.0, "kerf": 0.2, "tolerance": (-0.05, 0.2)}
    stated = Stock("birch plywood", **bare, clearance=0.05, name="studio birch" if whose == "shop" else "")  # type: ignore[arg-type]  # from a table

    def stand(of_assembly: float | None, of_joint: float | None) -> Assembly:
        made = Assembly("card stand", stock=stated, clearance=of_assembly)
        base = made.add("base", rectangle(100, 60))
        wall = made.add("wall", rectangle(80, 40), standing(base.show, facing="-Y", inset=20))
        join(wall.face("<Z"), base.show, tabs(count=2, clearance=of_joint))
        return made

    given = {"assembly": (0.05, None), "joint": (None, 0.05)}.get(whose, (None, None))
    found = fit_over_sheet(stand(*given).product(), draws=1000)
    (more,) = [remedy for remedy in found.remedies if "more clearance in every joint" in remedy.what]
    added, value = map(float, re.findall(r"^([\d.]+) mm more .*?clearance=([\d.]+)\)", more.what)[0])
    assert value == pytest.approx(0.05 + added)
    where = "tabs(…, clearance=" if whose == "joint" else "Assembly(…, clearance="
    assert f"({where}{value:.2f})" in more.what
    assert (f'snug_mm = {value:.2f} of "studio birch" in the shop file' in more.what) == (whose == "shop")
    then = stand(None, value) if whose == "joint" else stand(value, None)
    assert fit_over_sheet(then.product(), draws=1000).jams == pytest.approx(more.jams, abs=1e-9)


@pytest.mark.parametrize(("kerf", "cutter", "count"), [(2.2, "laser", 1), (0.22, "laser", 0), (2.2, "router", 0)])
def test_a_kerf_that_no_laser_has_is_asked_about(kerf: float, cutter: Literal["laser", "router"], count: int) -> None:
    """A point in the wrong place, and no relief of that size is advised."""
    ply = Stock("birch plywood", 6, measured=5.9, kerf=kerf, clearance=0.08, cutter=cutter)
    shelf = Assembly("jar shelf", stock=ply)
    floor = shelf.add("floor", rectangle(300, 120))
    end = shelf.add("end", rectangle(120, 200), standing(floor.face(">Z"), facing="+X", inset=20))
    join(end.face("<Z"), floor.face(">Z"), tabs())
    found = shelf.check()
    assert len([one for one in found if one.code == "UNCALIBRATED" and "is 0.22 mm meant?" in one.message]) == count
    if cutter == "laser":
        assert not [one for one in found if "dog_bone" in one.message]


def test_a_name_for_a_face_and_a_direction_nobody_knows_are_told_together() -> None:
    """One message, two faults."""
    with pytest.raises(SelectionError, match=r"'floor' is no face of a plate.*; and direction 'left' is not known"):
        standing("floor", facing="left")  # type: ignore[arg-type]  # what a newcomer writes


def test_a_line_that_another_joint_takes_whole_is_told_so_and_not_as_tabs_of_no_width() -> None:
    """A handle's tabs go through the lid right where the screws of its wall would."""
    ply = Stock("birch plywood", 6, measured=5.9, kerf=0.22, clearance=0.08)
    box = carcass("box", stock=ply, width=117, depth=88, height=50, lid="overhanging")
    lid = box["lid"]
    handle = box.add("handle", rectangle(100, 30), standing(lid.show, facing="-Y", inset=22))
    join(handle.face("<Z"), lid.show, tabs())
    told = [finding.message for finding in box.check() if finding.code == "JOINT" and "t_nut" in finding.message]
    assert told
    assert all("0 mm don't fit" not in text and "takes all of it" in text for text in told)
