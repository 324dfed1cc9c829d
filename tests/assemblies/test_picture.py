"""Pictures of an assembly show what can be seen, all of it, and nothing else."""

from __future__ import annotations

import io
import math
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any
from xml.etree import ElementTree

import cadquery as cq
import matplotlib.image
import numpy as np
import pytest
import shapely
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.pictures.picture import VIEWS, View, line_drawing, shaded_pixels, shaded_png
from panelwright.plates._kernel.drawing.hidden_line import Outlook, VisibleEdges, visible_edges, world_bounds
from panelwright.plates._kernel.drawing.polygon_lines import EXACT_UP_TO, edges_seen, polygon_edges
from panelwright.plates._kernel.drawing.shaded import _nearest, triangulated
from panelwright.plates.errors import KernelError, PlacementError, SelectionError, SizeError
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Segment, Spline
from panelwright.plates.geometry.frame import Frame, Vector
from panelwright.plates.materials.stock import Stock

BIRCH = Stock("birch plywood", 3.0, color="orange")
CLEAR = Stock("tinted acrylic", 3.0, color="blue")
STANDING = Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
"""Show face towards the front, local y up."""
SVG = "{http://www.w3.org/2000/svg}"


def solid_of(work: cq.Workplane) -> Any:
    shape: Any = work.val()
    return shape.wrapped


def block(width: float, depth: float, height: float) -> Any:
    return solid_of(cq.Workplane().box(width, depth, height, centered=False))


def drilled(width: float, depth: float, thickness: float, radius: float) -> Any:
    hole = cq.Workplane().cylinder(4 * thickness, radius).translate((width / 2, depth / 2, 0))
    return solid_of(cq.Workplane().box(width, depth, thickness, centered=False).cut(hole))


def part(name: str, solid: Any, frame: Frame = STANDING, stock: Stock = BIRCH) -> Part:
    return Part(name, stock, frame, solid, ())


def seen(view: str | View, *solids: tuple[Any, Frame]) -> list[VisibleEdges]:
    look = VIEWS[view] if isinstance(view, str) else view
    return visible_edges(solids, Outlook.towards(look.viewer, up=look.up))


