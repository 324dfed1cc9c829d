"""A plate through another one: sizes at every angle, tongues, forks and tapers, and what stands in its way.

The shadow's length is plane trigonometry, written out beside the check; overlaps are the kernel's.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from panelwright.assemblies import Assembly
from panelwright.joints import dog_bone, join, pass_through, tabs
from panelwright.plates import Frame, JointError, Outline, SizeError, Stock, disc, hole, polygon, rectangle
from panelwright.plates.geometry.curves import cos_sin_deg
from readers import pairs, shared_volume, volume

PLY = Stock("birch plywood", 4.0, measured=4.0, cutter="knife", clearance=0.1)
MDF = Stock("MDF", 6.0, measured=6.0, cutter="knife", clearance=0.1)


def stand(
    rail: Outline,
    *,
    rib: Outline | None = None,
    at: tuple[float, float] = (0.0, 0.0),
    degrees: float = 90.0,
    joint: Any = None,
    far: float = 0.0,
) -> Assembly:
    """A level rail of 4 mm along x, through a rib of 6 mm that crosses it at an angle; the rib's middle lies at `at` (y, z)."""
    made = Assembly("display stand", stock=PLY)
    owner = made.add("rail", rail)
    cosine, sine = cos_sin_deg(degrees)
    frame = Frame.facing((far, at[0], at[1]), show=(sine, 0.0, cosine), right=(0, 1, 0))
    mate = made.add("rib", rib or rectangle(60, 70), frame, stock=MDF)
    join(owner, mate, joint or pass_through())
    return made


def assert_sound(made: Assembly) -> dict[str, Any]:
    """No finding, nothing shared by the kernel, clearance as planned; the joint's numbers."""
    product = made.product()
    assert [str(f) for f in product.findings] == []
    assert max(shared_volume(a, b) for a, b in pairs(product.parts)) < 1e-6
    (record,) = [record for record in product.joints if record.kind == "pass_through"]
    assert record.numbers["measured_clearance_mm"] == pytest.approx([0.1, 0.1], abs=1e-6)
    return dict(record.numbers)


@pytest.mark.parametrize("degrees", range(30, 151, 10))
def test_the_opening_is_the_owner_s_shadow_at_any_angle(degrees: int) -> None:
    """A strip of 4 mm through one of 6 casts 4 / sin φ + 6 · |cot φ|; its width of 20 mm stays as it is."""
    made = stand(rectangle(160, 20), rib=rectangle(60, 90), degrees=degrees)
    numbers = assert_sound(made)
    phi = math.radians(degrees)
    shadow = 4 / math.sin(phi) + 6 * abs(math.cos(phi) / math.sin(phi))
    ((length, width),) = numbers["openings_mm"]
    assert (length, width) == pytest.approx((20.1, shadow + 0.1), abs=1e-5)
    rail, rib = made.resolve().parts
    assert volume(rail.solid) == pytest.approx(160 * 20 * 4)
    assert volume(rib.solid) == pytest.approx((60 * 90 - 20.1 * (shadow + 0.1)) * 6, abs=1e-4)


def test_the_least_web_round_the_opening_is_told() -> None:
    """Rib 60 mm wide, rail 20 mm wide and 5 mm off its middle: 30 - 5 - 10 - half a clearance."""
    numbers = assert_sound(stand(rectangle(160, 20), at=(5.0, 2.0)))
    assert numbers["web_mm"] == pytest.approx(15 - 0.05)
    assert (numbers["owner"], numbers["count"]) == ("rail", 1)


def test_a_fork_gets_an_opening_for_each_prong() -> None:
    """Two prongs of 10 mm pass; a third one passes beside the rib and is none of its business."""
    fork = polygon(
        [
            *((-60, -60), (-20, -60), (-20, -20), (40, -20), (40, -10), (-20, -10), (-20, 10), (40, 10)),
            *((40, 20), (-20, 20), (-20, 45), (40, 45), (40, 55), (-20, 55), (-20, 60), (-60, 60)),
        ]
    )
    numbers = assert_sound(stand(fork, far=10.0))
    assert numbers["openings_mm"] == [pytest.approx([10.1, 4.1])] * 2


