"""Outlines: areas against closed formulas, curves that stay what they are, and clear errors."""

from __future__ import annotations

import math

import cadquery as cq
import panelwright.plates
import pytest
from panelwright.plates import (
    Outline,
    OutlineError,
    PlacementError,
    SelectionError,
    SizeError,
    cable_slot,
    disc,
    finger_notch,
    grid,
    handle_hole,
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
    trapezium,
)
from panelwright.plates._kernel.solids.build import plate_solid
from panelwright.plates._kernel.solids.read import loops_of_plate, volume_of
from panelwright.plates.geometry.curves import Arc, EllipseArc, Spline
from panelwright.plates.geometry.region import pieces
from panelwright.plates.outlines.outline import checked

PI = math.pi

PRIMITIVES = {
    "rectangle": (rectangle(31, 17), 31 * 17),
    "rounded rectangle": (rounded_rectangle(30, 20, 4), 600 - (4 - PI) * 16),
    "each corner its own": (rounded_rectangle(30, 20, [1, 2, 3, 0]), 600 - (4 - PI) / 4 * (1 + 4 + 9)),
    "disc": (disc(14), PI * 49),
    "ring": (ring(20, 12), PI * (100 - 36)),
    "sector": (sector(20, 75), PI * 100 * 75 / 360),
    "wide sector": (sector(20, 300), PI * 100 * 300 / 360),
    "triangle": (regular_polygon(3, across_corners=20), 3 * math.sqrt(3) / 4 * 100),
    "hexagon": (regular_polygon(6, across_flats=10), math.sqrt(3) / 2 * 100),
    "twelve sides": (regular_polygon(12, across_flats=10), 3 * math.tan(PI / 12) * 100),
    "polygon either way round": (polygon([(0, 0), (0, 3), (4, 0)]), 6),
    "trapezium": (trapezium(40, 20, 10, shift=7), 300),
    "obround": (obround(20, 6), 14 * 6 + PI * 9),
}


@pytest.mark.parametrize("name", PRIMITIVES)
def test_area_of_primitives(name: str) -> None:
    """Every primitive has the area of its formula, flat and as a solid (elementary plane geometry)."""
    outline, area = PRIMITIVES[name]
    assert outline.area == pytest.approx(area, rel=1e-12)
    solid = plate_solid(pieces(outline.loops), 3.0)
    assert volume_of(solid) == pytest.approx(3 * area, rel=1e-9)
    back = loops_of_plate(solid, 3.0)
    assert sum(loop.area for loop in back) == pytest.approx(area, rel=1e-9)
    assert [len(loop) for loop in back] == [len(loop) for loop in outline.loops]


def test_primitives_are_centred() -> None:
    """Symmetric primitives have their origin in the middle of their bounding box."""
    for outline in (rectangle(31, 17), rounded_rectangle(30, 20, 3), disc(14), ring(20, 12), obround(20, 6)):
        x0, y0, x1, y1 = outline.bounds
        assert (x0 + x1, y0 + y1) == pytest.approx((0, 0), abs=1e-12)


def sketch_with_curves() -> cq.Workplane:
    """A closed outline with a line, an arc, an ellipse arc and a spline."""
    return (
        cq.Workplane()
        .moveTo(0, 0)
        .lineTo(40, 0)
        .threePointArc((48, 10), (40, 20))
        .spline([(30, 26), (20, 21)], includeCurrent=True)
        .lineTo(0, 20)
        .close()
    )


def test_curves_stay_what_they_are_through_cuts_and_solids() -> None:
    """Arcs, ellipses and splines come back from cutting, from the solid and from turning as the same kinds of curve."""
    plate = outline_of(sketch_with_curves()).cut(outline_of(cq.Workplane().ellipse(5, 3)).at(12, 10))
    for turned in (plate, plate.turned(37), plate.mirrored()):
        solid = plate_solid(pieces(turned.loops), 4.0)
        kinds = [type(segment) for loop in loops_of_plate(solid, 4.0) for segment in loop]
        assert kinds.count(Arc) == 1
        assert kinds.count(Spline) == 1
        assert kinds.count(EllipseArc) == 1
        assert volume_of(solid) == pytest.approx(4 * plate.area, rel=1e-9)


