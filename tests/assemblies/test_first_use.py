"""What first designs get wrong: each slip is said, with the numbers and with what mends it, and mending it that way works."""

from __future__ import annotations

import csv
import inspect
import io
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from panelwright.assemblies import Assembly, Batch, carcass, lay_sheets
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.output.bom import bom_csv
from panelwright.joints import Relief, cross_lap, dog_bone, fingers, join, join_touching, t_bone, t_nut, tabs
from panelwright.plates import (
    DesignError,
    Frame,
    JointError,
    Outline,
    OutlineError,
    PanelwrightError,
    PlacedPlate,
    PlacementError,
    SelectionError,
    SizeError,
    Stock,
    against,
    hole,
    lying,
    mirrored,
    outline_from_dxf,
    rectangle,
    row,
    standing,
)

PLY = Stock("birch plywood", 6.0, measured=6.0, cutter="knife", clearance=0.1)


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
        standing(floor.face(">Z"), facing="-Y", **({"inset": None} | place)),  # type: ignore[arg-type]  # options of any type
    )
    join(upright.face("<Z"), floor.face(">Z"), joint or tabs(count=2, width=15))  # type: ignore[arg-type]  # object: any joint
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


THICK = Stock("MDF", 8.0, measured=8.0, cutter="knife")
SOURCES = {
    "joint": lambda c: stand(tabs(count=2, width=15, clearance=c)),
    "fingers": lambda c: stand(fingers(width=15, clearance=c), inset=0),
    "tabs beside nuts": lambda c: stand(t_nut("M3", count=2, tabs=tabs(width=10, clearance=c))),
    "assembly": lambda c: stand(clearance=c),
    "pair": lambda c: of_two_stocks(pair=c),
    "thicker stock": lambda c: of_two_stocks(replace(THICK, clearance=c)),
}
"""Every place that a clearance can come from; the thinner of the two plates is always 6 mm thick."""


def of_two_stocks(thick: Stock = THICK, pair: float | None = None) -> Assembly:
    """A thin wall on a thick base, with or without a clearance for the pair of their stocks."""
    assembly = Assembly("jar shelf", stock=PLY)
    floor = assembly.add("base", rectangle(120, 80), stock=thick)
    upright = assembly.add("wall", rectangle(100, 60), standing(floor.face(">Z"), facing="-Y", inset=None))
    if pair is not None:
        assembly.set_clearance(thick, PLY, pair)
    join(upright.face("<Z"), floor.face(">Z"), tabs(count=2, width=15))
    return assembly


@pytest.mark.parametrize(
    ("source", "clearance"),
    [
        *((source, clearance) for source in ("joint", "fingers", "assembly", "pair") for clearance in (6.0, -6.0, 20.0)),
        ("tabs beside nuts", 6.0),
        ("thicker stock", 7.0),
    ],
)
def test_a_clearance_as_large_as_the_sheet_is_refused(source: str, clearance: float) -> None:
    """Wherever it comes from, it is measured against the thinner plate, and nothing is built with it."""
    finding = only(SOURCES[source](clearance).check(), "JOINT")
    assert f"clearance is {clearance:g} mm, as much as 'wall' is thick (6 mm)" in finding.message
    assert finding.numbers == {"value": clearance, "limit": 6}
    with pytest.raises(JointError, match="give the gap of one joint"):
        SOURCES[source](clearance).resolve()