def test_a_tapered_rail_gets_an_opening_for_its_widest_place_within() -> None:
    """The rail grows by 1 in 5 along x, from 20 mm at x = 0 to 20 + 6 / 5 at 6; the fit is checked there."""
    taper = polygon([(-50, -5), (50, -15), (50, 15), (-50, 5)])
    made = stand(taper)
    product = made.product()
    assert [str(f) for f in product.findings] == []
    ((length, _),) = product.joints[0].numbers["openings_mm"]
    assert length == pytest.approx(20 + 0.2 * 6 + 0.1, abs=2e-3)
    assert shared_volume(*product.parts) < 1e-6


def test_a_slanting_rail_gets_room_for_its_whole_way() -> None:
    """A rail that runs 1 in 10 off square needs 0.6 mm more over 6 mm than it is wide, and is no loose fit for that."""
    slant = polygon([(-50, -15), (50, -5), (50, 15), (-50, 5)])
    product = stand(slant).product()
    assert [str(f) for f in product.findings] == []
    ((length, _),) = product.joints[0].numbers["openings_mm"]
    assert length == pytest.approx(20 + 0.6 + 0.1, abs=2e-3)
    assert shared_volume(*product.parts) < 1e-6


def test_a_round_plate_passes_as_well() -> None:
    """A disc of 50 mm through a rib at its middle: the chord there is 50 mm at most."""
    product = stand(disc(50), rib=rectangle(80, 60), far=-3.0).product()
    assert [str(f) for f in product.findings] == []
    ((length, _),) = product.joints[0].numbers["openings_mm"]
    assert length == pytest.approx(50.1, abs=1e-3)


def test_either_plate_may_be_named_first() -> None:
    """The owner is the one that is said, and both ways give the same solids and the same record."""
    one = stand(rectangle(160, 20)).product()
    made = Assembly("display stand", stock=PLY)
    rail = made.add("rail", rectangle(160, 20))
    rib = made.add("rib", rectangle(60, 70), Frame.facing((0, 0, 0), show=(1, 0, 0), right=(0, 1, 0)), stock=MDF)
    join(rib, rail, pass_through(owner="second"))
    other = made.product()
    assert [part.loops for part in one.parts] == [part.loops for part in other.parts]
    assert one.joints[0].plates == other.joints[0].plates == ("rail", "rib")


def test_relief_is_bored_into_the_opening_only() -> None:
    """Four dog-bones in the rib; the tongue's own inner corners stay as drawn."""
    tongue = polygon([(-60, -25), (0, -25), (0, -10), (40, -10), (40, 10), (0, 10), (0, 25), (-60, 25)])
    made = stand(tongue, joint=pass_through(relief=dog_bone(2.0)))
    assert_sound(made)
    rail, rib = made.resolve().parts
    (opening,) = [loop for loop in rib.loops if loop.area < 0]
    assert sum(type(segment).__name__ == "Arc" for segment in opening) == 4
    assert rail.area_mm2 == pytest.approx(tongue.area)


def test_tabs_in_the_mate_keep_a_web_from_the_opening() -> None:
    """A shelf 1 mm over the rail: its tabs go left and right of the opening, not over it, in either order of joins."""
    results = []
    for order in ((0, 1), (1, 0)):
        made = Assembly("display stand", stock=PLY)
        rail = made.add("rail", rectangle(160, 20))
        rib = made.add("rib", rectangle(110, 70), Frame.facing((0, 0, 2), show=(1, 0, 0), right=(0, 1, 0)), stock=MDF)
        shelf = made.add("shelf", rectangle(50, 90), Frame((-25, 0, 5)))
        joins: list[tuple[Any, Any, Any]] = [
            (rail, rib, pass_through()),
            (shelf.face(">X"), rib.back, tabs(count=2, width=10)),
        ]
        for i in order:
            join(*joins[i])
        product = made.product()
        assert [str(f) for f in product.findings] == []
        (places,) = [record.numbers["positions_mm"] for record in product.joints if record.kind == "tabs"]
        # the opening reaches from 34.95 to 55.05 mm along the shelf's edge, and 6 mm of web go with it
        assert all(abs(place - 45) > 10.05 + 6 + 5 - 1e-6 for place in places)
        results.append({part.name: part.loops for part in product.parts})
    assert results[0] == results[1]


