"""Captive nuts: sizes measured on the solids, screws that pass their nuts, what is in the way, and what bad ones say."""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import shapely
from panelwright.assemblies import Assembly
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.data.parts import Bought, Part
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.output.folder import write_product
from panelwright.assemblies.resolve.bought_parts import STEEL
from panelwright.joints import Joint, dog_bone, join, t_bone, t_nut, tabs
from panelwright.joints.spec.fasteners import NUTS, PITCHES, SCREWS, SIZES, NutBody, ScrewBody, hole_for
from panelwright.plates import Frame, Stock, against, hole, rectangle, standing
from panelwright.plates._kernel.solids.booleans import common_of
from panelwright.plates.errors import JointError, SizeError
from panelwright.plates.geometry.frame import dot, minus
from readers import pairs, region, shared_volume
from scenes import build, cube_turns, tee

PLY = Stock("birch plywood", 4.0, measured=4.0, cutter="knife", clearance=0.1, density=680)


def stand(
    joint: Joint,
    *,
    wall: float = 100.0,
    height: float = 40.0,
    stock: Stock = PLY,
    base_stock: Stock = PLY,
    inset: float | None = None,
    lift: float = 0.0,
    cut: Any = (),
) -> Assembly:
    """A wall upright on a base of 140 × 60 mm, in its middle unless `inset`; `cut` goes into the wall."""
    assembly = Assembly("cone stand", stock=stock)
    base = assembly.add("base", rectangle(140, 60), stock=base_stock)
    place = standing(base.face(">Z"), facing="-Y", inset=inset, lift=lift)
    back = assembly.add("wall", rectangle(wall, height).cut(cut), place)
    join(back.face("<Z"), base.face(">Z"), joint)
    return assembly


def numbers_of(product: Product) -> dict[str, Any]:
    (record,) = product.joints
    return record.numbers


def part(product: Product, name: str) -> Part:
    return next(p for p in product.parts if p.name == name)


def screws(product: Product) -> list[Bought]:
    return [b for b in product.bought if isinstance(b.fastener.body, ScrewBody)]


def nuts(product: Product) -> list[Bought]:
    return [b for b in product.bought if isinstance(b.fastener.body, NutBody)]


def box(x0: float, y0: float, x1: float, y1: float) -> Any:
    return shapely.box(x0, y0, x1, y1)