def tile_tray() -> list[Part]:
    """A base, two ends and a drilled divider of acrylic."""
    across = Frame((0.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    return [
        part("base", block(120, 80, 3), Frame()),
        part("left end", block(80, 40, 3), across.shifted((0.0, 0.0, 3.0))),
        part("right end", block(80, 40, 3), across.shifted((117.0, 0.0, 3.0))),
        part("divider", drilled(114, 30, 3, 9), STANDING.shifted((3.0, 40.0, 3.0)), CLEAR),
    ]


def inked(segments: tuple[Segment, ...]) -> float:
    return math.fsum(segment.length for segment in segments)


# ---- hidden lines ----


def test_a_cube_in_isometric_view_shows_nine_edges_of_equal_exact_length() -> None:
    (cube,) = seen("iso", (block(60, 60, 60), Frame()))
    assert len(cube.sharp) == 9
    assert cube.outline == ()
    assert cube.smooth == ()
    for edge in cube.sharp:
        assert isinstance(edge, Line)
        assert edge.length == pytest.approx(60 * math.sqrt(2 / 3), abs=1e-9)


@pytest.mark.parametrize(("view", "across", "up"), [("front", 70, 30), ("right", 50, 30), ("top", 70, 50)])
def test_a_block_seen_square_on_is_a_rectangle_of_its_true_size(view: str, across: float, up: float) -> None:
    (found,) = seen(view, (block(70, 50, 30), Frame()))
    assert sorted(edge.length for edge in found.creases) == pytest.approx(sorted([across, across, up, up]))


def test_a_plate_in_front_hides_the_one_behind_it_and_only_then() -> None:
    front, rear = block(100, 60, 3), block(40, 30, 3)
    behind = STANDING.shifted((30.0, 25.0, 15.0))
    covering, covered = seen("front", (front, STANDING), (rear, behind))
    assert covered.creases == ()
    assert covered.smooth == ()
    assert len(covering.creases) == 4
    _, uncovered = seen("back", (front, STANDING), (rear, behind))
    assert inked(uncovered.creases) == pytest.approx(2 * (40 + 30))


def test_a_plate_half_covered_shows_exactly_the_other_half() -> None:
    further = STANDING.shifted((50.0, 20.0, 10.0))
    _, rear = seen("front", (block(100, 60, 3), STANDING), (block(100, 40, 3), further))
    # Of 100 × 40 mm, 50 mm at the right stick out: two runs of 50 and the right-hand end.
    assert sorted(edge.length for edge in rear.creases) == pytest.approx([40, 50, 50])


def test_a_part_behind_a_round_hole_is_seen_through_it_only() -> None:
    window, bar = drilled(80, 80, 3, 20), block(200, 4, 3)
    plate, behind = seen("front", (window, STANDING), (bar, STANDING.shifted((-60.0, 30.0, 38.0))))
    circles = [edge for edge in plate.creases if isinstance(edge, Arc)]
    assert inked(tuple(circles)) == pytest.approx(2 * math.pi * 20)
    chord = 2 * math.sqrt(20**2 - 2**2)
    # The bar's ends stick out by 60 mm on both sides; its two long edges also cross the hole.
    expected = sorted([4, 4, 60, 60, 60, 60, chord, chord])
    assert sorted(edge.length for edge in behind.creases) == pytest.approx(expected)


def test_a_round_hole_seen_aslant_is_an_exact_ellipse() -> None:
    (plate,) = seen(View(0, 30), (drilled(80, 80, 3, 20), Frame()))
    bows = [edge for edge in plate.sharp if isinstance(edge, EllipseArc)]
    assert bows
    assert {round(bow.ratio, 9) for bow in bows} == {0.5}
    assert {round(math.hypot(*bow.major), 9) for bow in bows} == {20.0}
    top = 40 * 0.5 + 3 * math.cos(math.radians(30))
    upper = [bow for bow in bows if bow.center[1] == pytest.approx(top)]
    whole = EllipseArc((0.0, 0.0), (20.0, 0.0), 0.5, 0.0, 2 * math.pi).length
    assert inked(tuple(upper)) == pytest.approx(whole, rel=1e-6)


@pytest.mark.parametrize("elevation_deg", [-60, -20, 20, 60, 90])
@pytest.mark.parametrize("azimuth_deg", [0, 75, 200])
def test_a_quarter_round_seen_from_any_side_bulges_the_right_way(azimuth_deg: int, elevation_deg: int) -> None:
    quarter = cq.Workplane().moveTo(0, 0).lineTo(40, 0).radiusArc((0, 40), -40).close().extrude(3)
    view = View(azimuth_deg, elevation_deg)
    outlook = Outlook.towards(view.viewer, up=view.up)
    (found,) = seen(view, (solid_of(quarter), Frame()))
    turns = np.radians(np.linspace(0, 90, 2001))
    rims = shapely.MultiLineString(
        [[outlook.project((40 * math.cos(t), 40 * math.sin(t), z)) for t in turns] for z in (0.0, 3.0)]
    )
    bows = [edge for edge in found.sharp if not isinstance(edge, Line)]
    assert bows
    for bow in bows:
        for share in (0.0, 0.3, 0.5, 0.8, 1.0):
            assert rims.distance(shapely.Point(bow.point_at(share))) < 1e-4


def test_the_line_where_a_rounded_corner_begins_is_smooth_and_no_crease() -> None:
    rounded = cq.Workplane().box(60, 40, 10, centered=False).edges("|Z").fillet(8)
    (found,) = seen("front", (solid_of(rounded), Frame()))
    assert sorted({round(edge.start[0], 6) for edge in found.smooth}) == [8, 52]
    assert not set(found.smooth) & set(found.creases)
    upright = [edge for edge in found.creases if edge.start[0] == pytest.approx(edge.end[0])]
    assert sorted(round(edge.start[0], 6) for edge in upright) == [0, 60]


def test_a_round_face_shows_its_outline_and_no_seam() -> None:
    (rod,) = seen("front", (solid_of(cq.Workplane().cylinder(50, 8)), Frame()))
    assert sorted(edge.length for edge in rod.creases) == pytest.approx([16, 16, 50, 50])


def test_a_freeform_edge_seen_aslant_stays_on_the_projected_curve() -> None:
    wave = cq.Workplane().spline([(0, 0), (30, 20), (60, -10), (100, 0)]).lineTo(100, 60).lineTo(0, 60).close()
    solid = wave.extrude(3)
    outlook = Outlook.towards((0.5, -0.7, 0.6), up=(0.0, 0.0, 1.0))
    (found,) = visible_edges([(solid_of(solid), Frame())], outlook)
    curves = [edge for edge in found.sharp if isinstance(edge, Spline)]
    assert len(curves) == 2
    truth: Any = solid.faces(">Z").edges("%BSPLINE").val()
    drawn = [shapely.LineString([*curve.chords(1e-4), curve.end]) for curve in curves]
    for index in range(21):
        expected = shapely.Point(outlook.project(truth.positionAt(index / 20).toTuple()))
        assert min(line.distance(expected) for line in drawn) < 2e-4


def test_edges_are_attributed_to_the_right_one_of_two_equal_plates() -> None:
    solid = block(40, 20, 3)
    first, second = seen("front", (solid, STANDING), (solid, STANDING.shifted((100.0, 0.0, 0.0))))
    assert {edge.start[0] for edge in first.creases} <= {0.0, 40.0}
    assert {round(edge.start[0], 9) for edge in second.creases} <= {100.0, 140.0}
    assert len(first.creases) == len(second.creases) == 4


def test_a_turned_scene_seen_from_a_turned_view_looks_the_same() -> None:
    """A quarter turn of everything, viewer included, changes no visible length."""
    solids = [(p.solid, p.frame) for p in tile_tray()]
    turned = [(solid, frame.then(Frame.turned("Z", 90))) for solid, frame in solids]
    still = [inked(edges.creases) for edges in seen(View(25, 40), *solids)]
    moved = [inked(edges.creases) for edges in seen(View(115, 40), *turned)]
    assert min(still) > 100
    assert moved == pytest.approx(still, rel=1e-6)


def test_looking_along_up_is_refused() -> None:
    with pytest.raises(PlacementError, match="line of sight"):
        Outlook.towards((0.0, 0.0, 1.0), up=(0.0, 0.0, 1.0))


# ---- views ----


@pytest.mark.parametrize("name", sorted(VIEWS))
def test_every_named_view_is_square_to_its_up_and_keeps_right_on_the_right(name: str) -> None:
    view = VIEWS[name]
    outlook = Outlook.towards(view.viewer, up=view.up)
    assert math.hypot(*view.viewer) == pytest.approx(1)
    assert math.hypot(*view.up) == pytest.approx(1)
    assert sum(a * b for a, b in zip(view.up, view.viewer, strict=True)) == pytest.approx(0)
    assert outlook.right[2] == pytest.approx(0)


@pytest.mark.parametrize(
    ("name", "right", "up"),
    [
        ("front", (1, 0, 0), (0, 0, 1)),
        ("right", (0, 1, 0), (0, 0, 1)),
        ("back", (-1, 0, 0), (0, 0, 1)),
        ("left", (0, -1, 0), (0, 0, 1)),
        ("top", (1, 0, 0), (0, 1, 0)),
        ("bottom", (1, 0, 0), (0, -1, 0)),
    ],
)
def test_square_views_show_the_axes_that_a_maker_expects(
    name: str, right: tuple[int, int, int], up: tuple[int, int, int]
) -> None:
    outlook = Outlook.towards(VIEWS[name].viewer, up=VIEWS[name].up)
    assert outlook.right == pytest.approx(right)
    assert outlook.up == pytest.approx(up)


# ---- line drawing ----


def groups(svg: bytes) -> Iterator[tuple[str, str, str]]:
    """(id, title, path) of each plate."""
    for group in ElementTree.fromstring(svg).iter(f"{SVG}g"):
        path = group.find(f"{SVG}path")
        title = group.find(f"{SVG}title")
        assert title is not None
        yield group.attrib["id"], title.text or "", "" if path is None else path.attrib["d"]


def test_each_plate_is_one_titled_group_in_the_order_given() -> None:
    found = list(groups(line_drawing(tile_tray())))
    assert [title for _, title, _ in found] == ["base", "left end", "right end", "divider"]
    ids = [name for name, _, _ in found]
    assert ids == ["plate-base", "plate-left-end", "plate-right-end", "plate-divider"]
    assert all(path.startswith("M") for _, _, path in found)


def test_a_hidden_plate_keeps_its_group_and_has_no_lines() -> None:
    behind = STANDING.shifted((9.0, 20.0, 9.0))
    parts = [part("panel", block(100, 60, 3)), part("shelf", block(30, 30, 3), behind)]
    (_, _, front), (name, title, rear) = groups(line_drawing(parts, view="front"))
    assert front
    assert (name, title, rear) == ("plate-shelf", "shelf", "")


def test_paths_are_true_projected_millimetres_to_another_reader() -> None:
    from svgelements import Path

    ((_, _, path),) = groups(line_drawing([part("lid", drilled(80, 60, 3, 20))], view="front"))
    assert Path(path).length() == pytest.approx(2 * (80 + 60) + 2 * math.pi * 20, rel=1e-4)
    left, top, right, bottom = Path(path).bbox()
    assert (left, top, right, bottom) == pytest.approx((0, -60, 80, 0), abs=1e-3)


def test_arcs_bulge_to_the_side_where_they_belong() -> None:
    from svgelements import Path

    bow = solid_of(cq.Workplane().moveTo(0, 0).lineTo(60, 0).threePointArc((30, 40), (0, 0)).close().extrude(3))
    for view in (View(0, 0), View(20, 50), View(-70, -35)):
        ((_, _, path),) = groups(line_drawing([part("bow", bow)], view=view))
        outlook = Outlook.towards(view.viewer, up=view.up)
        (edges,) = visible_edges([(bow, STANDING)], outlook)
        runs = [[s.point(i / 200) for i in range(201)] for s in Path(path) if type(s).__name__ != "Move"]
        drawn = shapely.MultiLineString([[(p.x, -p.y) for p in run] for run in runs])
        true = shapely.MultiLineString([[s.point_at(i / 200) for i in range(201)] for s in edges.creases])
        assert drawn.hausdorff_distance(true) < 0.4
        assert drawn.length == pytest.approx(true.length, rel=1e-4)


def test_hostile_names_are_escaped_and_ids_stay_apart() -> None:
    names = ['</title><script>alert("1")</script>', 'a & b "c"', "a-b-c", "tray\x00\x0b\ud800", "瓷砖", "釉"]
    solid = block(20, 10, 3)
    parts = [part(name, solid, STANDING.shifted((30.0 * i, 0.0, 0.0))) for i, name in enumerate(names)]
    svg = line_drawing(parts)
    assert b"<script" not in svg
    found = list(groups(svg))
    assert [title for _, title, _ in found] == [*names[:3], "tray\ufffd\ufffd\ufffd", *names[4:]]
    ids = [name for name, _, _ in found]
    assert len(set(ids)) == len(names)
    assert all(re.fullmatch(r"[A-Za-z][A-Za-z0-9_-]*", name) for name in ids)


def test_the_picture_frame_encloses_every_line_and_has_the_width_asked_for() -> None:
    from svgelements import Path

    svg = line_drawing(tile_tray(), width=640, background="#FFFFFF")
    root = ElementTree.fromstring(svg)
    x, y, wide, high = (float(v) for v in root.attrib["viewBox"].split())
    assert root.attrib["width"] == "640"
    assert float(root.attrib["height"]) == pytest.approx(640 * high / wide, abs=1)
    for _, _, path in groups(svg):
        left, top, right, bottom = Path(path).bbox()
        assert x < left < right < x + wide
        assert y < top < bottom < y + high
    assert b'fill="#FFFFFF"' in svg
    assert b"<rect" not in line_drawing(tile_tray())


def test_explode_moves_each_plate_away_from_the_centre_by_its_share() -> None:
    from svgelements import Path

    def centres(explode: float) -> list[float]:
        # From the right, y runs across the picture, and no plate hides another's outline for good.
        row = [part(f"shelf {i}", block(50, 30, 3), STANDING.shifted((0.0, 20.0 * i, 0.0))) for i in range(3)]
        boxes = [Path(path).bbox() for _, _, path in groups(line_drawing(row, view="right", explode=explode))]
        return [(box[0] + box[2]) / 2 for box in boxes]

    together, apart = centres(0.0), centres(1.5)
    middle = together[1]
    assert together == pytest.approx([middle - 20, middle, middle + 20], abs=1e-3)
    assert apart == pytest.approx([middle - 50, middle, middle + 50], abs=1e-3)


def test_explode_moves_a_screw_with_its_plate_and_out_of_it() -> None:
    from svgelements import Path

    @dataclass(frozen=True)
    class Pin:
        """A pin 10 mm long that stands on the last shelf."""

        name: str = "pin"
        solid: Any = field(default_factory=lambda: block(2, 2, 10))
        frame: Frame = Frame((24.0, 40.5, 30.0))  # noqa: RUF009
        stock: Stock = BIRCH
        carrier: str = "shelf 2"
        way_out: Vector = (0.0, 0.0, 1.0)

    def centres(explode: float) -> dict[str, tuple[float, float]]:
        row = [part(f"shelf {i}", block(50, 3, 30), Frame((0.0, 20.0 * i, 0.0))) for i in range(3)]
        drawn = groups(line_drawing([*row, Pin()], view="right", explode=explode))
        boxes = {title: Path(path).bbox() for _, title, path in drawn}
        # y of the drawing is -z
        return {title: ((box[0] + box[2]) / 2, -(box[1] + box[3]) / 2) for title, box in boxes.items()}

    together, apart = centres(0.0), centres(1.5)
    moves = {name: (apart[name][0] - together[name][0], apart[name][1] - together[name][1]) for name in together}
    assert moves["shelf 2"][0] == pytest.approx(30.0, abs=0.1)
    # with the shelf, and up by twice its length for each 1 of explode
    assert moves["pin"] == pytest.approx((moves["shelf 2"][0], moves["shelf 2"][1] + 2 * 10 * 1.5), abs=1e-3)


# ---- shaded picture ----


def test_the_png_is_read_by_another_reader_and_equals_the_pixels() -> None:
    options: dict[str, Any] = {"width": 320, "height": 240}
    read = matplotlib.image.imread(io.BytesIO(shaded_png(tile_tray(), **options)), format="png")
    pixels = shaded_pixels(tile_tray(), **options)
    assert pixels.shape == (240, 320, 3)
    assert pixels.dtype == np.uint8
    assert np.array_equal(np.rint(read[..., :3] * 255).astype(np.uint8), pixels)


def test_pixels_take_colour_exactly_where_the_plate_is() -> None:
    pixels = shaded_pixels([part("panel", drilled(80, 60, 3, 15))], view="front", width=400, height=300)
    assert (pixels[:5] == 255).all()
    assert (pixels[:, :5] == 255).all()
    assert (pixels[150, 200] == 255).all(), "the hole shows the background"
    red, green, blue = (int(v) for v in pixels[60, 200])
    assert red > green > blue, "orange stays orange"
    taken = (pixels < 250).any(axis=2).mean()
    millimetre = min((400 - 24) / 80, (300 - 24) / 60)
    expected = (80 * 60 - math.pi * 15**2) * millimetre**2 / (400 * 300)
    line = (2 * (80 + 60) + 2 * math.pi * 15) * millimetre * 2 / (400 * 300)
    assert expected < taken < expected + line


def test_the_nearer_plate_covers_the_farther_one_whatever_their_order() -> None:
    near = part("front", block(60, 60, 3), STANDING, BIRCH)
    far = part("rear", block(60, 60, 3), STANDING.shifted((0.0, 30.0, 0.0)), CLEAR)
    for parts in ([near, far], [far, near]):
        front = shaded_pixels(parts, view="front", width=200, height=200)[100, 100]
        back = shaded_pixels(parts, view="back", width=200, height=200)[100, 100]
        assert int(front[0]) > int(front[2]) + 80, "birch from the front"
        assert int(back[2]) > int(back[0]) + 80, "acrylic from the back"


def test_faces_differ_in_lightness_and_lines_are_darker_than_faces() -> None:
    pixels = shaded_pixels([part("block", block(60, 60, 60), Frame())], view="iso", width=300, height=300)
    light = pixels.astype(int).sum(axis=2)
    top, left, right = light[95, 150], light[190, 95], light[190, 205]
    assert len({int(top), int(left), int(right)}) == 3
    assert light[150:170, 148:153].min() < min(top, left, right) - 100, "the near corner's edges are drawn"


def test_a_plate_casts_a_shadow_on_the_one_below() -> None:
    """The lamp is at the left, so the base is lit at the left of a wall and in shade close to its right."""
    base = part("base", block(100, 100, 3), Frame())
    across = Frame((40.0, 10.0, 3.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    wall = part("wall", block(50, 20, 3), across)
    view = View(0, 50)
    outlook = Outlook.towards(view.viewer, up=view.up)
    top = outlook.project((0.0, 100.0, 3.0))[1]
    mm = 100 / (200 - 16)

    def tone(parts: list[Part], x: float, y: float) -> int:
        across, up = outlook.project((x, y, 3.0))
        pixels = shaded_pixels(parts, view=view, width=200, height=200).astype(int)
        return int(pixels[round(100 - (up - top / 2) / mm), round(100 + (across - 50) / mm)].sum())

    for x, y, in_shade in ((25, 35, False), (48, 35, True), (75, 35, False), (48, 92, False)):
        alone, both = tone([base], x, y), tone([base, wall], x, y)
        assert both < 0.9 * alone if in_shade else both == alone, (x, y)
        assert both > 0.6 * alone, "shade keeps the colour"


def test_lines_are_dark_on_white_stock_and_light_on_black() -> None:
    cube = block(60, 60, 60)
    around: dict[str, tuple[int, int, int]] = {}
    for color in ("#FFFFFF", "black"):
        parts = [part("cube", cube, Frame(), Stock("acrylic", 3.0, color=color))]
        pixels = shaded_pixels(parts, view="iso", width=300, height=300).astype(int).sum(axis=2)
        edge, face = pixels[200:240, 147:154], pixels[200:240, 110:140]
        around[color] = (int(edge.min()), int(np.median(face)), int(edge.max()))
    darkest, face_tone, _ = around["#FFFFFF"]
    assert darkest < face_tone - 300
    _, face_tone, lightest = around["black"]
    assert lightest > face_tone + 150


def test_triangles_leave_no_gap_and_the_nearest_wins() -> None:
    """A fan of slivers about an odd point fills a square; a nearer square covers its share of it."""
    rng = np.random.default_rng(7)
    angles = np.sort(rng.uniform(0, 2 * math.pi, 200))
    rim = np.stack([40.3 + 200 * np.cos(angles), 37.9 + 200 * np.sin(angles), np.zeros(200)], axis=1)
    hub = np.tile([40.3, 37.9, 0.0], (200, 1))
    fan = np.stack([hub, rim, np.roll(rim, -1, axis=0)], axis=1)
    # Pixels 10 to 29 across and 11 to 29 down have their centres in it.
    a, b, c, d = [10.4, 10.6, 5], [30.4, 10.6, 5], [30.4, 30.4, 5], [10.4, 30.4, 5]
    near = np.array([[a, b, c], [a, c, d]])
    index, depth = _nearest(np.concatenate([fan, near]), 80, 80)
    index, depth = index.reshape(80, 80), depth.reshape(80, 80)
    assert (index >= 0).all()
    covered = index >= 200
    assert covered.sum() == 20 * 19
    assert covered[11:30, 10:30].all()
    assert np.allclose(depth[covered], 5, atol=1e-6)
    assert np.allclose(depth[~covered], 0, atol=1e-6)


def test_the_mesh_has_the_area_of_the_solid_and_faces_outwards() -> None:
    solid = drilled(80, 60, 3, 15)
    mesh = triangulated(solid, STANDING.shifted((5.0, 6.0, 7.0)), deflection=0.01)
    triangles, cut = mesh.triangles, mesh.is_cut
    across = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]) / 2
    area = np.linalg.norm(across, axis=1)
    broad = 2 * (80 * 60 - math.pi * 15**2)
    rim = 3 * (2 * (80 + 60) + 2 * math.pi * 15)
    assert area[~cut].sum() == pytest.approx(broad, rel=1e-3)
    assert area[cut].sum() == pytest.approx(rim, rel=1e-3)
    # Divergence theorem: outward normals give the volume, with its sign.
    assert (triangles.mean(axis=1) * across).sum() / 3 == pytest.approx(broad / 2 * 3, rel=1e-3)


# ---- both ----


def test_drawing_leaves_the_solids_as_they_were() -> None:
    from OCP.Bnd import Bnd_Box
    from OCP.BRep import BRep_Tool
    from OCP.BRepBndLib import BRepBndLib
    from OCP.TopLoc import TopLoc_Location

    def box(solid: Any) -> tuple[float, ...]:
        bounds = Bnd_Box()
        BRepBndLib.Add_s(solid, bounds)
        return tuple(bounds.Get())

    parts = tile_tray()
    before = [box(p.solid) for p in parts]
    shaded_png(parts, width=200, height=150, explode=0.5)
    line_drawing(parts, explode=0.5)
    assert [box(p.solid) for p in parts] == before
    for p in parts:
        for face in cq.Shape.cast(p.solid).Faces():
            assert BRep_Tool.Triangulation_s(face.wrapped, TopLoc_Location()) is None


def test_world_bounds_are_those_of_the_plate_where_it_stands() -> None:
    low, high = world_bounds(drilled(80, 60, 3, 15), STANDING.shifted((1.0, 2.0, 3.0)))
    assert low == pytest.approx((1, -1, 3), abs=1e-6)
    assert high == pytest.approx((81, 2, 63), abs=1e-6)


def test_two_runs_give_the_same_bytes_in_this_and_in_another_process() -> None:
    import hashlib

    def digests() -> str:
        parts = tile_tray()
        pictures = (line_drawing(parts, explode=0.3), shaded_png(parts, width=160, height=120))
        return " ".join(hashlib.sha256(picture).hexdigest() for picture in pictures)

    first = digests()
    assert digests() == first
    code = (
        "import hashlib, importlib.util\n"
        f"spec = importlib.util.spec_from_file_location('pictures', {__file__!r})\n"
        "m = importlib.util.module_from_spec(spec); spec.loader.exec_module(m)\n"
        "parts = m.tile_tray()\n"
        "for b in (m.line_drawing(parts, explode=0.3), m.shaded_png(parts, width=160, height=120)):\n"
        "    print(hashlib.sha256(b).hexdigest(), end=' ')\n"
    )
    other = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert other.stdout.strip() == first


# ---- highlights, and many plates ----


def test_a_highlighted_plate_is_in_colour_and_all_others_are_pale() -> None:
    pixels = shaded_pixels(tile_tray(), highlight="divider", width=400, height=300)
    plain = shaded_pixels(tile_tray(), width=400, height=300)
    assert (pixels != plain).any(axis=2).sum() > 4000
    red, green, blue = (pixels[..., channel].astype(int) for channel in range(3))
    coloured = (red - blue) > 60
    assert coloured.sum() > 500
    # vermillion, lightened by a fifth, in some light: green lies between, nearer to blue
    assert (green[coloured] < (red[coloured] + blue[coloured]) / 2).all()
    # the stocks' own colours, orange (green nearer to red) and blue, are gone
    assert (green - (red + blue) / 2 > 10).sum() == 0
    assert (plain[..., 1] - (plain[..., 0].astype(float) + plain[..., 2]) / 2 > 10).sum() > 500
    assert ((blue - red) > 20).sum() == 0
    assert ((plain[..., 2].astype(int) - plain[..., 0]) > 20).sum() > 500


def test_a_drawing_highlights_one_group_in_colour_and_draws_it_last() -> None:
    root = ElementTree.fromstring(line_drawing(tile_tray(), highlight="left end"))
    groups = root.findall(f"{SVG}g")
    assert [group.get("stroke") for group in groups] == [None, None, None, "#D55E00"]
    assert [group[0].text for group in groups] == ["base", "right end", "divider", "left end"]
    plain = ElementTree.fromstring(line_drawing(tile_tray()))
    lines = {group[0].text: group[1].get("d") for group in groups}
    assert lines == {group[0].text: group[1].get("d") for group in plain.findall(f"{SVG}g")}


@pytest.mark.parametrize("draw", [line_drawing, shaded_png])
def test_an_unknown_plate_to_highlight_is_told_with_the_nearest_name(draw: Any) -> None:
    with pytest.raises(SelectionError, match="no plate 'dividr' to highlight; did you mean 'divider'"):
        draw(tile_tray(), highlight="dividr")
    with pytest.raises(SelectionError, match="give one of base, divider, left end, right end"):
        draw(tile_tray(), highlight="zzz")


def test_polygonal_lines_have_the_length_of_the_exact_ones() -> None:
    """The same edges by triangles: straight ones to 1e-3 mm, round ones short by their chords only."""
    view = VIEWS["corner"]
    outlook = Outlook.towards(view.viewer, up=view.up)
    solids = [(p.solid, p.frame) for p in tile_tray()]
    exact, quick = visible_edges(solids, outlook), polygon_edges(solids, outlook)
    for one, other in zip(exact[:3], quick[:3], strict=True):
        assert inked(other.creases) == pytest.approx(inked(one.creases), abs=1e-3)
    holed, chords = inked(exact[3].creases), inked(quick[3].creases)
    assert holed - 0.5 < chords < holed
    assert all(isinstance(edge, Line) for edges in quick for edge in edges.creases)


def test_more_than_a_hundred_plates_are_drawn_by_polygons_and_what_is_hidden_stays_hidden() -> None:
    """A row of round tiles, one behind the other: of each but the first only what sticks out at the top is seen."""
    tile = solid_of(cq.Workplane().cylinder(3, 20))
    row = [part(f"tile {i}", tile, STANDING.shifted((0.0, 10.0 * i, 0.0))) for i in range(EXACT_UP_TO + 1)]
    for count, kind in ((EXACT_UP_TO, EllipseArc), (EXACT_UP_TO + 1, Line)):
        edges = edges_seen([(p.solid, p.frame) for p in row[:count]], Outlook.towards((0.0, -1.0, 0.0), up=(0.0, 0.0, 1.0)))
        assert inked(edges[0].creases) == pytest.approx(2 * math.pi * 20, rel=2e-3)
        assert [inked(each.creases) for each in edges[1:]] == [0.0] * (count - 1)
        assert (kind is Line) == isinstance(edges[0].creases[0], Line)


def test_bad_requests_say_what_to_give() -> None:
    parts = tile_tray()
    with pytest.raises(SelectionError, match=r"'above' is not known; give one of front, right, .*top"):
        line_drawing(parts, view="above")
    with pytest.raises(SizeError, match="no plates to draw"):
        shaded_png([])
    with pytest.raises(SizeError, match="no plates to draw"):
        line_drawing([])
    with pytest.raises(SizeError, match="smaller width or height"):
        shaded_png(parts, width=50_000, height=50_000)
    with pytest.raises(SizeError, match="explode factor is nan"):
        line_drawing(parts, explode=math.nan)
    with pytest.raises(SizeError, match="'#RRGGBB', or None"):
        line_drawing(parts, background='white"/><script>')
    with pytest.raises(SizeError, match="from 0 to 255"):
        shaded_png(parts, background=(0, 0, 300))
    with pytest.raises(SizeError, match="line width of a drawing is 0 px"):
        line_drawing(parts, stroke_px=0)
    with pytest.raises(KernelError, match="plate 'lost' cannot be drawn") as caught:
        line_drawing([*parts, part("lost", "no solid")])
    assert caught.value.plates == ("lost",)


def test_a_png_holds_the_pixels_and_nothing_else() -> None:
    """Header, data and end (W3C PNG, 5.3): no time, no program's name, so that two runs give the same bytes."""
    shown = tile_tray()
    data, pixels = (draw(shown, width=120, height=90) for draw in (shaded_png, shaded_pixels))
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    kinds, at = [], 8
    while at < len(data):
        kinds.append(data[at + 4 : at + 8])
        at += 12 + int.from_bytes(data[at : at + 4], "big")
    assert list(dict.fromkeys(kinds)) == [b"IHDR", b"IDAT", b"IEND"]
    read = matplotlib.image.imread(io.BytesIO(data), format="png")
    assert read.shape == (90, 120, 3)
    assert np.array_equal(np.round(read * 255).astype(np.uint8), pixels)
    assert len(np.unique(pixels)) > 10, "a picture of something"
