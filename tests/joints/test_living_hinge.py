"""Living hinges between two plates: the cylinder that is found, the sizes that are settled, and limits that hold."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from hinges import ACRYLIC, PLY, TURNS, edge, errors_of, numbers_of, stand
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.design.flattening import flattened
from panelwright.joints import join, living_hinge
from panelwright.joints.kinds.hinges.hinge_findings import is_sound
from panelwright.joints.kinds.hinges.hinge_mechanics import least_links, least_radius
from panelwright.joints.kinds.hinges.hinge_settling import LINK_LENGTH, NARROWEST_LINK, PLAIN_SLIT, WIDE_SLIT
from panelwright.joints.kinds.hinges.living_hinge import LivingHinge
from panelwright.joints.meeting.side import Bend
from panelwright.joints.spec.pattern import Setting
from panelwright.plates import Stock, bent_on, rectangle
from panelwright.plates.geometry.bending import RoundPiece
from panelwright.plates.geometry.curves import Loop
from readers import is_valid, solids_in, volume


def bend_of(assembly: Assembly) -> Bend:
    (made,) = assembly.resolve().made
    assert made.contact.bend is not None
    return made.contact.bend


# the cylinder that is found


@given(
    radius=st.floats(8, 200),
    angle_deg=st.floats(2, 340),
    toward=st.sampled_from(["show", "back"]),
    number=st.integers(0, 3),
    turn=st.sampled_from(sorted(TURNS)),
    shift=st.floats(-20, 20),
)
@settings(max_examples=80, deadline=None)
def test_bend_is_the_one_that_the_plate_was_placed_round(
    radius: float, angle_deg: float, toward: str, number: int, turn: str, shift: float
) -> None:
    """Radius, angle and side come back from where the plates stand, and what is common to both edges."""
    sizes = {"front": (80.0, 60.0), "side": (50.0, 44.0)}
    assembly = stand(radius=radius, angle_deg=angle_deg, toward=toward, number=number, shift=shift, at=TURNS[turn], **sizes)
    contact = living_hinge().meet(*_holds(assembly))
    bend = contact.bend
    assert bend is not None
    assert bend.radius == pytest.approx(radius, abs=1e-5)
    assert bend.angle_deg == pytest.approx(angle_deg, abs=1e-7)
    assert bend.to_show is (toward == "show")
    assert bend.thickness == 3.0
    assert bend.length == pytest.approx(math.radians(angle_deg) * (radius + 1.5), abs=1e-5)
    own, others = (80.0, 50.0) if number in (0, 2) else (60.0, 44.0)
    # the other plate is centred on the edge, then shifted along it
    low, high = max(-own / 2, shift - others / 2), min(own / 2, shift + others / 2)
    assert bend.span == pytest.approx((low + own / 2, high + own / 2), abs=1e-6)
    assert_motion_is_the_frames(bend)


def _holds(assembly: Assembly) -> Any:
    (rule,) = flattened(assembly)[1]
    return rule.first, rule.second


def assert_motion_is_the_frames(bend: Bend) -> None:
    """The second plate laid flat beside the first, and rolled up again, stands where it stands."""
    first, second = bend.first.body, bend.second.body
    angle = math.radians(bend.angle_deg) * (1 if bend.to_show else -1)
    piece = RoundPiece(
        (),
        first.frame,
        bend.first.flat(0.0, 0.0),
        bend.first.along,
        bend.first.across,
        bend.middle_radius,
        angle,
        bend.thickness,
    )
    scale = max(1.0, bend.radius)
    for x, y, z in ((0.0, 0.0, 0.0), (17.0, -9.0, 3.0), (-25.0, 22.0, 1.5)):
        laid = bend.motion.apply((x, y))
        assert math.dist(piece.beyond.point((*laid, z)), second.frame.point((x, y, z))) < 1e-8 * scale
    assert not bend.motion.flips
    # the bend lines themselves
    for u in (bend.span[0], bend.span[1]):
        from_first = piece.point(bend.first.flat(u, bend.length), 1.5)
        assert math.dist(from_first, second.frame.point((*bend.second.flat(u, 0.0), 1.5))) < 1e-8 * scale


def shape_of(product: Product) -> tuple[Loop, ...]:
    (panel,) = product.panels
    return panel.loops


@cache
def plain_shape(pattern: Any) -> tuple[Loop, ...]:
    """The panel of the product as it stands without a turn."""
    return shape_of(stand(living_hinge(pattern=pattern)).product())


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("pattern", ["staggered", "obround", "chevron"])
def test_panel_is_the_same_however_the_product_stands(pattern: Any, turn: str) -> None:
    """Turned by any turn of a cube, or oddly: the same loops, one valid solid of their area times the thickness."""
    product = stand(living_hinge(pattern=pattern), at=TURNS[turn]).product()
    assert product.findings == ()
    wanted, found = plain_shape(pattern), shape_of(product)
    assert len(wanted) == len(found) > 20
    for one, other in zip(wanted, found, strict=True):
        assert other.area == pytest.approx(one.area, abs=1e-6)
        assert other.bounds == pytest.approx(one.bounds, abs=1e-6)
    (part,) = product.parts
    assert is_valid(part.solid)
    assert solids_in(part.solid) == 1
    assert volume(part.solid) == pytest.approx(part.area_mm2 * 3.0, rel=1e-6)


@pytest.mark.parametrize("toward", ["show", "back"])
def test_either_plate_may_be_named_first(toward: str) -> None:
    """With the faces the other way round it is the same strip, laid from the other side."""
    forth = stand(toward=toward)
    back = Assembly("card stand", stock=PLY)
    front = back.add("front", rectangle(80, 60))
    side = back.add("side", rectangle(50, 60), bent_on(front.face(">X"), radius=45, angle_deg=90, toward=toward))  # type: ignore[arg-type]  # text of a case
    join(edge(side, 3), edge(front, 1), living_hinge())
    assert bend_of(back).radius == pytest.approx(bend_of(forth).radius, abs=1e-9)
    assert bend_of(back).length == pytest.approx(bend_of(forth).length, abs=1e-9)
    assert_motion_is_the_frames(bend_of(back))
    one, other = forth.product(), back.product()
    assert one.findings == other.findings == ()
    assert other.panels[0].area_mm2 == pytest.approx(one.panels[0].area_mm2, abs=1e-6)
    assert other.panels[0].bbox_mm == pytest.approx(one.panels[0].bbox_mm, abs=1e-6)


# sizes that are settled


def test_sizes_that_are_left_out() -> None:
    """Links of one thickness, slits of the kerf, bridges of a thickness, links free over four, whole periods."""
    numbers = numbers_of(stand(radius=100))
    assert numbers["slit_mm"] == PLY.kerf
    assert numbers["bridge_mm"] == 3.0
    assert numbers["link_mm"] == pytest.approx(3.0, abs=0.1)
    # slits of 2·4·3 + 3 = 27 mm and bridges of 3 mm go about twice into 60 mm less the bridge at one border: (57 - 2·3)/2
    assert numbers["slit_length_mm"] == pytest.approx(25.5)
    assert numbers["link_length_mm"] == pytest.approx((25.5 - 3) / 2)
    exact = numbers_of(stand(radius=100, front=(80.0, 63.0), side=(50.0, 63.0)))
    assert exact["link_length_mm"] == pytest.approx(LINK_LENGTH * 3.0)
    assert numbers["columns"] * (numbers["link_mm"] + 0.2) == pytest.approx(numbers["strip_mm"][0])
    assert numbers_of(stand(radius=100, stock=replace(PLY, kerf=0.0)))["slit_mm"] == PLAIN_SLIT
    wide = numbers_of(stand(living_hinge(pattern="obround"), radius=100))
    assert wide["slit_mm"] == pytest.approx(max(WIDE_SLIT * 3.0, 3 * 0.2))


def test_links_are_narrowed_where_the_bend_asks_for_it() -> None:
    """On a tighter bend, as many columns as links of one thickness need are had by narrower links."""
    wide, tight = numbers_of(stand(radius=60)), numbers_of(stand(radius=40))
    assert wide["link_mm"] == pytest.approx(3.0, abs=0.1)
    assert wide["columns"] - 1 > wide["least_links"]
    assert NARROWEST_LINK * 3.0 < tight["link_mm"] < 2.6
    assert tight["columns"] - 1 >= tight["least_links"]
    assert stand(radius=40).check() == ()
    # one column fewer would be too few for links that wide
    length = tight["strip_mm"][0]
    fewer = tight["columns"] - 1
    assert least_links(90, thickness=3, width=length / fewer - 0.2, gap=0.2) > fewer - 1


def test_the_published_case() -> None:
    """90°, 3 mm links, slits of 0.2 mm: 23 links and 44 mm (lattice-hinge articles at defproc.co.uk, 2012).

    That radius lets links meet edge to edge along the inner face.  The strip of a joint also holds a slit more than links,
    and its middle keeps its length, so it takes (24 · 3.2)/(π/2) − 1.5 = 47.39 mm.
    """
    numbers = numbers_of(stand(living_hinge(link=3), radius=50))
    assert numbers["least_links"] == 23
    edge_to_edge = least_radius(90, thickness=3, width=3, gap=0.2, length=numbers["link_length_mm"]).inner_radius_mm
    assert round(edge_to_edge) == 44
    assert numbers["least_inner_radius_mm"] == 47.40
    assert math.ceil((24 * 3.2 / (math.pi / 2) - 1.5) * 100) / 100 == 47.40
    assert stand(living_hinge(link=3), radius=47.40).check() == ()
    (finding,) = stand(living_hinge(link=3), radius=47.38).check()
    assert finding.code == "HINGE"


LIMITED: list[tuple[str, LivingHinge, Stock, float, float]] = [
    ("gap", living_hinge(), PLY, 20.0, 90.0),
    ("gap, given link", living_hinge(link=2.2), PLY, 25.0, 90.0),
    ("gap, chevron", living_hinge(pattern="chevron"), PLY, 12.0, 90.0),
    ("gap, obround", living_hinge(pattern="obround"), PLY, 4.0, 120.0),
    ("stress", living_hinge(slit_length=9), replace(ACRYLIC, shear_strength=12), 30.0, 90.0),
    ("stress, given link", living_hinge(link=2.0, slit_length=12), replace(ACRYLIC, shear_strength=10), 20.0, 60.0),
    ("both", living_hinge(), replace(ACRYLIC, shear_strength=20), 10.0, 200.0),
]


@pytest.mark.parametrize(("name", "hinge", "stock", "radius", "angle_deg"), LIMITED, ids=[row[0] for row in LIMITED])
def test_a_radius_below_the_limit_is_told_the_least_one_and_that_works(
    name: str, hinge: LivingHinge, stock: Stock, radius: float, angle_deg: float
) -> None:
    """HINGE names the plates, the radius and the least one; with that one nothing is wrong, and a little less is too tight."""
    found = [f for f in errors_of(stand(hinge, radius=radius, angle_deg=angle_deg, stock=stock)) if f.code == "HINGE"]
    assert found
    for finding in found:
        assert finding.plates == ("front", "side")
        assert f"living_hinge between 'front' and 'side', inner radius {radius:.2f} mm" in finding.message
        least = finding.numbers["least_inner_radius_mm"]
        assert f"to an inner radius of {least:.2f} mm at least" in finding.message
        assert finding.numbers["inner_radius_mm"] == pytest.approx(radius)
        assert finding.numbers["links"] < finding.numbers["least_links"]
    assert least > radius
    assert errors_of(stand(hinge, radius=least, angle_deg=angle_deg, stock=stock)) == []
    tighter = stand(hinge, radius=least - 0.02, angle_deg=angle_deg, stock=stock)
    assert [f.code for f in errors_of(tighter)][:1] == ["HINGE"]
    if "stress" in name:
        assert any("shear stress in links " in f.message for f in found)


ADVISED = [
    ("gap", living_hinge(), PLY, 20.0, 90.0, {"slit"}),
    ("gap, given link", living_hinge(link=2.2), PLY, 25.0, 90.0, {"slit", "link"}),
    ("gap, chevron", living_hinge(pattern="chevron"), PLY, 12.0, 90.0, {"slit"}),
    ("gap, obround", living_hinge(pattern="obround"), PLY, 4.0, 120.0, {"slit"}),
    ("stress", living_hinge(slit_length=9), replace(ACRYLIC, shear_strength=12), 60.0, 90.0, {"slit_length"}),
]


@pytest.mark.parametrize(("name", "hinge", "stock", "radius", "angle_deg", "named"), ADVISED, ids=[row[0] for row in ADVISED])
def test_advice_names_parameters_and_values_that_pass(
    name: str, hinge: LivingHinge, stock: Stock, radius: float, angle_deg: float, named: set[str]
) -> None:
    """Each value by itself makes the hinge sound; a hundredth of a millimetre less does not; nothing else is named."""
    strip = strip_of(stand(hinge, radius=radius, angle_deg=angle_deg, stock=stock))
    (text, *_) = [text for level, text in strip.remarks if level == "error"]
    advised = dict(re.findall(r"\b(\w+)=([\d.]+)", text))
    assert set(advised) == named
    assert "columns" not in text
    for key, value in advised.items():
        again = strip_of(stand(replace(hinge, **{key: float(value)}), radius=radius, angle_deg=angle_deg, stock=stock))
        assert is_sound(again.mechanics)
        if key != "slit_length":
            milder = float(value) + (0.01 if key == "link" else -0.01)
            tried = strip_of(stand(replace(hinge, **{key: milder}), radius=radius, angle_deg=angle_deg, stock=stock))
            assert not is_sound(tried.mechanics)


@given(
    angle_deg=st.floats(10, 300),
    kerf=st.floats(0.05, 0.5),
    thickness=st.floats(1.5, 8),
    strength=st.one_of(st.none(), st.floats(5, 80)),
    pattern=st.sampled_from(["staggered", "obround", "chevron"]),
    link=st.one_of(st.none(), st.floats(1, 6)),
)
@settings(max_examples=150, deadline=None)
def test_least_radii_always_work(
    angle_deg: float, kerf: float, thickness: float, strength: float | None, pattern: Any, link: float | None
) -> None:
    """Whatever the sizes: at the least radius that a hinge states, its links clear each other and hold."""
    stock = Stock("cast acrylic", thickness, measured=thickness, kerf=kerf, shear_modulus=1148, shear_strength=strength)
    hinge = living_hinge(pattern=pattern, link=link)
    strip = strip_of(stand(hinge, radius=500, angle_deg=angle_deg, stock=stock, front=(80, 200), side=(50, 200)))
    least = strip.least_radius
    tight = strip_of(stand(hinge, radius=least, angle_deg=angle_deg, stock=stock, front=(80, 200), side=(50, 200)))
    assert [text for level, text in tight.remarks if level == "error"] == []
    assert tight.mechanics.series >= tight.mechanics.least_links
    assert tight.least_radius == pytest.approx(least, abs=1e-6)


def strip_of(assembly: Assembly) -> Any:
    """The strip that the joint lays out, without building anything."""
    (rule,) = flattened(assembly)[1]
    contact = rule.joint.meet(rule.first, rule.second)
    return rule.joint.lay_out(contact, Setting(0.0, contact.stretches, (), contact.stretches)).strip


def test_stress_asks_for_more_columns() -> None:
    """With a strength stated, links are narrowed until they hold; without one, only the gap counts."""
    plain = numbers_of(stand(radius=47, stock=replace(ACRYLIC, shear_strength=None)))
    strong = numbers_of(stand(radius=47, stock=replace(ACRYLIC, shear_strength=20)))
    assert strong["columns"] > plain["columns"]
    assert strong["shear_stress_mpa"] <= strong["shear_limit_mpa"] == 10.0
    assert plain["shear_stress_mpa"] > 10.0
    assert "shear_limit_mpa" not in plain
    assert strong["limited_by"] == "stress"
    assert strong["spring_back_nmm"] > 0


@pytest.mark.parametrize(("grain", "word", "level"), [("y", "along", "note"), ("x", "across", "warning"), (None, None, None)])
def test_grain_is_judged_along_the_bend(grain: Any, word: str | None, level: str | None) -> None:
    """The bend line runs along the panel's y; grain across it is warned of."""
    assembly = stand(stock=replace(PLY, grain=grain))
    assert numbers_of(assembly).get("grain") == word
    found = [f.level for f in assembly.check() if f.code == "HINGE"]
    assert found == (["warning"] if level == "warning" else [])
    turned = stand(number=2, stock=replace(PLY, grain=grain), side=(80.0, 50.0))
    assert numbers_of(turned).get("grain") == {"along": "across", "across": "along", None: None}[word]
