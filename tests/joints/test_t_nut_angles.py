"""Captive nuts at other angles than 90°: holes, seats and screws against formulas and the kernel's booleans."""

from __future__ import annotations

import math
from typing import Any

import pytest
import shapely
from covering import all_meet
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.parts import Bought, Part
from panelwright.assemblies.data.product import Product
from panelwright.joints import Joint, join, t_nut, tabs
from panelwright.joints.meeting.section import Section
from panelwright.joints.spec.fasteners import NUTS, PITCHES, SCREWS, SIZES, NutBody, ScrewBody, hole_for
from panelwright.plates import Frame, JointError, Stock, rectangle
from panelwright.plates.geometry.curves import Arc, cos_sin_deg
from panelwright.plates.geometry.frame import dot, minus
from readers import pairs, plays, region, shared_volume

ANGLES = range(30, 151, 5)
THICKNESSES = [(4.0, 4.0), (3.0, 6.0), (6.0, 3.0)]


def leaning(
    degrees: float, joint: Joint, ta: float = 4.0, tb: float = 4.0, *, width: float = 200.0, at: Frame | None = None
) -> Assembly:
    """A leaf 90 mm wide that stands on a level base at an angle, its lower edge over the base's middle; all moved by `at`."""
    at = at or Frame()
    assembly = Assembly("recipe stand", stock=Stock("thin", ta, measured=ta, cutter="knife", clearance=0.1))
    base = assembly.add("base", rectangle(140, width), at, stock=Stock("thick", tb, measured=tb, cutter="knife", clearance=0.1))
    cosine, sine = cos_sin_deg(degrees)
    lowest = min(0.0, ta * cosine)
    origin = (0.0, 40 * cosine, tb + 40 * sine - lowest)
    frame = Frame.facing(origin, show=(0.0, -sine, cosine), right=(1, 0, 0)).then(at)
    leaf = assembly.add("leaf", rectangle(90, 80), frame)
    edge = next(f for f in leaf.all_faces()[2:] if dot(f.normal, frame.y) < -1 + 1e-9)
    join(edge, base.show, joint)
    return assembly


def part(product: Product, name: str) -> Part:
    return next(p for p in product.parts if p.name == name)


def screws(product: Product) -> list[Bought]:
    return [b for b in product.bought if isinstance(b.fastener.body, ScrewBody)]


def nuts(product: Product) -> list[Bought]:
    return [b for b in product.bought if isinstance(b.fastener.body, NutBody)]


def cot(degrees: float) -> float:
    return 0.0 if degrees == 90 else 1 / math.tan(math.radians(degrees))


# tabs or none by turns, so that every two of angle, thicknesses and tabs meet
ALL_PAIRS = [
    pytest.param(degrees, *sizes, tabs(2, width=12) if (i + k) % 2 else None, id=f"{degrees}-{sizes}-{(i + k) % 2}")
    for k, degrees in enumerate(ANGLES)
    for i, sizes in enumerate(THICKNESSES)
]
assert all_meet([(degrees, sizes, more is None) for degrees, *sizes, more in (case.values for case in ALL_PAIRS)], 2)


@pytest.mark.parametrize(("degrees", "ta", "tb", "more"), ALL_PAIRS)
def test_plates_and_fasteners_share_nothing_at_any_angle(degrees: int, ta: float, tb: float, more: Any) -> None:
    """In steps of 5° no plate, screw or nut shares material with another, by the kernel's booleans, and all have their play.

    At each angle all thicknesses are looked at, some of them with tabs between the nuts.
    """
    product = leaning(degrees, t_nut("M3", 2, tabs=more), ta, tb).product()
    assert [f.code for f in product.findings] == ([] if degrees == 90 else ["SEAT"])
    assert len(product.bought) == 4
    everything = [*product.parts, *product.bought]
    looked = 0
    for a, b in pairs(everything):  # type: ignore[arg-type]  # any two things make a pair
        assert shared_volume(a, b) < 1e-6, (a.name, b.name)
        looked += 1
    assert looked == 15
    for nut in nuts(product):
        assert plays(nut, product.parts) == pytest.approx((0.1, 0.1), abs=1e-6)
    (record,) = product.joints
    assert record.numbers["measured_clearance_mm"] == pytest.approx([0.1, 0.1], abs=1e-6)


@pytest.mark.parametrize("degrees", ANGLES)
@pytest.mark.parametrize("size", SIZES)
def test_hole_is_the_shadow_of_the_clearance_hole(degrees: int, size: str) -> None:
    """The hole read from the base's solid is d wide along the line and d/sin φ + b·|cot φ| across it (plane trigonometry)."""
    product = leaning(degrees, t_nut(size, 1), 5, 4).product()
    d = hole_for(size)
    long = d / math.sin(math.radians(degrees)) + 4 * abs(cot(degrees))
    base = part(product, "base")
    (hole,) = [loop for loop in base.loops if loop.area < 0]
    x0, y0, x1, y1 = hole.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((d, long), abs=1e-6)
    assert -hole.area == pytest.approx(math.pi * d * d / 4 + d * (long - d), abs=1e-6)
    radii = [segment.radius for segment in hole if isinstance(segment, Arc)]
    assert radii == pytest.approx([d / 2] * (1 if degrees == 90 else 2))
    # and where the screw crosses: it comes out of the base's two faces inside the hole, as far from either end
    (bolt,) = screws(product)
    found = []
    for level in (0.0, 4.0):
        axis, start = bolt.frame.z, bolt.frame.origin
        along = (level - start[2]) / axis[2]
        found.append(start[1] + along * axis[1])
    assert sum(found) / 2 == pytest.approx((y0 + y1) / 2, abs=1e-6)
    assert abs(found[1] - found[0]) == pytest.approx(4 * abs(cot(degrees)), abs=1e-6)


