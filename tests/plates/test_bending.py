"""What a panel becomes before the kernel sees it: loops split along bend lines, and curves rolled onto cylinders."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import pytest
from panelwright.plates import Frame, disc, rectangle
from panelwright.plates._kernel.solids.rolled import rolled
from panelwright.plates.geometry.bending import FlatPiece, RoundPiece, split_for_bending
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Loop, Point, Segment, loop_through
from panelwright.plates.geometry.frame import Vector, dot, minus
from readers import is_closed

ODD = Frame.turned((1, 2, 3), 37).shifted((13.7, -211.3, 57.1))


def strip_of(loops: tuple[Loop, ...]) -> RoundPiece:
    """Bend lines at x = 0 and x = 10π."""
    return RoundPiece(loops, Frame(), (0.0, 0.0), (0.0, 1.0), (1.0, 0.0), 20.0, math.pi / 2, 2.0)


def test_neighbours_share_whole_segments() -> None:
    """A long border on a bend line is split where the shorter neighbour ends, and nowhere else."""
    wide = rectangle(10 * math.pi, 40).at(5 * math.pi, 0).loops
    narrow = rectangle(12, 16).at(-6, 3).loops
    split_narrow, split_wide = split_for_bending([FlatPiece(narrow, Frame()), strip_of(wide)])
    assert split_narrow == narrow
    (loop,) = split_wide
    assert is_closed(loop)
    assert loop.area == pytest.approx(wide[0].area, abs=1e-9)
    on_line = sorted({s.start[1] for s in loop if abs(s.start[0]) < 1e-9})
    assert on_line == pytest.approx([-20, -5, 11, 20])
    assert len(loop) == len(wide[0]) + 2


def test_corners_that_rounding_parts_become_one() -> None:
    """Corners on a bend line that differ by less than 1e-6 mm are made the same to the last bit."""
    wide = rectangle(10 * math.pi, 40).at(5 * math.pi, 0).loops
    near = loop_through([(-12, -20 + 4e-8), (3e-8, -20 + 4e-8), (-2e-8, 20), (-12, 20)])
    first, second = split_for_bending([FlatPiece((near,), Frame()), strip_of(wide)])
    corners = [{s.start for loop in piece for s in loop if abs(s.start[0]) < 1e-6} for piece in (first, second)]
    assert corners[0] == corners[1]
    assert len(corners[0]) == 2
    assert is_closed(first[0])


@pytest.mark.parametrize(
    "loop",
    [
        disc(8).at(15, 3).loops[0],
        Loop((EllipseArc((15.0, 3.0), (6.0, 2.0), 0.5, 0.0, math.tau),)),
    ],
    ids=["circle", "ellipse"],
)
def test_closed_curves_are_halved(loop: Loop) -> None:
    """A full circle or ellipse becomes two halves that meet, of the same area and the same turn."""
    for one in (loop, loop.reversed()):
        ((found,),) = split_for_bending([FlatPiece((one,), Frame())])
        assert len(found) == 2
        assert found.area == pytest.approx(one.area, abs=1e-9)
        assert is_closed(found) or math.dist(found.segments[-1].end, found.segments[0].start) < 1e-9


# splines on cylinders


def oblique() -> Iterator[tuple[str, Segment]]:
    yield "long line", Line((1.0, -15.0), (30.0, 18.0))
    yield "very long line", Line((1.0, -15.0), (300.0, 18.0))
    yield "steep line", Line((10.0, -15.0), (10.3, 15.0))
    yield "flat line", Line((1.0, 2.0), (31.0, 2.4))
    yield "half circle", Arc((10.0, 2.0), (10.0, 8.0), (10.0, 5.0), math.pi)
    yield "clockwise", Arc((10.0, 2.0), (10.0, 8.0), (10.0, 5.0), -math.pi)
    yield "small", Arc((10.0, 2.0), (10.2, 2.0), (10.1, 2.0), math.pi)
    yield "wide", Arc((2.0, 0.0), (28.0, 0.0), (15.0, -2.0), -2 * math.atan2(13, 2))


@pytest.mark.parametrize(("name", "segment"), list(oblique()))
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("radius", [20.0, 400.0])
def test_rolled_curves_run_through_the_exact_points(name: str, segment: Segment, radius: float, sign: int) -> None:
    """On either cylinder, in its parameters and in the wall between, the spline is within 2e-6 mm of the panel's points."""
    piece = RoundPiece((), ODD, (0.0, 0.0), (0.0, 1.0), (1.0, 0.0), radius, sign * math.pi / 2, 3.0)

    def flat(spot: Point) -> Point:
        s, u = piece.flat(spot)
        _, direction, _, _ = piece.axis
        return s / piece.radius, u * math.copysign(1.0, dot(piece.frame.direction((*piece.along, 0.0)), direction))

    shape = rolled(segment, flat, piece.radius)
    radii = [piece.radius_at(z) for z in (0.0, 3.0)]
    wall, drawn = shape.wall(piece, radii, 3.0), shape.in_parameters()
    curves = [shape.in_space(piece, radius) for radius in radii]
    worst = 0.0
    for i in range(201):
        share = i / 200
        spot = segment.point_at(share)
        angle, height = flat(spot)
        found = drawn.Value(share)
        worst = max(worst, abs(found.X() - angle) * piece.radius, abs(found.Y() - height))
        for z, curve in zip((0.0, 3.0), curves, strict=True):
            p = curve.Value(share)
            worst = max(worst, math.dist((p.X(), p.Y(), p.Z()), piece.point(spot, z)))
        for z in (0.0, 0.7, 3.0):
            p = wall.Value(share, z)
            worst = max(worst, math.dist((p.X(), p.Y(), p.Z()), piece.point(spot, z)))
    assert worst < 2e-6
    ends = [piece.point(spot, 0.0) for spot in (segment.start, segment.end)]
    for at, end in zip((0.0, 1.0), ends, strict=True):
        p = curves[0].Value(at)
        assert math.dist((p.X(), p.Y(), p.Z()), end) < 1e-9


def test_lengths_of_the_middle_are_kept() -> None:
    """In the middle of the sheet a rolled line is as long as it was flat, and steps along the arc are equal."""
    piece = RoundPiece((), ODD, (3.0, 1.0), (0.6, 0.8), (0.8, -0.6), 25.0, -2.0, 4.0)
    points = [piece.point((3.0 + 0.03 * i, 1.0 - 0.001 * i), 2.0) for i in range(1001)]
    chords = [math.dist(p, q) for p, q in pairwise(points)]
    assert sum(chords) == pytest.approx(1000 * math.hypot(0.03, 0.001), rel=1e-7)
    assert max(chords) - min(chords) < 1e-12
    assert math.dist(piece.beyond.point((9.0, 7.0, 1.5)), _past(piece, (9.0, 7.0), 1.5)) < 1e-9


def _past(piece: RoundPiece, spot: Point, z: float) -> Vector:
    """A point beyond the second bend line, by going straight on from the bend line along the tangent there."""
    s, u = piece.flat(spot)
    (ox, oy), (ax, ay), (bx, by) = piece.origin, piece.along, piece.across
    step = 1e-3
    ends = [
        piece.point((ox + u * ax + at * bx, oy + u * ay + at * by), piece.thickness / 2)
        for at in (piece.length - step, piece.length + step)
    ]
    edge = piece.point((ox + u * ax + piece.length * bx, oy + u * ay + piece.length * by), z)
    way = minus(ends[1], ends[0])
    size = math.sqrt(dot(way, way))
    x, y, zz = (e + (s - piece.length) * w / size for e, w in zip(edge, way, strict=True))
    return (x, y, zz)