def test_openings_are_what_arithmetic_says() -> None:
    """M3 in 4 mm: web 6, pocket 5.6 × 2.5, screw 16 long, so tip 12 and slot 13.5 behind the edge, all 3.4 wide."""
    product = stand(t_nut("M3", at=[30, 70])).product()
    assert product.findings == ()
    wall = box(-50, -20, 50, 20)
    for x in (-20, 20):
        slot = box(x - 1.7, -20, x + 1.7, -20 + 13.5)
        pocket = box(x - 2.8, -20 + 6, x + 2.8, -20 + 8.5)
        wall = wall.difference(slot.union(pocket))
    assert region(part(product, "wall")).symmetric_difference(wall).area < 1e-6
    base = part(product, "base")
    holes = [loop for loop in base.loops if loop.area < 0]
    assert [round(-loop.area, 6) for loop in holes] == [round(math.pi * 1.7**2, 6)] * 2
    # the wall stands in the middle of the base, the screws in the middle of the wall
    middles = sorted(((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in (loop.bounds for loop in holes))
    assert middles == [pytest.approx((-20, 0), abs=1e-9), pytest.approx((20, 0), abs=1e-9)]
    numbers = numbers_of(product)
    assert numbers["slot_mm"] == pytest.approx([3.4, 13.5])
    assert numbers["pocket_mm"] == pytest.approx([5.6, 2.5])
    assert numbers["past_nut_mm"] == pytest.approx(12 - 6 - 2.4)
    assert numbers["nut_stands_out_mm"] == pytest.approx((2 * 5.5 / math.sqrt(3) - 4) / 2)
    assert numbers["measured_clearance_mm"] == pytest.approx([0.1, 0.1], abs=1e-6)


@pytest.mark.parametrize("nut", NUTS)
@pytest.mark.parametrize("screw", SCREWS)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("mate", [3.0, 6.0, 12.0])
def test_screw_is_the_shortest_that_passes_its_nut(nut: str, screw: str, size: str, mate: float) -> None:
    """For every kind and size: the tip passes the nut by a pitch, no shorter length would, and nothing is hit."""
    if size not in NUTS[nut] or size not in SCREWS[screw]:
        with pytest.raises(SizeError, match="there is no"):
            t_nut(size, nut=nut, screw=screw)
        return
    stocks = {name: replace(PLY, thickness=t, measured=t) for name, t in (("stock", 5.0), ("base_stock", mate))}
    product = stand(t_nut(size, 1, nut=nut, screw=screw), height=60, **stocks).product()  # type: ignore[arg-type]  # options of any type
    assert product.findings == ()
    (bolt,), (held,) = screws(product), nuts(product)
    kind = SCREWS[screw][size]
    assert isinstance(bolt.fastener.body, ScrewBody)
    body = bolt.fastener.body
    # along the screw from the surface under its head
    start = dot(minus(held.frame.origin, bolt.frame.origin), bolt.frame.z)
    end = start + NUTS[nut][size].m
    assert start == pytest.approx(mate + max(5.0, 2 * SIZES[size]))
    assert body.reach >= end + PITCHES[size] - 1e-9
    length = numbers_of(product)["screw_length_mm"]
    assert length == pytest.approx(body.reach + (body.proud if kind.head == "countersunk" else 0.0))
    shorter = [known for known in kind.lengths if known < length]
    if shorter:
        assert body.reach - (length - shorter[-1]) < end + PITCHES[size]
    assert bolt.fastener.designation == f"{screw} {size} × {length}"
    # the slot is read from the wall's solid, along the screw's axis
    wall = region(part(product, "wall"))
    axis = shapely.LineString([(0, -30 - 1), (0, 30 + 1)])
    solid_from = wall.intersection(axis).bounds[1]
    tip = -30 + body.reach - mate
    assert solid_from - tip >= SIZES[size] / 2 - 1e-6


@pytest.mark.parametrize("turn", [0, 5, 17, "odd"])
@pytest.mark.parametrize("relief", [None, dog_bone(1.0), t_bone(1.0)])
def test_nothing_touches_the_fasteners_wherever_the_product_stands(turn: int | str, relief: Any) -> None:
    """By the kernel's booleans screws and nuts share nothing with the plates, turned any way; plates neither."""
    at = Frame.turned((1, 2, 3), 37).shifted((13.7, -211.3, 57.1)) if turn == "odd" else cube_turns()[int(turn)]
    joint = t_nut("M3", count=2, tabs=tabs(count=3, width=12), relief=relief)
    product = build(tee(4, 4), joint, (PLY, PLY), at=at).product()
    assert product.findings == ()
    assert len(product.bought) == 8
    looked = 0
    for bought in product.bought:
        for plate in product.parts:
            assert common_of((bought.solid, bought.frame), (plate.solid, plate.frame))[0] < 1e-6
            looked += 1
    assert looked == 24
    assert all(shared_volume(a, b) < 1e-6 for a, b in pairs(product.parts))


@pytest.mark.parametrize("nut", ["ISO 4032", "DIN 562"])
def test_nut_cannot_turn_and_cannot_leave(nut: str) -> None:
    """Turned by 15° the nut would cut into the pocket's sides, and moved along the screw into the web."""
    product = stand(t_nut("M4", 1, nut=nut)).product()
    (held,), wall = nuts(product), part(product, "wall")
    frame = held.frame
    turned = Frame.turned("Z", 15).then(frame)
    towards_edge = frame.shifted(tuple(-0.2 * value for value in frame.z))  # type: ignore[arg-type]  # three numbers
    for moved in (turned, towards_edge):
        assert common_of((held.solid, moved), (wall.solid, wall.frame))[0] > 0.05
    assert common_of((held.solid, frame), (wall.solid, wall.frame))[0] < 1e-9


@pytest.mark.parametrize("nut", ["ISO 4032", "DIN 562"])
def test_each_fastener_leaves_its_plate_the_way_it_says(nut: str) -> None:
    """The screw comes out of the base and the nut sideways out of the wall, and neither touches its plate on the way."""
    product = stand(t_nut("M4", 2, nut=nut, tabs=tabs(width=10))).product()
    assert {(b.fastener.kind, b.carrier) for b in product.bought} == {("screw", "base"), ("nut", "wall")}
    for bought in product.bought:
        plate = part(product, bought.carrier)
        for i in range(1, 9):
            step = tuple(3.0 * i * value for value in bought.way_out)
            moved = (bought.solid, bought.frame.shifted(step))  # type: ignore[arg-type]  # three numbers
            assert common_of(moved, (plate.solid, plate.frame))[0] < 1e-9
        # 24 mm on it is out: nothing of it is left between the plate's faces
        away = dot(minus(moved[1].origin, plate.frame.origin), plate.frame.z)
        assert away > plate.stock.t + 3 or away < -3 - 16


def test_nuts_and_tabs_take_turns() -> None:
    """Counted nuts and tabs alternate evenly; tabs without a number are one more than the nuts."""
    product = stand(t_nut("M3", count=2, tabs=tabs(width=10))).product()
    numbers = numbers_of(product)
    assert product.findings == ()
    both = sorted([(m, "nut") for m in numbers["positions_mm"]] + [(m, "tab") for m in numbers["tabs"]["positions_mm"]])
    assert [what for _, what in both] == ["tab", "nut", "tab", "nut", "tab"]
    steps = [b[0] - a[0] for a, b in pairwise(both)]
    assert steps == pytest.approx([steps[0]] * 4)
    assert both[2][0] == pytest.approx(50)


@pytest.mark.parametrize(
    ("few", "many", "order"),
    [(1, 2, "tnt"), (2, 1, "ntn"), (2, 2, "tnnt"), (3, 1, "ntnn"), (1, 1, "tn"), (2, 4, "tnttnt"), (3, 2, "ntntn")],
)
def test_turns_are_alike_from_both_ends(few: int, many: int, order: str) -> None:
    """Whatever the numbers, nuts and tabs are mixed evenly, tabs outermost where there are as many of both."""
    numbers = numbers_of(stand(t_nut("M2.5", few, tabs=tabs(many, width=6)), wall=130).product())
    both = [(m, "n") for m in numbers["positions_mm"]] + [(m, "t") for m in numbers["tabs"]["positions_mm"]]
    assert "".join(what for _, what in sorted(both)) == order
    if (few + many) % 2 or few % 2 == many % 2 == 0:
        # the others cannot be: each kind would need the middle
        assert order == order[::-1]


@pytest.mark.parametrize(
    ("joint", "nut_places", "tab_places"),
    [
        (t_nut("M3", at=(20, 50), tabs=tabs(at=(35, 80), width=8)), [20, 50], [35, 80]),
        (t_nut("M3", 2, tabs=tabs(at=(15, 50, 85), width=10)), [32.5, 67.5], [15, 50, 85]),
        (t_nut("M3", at=(50,), tabs=tabs(2, width=10)), [50], None),
        (t_nut("M3", 1, tabs=tabs(pitch=60, width=10)), [50], [20, 80]),
        (t_nut("M3", pitch=30), [20, 50, 80], None),
        (t_nut("M3", 2, margin=20), [34, 66], None),
        (t_nut("M3"), None, None),
    ],
)
def test_places_by_hand_come_first(joint: Any, nut_places: list[float] | None, tab_places: list[float] | None) -> None:
    """What is given a place or a pitch keeps it, and the others go into the gaps."""
    product = stand(joint).product()
    assert product.findings == ()
    numbers = numbers_of(product)
    if nut_places is not None:
        assert numbers["positions_mm"] == pytest.approx(nut_places)
    else:
        assert numbers["count"] == 2
    if tab_places is not None:
        assert numbers["tabs"]["positions_mm"] == pytest.approx(tab_places)
    elif joint.tabs is not None:
        low, high = numbers["tabs"]["positions_mm"]
        assert low + high == pytest.approx(100)
        assert high - 50 > 2.8 + 5 + 4


def test_nuts_keep_clear_of_cut_outs_behind_the_edge() -> None:
    """A hole 10 mm behind the edge stands in a screw's way, not in a tab's; the nut moves aside by a web."""
    bore = hole(8).at(0, -10)
    free = numbers_of(stand(t_nut("M3", 1)).product())
    product = stand(t_nut("M3", 1), cut=bore).product()
    assert product.findings == ()
    assert free["positions_mm"] == [50.0]
    (place,) = numbers_of(product)["positions_mm"]
    assert abs(place - 50) >= 4 + 4 + 2.8 - 1e-2
    assert numbers_of(stand(tabs(1, width=10), cut=bore).product())["positions_mm"] == [50.0]
    with pytest.raises(JointError, match=r"runs into a cut-out .* 4.00 to 42.11, 57.89 to 96.00 mm"):
        stand(t_nut("M3", at=[50]), cut=bore).resolve()


def test_nuts_on_neighbouring_edges_keep_clear_of_each_other() -> None:
    """Screws from below and from the side of one wall: no pocket comes near the other line's."""
    assembly = Assembly("corner", stock=PLY)
    base = assembly.add("base", rectangle(140, 80))
    wall = assembly.add("wall", rectangle(80, 80), standing(base.face(">Z"), facing="-Y", inset=None))
    side = assembly.add("side", rectangle(60, 90), against(wall.face(">X"), lift=0.0))
    join(wall.face("<Z"), base.face(">Z"), t_nut("M4", 2))
    join(wall.face(">X"), side.back, t_nut("M4", 2))
    assert [f for f in assembly.check() if f.code != "WEB"] == []
    product = assembly.product()
    assert len(product.bought) == 8
    first, second = (j.numbers["positions_mm"] for j in product.joints)
    # slots reach 15 mm and more behind each edge
    assert 80 - max(first) > 15
    assert min(second) > 15


def test_other_joints_keep_clear_of_the_pockets() -> None:
    """A shelf tabbed into the wall right behind its edge finds the room that screws need taken."""
    assembly = stand(t_nut("M3", 2))
    shelf = assembly.add("shelf", rectangle(100, 20), Frame((0, -12, 4 + 8)))
    join(shelf.face(">Y"), assembly["wall"].show, tabs(2, width=10))
    found = [f for f in assembly.check() if f.code == "JOINT"]
    # both lines are taken all along, so neither is made, and each says so
    assert {f.plates for f in found} == {("shelf", "wall"), ("wall", "base")}
    assert all("is free for" in f.message for f in found)


def in_the_way(where: str) -> Assembly:
    assembly = stand(t_nut("M3", at=[50]))
    if where == "head":
        assembly.add("shelf", rectangle(40, 30), Frame((0, 0, -4.0)))
    else:
        assembly.add("facing", rectangle(60, 30), Frame.facing((0, -2.0, 20), show=(0, -1, 0), right=(1, 0, 0)))
    return assembly


@pytest.mark.parametrize(("where", "plate", "kind"), [("head", "shelf", "screw"), ("nut", "facing", "nut")])
def test_a_plate_in_a_fasteners_way_is_found(where: str, plate: str, kind: str) -> None:
    """A plate where the head or the proud corner of a nut is: OVERLAP names the fastener, the plate, and how much."""
    found = [f for f in in_the_way(where).check() if f.code == "OVERLAP"]
    assert found
    finding = next(f for f in found if f.message.startswith(kind))
    assert finding.level == "error"
    assert finding.plates == (plate,)
    assert ("ISO 4762 M3 × 16 1" if kind == "screw" else "ISO 4032 M3 1") in finding.message
    assert finding.numbers["volume_mm3"] > 1
    assert finding.place is not None
    if where == "head":
        # the whole head lies in the shelf, less its socket
        head = math.pi * 2.84**2 * 3 - math.sqrt(3) / 2 * 2.5**2 * 1.3
        assert finding.numbers["volume_mm3"] == pytest.approx(head, rel=1e-6)


def test_fasteners_in_each_others_way_are_found() -> None:
    """Two walls 11 mm apart whose nuts, 11.5 mm wide across corners, stand out into each other."""
    assembly = Assembly("twins", stock=PLY)
    base = assembly.add("base", rectangle(140, 60))
    for name, y in (("front", 0.0), ("rear", 11.0)):
        place = Frame.facing((0, y, 24), show=(0, -1, 0), right=(1, 0, 0))
        wall = assembly.add(name, rectangle(100, 40), place)
        join(wall.face("<Z"), base.face(">Z"), t_nut("M6", at=[50]))
    (finding,) = assembly.check()
    assert (finding.code, finding.plates) == ("OVERLAP", ())
    assert "nut 'ISO 4032 M6 1' and nut 'ISO 4032 M6 2' share" in finding.message
    # two corners of 120° that reach 2·10/√3 - 11 mm into each other, 5.2 mm thick
    depth = 20 / math.sqrt(3) - 11
    assert finding.numbers["volume_mm3"] == pytest.approx(depth**2 / 2 * math.sqrt(3) * 5.2, rel=1e-6)


def test_a_nut_does_not_collide_with_its_own_screw() -> None:
    """They are there, on one axis, and nothing is said of them."""
    product = stand(t_nut("M5", 1)).product()
    (bolt,), (held,) = screws(product), nuts(product)
    assert dot(bolt.frame.z, held.frame.z) == pytest.approx(1)
    assert product.findings == ()


def test_press_fit_is_for_tabs_only() -> None:
    """Below 0 the tabs press, and pockets have the nut's own size."""
    product = stand(t_nut("M3", 2, tabs=tabs(3, width=10), clearance=-0.05)).product()
    assert product.findings == ()
    numbers = numbers_of(product)
    assert numbers["pocket_mm"] == pytest.approx([5.5, 2.4])
    assert numbers["measured_clearance_mm"] == pytest.approx([-0.05, 0.0], abs=1e-6)
    assert shared_volume(*product.parts) > 0.01


def test_tabs_may_have_a_clearance_of_their_own() -> None:
    """It is used, and the joint still tells the nuts' clearance as its own."""
    product = stand(t_nut("M3", 2, tabs=tabs(3, width=10, clearance=0.3), clearance=0.1)).product()
    assert product.findings == ()
    assert numbers_of(product)["measured_clearance_mm"] == pytest.approx([0.1, 0.1], abs=1e-6)
    slots = [loop for loop in part(product, "base").loops if loop.area < 0 and len(loop) == 4]
    assert len(slots) == 3
    assert {round(b[2] - b[0], 6) for b in (loop.bounds for loop in slots)} == {10.3}


@pytest.mark.parametrize("mixed", [None, tabs(3, width=10)])
def test_edge_drawn_into_the_mate_is_cut_back(mixed: Any) -> None:
    """A wall drawn right through the base loses what lies in it, and everything else is the same."""
    product = stand(t_nut("M3", 2, tabs=mixed), height=44, lift=-4).product()
    plain = stand(t_nut("M3", 2, tabs=mixed)).product()
    assert product.findings == ()
    assert part(product, "wall").area_mm2 == pytest.approx(part(plain, "wall").area_mm2)
    assert part(product, "base").area_mm2 == pytest.approx(part(plain, "base").area_mm2)
    assert numbers_of(product)["slot_mm"] == pytest.approx(numbers_of(plain)["slot_mm"])
    assert [b.frame.origin for b in product.bought] == [pytest.approx(b.frame.origin) for b in plain.bought]


def test_countersunk_heads_stand_on_the_rim() -> None:
    """No countersink is cut: the cone sinks in until it is as wide as its hole, and the numbers say so."""
    product = stand(t_nut("M4", 1, screw="ISO 10642")).product()
    assert product.findings == ()
    numbers = numbers_of(product)
    # 90°: as deep as the hole's radius is larger than the shank's
    assert numbers["head_stands_out_mm"] == pytest.approx(2.48 - (4.5 - 4) / 2)
    assert "no countersink" in numbers["warning"]
    assert "warning" not in numbers_of(stand(t_nut("M4", 1)).product())


@pytest.mark.parametrize("series", ["fine", "medium", "coarse"])
def test_hole_and_slot_follow_the_series(series: str) -> None:
    """The clearance hole of ISO 273 is the width of the slot and the diameter of the hole."""
    product = stand(t_nut("M3", 1, hole=series)).product()
    (hole,) = [loop for loop in part(product, "base").loops if loop.area < 0]
    x0, _, x1, _ = hole.bounds
    assert x1 - x0 == pytest.approx(hole_for("M3", series))
    assert numbers_of(product)["slot_mm"][0] == hole_for("M3", series)


def test_lengths_and_webs_of_ones_own() -> None:
    """A longer screw makes a longer slot, a wider web a deeper pocket."""
    numbers = numbers_of(stand(t_nut("M3", 1, length=20, web=9)).product())
    assert numbers["slot_mm"][1] == pytest.approx(20 - 4 + 1.5)
    assert numbers["web_mm"] == 9
    assert numbers["past_nut_mm"] == pytest.approx(16 - 9 - 2.4)


THIN = replace(PLY, thickness=3.0, measured=3.0)

BAD: list[tuple[str, Callable[[], object], str]] = [
    ("thin sheet", lambda: stand(t_nut("M6", 1), stock=THIN), "holds less than a third of that"),
    ("thin web", lambda: stand(t_nut("M3", 1, web=3)), "web is 3 mm .* at least one thickness of 'wall', 4 mm"),
    ("too short", lambda: stand(t_nut("M3", 1, length=12)), "does not pass its nut; it must be at least 12.90 mm"),
    ("too long", lambda: stand(t_nut("M3", 1, length=30)), "begins beyond the nut; use one of at most 28.00 mm"),
    ("none long enough", lambda: stand(t_nut("M2.5", 1, web=20)), "M2.5 ends at 25 mm"),
    ("low wall", lambda: stand(t_nut("M3", 1), height=15), "has no room for a pocket .* 17.50 mm behind the edge"),
    ("narrow wall", lambda: stand(t_nut("M3", 1), wall=12), "has no room for a pocket 5.60 mm wide"),
    ("at the border", lambda: stand(t_nut("M3", 1), inset=0.0), "set 'wall' further in, .* at least 3.70 mm from there"),
    ("all taken", lambda: stand(t_nut("M3", 1), cut=rectangle(90, 4).at(0, -10)), "has no room for a pocket"),
    ("off the end", lambda: stand(t_nut("M3", at=[4])), "at 4 mm reaches off the part of the contact with a web"),
    ("too close", lambda: stand(t_nut("M3", at=[40, 44])), "overlap; move them at least 9.5 mm apart .a web included"),
    ("too many", lambda: stand(t_nut("M3", 11)), "11 nut pockets of 5.5 mm don't fit"),
    ("pitch", lambda: stand(t_nut("M3", pitch=8)), "pitch of nut pockets is 8 mm, but each takes 9.5 mm, a web included"),
    ("too many turns", lambda: stand(t_nut("M3", 4, tabs=tabs(5, width=12))), "don't fit by turns"),
    ("margins", lambda: stand(t_nut("M3", 2, margin=50)), "leave no room"),
    ("on a tab", lambda: stand(t_nut("M3", at=[50], tabs=tabs(at=[52], width=8))), "collides with a nut, another joint"),
    ("tab too deep", lambda: stand(t_nut("M3", 1, tabs=tabs(2, width=8, depth=5))), "only 4 mm thick"),
]


@pytest.mark.parametrize(("make", "says"), [case[1:] for case in BAD], ids=[case[0].replace(" ", "-") for case in BAD])
def test_what_does_not_work_is_an_error(make: Callable[[], Assembly], says: str) -> None:
    """The message names the plates and says what to change; as a finding it is a JOINT."""
    assembly = make()
    with pytest.raises(JointError, match=says) as caught:
        assembly.resolve()
    assert caught.value.plates == ("wall", "base")
    assert "JOINT" in {finding.code for finding in assembly.check()}


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: t_nut("M8"), "thread size is 'M8'"),
        (lambda: t_nut("M3", length=13), "there is no ISO 4762 M3 × 13; lengths are 5, 6, 8"),
        (lambda: t_nut("M3", hole="wide"), "hole is 'wide'"),
        (lambda: t_nut("M3", 2, pitch=20), "nuts are given count and pitch"),
        (lambda: t_nut("M3", at=[]), "at= of nuts holds no place"),
        (lambda: t_nut("M3", 0), "count of nuts is 0"),
        (lambda: t_nut("M3", web=0), "web of t_nut is 0"),
        (lambda: t_nut("M3", tabs=3), "tabs= of t_nut is 3; give tabs"),
        (lambda: t_nut("M3", relief=t_bone(1), tabs=tabs(relief=dog_bone(1))), "different relief"),
    ],
)
def test_specs_are_checked_when_made(call: Callable[[], object], says: str) -> None:
    """Sizes that no nut has are refused at once."""
    with pytest.raises(SizeError, match=says):
        call()


