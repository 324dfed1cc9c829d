"""Edges that stand on several plates, on part of one, or past its end, with plates of unlike thickness, for every joint kind.

What fits is measured in `readers.py` on the solids; expected places follow from symmetry, worked out beside each check.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from covering import all_meet
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.product import Product
from panelwright.joints import fingers, join, t_nut, tabs
from panelwright.plates import Frame, PlacedPlate, Stock, polygon, rectangle
from readers import Meeting, pairs, shared_volume

THICKNESSES = {"4-on-4": (4.0, 4.0), "3-on-6": (3.0, 6.0), "6-on-3": (6.0, 3.0)}
KINDS: dict[str, Callable[[], Any]] = {
    "tabs": lambda: tabs(),
    "three tabs": lambda: tabs(count=3, width=8),
    "blind tabs": lambda: tabs(count=2, width=10, depth=2),
    "pitched tabs": lambda: tabs(pitch=18, width=6),
    "fingers first": lambda: fingers(width=12),
    "fingers second": lambda: fingers(width=12, ends="second"),
    "fingers mixed": lambda: fingers(width=12, ends="mixed"),
    "nuts": lambda: t_nut("M3", count=2),
    "nuts and tabs": lambda: t_nut("M3", count=1, tabs=tabs(width=8)),
}
BY_KIND = pytest.mark.parametrize("kind", KINDS)
BY_THICKNESS = pytest.mark.parametrize("thickness", THICKNESSES)
CLEARANCE = 0.1


class Bench:
    """Base plates that lie side by side at z = 0, and walls that stand on them at y = 0."""

    def __init__(self, thickness: str) -> None:
        wall, base = THICKNESSES[thickness]
        self.walls = Stock("birch plywood", wall, measured=wall, cutter="knife", clearance=CLEARANCE)
        self.bases = Stock("MDF", base, measured=base, cutter="knife", clearance=CLEARANCE)
        self.assembly = Assembly("kiln timer", stock=self.bases)

    def base(self, name: str, low: float, high: float) -> PlacedPlate:
        placed: PlacedPlate = self.assembly.add(name, rectangle(high - low, 80), Frame(((low + high) / 2, 0.0, 0.0)))
        return placed

    def wall(self, low: float, high: float, into: float = 0.0) -> PlacedPlate:
        """A wall 50 mm high; `into` is how far it is drawn into the bases."""
        frame = Frame.facing(
            ((low + high) / 2, self.walls.t / 2, self.bases.t + 25 - into / 2), show=(0, -1, 0), right=(1, 0, 0)
        )
        placed: PlacedPlate = self.assembly.add("wall", rectangle(high - low, 50 + into), frame, stock=self.walls)
        return placed


def assert_sound(product: Product, joints: int) -> None:
    """No finding, no shared volume by the kernel, and the clearance planned, where measured by the proof and here."""
    assert [str(f) for f in product.findings] == []
    assert len(product.joints) == joints
    assert max(shared_volume(a, b) for a, b in pairs(product.parts)) < 1e-6
    parts = {part.name: part for part in product.parts}
    for record in product.joints:
        low, high = record.numbers["measured_clearance_mm"]
        assert (low, high) == pytest.approx((CLEARANCE, CLEARANCE), abs=1e-6)
        if record.kind != "t_nut" and joints < 3:
            found = Meeting(parts[record.plates[0]], parts[record.plates[1]], 0.3).along()
            assert found
            assert found == pytest.approx([CLEARANCE] * len(found), abs=1e-6)


@BY_KIND
@BY_THICKNESS
@pytest.mark.parametrize("gap", [0.0, 15.0])
def test_one_edge_on_two_bases_side_by_side(kind: str, thickness: str, gap: float) -> None:
    """One edge is joined to each of two plates, flush at the seam or apart; the layout is the same from either end."""
    bench = Bench(thickness)
    left, right = bench.base("left base", -100, -gap / 2), bench.base("right base", gap / 2, 100)
    wall = bench.wall(-80, 80)
    for base in (left, right):
        join(wall.face("<Z"), base.show, KINDS[kind]())
    product = bench.assembly.product()
    assert_sound(product, 2)
    first, second = (record.numbers for record in product.joints)
    assert first["count"] == second["count"]
    if "positions_mm" in first:
        # counted from the wall's lower end, 160 mm long
        assert sorted(160 - m for m in second["positions_mm"]) == pytest.approx(first["positions_mm"])


SPANS = {
    "past-both-ends": ((-80, 80), (-50, 50)),
    "past-one-end": ((0, 160), (-50, 50)),
    "even": ((-50, 50), (-50, 50)),
    "within": ((-50, 50), (-80, 80)),
}
# butting and overlapping by turns: any three of kind, thickness, span and overlap meet in all ways
SHIFTED = [
    pytest.param(kind, thickness, (i + j + k) % 2 == 1, *SPANS[span], id=f"{kind}-{thickness}-{span}-{(i + j + k) % 2}")
    for i, kind in enumerate(KINDS)
    for j, thickness in enumerate(THICKNESSES)
    for k, span in enumerate(SPANS)
]
assert all_meet([(kind, thickness, into, span) for kind, thickness, into, *span in (case.values for case in SHIFTED)], 3)


@pytest.mark.parametrize(("kind", "thickness", "into", "wall", "base"), SHIFTED)
def test_wall_longer_than_its_base_or_shifted(
    kind: str, thickness: str, into: bool, wall: tuple[float, float], base: tuple[float, float]
) -> None:
    """The edge meets the base along part of its length only; beyond it the wall stays as designed."""
    bench = Bench(thickness)
    floor = bench.base("base", *base)
    placed = bench.wall(*wall, into=bench.bases.t if into else 0.0)
    join(placed.face("<Z"), floor.show, KINDS[kind]())
    product = bench.assembly.product()
    assert_sound(product, 1)
    (part,) = [part for part in product.parts if part.name == "wall"]
    lowest = min(part.frame.point((*segment.start, 0.0))[2] for segment in part.loops[0])
    assert lowest < bench.bases.t - 1 or kind == "nuts"
    beyond = [
        x
        for segment in part.loops[0]
        for x, _, z in [part.frame.point((*segment.start, 0.0))]
        if z < bench.bases.t - 0.1 and not base[0] - 1 <= x <= base[1] + 1
    ]
    assert bool(beyond) == (into and (wall[0] < base[0] - 1 or wall[1] > base[1] + 1))


@BY_THICKNESS
def test_one_edge_on_three_bases_with_three_kinds(thickness: str) -> None:
    """Each of three mates along one edge has its own kind of joint."""
    bench = Bench(thickness)
    bases = [bench.base(name, low, low + 70) for name, low in (("left", -105), ("middle", -35), ("right", 35))]
    wall = bench.wall(-105, 105)
    for base, kind in zip(bases, ("fingers first", "nuts and tabs", "three tabs"), strict=True):
        join(wall.face("<Z"), base.show, KINDS[kind]())
    product = bench.assembly.product()
    assert_sound(product, 3)
    assert [record.kind for record in product.joints] == ["fingers", "t_nut", "tabs"]


@BY_KIND
@BY_THICKNESS
def test_several_edges_of_one_wall_on_a_stepped_base(kind: str, thickness: str) -> None:
    """A wall that stands with two feet on one base: two edges at one level, each with a joint of its own."""
    bench = Bench(thickness)
    base = bench.base("base", -110, 110)
    arch = polygon([(-90, 0), (-15, 0), (-15, 20), (15, 20), (15, 0), (90, 0), (90, 60), (-90, 60)])
    frame = Frame.facing((0, bench.walls.t / 2, bench.bases.t), show=(0, -1, 0), right=(1, 0, 0))
    wall = bench.assembly.add("wall", arch, frame, stock=bench.walls)
    feet = wall.faces("<Z")
    assert len(feet) == 2
    for foot in feet:
        join(foot, base.show, KINDS[kind]())
    assert_sound(bench.assembly.product(), 2)


def test_tabs_keep_a_web_from_the_end_of_a_base_if_there_is_room() -> None:
    """Three tabs of 8 mm on the last 50 mm of a base of 6 mm: spread evenly they would leave 4.3 mm; they move in.

    6 mm stay free at the base's end, and the other 20 go as 4 to the other end and as 8 to each gap.
    """
    bench = Bench("3-on-6")
    base, wall = bench.base("base", -50, 50), bench.wall(0, 160)
    join(wall.face("<Z"), base.show, tabs(count=3, width=8))
    product = bench.assembly.product()
    assert product.findings == ()
    assert product.joints[0].numbers["positions_mm"] == pytest.approx([8, 24, 40])


def test_where_there_is_no_room_the_thin_end_is_warned_of() -> None:
    """Three tabs of 14 mm leave 8 of 50 mm for two gaps and the base's end: all are equally thin, and the proof warns."""
    bench = Bench("3-on-6")
    base, wall = bench.base("base", -50, 50), bench.wall(0, 160)
    join(wall.face("<Z"), base.show, tabs(count=3, width=14))
    product = bench.assembly.product()
    assert product.joints[0].numbers["positions_mm"] == pytest.approx([7, 7 + 50 / 3, 7 + 100 / 3])
    assert {f.code for f in product.findings} == {"WEB"}


def test_places_given_by_hand_are_left_at_the_end_of_a_base() -> None:
    """A tab told to stand at the very end of the base gets its open notch there."""
    bench = Bench("4-on-4")
    base, wall = bench.base("base", -50, 50), bench.wall(-80, 80)
    join(wall.face("<Z"), base.show, tabs(at=[35, 80], width=10))
    product = bench.assembly.product()
    assert product.joints[0].numbers["positions_mm"] == [35, 80]
    (floor,) = [part for part in product.parts if part.name == "base"]
    assert len(floor.loops) == 2
    assert [str(f) for f in product.errors] == []
