"""Selector strings mean what they mean to CadQuery: the same strings are refused, and the same faces are chosen.

CadQuery's own parser and its own selectors stand beside ours, on thousands of strings made by chance, the same in every
run.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from functools import cache, lru_cache

import cadquery as cq
import pytest
from cadquery.occ_impl.shape_protocols import geom_LUT_EDGE, geom_LUT_FACE
from panelwright.assemblies import Assembly, bend
from panelwright.plates import Frame, PlacedPlate, SelectionError, Stock, hole, outline_of, polygon, rectangle
from panelwright.plates._kernel.solids.select import select_points
from panelwright.plates._kernel.solids.selector_syntax import TYPES, SelectorSyntaxError, parsed
from pyparsing import ParseBaseException

PLY = Stock("birch plywood", 4.0)
STRINGS = 4200
Shape = cq.Face | cq.Vertex


def cadquery_selector(text: str) -> cq.Selector | None:
    """CadQuery's own reading of a string; None for one that it refuses."""
    try:
        return cq.selectors.StringSyntaxSelector(text)
    except ParseBaseException:
        return None


NOT_INSIDE = cadquery_selector(">X and not >Y") is not None
"""Whether the parser below CadQuery takes "not" behind another operator: older ones ask for brackets round it."""


def cadquery_picks(text: str, shapes: list[Shape]) -> set[int] | None:
    """Numbers of the shapes that CadQuery picks; None for a string that it refuses."""
    try:
        selector = cadquery_selector(text)
        if selector is None:
            return None
        found = {id(shape) for shape in selector.filter(shapes)}
    except (IndexError, ValueError):  # CadQuery's way to say that nothing is there
        return set()
    except Exception as problem:  # whatever a parser raises is its refusal
        if type(problem).__name__ != "gp_VectorWithNullMagnitude":
            raise
        return None  # an angle to nowhere
    return {number for number, shape in enumerate(shapes) if id(shape) in found}


class Writer:
    """Selector strings by chance, most of them well formed."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self.one = self.chance.choice

    def space(self) -> str:
        return self.one(["", "", "", " ", "  ", "\t", "\n", "\r\n"])

    def spaced(self, *parts: str) -> str:
        return "".join(part + self.space() for part in parts)

    def number(self) -> str:
        return self.one(["", "", "+", "-"]) + self.one(["0", "1", "1", "2", "10", "0.5", "1.", "3.25", "0.00001", "007"])

    def direction(self) -> str:
        if self.chance.random() < 0.7:
            return self.one(["X", "Y", "Z", "XY", "XZ", "YZ"])
        return self.spaced("(", self.number(), ",", self.number(), ",", self.number()) + ")"

    def simple(self) -> str:
        kind = self.chance.random()
        if kind < 0.45:
            text = self.spaced(self.one([">", "<", ">>", "<<"]), self.direction())
            if self.chance.random() < 0.5:
                text += self.spaced("[", self.one(["", "", "-"]), str(self.chance.randrange(6)), "]")
            return text
        if kind < 0.75:
            return self.spaced(self.one(["", "+", "-", "|", "#"]), self.direction())
        if kind < 0.9:
            return self.spaced("%", self.one([str.upper, str.lower, str.title])(self.one(TYPES)))
        return self.one(["front", "back", "left", "right", "top", "bottom"])

    def operand(self, depth: int, *, first: bool) -> str:
        kind = self.chance.random()
        if depth and kind < 0.25:
            return self.spaced("(", self.selector(depth - 1), ")")
        if depth and kind < 0.45 and (first or NOT_INSIDE):
            return self.spaced("not", self.operand(depth - 1, first=first))
        return self.spaced(self.simple())

    def selector(self, depth: int) -> str:
        text = self.operand(depth, first=True)
        while self.chance.random() < 0.45:
            text += self.spaced(self.one(["and", "or", "exc", "except"]), self.operand(depth, first=False))
        return text

    def spoilt(self) -> str:
        """A string with one to three characters put in, taken out or put elsewhere."""
        text = self.selector(1)
        for _ in range(self.chance.randrange(1, 4)):
            at = self.chance.randrange(len(text) + 1)
            new = self.one(list("XYZ()[]<>|#+-%.,019 xandortexcp\u00a0\u017f\f")) if self.chance.random() < 0.6 else ""
            text = text[:at] + new + text[at + self.chance.randrange(2) :]
        return text


@lru_cache
def strings() -> list[str]:
    """The strings of every run."""
    writer = Writer(17)
    texts = [writer.space() + writer.selector(2) if number % 3 else writer.spoilt() for number in range(STRINGS)]
    if not NOT_INSIDE:
        texts = [text for text in texts if "not" not in text]
    return texts


def placed(name: str) -> PlacedPlate:
    """A plate under a name, of a shape and in a place that selectors can be told apart by."""
    odd = Frame.turned((1, 2, 3), 37).shifted((7, -8, 9))
    upright = Frame.facing((10, 0, 20), show=(0, -1, 0), right=(1, 0, 0))
    plates: dict[str, tuple[object, Frame]] = {
        "box": (rectangle(60, 40), Frame()),
        "L": (polygon([(-30, -20), (30, -20), (30, 5), (0, 5), (0, 20), (-30, 20)]), upright),
        "windows": (rectangle(60, 40).cut(hole(10), rectangle(8, 6).at(18, 3), rectangle(8, 6).at(-18, 3)), Frame()),
        "rounded": (rectangle(60, 40).rounded(5).cut(hole(10)), upright),
        "leaning": (rectangle(60, 40), Frame.turned((1, 0, 0), 30)),
        "odd": (rectangle(60, 40).chamfered(6), odd),
        "ellipse": (outline_of(cq.Sketch().ellipse(30, 20)), Frame()),
        "spline": (
            outline_of(
                cq.Workplane().moveTo(0, 0).lineTo(40, 0).spline([(44, 20), (20, 30), (0, 18)], includeCurrent=True).close()
            ),
            upright,
        ),
    }
    outline, frame = plates[name]
    return Assembly("one", stock=PLY).add(name, outline, frame)


PLATES = ("box", "L", "windows", "rounded", "leaning", "odd", "ellipse", "spline", "bent")


def table(name: str) -> tuple[PlacedPlate, list[tuple[object, ...]], list[cq.Face]]:
    """A plate, and its faces as CadQuery's, in the order of their places."""
    if name == "bent":
        sheet = Assembly("one", stock=PLY).add_bent("wrap", rectangle(200, 60), bend(-30, radius=45, angle_deg=70))
        plate = next(iter(sheet.bends))
    else:
        plate = placed(name)
    seen = plate._table
    faces = [cq.Face(face._shape) for face in seen._faces]
    for face in faces:
        face.Center = cache(face.Center)  # type: ignore[method-assign]  # asked for again by every string
    return plate, list(seen._places), faces