@pytest.mark.parametrize("degrees", ANGLES)
@pytest.mark.parametrize("screw", ["ISO 4762", "ISO 7380-1"])
@pytest.mark.parametrize("size", ["M3", "M5"])
def test_head_touches_the_far_face_with_its_rim(degrees: int, screw: str, size: str) -> None:
    """The rim of the head's seat just clears the base, and the wedge below it is as long and as steep as trigonometry says."""
    product = leaning(degrees, t_nut(size, 1, screw=screw), 4, 4).product()
    (bolt,) = screws(product)
    body = bolt.fastener.body
    assert isinstance(body, ScrewBody)
    # the head stands under the base, whose far face is z = 0
    rim = [
        bolt.frame.point((body.dk / 2 * math.cos(a), body.dk / 2 * math.sin(a), 0.0))[2]
        for a in (math.tau * i / 720 for i in range(720))
    ]
    assert max(rim) == pytest.approx(0.0, abs=1e-4)
    numbers = product.joints[0].numbers
    if degrees == 90:
        assert "seat_wedge_deg" not in numbers
        assert bolt.frame.origin[2] == pytest.approx(0.0, abs=1e-9)
        return
    assert numbers["seat_wedge_deg"] == pytest.approx(abs(90 - degrees))
    assert numbers["head_off_mm"] == pytest.approx(body.dk / 2 * abs(cot(degrees)))
    # from the seat to where the axis leaves the base
    assert -bolt.frame.origin[2] / bolt.frame.z[2] == pytest.approx(numbers["head_off_mm"])
    tilt = math.degrees(math.acos(min(1.0, abs(bolt.frame.z[2]))))
    assert tilt == pytest.approx(abs(90 - degrees), abs=1e-6)
    (warning,) = product.findings
    can_be_made = abs(90 - degrees) <= 45  # a washer that is higher than it is wide is an error
    assert (warning.level, warning.code, warning.plates) == ("warning" if can_be_made else "error", "SEAT", ("leaf", "base"))
    assert not can_be_made or f"wedge-shaped washer of {abs(90 - degrees):.2f}°" in warning.message
    assert warning.numbers["washer_mm"] == pytest.approx(body.dk * abs(cot(degrees)))
    assert warning.place == pytest.approx(bolt.frame.origin)
    assert not can_be_made or numbers["warning"] in warning.message
    assert len(product.errors) == (not can_be_made)


@pytest.mark.parametrize("degrees", ANGLES)
@pytest.mark.parametrize(("ta", "tb"), THICKNESSES)
def test_nut_keeps_its_web_and_the_screw_passes_it(degrees: int, ta: float, tb: float) -> None:
    """The web is measured from the leaf's edge, square to its sheet, and the screw is the shortest that passes the nut."""
    product = leaning(degrees, t_nut("M3", 1), ta, tb).product()
    (bolt,), (held,), leaf = screws(product), nuts(product), part(product, "leaf")
    web = max(6.0, ta)
    # the pocket's nearer side, read from the leaf's solid beside its slot; the leaf's lower edge lies at y = -40
    flat = region(leaf)
    beside = flat.intersection(shapely.LineString([(2.2, -60), (2.2, 60)]))
    first = min(beside.geoms, key=lambda piece: piece.bounds[1])
    assert (first.bounds[1], first.bounds[3]) == pytest.approx((-40, -40 + web), abs=1e-6)
    x, y, z = leaf.frame.local(held.frame.origin)
    assert (x, y, z) == pytest.approx((0, -40 + web, ta / 2), abs=1e-6)
    assert isinstance(bolt.fastener.body, ScrewBody)
    start = dot(minus(held.frame.origin, bolt.frame.origin), bolt.frame.z)
    past = bolt.fastener.body.reach - start - NUTS["ISO 4032"]["M3"].m
    length = product.joints[0].numbers["screw_length_mm"]
    assert length == pytest.approx(bolt.fastener.body.reach)
    shorter = max(known for known in SCREWS["ISO 4762"]["M3"].lengths if known < length)
    assert PITCHES["M3"] <= past + 1e-9
    assert past - (length - shorter) < PITCHES["M3"]
    # between the leaf's corner and the base nothing is open but the wedge: the leading corner touches
    lowest = min(leaf.frame.point((0.0, -40.0, z))[2] for z in (0.0, ta))
    assert lowest == pytest.approx(tb, abs=1e-9)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("degrees", [30, 150])
