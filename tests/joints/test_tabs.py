"""Tabs: where they go, how long they are, what they keep clear of, and every input that cannot be."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Product
from panelwright.joints import cross_lap, dog_bone, fingers, join, tabs
from panelwright.plates import Frame, JointError, Outline, SizeError, Stock, disc, hole, polygon, rectangle, standing

PLY = Stock("birch plywood", 4.0, measured=4.0, cutter="knife", clearance=0.1)


def rack(joint: Any, *, wall: Outline | None = None, base: Outline | None = None, inset: float | None = None) -> Assembly:
    """A wall that stands on a base; its lower border runs from x = -50 to 50 unless told otherwise."""
    assembly = Assembly("brush rack", stock=PLY)
    floor = assembly.add("base", base or rectangle(140, 80))
    upright = assembly.add("wall", wall or rectangle(100, 60), standing(floor.face(">Z"), facing="-Y", inset=inset))
    join(upright.face("<Z"), floor.face(">Z"), joint)
    return assembly


def numbers(assembly: Assembly) -> Any:
    (record,) = assembly.product().joints
    return record.numbers


def part(product: Product, name: str) -> Part:
    return next(part for part in product.parts if part.name == name)


def slot_middles(product: Product) -> list[float]:
    """x of the middles of the base's holes, left to right."""
    holes = [loop for loop in part(product, "base").loops if loop.area < 0]
    return sorted((loop.bounds[0] + loop.bounds[2]) / 2 for loop in holes)


def test_tabs_are_spread_over_equal_shares() -> None:
    """Three tabs on 100 mm stand in the middle of each third; slots are as wide as tab plus clearance."""
    product = rack(tabs(count=3, width=12)).product()
    assert slot_middles(product) == pytest.approx([-100 / 3, 0, 100 / 3])
    holes = [loop for loop in part(product, "base").loops if loop.area < 0]
    assert [loop.bounds[2] - loop.bounds[0] for loop in holes] == pytest.approx([12.1] * 3)
    assert [loop.bounds[3] - loop.bounds[1] for loop in holes] == pytest.approx([4.1] * 3)
    # u counts from the lower end of the wall's edge, which lies at x = -50
    assert numbers(rack(tabs(count=3, width=12)))["positions_mm"] == pytest.approx([50 / 3, 50, 250 / 3])


@pytest.mark.parametrize(("options", "reach"), [({}, 4.0), ({"depth": 1.5}, 1.5), ({"proud": 7.5}, 11.5), ({"depth": 4}, 4.0)])
def test_length_of_tabs(options: dict[str, float], reach: float) -> None:
    """Through, blind and proud tabs end where they should, measured on the wall's solid."""
    product = rack(tabs(count=2, width=12, **options)).product()
    wall = part(product, "wall")
    assert wall.frame.point((0, wall.loops[0].bounds[1], 0))[2] == pytest.approx(4.0 - reach)
    assert numbers(rack(tabs(count=2, width=12, **options)))["length_mm"] == pytest.approx(reach)
    # the slot goes right through whatever the tab's length: a laser cuts through
    assert len(slot_middles(product)) == 2


@pytest.mark.parametrize(("pitch", "width", "count"), [(30, 12, 3), (25, 12, 4), (88, 12, 2), (89, 12, 1), (200, 90, 1)])
def test_pitch_fits_as_many_as_it_can(pitch: float, width: float, count: int) -> None:
    """As many tabs as fit a pitch apart, centred on the contact."""
    middles = slot_middles(rack(tabs(pitch=pitch, width=width)).product())
    assert len(middles) == count
    assert sum(middles) == pytest.approx(0, abs=1e-9)
    assert [b - a for a, b in pairwise(middles)] == pytest.approx([pitch] * (count - 1))


def test_places_by_hand_count_from_the_lower_end() -> None:
    """`at` is kept to the micrometre, in whatever order it is given."""
    assert slot_middles(rack(tabs(at=(62.5, 20), width=15)).product()) == pytest.approx([-30, 12.5])


@pytest.mark.parametrize("margin", [0, 10, 24])
def test_margins_stay_free(margin: float) -> None:
    """Nothing of a tab lies within the margin at either end."""
    found = numbers(rack(tabs(count=3, width=12, margin=margin)))
    low, high = found["positions_mm"][0] - 6, found["positions_mm"][-1] + 6
    assert low >= margin - 1e-9
    assert high <= 100 - margin + 1e-9


