"""The order of cutting, judged by an independent look at what is loose, and its time, judged by a numeric integrator."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from panelwright.assemblies.cutting import CutPath, Speeds, by_layer, cutting_order, sheet_time, travel_mm
from panelwright.plates import disc, hole, obround, polygon, rectangle
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Segment
from panelwright.plates.outlines.outline import Outline


def part(shape: Outline, piece: int, marks: int = 0) -> list[CutPath]:
    """All paths of a part: its outline first, as a careless file has them."""
    outer, *holes = shape.loops
    x0, y0, *_ = outer.bounds
    lines = [Line((x0 + 2, y0 + 2 + k), (x0 + 5, y0 + 2 + k)) for k in range(marks)]
    found = [CutPath("outside", outer.segments, piece), *(CutPath("inside", hole.segments, piece) for hole in holes)]
    return [*found, *(CutPath("mark", (line,), piece) for line in lines)]


def jar_lids(seed: int, columns: int = 4, rows: int = 3) -> list[CutPath]:
    """Lids with holes and slots on a sheet, some with a window in which a smaller lid lies, shuffled."""
    rng = random.Random(seed)
    paths: list[CutPath] = []
    piece = 0
    for n in range(columns * rows):
        x, y = 110 * (n % columns), 110 * (n // columns)
        board = rectangle(100, 100)
        if rng.random() < 0.4:
            board = board.cut(rectangle(70, 70))
            inner = disc(50).cut(hole(rng.uniform(5, 20)))
            if rng.random() < 0.5:
                inner = disc(60).cut(hole(44))
                paths += part(disc(30).at(x, y), piece := piece + 1)
            paths += part(inner.at(x, y), piece := piece + 1, marks=1)
        else:
            holes = [hole(6).at(rng.uniform(-40, 40), rng.uniform(-40, 10)) for _ in range(rng.randrange(5))]
            board = board.cut(obround(30, 8).at(0, 30), *holes[:1])
        paths += part(board.at(x, y), piece := piece + 1, marks=rng.randrange(3))
    rng.shuffle(paths)
    return paths


def loose_cuts(paths: Sequence[CutPath]) -> list[int]:
    """Places of paths that are run in material which has been cut free before: by shapely alone."""
    free: list[Any] = []
    found = []
    for k, path in enumerate(paths):
        line = shapely.LineString([*(p for s in path.segments for p in s.chords(0.01)), path.end])
        if any(region.contains(line.interpolate(0.5, normalized=True)) for region in free):
            found.append(k)
        if path.kind != "mark" and path.is_closed:
            free.append(shapely.Polygon(line.coords))
    return found


def same(a: CutPath, b: CutPath) -> bool:
    """Whether two paths are one, begun elsewhere or travelled the other way."""
    first, second = (shapely.LineString([*(p for s in x.segments for p in s.chords(0.01)), x.end]) for x in (a, b))
    return (a.kind, a.piece) == (b.kind, b.piece) and first.hausdorff_distance(second) < 0.05


@pytest.mark.parametrize("seed", range(8))
def test_nothing_loose_is_cut(seed: int) -> None:
    """Marks first, and each path while what it lies in still holds; the careless order it came in is full of mistakes."""
    given_ = jar_lids(seed)
    ordered = cutting_order(given_)
    assert loose_cuts(given_)
    assert not loose_cuts(ordered)
    kinds = [path.kind for path in ordered]
    assert kinds[: kinds.count("mark")] == ["mark"] * kinds.count("mark")
    for piece in {path.piece for path in ordered}:
        own = [path.kind for path in ordered if path.piece == piece and path.kind != "mark"]
        assert own[-1] == "outside"


@pytest.mark.parametrize("seed", range(4))
def test_layer_by_layer_nothing_loose_is_cut_either(seed: int) -> None:
    """A machine that runs one layer after the other, each in the order of the file, does the same."""
    layers = by_layer(cutting_order(jar_lids(seed)))
    assert list(layers) == ["MARK", "CUT-INSIDE", "CUT-OUTSIDE"]
    run = [path for paths in layers.values() for path in paths]
    assert not loose_cuts(run)
    assert [path.kind for path in layers["CUT-OUTSIDE"]] == ["outside"] * len(layers["CUT-OUTSIDE"])


@pytest.mark.parametrize("seed", range(4))
def test_every_path_is_there_once(seed: int) -> None:
    """The same rings and lines, in another order; rings begin on a corner of theirs or, if round, on themselves."""
    given_ = jar_lids(seed)
    left = list(given_)
    for path in cutting_order(given_):
        found = next(other for other in left if same(path, other))
        left.remove(found)
        assert path.length_mm == pytest.approx(found.length_mm)
        assert path.is_closed == found.is_closed
    assert left == []


def test_travel_is_far_less_than_in_the_order_of_the_file() -> None:
    """On a sheet of many holes by far more than 40 %; on any, never more."""
    rng = random.Random(5)
    holes = [CutPath("inside", disc(4).at(rng.uniform(0, 600), rng.uniform(0, 400)).loops[0].segments, 0) for _ in range(200)]
    assert travel_mm(cutting_order(holes)) < 0.2 * travel_mm(holes)
    for seed in range(4):
        paths = jar_lids(seed)
        ordered = cutting_order(paths)
        grouped = [path for kind in ("mark", "inside", "outside") for path in paths if path.kind == kind]
        assert travel_mm(ordered) < travel_mm(grouped)


def test_a_row_of_holes_is_cut_along_the_row() -> None:
    """The shortest tour is known: from the origin straight on, ring to ring; each ring is left where it was begun."""
    row = [CutPath("inside", rectangle(4, 4).at(x, 0).loops[0].segments, 0) for x in (70, 10, 40, 100)]
    ordered = cutting_order(row)
    assert [round(path.bounds[0]) for path in ordered] == [8, 38, 68, 98]
    assert travel_mm(ordered) == pytest.approx(98, abs=4.1)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 40)), min_size=1, max_size=14, unique=True))
def test_never_worse_than_nearest_neighbours(spots: list[tuple[int, int]]) -> None:
    """Against a plain nearest neighbour written here, on single points of travel."""
    dots = [CutPath("mark", (Line((10.0 * x, 10.0 * y), (10.0 * x + 1e-3, 10.0 * y)),), 0) for x, y in spots]
    left, at, plain = list(dots), (0.0, 0.0), 0.0
    while left:
        nearest = min(left, key=lambda path: (math.dist(at, path.start), path.start))
        plain += math.dist(at, nearest.start)
        at = nearest.end
        left.remove(nearest)
    assert travel_mm(cutting_order(dots)) <= plain * 1.1 + 0.1


def test_the_same_paths_give_the_same_order_whatever_their_order() -> None:
    """Twice the same; and of no path at all there is an order too."""
    paths = jar_lids(3)
    assert cutting_order(paths) == cutting_order(list(paths))
    assert cutting_order([]) == ()
    assert by_layer([]) == {"MARK": [], "CUT-INSIDE": [], "CUT-OUTSIDE": []}
    assert Counter(path.kind for path in cutting_order(paths)) == Counter(path.kind for path in paths)


def simulated(segments: Sequence[Segment], speed: float, acceleration: float, steps: int = 4000) -> float:
    """Seconds along a path by small steps: at each place as fast as the way ahead and behind allows, slower at corners.

    Works on speeds at many places and knows no trapezoid.
    """
    places: list[tuple[float, float]] = []  # length of a step, limit of speed in it
    for index, segment in enumerate(segments):
        radius = segment.radius if isinstance(segment, Arc) else math.inf
        limit = min(speed, math.sqrt(acceleration * radius)) if radius < math.inf else speed
        places += [(segment.length / steps, limit)] * steps
        if index + 1 < len(segments):
            (ax, ay), (bx, by) = segment.tangent_at(1.0), segments[index + 1].tangent_at(0.0)
            if ax * bx + ay * by < 1 - 1e-9:  # the tangents are unit vectors: their product is the share that goes on
                places.append((0.0, places[-1][1] * max(0.0, ax * bx + ay * by)))
    speeds = [0.0, *(min(a[1], b[1]) for a, b in pairwise(places)), 0.0]
    for k in range(1, len(speeds)):
        speeds[k] = min(speeds[k], math.sqrt(speeds[k - 1] ** 2 + 2 * acceleration * places[k - 1][0]))
    for k in range(len(speeds) - 2, -1, -1):
        speeds[k] = min(speeds[k], math.sqrt(speeds[k + 1] ** 2 + 2 * acceleration * places[k][0]))
    return sum(2 * length / (speeds[k] + speeds[k + 1]) for k, (length, _) in enumerate(places) if length)


SHAPES = {
    "square": rectangle(40, 40),
    "obround": obround(60, 20),
    "wedge": polygon([(0, 0), (80, 0), (10, 30)]),
    "rounded": rectangle(50, 30).rounded(4),
    "disc": disc(30),
    "knob": polygon([(25 * math.cos(k * math.pi / 9), 25 * math.sin(k * math.pi / 9)) for k in range(18)]),
}


@pytest.mark.parametrize("acceleration", [50.0, 800.0, 9000.0])
@pytest.mark.parametrize("name", SHAPES)
def test_time_agrees_with_small_steps(name: str, acceleration: float) -> None:
    """Within half a per cent of an integrator that knows speeds and distances only."""
    segments = SHAPES[name].loops[0].segments
    told = sheet_time([CutPath("outside", segments, 0)], Speeds(25.0, acceleration_mm_s2=acceleration)).cut_s
    assert told == pytest.approx(simulated(segments, 25.0, acceleration), rel=5e-3)


def test_time_by_hand() -> None:
    """Textbook motion: s = v²/a to speed up and slow down, the rest at speed; too short a way is a triangle, 2·√(s/a)."""
    long, short = CutPath("outside", (Line((0, 0), (200, 0)),), 0), CutPath("outside", (Line((0, 0), (1, 0)),), 0)
    speeds = Speeds(20.0, 100.0, 300.0, 200.0)
    assert sheet_time([long], speeds).cut_s == pytest.approx(200 / 20 + 20 / 200)
    assert sheet_time([short], speeds).cut_s == pytest.approx(2 * math.sqrt(1 / 200))
    square = CutPath("outside", rectangle(50, 50).loops[0].segments, 0)
    assert sheet_time([square], speeds).cut_s == pytest.approx(4 * (50 / 20 + 20 / 200))
    assert sheet_time([square], Speeds(20.0, passes=3)).cut_s == pytest.approx(3 * 200 / 20)
    away = CutPath("mark", (Line((300, 400), (310, 400)),), 0)
    found = sheet_time([away], speeds)
    assert found.travel_s == pytest.approx(500 / 300 + 300 / 200)
    assert found.mark_s == pytest.approx(2 * math.sqrt(10 / 200))  # 100 mm/s would take 50 mm to reach
    assert found.total_s == pytest.approx(found.travel_s + found.mark_s)


def test_a_published_move_takes_the_time_that_is_published() -> None:
    """100 mm, speeding up at 0.2 g to 400 mm/s and slowing down at 0.5 g: 0.393 s in all.

    Source: Dover Motion, Motion Control Handbook, "Motion Calculations" (dovermotion.com), with g = 9.8 m/s²: 0.204 s and
    40.8 mm to speed up, 0.107 s and 42.9 mm at speed, 0.082 s and 16.3 mm to slow down; below 57.1 mm the top speed is not
    reached.  A machine here slows down as it speeds up, so each half of the move is half of a symmetric one.
    """

    def seconds(length: float, acceleration: float) -> float:
        line = CutPath("outside", (Line((0.0, 0.0), (length, 0.0)),), 0)
        return sheet_time([line], Speeds(400.0, acceleration_mm_s2=acceleration)).cut_s

    up, down, even = 40.8, 16.3, 42.9
    assert seconds(2 * up, 1960.0) / 2 == pytest.approx(0.204, abs=6e-4)
    assert seconds(2 * down, 4900.0) / 2 == pytest.approx(0.082, abs=6e-4)
    assert seconds(2 * up + even, 1960.0) - seconds(2 * up, 1960.0) == pytest.approx(0.107, abs=6e-4)
    whole = (seconds(2 * up + even, 1960.0) + seconds(2 * down + even, 4900.0)) / 2
    assert whole == pytest.approx(0.393, abs=6e-4)
    # at 57.1 mm there is nothing at speed; a shorter move is a triangle
    assert (seconds(2 * up, 1960.0) + seconds(2 * down, 4900.0)) / 2 == pytest.approx(0.204 + 0.082, abs=6e-4)
    assert seconds(up, 1960.0) == pytest.approx(2 * math.sqrt(up / 1960.0))


@pytest.mark.parametrize("seed", range(12))
def test_holes_come_before_an_outline_that_is_broken_by_bridges(seed: int) -> None:
    """A lid held by bridges in the window of a frame: its outline is no ring that could hold anything, yet it comes last."""
    rng = random.Random(seed)
    frame = rectangle(200, 200).cut(rectangle(180, 180)).at(100, 100)
    outer, window = (loop.segments for loop in frame.loops)
    middle = (rng.uniform(70, 130), rng.uniform(70, 130))
    lid = rectangle(100, 100).cut(*(hole(8).at(x, y) for x in (-30, 0, 30) for y in (-30, 30))).at(*middle)
    border, *holes = (loop.segments for loop in lid.loops)
    broken = [CutPath("outside", (Line(side.point_at(0.1), side.point_at(0.9)),), 1) for side in border]
    inner = [CutPath("inside", hole, 1) for hole in holes]
    paths = [CutPath("outside", outer, 0), CutPath("inside", window, 0), *broken, *inner]
    rng.shuffle(paths)
    ordered = cutting_order(paths, (middle[0] - 50, middle[1] - 50))
    places: dict[tuple[str, int], list[int]] = {}
    for k, path in enumerate(ordered):
        places.setdefault((path.kind, path.piece), []).append(k)
    assert len(places["outside", 1]) == 4
    assert max(places["inside", 1]) < min(places["outside", 1])
    assert max(places["outside", 1]) < min(places["inside", 0])


def test_a_disc_is_taken_no_faster_than_its_roundness_allows() -> None:
    """v² / r = a: a disc of 8 mm at 200 mm/s² is cut at 28 mm/s, however fast the stock may be cut."""
    rim = CutPath("outside", disc(8).loops[0].segments, 0)
    fast = sheet_time([rim], Speeds(500.0, acceleration_mm_s2=200.0)).cut_s
    v = math.sqrt(200 * 4)
    assert fast == pytest.approx(math.pi * 8 / v + v / 200)


def test_a_disc_in_many_sides_takes_little_longer_than_a_disc() -> None:
    """Imported outlines often are such polygons; with a stop at each corner 60 sides would take a quarter longer."""
    speeds = Speeds(25.0, acceleration_mm_s2=800.0)
    corners = [(30 * math.cos(k * math.pi / 30), 30 * math.sin(k * math.pi / 30)) for k in range(60)]
    sides = sheet_time([CutPath("outside", polygon(corners).loops[0].segments, 0)], speeds).cut_s
    rim = sheet_time([CutPath("outside", disc(60).loops[0].segments, 0)], speeds).cut_s
    assert rim * 0.99 < sides < rim * 1.01
    stops = 60 * 25.0 / 800.0  # each stop and start costs v/a
    assert rim + stops > 1.2 * sides


def test_what_is_not_known_is_told() -> None:
    """No speed of marks, of travel and no acceleration: they are named, and an ellipse takes its length over the speed."""
    ellipse = EllipseArc((0.0, 0.0), (20.0, 0.0), 0.5, 0.0, 2 * math.pi)
    path = CutPath("outside", (ellipse,), 0)
    found = sheet_time([path], Speeds(10.0))
    assert found.missing == ("marking speed", "travel speed", "acceleration")
    assert found.cut_s == pytest.approx(ellipse.length / 10.0)
    slowed = sheet_time([path], Speeds(10.0, acceleration_mm_s2=1000.0)).cut_s
    assert found.cut_s < slowed < 1.01 * found.cut_s