def test_every_size_holds_at_the_flattest_angles(size: str, degrees: int) -> None:
    """In the thinnest sheet that holds its nut, where it stands out most, no nut or screw touches a plate at 30°."""
    t = math.ceil(2 * NUTS["ISO 4032"][size].s / math.sqrt(3) / 3 * 10) / 10
    product = leaning(degrees, t_nut(size, 1), t, 3, width=300).product()
    assert [f.code for f in product.findings] == ["SEAT"]
    for bought in product.bought:
        for plate in product.parts:
            assert shared_volume(bought, plate) < 1e-6


@pytest.mark.parametrize("degrees", [40, 75, 115])
def test_it_is_the_same_however_the_product_stands(degrees: int) -> None:
    """Turned oddly in space, plates keep their areas and nothing is touched."""
    joint = t_nut("M4", 2, tabs=tabs(2, width=10))
    upright = leaning(degrees, joint).product()
    turned = leaning(degrees, joint, at=Frame.turned((1, 2, 3), 37).shifted((13.7, -211.3, 57.1))).product()
    assert [p.area_mm2 for p in turned.parts] == pytest.approx([p.area_mm2 for p in upright.parts], abs=1e-6)
    assert [f.code for f in turned.findings] == ["SEAT"]
    for bought in turned.bought:
        for plate in turned.parts:
            assert shared_volume(bought, plate) < 1e-6


def test_a_hair_off_square_is_square() -> None:
    """Within a millionth of a degree the hole is a circle and no washer is asked for; a tenth of a degree off, one is."""
    square, hair, off = (leaning(90 + by, t_nut("M3", 1)).product() for by in (0, 5e-7, 0.1))
    for product in (square, hair):
        assert product.findings == ()
        (hole,) = [loop for loop in part(product, "base").loops if loop.area < 0]
        assert hole.is_circle
        assert "seat_wedge_deg" not in product.joints[0].numbers
    assert square.hardware == hair.hardware
    (hole,) = [loop for loop in part(off, "base").loops if loop.area < 0]
    # straight sides of 7 µm would be slivers: the hole is the circle round the obround
    assert hole.is_circle
    assert hole.bounds[2] - hole.bounds[0] == pytest.approx(3.4 / math.cos(math.radians(0.1)) + 4 * math.tan(math.radians(0.1)))
    assert [f.code for f in off.findings] == ["SEAT"]


@pytest.mark.parametrize(
    ("degrees", "joint", "width", "says"),
    [
        (60, t_nut("M4", 1, screw="ISO 10642"), 200, "30.00° off square, so a countersunk head finds no seat"),
        (30, t_nut("M3", 1), 16, r"holes of 3.4 × 13.73 mm in 'base' come nearer than 2.00 mm.*the middle of the holes"),
        (150, t_nut("M3", 1), 16, r"holes of 3.4 × 13.73 mm in 'base' come nearer than 2.00 mm"),
        (30, t_nut("M2.5", 1, web=17), 200, "ends at 25 mm; use a thinner mate"),
        (30, t_nut("M5", 1, web=4), 200, r"stands 2.62 mm out of 'leaf' and would meet the slanting face of 'base'.*4.54 mm"),
    ],
)
def test_what_does_not_work_is_an_error(degrees: float, joint: Any, width: float, says: str) -> None:
    """The message names the plates and says what to change."""
    with pytest.raises(JointError, match=says) as caught:
        leaning(degrees, joint, width=width).resolve()
    assert caught.value.plates == ("leaf", "base")
    assert caught.value.value is not None


@pytest.mark.parametrize("degrees", ANGLES)
def test_band_is_what_clipping_says(degrees: int) -> None:
    """The shadow of a strip between two heights equals that of shapely's clipped strip."""
    phi = math.radians(degrees)
    section = Section(4.0, 6.0, (math.sin(phi), math.cos(phi)), 2.0)
    nv, nz = math.sin(phi), math.cos(phi)
    slab = shapely.Polygon([(w * -nz + h * nv, w * nv + h * nz) for w, h in ((-999, 2), (999, 2), (999, 8), (-999, 8))])
    inside = shapely.box(-500, 0.3, 500, 3.7).intersection(slab)
    along = [x * -nz + z * nv for x, z in inside.exterior.coords]
    assert section.band(0.3, 3.7) == pytest.approx((min(along), max(along)), abs=1e-6)


@pytest.mark.parametrize(
    ("degrees", "level"), [(30, "error"), (44, "error"), (45, "warning"), (135, "warning"), (150, "error")]
)
def test_a_wedge_higher_than_it_is_wide_is_an_error(degrees: int, level: str) -> None:
    """The washer of an M3 head, 5.5 mm, rises by 5.5 · |cot φ|: 9.53 mm at 30°, which nobody makes or keeps in place."""
    (found,) = leaning(degrees, t_nut("M3", 2), 4, 4).product().findings
    assert (found.level, found.code) == (level, "SEAT")
    assert found.numbers["washer_mm"] == pytest.approx(5.68 * abs(cot(degrees)), abs=0.3)
    assert ("let the plates meet at 45° to 135°" in found.message) == (level == "error")
