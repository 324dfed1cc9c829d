"""Faces, plates and sizes that a living hinge refuses: each error names the plates, the value and the limit."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any

import pytest
from hinges import PLY, beyond, edge, errors_of, stand, two
from panelwright.assemblies import Assembly
from panelwright.joints import join, living_hinge
from panelwright.joints.kinds.hinges.living_hinge import LivingHinge
from panelwright.plates import Face, Frame, JointError, PlacementError, SizeError, Stock, bent_on, disc, polygon, rectangle


def refused(assembly: Assembly, first: Any, second: Any, hinge: LivingHinge | None = None) -> JointError:
    join(first, second, hinge or living_hinge())
    with pytest.raises(JointError) as caught:
        assembly.resolve()
    found = errors_of(assembly)
    assert [finding.code for finding in found if finding.message == str(caught.value)] == ["JOINT"]
    assert set(caught.value.plates) == {"front", "side"}
    for name in ("'front'", "'side'"):
        assert name in str(caught.value)
    return caught.value


def test_broad_faces_are_refused() -> None:
    """A hinge joins edges, not broad faces."""
    assembly, front, side = two(beyond())
    error = refused(assembly, front.show, side.show)
    assert "of 'front' is a broad face; a hinge joins two edge faces" in str(error)


def test_curved_edges_are_refused() -> None:
    """The message names the curved face."""
    assembly, front, side = two(beyond(), other=disc(60))
    error = refused(assembly, edge(front, 1), Face(side, ("edge", 0, 0), "rim"))
    assert "of 'side' is curved; a hinge needs straight edges" in str(error)


@pytest.mark.parametrize(
    "stock",
    [
        Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, clearance=0.08),
        Stock("MDF", 3.0, measured=3.0, kerf=0.2),
        replace(PLY, kerf=0.1),
    ],
    ids=["thicker", "other material", "other kerf"],
)
def test_plates_of_two_stocks_are_refused(stock: Stock) -> None:
    """Hinge and plates are one panel, so they are of one stock; both are named."""
    assembly, front, side = two(beyond(), stock=stock)
    error = refused(assembly, edge(front, 1), edge(side, 3))
    assert f"'front' is of birch plywood 3 mm and 'side' of {stock.material} {stock.t:g} mm" in str(error)
    assert "give both one stock" in str(error)


@pytest.mark.parametrize(("about", "degrees"), [("Z", 0.5), ("X", 2.0), ("Y", 0.25)])
def test_edges_out_of_parallel_are_refused(about: str, degrees: float) -> None:
    """By how many degrees is said, whichever way the plate is turned; about the bend's own axis it is another matter."""
    tilt = Frame.turned(about, degrees).then(beyond())
    assembly, front, side = two(tilt)
    error = refused(assembly, edge(front, 1), edge(side, 3))
    if about == "Y":
        assert "no cylinder is tangent to both" in str(error)
        return
    assert f"their edges are {degrees:.3f}° out of parallel; turn one of the plates" in str(error)
    assert error.value == pytest.approx(math.sin(math.radians(degrees)), rel=1e-6)


@pytest.mark.parametrize("shift", [(0.0, 0.0, 0.0), (0.0, 0.0, 4.0)], ids=["level", "raised"])
def test_plates_that_do_not_turn_are_refused(shift: tuple[float, float, float]) -> None:
    """In one plane or in parallel planes there is no cylinder; the way to hinge one flat sheet is named."""
    assembly, front, side = two(Frame((120.0, 0.0, 0.0)).shifted(shift))
    error = refused(assembly, edge(front, 1), edge(side, 3))
    assert "no cylinder to bend round; for a hinge laid into one flat plate use Assembly.add_bent()" in str(error)
    assert error.limit == (1.0, 350.0)


@pytest.mark.parametrize(("by", "word"), [(0.4, "further in"), (-7.0, "further out")])
def test_a_plate_off_its_place_is_told_how_far(by: float, word: str) -> None:
    """The distance along the first plate by which the second is out of place."""
    assembly, front, side = two(beyond().shifted((by, 0.0, 0.0)))
    error = refused(assembly, edge(front, 1), edge(side, 3))
    assert f"would have to stand {abs(by):.3f} mm" in str(error)
    assert "place it with bent_on()" in str(error)
    assert isinstance(error.value, float)
    assert abs(error.value) == pytest.approx(abs(by), abs=1e-9)
    assert (word in str(error)) is True