BAD: dict[str, tuple[Callable[[], Assembly], str, float]] = {
    "beyond the border": (
        lambda: stand(rectangle(160, 20), at=(25.0, 0.0)),
        r"opening for 'rail', 20.100 × 4.100 mm, reaches 5.050 mm beyond the border of 'rib'; .* cross_lap",
        5.05,
    ),
    "on the border": (
        lambda: stand(rectangle(160, 20), at=(19.95, 0.0)),
        "lies right on the border of 'rib', with nothing left beside it",
        0.0,
    ),
    "wider than the mate": (
        lambda: stand(rectangle(160, 80)),
        "reaches 10.050 mm beyond the border of 'rib'",
        10.05,
    ),
    "into a cut-out": (
        lambda: stand(rectangle(160, 20), rib=rectangle(60, 70).cut(rectangle(5, 30).at(12, 0))),
        r"runs into a cut-out of 'rib' that takes 2.255 mm² of it",
        0.55 * 4.1,
    ),
    "too short": (
        lambda: stand(rectangle(160, 20), far=77.5),
        "'rail' stops 3.500 mm short of going through 'rib', which is 6.000 mm through there",
        3.5,
    ),
    "wide on both sides": (
        lambda: stand(
            polygon(
                [
                    (-40, -20),
                    (-5, -20),
                    (-5, -10),
                    (11, -10),
                    (11, -18),
                    (40, -18),
                    (40, 18),
                    (11, 18),
                    (11, 10),
                    (-5, 10),
                    (-5, 20),
                    (-40, 20),
                ]
            )
        ),
        "'rail' is 40.000 mm wide on one side of 'rib' and 36.000 mm on the other, but only 20.000 mm in it",
        36.0,
    ),
    "beside it": (lambda: stand(rectangle(160, 20), at=(60.0, 0.0)), "they lie 20.000 mm apart", 20.0),
}


@pytest.mark.parametrize("case", BAD)
def test_what_cannot_pass_says_by_how_much(case: str) -> None:
    """Each message names both plates and the number that is wrong."""
    make, says, value = BAD[case]
    with pytest.raises(JointError, match=says) as caught:
        make().resolve()
    assert caught.value.value == pytest.approx(value, abs=3e-3)
    assert set(caught.value.plates) == {"rail", "rib"}


def test_flat_angles_are_refused() -> None:
    """Below 30° the message names the angle."""
    with pytest.raises(JointError, match=r"25\.00°"):
        stand(rectangle(160, 20), rib=rectangle(60, 150), degrees=25).resolve()


@pytest.mark.parametrize(("options", "says"), [({"owner": "rail"}, "owner of pass_through"), ({"clearance": math.nan}, "nan")])
def test_sizes_that_do_not_exist_are_refused(options: dict[str, Any], says: str) -> None:
    """Bad options are errors when the joint is made."""
    with pytest.raises(SizeError, match=says):
        pass_through(**options)


def test_a_hole_that_the_rail_goes_through_freely_needs_no_joint() -> None:
    """Where the mate has a cut-out all round the rail, there is nothing to join, and the distance is told."""
    rib = rectangle(60, 70).cut(hole(40))
    with pytest.raises(JointError, match="mm apart") as caught:
        stand(rectangle(160, 20), rib=rib).resolve()
    assert isinstance(caught.value.value, float)
