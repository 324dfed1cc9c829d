"""Every kind of joint, held to the same promises.  A new kind is one more row in `ROWS`.

For each row: the proof has nothing to say; the kernel's 3D booleans find the plates disjoint; volumes are areas times
thickness; each plate is one valid piece with closed loops; clearances measured without the toolkit's own proof are the ones
asked for; bought parts are all there, touch nothing and have the play asked for; turning, mirroring, doubling and reordering
change nothing; leaving the join out gives the plates back.  A kind that makes plates one panel leaves nothing to measure
between them, and is held to the rest.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import permutations
from typing import Any

import pytest
from covering import all_meet
from hinges import SOFT
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Product
from panelwright.joints import cross_lap, dog_bone, fingers, living_hinge, pass_through, t_bone, t_nut, tabs
from panelwright.plates import Frame, Stock
from panelwright.plates.geometry.region import sorted_loops
from readers import Meeting, is_closed, is_valid, pairs, plays, region, shared_volume, solids_in, volume
from scenes import (
    Scene,
    bent,
    build,
    corner,
    corner_brimmed,
    corner_overlapping,
    corner_short,
    crossing,
    cube_turns,
    passing,
    tee,
    tee_overlapping,
    tongued,
)


@dataclass(frozen=True)
class Row:
    """One kind of joint in one scene.

    `along` and `across` are the least numbers of closed openings that must be measured on each joined pair; `share` is the
    depth in the mate at which to measure; `bottoms` says that the plates together leave the clearance free on the line;
    `bought` is how many nuts, each with a screw of its own, each join needs; `presses` says whether a clearance below 0 makes
    plates share material, as it does in all joints where plate sits in plate; `merges` says that the joined plates become one
    panel, without a clearance of their own; `unchanged` is how many plates the joint leaves as they are; `round_about` is what
    it takes to name the faces the other way round.
    """

    name: str
    scene: Callable[[float, float], Scene]
    make: Callable[..., Any]
    along: int
    across: int
    share: float = 0.5
    bottoms: bool = False
    bought: int = 0
    presses: bool = True
    merges: bool = False
    warnings: frozenset[str] = frozenset()
    unchanged: int = 0
    round_about: tuple[tuple[str, Any], ...] = ()

    @property
    def kind(self) -> str:
        """The kind of its joints."""
        return str(self.make(clearance=0.0).kind)

    @property
    def pairs(self) -> int:
        """How many pairs of parts the scene's three plates become."""
        return 0 if self.merges else 3


def _passing(name: str, scene: Callable[[float, float], Scene]) -> Row:
    """A plate through two others, which it leaves unchanged itself."""
    return Row(name, scene, pass_through, 1, 1, unchanged=1, round_about=(("owner", "second"),))


def _row(
    name: str,
    scene: Callable[[float, float], Scene],
    maker: Callable[..., Any],
    along: int,
    across: int,
    share: float = 0.5,
    bottoms: bool = False,
    bought: int = 0,
    presses: bool = True,
    **options: Any,
) -> Row:
    return Row(name, scene, lambda **more: maker(**options, **more), along, across, share, bottoms, bought, presses)


def _hinge(name: str, **options: Any) -> Row:
    """A hinge, which takes neither clearance nor relief."""
    return Row(name, bent, lambda clearance, relief=None: living_hinge(**options), 0, 0, presses=False, merges=True)