def test_a_cut_across_a_spline_keeps_the_rest_of_it() -> None:
    """A notch through a spline edge leaves two splines, and takes the area that shapely finds."""
    import shapely

    plate = outline_of(sketch_with_curves())
    notch = rectangle(4, 30).at(31, 20)
    cut = plate.cut(notch)
    kinds = [type(segment) for segment in cut.outer]
    assert kinds.count(Spline) == 2
    assert kinds.count(Arc) == 1
    before, tool = (shapely.Polygon(outline.outer.points(1e-5)) for outline in (plate, notch))
    assert cut.area == pytest.approx(before.difference(tool).area, abs=1e-3)


@pytest.mark.parametrize(
    ("shape", "area"),
    [
        (cq.Sketch().rect(20, 10), 200),
        (cq.Sketch().rect(20, 10).vertices().fillet(2), 200 - (4 - PI) * 4),
        (cq.Workplane().rect(20, 10), 200),
        (cq.Workplane("XZ").ellipse(20, 10), PI * 200),
        (cq.Workplane().box(10, 20, 3).faces(">Z").val(), 200),
        (cq.Workplane().box(10, 20, 3).faces("<X").val(), 60),
        (cq.Wire.makeCircle(5, cq.Vector(0, 0, 7), cq.Vector(0, 0, -1)), PI * 25),
    ],
)
def test_cadquery_shapes_are_taken(shape: object, area: float) -> None:
    """Sketch, Workplane, Face and Wire give the outline that they draw, wherever their plane lies."""
    assert outline_of(shape).area == pytest.approx(area, rel=1e-9)


def test_several_workplane_wires_cut_at_once() -> None:
    """A workplane with six circles cuts six holes."""
    assert len(rectangle(100, 50).cut(cq.Workplane().rarray(20, 20, 3, 2).circle(4)).holes) == 6


def test_corner_rounding_and_chamfer_by_selector() -> None:
    """Corners picked by a vertex selector lose what the formula says: (1 − π/4)r² or s²/2 each."""
    plate = rectangle(40, 20)
    assert plate.rounded(3).area == pytest.approx(800 - 4 * (1 - PI / 4) * 9)
    assert plate.rounded(3, ">X and >Y").area == pytest.approx(800 - (1 - PI / 4) * 9)
    assert plate.chamfered(3, ">Y").area == pytest.approx(800 - 2 * 4.5)
    notched = plate.cut(rectangle(10, 10).at(0, 10))
    assert notched.rounded(2).area == pytest.approx(750 - 4 * (1 - PI / 4) * 4), "two of eight corners turn inwards"
    assert all(isinstance(s, Arc) for s in plate.rounded(3).outer.segments if s.length < 10)


def test_ready_made_cut_outs() -> None:
    """Notches, slots and handle holes remove what elementary geometry says, on the side that is named."""
    plate = rectangle(120, 80)
    half_disc = plate.cut(finger_notch(20, 10))
    assert plate.area - half_disc.area == pytest.approx(PI * 50)
    assert half_disc.outer.bounds == pytest.approx(plate.bounds)
    for side in ("+Y", "-Y", "+X", "-X"):
        slot = plate.cut(cable_slot(6, 12, side=side))
        assert plate.area - slot.area == pytest.approx(6 * 9 + PI * 4.5)
        rim = plate.cut(handle_hole(40, 12, side=side, inset=10)).holes[0]
        gaps = {
            "-X": rim.bounds[0] + 60,
            "-Y": rim.bounds[1] + 40,
            "+X": 60 - rim.bounds[2],
            "+Y": 40 - rim.bounds[3],
        }
        assert gaps[side] == pytest.approx(10)
    deep = plate.cut(finger_notch(20, 25))
    assert plate.area - deep.area == pytest.approx(20 * 15 + PI * 50)


def test_a_hole_is_named_by_its_diameter() -> None:
    """As in CadQuery, whose `circle` takes a radius: so there is none here, and whoever asks for it is told what to write."""
    (bore,) = rectangle(60, 40).cut(hole(9).at(20, 10)).holes
    assert bore.bounds == pytest.approx((15.5, 5.5, 24.5, 14.5))
    (drilled,) = outline_of(cq.Workplane().rect(60, 40).extrude(3).faces(">Z").workplane().hole(9).faces(">Z")).holes
    assert drilled.area == pytest.approx(bore.area)
    with pytest.raises(SizeError, match="diameter of a hole"):
        hole(-1)
    with pytest.raises(ImportError, match=r"hole\(diameter\).*disc\(diameter\)"):
        from panelwright.plates import circle  # type: ignore[attr-defined]  # noqa: F401
    assert "circle" not in dir(panelwright.plates)