def test_relief_spares_the_shoulders() -> None:
    """Dog-bones in a pocket are bored into its ends, so that what bears the pull stays whole; tabs' relief counts for both."""
    joint = t_nut("M4", 1, tabs=tabs(2, width=10, relief=dog_bone(1.0)))
    assert joint.relief == dog_bone(1.0)
    product = stand(joint).product()
    assert product.findings == ()
    (place,) = numbers_of(product)["positions_mm"]
    web = numbers_of(product)["web_mm"]
    wall = region(part(product, "wall"))
    x, y = place - 50, -20 + web
    # just above the shoulder's surface, from the slot to the pocket's end, everything is there
    shoulder = box(x + 2.25 + 1e-3, y - 1, x + 3.55 - 1e-3, y - 1e-3)
    assert shoulder.difference(wall).area < 1e-9
    ends = box(x + 3.55 + 1e-3, y, x + 3.55 + 0.5, y + 3.3)
    assert ends.difference(wall).area > 0.3


def test_bill_and_manifest_count_every_screw_and_nut(tmp_path: Path) -> None:
    """Full designations, quantities, the mass of one in steel, and plates counted as plates only."""
    product = stand(t_nut("M3", 2, tabs=tabs(3, width=10))).product()
    write_product(product, tmp_path / "out")
    manifest = json.loads((tmp_path / "out" / "manifest.json").read_text("utf-8"))
    assert [(h["designation"], h["quantity"]) for h in manifest["hardware"]] == [("ISO 4032 M3", 2), ("ISO 4762 M3 × 16", 2)]
    nut = (math.sqrt(3) / 2 * 5.5**2 - math.pi * 1.5**2) * 2.4 * 1e-9 * STEEL
    bolt = (math.pi * (2.84**2 * 3 + 1.5**2 * 16) - math.sqrt(3) / 2 * 2.5**2 * 1.3) * 1e-9 * 7850
    assert [h["mass_kg"] for h in manifest["hardware"]] == pytest.approx([nut, bolt], abs=1e-6)
    assert sum(p["quantity"] for p in manifest["panels"]) == 2
    rows = list(csv.DictReader((tmp_path / "out" / "bom.csv").open(encoding="utf-8")))
    assert [(r["kind"], r["name"], r["quantity"], r["notes"]) for r in rows][2:] == [
        ("hardware", "ISO 4032 M3", "2", ""),
        ("hardware", "ISO 4762 M3 × 16", "2", "hex key 2.5 mm"),
    ]
    assert float(rows[3]["mass_kg"]) == pytest.approx(bolt, abs=1e-6)


