"""Placement in a maker's words: where each helper puts a plate, by hand-computed corners."""

from __future__ import annotations

import math

import cadquery as cq
import pytest
from panelwright.assemblies import Assembly
from panelwright.plates import (
    Frame,
    Outline,
    PlacedPlate,
    PlacementError,
    SelectionError,
    SizeError,
    Stock,
    against,
    disc,
    finger_notch,
    hole,
    lying,
    mirrored,
    parallel,
    rectangle,
    standing,
)
from panelwright.plates.geometry.frame import cross

PLY = Stock("plywood", 5.0)


def box_of(placed: PlacedPlate) -> tuple[float, ...]:
    """Bounding box of a placed plate in the assembly: least x, y, z, most x, y, z."""
    corners = [
        placed.frame.point((x, y, z)) for x, y in placed.plate.outline.outer.points() for z in (0.0, placed.plate.stock.t)
    ]
    return tuple(min(c[i] for c in corners) for i in range(3)) + tuple(max(c[i] for c in corners) for i in range(3))


@pytest.fixture
def rack() -> tuple[Assembly, PlacedPlate]:
    """A base of 200 × 100 mm at the origin, show face up."""
    assembly = Assembly("rack", stock=PLY)
    return assembly, assembly.add("base", rectangle(200, 100))


def test_default_place_is_the_origin(rack: tuple[Assembly, PlacedPlate]) -> None:
    """A plate without a placement lies at z = 0 with its show face up."""
    _, base = rack
    assert box_of(base) == pytest.approx((-100, -50, 0, 100, 50, 5))
    assert base.show.normal == (0, 0, 1)


@pytest.mark.parametrize(
    ("facing", "inset", "edge", "box"),
    [
        ("+Y", 10, None, (-50, 35, 5, 50, 40, 45)),
        ("-Y", 10, None, (-50, -40, 5, 50, -35, 45)),
        ("+X", 0, None, (95, -50, 5, 100, 50, 45)),
        ("+X", -5, None, (100, -50, 5, 105, 50, 45)),
        ("+Y", 10, "-Y", (-50, -40, 5, 50, -35, 45)),
        ("-X", None, None, (-2.5, -50, 5, 2.5, 50, 45)),
    ],
)
def test_standing(
    rack: tuple[Assembly, PlacedPlate],
    facing: str,
    inset: float | None,
    edge: str | None,
    box: tuple[float, ...],
) -> None:
    """The lower border is on the face, the show face looks where it is told, the inset counts from the border named."""
    assembly, base = rack
    wall = assembly.add("wall", rectangle(100, 40), standing(base.face(">Z"), facing=facing, inset=inset, edge=edge))
    assert box_of(wall) == pytest.approx(box)
    looks = {"+Y": (0, 1, 0), "-Y": (0, -1, 0), "+X": (1, 0, 0), "-X": (-1, 0, 0)}
    assert wall.show.normal == pytest.approx(looks[facing])


def test_standing_shifts_to_the_right_as_seen_from_the_show_face(rack: tuple[Assembly, PlacedPlate]) -> None:
    """Shift moves along the plate's own x, lift along its own y."""
    assembly, base = rack
    wall = assembly.add("wall", rectangle(100, 40), standing(base.face(">Z"), facing="-Y", shift=7, lift=2))
    assert box_of(wall)[0::3] == pytest.approx((-43, 57))
    assert box_of(wall)[2::3] == pytest.approx((7, 47))


def test_lying_spans_several_faces(rack: tuple[Assembly, PlacedPlate]) -> None:
    """A top on two walls lies on both and is centred between them, or flush with a side of them."""
    assembly, base = rack
    walls = [
        assembly.add(name, rectangle(180, 40), standing(base.face(">Z"), facing=facing, inset=10))
        for name, facing in (("front", "-Y"), ("rear", "+Y"))
    ]
    tops = [wall.face(">Z") for wall in walls]
    assert box_of(assembly.add("top", rectangle(60, 30), lying(tops))) == pytest.approx((-30, -15, 45, 30, 15, 50))
    flush = assembly.add("flush", rectangle(60, 30), lying(tops, flush=("+X", "-Y"), inset=2))
    assert box_of(flush) == pytest.approx((28, -38, 45, 88, -8, 50))
    under = assembly.add("under", rectangle(60, 30), lying(base.face("<Z"), show="in"))
    assert box_of(under)[2::3] == pytest.approx((-5, 0))
    assert under.show.normal == pytest.approx((0, 0, 1))


