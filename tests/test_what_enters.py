"""Numbers are checked where they enter: what is refused, with which limit, and that nothing vanishes silently."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import cadquery as cq
import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.joints import dog_bone, fingers, join, t_bone, tabs
from panelwright.plates import (
    DesignError,
    Frame,
    JointError,
    PlacementError,
    SizeError,
    Stock,
    cable_slot,
    disc,
    finger_notch,
    grid,
    handle_hole,
    hole,
    outline_of,
    rectangle,
    regular_polygon,
    row,
    standing,
)

FAR = [math.nan, math.inf, -math.inf, 1e100, 100_001]


@pytest.mark.parametrize("value", FAR)
@pytest.mark.parametrize(
    "make",
    [
        lambda v: row(hole(5), 2, pitch=9, at=(v, 0)),
        lambda v: row(hole(5), 2, pitch=9, along="y", at=(0, v)),
        lambda v: grid(hole(5), 2, 2, pitch=9, at=(0, v)),
        lambda v: finger_notch(shift=v),
        lambda v: cable_slot(shift=v),
        lambda v: handle_hole(shift=v),
        lambda v: disc(5).at(v, 0),
        lambda v: disc(5).turned(v),
        lambda v: Frame((0, 0, v)),
        lambda v: Frame.turned("Z", v),
        lambda v: Frame().shifted((v, 0, 0)),
    ],
)
def test_shifts_that_lead_nowhere_are_refused(make: Any, value: float) -> None:
    """No place further away than 100 m, none that is no number: the cut-out would be lost without a word."""
    with pytest.raises(SizeError):
        make(value)


@pytest.mark.parametrize(
    "axes",
    [
        ((math.nan, 0, 0), (0, 1, 0), (0, 0, 1)),
        ((2, 0, 0), (0, 1, 0), (0, 0, 1)),
        ((1, 0, 0), (0.1, 1, 0), (0, 0, 1)),
        ((1, 0, 0), (0, 1, 0), (0, 0, -1)),  # left-handed
        ((0.7071, 0.7071, 0), (-0.7071, 0.7071, 0), (0, 0, 1)),
    ],
)
def test_a_frame_has_unit_axes_at_right_angles(axes: Any) -> None:
    """Axes that would stretch, shear or mirror a plate are refused; `facing` makes good ones of directions."""
    with pytest.raises((PlacementError, SizeError)):
        Frame((0, 0, 0), *axes)
    assert Frame.facing((0, 0, 0), show=(0, 0, 3), right=(1, 1, 5)).x == pytest.approx((0.5**0.5, 0.5**0.5, 0))


def test_lists_and_whole_numbers_make_the_same_frame() -> None:
    """A frame of lists is the frame of tuples of floats, and can be told from others by its hash."""
    assert {Frame([1, 2, 3], [1, 0, 0], [0, 1, 0], [0, 0, 1])} == {Frame((1.0, 2.0, 3.0))}  # type: ignore[arg-type]  # a list does as well


@pytest.mark.parametrize(
    ("make", "limit"),
    [
        (lambda: regular_polygon(1e300, across_flats=20), "1000"),  # type: ignore[arg-type]  # wrong on purpose
        (lambda: regular_polygon(1001, across_flats=20), "1000"),
        (lambda: row(hole(1), 10**9), "10000"),
        (lambda: grid(hole(1), 1000, 1000), "100000"),
        (lambda: outline_of(cq.Sketch().ellipse(60, 40)).in_arcs(1e-12), "0.0001"),
    ],
)
def test_what_would_run_without_end_is_refused_with_its_limit(make: Any, limit: str) -> None:
    """Counts and tolerances that no sheet has are refused at once, and the message tells the limit."""
    with pytest.raises(SizeError, match=limit):
        make()


def test_limits_themselves_are_taken() -> None:
    """A polygon of 1,000 sides is made, and the finest arcs follow their ellipse."""
    assert len(regular_polygon(1000, across_flats=20).outer) == 1000
    oval = outline_of(cq.Sketch().ellipse(60, 40)).in_arcs(1e-4)
    assert oval.area == pytest.approx(math.pi * 60 * 40, abs=0.05)


@pytest.mark.parametrize("tool", [60, 200])
@pytest.mark.parametrize("bone", [dog_bone, t_bone])
@pytest.mark.parametrize("kind", [tabs, fingers])
def test_reliefs_that_eat_a_plate_are_told(tool: float, bone: Any, kind: Any) -> None:
    """Reliefs as large as the plate leave nothing of it or parts of it: the toolkit's error or the proof says so."""
    stand = Assembly("card stand", stock=Stock("birch plywood", 4, kerf=0.2, clearance=0.1))
    base = stand.add("base", rectangle(120, 80))
    back = stand.add("back", rectangle(120, 60), standing(base.face(">Z"), facing="-Y", inset=None))
    join(back.face("<Z"), base.face(">Z"), kind(relief=bone(tool)))
    try:
        told = [(finding.plates, finding.message) for finding in stand.check() if finding.level == "error"]
    except JointError as error:
        told = [(error.plates, str(error))]
        is_plain = f"tool of {tool} mm leave nothing" in str(error)
    else:
        is_plain = True
    assert is_plain
    assert told
    assert all(plates for plates, _ in told)


@pytest.mark.parametrize("raised", ["GeneratorExit", "SystemExit(3)", "BaseException('no')"])
def test_whatever_a_design_raises_is_the_designs(raised: str, tmp_path: Path) -> None:
    """Also what is no `Exception` becomes an error with the design's line."""
    path = tmp_path / "stand.py"
    path.write_text(f"from panelwright.assemblies import Assembly\ndef design() -> Assembly:\n    raise {raised}\n", "utf-8")
    with pytest.raises(DesignError, match=r"stand\.py:3"):
        run(load_design(path))
