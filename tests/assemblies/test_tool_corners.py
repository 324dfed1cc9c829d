"""What a router leaves, seen from outside: a disc swept along the paths of the exported DXF, and square parts put in.

Sizes are worked out by hand: a wall of 140 x 60 x 6 on a base of 160 x 80 x 6, two tabs of 20 mm in the middle of its halves,
clearance 0.15, so slots of 20.15 x 6.15.  A square corner that stands c/2 off both sides of a round one of radius
r stands in it by √2 (r - c/2) - r.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import pytest
import shapely
from panelwright.assemblies import Assembly, carcass
from panelwright.assemblies.data.findings import Finding
from panelwright.joints import dog_bone, fingers, join, t_bone, tabs
from panelwright.joints.spec.pattern import Joint
from panelwright.joints.spec.relief import Relief
from panelwright.plates import Stock, rectangle, standing
from routers import swept

TOOL = 3.175
CLEARANCE = 0.15


def router(thickness: float = 6.0, kerf: float = TOOL) -> Stock:
    """A stock as the router cuts it."""
    return Stock("MDF", thickness, measured=thickness, kerf=kerf, clearance=CLEARANCE, cutter="router")


def stand(joint: Joint, *, stock: Stock | None = None, base_stock: Stock | None = None) -> Assembly:
    """A wall on a base."""
    assembly = Assembly("card stand", stock=stock or router())
    base = assembly.add("base", rectangle(160, 80), stock=base_stock)
    wall = assembly.add("wall", rectangle(140, 60), standing(base.face(">Z"), facing="-Y", inset=None))
    join(wall.face("<Z"), base.face(">Z"), joint)
    return assembly


def stands_off(thing: shapely.Geometry, free: shapely.Geometry, corner: tuple[float, float]) -> float:
    """How far a corner of a thing lies from what is free, mm."""
    assert shapely.distance(thing, shapely.Point(corner)) < 1e-9
    return float(shapely.distance(free, shapely.Point(corner)))


TABS = ((25.0, 45.0), (95.0, 115.0))
"""Where the tabs stand along the wall's lower edge; 10 mm further along the base."""


@pytest.mark.parametrize("relief", [dog_bone, t_bone])
def test_square_tabs_enter_relieved_slots_and_the_base_reaches_the_shoulders(relief: Callable[[float], Relief]) -> None:
    """Tabs as they are drawn lie in the slots that the disc leaves; the base between them goes home to the shoulders."""
    product = stand(tabs(count=2, width=20, relief=relief(TOOL))).product()
    assert product.findings == ()
    base, wall = product.panels
    _, slots = swept(base)
    for low, high in TABS:
        tab = shapely.box(10 + low, 37, 10 + high, 43)
        assert tab.difference(slots).area < 1e-4
        assert tab.buffer(CLEARANCE, join_style="mitre").difference(slots).area > 0.5, "the slot holds the tab, all round"
    board, _ = swept(wall)
    gaps = [(0.0, 24.925), (45.075, 94.925), (115.075, 140.0)]  # what is left of the base beside its slots
    for low, high in gaps:
        assert shapely.box(low, 0, high, 6).intersection(board).area < 1e-4
    # what the reliefs take: a dog-bone's rim passes the corner, and reaches r (1 - √½) beyond either side; a T-bone r
    # beyond one side, the long one here, since the short one of 6.15 would keep less than a third of itself
    r = TOOL / 2
    x0, y0, x1, y1 = slots.bounds
    over = {dog_bone: (r * (1 - math.sqrt(0.5)),) * 2, t_bone: (0.0, r)}[relief]
    assert (x1 - x0, y1 - y0) == pytest.approx((90.15 + 2 * over[0], 6.15 + 2 * over[1]), abs=1e-3)


