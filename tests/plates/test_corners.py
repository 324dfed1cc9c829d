"""Corners between straight edges and arcs: radii, tangency, and areas by polygons offset there and back."""

from __future__ import annotations

import math

import pytest
import shapely
from panelwright.plates import Outline, disc, rectangle, sector
from panelwright.plates.errors import OutlineError
from panelwright.plates.geometry.curves import Arc, Line
from panelwright.plates.outlines.blends import corner_angle

SHAPES: dict[str, Outline] = {
    "slice": sector(120, 60),
    "half": sector(120, 180),
    "all but a slice": sector(120, 250),
    "lens": disc(100).cut(rectangle(200, 200).cut(disc(100).at(-60, 0))),
    "moon": disc(100).cut(disc(90).at(35, 0)),
    "head on shoulders": rectangle(80, 40).joined(disc(50).at(0, 30)),
    "bitten": rectangle(80, 60).cut(disc(50).at(0, 42)),
    "D": disc(100).cut(rectangle(100, 200).at(70, 0)),
}
BY_SHAPE = pytest.mark.parametrize("name", SHAPES)


def polygon(outline: Outline) -> shapely.Polygon:
    return shapely.Polygon(outline.outer.points(1e-5))


def turns(outline: Outline) -> list[float]:
    segments = outline.outer.segments
    return [corner_angle(segments[i - 1], segment) for i, segment in enumerate(segments)]


@BY_SHAPE
@pytest.mark.parametrize("radius", [0.5, 3.0])
def test_rounded_corners_are_tangent_arcs_of_their_radius(name: str, radius: float) -> None:
    """One arc of the radius for each corner; nothing turns sharply any more, and all else stays on its own line or circle."""
    shape = SHAPES[name]
    corners = [turn for turn in turns(shape) if abs(turn) > 1e-6]
    rounded = shape.rounded(radius)
    assert max(map(abs, turns(rounded))) < 1e-7
    fresh = [s for s in rounded.outer if isinstance(s, Arc) and s.radius == pytest.approx(radius, abs=1e-9)]
    assert len(fresh) == len(corners)
    assert len(rounded.outer) == len(shape.outer) + len(corners)
    circles = {(round(s.center[0], 6), round(s.center[1], 6), round(s.radius, 6)) for s in shape.outer if isinstance(s, Arc)}
    for segment in rounded.outer:
        if isinstance(segment, Arc) and segment not in fresh:
            assert (round(segment.center[0], 6), round(segment.center[1], 6), round(segment.radius, 6)) in circles
        # each arc ends where it says it does
        if isinstance(segment, Arc):
            x, y = segment.start[0] - segment.center[0], segment.start[1] - segment.center[1]
            cosine, sine = math.cos(segment.sweep), math.sin(segment.sweep)
            end = (segment.center[0] + x * cosine - y * sine, segment.center[1] + x * sine + y * cosine)
            assert math.dist(end, segment.end) < 1e-9


@BY_SHAPE
def test_rounded_areas_are_those_of_polygons_offset_there_and_back(name: str) -> None:
    """A disc rolled round inside leaves convex corners rounded, one rolled round outside concave ones (morphology)."""
    shape, radius = SHAPES[name], 2.5
    flat = polygon(shape)
    arcs = {"quad_segs": 512}
    opened = flat.buffer(-radius, **arcs).buffer(radius, **arcs)
    closed = flat.buffer(radius, **arcs).buffer(-radius, **arcs)
    expected = flat.area - (flat.area - opened.area) + (closed.area - flat.area)
    assert shape.rounded(radius).area == pytest.approx(expected, abs=2e-2)
    assert abs(expected - flat.area) > 0.1


@BY_SHAPE
def test_chamfers_cut_corners_straight_between_points_on_both_sides(name: str) -> None:
    """Each corner becomes one straight edge between the points that lie the size away along both sides."""
    shape, size = SHAPES[name], 3.0
    cut = shape.chamfered(size)
    assert len(cut.outer) == len(shape.outer) + sum(abs(turn) > 1e-6 for turn in turns(shape))
    border = shape.outer.length
    fresh = [s for s in cut.outer if isinstance(s, Line) and not any(_lies_on(s, t) for t in shape.outer)]
    assert len(fresh) == len(cut.outer) - len(shape.outer)
    assert cut.outer.length == pytest.approx(border - 2 * size * len(fresh) + sum(s.length for s in fresh), abs=1e-9)


def _lies_on(line: Line, segment: object) -> bool:
    return (
        isinstance(segment, Line)
        and shapely.LineString([segment.start, segment.end]).distance(
            shapely.LineString([line.point_at(0.3), line.point_at(0.6)])
        )
        < 1e-9
        and abs(corner_angle(line, segment)) < 1e-9
    )


def test_one_corner_of_a_slice_by_selector() -> None:
    """The point only: by hand, r·cot(30°) of both sides, and the arc turns by 120°."""
    rounded = sector(120, 60).rounded(6, "<X")
    assert [type(s) for s in rounded.outer].count(Arc) == 2
    (arc,) = (s for s in rounded.outer if isinstance(s, Arc) and s.radius < 10)
    assert math.degrees(arc.sweep) == pytest.approx(120)
    assert math.dist(arc.start, (0, 0)) == pytest.approx(6 / math.tan(math.radians(30)))


def test_a_corner_of_line_and_arc_by_hand() -> None:
    """A half disc of radius 60, its corner rounded by 10: the centre is 50 from the middle and 10 from the straight edge."""
    rounded = sector(120, 180).rounded(10, "<Y")
    (arc,) = (s for s in rounded.outer if isinstance(s, Arc) and s.radius == pytest.approx(10))
    assert arc.center == pytest.approx((10.0, -math.sqrt(50**2 - 10**2)))
    assert sorted([arc.start, arc.end])[0] == pytest.approx((0.0, -math.sqrt(2400)))


@pytest.mark.parametrize("radius", [21.0, 40.0, 500.0])
def test_a_radius_that_fits_nowhere_is_refused(radius: float) -> None:
    """A slice of 60° and radius 60 holds a circle of 20 at most: 60·sin(30°) / (1 + sin(30°))."""
    with pytest.raises(OutlineError, match="make it smaller"):
        sector(120, 60).rounded(radius)
    assert sector(120, 60).rounded(19.9).area < sector(120, 60).area