@pytest.mark.parametrize("clearance", [0.6, -0.6, 3.0])
def test_an_odd_clearance_is_warned_of_once(clearance: float) -> None:
    """Beyond 0.5 mm there is one warning for all joints of a kind, and no other finding; 0.5 mm itself passes."""

    def two_walls(clearance: float) -> tuple[Finding, ...]:
        assembly = stand(tabs(count=1, width=15), clearance=clearance)
        floor = assembly["base"]
        brace = assembly.add("brace", rectangle(30, 60), standing(floor.face(">Z"), facing="-X", inset=None, shift=25))
        join(brace.face("<Z"), floor.face(">Z"), tabs(count=1, width=8))
        return assembly.check()

    finding = only(two_walls(clearance), "CLEARANCE")
    assert finding.level == "warning"
    assert "between 'wall' and 'base' and 1 more like it" in finding.message
    assert finding.numbers == {"clearance_mm": clearance, "limit_mm": 0.5, "joints": 2}
    assert finding.plates == ("wall", "base", "brace")
    effect = "so parts will rattle; " if clearance > 0 else "so parts may not go together, or split; "
    assert effect in finding.message
    alone = only(stand(tabs(count=1, width=15), clearance=clearance).check(), "CLEARANCE")
    assert "between 'wall' and 'base': clearance" in alone.message
    # a press within that limit is noted as not proven all the same, since this stock states no press fit
    at_limit = two_walls(0.5 if clearance > 0 else -0.5)
    assert [(found.level, found.code) for found in at_limit] == ([] if clearance > 0 else [("note", "PRESS")])


def test_thin_sheet_bears_less_clearance() -> None:
    """On card of 1.6 mm the warning comes beyond a fourth of it."""

    def card(clearance: float) -> tuple[Finding, ...]:
        return stand(stock=Stock("card", 1.6, measured=1.6, cutter="knife", clearance=clearance)).check()

    assert only(card(0.45), "CLEARANCE").numbers["limit_mm"] == pytest.approx(0.4)
    assert card(0.4) == ()


@pytest.mark.parametrize("style", [dog_bone, t_bone])
def test_a_router_whose_kerf_is_its_tool(style: Callable[[float], Relief]) -> None:
    """Reliefs for the very cutter that cuts the panel are no finding."""
    router = Stock("MDF", 6.0, measured=6.0, kerf=3.175, clearance=0.15, cutter="router")
    assert stand(tabs(count=2, width=20, relief=style(3.175)), stock=router).check() == ()
    assert {f.code for f in stand(tabs(count=2, width=20, relief=style(3.0)), stock=router).check()} == {"RELIEF"}


def test_a_loose_sub_assembly_need_not_be_joined() -> None:
    """A lid of several plates that lifts off is no fault if it is loose, even if it has more plates than what it lifts off."""

    def pot(*, loose: bool, lift: float = 6.0, parted: bool = False) -> tuple[Finding, ...]:
        lid = stand()
        if parted:
            lid.add("knob", rectangle(20, 20), Frame((0, 0, 90)))
        whole = Assembly("tool pot", stock=PLY)
        whole.add("body", rectangle(120, 80))
        whole.add("lid", lid, Frame((0, 0, lift)), loose=loose)
        return whole.check()

    assert pot(loose=True) == ()
    assert only(pot(loose=False, lift=50.0), "FLOATS").level == "error"
    # what falls off a loose thing is not loose itself
    assert only(pot(loose=True, parted=True), "FLOATS").plates == ("lid.knob",)


def test_a_stock_for_a_sub_assembly_is_refused() -> None:
    """It would be ignored, since each plate inside has its own."""
    with pytest.raises(DesignError, match=r"sub-assembly 'inner' is given a stock.*Assembly\('display stand', …\)"):
        Assembly("jar shelf").add("inner", stand(), stock=PLY)


def test_an_empty_assembly_is_said_to_be_empty() -> None:
    """Neither resolving nor checking nothing ends in the depths of the proof; nor does an empty sub-assembly."""
    for act in (Assembly("e").check, Assembly("e").resolve, Assembly("e").to_cadquery):
        with pytest.raises(DesignError, match="assembly 'e' holds no plates; add one with add"):
            act()
    outer = Assembly("outer")
    outer.add("inner", Assembly("e"))
    with pytest.raises(DesignError, match="assembly 'outer' holds no plates"):
        outer.check()