def test_strings_are_refused_and_faces_chosen_as_by_cadquery() -> None:
    """Thousands of strings, good and spoilt, on flat, round, leaning and bent plates."""
    tables = [table(name) for name in PLATES]
    told: Counter[str] = Counter()
    for number, text in enumerate(strings()):
        plate, places, faces = tables[number % len(tables)]
        wanted = cadquery_picks(text, faces)
        try:
            found = {places.index(place) for place in plate._table.select(text)}
        except SelectionError:
            assert wanted is None, text
            told["refused"] += 1
            continue
        assert wanted == found, text
        told["nothing" if not found else "all" if len(found) == len(places) else "some"] += 1
    # the strings say enough to be worth it
    assert told["refused"] > 600
    assert told["some"] > 1000
    assert told["nothing"] > 200
    assert told["all"] > 100


def test_corners_are_chosen_as_by_cadquery() -> None:
    """The same strings on the corners of an outline, which are vertices to CadQuery."""
    points = [(-30.0, -20.0), (30.0, -20.0), (30.0, 5.0), (0.0, 5.0), (0.0, 20.0), (-30.0, 20.0)]
    vertices: list[Shape] = [cq.Vertex.makeVertex(x, y, 0) for x, y in points]
    _, _, box = table("box")
    some = 0
    for text in strings()[::2]:
        wanted = cadquery_picks(text, vertices)
        try:
            found = set(select_points(points, text))
        except SelectionError:
            # CadQuery asks no vertex for an angle, so it learns of faces only that a direction has no length
            assert wanted is None or cadquery_picks(text, [*box]) is None, text
            continue
        assert wanted == found, text
        some += 0 < len(found) < len(points)
    assert some > 200


def test_kinds_are_those_of_cadquery() -> None:
    """No word of CadQuery's is missing, and none is ours alone; kernel types have the names that CadQuery gives them."""
    from panelwright.plates._kernel.solids.select import kind_of

    assert set(TYPES) == set(geom_LUT_FACE.values()) | set(geom_LUT_EDGE.values())
    assert {kind: kind_of(kind) for kind in geom_LUT_FACE} == geom_LUT_FACE


@pytest.mark.parametrize(
    ("text", "same"),
    [
        (">X and <Y or |Z", "(>X and <Y) or |Z"),
        ("|Z or >X and <Y", "|Z or (>X and <Y)"),
        ("not >X and <Y", "not (>X and <Y)"),
        ("|Z exc >X or <Y", "|Z exc (>X or <Y)"),
        ("|X exc <Y except >Y", "(|X exc <Y) exc >Y"),
        ("X", "+X"),
        (">>Z", ">Z"),
        ("front", ">Z"),
        (">Xand<Y", ">X and <Y"),
        ("%plane", "%PLANE"),
        (">X[-01]", ">X [ -1 ]"),
    ],
)
def test_what_binds_first(text: str, same: str) -> None:
    """Two ways of writing one selector are read alike."""
    assert parsed(text) == parsed(same)


@pytest.mark.parametrize(
    ("text", "at"),
    [("", 0), ("  ", 2), (">", 0), (">X and", 6), (">X >Y", 3), ("(>X", 3), (">X)", 2), ("Q", 0), ("X[0]", 1), ("+(0,0,0)", 0)],
)
def test_what_is_refused_is_told_by_its_place(text: str, at: int) -> None:
    """The fault says where reading stopped."""
    with pytest.raises(SelectorSyntaxError) as caught:
        parsed(text)
    assert caught.value.at == at


@pytest.mark.parametrize("make", [lambda n: "(" * n + "X" + ")" * n, lambda n: "not " * n + "X", lambda n: "X or " * n + "X"])
def test_long_strings_take_neither_stack_nor_time(make: Callable[[int], str]) -> None:
    """Ten thousand brackets, negations or alternatives are read and carried out."""
    plate = placed("box")
    assert [face.place for face in plate.faces(make(10_000))] == [face.place for face in plate.faces("X")]


def test_an_index_beyond_every_list_picks_nothing() -> None:
    """Also one that is longer than Python reads as a number."""
    plate = placed("box")
    for index in ("6", "-7", "9" * 12, "-" + "9" * 5000):
        with pytest.raises(SelectionError, match="picks no face"):
            plate.faces(f">Z[{index}]")