def test_rows_and_grids() -> None:
    """Without a pitch, copies are spread over the outline with half a gap at each end."""
    plate = rectangle(100, 60)
    middles = sorted((opening.bounds[0] + opening.bounds[2]) / 2 for opening in plate.cut(row(hole(5), 4)).holes)
    assert middles == pytest.approx([-37.5, -12.5, 12.5, 37.5])
    upright = plate.cut(row(hole(5), 3, along="y", at=(20, 0))).holes
    assert sorted((opening.bounds[1] + opening.bounds[3]) / 2 for opening in upright) == pytest.approx([-20, 0, 20])
    assert len(plate.cut(grid(obround(8, 3), 6, 5)).holes) == 30
    pitched = plate.cut(grid(hole(3), 3, 2, pitch=(10, 20), at=(5, 5))).holes
    assert {round((opening.bounds[0] + opening.bounds[2]) / 2, 6) for opening in pitched} == {-5, 5, 15}


def test_marks_cut_nothing_and_travel_along() -> None:
    """Marked shapes leave the area alone and move with the outline."""
    plate = rectangle(40, 20).marked(disc(5).at(10, 0))
    assert plate.area == 800
    moved = plate.turned(90)
    assert moved.marks[0][0].point_at(0.0) == pytest.approx((0, 12.5))


BAD = [
    (lambda: rectangle(0, 5), SizeError, "width of a rectangle is 0 mm"),
    (lambda: rectangle(5, -1), SizeError, "height of a rectangle is -1 mm"),
    (lambda: rectangle(math.nan, 5), SizeError, "nan"),
    (lambda: disc(math.inf), SizeError, "inf"),
    (lambda: rectangle("wide", 5), SizeError, "'wide'"),
    (lambda: rectangle(True, 5), SizeError, "True"),
    (lambda: ring(10, 10), SizeError, "must be below the outer"),
    (lambda: sector(10, 360), SizeError, "below 360°"),
    (lambda: obround(5, 5), SizeError, "above its width"),
    (lambda: regular_polygon(2, across_flats=5), SizeError, "must be 3 or more"),
    (lambda: regular_polygon(6), SizeError, "exactly one"),
    (lambda: rounded_rectangle(10, 10, [6, 6, 0, 0]), SizeError, "lower side of 10 mm"),
    (lambda: rounded_rectangle(10, 10, [1, 2]), SizeError, "one for all corners or four"),
    (lambda: polygon([(0, 0), (1, 1)]), OutlineError, "has 2 corners"),
    (lambda: polygon([(0, 0), (10, 10), (10, 0), (0, 10)]), OutlineError, r"crosses or touches itself at \(5, 5\);"),
    (lambda: checked([rectangle(9, 9).outer, disc(4).at(30, 0).outer.reversed()]), OutlineError, r"lies outside .* \(32"),
    (lambda: polygon([(0, 0), (5, 0), (5, 0), (0, 5)]), OutlineError, "two corners"),
    (lambda: rectangle(10, 10).cut(hole(2).at(20, 0)), OutlineError, "lies outside the outline"),
    (lambda: rectangle(10, 10).cut(rectangle(2, 20)), OutlineError, "2 separate pieces"),
    (lambda: rectangle(10, 10).cut(rectangle(20, 20)), OutlineError, "leaves nothing"),
    (lambda: rectangle(10, 10).joined(rectangle(2, 2).at(20, 0)), OutlineError, "2 separate pieces"),
    (lambda: rectangle(80, 60).cut(hole(10).at(35, 0)), OutlineError, r"touches the border or another .* at \(40.00, 0.00\)"),
    (lambda: rectangle(80, 60).cut(polygon([(40, 0), (30, 5), (30, -5)])), OutlineError, r"touches .* at \(40.00, 0.00\)"),
    (lambda: rectangle(10, 10).cut(5), OutlineError, "no flat shape"),
    (lambda: rectangle(10, 10).rounded(6), OutlineError, "10.000 mm long"),
    (lambda: rectangle(10, 10).rounded(1, ">X[9]"), SelectionError, "picks none of the 4 corners"),
    (lambda: rectangle(10, 10).rounded(1, "?!"), SelectionError, "not understood"),
    (lambda: disc(10).cut(rectangle(4, 20).at(6, 0)).rounded(9, ">Y"), OutlineError, "an arc, and a radius of 9 mm"),
    (lambda: outline_of(cq.Sketch().ellipse(9, 5)).cut(rectangle(9, 20).at(9, 0)).rounded(1), OutlineError, "an ellipse"),
    (lambda: outline_of(cq.Workplane().box(1, 1, 1)), OutlineError, "solid is no outline"),
    (lambda: outline_of(cq.Sketch().circle(2).push([(9, 0)]).circle(2)), OutlineError, "2 regions"),
    (lambda: outline_of(cq.Wire.assembleEdges([cq.Edge.makeLine((0, 0, 0), (1, 0, 0))])), OutlineError, "open"),
    (lambda: outline_of(cq.Workplane().sphere(5).faces().val()), OutlineError, "curved"),
    (lambda: row(hole(5), 0), SizeError, "must be 1 or more"),
    (lambda: row(hole(5), 2, along="z"), PlacementError, "'x' or 'y'"),
    (lambda: rectangle(20, 10).cut(row(hole(5), 5)), SizeError, "run into each other"),
    (lambda: rectangle(50, 50).cut(handle_hole()), OutlineError, "x -45.00 to 45.00 .* the border .* x -25.00 to 25.00"),
    (lambda: rectangle(120, 50).cut(handle_hole()), OutlineError, "y -25.00 to 5.00.* spans x .* y -25.00 to 25.00"),
    (lambda: disc(96).cut(handle_hole(90, 20)), OutlineError, "a slanting border"),
    (lambda: rectangle(120, 90).cut(hole(9)).cut(handle_hole()), OutlineError, "another cut-out"),
    (lambda: cable_slot(10, 3), SizeError, "half the width"),
    (lambda: finger_notch(side="up"), PlacementError, "side 'up'"),
]