def solids_of(path: Path) -> int:
    import cadquery as cq

    return cq.importers.importStep(str(path)).solids().size()


def test_step_shows_fasteners_unless_told_not_to(tmp_path: Path) -> None:
    """Named solids in the STEP by default; none with show_hardware=False, and they are still counted."""
    for shown in (True, False):
        assembly = stand(t_nut("M3", 2))
        assembly.show_hardware = shown
        product = assembly.product()
        write_product(product, tmp_path / str(shown))
        text = (tmp_path / str(shown) / "assembly.step").read_text("ascii")
        named = [f"ISO 4762 M3 \\X2\\00D7\\X0\\ 16 {i}" in text and f"'ISO 4032 M3 {i}'" in text for i in (1, 2)]
        assert named == [shown, shown]
        assert solids_of(tmp_path / str(shown) / "assembly.step") == (6 if shown else 2)
        assert sum(item.quantity for item in product.hardware) == 4
        assert len(assembly.to_cadquery().children) == (6 if shown else 2)


DESIGN = """
from panelwright.assemblies import Assembly
from panelwright.joints import join, t_nut
from panelwright.plates import Stock, rectangle, standing

def design() -> Assembly:
    stand = Assembly("cone stand", stock=Stock("MDF", 4, measured=4, kerf=0.1, clearance=0.1))
    base = stand.add("base", rectangle(140, 60))
    wall = stand.add("wall", rectangle(100, 40), standing(base.face(">Z"), facing="-Y", inset=None))
    join(wall.face("<Z"), base.face(">Z"), t_nut("M3", 2))
    return stand
"""