def test_plates_that_look_to_different_sides_are_refused() -> None:
    """A plate turned over looks to the inside of the bend where the other looks out."""
    over = Frame((0.0, 0.0, 3.0), (1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0))
    assembly, front, side = two(over.then(beyond()))
    error = refused(assembly, edge(front, 1), edge(side, 3))
    assert "look to different sides of the bend; turn one of them over" in str(error)


def test_plates_too_close_to_bend_between_are_refused() -> None:
    """Middles a millimetre apart leave an inner radius of less than nothing."""
    frame = beyond(radius=5.0).shifted((-5.5, 0.0, 5.5))
    assembly, front, side = two(frame)
    error = refused(assembly, edge(front, 1), edge(side, 3))
    assert "inner radius would be -0.500 mm; it must be above 0, so move the plates further apart" in str(error)
    assert error.value == pytest.approx(-0.5, abs=1e-9)
    assert error.limit == 0.0


def test_edges_that_do_not_face_each_other_are_refused() -> None:
    """Slid along the bend line until nothing is opposite."""
    assembly, front, side = two(beyond().shifted((0.0, 60.5, 0.0)))
    error = refused(assembly, edge(front, 1), edge(side, 3))
    assert "their edges don't face each other anywhere along the joint line" in str(error)


def test_a_plate_is_not_hinged_to_itself() -> None:
    """Both edges of one plate."""
    _, front, _ = two(beyond())
    with pytest.raises(JointError, match="plate 'front' would be joined to itself"):
        join(edge(front, 1), edge(front, 3), living_hinge())


def test_another_radius_than_the_plates_leave_is_refused() -> None:
    """A radius that is given is checked; both are named."""
    error = refused(*_faces(stand(living_hinge(44.5))))
    assert "the plates leave an inner radius of 45.000 mm where 44.5 mm is asked for" in str(error)
    assert (error.value, error.limit) == (pytest.approx(45.0), 44.5)
    assert stand(living_hinge(45.0)).check() == ()


def _faces(assembly: Assembly) -> Any:
    """The same plates, not yet joined, with the faces and the hinge that were to join them."""
    (recorded,) = assembly._joins
    bare = Assembly("card stand", stock=PLY)
    placed = {name: bare.add(name, assembly[name].plate, assembly[name].frame) for name in ("front", "side")}
    return bare, edge(placed["front"], 1), edge(placed["side"], 3), recorded.joint


def test_a_whole_plate_is_searched_for_its_edge() -> None:
    """Given the plate, the edge that fits is found; none, or more than one, is an error that says so."""
    assembly, front, side = two(beyond())
    join(edge(front, 1), side, living_hinge())
    (made,) = assembly.resolve().made
    # half a sheet outside the axis at (40, −45), past the bend
    assert made.contact.faces[1] == "straight edge face at (86.5, 0.0, -45.0)"
    away, front, side = two(beyond().shifted((0.0, 0.0, -5.0)))
    error = refused(away, edge(front, 1), side)
    # of all its edges the one that comes nearest says why
    assert "no cylinder is tangent to both" in str(error)
    assert "straight edge face at (86.5, 0.0, -50.0) of 'side'" in str(error)
    assert error.value == pytest.approx(-5.0)
    step = polygon([(-25, -30), (25, -30), (25, 30), (-25, 30), (-25, 10), (-20, 10), (-20, -10), (-25, -10)])
    both, front, side = two(beyond(), other=step)
    error = refused(both, edge(front, 1), side)
    assert "2 edges of 'side' can be reached" in str(error)
    assert "pick one with face()" in str(error)