def test_against_an_edge(rack: tuple[Assembly, PlacedPlate]) -> None:
    """An end wall outside the base's border has its back on the edge face and its show face outward."""
    assembly, base = rack
    end = assembly.add("end", rectangle(100, 60), against(base.face(">X"), lift=-5))
    assert box_of(end) == pytest.approx((100, -50, -5, 105, 50, 55))
    assert end.show.normal == pytest.approx((1, 0, 0))


def test_parallel_leaves_the_room_that_is_asked_for(rack: tuple[Assembly, PlacedPlate]) -> None:
    """Spacing is the free room between facing broad faces, on either side, whatever the thickness."""
    assembly, base = rack
    thin = Stock("card", 1.5)
    above = assembly.add("above", rectangle(50, 50), parallel(base.show, spacing=20), stock=thin)
    below = assembly.add("below", rectangle(50, 50), parallel(base.back, spacing=20), stock=thin)
    assert box_of(above)[2::3] == pytest.approx((25, 26.5))
    assert box_of(below)[2::3] == pytest.approx((-21.5, -20))


@pytest.mark.parametrize("about", ["YZ", "zy", cq.Plane.named("YZ")])
def test_mirrored_in_place_and_outline(rack: tuple[Assembly, PlacedPlate], about: object) -> None:
    """The image of a lopsided plate is the mirrored plate at the mirrored place, right-handed again."""
    assembly, base = rack
    outline = rectangle(60, 40).cut(hole(6).at(20, 10), finger_notch(10, 5, shift=-15))
    left = assembly.add("left", outline, standing(base.face(">Z"), facing="+Y", inset=10, shift=30))
    right = assembly.add("right", left.plate, mirrored(left, about=about))
    a, b = box_of(left), box_of(right)
    assert (b[0], b[3]) == pytest.approx((-a[3], -a[0]))
    assert (b[1], b[2], b[4], b[5]) == pytest.approx((a[1], a[2], a[4], a[5]))
    assert cross(right.frame.x, right.frame.y) == pytest.approx(right.frame.z)
    mine, image = (hole_middle(p) for p in (left, right))
    assert image == pytest.approx((-mine[0], mine[1], mine[2]))


def hole_middle(placed: PlacedPlate) -> tuple[float, ...]:
    """Where the middle of the plate's one hole is in the assembly."""
    x0, y0, x1, y1 = placed.plate.outline.holes[0].bounds
    return placed.frame.point(((x0 + x1) / 2, (y0 + y1) / 2, 0))


def test_cadquery_places_are_taken(rack: tuple[Assembly, PlacedPlate]) -> None:
    """A Location and a Plane say where the plate's own axes go; quarter turns are exact."""
    assembly, _ = rack
    by_location = assembly.add("a", rectangle(20, 10), cq.Location(cq.Vector(1, 2, 3), cq.Vector(0, 0, 1), 90))
    assert by_location.frame == Frame((1, 2, 3), (0, 1, 0), (-1, 0, 0), (0, 0, 1))
    by_plane = assembly.add("b", rectangle(20, 10), cq.Plane((0, 0, 9), xDir=(0, 1, 0), normal=(1, 0, 0)))
    assert box_of(by_plane) == pytest.approx((0, -10, 4, 5, 10, 14))


