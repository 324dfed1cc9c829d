"""The one seam to the kernel: solids over loops and back, failures as our own errors."""

from __future__ import annotations

import math

import cadquery as cq
import pytest
from panelwright.plates import (
    Frame,
    KernelError,
    Outline,
    OutlineError,
    PanelwrightError,
    Stock,
    disc,
    hole,
    obround,
    outline_of,
    polygon,
    rectangle,
    regular_polygon,
    ring,
    rounded_rectangle,
    row,
    sector,
)
from panelwright.plates._kernel.solids.booleans import common_of, gap_of
from panelwright.plates._kernel.solids.build import plate_solid
from panelwright.plates._kernel.solids.read import loops_of_plate, volume_of
from panelwright.plates._kernel.values.guard import guarded
from panelwright.plates._kernel.values.place import location_of
from panelwright.plates.geometry.region import pieces
from panelwright.plates.placing.plate import Plate
from readers import is_valid, solids_in, volume

OUTLINES: dict[str, Outline] = {
    "rectangle": rectangle(60, 40),
    "rounded": rounded_rectangle(60, 40, [2, 0, 8, 5]),
    "disc": disc(50),
    "ring": ring(50, 20),
    "sector": sector(60, 250),
    "hexagon": regular_polygon(6, across_flats=30),
    "concave": polygon([(0, 0), (40, 0), (40, 30), (20, 8), (0, 30)]),
    "rows of holes": rectangle(120, 60).cut(row(hole(9), 8), row(obround(8, 3), 5, at=(0, 15))),
    "ellipse with spline hole": outline_of(cq.Sketch().ellipse(40, 25)).cut(
        cq.Workplane().spline([(5, 0), (0, 8), (-6, 0), (0, -5)], periodic=True).close()
    ),
}


@pytest.mark.parametrize("name", OUTLINES)
@pytest.mark.parametrize("thickness", [0.5, 4.0, 18.0])
def test_volume_is_area_times_thickness(name: str, thickness: float) -> None:
    """By the kernel's own integration; one valid solid, whose loops are those that it was made of."""
    outline = OUTLINES[name]
    solid = plate_solid(pieces(outline.loops), thickness)
    assert is_valid(solid)
    assert solids_in(solid) == 1
    # the kernel integrates over ellipses and splines to about 3e-6 only
    exact = all(loop.is_of_lines_and_arcs for loop in outline.loops)
    assert volume(solid) == pytest.approx(outline.area * thickness, rel=1e-9 if exact else 1e-5)
    assert volume_of(solid) == volume(solid)
    read = loops_of_plate(solid, thickness)
    assert [len(loop) for loop in read] == [len(loop) for loop in outline.loops]
    for one, other in zip(read, outline.loops, strict=True):
        assert [type(segment) for segment in one] == [type(segment) for segment in other.canonical()]
        assert one.area == pytest.approx(other.area, abs=1e-6)


def test_two_pieces_are_a_compound_of_two() -> None:
    """A plate in pieces is still read in full: the proof has to see it."""
    loops = [rectangle(10, 10).at(-20, 0).outer, rectangle(10, 10).at(20, 0).cut(hole(4).at(20, 0)).outer]
    solid = plate_solid(pieces(loops), 3)
    assert solids_in(solid) == 2
    assert len(loops_of_plate(solid, 3)) == 2


def test_plate_to_cadquery() -> None:
    """A plate is a CadQuery solid with its back at z = 0."""
    solid = Plate(OUTLINES["rows of holes"], Stock("MDF", 6)).to_cadquery()
    box = solid.BoundingBox()
    assert (box.zmin, box.zmax) == pytest.approx((0, 6), abs=1e-6)
    assert solid.Volume() == pytest.approx(OUTLINES["rows of holes"].area * 6)


@pytest.mark.parametrize("failure", ["standard", "stdfail", "runtime"])
def test_kernel_failures_become_our_error(failure: str) -> None:
    """Whatever the kernel throws comes out as `KernelError`, says what was being done, and keeps its cause."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
    from OCP.gp import gp_Pnt
    from OCP.Standard import Standard_Failure

    def fail() -> None:
        if failure == "standard":
            raise Standard_Failure("broken")
        if failure == "stdfail":
            BRepBuilderAPI_MakeEdge(gp_Pnt(0, 0, 0), gp_Pnt(0, 0, 0)).Edge()
        raise RuntimeError("broken")

    with pytest.raises(KernelError, match="failed while polishing a plate") as caught, guarded("polishing a plate"):
        fail()
    assert caught.value.__cause__ is not None
    assert isinstance(caught.value, RuntimeError)
    assert isinstance(caught.value, PanelwrightError)


def test_our_own_errors_pass_the_guard_unchanged() -> None:
    """An error that is ours already is not wrapped again."""
    mine = KernelError("mine")
    with pytest.raises(KernelError) as caught, guarded("polishing"):
        raise mine
    assert caught.value is mine
    with pytest.raises(OutlineError, match="open"), guarded("polishing"):
        raise OutlineError("open")


@pytest.mark.parametrize(
    ("shape", "says"),
    [
        (lambda: cq.Workplane().box(1, 1, 1).val(), "solid is no outline"),
        (lambda: cq.Wire.makePolygon([cq.Vector(0, 0), cq.Vector(1, 0), cq.Vector(1, 1)]), "open"),
        (lambda: cq.Workplane().cylinder(5, 3).faces("%CYLINDER").val(), "flat"),
        (lambda: cq.Wire.makePolygon([(0, 0, 0), (9, 0, 0), (9, 9, 4), (0, 9, 0)], close=True), "flat"),
        (lambda: cq.Sketch(), "no flat region"),
        (lambda: 3.5, "no flat shape"),
    ],
)
def test_shapes_that_are_no_outline(shape: object, says: str) -> None:
    """What bounds no flat region is refused with words."""
    with pytest.raises(OutlineError, match=says):
        outline_of(shape())  # type: ignore[operator]  # object: anything may be given


@pytest.mark.parametrize("angle", [0, 90, 37.5])
def test_frames_and_locations_are_one(angle: float) -> None:
    """A frame as a location and back is the same frame."""
    frame = Frame.turned((1, 2, 3), angle).shifted((7, -8, 9))
    back = Frame.of(location_of(frame))
    for name in ("origin", "x", "y", "z"):
        assert getattr(back, name) == pytest.approx(getattr(frame, name), abs=1e-12)


def test_common_volume_and_gap() -> None:
    """Booleans and distances of placed solids, by hand."""
    solid = plate_solid(pieces(rectangle(10, 10).loops), 4)
    upright = Frame.facing((0, 0, 2), show=(1, 0, 0), right=(0, 1, 0))
    shared, middle = common_of((solid, Frame()), (solid, upright))
    assert shared == pytest.approx(4 * 10 * 4)
    assert middle == pytest.approx((2, 0, 2))
    assert common_of((solid, Frame()), (solid, Frame((0, 0, 4)))) == (0.0, None)
    assert gap_of((solid, Frame()), (solid, Frame((0, 0, 4)))) == pytest.approx(0)
    assert gap_of((solid, Frame()), (solid, Frame((13, 14, 0)))) == pytest.approx(5)
    assert math.isclose(volume(solid), 400)