def test_square_tabs_do_not_enter_plain_slots_and_the_proof_says_so() -> None:
    """Corners of radius 1.5875 keep the tabs 0.551 mm out, measured on the file and told with the relief to ask for."""
    product = stand(tabs(count=2, width=20)).product()
    (finding,) = product.findings
    base, _ = product.panels
    _, slots = swept(base)
    expected = math.sqrt(2) * (TOOL / 2 - CLEARANCE / 2) - TOOL / 2
    assert expected == pytest.approx(0.5514, abs=1e-4)
    tab = shapely.box(35, 37, 55, 43)
    assert stands_off(tab, slots, (35, 37)) == pytest.approx(expected, abs=2e-3)
    assert (finding.level, finding.code, finding.plates) == ("error", "RELIEF", ("wall", "base"))
    assert finding.numbers == pytest.approx({"stands_off_mm": expected, "kerf_mm": TOOL, "corners": 12, "joints": 1}, abs=2e-3)
    assert "ask for relief=dog_bone(3.175) or t_bone(3.175), in the joint or for the whole assembly" in finding.message
    assert finding.place is not None


def codes(findings: tuple[Finding, ...]) -> list[str]:
    """Codes of the errors."""
    return [finding.code for finding in findings if finding.level == "error"]


def test_a_laser_and_a_wide_clearance_need_no_relief() -> None:
    """A kerf of 0.2 rounds corners by 0.04 mm; and where clearance is 1.71 radii a square corner clears a round one."""
    laser = Stock("MDF", 6.0, measured=6.0, kerf=0.2, clearance=0.0)
    assert stand(tabs(count=2, width=20, clearance=0.0), stock=laser).check() == ()  # 0 stated where it counts: no note
    r = 0.6
    for clearance, is_free in ((1.708 * r, True), (0.3 * r, False)):
        stock = Stock("MDF", 6.0, measured=6.0, kerf=2 * r, clearance=clearance, cutter="router")
        assert ("RELIEF" in codes(stand(tabs(count=2, width=20), stock=stock).check())) is not is_free


def test_the_whole_box_is_one_error_and_reliefs_mend_it() -> None:
    """Corners where three plates meet are looked at too."""
    for relief, says in ((None, ["RELIEF"]), (dog_bone(TOOL), []), (t_bone(TOOL), [])):
        box = carcass("pot", stock=router(), width=200, depth=160, height=120, lid=True, joint=fingers(width=20, relief=relief))
        findings = box.check()
        assert codes(findings) == says
        assert len(findings) == len(says)
    assert findings == ()


@pytest.mark.parametrize("tool", [1.0, 3.0, 4.0, 5.0, 5.9])
@pytest.mark.parametrize("style", [dog_bone, t_bone])
def test_a_relief_smaller_than_the_cutter_is_an_error(tool: float, style: Callable[[float], Relief]) -> None:
    """Whatever becomes of it in the file: the cutter does not go into it."""
    findings = stand(tabs(count=2, width=24, relief=style(tool)), stock=router(kerf=6.0)).check()
    found = [finding for finding in findings if finding.code == "RELIEF"]
    assert len(found) == 1
    assert "KERF" not in codes(findings), "one error for one fault"
    assert found[0].numbers == {"tool_mm": tool, "kerf_mm": 6.0, "joints": 1.0}
    assert "ask for relief=t_bone(6), or give" in found[0].message, "dog-bones of 6 mm would meet in these slots"


def test_a_relief_as_large_as_the_cutter_or_larger_is_none() -> None:
    """No error is said of a relief that the cutter goes into; a larger one gets a note."""
    for tool, levels in ((TOOL, []), (3.5, ["note"])):
        assert [found.level for found in stand(tabs(count=2, width=24, relief=t_bone(tool))).check()] == levels


def test_corners_as_designed_get_a_note() -> None:
    """A square window that nothing goes into comes out round, and so does one rounded by less than the tool's radius."""
    board = Assembly("tile board", stock=router())
    board.add("plain", rectangle(100, 60).cut(rectangle(20, 10)))
    board.add("round", rectangle(100, 60).cut(rectangle(20, 10).rounded(TOOL / 2)), loose=True)
    board.add("too round", rectangle(100, 60).cut(rectangle(20, 10).rounded(0.5)), loose=True)
    found = [finding for finding in board.check() if finding.code == "ROUND"]
    assert [(f.level, f.plates) for f in found] == [("note", ("plain",)), ("note", ("too round",))]
    assert all(f.numbers == {"radius_mm": TOOL / 2, "corners": 4.0} for f in found)