def test_helpers_work_in_a_turned_assembly() -> None:
    """Standing on a plate that leans 37° about a skew axis keeps all the distances."""
    assembly = Assembly("leaning", stock=PLY)
    turned = Frame.turned((1, 2, 3), 37)
    base = assembly.add("base", rectangle(200, 100), turned)
    wall = assembly.add("wall", rectangle(100, 40), standing(base.show, facing=turned.y, inset=10))
    low, high = wall.show.extent(turned.y)
    assert (low, high) == pytest.approx((40, 40))
    assert wall.back.extent(turned.z) == pytest.approx((5, 45))


@pytest.mark.parametrize(
    ("place", "error", "says"),
    [
        (lambda base: standing(base.face(">Z"), facing="+Z"), PlacementError, "does not lie along that face"),
        (lambda base: standing(base.face(">Z"), facing="north"), PlacementError, "'north'"),
        (lambda base: standing([base.face(">Z"), base.face(">X")], facing="+Y"), PlacementError, "one plane"),
        (lambda base: standing([], facing="+Y"), PlacementError, "no face"),
        (lambda base: standing(base, facing="+Y"), SelectionError, "where one of its faces is wanted"),
        (lambda base: lying(base.face(">Z"), show="up"), PlacementError, "'out' or 'in'"),
        (lambda base: against(base.face(">X"), up="+X"), PlacementError, "does not lie along"),
        (lambda base: parallel(base.face(">X"), spacing=3), PlacementError, "broad face"),
        (lambda base: mirrored(base, about="XX"), PlacementError, "'XY', 'XZ' or 'YZ'"),
        (lambda base: "over there", PlacementError, "no place"),
        (lambda base: standing(base.face(">Q"), facing="+Y"), SelectionError, "not understood"),
    ],
)
def test_bad_places(rack: tuple[Assembly, PlacedPlate], place: object, error: type[Exception], says: str) -> None:
    """A placement that cannot be carried out says why, and nothing is added."""
    assembly, base = rack
    with pytest.raises(error, match=says):
        assembly.add("wall", disc(30), place(base))  # type: ignore[operator]  # object: anything may be given
    assert [placed.name for placed in assembly.placed_plates()] == ["base"]
    assert isinstance(base.plate.outline, Outline)


@pytest.mark.parametrize("lean_deg", [0.0, 12.5, 60.0, -30.0])
@pytest.mark.parametrize("facing", ["-Y", "+X", (0.6, 0.8, 0.0)])
def test_a_leaning_plate_stands_on_its_lower_border(lean_deg: float, facing: str | tuple[float, float, float]) -> None:
    """Its lowest corner is on the face, its foot as far in as said, and its show face looks up by the lean."""
    easel = Assembly("easel", stock=Stock("MDF", 4))
    base = easel.add("base", rectangle(120, 120))
    board = easel.add("board", rectangle(60, 80), standing(base.show, facing=facing, inset=15, lean_deg=lean_deg))
    corners = [board.point((x, y, z)) for x in (-30, 30) for y in (-40, 40) for z in (0, 4)]
    assert min(z for _, _, z in corners) == pytest.approx(4)
    assert board.show.normal[2] == pytest.approx(math.sin(math.radians(lean_deg)))
    look = facing if isinstance(facing, tuple) else {"-Y": (0, -1, 0), "+X": (1, 0, 0)}[facing]
    border = max(x * look[0] + y * look[1] for x in (-60, 60) for y in (-60, 60))
    foot = max(board.point((0, -40, z))[0] * look[0] + board.point((0, -40, z))[1] * look[1] for z in (0, 4))
    assert border - foot == pytest.approx(15)
    assert board.frame.x[2] == pytest.approx(0)


@pytest.mark.parametrize("lean_deg", [61, -75, float("nan"), "30"])
def test_a_lean_that_no_joint_takes_is_refused(lean_deg: object) -> None:
    """The limit is told, and why."""
    base = Assembly("easel", stock=Stock("MDF", 4)).add("base", rectangle(120, 120))
    with pytest.raises((PlacementError, SizeError), match="lean of standing"):
        standing(base.show, facing="-Y", lean_deg=lean_deg)