@pytest.mark.parametrize(
    ("options", "text"),
    [
        ({"radius": 0}, "radius of a hinge is 0 mm"),
        ({"radius": math.nan}, "radius of a hinge"),
        ({"link": -1}, "link of a hinge is -1 mm"),
        ({"slit": 0}, "slit of a hinge is 0 mm"),
        ({"slit_length": math.inf}, "slit_length of a hinge"),
        ({"bridge": -0.1}, "bridge of a hinge is -0.1 mm"),
        ({"pattern": "woven"}, "'woven'; give one of staggered, obround, chevron"),
        ({"panel": " "}, "panel= of a hinge is ' '"),
        ({"panel": 3}, "panel= of a hinge is 3"),
    ],
)
def test_sizes_that_no_hinge_has(options: dict[str, Any], text: str) -> None:
    """Bad sizes are refused before anything is built."""
    with pytest.raises(SizeError, match=re.escape(text)):
        living_hinge(**options)


@pytest.mark.parametrize(
    ("options", "text"),
    [
        ({"angle_deg": 0.5}, "angle of bent_on() is 0.5°; give 1 to 350°"),
        ({"angle_deg": 351}, "angle of bent_on() is 351°"),
        ({"toward": "left"}, "toward of bent_on() is 'left'; give 'show' or 'back'"),
    ],
)
def test_places_that_no_bend_has(options: dict[str, Any], text: str) -> None:
    """`bent_on` names what it was given and the limits."""
    with pytest.raises(PlacementError, match=re.escape(text)):
        stand(**options)
    assembly = Assembly("card stand", stock=PLY)
    front = assembly.add("front", rectangle(80, 60))
    with pytest.raises(PlacementError, match="give a straight edge face"):
        bent_on(front.show, radius=45, angle_deg=90)


@pytest.mark.parametrize(
    ("hinge", "sizes", "text", "limit"),
    [
        (living_hinge(slit=0.15), {}, "slits of 0.15 mm are narrower than the kerf of 0.2 mm", 0.2),
        (living_hinge(slit_length=6), {}, "slits of 6 mm are too short for bridges of 3 mm; give at least 9 mm", 12.0),
        (
            living_hinge(),
            {"side": (50.0, 11.0)},
            "face each other on 11.00 mm only, and slits with bridges of 3 mm need 15",
            12.0,
        ),
        (living_hinge(link=40), {}, "room for 1 columns of slits 40.20 mm apart, and a hinge needs two", None),
        (living_hinge(), {"radius": 1.0, "angle_deg": 20.0}, "room for 0 columns of slits 1.70 mm apart", None),
        (
            living_hinge(pattern="chevron", link=0.1, slit=2.0),
            {},
            "links of 0.100 mm leave nothing between slits of 2 mm",
            None,
        ),
    ],
)
def test_sizes_that_leave_no_hinge(hinge: LivingHinge, sizes: dict[str, Any], text: str, limit: float | None) -> None:
    """The joint, its plates, the value and the limit are named."""
    assembly = stand(hinge, **sizes)
    with pytest.raises(JointError) as caught:
        assembly.resolve()
    error = caught.value
    assert str(error).startswith("living_hinge between straight edge face at (40.0, 0.0, 1.5) of 'front' and straight edge")
    assert text in str(error)
    assert error.plates == ("front", "side")
    assert error.value is not None
    if limit is not None:
        assert error.limit == pytest.approx(limit)


def test_the_radius_that_has_room_for_two_columns_is_the_limit() -> None:
    """The limit of the error about columns is the radius from which on there are two."""
    hinge = living_hinge(link=20, slit=4)
    with pytest.raises(JointError) as caught:
        stand(hinge, radius=20).resolve()
    limit = caught.value.limit
    assert isinstance(limit, float)
    assert 20 < limit < 45
    assert len(stand(hinge, radius=limit + 0.01).resolve().made) == 1
    with pytest.raises(JointError, match="a hinge needs two"):
        stand(hinge, radius=limit - 0.01).resolve()


@pytest.mark.parametrize("name", ["link", "slit", "slit_length", "bridge"])
def test_sizes_no_beam_can_cut_are_refused_at_once(name: str) -> None:
    """With the least that can be given, before any column is laid out."""
    given: dict[str, Any] = {name: 1e-9}
    with pytest.raises(SizeError, match=rf"^{name} of a hinge is 1e-09 mm; it must be 0\.01 mm or more$") as caught:
        living_hinge(**given)
    assert caught.value.limit == 0.01
    assert getattr(living_hinge(**dict.fromkeys(given, 0.01)), name) == 0.01
