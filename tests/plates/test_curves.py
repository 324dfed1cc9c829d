"""Segments and loops: each kind against closed formulas, a kernel edge, and itself reversed, moved and mirrored."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.plates._kernel.solids.build import edge_of, wire_of
from panelwright.plates._kernel.solids.read import loop_of_wire
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Loop, Segment, Spline, loop_through
from panelwright.plates.geometry.motion import Motion, cos_sin_deg
from panelwright.plates.geometry.probe import Probe

SPLINE = Spline(3, ((0, 0), (2, 5), (5, 6), (8, -3), (10, 0)), (0, 0, 0, 0, 0.4, 1, 1, 1, 1))
RATIONAL = Spline(2, ((1, 0), (1, 1), (0, 1)), (0, 0, 0, 1, 1, 1), (1, math.sqrt(0.5), 1))
SEGMENTS: dict[str, Segment] = {
    "line": Line((1, 2), (4, 6)),
    "arc": Arc((5, 0), (0, 5), (0, 0), math.pi / 2),
    "long arc, clockwise": Arc((5, 0), (0, 5), (0, 0), -1.5 * math.pi),
    "circle": Arc((3, 1), (3, 1), (1, 1), math.tau),
    "ellipse": EllipseArc((1, 1), (4, 3), 0.4, 0.0, math.tau),
    "ellipse arc": EllipseArc((1, 1), (4, 3), 0.4, 0.3, 2.9),
    "ellipse arc, clockwise": EllipseArc((-2, 1), (0, 3), 0.7, 2.0, -1.0),
    "spline": SPLINE,
    "rational spline": RATIONAL,
}
MOTIONS = {
    "shift": Motion.shift(3, -4),
    "turn": Motion.turn(33),
    "mirror": Motion.mirror_x(),
    "all": Motion.turn(211.5).then(Motion.mirror_x()).then(Motion.shift(-7, 0.25)),
}
BY_KIND = pytest.mark.parametrize("kind", SEGMENTS)


def kernel(segment: Segment) -> object:
    """The segment as a CadQuery edge."""
    import cadquery as cq

    return cq.Edge(edge_of(segment))


@BY_KIND
def test_length_against_fine_chords(kind: str) -> None:
    """Lengths are the sums of very many chords, to a tenth of a micrometre."""
    segment = SEGMENTS[kind]
    points = [segment.point_at(i / 20000) for i in range(20001)]
    # the kernel is no reference here: it gave 23.078 mm for the ellipse of 23.0131126 mm (a complete elliptic integral)
    assert segment.length == pytest.approx(math.fsum(math.dist(p, q) for p, q in pairwise(points)), abs=1e-4)


def test_length_of_an_ellipse() -> None:
    """4·a·E(1 − b²/a²) with a = 5 and b = 2, the elliptic integral E by its tables."""
    assert SEGMENTS["ellipse"].length == pytest.approx(23.0131126, abs=1e-6)


@BY_KIND
def test_ends_and_points(kind: str) -> None:
    """Shares 0 and 1 are the ends; points between lie on the kernel's edge."""
    import cadquery as cq

    segment = SEGMENTS[kind]
    assert segment.point_at(0.0) == pytest.approx(segment.start, abs=1e-12)
    assert segment.point_at(1.0) == pytest.approx(segment.end, abs=1e-12)
    edge = kernel(segment)
    for share in (0.0, 0.2, 0.5, 0.77, 1.0):
        x, y = segment.point_at(share)
        assert edge.distance(cq.Vertex.makeVertex(x, y, 0)) < 1e-9  # type: ignore[attr-defined]  # known to be there


@BY_KIND
def test_tangent_is_the_slope(kind: str) -> None:
    """The tangent is the unit vector along the way, by central differences."""
    segment = SEGMENTS[kind]
    for share in (0.1, 0.5, 0.9):
        (x0, y0), (x1, y1) = segment.point_at(share - 1e-6), segment.point_at(share + 1e-6)
        size = math.hypot(x1 - x0, y1 - y0)
        assert segment.tangent_at(share) == pytest.approx(((x1 - x0) / size, (y1 - y0) / size), abs=1e-6)
        assert math.hypot(*segment.tangent_at(share)) == pytest.approx(1.0)


