"""Boxes: the volume identity, corners of three plates, and random products that must never overlap or come apart."""

from __future__ import annotations

from collections import Counter
from itertools import permutations, product
from typing import Any

import pytest
from boxes import PLATES, STYLES, Box, Style, box
from covering import all_meet
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.parts import Part
from panelwright.joints import fingers, join_touching, tabs
from panelwright.plates import JointError
from panelwright.plates.geometry.probe import Probe
from readers import is_closed, is_valid, pairs, shared_volume, solids_in, union_volume, volume
from strategies import boxes, divider_grids, finger_joints, tab_layouts

EXAMPLES = settings(max_examples=40, deadline=None)
MIXED = {"base": 6.0, "lid": 3.0, "front": 4.0, "rear": 5.0, "left": 3.0, "right": 6.0}
ENDS = ("first", "second", "mixed")


def total(parts: tuple[Part, ...]) -> float:
    return sum(volume(part.solid) for part in parts)


def owners(parts: tuple[Part, ...], point: tuple[float, float, float]) -> list[str]:
    """Names of the parts with material at a point."""
    found = []
    for part in parts:
        x, y, z = part.frame.local(point)
        if 0 < z < part.stock.t and Probe(part.loops).covers([(x, y)])[0]:
            found.append(part.name)
    return found


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("size", [(100, 80, 60), (61.3, 149.9, 40.7), (200, 200, 200), (50, 40, 30)])
@pytest.mark.parametrize("width", [8, 12, 19.7])
def test_closed_box_fills_its_shell_exactly(style: Style, size: tuple[float, float, float], width: float) -> None:
    """Without clearance the volumes of six plates add up to outside less inside."""
    shape = Box(*size, style=style)
    parts = box(shape, fingers(width=min(width, min(size) / 2))).resolve().parts
    assert total(parts) == pytest.approx(shape.shell, abs=1e-6)
    assert all(len(part.loops) == 1 for part in parts)


@pytest.mark.parametrize("style", STYLES)
def test_closed_box_is_one_solid_with_no_gap_and_no_overlap(style: Style) -> None:
    """The kernel's fuse of all six plates has the volume of the shell, and each pair is disjoint."""
    shape = Box(style=style)
    parts = box(shape).resolve().parts
    assert union_volume(parts) == pytest.approx(shape.shell, abs=1e-4)
    assert max(shared_volume(a, b) for a, b in pairs(parts)) < 1e-6


# an orthogonal array of strength 3: any three of walls, base, lid and style meet in all ways, each of them once
MIXES = [
    pytest.param((ENDS[walls], ENDS[base], ENDS[lid]), STYLES[(walls + base + lid) % 3])
    for walls, base, lid in product(range(3), repeat=3)
]
assert all_meet([(*ends, style) for ends, style in (case.values for case in MIXES)], 3)


@pytest.mark.parametrize(("ends", "style"), MIXES)
def test_box_is_filled_whoever_owns_the_ends(ends: tuple[str, str, str], style: Style) -> None:
    """Any mix of ends on walls, base and lid leaves neither a crumb nor a hole, in every style that meets it in `MIXES`."""
    walls, base, lid = (fingers(width=11, ends=e) for e in ends)
    joints: dict[str, Any] = {f"{wall}-base": base for wall in ("front", "rear", "left", "right")}
    joints |= {f"{wall}-lid": lid for wall in ("front", "rear", "left", "right")}
    shape = Box(90, 70, 50, style=style)
    product_ = box(shape, walls, joints=joints).product()
    assert [str(f) for f in product_.errors] == []
    assert total(product_.parts) == pytest.approx(shape.shell, abs=1e-6)
    assert all(solids_in(part.solid) == 1 and is_valid(part.solid) for part in product_.parts)


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("ends", ENDS)
def test_box_of_unlike_thicknesses_fills_its_shell(style: Style, ends: str) -> None:
    """Each plate may have a stock of its own."""
    shape = Box(110, 90, 70, MIXED, style=style)
    result = box(shape, fingers(width=14, ends=ends)).product()
    assert [str(f) for f in result.errors] == []
    assert total(result.parts) == pytest.approx(shape.shell, abs=1e-6)