def test_width_of_its_own_choice() -> None:
    """Four thicknesses; on a short edge half of its share of the room; one tab where two don't fit."""
    assert numbers(rack(tabs()))["width_mm"] == pytest.approx(16)
    assert numbers(rack(tabs()))["count"] == 2
    short = numbers(rack(tabs(), wall=rectangle(30, 60)))
    assert (short["count"], short["width_mm"]) == (2, pytest.approx(7.5))
    assert numbers(rack(tabs(width=25), wall=rectangle(30, 60)))["count"] == 1


def test_tabs_keep_clear_of_a_hole_by_one_thickness() -> None:
    """A hole in the base under the edge is an obstacle with a web of one thickness, and the tabs are spread over the rest."""
    product = rack(tabs(count=4, width=8), base=rectangle(140, 80).cut(hole(10))).product()
    assert [str(f) for f in product.findings] == []
    tabs_at = numbers(rack(tabs(count=4, width=8), base=rectangle(140, 80).cut(hole(10))))["positions_mm"]
    for middle in tabs_at:
        assert abs(middle - 50) - 4 >= 5 + 4 - 1e-3
    assert sum(middle < 50 for middle in tabs_at) == 2


def test_tabs_keep_clear_of_a_crossing_plate() -> None:
    """A partition that comes down on the same base through the wall takes its place on the line."""
    assembly = Assembly("glaze rack", stock=PLY)
    base = assembly.add("base", rectangle(140, 100))
    wall = assembly.add("wall", rectangle(120, 40), standing(base.face(">Z"), facing="-Y", inset=None))
    cross = assembly.add("partition", rectangle(90, 40), standing(base.face(">Z"), facing="+X", inset=None))
    join(wall, cross, cross_lap())
    for plate in (wall, cross):
        join(plate.face("<Z"), base.face(">Z"), tabs(count=2, width=12))
    product = assembly.product()
    assert [str(f) for f in product.findings] == []
    for record in product.joints[1:]:
        length = 120 if "wall" in record.plates else 90
        assert all(abs(m - length / 2) - 6 >= 2 + 4 - 1e-3 for m in record.numbers["positions_mm"])


def test_slots_of_two_walls_that_meet_on_one_base() -> None:
    """Tabs of two walls in an L keep a web between their slots."""
    assembly = Assembly("card drawer", stock=PLY)
    base = assembly.add("base", rectangle(140, 100))
    rear = assembly.add("rear", rectangle(140, 40), Frame.facing((0, 46, 24), show=(0, -1, 0), right=(1, 0, 0)))
    side = assembly.add("side", rectangle(92, 40), Frame.facing((-64, -4, 24), show=(1, 0, 0), right=(0, 1, 0)))
    join(rear.face("<Z"), base.face(">Z"), tabs(count=4))
    join(side.face("<Z"), base.face(">Z"), tabs(count=3))
    join(side.face(">Y"), rear.face("<Y"), tabs(count=1))
    assert [str(f) for f in assembly.check() if f.level == "error"] == []


@pytest.mark.parametrize("inset", [0.0, 0.03, 0.05, 0.2, 76.0])
def test_slots_at_the_border_are_notches_without_slivers(inset: float) -> None:
    """Within half a clearance of the base's border a slot runs out over it; what is left a little further in is said."""
    product = rack(tabs(count=2, width=12), inset=inset).product()
    base = part(product, "base")
    if inset == 0.2:
        assert {f.code for f in product.findings} == {"SLIVER"}
    else:
        assert [str(f) for f in product.findings] == []
        assert len(base.loops) == 1
        assert len(base.loops[0]) == 12


def test_tabs_on_a_base_of_any_outline() -> None:
    """The contact is only as long as the base under the whole thickness of the wall."""
    trapezium = polygon([(-70, -40), (70, -40), (20, 40), (-20, 40)])
    found = numbers(rack(tabs(count=2, width=6), base=trapezium))
    # the base is 90 mm wide at y = 0; the wall fills y from -2 to 2 and the narrower side counts
    low, high = found["positions_mm"][0] - 3, found["positions_mm"][-1] + 3
    assert low > 50 - 45
    assert high < 50 + 45


def test_edge_in_two_stretches_gets_tabs_on_both() -> None:
    """A gap in the base splits the contact; tabs stand on either side of it."""
    base = rectangle(140, 80).cut(rectangle(40, 30))
    product = rack(tabs(count=2, width=12), base=base).product()
    middles = slot_middles(product)
    assert [str(f) for f in product.errors] == []
    assert sum(m < -20 for m in middles) == 1
    assert sum(m > 20 for m in middles) == 1