ROWS = [
    _row("tabs through", tee, tabs, 3, 3, count=3, width=14),
    _row("tabs blind", tee, tabs, 2, 2, share=0.3, count=2, width=16, depth=2.5),
    _row("tabs proud", tee, tabs, 2, 2, count=2, width=16, proud=6),
    _row("tabs by pitch", tee, tabs, 3, 3, pitch=36, width=12),
    _row("tabs at given places", tee, tabs, 2, 2, at=(20, 62.5), width=15),
    _row("tabs of their own choice", tee, tabs, 2, 2),
    _row("tabs with margins", tee, tabs, 2, 2, count=2, width=12, margin=20),
    _row("tabs in open notches", corner, tabs, 3, 0, count=3, width=14),
    _row("fingers first, butting", corner, fingers, 4, 0, width=12, ends="first"),
    _row("fingers second, butting", corner, fingers, 4, 0, width=12, ends="second"),
    _row("fingers mixed, butting", corner, fingers, 4, 0, width=12, ends="mixed"),
    _row("fingers first, overlapping", corner_overlapping, fingers, 4, 0, width=12, ends="first"),
    _row("fingers second, overlapping", corner_overlapping, fingers, 4, 0, width=12, ends="second"),
    _row("fingers mixed, overlapping", corner_overlapping, fingers, 4, 0, count=5, ends="mixed"),
    _row("fingers first, short", corner_short, fingers, 4, 0, count=5, ends="first"),
    _row("fingers second, short", corner_short, fingers, 4, 0, width=12, ends="second"),
    _row("fingers mixed, short", corner_short, fingers, 4, 0, width=12, ends="mixed"),
    _row("fingers first, T", tee, fingers, 4, 4, width=12, ends="first"),
    _row("fingers second, T", tee, fingers, 4, 3, width=12, ends="second"),
    _row("fingers mixed, T", tee, fingers, 4, 3, count=4, ends="mixed"),
    _row("cross-lap halved", crossing, cross_lap, 0, 0, bottoms=True),
    _row("cross-lap 0.3", crossing, cross_lap, 0, 0, bottoms=True, ratio=0.3),
    _row("cross-lap 0.7 from below", crossing, cross_lap, 0, 0, bottoms=True, ratio=0.7, opens_up="second"),
    _row("tabs through, overlapping", tee_overlapping, tabs, 3, 3, count=3, width=14),
    _row("nuts", tee, t_nut, 0, 0, bought=2, presses=False, size="M3", count=2),
    _row("nuts by pitch", tee, t_nut, 0, 0, bought=2, presses=False, size="M4", pitch=70, nut="DIN 562"),
    _row("nuts and tabs", tee, t_nut, 3, 3, bought=2, size="M3", count=2, tabs=tabs(width=10)),
    _row("nuts and tabs, overlapping", tee_overlapping, t_nut, 3, 3, bought=2, size="M3", count=2, tabs=tabs(width=10)),
    _row("nuts behind a brim", corner_brimmed, t_nut, 0, 0, bought=3, presses=False, size="M3", count=3, screw="ISO 10642"),
    _passing("rail through ribs", passing),
    _passing("tongues with a stop", tongued),
    _hinge("hinges"),
    _hinge("hinges, obround", pattern="obround"),
    _hinge("hinges, chevron", pattern="chevron", radius=60),
]
BY_NAME = pytest.mark.parametrize("row", ROWS, ids=[row.name.replace(" ", "-") for row in ROWS])
CLEARANCES = (0.0, 0.12, -0.06)
RELIEFS = {"square": None, "dog-bone": dog_bone(1.0), "t-bone": t_bone(1.0)}
THICKNESSES = {"4-on-4": (4.0, 4.0), "3-on-6": (3.0, 6.0)}
# Each row meets every two of clearance, relief and thickness together once, and rows in turn take every three.
SIZES = [
    pytest.param(row, clearance, relief, thickness, id=f"{row.name.replace(' ', '-')}-{clearance}-{relief}-{thickness}")
    for number, row in enumerate(ROWS)
    for i, clearance in enumerate(CLEARANCES)
    for j, relief in enumerate(RELIEFS)
    for k, thickness in enumerate(THICKNESSES)
    # what has neither clearance nor relief is the same for all of them
    if (not row.merges and (i + j + k + number) % 2 == 0) or (row.merges and i == j == 0)
]
TURNS = {f"cube-{i}": frame for i, frame in enumerate(cube_turns())}
TURNS["odd"] = Frame.turned((1, 2, 3), 37).shifted((13.7, -211.3, 57.1))
TURNS["odder"] = Frame.turned((-5, 0.3, 2), 201.5).shifted((-1234.5, 0.25, 987.6))


