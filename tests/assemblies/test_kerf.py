"""The beam's path, proved by cutting: a disc of the kerf swept along it must leave the finished part."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from panelwright.joints.spec.relief import Relief, dog_bone, relief_cuts, t_bone
from panelwright.plates.errors import KerfError, SizeError
from panelwright.plates.geometry import offset as kerf_module
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Loop, Motion, Spline, loop_through
from panelwright.plates.geometry.offset import cut_paths
from panelwright.plates.outlines.planar_cuts import combine

FINE = 1e-4
"""Chords of the simulation keep this near to the curves, mm."""


def rectangle(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Loop:
    return loop_through([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])


def circle(radius: float, x: float = 0.0, y: float = 0.0) -> Loop:
    return Loop((Arc((x + radius, y), (x + radius, y), (x, y), 2 * math.pi),))


def stadium(length: float, radius: float) -> Loop:
    """A slot with round ends, `length` between the centres."""
    return Loop(
        (
            Line((0.0, -radius), (length, -radius)),
            Arc((length, -radius), (length, radius), (length, 0.0), math.pi),
            Line((length, radius), (0.0, radius)),
            Arc((0.0, radius), (0.0, -radius), (0.0, 0.0), math.pi),
        )
    )


def cut(base: Loop, *cuts: Loop) -> Loop:
    """The outer loop of `base` less `cuts`."""
    return combine([base], cuts=cuts).loops[0]


def notched(width: float, depth: float = 10.0, chamfer: float = 0.0) -> Loop:
    """A tray side of 60 × 30 mm with one notch from above, its inner corners chamfered."""
    a, b = 30 - width / 2, 30 + width / 2
    floor = [(b, 30 - depth), (a, 30 - depth)]
    if chamfer:
        floor = [
            (b, 30 - depth + chamfer),
            (b - chamfer, 30 - depth),
            (a + chamfer, 30 - depth),
            (a, 30 - depth + chamfer),
        ]
    return loop_through([(0, 0), (60, 0), (60, 30), (b, 30), *floor, (a, 30), (0, 30)])


def polygon(loop: Loop) -> shapely.Polygon:
    return shapely.Polygon(loop.points(FINE))


def swept(path: Loop, kerf: float) -> shapely.Geometry:
    """What a disc of the kerf covers along a path, chord by chord: a buffer of the whole ring is off by 1 %."""
    points = path.points(FINE)
    chords = shapely.linestrings(list(zip(points, points[1:] + points[:1], strict=True)))
    return shapely.union_all(shapely.buffer(chords, kerf / 2, quad_segs=32))


def what_the_beam_leaves(path: Loop, kerf: float) -> tuple[shapely.Geometry, shapely.Geometry]:
    """What stays inside a closed cut, and the opening that stays in the sheet round it."""
    inside = polygon(path)
    return inside.difference(swept(path, kerf)), inside.union(swept(path, kerf))


def assert_leaves_the_part(loop: Loop, path: Loop, kerf: float) -> None:
    """Cut along the path: the nominal part is untouched, and no more stays on than a beam can't reach."""
    nominal, outline, half = polygon(loop), polygon(path), kerf / 2
    assert outline.exterior.is_simple
    assert (path.area > 0) is (loop.area > 0)
    assert outline.exterior.distance(nominal.exterior) > half - 3 * FINE
    frame = shapely.box(*loop.bounds).buffer(3 * kerf)
    material = nominal if loop.area > 0 else frame.difference(nominal)
    kept = (outline if loop.area > 0 else frame.difference(outline)).difference(swept(path, kerf))
    assert material.buffer(-1e-3).difference(kept).area < 1e-6
    # where the beam can't go: outside every disc of the kerf (and a hair, for ties) that misses the material
    out_of_reach = material.buffer(half + 1e-3, quad_segs=64).buffer(-half - 1e-3, quad_segs=64)
    extra = kept.difference(out_of_reach.buffer(1e-3 + 0.01 * half)).intersection(shapely.box(*loop.bounds))
    # a mitre may bridge a gap between short segments into which the disc itself would dip a little
    bridged = 0.15 * kerf**2 * sum(segment.length < kerf for segment in loop)
    assert extra.area <= 1e-5 + bridged