@pytest.mark.parametrize("shape", [Box(style=style, has_lid=False) for style in STYLES], ids=STYLES)
def test_open_box_has_four_whole_corners_below(shape: Box) -> None:
    """Without a lid the shell is filled as well; the walls' upper borders are straight lines."""
    result = box(shape).product()
    assert [str(f) for f in result.findings] == []
    assert total(result.parts) == pytest.approx(shape.shell, abs=1e-6)


def test_three_styles_give_the_same_plates() -> None:
    """Butting, full size or short: the same six solids stand in the same places."""
    found = []
    for style in STYLES:
        parts = box(Box(style=style), clearance=0.1).resolve().parts
        boxes_in_space = {}
        for part in parts:
            corners = [part.frame.point((*segment.start, z)) for segment in part.loops[0] for z in (0.0, part.stock.t)]
            boxes_in_space[part.name] = sorted(tuple(round(value, 6) + 0.0 for value in c) for c in corners)
        found.append(boxes_in_space)
    assert set(found[0]) == set(PLATES)
    # at the bottoms of openings the drawn butt edge itself stands back or not; the fingers' ends are the same for all
    for name in PLATES:
        assert [len(one[name]) for one in found] == [len(found[0][name])] * 3


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("ends", ENDS)
@pytest.mark.parametrize("thickness", [4.0, MIXED], ids=["even", "mixed"])
def test_each_corner_cube_has_exactly_one_owner(style: Style, ends: str, thickness: Any) -> None:
    """Of the three plates that claim a corner cube one has all of it, and it is in one piece with the rest."""
    shape = Box(100, 80, 60, thickness, style=style)
    parts = box(shape, fingers(width=12, ends=ends)).resolve().parts
    looked = Counter()
    for x_wall, y_wall, z_wall in product(("left", "right"), ("front", "rear"), ("base", "lid")):
        tx, ty, tz = shape.t(x_wall), shape.t(y_wall), shape.t(z_wall)
        for share in product((0.1, 0.5, 0.9), repeat=3):
            x, y, z = share[0] * tx, share[1] * ty, share[2] * tz
            point = (
                x if x_wall == "left" else shape.width - x,
                y if y_wall == "front" else shape.depth - y,
                z if z_wall == "base" else shape.height - z,
            )
            found = owners(parts, point)
            assert len(found) == 1, (point, found)
            looked[(x_wall, y_wall, z_wall, found[0])] += 1
    # one owner for all 27 points of each of the eight cubes
    assert sorted(looked.values()) == [27] * 8
    assert all(solids_in(part.solid) == 1 for part in parts)


@pytest.mark.parametrize("order", [*permutations(("base", "front", "left"))])
def test_corner_is_whole_in_whatever_order_plates_were_added(order: tuple[str, ...]) -> None:
    """Ties go to the plate added first; the shell is filled all the same."""
    rest = tuple(name for name in PLATES if name not in order)
    result = box(Box(), order=order + rest).product()
    assert [str(f) for f in result.findings] == []
    assert total(result.parts) == pytest.approx(Box().shell, abs=1e-6)


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("clearance", [0.05, 0.2])
def test_box_with_clearance_has_no_overlap_and_no_finding(style: Style, clearance: float) -> None:
    """Clearance takes material away, and nowhere more than the joints' gaps account for."""
    shape = Box(style=style)
    result = box(shape, clearance=clearance).product()
    assert [str(f) for f in result.findings] == []
    assert max(shared_volume(a, b) for a, b in pairs(result.parts)) < 1e-6
    lost = shape.shell - total(result.parts)
    assert 0 < lost < 12 * clearance * 4 * 4 * 60


@pytest.mark.parametrize("style", STYLES)
def test_box_with_press_fit_is_proved_too(style: Style) -> None:
    """Negative clearance is a press fit: it presses as planned and no more."""
    result = box(Box(style=style), clearance=-0.05).product()
    assert [str(f) for f in result.findings] == []
    assert sum(shared_volume(a, b) for a, b in pairs(result.parts)) > 1