@pytest.mark.parametrize("style", [dog_bone, t_bone])
def test_a_slot_narrower_than_the_tool(style: Callable[[float], Relief]) -> None:
    """The slot and the tool are told with their sizes, once for both slots; a tool that just goes in is fine with t_bone."""

    def found(tool: float, relief: Callable[[float], Relief]) -> tuple[Finding, ...]:
        mdf = Stock("MDF", 3.0, measured=3.0, kerf=0.2, clearance=0.15)
        return stand(tabs(count=2, width=20, relief=relief(tool)), stock=mdf).check()

    errors = [finding for finding in found(3.175, style) if finding.level == "error"]
    assert [finding.code for finding in errors] == ["RELIEF"]
    assert "the opening of 3.15 mm in 'base' around (-25.0, 0.0, 1.5) and 1 more like it" in errors[0].message
    assert "is narrower than the tool of 3.175 mm; ask for relief=t_bone(3) and cut with such a tool" in errors[0].message
    assert found(3.0, t_bone) == ()
    assert found(3.15, t_bone) == ()
    # here the tool goes in, and what is wrong is that dog-bones meet
    assert {f.code for f in found(3.15, dog_bone) if f.level == "error"} == {"FIT-LOOSE"}


def test_webs_of_one_joint_are_one_warning() -> None:
    """Six slots too near to the border are told once, with their number and the thinnest place; so is a row of holes."""
    finding = only(stand(tabs(count=6, width=8), inset=2).check(), "WEB")
    assert finding.numbers == pytest.approx({"width_mm": 1.95, "limit_mm": 6, "webs": 6}, abs=0.05)
    assert "'base' has 6 webs, the thinnest about 1.9" in finding.message
    assert "at its tabs with 'wall', thinner than its stock of 6 mm" in finding.message
    holes = only(stand(wall=rectangle(100, 60).cut(row(hole(8), 5, at=(0, 24)))).check(), "WEB")
    assert holes.numbers == pytest.approx({"width_mm": 2, "limit_mm": 6, "webs": 5}, abs=0.1)
    assert " tabs " not in holes.message


def test_webs_of_two_joints_are_two_warnings() -> None:
    """Each joint has its own, with the web that it leaves."""
    assembly = stand(tabs(count=3, width=8), inset=2)
    floor = assembly["base"]
    rear = assembly.add("rear", rectangle(100, 60), standing(floor.face(">Z"), facing="+Y", inset=3))
    join(rear.face("<Z"), floor.face(">Z"), tabs(count=4, width=8))
    found = [finding for finding in assembly.check() if finding.code == "WEB"]
    assert [(round(finding.numbers["width_mm"]), finding.numbers["webs"]) for finding in found] == [(2, 3), (3, 4)]
    assert ["'rear'" in finding.message for finding in found] == [False, True]


def cells(x: float = 0.0, z: float = 0.0) -> Assembly:
    """Two upright dividers of 200 × 80 mm that cross; the second stands `x` mm to the right and `z` mm up."""
    assembly = Assembly("tile cells", stock=PLY)
    one = assembly.add("one", rectangle(200, 80), Frame.facing((0, 3, 0), show=(0, -1, 0), right=(1, 0, 0)))
    two = assembly.add("two", rectangle(200, 80), Frame.facing((x - 3, 0, z), show=(1, 0, 0), right=(0, 1, 0)))
    join(one, two, cross_lap())
    return assembly


@pytest.mark.parametrize(
    ("design", "says", "value"),
    [
        # the lower edge has passed the base, and the upper one looks away from it
        (lambda: stand(lift=-80), "the edge looks away from 'base', which lies 74.000 mm behind it; choose the edge", 74),
        (lambda: stand(lift=3), "they are 3.000 mm apart; move one", 3),
        (lambda: cells(x=150), "'one' ends 47.000 mm before it comes to 'two'; move them so that they pass", 47),
        (lambda: cells(z=95), "along the line in which their planes cross they lie 15.000 mm apart", 15),
        (
            lambda: stand(tabs(at=[50], width=10), base=rectangle(120, 80).cut(hole(20))),
            "a tab of 10 mm at 50 mm runs into a cut-out or another gap in the contact, which spans 0.00 to 40.00, 60.00",
            50,
        ),
        (lambda: stand(tabs(at=[120], width=10)), "a tab of 10 mm at 120 mm reaches off the contact, which spans 0.00", 120),
        (
            lambda: stand(base=rectangle(120, 80).cut(rectangle(110, 10).at(0, 12))),
            "no stretch of the contact is free for tabs: another joint or a cut-out takes all of it",
            0,
        ),
    ],
)
def test_joints_that_cannot_be_made_say_why(design: Callable[[], Assembly], says: str, value: float) -> None:
    """Where plates miss each other the gap is told in mm; where something is in the way, that it is."""
    finding = only(design().check(), "JOINT")
    assert says in finding.message
    assert finding.numbers["value"] == pytest.approx(value)


