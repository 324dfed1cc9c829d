"""Faces by CadQuery's selectors, on plates that stand any way, and what stays good after joining."""

from __future__ import annotations

import cadquery as cq
import pytest
from panelwright.assemblies import Assembly
from panelwright.joints import join, tabs
from panelwright.plates import Frame, PlacedPlate, SelectionError, Stock, hole, polygon, rectangle, standing
from panelwright.plates._kernel.solids.booleans import placed_solid
from panelwright.plates.geometry.frame import dot
from scenes import cube_turns

PLY = Stock("birch plywood", 4.0)
SHAPES = {
    "rectangle": rectangle(60, 40),
    "L": polygon([(-30, -20), (30, -20), (30, 5), (0, 5), (0, 20), (-30, 20)]),
    "with holes": rectangle(60, 40).cut(hole(10), rectangle(8, 6).at(18, 3)),
    "rounded": rectangle(60, 40).rounded(5),
}
SELECTORS = [">X", "<X", ">Y", "<Y", ">Z", "<Z", "|X", "|Y", "|Z", "#Z", ">X or <X", "|Z and >Z", "not |Z", ">Z[-2]"]
TURNS = {str(i): frame for i, frame in enumerate(cube_turns()[::5])} | {"odd": Frame.turned((1, 2, 3), 37)}


def placed(shape: str, frame: Frame) -> PlacedPlate:
    return Assembly("one", stock=PLY).add("plate", SHAPES[shape], frame)


def kernel_middles(plate: PlacedPlate, selector: str) -> list[tuple[float, ...]]:
    """Middles of the faces that CadQuery picks on the plate's solid where it stands."""
    solid = cq.Workplane(obj=cq.Shape.cast(placed_solid((plate.plate.to_cadquery().wrapped, plate.frame))))
    try:
        found = solid.faces(selector).vals()
    except (IndexError, ValueError):  # CadQuery's way to say that nothing matches
        found = []
    return sorted(tuple(round(v, 4) + 0.0 for v in face.Center().toTuple()) for face in found)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("selector", SELECTORS)
def test_selectors_pick_what_cadquery_picks(shape: str, turn: str, selector: str) -> None:
    """As many faces as CadQuery picks on the solid; flat edge faces lie in the same middles."""
    plate = placed(shape, TURNS[turn])
    wanted = kernel_middles(plate, selector)
    if not wanted:
        with pytest.raises(SelectionError, match="picks no face"):
            plate.faces(selector)
        return
    found = plate.faces(selector)
    assert len(found) == len(wanted)
    assert len({face.place for face in found}) == len(found)
    flat = [face for face in found if not face.is_broad and type(face.segment).__name__ == "Line"]
    for face in flat:
        assert tuple(round(v, 4) + 0.0 for v in face.middle) in wanted


@pytest.mark.parametrize("turn", TURNS)
def test_every_face_is_found_by_its_own_direction(turn: str) -> None:
    """Each face of a box-shaped plate looks away from the middle of the plate."""
    plate = placed("rectangle", TURNS[turn])
    middle = plate.frame.point((0, 0, 2))
    faces = plate.all_faces()
    assert len(faces) == 6
    for face in faces:
        away = tuple(a - b for a, b in zip(face.middle, middle, strict=True))
        assert dot(face.normal, away) > 0  # type: ignore[arg-type]  # three numbers
        assert dot(face.normal, face.normal) == pytest.approx(1)


def test_show_and_back() -> None:
    """The show face is local +Z; standing plates show where they were told to."""
    stand = Assembly("stand", stock=PLY)
    base = stand.add("base", rectangle(80, 60))
    wall = stand.add("wall", rectangle(80, 40), standing(base.face(">Z"), facing="-Y"))
    assert base.face(">Z").place == base.show.place == ("show",)
    assert base.face("<Z").place == base.back.place == ("back",)
    assert wall.face("<Y").place == ("show",)
    assert wall.show.normal == pytest.approx((0, -1, 0))


def test_one_face_is_asked_for_and_several_are_found() -> None:
    """`face` lists what it found and says how to narrow it."""
    plate = placed("rectangle", Frame())
    with pytest.raises(SelectionError, match="picks 2 faces") as caught:
        plate.face("|Z")
    assert (caught.value.plates, caught.value.face, caught.value.value) == (("plate",), "|Z", 2)
    assert "faces()" in str(caught.value)
    assert isinstance(caught.value, LookupError)


@pytest.mark.parametrize("selector", ["", ">W", "nonsense", ">>", ">Z and", "%SPHERE(", "x"])
def test_selectors_that_are_not_understood(selector: str) -> None:
    """Bad syntax is our error with the selector in it, whatever the parser threw."""
    with pytest.raises(SelectionError) as caught:
        placed("rectangle", Frame()).faces(selector)
    assert repr(selector) in str(caught.value)


def test_no_face_of_that_kind() -> None:
    """A selector that is understood but finds nothing lists the faces that there are."""
    with pytest.raises(SelectionError, match=r"picks no face; it has show face \(looks to \+Z\); back face"):
        placed("rectangle", Frame()).faces("%CYLINDER")


def test_selections_stay_good_whatever_is_joined() -> None:
    """Faces are those of the plate as designed: joins and resolving change neither handles nor what is picked later."""
    stand = Assembly("stand", stock=PLY)
    base = stand.add("base", rectangle(120, 80))
    wall = stand.add("wall", rectangle(100, 40), standing(base.face(">Z"), facing="-Y", inset=None))
    before = {selector: wall.face(selector).place for selector in ("<Z", ">Z", "<X", ">X", "<Y", ">Y")}
    edge = wall.face("<Z")
    join(edge, base.face(">Z"), tabs(count=3, width=10))
    stand.resolve()
    assert {selector: wall.face(selector).place for selector in before} == before
    assert stand["wall"].face("<Z").place == edge.place
    assert edge.middle == pytest.approx((0, 0, 4))


def test_corner_selectors_of_outlines() -> None:
    """Vertex selectors pick corners of outlines the CadQuery way; bad ones are said."""
    upper = rectangle(60, 40).rounded(5, ">Y")
    assert len(upper.outer) == 6
    one = rectangle(60, 40).rounded(5, ">Y and >X")
    assert len(one.outer) == 5
    for selector in ("nonsense", ">Y and"):
        with pytest.raises(SelectionError):
            rectangle(60, 40).rounded(5, selector)
