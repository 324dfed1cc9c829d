"""Directions, points and places as people hand them in: tuples, lists, arrays and CadQuery's own; the rest is told apart."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import cadquery as cq
import numpy as np
import pytest
from panelwright.assemblies import Assembly
from panelwright.joints import join, tabs
from panelwright.plates import Frame, PanelwrightError, Stock, polygon, rectangle

PLY = Stock("birch plywood", 4, measured=4)
FORMS: list[Callable[..., Any]] = [
    tuple,
    list,
    np.array,
    lambda xyz: np.array(xyz, dtype=np.float32),
    lambda xyz: cq.Vector(*xyz),
]


@pytest.mark.parametrize("form", FORMS, ids=["tuple", "list", "array", "float32", "cq.Vector"])
def test_any_form_of_a_vector_gives_the_same_plain_numbers(form: Callable[..., Any]) -> None:
    """Frames, points and their way back: equal to what tuples give, and floats of Python's own."""
    lying = Frame.facing((1.0, 2.0, 3.0), show=(0.0, -1.0, 0.0), right=(1.0, 0.0, 0.0))
    frame = Frame.facing(form((1.0, 2.0, 3.0)), show=form((0.0, -1.0, 0.0)), right=form((1.0, 0.0, 0.0)))
    assert frame == lying
    spot = form((4.0, 5.0, 6.0))
    for call in (Frame.point, Frame.direction, Frame.local, Frame.local_direction):
        found = call(frame, spot)
        assert found == call(lying, (4.0, 5.0, 6.0))
        assert {type(value) for value in found} == {float}
    assert frame.shifted(form((1.0, 1.0, 1.0))) == lying.shifted((1.0, 1.0, 1.0))
    assert Frame.turned(form((0.0, 0.0, 1.0)), 30) == Frame.turned("Z", 30)


def _add(*arguments: Any) -> Any:
    return Assembly("stand", stock=PLY).add(*arguments)


def _joined(*order: int) -> Any:
    stand = Assembly("stand", stock=PLY)
    given: list[Any] = [stand.add("base", rectangle(90, 60)).show, stand.add("wall", rectangle(90, 60)).back, tabs()]
    return join(*(given[i] for i in order))


SLIPS: list[tuple[str, Callable[[], object], str]] = [
    (
        "number for a direction",
        lambda: Frame.facing((0, 0, 0), show=1, right=(1, 0, 0)),
        r"show= of a frame is 1; give \(x, y, z\)",
    ),  # type: ignore[arg-type]  # meant
    ("number for a point", lambda: Frame().point(3), r"is 3; give \(x, y, z\)"),  # type: ignore[arg-type]  # meant
    ("angle before axis", lambda: Frame.turned(30, "Z"), r"direction is 30; give one of \+X"),  # type: ignore[arg-type]  # meant
    (
        "shape before name",
        lambda: _add(rectangle(9, 9), "wall"),
        r"<Outline .* as the name .* name comes first: add\('wall', …\)",
    ),
    ("point for a place", lambda: _add("wall", rectangle(9, 9), (0, 0, 30)), r"\(0, 0, 30\) is no place; give a Frame"),
    ("cq.Vector for a place", lambda: _add("wall", rectangle(9, 9), cq.Vector(0, 0, 9)), "is no place; give a Frame"),
    ("stock for a place", lambda: _add("wall", rectangle(9, 9), PLY), "is no place; give a Frame"),
    ("joint before faces", lambda: _joined(2, 0, 1), r"tabs is given where a face is wanted; the joint comes last"),
    ("thickness before material", lambda: Stock(4, "birch"), "material of a stock is 4"),  # type: ignore[arg-type]  # meant
    ("vectors for corners", lambda: polygon([cq.Vector(0, 0)] * 3), r"corner 1 of a polygon is Vector: .* give \(x, y\)"),  # type: ignore[list-item]  # meant
]


@pytest.mark.parametrize(("make", "says"), [slip[1:] for slip in SLIPS], ids=[slip[0].replace(" ", "-") for slip in SLIPS])
def test_what_is_no_vector_or_stands_in_the_wrong_place_is_told(make: Callable[[], object], says: str) -> None:
    """The error tells what was given and what is wanted there."""
    with pytest.raises(PanelwrightError, match=says):
        make()