@pytest.mark.parametrize(("make", "error", "says"), BAD)
def test_bad_input_says_what_is_wrong(make: object, error: type[Exception], says: str) -> None:
    """Every mistake is an error of ours that also is the nearest builtin, and names the value."""
    with pytest.raises(error, match="(?s).*" + says.replace("?", r"\?")) as caught:
        make()  # type: ignore[operator]  # object: anything may be given
    assert len(str(caught.value)) < 400


def test_outlines_are_frozen() -> None:
    """No edit changes the outline that it is called on."""
    plate = rectangle(40, 20)
    before = (plate.loops, plate.area)
    plate.cut(hole(3))
    plate.rounded(2)
    plate.at(5, 5)
    assert (plate.loops, plate.area) == before
    with pytest.raises(AttributeError):
        plate.loops = ()  # type: ignore[misc]  # that is refused
    assert isinstance(plate, Outline)


def test_a_text_is_engraved_and_cuts_nothing() -> None:
    """Its strokes span the height asked for, about the place given, turned about it; loops and marks from before stay."""
    plain = rectangle(80, 60).marked(disc(5).at(30, 20))
    lettered = plain.lettered("EH", 9, (4, -3))
    assert lettered.loops == plain.loops
    assert lettered.marks[0] == plain.marks[0]
    points = [point for chain in lettered.marks[1:] for line in chain for point in (line.start, line.end)]
    # on a grid of sixths of the height: two letters of four and a gap of two between them
    xs, ys = sorted({x for x, _ in points}), sorted({y for _, y in points})
    assert (xs[0], xs[-1], ys[0], ys[-1]) == pytest.approx((4 - 7.5, 4 + 7.5, -3 - 4.5, -3 + 4.5))
    turned = plain.lettered("EH", 9, (4, -3), angle_deg=90)
    upright = [point for chain in turned.marks[1:] for line in chain for point in (line.start, line.end)]
    assert upright == [pytest.approx((4 - (y + 3), -3 + (x - 4))) for x, y in points]
    assert len(rectangle(80, 60).lettered("glaze 4", 5).marks) == len(rectangle(80, 60).lettered("GLAZE 4", 5).marks) > 6


def test_a_text_that_cannot_be_engraved_is_refused() -> None:
    """A letter that the font lacks, and a text of nothing."""
    with pytest.raises(SizeError, match="the lettering has no 'ß'"):
        rectangle(80, 60).lettered("Gefäß".replace("ä", "A"), 5)
    for nothing in ("", "  "):
        with pytest.raises(OutlineError, match="nothing to engrave"):
            rectangle(80, 60).lettered(nothing, 5)
    with pytest.raises(SizeError, match="height of a text is 0 mm"):
        rectangle(80, 60).lettered("A", 0)