SIZES: list[tuple[dict[str, Any], str]] = [
    ({"count": 0}, "count of tabs is 0"),
    ({"count": -3}, "count of tabs is -3"),
    ({"count": 2.5}, "count of tabs is 2.5"),
    ({"count": True}, "count of tabs is True"),
    ({"pitch": 0}, "pitch of tabs is 0"),
    ({"width": 0}, "width of tabs is 0"),
    ({"width": -1}, "width of tabs is -1"),
    ({"width": float("nan")}, "width of tabs is nan"),
    ({"width": "10"}, "width of tabs is '10'"),
    ({"margin": -1}, "margin of tabs is -1"),
    ({"depth": 0}, "depth of tabs is 0"),
    ({"proud": -2}, "proud length of tabs is -2"),
    ({"clearance": float("inf")}, "clearance of tabs is inf"),
    ({"at": []}, "holds no place"),
    ({"at": [float("nan")]}, "place of a tab is nan"),
    ({"count": 2, "pitch": 30}, "count and pitch"),
    ({"count": 2, "at": [10]}, "count and at"),
    ({"depth": 2, "proud": 3}, "depth and proud"),
]


@pytest.mark.parametrize(("options", "says"), SIZES)
def test_sizes_that_no_tab_has(options: dict[str, Any], says: str) -> None:
    """Bad sizes are refused where the spec is made, with the value; they are ValueErrors too."""
    with pytest.raises(SizeError, match=says) as caught:
        tabs(**options)
    assert isinstance(caught.value, ValueError)


UNFIT: list[tuple[dict[str, Any], str, object]] = [
    ({"width": 120}, "120 mm wide, but the contact is only 100.000 mm long", 120),
    ({"count": 9, "width": 12}, "9 tabs of 12 mm don't fit", 9),
    ({"margin": 50}, "margins of 50 mm at both ends leave no room", 50),
    ({"margin": 45, "width": 12}, "don't fit on the free stretches", None),
    ({"depth": 4.5}, "depth is 4.5 mm, but the mate is only 4 mm thick", 4.5),
    ({"at": [20, 30], "width": 15}, "at 20 and 30 mm overlap", 10),
    ({"at": [4], "width": 15}, "a tab of 15 mm at 4 mm reaches off the contact", 4),
    ({"at": [97], "width": 15}, "a tab of 15 mm at 97 mm reaches off the contact", 97),
]


@pytest.mark.parametrize(("options", "says", "value"), UNFIT)
def test_tabs_that_do_not_fit(options: dict[str, Any], says: str, value: object) -> None:
    """What doesn't fit is refused when the assembly is resolved, naming both plates, the value and the limit."""
    with pytest.raises(JointError, match=says) as caught:
        rack(tabs(**options)).resolve()
    error = caught.value
    assert error.plates == ("wall", "base")
    assert "'wall'" in str(error)
    assert "'base'" in str(error)
    assert error.limit is not None
    if value is not None:
        assert error.value == pytest.approx(value)


def test_places_by_hand_that_collide_with_a_hole() -> None:
    """A place given by hand is never moved: where it can't be, that is an error with the free stretches."""
    base = rectangle(140, 80).cut(hole(10))
    with pytest.raises(JointError, match=r"at 50 mm runs into a cut-out .* which spans 0.00 to 45.00, 55.00 to 100.00"):
        rack(tabs(at=[50], width=12), base=base).resolve()
    with pytest.raises(JointError, match=r"at 39.5 mm runs into a cut-out .* which spans 0.00 to 45.00, 55.00 to 100.00"):
        rack(tabs(at=[39.5], width=12), base=base).resolve()


def test_places_by_hand_near_a_hole_are_warned_of() -> None:
    """Less than a web beside a hole is told as it would be of a slot cut by hand: 45 - 43 less half a clearance is 1.95 mm."""
    product = rack(tabs(at=[37], width=12), base=rectangle(140, 80).cut(hole(10))).product()
    assert product.joints[0].numbers["positions_mm"] == [37]
    (found,) = product.findings
    assert (found.level, found.code) == ("warning", "WEB")
    assert found.numbers["width_mm"] == pytest.approx(1.95, abs=0.1)