def size(shape: shapely.Geometry) -> tuple[float, float]:
    x0, y0, x1, y1 = shape.bounds
    return (x1 - x0, y1 - y0)


def test_published_example_without_compensation() -> None:
    """snijlab.nl: with a kerf of 0.2, 2.0 × 4.0 as drawn leaves a part of 1.8 × 3.8 and an opening of 2.2 × 4.2."""
    (as_drawn,) = cut_paths([rectangle(2.0, 4.0)], 0.0, panel="sample")
    part, opening = what_the_beam_leaves(as_drawn, 0.2)
    assert size(part) == pytest.approx((1.8, 3.8), abs=1e-9)
    assert size(opening) == pytest.approx((2.2, 4.2), abs=1e-9)


def test_published_example_with_compensation() -> None:
    """The same example compensated leaves a part and an opening of 2.0 × 4.0."""
    outline, hole = cut_paths([rectangle(2.0, 4.0), rectangle(2.0, 4.0).reversed()], 0.2, panel="sample")
    assert size(what_the_beam_leaves(outline, 0.2)[0]) == pytest.approx((2.0, 4.0), abs=1e-9)
    assert size(what_the_beam_leaves(hole, 0.2)[1]) == pytest.approx((2.0, 4.0), abs=1e-9)


def test_zero_kerf_returns_the_loops() -> None:
    """A stock of kerf 0 gives the nominal loops, the very same objects."""
    loops = (rectangle(50, 30), circle(4, 20, 15).reversed())
    paths = cut_paths(loops, 0, panel="lid")
    assert all(path is loop for path, loop in zip(paths, loops, strict=True))


def test_negative_kerf_is_refused() -> None:
    """A kerf below 0 is no width; the error names the panel."""
    with pytest.raises(SizeError, match=r"kerf of panel 'lid' is -0\.1 mm"):
        cut_paths([rectangle(5, 5)], -0.1, panel="lid")


def test_inner_corners_keep_what_no_beam_reaches() -> None:
    """In each square corner of a hole (1 − π/4)·(kerf/2)² stays, and nothing else."""
    hole = rectangle(8, 5).reversed()
    (path,) = cut_paths([hole], 0.4, panel="brush rack")
    opening = what_the_beam_leaves(path, 0.4)[1]
    assert 40 - opening.area == pytest.approx(4 * (1 - math.pi / 4) * 0.2**2, rel=2e-3)


TEETH = [(10 * i + x, y) for i in range(9, 0, -2) for x, y in ((0, 40), (0, 35), (-10, 35), (-10, 40))]
FINGERS = loop_through([(0, 0), (100, 0), (100, 40), *TEETH[:-1]])
DOG_BONES = cut(rectangle(60, 40), rectangle(20, 12, 20, 28.5), circle(1.2, 20.4, 29), circle(1.2, 39.6, 29))
ZOO = {
    "rectangle": rectangle(50, 30),
    "triangle": loop_through([(0, 0), (40, 0), (12, 9)]),
    "circle": circle(7, 3, 4),
    "stadium": stadium(12, 2.5),
    "fingers": FINGERS,
    "dog bones": DOG_BONES,
    "notch": notched(4.0),
    "chamfered notch": notched(4.0, chamfer=0.05),
    "bite": cut(rectangle(40, 20), circle(6, 20, 21)),
    "clover": combine([circle(5)], [circle(5, 7, 0), circle(5, 3, 6)]).loops[0],
    "star": loop_through(
        [
            (10 * math.cos(a) * (1 + a_odd), 10 * math.sin(a) * (1 + a_odd))
            for a, a_odd in ((i * math.pi / 5, i % 2) for i in range(10))
        ]
    ),
}


@pytest.mark.parametrize("turn_deg", [0.0, 180.0, 37.0])
@pytest.mark.parametrize("as_hole", [False, True], ids=["outline", "hole"])
@pytest.mark.parametrize("name", ZOO)
def test_beam_leaves_the_part(name: str, as_hole: bool, turn_deg: float) -> None:
    """Every shape of the zoo, as an outline and as a hole and in any direction, comes out of the sheet as designed."""
    loop = ZOO[name].moved(Motion.turn(turn_deg))
    loop = loop.clockwise() if as_hole else loop.counter_clockwise()
    for kerf in (0.1, 0.4):
        assert_leaves_the_part(loop, cut_paths([loop], kerf, panel=name)[0], kerf)