@BY_KIND
def test_bounds_hold_the_segment(kind: str) -> None:
    """All points lie in the bounds, and no side of the bounds is further out than the segment reaches."""
    segment = SEGMENTS[kind]
    x0, y0, x1, y1 = segment.bounds
    points = [segment.point_at(i / 2000) for i in range(2001)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    assert x0 - 1e-9 <= min(xs)
    assert max(xs) <= x1 + 1e-9
    assert y0 - 1e-9 <= min(ys)
    assert max(ys) <= y1 + 1e-9
    assert (x0, y0, x1, y1) == pytest.approx((min(xs), min(ys), max(xs), max(ys)), abs=1e-4)


@BY_KIND
@pytest.mark.parametrize("motion", MOTIONS)
def test_bounds_of_a_moved_segment_are_as_tight(kind: str, motion: str) -> None:
    """Turned and mirrored too, the bounds touch the segment on all four sides, from outside."""
    segment = SEGMENTS[kind].moved(MOTIONS[motion])
    points = [segment.point_at(i / 2000) for i in range(2001)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    true = (min(xs), min(ys), max(xs), max(ys))
    assert segment.bounds == pytest.approx(true, abs=1e-4)
    assert all(sign * (own - far) >= -1e-9 for own, far, sign in zip(segment.bounds, true, (-1, -1, 1, 1), strict=True))


@st.composite
def splines(draw: st.DrawFn) -> Spline:
    """A clamped spline of degree 2 to 6, rational or not, its inner knots single or repeated."""
    degree = draw(st.integers(2, 6))
    inner = sorted(draw(st.lists(st.sampled_from([0.1, 0.25, 0.5, 0.6, 0.9]), max_size=5)))
    inner = [knot for number, knot in enumerate(inner) if inner[:number].count(knot) < degree - 1]
    count = degree + 1 + len(inner)
    spot = st.tuples(st.integers(-50, 50), st.integers(-50, 50))
    poles = tuple((float(x), float(y)) for x, y in draw(st.lists(spot, min_size=count, max_size=count)))
    weights = draw(st.none() | st.lists(st.sampled_from([0.2, 1.0, 3.5]), min_size=count, max_size=count).map(tuple))
    return Spline(degree, poles, (0.0,) * (degree + 1) + tuple(inner) + (1.0,) * (degree + 1), weights)


@settings(max_examples=60, deadline=None)
@given(splines())
def test_bounds_of_any_spline_touch_it_from_outside(spline: Spline) -> None:
    """What 1,500 points of the curve reach lies in the bounds; what these have beyond is less than the points can miss."""
    points = [spline.point_at(i / 1500) for i in range(1501)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    step = max(math.dist(p, q) for p, q in pairwise(points))
    for own, far, sign in zip(spline.bounds, (min(xs), min(ys), max(xs), max(ys)), (-1, -1, 1, 1), strict=True):
        assert -1e-9 <= sign * (own - far) <= step / 2 + 1e-9


@settings(max_examples=40, deadline=None)
@given(splines(), st.sampled_from([0.1, 1e-2, 1e-3]))
def test_chords_of_any_spline_keep_within_their_tolerance(spline: Spline, tolerance: float) -> None:
    """Points evaluated one by one lie within the tolerance of the chords (a tenth more, between the points looked at)."""
    corners = [*spline.chords(tolerance), spline.end]
    line = shapely.LineString(corners)
    shapely.prepare(line)
    spots = shapely.points([spline.point_at(i / 499) for i in range(500)])
    assert shapely.dwithin(line, spots, 1.1 * tolerance + 1e-9).all()
    assert corners[0] == spline.start


def test_a_loop_with_splines_is_followed_once_for_each_tolerance(monkeypatch: pytest.MonkeyPatch) -> None:
    """Asking again, also by way of other checks, computes nothing anew."""
    calls: list[float] = []
    plain = Spline.chords

    def counted(spline: Spline, tolerance: float) -> list[tuple[float, float]]:
        calls.append(tolerance)
        return plain(spline, tolerance)

    monkeypatch.setattr(Spline, "chords", counted)
    loop = Loop((SPLINE, Line(SPLINE.end, SPLINE.start)))
    assert loop.points(1e-3) == loop.points(1e-3)
    assert loop.points(1e-2) != loop.points(1e-3)
    for _ in range(3):
        assert Probe([loop]).covers([(1.0, 1.0)]) == Probe([loop]).covers([(1.0, 1.0)])
        assert Probe([loop]).along((-5.0, 1.0), (1.0, 0.0)) != []
    assert len(calls) == len(set(calls)) == 4


@BY_KIND
@pytest.mark.parametrize("tolerance", [0.1, 2e-3, 1e-5])
def test_chords_keep_within_their_tolerance(kind: str, tolerance: float) -> None:
    """No point of the segment is further than the tolerance from the chords, which begin at its start."""
    segment = SEGMENTS[kind]
    corners = [*segment.chords(tolerance), segment.end]
    assert corners[0] == pytest.approx(segment.start, abs=1e-12)
    chords = shapely.LineString(corners)
    off = max(chords.distance(shapely.Point(segment.point_at(i / 997))) for i in range(998))
    assert off <= tolerance * 1.01 + 1e-12
    if kind != "line":
        assert off > 0


@BY_KIND
def test_area_term_is_the_integral(kind: str) -> None:
    """½∮(x dy − y dx) agrees with the sum over fine chords."""
    segment = SEGMENTS[kind]
    points = [segment.point_at(i / 20000) for i in range(20001)]
    sums = 0.5 * math.fsum(p[0] * q[1] - q[0] * p[1] for p, q in pairwise(points))
    assert segment.area_term() == pytest.approx(sums, abs=1e-5)


@BY_KIND
def test_reversed_runs_the_other_way(kind: str) -> None:
    """Reversing swaps the ends, turns tangent and area about, and twice is the same again."""
    segment = SEGMENTS[kind]
    back = segment.reversed()
    assert back.start == pytest.approx(segment.end, abs=1e-12)
    assert back.area_term() == pytest.approx(-segment.area_term(), abs=1e-9)
    assert back.point_at(0.3) == pytest.approx(segment.point_at(0.7), abs=1e-9)
    assert back.tangent_at(0.3) == pytest.approx(tuple(-v for v in segment.tangent_at(0.7)), abs=1e-9)
    again = back.reversed()
    assert [again.point_at(s) for s in (0.0, 0.4, 1.0)] == [
        pytest.approx(segment.point_at(s), abs=1e-12) for s in (0.0, 0.4, 1.0)
    ]


@BY_KIND
@pytest.mark.parametrize("motion", MOTIONS)
def test_moved_points_are_points_moved(kind: str, motion: str) -> None:
    """Moving, turning and mirroring commute with taking points, and keep length."""
    segment, by = SEGMENTS[kind], MOTIONS[motion]
    moved = segment.moved(by)
    assert type(moved) is type(segment)
    for share in (0.0, 0.31, 0.8, 1.0):
        assert moved.point_at(share) == pytest.approx(by.apply(segment.point_at(share)), abs=1e-9)
    assert moved.length == pytest.approx(segment.length, abs=1e-6)


@BY_KIND
def test_through_the_kernel_and_back(kind: str) -> None:
    """A closed wire of the segment and its chord comes back from the kernel as the same kinds of segments."""
    segment = SEGMENTS[kind]
    closed = math.dist(segment.start, segment.end) < 1e-9
    spare = (Line(segment.end, (20.0, 20.0)), Line((20.0, 20.0), segment.start))
    loop = Loop((segment,) if closed else (segment, *spare))
    read = loop_of_wire(wire_of(loop))
    assert [type(s) for s in read] == [type(s) for s in loop]
    assert read.area == pytest.approx(loop.area, abs=1e-6)
    assert read.length == pytest.approx(loop.length, abs=1e-6)


def test_areas_against_closed_formulas() -> None:
    """Circle, ellipse, polygon and half disc."""
    assert Loop((SEGMENTS["circle"],)).area == pytest.approx(4 * math.pi, abs=1e-12)
    assert Loop((SEGMENTS["ellipse"],)).area == pytest.approx(math.pi * 5 * 2, abs=1e-12)
    assert loop_through([(0, 0), (7, 0), (0, 3)]).area == 10.5
    half = Loop((Arc((2, 0), (-2, 0), (0, 0), math.pi), Line((-2, 0), (2, 0))))
    assert half.area == pytest.approx(2 * math.pi, abs=1e-12)
    # the rational quadratic with weights 1, √½, 1 is a quarter of a unit circle
    quarter = Loop((RATIONAL, Line((0, 1), (0, 0)), Line((0, 0), (1, 0))))
    assert quarter.area == pytest.approx(math.pi / 4, abs=1e-9)
    assert all(math.hypot(*RATIONAL.point_at(i / 9)) == pytest.approx(1, abs=1e-12) for i in range(10))


def test_orientation() -> None:
    """Outer loops run counter-clockwise and holes clockwise, and asking for one twice changes nothing."""
    square = loop_through([(0, 0), (0, 2), (2, 2), (2, 0)])
    assert square.area == -4
    assert not square.is_counter_clockwise
    assert square.counter_clockwise().area == 4
    assert square.counter_clockwise().counter_clockwise() == square.counter_clockwise()
    assert square.clockwise() is square
    assert square.moved(Motion.mirror_x()).area == -4, "a mirror image keeps its orientation"


@settings(max_examples=60, deadline=None)
@given(st.integers(3, 12), st.integers(0, 11), st.booleans())
def test_canonical_loops_compare_equal(sides: int, start: int, backwards: bool) -> None:
    """However a polygon is begun, its canonical form is the same, and begins at its lowest leftmost corner."""
    corners = [cos_sin_deg(360 * i / sides) for i in range(sides)]
    turned = corners[start % sides :] + corners[: start % sides]
    one, other = loop_through(corners).canonical(), loop_through(turned).canonical()
    assert one == other
    least = min((round(x, 6), round(y, 6)) for x, y in corners)
    assert one.segments[0].start == pytest.approx(least, abs=1e-6)
    if backwards:
        assert loop_through(turned[::-1]).counter_clockwise().canonical().area == pytest.approx(one.area)


@pytest.mark.parametrize("quarter", range(-8, 9))
def test_quarter_turns_are_exact(quarter: int) -> None:
    """Cosine and sine of quarter turns are 0 and ±1 to the last bit, and four of them are nothing."""
    cosine, sine = cos_sin_deg(90 * quarter)
    assert {abs(cosine), abs(sine)} == {0.0, 1.0}
    turn = Motion.turn(90 * quarter)
    point = (3.7, -1.1)
    for _ in range(4):
        point = turn.apply(point)
    assert point == (3.7, -1.1)


def test_motions_chain_in_reading_order() -> None:
    """`then` does this one first; mirrors undo each other."""
    both = Motion.turn(90).then(Motion.shift(10, 0))
    assert both.apply((1.0, 0.0)) == (10.0, 1.0)
    assert Motion.mirror_x().then(Motion.mirror_x()).flips is False
    assert MOTIONS["all"].flips is True


def test_long_lines_and_small_arcs_keep_their_digits() -> None:
    """A metre away from the origin, an arc of a hundredth of a millimetre still has its length and area."""
    away = Motion.shift(1000, -2000)
    small = Loop((Arc((0.01, 0), (0.01, 0), (0, 0), math.tau),)).moved(away)
    assert small.area == pytest.approx(math.pi * 1e-4, rel=1e-4)
    assert small.length == pytest.approx(math.tau * 0.01, rel=1e-9)