@pytest.mark.parametrize("x", [98.0, 99.5, 101.0])
def test_an_opening_that_the_plate_ends_beside(x: float) -> None:
    """What is missing is material as designed, so no other joint is blamed."""
    finding = only(cells(x).check(), "NO-MATE")
    assert "'one' is not closed" in finding.message
    assert "'one' ends there, so move one of the two plates or make 'one' larger" in finding.message
    assert cells(x=90).check() == ()


def test_a_facing_out_of_the_face_names_those_that_will_do() -> None:
    """The plate, the face and all valid facings are told, and each of them works."""
    floor = Assembly("brush rack", stock=PLY).add("base", rectangle(120, 80))
    says = re.escape("standing(facing=) on show face (looks to +Z) of 'base' looks to '+Z', which does not lie along that face")
    with pytest.raises(PlacementError, match=says) as caught:
        floor.owner.add("wall", rectangle(60, 40), standing(floor.face(">Z"), facing="+Z"))  # type: ignore[attr-defined]  # known to be there
    named = re.findall(r"'([+-][XYZ])'", str(caught.value).partition("give ")[2])
    assert named == ["+X", "-X", "+Y", "-Y"]
    for facing in named:
        standing(floor.face(">Z"), facing=facing).place(floor.plate)


def test_a_selector_that_picks_nothing_lists_the_faces() -> None:
    """All faces of a rectangle are listed with where they are; of a plate with many, the first eight and how many more."""
    assembly = Assembly("jar shelf", stock=PLY)
    plain = assembly.add("plain", rectangle(120, 80))
    with pytest.raises(SelectionError) as caught:
        plain.face("|Z and <X")
    message = str(caught.value)
    assert "selector '|Z and <X' on plate 'plain' picks no face; it has show face (looks to +Z); back face" in message
    assert message.count("straight edge face at (") == 4
    holed = assembly.add("holed", rectangle(120, 80).cut(row(hole(8), 5)))
    with pytest.raises(SelectionError, match=r"; and 3 more edge faces$"):
        holed.face("|Z and <X")


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Stock("MDF", 6, sheet=600), "sheet of stock 'MDF' is 600; give (width, height) in mm"),  # type: ignore[arg-type]  # wrong on purpose
        (lambda: Stock("MDF", 6, measured=6, cutter="knife", sheet=(600,)), "give (width, height) in mm"),  # type: ignore[arg-type]  # wrong on purpose
        (lambda: Stock("MDF", 6, measured=60), "60 mm where 6 mm is nominal, 900 % off; perhaps a decimal point"),
        (lambda: Stock("MDF", 6, measured=0.58), "perhaps a decimal point slipped, and 5.8 mm was meant"),
        (lambda: Stock("MDF", 6, measured=0.25), "perhaps it is in inches, which is 6.35 mm; measure again, in mm"),
        (lambda: Stock("MDF", 6, measured=13), "13 mm where 6 mm is nominal, 117 % off; measure again, in mm, or mend"),
        (lambda: Stock("birch plywood", 5, measured=3.5), "30 % off; measure again"),
        (lambda: tabs(at="20"), "place of a tab is '20'; give a number"),  # type: ignore[arg-type]  # wrong on purpose
        (lambda: t_nut("M3", at=[]), "at= of nuts holds no place; give one or more, or use tabs()"),
    ],
)
def test_input_of_the_wrong_kind(make: Callable[[], object], says: str) -> None:
    """Numbers that no sheet has are refused with what was probably meant."""
    with pytest.raises(SizeError, match=re.escape(says)):
        make()