def _turned() -> list[Any]:
    """Rows with turns: every kind of joint meets every turn, and every row two of them or more and one that is no cube's.

    How a product stands and how big its joints are have nothing to do with each other but through the kind that reads faces,
    axes and angles, so the cube's turns are dealt out among the rows of a kind, as cards are.
    """
    found = []
    for kind in dict.fromkeys(row.kind for row in ROWS):
        rows = [row for row in ROWS if row.kind == kind]
        odd = [turn for turn in TURNS if turn.startswith("odd")]
        cubes = [turn for turn in TURNS if turn not in odd]
        # the next round begins with the next row, so that no row gets only every second turn about one axis
        dealt = [(rows[(i + i // len(rows)) % len(rows)], turn) for i, turn in enumerate(cubes)]
        dealt += [(rows[i % len(rows)], odd[i % len(odd)]) for i in range(max(len(rows), len(odd)))]
        found += [pytest.param(row, turn, id=f"{row.name.replace(' ', '-')}-{turn}") for row, turn in dealt]
    return found


TURNED = _turned()
assert all_meet([(row.kind, turn) for row, turn in (case.values for case in TURNED)], 2)
assert {row for row, _ in (case.values for case in TURNED)} == set(ROWS)
# Each row in both thicknesses, and three rows that follow each other in all three turns with either.
MIRRORED = [
    pytest.param(row, turn, thickness, id=f"{row.name.replace(' ', '-')}-{turn}-{thickness}")
    for number, row in enumerate(ROWS)
    for i, turn in enumerate(("cube-0", "cube-9", "odd"))
    for k, thickness in enumerate(THICKNESSES)
    if (number + k) % 3 == i
]


def stocks(thickness: tuple[float, float]) -> tuple[Stock, Stock]:
    # both state the press fit that is asked for, so that no finding says that it isn't proven
    return (
        Stock("birch plywood", thickness[0], measured=thickness[0], cutter="knife", press=-0.06, **SOFT),
        Stock("MDF", thickness[1], measured=thickness[1], cutter="knife", press=-0.06, **SOFT),
    )


def made(
    row: Row, *, clearance: float = 0.12, relief: Any = None, thickness: tuple[float, float] = (4.0, 4.0), **more: Any
) -> Assembly:
    joint = row.make(clearance=clearance, relief=relief)
    return build(row.scene(*thickness), joint, stocks(thickness), **more)


def assert_sound(row: Row, product: Product) -> float:
    """Nothing to complain of, and each solid is one valid prism over its loops.  Gives the volume of all, which takes long."""
    assert [str(f) for f in product.findings if f.code not in row.warnings] == []
    left = 0.0
    for part in product.parts:
        assert is_valid(part.solid)
        assert solids_in(part.solid) == 1
        measured = volume(part.solid)
        left += measured
        # the kernel integrates over the splines of bent walls to about 1e-7
        assert measured == pytest.approx(part.area_mm2 * part.stock.t, abs=1e-6, rel=1e-7 if row.merges else 0)
        assert all(is_closed(loop) for loop in part.loops)
        assert [loop.area > 0 for loop in part.loops] == [True] + [False] * (len(part.loops) - 1)
    return left


def assert_apart(product: Product) -> int:
    """No two plates share material, by the kernel's 3D booleans.  Gives how many pairs were looked at."""
    looked = 0
    for a, b in pairs(product.parts):
        assert shared_volume(a, b) < 1e-6, (a.name, b.name)
        looked += 1
    return looked


def assert_bought(row: Row, product: Product, joins: int) -> None:
    """Every screw and nut is there and listed, and by the kernel's 3D booleans none touches a plate or another pair."""
    assert len(product.bought) == 2 * row.bought * joins
    assert sum(item.quantity for item in product.hardware) == len(product.bought)
    # one name for each, so that none hides behind another
    assert len({part.name for part in product.bought}) == len(product.bought)
    for part in product.bought:
        for plate in product.parts:
            assert shared_volume(part, plate) < 1e-6, (part.name, plate.name)
    met = [(a, b) for a, b in pairs(product.bought) if shared_volume(a, b) > 1e-6]
    # a nut sits on its screw, whose thread is not drawn: they touch in the bore and share nothing
    assert met == []


def meetings(product: Product, scene: Scene, share: float) -> list[Meeting]:
    parts: dict[str, Part] = {part.name: part for part in product.parts}
    flats = {name: region(part) for name, part in parts.items()}
    return [Meeting(parts[m.first], parts[m.second], share, (flats[m.first], flats[m.second])) for m in scene.joins]


def assert_fits(row: Row, product: Product, scene: Scene, clearance: float, relief: Any = None) -> None:
    """Clearances measured on the solids with shapely, independently of the proof, are the ones asked for."""
    if row.merges:
        assert [part.plates for part in product.parts] == [tuple(stand.name for stand in scene.plates)]
        return
    for meeting in meetings(product, scene, row.share):
        along, across = meeting.along(), meeting.across()
        assert len(along) >= row.along
        assert along == pytest.approx([clearance] * len(along), abs=1e-6)
        assert len(across) >= row.across + 2 * row.bottoms
        assert across == pytest.approx([clearance] * len(across), abs=1e-6)
        if row.bottoms:
            # there is nothing to press against at the bottom of a slot
            assert meeting.left_free() == pytest.approx(max(0.0, clearance), abs=1e-6)
    nuts = [part for part in product.bought if part.fastener.kind == "nut"]
    assert len(nuts) == row.bought * len(scene.joins)
    for nut in nuts:
        # what is bought is never pressed in; behind the nut, where nothing bears, relief takes a tool's radius more
        free, more = max(0.0, clearance), 0.0 if relief is None else relief.tool / 2
        assert plays(nut, product.parts) == pytest.approx((free, free + more), abs=1e-6)


def total(product: Product) -> float:
    return sum(volume(part.solid) for part in product.parts)


@cache
def upright(row: Row, thickness: tuple[float, float] = (4.0, 4.0)) -> Product:
    """The scene as it stands, proven once for all tests that compare with it."""
    return made(row, thickness=thickness).product()


@cache
def upright_total(row: Row, thickness: tuple[float, float] = (4.0, 4.0)) -> float:
    """Material left in the scene as it stands."""
    return total(upright(row, thickness))


@pytest.mark.parametrize(("row", "clearance", "relief", "thickness"), SIZES)
def test_joint_is_sound_and_fits_as_asked(row: Row, clearance: float, relief: str, thickness: str) -> None:
    """Proof, solids and independent measurement agree for every clearance, relief and thickness."""
    sizes = THICKNESSES[thickness]
    product = made(row, clearance=clearance, relief=RELIEFS[relief], thickness=sizes).product()
    assert_sound(row, product)
    assert len(product.joints) == 2
    assert {record.clearance_mm for record in product.joints} == {0.0 if row.merges else clearance}
    assert_bought(row, product, joins=2)
    if clearance >= 0 or not row.presses:
        assert assert_apart(product) == row.pairs
    elif relief == "square":
        # a press fit really presses
        assert any(shared_volume(a, b) > 1e-3 for a, b in pairs(product.parts))
    assert_fits(row, product, row.scene(*sizes), clearance, RELIEFS[relief])


@pytest.mark.parametrize(("row", "turn"), TURNED)
def test_joint_is_the_same_however_the_product_stands(row: Row, turn: str) -> None:
    """Turned by any of the 24 turns of a cube, or oddly, everything still fits and as much material is left.

    Every kind of joint meets every turn, in one of its rows.
    """
    product = made(row, at=TURNS[turn]).product()
    left = assert_sound(row, product)
    assert assert_apart(product) == row.pairs
    assert_bought(row, product, joins=2)
    assert_fits(row, product, row.scene(4.0, 4.0), 0.12)
    assert left == pytest.approx(upright_total(row), abs=1e-6, rel=1e-9 if row.merges else 0)


@pytest.mark.parametrize(("row", "turn", "thickness"), MIRRORED)
def test_joint_of_the_mirror_image_fits(row: Row, turn: str, thickness: str) -> None:
    """The mirrored scene is sound, and as much material is left in it."""
    sizes = THICKNESSES[thickness]
    product = made(row, mirror=True, at=TURNS[turn], thickness=sizes).product()
    left = assert_sound(row, product)
    assert assert_apart(product) == row.pairs
    assert_fits(row, product, row.scene(*sizes), 0.12)
    assert left == pytest.approx(upright_total(row, sizes), abs=1e-6, rel=1e-9 if row.merges else 0)


@BY_NAME
def test_two_copies_side_by_side_are_the_same_panels(row: Row) -> None:
    """Doubled, the scene needs twice the pieces of the same panels, and no more kinds of them."""
    one = upright(row)
    two = made(row, copies=2, at=TURNS["odd"]).product()
    assert [f for f in two.findings if f.code not in row.warnings and f.code != "FLOATS"] == []
    assert {f.code for f in two.findings} <= {"FLOATS", *row.warnings}  # the copies stand apart, and that is said
    assert [(panel.name, 2 * panel.quantity) for panel in one.panels] == [(panel.name, panel.quantity) for panel in two.panels]
    assert [(item.designation, 2 * item.quantity) for item in one.hardware] == [
        (item.designation, item.quantity) for item in two.hardware
    ]
    assert total(two) == pytest.approx(2 * total(one), abs=1e-6, rel=1e-9 if row.merges else 0)


@BY_NAME
def test_order_of_joins_makes_no_difference(row: Row) -> None:
    """Whatever the order in which joins are made, the loops come out equal to the last bit."""
    scene = row.scene(4.0, 4.0)
    orders = list(permutations(range(len(scene.joins))))
    assert len(orders) > 1
    products = [made(row, order=order).product() for order in orders]
    results = [{p.name: p.loops for p in product.parts} for product in products]
    assert all(result == results[0] for result in results)
    places = [[(part.name, part.frame) for part in product.bought] for product in products]
    assert all(place == places[0] for place in places)


@BY_NAME
def test_naming_the_faces_the_other_way_round_still_fits(row: Row) -> None:
    """Either face of a join may be named first."""
    scene = row.scene(4.0, 4.0).turned_round()
    product = build(scene, row.make(clearance=0.12, **dict(row.round_about)), stocks((4.0, 4.0))).product()
    assert_sound(row, product)
    assert assert_apart(product) == row.pairs
    assert_fits(row, product, row.scene(4.0, 4.0), 0.12)


@BY_NAME
def test_leaving_the_join_out_gives_the_plates_back(row: Row) -> None:
    """Joins change nothing that stays: without them each part is the plate as designed."""
    bare = made(row, joined=False)
    joined = upright(row)
    changed = 0
    finished = {name: part for part in joined.parts for name in part.plates}
    for placed, part in zip(bare.placed_plates(), bare.resolve().parts, strict=True):
        assert part.loops == sorted_loops(placed.plate.outline.loops)
        assert volume(part.solid) == pytest.approx(placed.plate.outline.area * placed.plate.stock.t, abs=1e-9)
        changed += part.loops != finished[part.name].loops
    assert changed == 3 - row.unchanged


@BY_NAME
def test_resolving_twice_gives_the_same(row: Row) -> None:
    """Resolving is pure: the same assembly, or one built again, gives equal loops, joints and findings."""
    assembly = made(row)
    first, again, rebuilt = assembly.product(), assembly.product(), upright(row)
    for other in (again, rebuilt):
        assert [part.loops for part in first.parts] == [part.loops for part in other.parts]
        assert first.joints == other.joints
        assert first.hardware == other.hardware
        assert first.findings == other.findings


@BY_NAME
def test_proof_reports_the_clearance_measured_here(row: Row) -> None:
    """Where the proof measures clearances, they are those measured independently; where there are none, it says none."""
    for record in upright(row).joints:
        if row.merges:
            assert "measured_clearance_mm" not in record.numbers
            continue
        assert record.numbers["measured_clearance_mm"] == pytest.approx([0.12, 0.12], abs=1e-6)