@pytest.mark.parametrize("name", ZOO)
def test_mirror_image_has_the_mirrored_path(name: str) -> None:
    """Mirroring the part mirrors its path: same area, same length, same number of segments."""
    loop = ZOO[name].counter_clockwise()
    (path,) = cut_paths([loop], 0.2, panel=name)
    (mirrored,) = cut_paths([loop.moved(Motion.mirror_x())], 0.2, panel=name)
    assert mirrored.area == pytest.approx(path.area, rel=1e-12)
    assert mirrored.length == pytest.approx(path.length, rel=1e-12)
    assert len(mirrored) == len(path)


def test_square_corners_are_mitred() -> None:
    """A rectangle's path is a rectangle, half a kerf larger on each side, without a segment more."""
    (path,) = cut_paths([rectangle(50, 30)], 0.2, panel="lid")
    assert path.bounds == pytest.approx((-0.1, -0.1, 50.1, 30.1), abs=1e-12)
    assert path.area == pytest.approx(50.2 * 30.2, abs=1e-9)
    assert len(path) == 4


@pytest.mark.parametrize(("turn_deg", "is_mitred"), [(45, True), (99.9, True), (100.0, True), (100.1, False), (150, False)])
def test_corners_beyond_100_degrees_get_an_arc(turn_deg: float, is_mitred: bool) -> None:
    """Outer corners that turn by up to 100° are mitred, sharper ones get an arc of half a kerf about the corner."""
    sharp = math.radians(180 - turn_deg)
    tip, far = (20.0, 0.0), (20 - 15 * math.cos(sharp), 15 * math.sin(sharp))
    outline = loop_through([(0, 0), tip, far, (0, 30)])
    (path,) = cut_paths([outline], 0.2, panel="shim")
    about_tip = [s for s in path if isinstance(s, Arc) and math.dist(s.center, tip) < 1e-12]
    assert (not about_tip) is is_mitred
    if about_tip:
        assert about_tip[0].radius == pytest.approx(0.1, abs=1e-12)
        assert math.degrees(about_tip[0].sweep) == pytest.approx(turn_deg, abs=1e-9)
    else:
        reach = max(math.dist(s.start, tip) for s in path if math.dist(s.start, tip) < 1)
        assert reach == pytest.approx(0.1 / math.cos(math.radians(turn_deg / 2)), abs=1e-9)


def test_tangent_arcs_just_continue() -> None:
    """Rounded ends stay arcs about the same centres, half a kerf larger outside and smaller inside, no joins added."""
    outside, inside = cut_paths([stadium(12, 2.5), stadium(12, 2.5).reversed()], 0.2, panel="slot")
    for path, radius in ((outside, 2.6), (inside, 2.4)):
        arcs = [s for s in path if isinstance(s, Arc)]
        assert len(path) == 4
        assert [arc.radius for arc in arcs] == pytest.approx([radius, radius], abs=1e-12)
        assert {arc.center for arc in arcs} == {(0.0, 0.0), (12.0, 0.0)}
        assert all(abs(arc.sweep) == pytest.approx(math.pi, abs=1e-12) for arc in arcs)


def test_circle_stays_a_full_circle() -> None:
    """A round hole's path is one full arc with a radius half a kerf smaller."""
    (path,) = cut_paths([circle(3, 5, 5).reversed()], 0.2, panel="lid")
    assert path.is_circle
    assert path.segments[0].radius == pytest.approx(2.9, abs=1e-12)  # type: ignore[union-attr]  # known to be there
    assert path.area < 0


def test_order_and_orientation_stay() -> None:
    """Paths come back in the order and orientation of the loops."""
    loops = [circle(2, 10, 10).reversed(), rectangle(50, 30), rectangle(4, 2, 30, 10).reversed()]
    paths = cut_paths(loops, 0.2, panel="lid")
    assert [path.area > 0 for path in paths] == [False, True, False]
    assert [len(path) for path in paths] == [1, 4, 4]