def assert_sound_or_said(assembly: Assembly) -> bool:
    """Every part is a valid solid over closed loops; what overlaps is said.  False if a joint could not be made."""
    result = assembly.product()
    for part in result.parts:
        assert all(is_closed(loop) for loop in part.loops), part.name
        assert is_valid(part.solid), part.name
        assert volume(part.solid) == pytest.approx(part.area_mm2 * part.stock.t, rel=1e-9, abs=1e-6)
    for finding in result.findings:
        assert finding.message
        assert set(finding.plates) <= {part.name for part in result.parts}
    said = {frozenset(f.plates) for f in result.findings if f.code == "OVERLAP"}
    failed = [f for f in result.findings if f.code == "JOINT"]
    for a, b in pairs(result.parts):
        overlap = shared_volume(a, b)
        assert (overlap > 2e-3) <= (frozenset({a.name, b.name}) in said), (a.name, b.name, overlap)
        if not failed:
            assert overlap < 2e-3, (a.name, b.name, overlap)
    return not failed


@EXAMPLES
@given(boxes(), finger_joints(), st.sampled_from([0.0, 0.1]))
def test_random_boxes_are_filled_or_refused(shape: Box, joint: Any, clearance: float) -> None:
    """Any box is either sound and, without clearance, filled to the last crumb, or refused with words."""
    assembly = box(shape, joint, clearance=clearance)
    made = assert_sound_or_said(assembly)
    if made and clearance == 0.0:
        assert total(assembly.resolve().parts) == pytest.approx(shape.shell, abs=1e-5)
    if not made:
        with pytest.raises(JointError):
            assembly.resolve()


@EXAMPLES
@given(divider_grids())
def test_random_divider_grids_never_overlap(drawn: tuple[Assembly, int]) -> None:
    """Dividers slotted into each other n × m times share nothing."""
    assembly, crossings = drawn
    assert_sound_or_said(assembly)
    assert len(assembly.product().joints) == crossings


@EXAMPLES
@given(tab_layouts())
def test_random_tab_layouts_are_sound_or_refused(drawn: tuple[Assembly, int]) -> None:
    """Tabs on walls over a base with holes: sound, or refused with the plates named."""
    assembly, walls = drawn
    made = assert_sound_or_said(assembly)
    result = assembly.product()
    refused = [f for f in result.findings if f.code == "JOINT"]
    assert len(result.joints) + len(refused) == walls
    assert made == (not refused)
    for finding in refused:
        assert len(finding.plates) == 2


@EXAMPLES
@given(boxes(), st.integers(1, 3))
def test_boxes_of_tabs_where_faces_touch(shape: Box, count: int) -> None:
    """`join_touching` with tabs on a butting box gives as many joints as there are contacts, or says which don't fit."""
    assume(shape.style == "butting")
    bare = box(shape)
    plain = Assembly("tile box")
    for placed in bare.placed_plates():
        plain.add(placed.name, placed.plate, placed.frame)
    found = join_touching(plain, tabs(count=count))
    assert len(found) == (12 if shape.has_lid else 8)
    assert_sound_or_said(plain)


def test_random_products_are_mostly_made() -> None:
    """Guard: the strategies above draw products that can be made, not only ones that are refused."""
    made = {"boxes": 0, "grids": 0, "tabs": 0}

    def count(name: str, assembly: Assembly) -> None:
        made[name] += not [f for f in assembly.product().findings if f.code == "JOINT"]

    # each on its own: drawn together, the few examples repeat each other's parts, and 25 are no sample of the 70 % that go
    each = settings(max_examples=25, deadline=None)
    each(given(boxes(), finger_joints())(lambda shape, joint: count("boxes", box(shape, joint))))()
    each(given(divider_grids())(lambda grid: count("grids", grid[0])))()
    each(given(tab_layouts())(lambda rack: count("tabs", rack[0])))()
    assert min(made.values()) >= 8, made