def test_input_at_the_limits() -> None:
    """A quarter off is believed, in thin sheet half a millimetre; a sheet may be a list, and one place may be a number."""
    assert [Stock("card", 3, measured=t).t for t in (2.25, 3.75)] == [2.25, 3.75]
    assert Stock("cast acrylic", 1.5, measured=0.95).t == 0.95  # the widest that ISO 7823-1 allows: 0.4 + 0.1 t
    listed = Stock("card", 3, measured=3, cutter="knife", sheet=[600, 400])  # type: ignore[arg-type]  # a list does as well
    assert listed == Stock("card", 3, measured=3, cutter="knife", sheet=(600, 400))
    assert hash(listed) == hash(Stock("card", 3, measured=3, cutter="knife", sheet=(600, 400)))
    assert tabs(at=20) == tabs(at=[20])
    assert t_nut("M3", at=20) == t_nut("M3", at=[20])


def test_a_folder_is_no_drawing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Even where a path has no last part, the message names it."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(OutlineError, match=r"DXF file '\.': that is a folder; give the path of a DXF file in it"):
        outline_from_dxf(".")


def test_a_joint_that_fails_tells_the_line_of_the_design() -> None:
    """Made by a helper of the toolkit or left to join_touching, it is the design's own line; without a file there is none."""

    def here() -> int:
        frame = inspect.currentframe()
        assert frame is not None
        assert frame.f_back is not None
        return frame.f_back.f_lineno

    floor = Assembly("tile tray", stock=PLY)
    base = floor.add("base", rectangle(120, 80))
    floor.add("wall", rectangle(100, 60), standing(base.face(">Z"), facing="-Y", inset=-2))
    join_touching(floor, tabs(count=2, width=15)), (touched := here())
    assert f"larger (joined in test_first_use.py, line {touched})" in only(floor.check(), "JOINT").message
    with pytest.raises(JointError, match=rf"line {touched}\)$"):
        floor.resolve()
    box, made = carcass("box", stock=PLY, width=80, depth=60, height=40, joint=tabs(count=9, width=15)), here()
    failures = [finding.message for finding in box.check() if finding.code == "JOINT"]
    assert failures
    assert all(message.endswith(f"(joined in test_first_use.py, line {made})") for message in failures)
    spoken = {"floor": stand(), "tabs": tabs(count=1, width=9), "join": join}
    spoken["floor"].add("brace", rectangle(30, 60), standing(spoken["floor"]["base"].show, facing="-X", inset=-2))
    exec('join(floor["brace"].face("<Z"), floor["base"].show, tabs)', spoken)
    assert only(spoken["floor"].check(), "JOINT").message.endswith("or make 'base' larger")


@pytest.mark.parametrize("both_faces_good", [True, False])
def test_mirror_images_are_said_to_be_turned_over(both_faces_good: bool) -> None:
    """The bill of materials tells for which plates a piece is turned over: for no others, and only where that is allowed."""
    rack = Assembly("brush rack", stock=replace(PLY, both_faces_good=both_faces_good))
    base = rack.add("base", rectangle(200, 100))
    holed = rectangle(60, 40).cut(hole(6).at(20, 10))
    left = rack.add("left", holed, standing(base.face(">Z"), facing="-X"))
    rack.add("right", left.plate, mirrored(left, about="YZ"))
    rack.add("middle", holed.turned(180), standing(base.face(">Z"), facing="-X", inset=40))
    rack.add("plain 1", rectangle(60, 30), standing(base.face(">Z"), facing="+X", inset=40))
    rack.add("plain 2", rectangle(30, 60), standing(base.face(">Z"), facing="+X", inset=60))
    rows = csv.DictReader(io.StringIO(bom_csv(rack.product())))
    notes = {row["name"]: row["notes"] for row in rows}
    expected = {"left": "for left, middle", "right": ""}
    if both_faces_good:
        expected = {"left": "for left, right, middle; turn over for right"}
    assert notes == {"base": "", "plain 1": "for plain 1, plain 2"} | expected