def test_tiny_chamfer_in_a_notch_vanishes() -> None:
    """A 0.05 mm chamfer is out of reach for a kerf of 0.2: the path runs into the corner that the walls make."""
    (plain,) = cut_paths([notched(4.0)], 0.2, panel="side")
    (path,) = cut_paths([notched(4.0, chamfer=0.05)], 0.2, panel="side")
    corners = {(round(s.start[0], 6), round(s.start[1], 6)) for s in path}
    assert corners == {(round(s.start[0], 6), round(s.start[1], 6)) for s in plain}


@pytest.mark.parametrize("radius", [0.02, 0.0999999, 0.1, 0.1000001])
def test_fillets_below_half_a_kerf_vanish(radius: float) -> None:
    """A hole whose corner fillets are about as small as the beam's radius or smaller has a rectangle for a path."""
    r = radius
    hole = Loop(
        (
            Line((r, 0.0), (8 - r, 0.0)),
            Arc((8 - r, 0.0), (8.0, r), (8 - r, r), math.pi / 2),
            Line((8.0, r), (8.0, 5 - r)),
            Arc((8.0, 5 - r), (8 - r, 5.0), (8 - r, 5 - r), math.pi / 2),
            Line((8 - r, 5.0), (r, 5.0)),
            Arc((r, 5.0), (0.0, 5 - r), (r, 5 - r), math.pi / 2),
            Line((0.0, 5 - r), (0.0, r)),
            Arc((0.0, r), (r, 0.0), (r, r), math.pi / 2),
        )
    ).reversed()
    (path,) = cut_paths([hole], 0.2, panel="window")
    assert path.area == pytest.approx(-7.8 * 4.8, abs=1e-5)
    assert_leaves_the_part(hole, path, 0.2)


def test_common_loops_take_no_arrangement(monkeypatch: pytest.MonkeyPatch) -> None:
    """Loops of which no side vanishes are joined corner by corner, without the planar arrangement."""
    monkeypatch.setattr(kerf_module, "boundary", None)
    slots = [rectangle(5, 3, 10 * i, 10 * j).reversed() for i in range(10) for j in range(8)]
    paths = cut_paths([notched(4.0), FINGERS, DOG_BONES, *slots], 0.2, panel="tile tray")
    assert len(paths) == 83
    assert sum(path.area for path in paths[3:]) == pytest.approx(-80 * 4.8 * 2.8)
    with pytest.raises(TypeError):
        cut_paths([notched(4.0, chamfer=0.05)], 0.2, panel="tile tray")


def relieved(style: Callable[[float], Relief], tool: float) -> tuple[Loop, Loop]:
    """A slot of 20 × 6 mm, and a rail with tabs on its upper border, their inner corners relieved."""
    slot, rail = rectangle(20, 6, 10, 10).reversed(), cut(rectangle(60, 30), *(rectangle(12, 7, x, 24) for x in (-6, 24, 54)))
    made = []
    for loop in (slot, rail):
        circles = relief_cuts([loop], [(segment.start, style(tool)) for segment in loop])
        sheet = [rectangle(60, 40), loop] if loop.area < 0 else [loop]
        made.append(combine(sheet, cuts=circles).loops[-1])
    return made[0], made[1]


@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 37.0])
@pytest.mark.parametrize("style", [dog_bone, t_bone])
def test_reliefs_of_the_cutter_itself_are_reached(style: Callable[[float], Relief], turn_deg: float) -> None:
    """With a kerf of exactly the relief's tool, the path visits each relief's centre and leaves the part; no side is lost."""
    tool = 3.175
    for nominal in relieved(style, tool):
        loop = nominal.moved(Motion.turn(turn_deg))
        centers = [s.center for s in loop if isinstance(s, Arc)]
        assert len(centers) == 4
        (path,) = cut_paths([loop], tool, panel="router tray")
        assert_leaves_the_part(loop, path, tool)
        for center in centers:
            assert min(math.dist(s.start, center) for s in path) < 1e-9
        # a cutter a hair wider does not get into them
        with pytest.raises(KerfError, match="has a notch near"):
            cut_paths([loop], tool + 0.01, panel="router tray")