def test_tabs_that_reliefs_narrow_at_the_root_are_measured_where_they_are_widest() -> None:
    """Dog-bones of 4 mm eat 2.83 mm of a tab 4 mm long, its middle too: it fits by what is left at its tip."""
    thick, thin = router(8.0, kerf=4.0), router(4.0, kerf=4.0)
    assembly = stand(tabs(count=2, width=24, relief=dog_bone(4.0)), stock=thick, base_stock=thin)
    assert codes(assembly.check()) == []
    (joint,) = assembly.product().joints
    assert joint.numbers["measured_clearance_mm"] == pytest.approx([CLEARANCE, CLEARANCE], abs=1e-4)


def test_a_t_bone_spares_a_side_of_which_less_than_a_third_would_be_left() -> None:
    """Slots of 8.15 x 20.15: tools up to 2.7167 bore into the short sides, a third of 8.15; larger ones into the long sides."""
    for tool, is_short in ((2.71, True), (2.72, False)):
        product = stand(tabs(count=2, width=20, relief=t_bone(tool)), stock=router(8.0, kerf=tool)).product()
        assert product.errors == ()
        x0, y0, x1, y1 = swept(product.panels[0])[1].bounds
        wide, high = (90.15 + tool, 8.15) if is_short else (90.15, 8.15 + tool)
        assert (x1 - x0, y1 - y0) == pytest.approx((wide, high), abs=2e-3)


@pytest.mark.parametrize("relief", [dog_bone, t_bone])
def test_what_is_said_of_an_opening_too_narrow_for_its_tool_has_been_tried(relief: Callable[[float], Relief]) -> None:
    """Dog-bones of 3.15 mm would meet in a slot of 3.15 mm: the tool that is named makes reliefs that leave its sides."""
    thin = router(3.0)
    errors = stand(tabs(count=2, width=20, relief=relief(TOOL)), stock=thin).product().errors
    (finding,) = (found for found in errors if found.code == "RELIEF")
    assert "of 3.15 mm in 'base'" in finding.message
    asked = re.search(r"tool of 3.175 mm; ask for relief=(dog_bone|t_bone)\(([\d.]+)\)", finding.message)
    assert asked, finding.message
    style, tool = {"dog_bone": dog_bone, "t_bone": t_bone}[asked[1]], float(asked[2])
    assert stand(tabs(count=2, width=20, relief=style(tool)), stock=router(3.0, tool)).product().errors == ()


@pytest.mark.parametrize("relief", [dog_bone, t_bone])
def test_a_relief_larger_than_the_routers_tool_is_noted(relief: Callable[[float], Relief]) -> None:
    """It goes together, with larger holes than it needs; with the relief that the note names nothing is left to say."""
    (finding,) = stand(tabs(count=2, width=20, relief=relief(4.0)), stock=router(12.0)).check()
    assert (finding.level, finding.code) == ("note", "RELIEF")
    assert finding.numbers == {"tool_mm": 4.0, "kerf_mm": TOOL, "joints": 1.0}
    assert f"ask for relief={relief.__name__}(3.175), or give the width of the cut as kerf=4" in finding.message
    assert stand(tabs(count=2, width=20, relief=relief(TOOL)), stock=router(12.0)).check() == ()
    assert stand(tabs(count=2, width=20, relief=relief(4.0)), stock=router(12.0, 4.0)).check() == ()


def test_a_relief_is_no_matter_to_a_beam() -> None:
    """A design for either machine may keep its reliefs on the laser."""
    laser = Stock("MDF", 12, measured=12, kerf=0.2, clearance=CLEARANCE)
    assert stand(tabs(count=2, width=20, relief=dog_bone(TOOL)), stock=laser).check() == ()