def test_a_shift_against_a_face_goes_right_as_seen_from_the_show_face() -> None:
    """Facing out of the +X border, right is towards +Y; facing in, towards -Y.  The origin lies on the back face."""
    for show, right, depths in (("out", 1, (60, 66)), ("in", -1, (66, 60))):
        floor = Assembly("kiln timer", stock=PLY)
        base = floor.add("base", rectangle(120, 80))
        side = floor.add("side", rectangle(40, 30), against(base.face(">X"), shift=10, show=show))
        assert side.frame.origin[:2] == pytest.approx((depths[0], right * 10))
        assert side.show.middle[0] == pytest.approx(depths[1])
        assert side.back.middle[0] == pytest.approx(depths[0])


@pytest.mark.parametrize("given", ["dog-bone", dog_bone])
def test_a_relief_that_is_none_is_refused_by_name(given: Any) -> None:
    """Neither a word nor the function itself is a relief, of a joint or of an assembly."""
    with pytest.raises(SizeError, match=r"relief of assembly 'stand' is .*give dog_bone"):
        Assembly("stand", relief=given)
    stand = Assembly("stand", stock=Stock("birch plywood", 4, measured=4, cutter="knife"))
    base = stand.add("base", rectangle(80, 80))
    wall = stand.add("wall", rectangle(60, 40), standing(base.face(">Z"), facing="-Y", inset=None))
    with pytest.raises(SizeError, match=r"relief of tabs between .* of 'wall' and .* of 'base' is .*give dog_bone"):
        join(wall.face("<Z"), base.face(">Z"), tabs(relief=given))


def test_a_stock_that_is_refused_says_why_on_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An error out of generated code, which lies in no file, is told like any other."""
    design = tmp_path / "stand.py"
    design.write_text(
        "from panelwright.assemblies import Assembly\nfrom panelwright.plates import Stock\n"
        'def design():\n    """A stand."""\n    return Assembly("stand", stock=Stock("PVC foam", 3))\n',
        "utf-8",
    )
    assert main(["check", str(design)]) == 2
    told = capsys.readouterr().err
    assert "must not be cut by laser" in told
    assert "stand.py:5 in design" in told
    assert "fault of the toolkit" not in told


def test_a_router_may_cut_wider_than_the_sheet_is_thick() -> None:
    """A bit of 3.175 mm in acrylic of 2.95 mm is ordinary; a laser's kerf of that width is not."""
    assert Stock("cast acrylic", 3, measured=2.95, kerf=3.175, cutter="router").kerf == 3.175
    with pytest.raises(SizeError, match="as much as the sheet is thick"):
        Stock("cast acrylic", 3, measured=2.95, kerf=3.175)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda a, b: a.add("w", rectangle(50, 30), standing(b, facing="-Y")), "choose it, such as base.face"),
        (lambda a, b: a.add("w", rectangle(50, 30), lying(b)), "plate 'base' is given where one of its faces is wanted"),
        (lambda a, b: a.add("w", rectangle(50, 30), lying([b.face(">Z"), 3])), "is no face of a plate"),
        (lambda a, b: a.add("w", rectangle(50, 30), lying([])), "is given no face; give one or more"),
        (lambda a, b: t_nut("M3", length="12"), "length of a screw is '12'; give a number in mm"),
        (lambda a, b: a.add_bent("s", rectangle(200, 60), 90), "90 is no bend of sheet 's'; give one as bend(…)"),
        (lambda a, b: a.add_bent("s", rectangle(200, 60), [90]), "90 is no bend of sheet 's'"),
        (lambda a, b: join(b.face("<X"), "x", tabs()), "'x' is no face of a plate; give one such as base.face"),
        (lambda a, b: join(b.face("<X"), 3, tabs()), "3 is no face of a plate"),
        (lambda a, b: Batch(a), "is no product; give what assembly.product() returns"),
        (lambda a, b: lay_sheets([a]), "is no batch of products; give Batch(assembly.product())"),
    ],
)
def test_things_of_the_wrong_kind(make: Callable[[Assembly, PlacedPlate], object], says: str) -> None:
    """Told as what they are, with what to write instead."""
    made = Assembly("rack", stock=Stock("MDF", 4, measured=4, cutter="knife"))
    base = made.add("base", rectangle(100, 80))
    with pytest.raises(PanelwrightError, match=re.escape(says)):
        make(made, base)