def test_no_tabs_between_broad_faces_or_on_a_curved_edge() -> None:
    """Two broad faces, two edge faces and a curved edge are refused with a hint."""
    assembly = Assembly("odds", stock=PLY)
    lower = assembly.add("lower", rectangle(60, 60))
    upper = assembly.add("upper", disc(60), Frame((0, 0, 4)))
    side = assembly.add("side", rectangle(60, 60), Frame((60, 0, 0)))
    for first, second, says in (
        (upper.back, lower.show, "both are broad faces"),
        (side.face("<X"), lower.face(">X"), "both are edge faces"),
        (upper.all_faces()[2], lower.show, "curved"),
    ):
        case = Assembly("case", stock=PLY)
        for placed in assembly.placed_plates():
            case.add(placed.name, placed.plate, placed.frame)
        one = next(f for f in case[first.placed.name].all_faces() if f.place == first.place)
        other = next(f for f in case[second.placed.name].all_faces() if f.place == second.place)
        join(one, other, tabs(count=1))
        with pytest.raises(JointError, match=says):
            case.resolve()


def test_overlapping_design_cuts_the_wall_back_between_its_tabs() -> None:
    """A wall drawn right down through the base loses what the base owns: the same plates as if it stood on it."""

    def build(lift: float) -> Product:
        assembly = Assembly("rack", stock=PLY)
        base = assembly.add("base", rectangle(140, 80))
        wall = assembly.add(
            "wall",
            rectangle(100, 60 - lift),
            Frame.facing((0, 2, 34 + lift / 2), show=(0, -1, 0), right=(1, 0, 0)),
        )
        assert wall.frame.point((0, -(60 - lift) / 2, 0))[2] == pytest.approx(4 + lift)
        join(wall.face("<Z"), base.face(">Z"), tabs(count=2, width=12))
        return assembly.product()

    butting, overlapping = build(0), build(-4)
    assert [str(f) for f in overlapping.findings] == []
    for one, other in zip(butting.parts, overlapping.parts, strict=True):
        assert one.area_mm2 == pytest.approx(other.area_mm2, abs=1e-9)


def test_relief_on_slots_and_tabs() -> None:
    """Every inner corner of slots and roots gets its circle: four a slot, two a tab."""
    plain, relieved = rack(tabs(count=2, width=12)).product(), rack(tabs(count=2, width=12, relief=dog_bone(1))).product()
    from panelwright.plates.geometry.curves import Arc

    for product, per_slot, per_tab in ((plain, 0, 0), (relieved, 4, 2)):
        arcs = {p.name: [sum(isinstance(s, Arc) for s in loop) for loop in p.loops] for p in product.parts}
        assert arcs["base"] == [0, per_slot, per_slot]
        assert arcs["wall"] == [2 * per_tab]


def test_fingers_come_first_and_tabs_make_room() -> None:
    """Tabs of another wall see what fingers have claimed, whichever was joined first."""
    found = []
    for first in (True, False):
        assembly = Assembly("tray", stock=PLY)
        base = assembly.add("base", rectangle(140, 100))
        rear = assembly.add("rear", rectangle(140, 40), Frame.facing((0, 46, 24), show=(0, -1, 0), right=(1, 0, 0)))
        divider = assembly.add("divider", rectangle(88, 40), Frame.facing((0, -2, 24), show=(1, 0, 0), right=(0, 1, 0)))
        assert divider.face(">Y").middle[1] == pytest.approx(rear.show.middle[1])
        steps = [
            lambda a=rear, b=base: join(a.face("<Z"), b.face(">Z"), fingers(width=12)),
            lambda a=divider, b=base: join(a.face("<Z"), b.face(">Z"), tabs(count=2)),
        ]
        for step in steps if first else reversed(steps):
            step()
        product = assembly.product()
        assert [str(f) for f in product.errors] == []
        found.append([p.loops for p in product.parts])
    assert found[0] == found[1]


@pytest.mark.parametrize(("depth", "is_told"), [(0.3, True), (0.9, True), (1.0, False), (None, False)])
def test_tabs_that_hold_nothing_are_told(depth: float | None, is_told: bool) -> None:
    """Less than 1 mm or a fourth of the mate, whichever is less, is a warning with both numbers."""
    product = rack(tabs(count=2, width=12, depth=depth)).product()
    found = [finding for finding in product.findings if finding.code == "SHALLOW"]
    assert len(found) == is_told
    for finding in found:
        assert finding.level == "warning"
        assert finding.numbers == {"depth_mm": depth, "limit_mm": 1.0}
        assert f"go {depth:g} mm into 'base', which is 4 mm thick" in finding.message