DUMBBELL = combine([rectangle(6, 6)], [rectangle(6, 6, 10, 0), rectangle(6, 0.15, 5, 3)]).loops[0]
POCKET = cut(rectangle(40, 20), rectangle(10, 4, 15, 10), rectangle(0.15, 8, 20, 13))
SWALLOWED = {
    "slot": (rectangle(0.15, 4, 10, 20).reversed(), "hole of 0.15 × 4 mm around (10.075, 22) closes up"),
    "slot of one kerf": (rectangle(0.2, 4).reversed(), "hole of 0.2 × 4 mm around (0.1, 2) closes up"),
    "pin hole": (circle(0.09, 5, 5).reversed(), "hole of 0.18 × 0.18 mm around (5, 5) closes up"),
    "wedge": (loop_through([(0, 0), (0.15, 0.26), (0.3, 0)]), "hole of 0.3 × 0.26 mm around (0.15, 0.13) closes up"),
    "leaning slot": (rectangle(0.15, 4).reversed().moved(Motion.turn(30)), "closes up"),
    "dumbbell": (DUMBBELL.reversed(), "hole of 16 × 6 mm around (8, 3) falls into 2 pieces"),
    "notch": (notched(0.15), "outline of 60 × 30 mm around (30, 15) has a notch near"),
    "notch of one kerf": (notched(0.2), "has a notch near"),
    "round notch": (cut(rectangle(40, 20), stadium(8, 0.09).moved(Motion.shift(36, 10))), "has a notch near"),
    "pocket": (POCKET, "outline of 40 × 20 mm around (20, 10) has a notch or pocket whose mouth closes"),
}


@pytest.mark.parametrize("name", SWALLOWED)
def test_swallowed_loops_are_named(name: str) -> None:
    """What the kerf swallows is refused with panel, loop, place, size and kerf, and with what to change."""
    loop, text = SWALLOWED[name]
    with pytest.raises(KerfError) as caught:
        cut_paths([rectangle(90, 90), loop], 0.2, panel="tile tray")
    message = str(caught.value)
    assert message.startswith("panel 'tile tray': the ")
    assert text in message
    assert "kerf of 0.2 mm; make it wider than the kerf" in message
    assert caught.value.plates == ("tile tray",)
    assert caught.value.limit == 0.2
    assert isinstance(caught.value, ValueError)


@pytest.mark.parametrize("name", [n for n in SWALLOWED if n not in ("pocket", "round notch", "dumbbell")])
def test_swallowed_loops_pass_with_a_finer_beam(name: str) -> None:
    """The same loops are fine for a beam of a fifth of the width, so the refusals above are due to the kerf."""
    loop = SWALLOWED[name][0]
    assert_leaves_the_part(loop, cut_paths([loop], 0.04, panel=name)[0], 0.04)


def ellipse(a: float, b: float, first: float = 0.0, last: float = 2 * math.pi) -> EllipseArc:
    lean = 0.3
    return EllipseArc((3.0, 4.0), (a * math.cos(lean), a * math.sin(lean)), b / a, first, last)


WAVE = Spline(
    3, ((0.0, 0.0), (5.0, 8.0), (12.0, -6.0), (20.0, 4.0), (24.0, 0.0)), (0.0, 0.0, 0.0, 0.0, 0.5, 1.0, 1.0, 1.0, 1.0)
)
DOME = ellipse(10, 5, 0.0, math.pi)
CURVED = {
    "ellipse": Loop((ellipse(20, 6),)),
    "dome": Loop((DOME, Line(DOME.end, DOME.start))),
    "wavy rail": Loop(
        (Line((0.0, 0.0), (0.0, -9.0)), Line((0.0, -9.0), (24.0, -9.0)), Line((24.0, -9.0), (24.0, 0.0)), WAVE.reversed())
    ),
    "drop": Loop((Spline(3, ((0.0, 0.0), (10.0, -8.0), (10.0, 8.0), (0.0, 0.0)), (0.0,) * 4 + (1.0,) * 4),)),
}