def test_command_line_leaves_hardware_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`--no-hardware` leaves screws and nuts out of the STEP only; panels are the same to the byte."""
    design = tmp_path / "cone_stand.py"
    design.write_text(DESIGN, "utf-8")
    for name, more in (("with", []), ("without", ["--no-hardware"])):
        assert main(["build", str(design), "--out", str(tmp_path / name), *more]) == 0
    assert "nothing wrong" in capsys.readouterr().out
    assert [solids_of(tmp_path / name / "assembly.step") for name in ("with", "without")] == [6, 2]
    for path in ("bom.csv", "panels/wall.dxf", "panels/base.svg"):
        assert (tmp_path / "with" / path).read_bytes() == (tmp_path / "without" / path).read_bytes()


def test_plates_with_equally_placed_holes_of_other_sizes_are_other_panels() -> None:
    """Two lids whose holes differ in size only, starting at the same point, don't share a solid."""
    assembly = Assembly("two lids", stock=PLY)
    for i, (size, shift) in enumerate((("M3", 0.0), ("M4", -0.55))):
        base = assembly.add(f"lid {i}", rectangle(140, 60), Frame((0, 100.0 * i, 0)))
        wall = assembly.add(f"wall {i}", rectangle(100, 40), standing(base.face(">Z"), facing="-Y", inset=None))
        # holes of 3.4 and 4.5 mm with their rightmost points at the same place
        join(wall.face("<Z"), base.face(">Z"), t_nut(size, at=[50 + shift]))
    product = assembly.product()
    areas = [part(product, f"lid {i}").area_mm2 for i in (0, 1)]
    assert areas == pytest.approx([140 * 60 - math.pi * 1.7**2, 140 * 60 - math.pi * 2.25**2])