@pytest.mark.parametrize("as_hole", [False, True], ids=["outline", "hole"])
@pytest.mark.parametrize("kerf", [0.2, 3.0])
@pytest.mark.parametrize("name", CURVED)
def test_curves_keep_within_a_tenth_of_a_micrometre_of_the_parallel(name: str, kerf: float, as_hole: bool) -> None:
    """Paths of ellipses and splines lie half a kerf from the nominal loop within 1e-4 mm, corners' mitres apart."""
    loop = CURVED[name].clockwise() if as_hole else CURVED[name].counter_clockwise()
    (path,) = cut_paths([loop], kerf, panel=name)
    assert_leaves_the_part(loop, path, kerf)
    nominal = shapely.LinearRing(loop.points(1e-6))
    points = [s.point_at(i / 23) for s in path if isinstance(s, Spline) for i in range(24)]
    along = [nominal.distance(shapely.Point(point)) for point in points]
    assert along
    assert max(abs(far - kerf / 2) for far in along) < 1e-4


def test_ellipse_that_the_beam_cannot_follow_gets_arcs() -> None:
    """Where an elliptic hole is rounder than the beam, its path is trimmed and still keeps its distance."""
    hole = Loop((ellipse(20, 6),)).reversed()
    (path,) = cut_paths([hole], 5.0, panel="handle")
    assert all(isinstance(s, Arc | Line) for s in path)
    assert_leaves_the_part(hole, path, 5.0)


def test_curved_hole_narrower_than_the_kerf_is_refused() -> None:
    """An ellipse thinner than the kerf closes up."""
    with pytest.raises(KerfError, match="closes up"):
        cut_paths([Loop((ellipse(20, 2),)).reversed()], 5.0, panel="handle")


SIZES = st.floats(math.log(0.05), math.log(20.0)).map(lambda v: round(math.exp(v), 3))


@st.composite
def shapes(draw: st.DrawFn) -> Loop:
    """A rectangle in any direction, or a circle, somewhere about a plate of 40 × 25 mm."""
    place = Motion.shift(round(draw(st.floats(-5, 45)), 3), round(draw(st.floats(-5, 30)), 3))
    if draw(st.booleans()):
        return circle(draw(SIZES) / 2).moved(place)
    turned = Motion.turn(draw(st.sampled_from([0.0, 0.0, 30.0, 45.0, 77.7])))
    return rectangle(draw(SIZES), draw(SIZES)).moved(turned.then(place))


@settings(max_examples=120, deadline=None)
@given(
    adds=st.lists(shapes(), max_size=3),
    cuts=st.lists(shapes(), max_size=6),
    kerf=st.sampled_from([0.1, 0.2, 0.5, 1.0]),
)
@example(adds=[], cuts=[loop_through([(0, 0), (0.0166, 0.0762), (-0.960, 0.289), (-0.9766, 0.2128)])], kerf=0.2)
def test_any_loops_are_cut_right_or_refused_for_a_reason(adds: list[Loop], cuts: list[Loop], kerf: float) -> None:
    """Whatever rectangles and circles a plate is made of, the beam leaves each loop, or the loop has no room for it."""
    for loop in combine([rectangle(40, 25)], adds, cuts).loops:
        refusal = ""
        try:
            (path,) = cut_paths([loop], kerf, panel="any")
        except KerfError as error:
            refusal = str(error)
        if refusal:
            assert_has_no_room(loop, kerf, refusal)
        else:
            assert_leaves_the_part(loop, path, kerf)


def assert_has_no_room(loop: Loop, kerf: float, refusal: str) -> None:
    """By polygons, and with a hair more than the kerf, so that a tie counts as gone: what the refusal says is so."""
    half = kerf / 2 + 1e-3
    nominal = polygon(loop)
    smaller = nominal.buffer(-half)
    if ") closes up" in refusal:
        assert loop.area < 0
        assert smaller.area < 1e-5  # shapely may leave a speck of what just vanishes
    elif "pieces" in refusal:
        assert loop.area < 0
        assert smaller.area < 1e-5 or smaller.geom_type == "MultiPolygon"
    else:
        assert "has a notch" in refusal
        material = nominal if loop.area > 0 else nominal.envelope.buffer(3 * kerf).difference(nominal)
        grown = material.buffer(half, quad_segs=64)
        encloses_a_pocket = loop.area > 0 and len(grown.interiors) > 0
        assert encloses_a_pocket or grown.buffer(-half, quad_segs=64).area > material.area + 1e-6
