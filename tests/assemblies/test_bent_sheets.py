"""Sheets bent where they stand, walls that go round a path, and tabs along a curve, measured on solids and loops."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import cadquery as cq
import pytest
import shapely
from hinges import SOFT
from panelwright.assemblies import Assembly, bend
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.design.bent_sheet import parts_of
from panelwright.assemblies.design.wall_path import wall_path
from panelwright.joints import fingers, join, join_touching, living_hinge, t_nut, tabs
from panelwright.plates import (
    Frame,
    Outline,
    Stock,
    disc,
    hole,
    obround,
    outline_of,
    polygon,
    rectangle,
    rounded_rectangle,
    standing,
)
from panelwright.plates.errors import DesignError, JointError, NamingError, OutlineError, SelectionError, SizeError
from panelwright.plates.geometry.curves import Arc, Spline
from panelwright.plates.placing.plate import PlacedPlate
from readers import is_valid, region, solids_in, volume
from scenes import cube_turns

PLY = Stock("birch plywood", 3.0, measured=3.0, kerf=0.2, clearance=0.1, **SOFT)

PATHS: dict[str, Outline] = {
    "disc": disc(130),
    "obround": obround(200, 120),
    "rounded rectangle": rounded_rectangle(180, 140, 52),
    "oval": outline_of(cq.Sketch().ellipse(95, 65)).in_arcs(0.05),
    "one corner": rounded_rectangle(150, 130, [0, 55, 55, 55]),
}
BY_PATH = pytest.mark.parametrize("name", PATHS)
HIGH = 30.0
"""Height of a wall whose slits are many enough: what looks at a solid takes the longer, the more slits it has."""


def part(product: Product, name: str) -> Part:
    return next(p for p in product.parts if p.name == name)


def assert_sound(product: Product, rel: float = 1e-9, *, besides: str = "") -> None:
    """No finding besides one code and open seams, which these walls have, and each part one valid solid, splines aside."""
    assert [str(f) for f in product.findings if f.code not in (besides, "SEAM")] == []
    for p in product.parts:
        assert is_valid(p.solid), p.name
        assert solids_in(p.solid) == 1
        assert volume(p.solid) == pytest.approx(p.area_mm2 * p.stock.t, rel=rel)


def shared(a: Part, b: Part) -> float:
    """Common volume by CadQuery's own boolean."""
    solids = [cq.Shape.cast(p.solid).moved(cq.Location(_plane(p.frame))) for p in (a, b)]
    return float(solids[0].intersect(solids[1]).Volume())


def _plane(frame: Frame) -> cq.Plane:
    return cq.Plane(origin=frame.origin, xDir=frame.x, normal=frame.z)


def ends_of(wall: Any) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The middle of the two ends of a wrapped wall, at its lower border."""
    first, last = wall[0], wall[-1]
    x0, x1 = first.plate.outline.bounds[0], last.plate.outline.bounds[2]
    return first.point((x0, 0.0, 1.5)), last.point((x1, 0.0, 1.5))


@pytest.mark.parametrize("toward", ["back", "show"])
@pytest.mark.parametrize("angle", [20.0, 90.0, 170.0])
def test_sheet_with_one_bend_stands_where_trigonometry_says(angle: float, toward: str) -> None:
    """The flat part beyond a bend is turned by the angle, a radius off the first one; areas and volume balance."""
    radius, t = 60.0, PLY.t
    length = math.radians(angle) * (radius + t / 2)
    stand = Assembly("card stand", stock=PLY)
    outline = rectangle(100 + length, 60).at(length / 2, 0)
    sheet = stand.add_bent("sheet", outline, bend(0, radius=radius, angle_deg=angle, toward=toward))
    assert [p.name for p in sheet] == ["sheet 1", "sheet bend 1", "sheet 2"]
    product = stand.product()
    assert_sound(product)
    (panel,) = product.panels
    slits = sum(_length(stroke) + PLY.kerf for stroke in panel.strokes) * PLY.kerf
    assert panel.bbox_mm == pytest.approx((100 + length, 60))
    # each open slit's stroke goes on half a kerf outside the border, where there is nothing to cut
    assert panel.area_mm2 == pytest.approx((100 + length) * 60 - slits, abs=0.2 * PLY.kerf * len(panel.strokes))
    up = 1.0 if toward == "show" else -1.0
    theta, middle = math.radians(angle), radius + t / 2
    x, z = middle * math.sin(theta), t / 2 + up * middle * (1 - math.cos(theta))
    far = sheet[2].point((length, 0.0, t / 2))
    assert far == pytest.approx((x, 0.0, z), abs=1e-9)
    beyond = sheet[2].point((length + 10, 0.0, t / 2))
    assert beyond == pytest.approx((x + 10 * math.cos(theta), 0.0, z + up * 10 * math.sin(theta)), abs=1e-9)


def _length(stroke: Any) -> float:
    return sum(segment.length for segment in stroke)


def test_several_bends_and_a_place() -> None:
    """A sheet with a bend either way, put on a base by its first flat part, is one panel with both hinges in its record."""
    stand = Assembly("card stand", stock=PLY)
    sheet = stand.add_bent(
        "sheet",
        rectangle(260, 60),
        [bend(50, radius=60, angle_deg=40), bend(-80, radius=55, angle_deg=60, toward="show")],
        Frame((0, 0, 20)),
        hinge=living_hinge(pattern="obround"),
    )
    product = stand.product()
    assert_sound(product, rel=1e-7)
    assert [len(group) for group in (sheet, sheet.flats, sheet.bends, sheet.shows)] == [5, 3, 2, 5]
    assert [(j.kind, j.numbers["angle_deg"]) for j in product.joints] == [
        ("living_hinge", pytest.approx(60)),
        ("living_hinge", pytest.approx(40)),
    ]
    assert product.panels[0].members == tuple(p.name for p in sheet)
    assert product.panels[0].strokes == ()  # wide slits are loops


@BY_PATH
@pytest.mark.parametrize("outside", [True, False], ids=["outside", "inside"])
def test_wall_follows_its_path_and_closes(name: str, outside: bool) -> None:
    """Every point of the wall's face on the path's side lies on the path, off it only at flat ends of a seam on an arc."""
    path = PATHS[name]
    pot = Assembly("brush pot", stock=PLY)
    wall = pot.add_wrap("wall", HIGH, path, outside=outside)
    ring = shapely.LinearRing(path.outer.points(1e-5))
    z = 0.0 if outside else PLY.t
    looked = 0
    for piece in wall:
        x0, _, x1, _ = piece.plate.outline.bounds
        is_end = piece in (wall[0], wall[-1]) and not any(not isinstance(s, Arc) for s in path.outer)
        for i in range(9):
            x, y, height = piece.point((x0 + (x1 - x0) * i / 8, 0.0, z))
            off = ring.distance(shapely.Point(x, y))
            assert off < (0.15 if is_end else 2e-3), (piece.name, off)
            assert height == pytest.approx(0.0, abs=1e-9)
            looked += 1
    assert looked >= 27
    start, end = ends_of(wall)
    gap = math.dist(start, end)
    if name == "one corner":
        # square ends meet at the inner corner, or cross in the outer one
        assert gap == pytest.approx(PLY.t / math.sqrt(2), abs=1e-6)
    else:
        assert gap < 0.5
    if name != "one corner" or outside:
        assert_sound(pot.product())


@BY_PATH
def test_tabs_along_the_curve_go_into_slots_of_a_base(name: str) -> None:
    """No shared material, and every slot's area is (tab + clearance) × (thickness + clearance), along lines and arcs alike."""
    path = PATHS[name]
    pot = Assembly("brush pot", stock=PLY)
    base = pot.add("base", _wider(path, 12))
    wall = pot.add_wrap("wall", HIGH, path, Frame((0, 0, 3)))
    many = 0
    for piece in wall:
        x0, _, x1, _ = piece.plate.outline.bounds
        if x1 - x0 > 15:
            count = max(1, int((x1 - x0) / 60))
            join(piece.face("<Z"), base.face(">Z"), tabs(count=count, width=5))
            many += count
    if name == "one corner":
        join(wall[0].face("<X"), wall[-1].face("<Y"), fingers(width=8))
    product = pot.product()
    # an oval's arcs are so short that one tab locks most of their links, and that is told
    assert_sound(product, besides="HINGE" if name == "oval" else "")
    assert name != "oval" or "links are locked" in product.findings[0].message
    assert shared(part(product, "base"), part(product, "wall")) < 1e-6
    slots = [loop for loop in part(product, "base").loops if loop.area < 0]
    assert len(slots) == many >= 3
    assert [-slot.area for slot in slots] == pytest.approx([5.1 * 3.1] * len(slots), abs=1e-6)
    assert any(isinstance(segment, Arc) for slot in slots for segment in slot)


def _wider(path: Outline, by: float) -> Outline:
    """A base that reaches beyond a path, as shapely makes it."""
    ring = shapely.Polygon(path.outer.points(0.01)).buffer(by).simplify(0.05)
    return polygon(list(ring.exterior.coords)[:-1])


@BY_PATH
def test_tabs_of_a_base_go_into_slots_of_the_bent_wall(name: str) -> None:
    """Tabs on the arcs of a base add width × thickness each; slots in the wall are rectangles in the flat panel."""
    path = PATHS[name]
    pot = Assembly("brush pot", stock=PLY)
    base = pot.add("base", path, Frame((0, 0, 8)))
    wall = pot.add_wrap("wall", HIGH, path)
    plain = pot.product()
    # short arcs of an oval have no room for a tab and a web on either side
    many = 0
    for piece in wall:
        x0, _, x1, _ = piece.plate.outline.bounds
        if x1 - x0 > 15:
            edge = min(base.border, key=lambda face: _apart(face, piece))
            count = max(1, int((x1 - x0) / 60))
            join(edge, piece.back, tabs(count=count, width=8))
            many += count
    if name == "one corner":
        join(wall[0].face("<X"), wall[-1].face("<Y"), fingers(width=8))
    product = pot.product()
    # an oval's arcs are so short that one tab locks most of their links, and that is told
    assert_sound(product, besides="HINGE" if name == "oval" else "")
    assert name != "oval" or "links are locked" in product.findings[0].message
    assert shared(part(product, "base"), part(product, "wall")) < 1e-6
    grown = part(product, "base").area_mm2 - part(plain, "base").area_mm2
    assert grown == pytest.approx(many * 8 * 3, abs=1e-6)
    whole = part(product, "wall").unrolled
    assert whole is not None
    slots = [loop for loop in whole.whole if loop.area < 0]
    assert len(slots) == many >= 3
    assert [-slot.area for slot in slots] == pytest.approx([8.1 * 3.1] * many, abs=1e-6)


def _apart(face: Any, piece: PlacedPlate) -> float:
    """How far the middle of a piece is from an edge, seen from above."""
    x, y, _ = piece.back.middle
    return float(shapely.LineString([*face.segment.chords(0.01), face.segment.end]).distance(shapely.Point(x, y)))


def test_slits_keep_a_web_from_tabs_and_slots() -> None:
    """Strokes end a web away from what tabs add and cut, and run out over plain borders, by shapely."""
    pot = Assembly("brush pot", stock=PLY)
    base = pot.add("base", disc(120), Frame((0, 0, 10)))
    top = pot.add("top", disc(140), Frame((0, 0, 50)))
    wall = pot.add_wrap("wall", 50, disc(120))
    join(base.border, wall.bends[0].back, tabs(count=5, width=12))
    join(wall.bends[0].face(">Z"), top.face("<Z"), tabs(count=7, width=6))
    product = pot.product()
    assert_sound(product)
    panel = next(p for p in product.panels if p.name == "wall")
    unrolled = part(product, "wall").unrolled
    assert unrolled is not None
    x0 = min(loop.bounds[0] for loop in unrolled.whole)
    y0 = min(loop.bounds[1] for loop in unrolled.whole)
    body = shapely.Polygon(unrolled.whole[0].points(), [loop.points() for loop in unrolled.whole[1:]])
    body = shapely.transform(body, lambda xy: xy - [x0, y0])
    half = PLY.kerf / 2
    opened = 0
    for stroke in panel.strokes:
        line = shapely.LineString([stroke[0].start, stroke[-1].end])
        slit = line.buffer(half, cap_style="square").intersection(body)
        for opening in body.interiors:
            assert slit.distance(opening) > PLY.t - 1e-6
        is_open = line.crosses(body.exterior) or line.touches(body) or not body.contains(line)
        opened += is_open
        if not is_open:
            assert slit.distance(body.exterior) > PLY.t - 1e-6
    assert 0 < opened < len(panel.strokes)
    spots = [xy[1] for xy in body.exterior.coords]
    assert max(spots) - min(spots) == pytest.approx(53)  # tabs stand out at the top


def test_tabs_on_a_bend_too_wide_for_its_slots_are_an_error_and_narrow_ones_are_not() -> None:
    """A straight tab leaves the arc by w²/8R, which must stay below the clearance (plane trigonometry)."""

    def found(width: float | None, clearance: float | None = None) -> list[Any]:
        pot = Assembly("brush pot", stock=PLY)
        base = pot.add("base", disc(140))
        wall = pot.add_wrap("wall", 50, disc(117), Frame((0, 0, 3)))
        join(wall.bends[0].face("<Z"), base.face(">Z"), tabs(count=4, width=width, clearance=clearance))
        return [finding for finding in pot.check() if finding.code != "SEAM"]  # its seam is open on purpose

    widest = math.sqrt(8 * 60 * 0.1)
    (finding,) = found(12)
    assert finding.code == "BENT-TAB"
    assert finding.level == "error"
    assert finding.numbers["rise_mm"] == pytest.approx(144 / 480)
    assert finding.numbers["widest_mm"] == pytest.approx(widest)
    assert "0.30 mm off the arc of their slots, more than the clearance of 0.1 mm; make them at most 6.92" in finding.message
    assert found(widest - 1e-6) == []
    assert found(None) == []
    # what chooses its own width follows the clearance, and where that leaves nothing to hold, is told which would
    assert found(None, 0.04) == []
    (refused,) = found(None, 0.004)
    assert refused.code == "JOINT"
    assert "only tabs up to 1.39 mm wide" in refused.message
    assert "give a clearance of 0.005 mm or more" in refused.message
    assert [f.code for f in found(None, 0.005) if f.level == "error"] == []


def cornered(radius: float, stock: Stock = PLY, hinge: Any = None, **options: Any) -> Assembly:
    """A sheet bent by a right angle on a base, with tabs along the bend."""
    pot = Assembly("brush pot", stock=stock)
    base = pot.add("base", rectangle(300, 300))
    length = math.pi / 2 * (radius + 1.5)
    flat = rectangle(length + 100, 70).at(0, 35)
    sheet = pot.add_bent(
        "wall",
        flat,
        bend(-length / 2, radius=radius, angle_deg=90),
        Frame((0, 0, 3), (1, 0, 0), (0, 0, 1), (0, -1, 0)),
        hinge=hinge,
    )
    join([part.face("<Z") for part in sheet.flats], base.face(">Z"), tabs(count=1))
    join(sheet.bends[0].face("<Z"), base.face(">Z"), tabs(**options))
    return pot


def free_by_hand(product: Product) -> list[int]:
    """Links that turn at either border of the one bend: two for each slit that runs out there, one at the strip's end.

    Counted on the slits' middle lines, from the panel as it is cut.
    """
    (panel,) = [p for p in product.panels if p.strokes]
    box = (0.0, 3.0, 0.0, 73.0)  # tabs of 3 mm stand out below
    columns = sorted({round(stroke[0].start[0], 3) for stroke in panel.strokes})
    counts = []
    for border in (box[1], box[3]):
        opened = {
            round(stroke[0].start[0], 3)
            for stroke in panel.strokes
            if any((end[1] - border) * (1 if border > 10 else -1) > 0 for end in (stroke[0].start, stroke[-1].end))
        }
        counts.append(sum((x > columns[0]) + (x < columns[-1]) for x in opened))
    return counts


@pytest.mark.parametrize("count", [1, 2, 3])
def test_links_that_tabs_lock_do_not_count(count: int) -> None:
    """The numbers tell what is free at the worse border, counted by hand on the panel; more columns make up for it."""
    product = cornered(80.0, count=count, width=6.0).product()
    assert [str(f) for f in product.errors] == []
    (hinge,) = [j.numbers for j in product.joints if j.kind == "living_hinge"]
    below, above = free_by_hand(product)
    assert hinge["free_links"] == below < above == hinge["columns"] - 1
    assert hinge["twist_per_link_deg"] == pytest.approx(90 / below)
    assert hinge["slit_needed_mm"] <= hinge["slit_mm"]


def test_tabs_that_lock_too_many_links_are_an_error() -> None:
    """With links of a given width there are no columns to spare: the finding tells how many are locked, and what would do."""
    (finding,) = cornered(50.0, hinge=living_hinge(link=3), count=2, width=6.0).product().errors
    assert finding.code == "HINGE"
    assert "links are locked where slits stop short of tabs, slots or cut-outs; of the rest, " in finding.message
    assert f"would be strained by {100 * 1.5 / 51.5:.2g} %" in finding.message
    assert "make what stands or is cut there narrower, or fewer, or move it to flat parts" in finding.message
    (slit,) = re.findall(r"give slit=([\d.]+)", finding.message)
    wider = cornered(50.0, hinge=living_hinge(link=3, slit=float(slit)), count=2, width=6.0).product()
    assert [str(f) for f in wider.errors] == []
    assert finding.numbers["links"] < finding.numbers["least_links"]


def test_tabs_that_choose_their_width_leave_links_enough() -> None:
    """On a tight bend they come out narrower than the curve alone would let them, and where none fit, the joint says so."""
    wide, tight = (
        next(
            j.numbers["width_mm"]
            for j in cornered(radius, replace(PLY, clearance=0.3), count=2).product().joints
            if j.plates == ("wall bend 1", "base")
        )
        for radius in (80.0, 40.0)
    )
    assert wide == pytest.approx(12.0)
    assert 1.5 < tight < math.sqrt(8 * 41.5 * 0.3) - 1
    assert cornered(40.0, replace(PLY, clearance=0.3), count=2).product().errors == ()
    (finding,) = cornered(30.0, replace(PLY, clearance=0.3), count=3).product().errors
    assert finding.code == "JOINT"
    assert "3 tabs on this border would lock links that the bend needs" in finding.message


def test_a_ring_outside_the_wall_takes_tabs_of_its_inner_border() -> None:
    """The edge of a hole is an arc that looks inwards: its tabs go into the wall's outer face."""
    pot = Assembly("brush pot", stock=PLY)
    wall = pot.add_wrap("wall", HIGH, obround(200, 120))
    brim = pot.add("brim", rectangle(240, 160).cut(obround(206, 126)), Frame((0, 0, 20)))
    arcs = [face for face in brim.all_faces() if face.place[:2] == ("edge", 1) and isinstance(face.segment, Arc)]
    for face in arcs:
        bent = min(wall.bends, key=lambda piece: _apart(face, piece))
        join(face, bent.show, tabs(count=3, width=9))
    product = pot.product()
    assert_sound(product)
    assert shared(part(product, "brim"), part(product, "wall")) < 1e-6
    opening = 80 * 126 + math.pi * 63**2
    assert part(product, "brim").area_mm2 == pytest.approx(240 * 160 - opening + 6 * 9 * 3)


def test_a_border_of_splines_is_followed_once_for_all_faces_on_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """The base's own outline is made into chords once for each tolerance, however many faces of a wall stand on it."""
    turns = [math.radians(36.0 * i) for i in range(10)]
    corners = [cq.Vector(130 * math.cos(turn), (95 + 6 * (i % 2)) * math.sin(turn)) for i, turn in enumerate(turns)]
    leaf = outline_of(cq.Wire.assembleEdges([cq.Edge.makeSpline(corners, periodic=True)]))
    assert [type(segment) for segment in leaf.outer] == [Spline]
    calls: list[float] = []
    plain = Spline.chords

    def counted(spline: Spline, tolerance: float) -> list[tuple[float, float]]:
        calls.append(tolerance)
        return plain(spline, tolerance)

    monkeypatch.setattr(Spline, "chords", counted)

    def followed(count: int) -> int:
        calls.clear()
        pot = Assembly("brush pot", stock=PLY)
        base = pot.add("base", leaf)
        wall = pot.add_wrap("wall", 40, rounded_rectangle(140, 110, 45), Frame((0, 0, 3)))
        join(wall.faces("<Z")[:count], base.face(">Z"), tabs(count=1))
        assert len(pot.resolve().made) == 4 + count  # the bends are made too
        return len(calls)

    assert followed(9) <= 2
    assert followed(2) == 0  # the outline is the same one


def test_join_touching_finds_borders_of_bends() -> None:
    """Walls that stand on a base are joined all round, flat and bent parts alike."""
    pot = Assembly("brush pot", stock=PLY)
    pot.add("base", rounded_rectangle(200, 160, 62))
    wall = pot.add_wrap("wall", 50, PATHS["rounded rectangle"], Frame((0, 0, 3)))
    pairs = join_touching(pot, tabs(count=1))
    assert len(pairs) == len(wall) == 9
    product = pot.product()
    assert_sound(product)
    assert sum(loop.area < 0 for loop in part(product, "base").loops) == 9


TURNS = {f"cube-{i}": frame for i, frame in enumerate(cube_turns()) if i % 5 == 1}
TURNS["odd"] = Frame.turned((1, 2, 3), 37).shifted((13.7, -211.3, 57.1))


@cache
def upright() -> tuple[Assembly, Product]:
    """A round pot, and what comes of it where it stands."""
    pot = Assembly("pot", stock=PLY)
    base = pot.add("base", disc(140))
    wall = pot.add_wrap("wall", HIGH, disc(120), Frame((0, 0, 3)))
    join(wall.bends[0].face("<Z"), base.face(">Z"), tabs(count=6, width=6))
    return pot, pot.product()


@pytest.mark.parametrize("turn", TURNS)
def test_the_same_wherever_it_stands(turn: str) -> None:
    """In a sub-assembly that is turned, panels are the same and the names are full ones."""
    pot, alone = upright()
    shelf = Assembly("shelf")
    shelf.add("pot", pot, TURNS[turn])
    product = shelf.product()
    assert_sound(product)
    assert [p.name for p in product.panels] == ["pot.base", "pot.wall"]
    assert sorted(p.area_mm2 for p in product.panels) == pytest.approx(sorted(p.area_mm2 for p in alone.panels), abs=1e-6)
    (a, b) = (part(product, name) for name in ("pot.base", "pot.wall"))
    assert shared(a, b) < 1e-6


def test_cut_outs_are_counted_from_zero_along_the_wall() -> None:
    """A hole at x = 0 lies on the point named, wherever the seam is, and its centre stands over the path's middle there."""
    pot = Assembly("brush pot", stock=PLY)
    path = rounded_rectangle(180, 140, 45)
    wall = pot.add_wrap("wall", 60, path, seam=(0, 70), zero=(0, -70), cut=[hole(16).at(0, 30), hole(8).at(30, 30)])
    front = next(p for p in wall.flats if any(loop.area < 0 for loop in p.plate.outline.loops))
    (small, large) = sorted(front.plate.outline.holes, key=lambda loop: -loop.area)
    spots = []
    for opening in (large, small):
        x0, y0, x1, y1 = opening.bounds
        spots.append(front.point(((x0 + x1) / 2, (y0 + y1) / 2, 0.0)))
    assert spots[0] == pytest.approx((0, -70, 30), abs=1e-6)
    assert spots[1] == pytest.approx((30, -70, 30), abs=1e-6)
    assert_sound(pot.product())


def test_floats_and_overlaps_of_bent_parts_are_found() -> None:
    """A wall that stands on a base without a joint touches it; one in the air floats; a plate through a bend overlaps it."""
    for lift, codes in ((3.0, []), (3.5, ["FLOATS"])):
        pot = Assembly("brush pot", stock=PLY)
        pot.add("base", disc(140))
        pot.add_wrap("wall", 50, disc(120), Frame((0, 0, lift)))
        assert [f.code for f in pot.check() if f.level == "error"] == codes
    pot = Assembly("brush pot", stock=PLY)
    pot.add_wrap("wall", 50, disc(120))
    pot.add("shelf", rectangle(80, 20), Frame((50, 0, 20)))
    (finding,) = [f for f in pot.check() if f.code == "OVERLAP"]
    assert finding.message.startswith("bent part 'wall bend 1' and plate 'shelf' share")
    assert "shelf" in finding.message
    ring = math.pi / 4 * (126**2 - 120**2) * 3
    expected = region(part(pot.product(), "shelf")).area * 3
    assert 0 < finding.numbers["volume_mm3"] < min(ring, expected)


def pot_with(**options: Any) -> Callable[[], object]:
    def made() -> object:
        pot = Assembly("brush pot", stock=PLY)
        return pot.add_wrap("wall", options.pop("height", 50), options.pop("path", disc(120)), **options)

    return made


def sheet_with(outline: Outline, *bends: Any, **options: Any) -> Callable[[], object]:
    return lambda: Assembly("card stand", stock=PLY).add_bent("sheet", outline, bends, **options)


BAD: list[tuple[str, Callable[[], object], type[Exception], str]] = [
    ("no bend", sheet_with(rectangle(90, 50)), DesignError, "'sheet' has no bend; use add"),
    ("angle", lambda: bend(0, radius=10, angle_deg=360), SizeError, "must be below 360"),
    ("radius", lambda: bend(0, radius=0, angle_deg=30), SizeError, "radius of a bend is 0 mm"),
    ("toward", lambda: bend(0, radius=9, angle_deg=30, toward="up"), SizeError, "give 'show' or 'back'"),  # type: ignore[arg-type]  # wrong on purpose
    (
        "into each other",
        sheet_with(rectangle(200, 50), bend(-50, radius=40, angle_deg=90), bend(0, radius=40, angle_deg=30)),
        SizeError,
        r"is 65.188 mm long and reaches into the next one at 0 mm; move that to at least 15.188 mm",
    ),
    ("over the end", sheet_with(rectangle(90, 50), bend(0, radius=40, angle_deg=90)), SizeError, "flat on both sides"),
    (
        "through a hole",
        sheet_with(rectangle(200, 50).cut(hole(10)), bend(-20, radius=40, angle_deg=90)),
        OutlineError,
        r"cut-out of 10.00 × 10.00 mm around \(0.00, 0.00\) lies in the bend from -20.000 to 45.188",
    ),
    (
        "slanting border",
        sheet_with(polygon([(-100, -25), (100, -25), (100, 25), (-100, 40)]), bend(-20, radius=40, angle_deg=90)),
        OutlineError,
        "don't run straight across the bend",
    ),
    ("hinge", sheet_with(rectangle(200, 50), bend(0, radius=40, angle_deg=60), hinge=tabs()), DesignError, "give living_hinge"),
    ("sharp", pot_with(path=rectangle(90, 70), seam=(0, -35)), OutlineError, "sharp corner at .* can't bend; round it"),
    ("ellipse", pot_with(path=outline_of(cq.Sketch().ellipse(60, 40))), OutlineError, "can't follow a EllipseArc .* in_arcs"),
    ("tight", pot_with(path=rounded_rectangle(90, 70, 2), outside=False), SizeError, "leaves the wall an inner radius of -1"),
    ("height", pot_with(height=0), SizeError, "height of wall 'wall' is 0 mm"),
    ("cut-out", pot_with(cut=hole(5).at(-90, 0)), OutlineError, "lies outside"),
]


@pytest.mark.parametrize(("make", "error", "says"), [case[1:] for case in BAD], ids=[case[0].replace(" ", "-") for case in BAD])
def test_what_cannot_be_bent_is_an_error(make: Callable[[], object], error: type[Exception], says: str) -> None:
    """The message names the sheet, the value and the limit, and says what to change."""
    with pytest.raises(error, match=says):
        make()


def curved(make: Callable[[Assembly, Any], None]) -> list[str]:
    pot = Assembly("brush pot", stock=PLY)
    wall = pot.add_wrap("wall", 50, disc(120))
    make(pot, wall)
    return [f.message for f in pot.check() if f.code == "JOINT"]


def leaning(pot: Assembly, wall: Any) -> None:
    base = pot.add("base", disc(160), Frame.turned("X", 10).shifted((0, 0, -20)))
    join(wall.bends[0].face("<Z"), base.face(">Z"), tabs())


def apart(pot: Assembly, wall: Any) -> None:
    base = pot.add("base", disc(160), Frame((0, 0, -4)))
    join(wall.bends[0].face("<Z"), base.face(">Z"), tabs())


def no_arc(pot: Assembly, wall: Any) -> None:
    base = pot.add("base", rectangle(60, 60), Frame((0, 0, 20)))
    join(base.border[0], wall.bends[0].back, tabs())


def small(pot: Assembly, wall: Any) -> None:
    base = pot.add("base", disc(110), Frame((0, 0, 20)))
    join(base.border[0], wall.bends[0].back, tabs())


def other_face(pot: Assembly, wall: Any) -> None:
    base = pot.add("base", disc(120), Frame((0, 0, 20)))
    join(base.border[0], wall.bends[0].show, tabs())


def nuts(pot: Assembly, wall: Any) -> None:
    base = pot.add("base", disc(160), Frame((0, 0, -3)))
    join(wall.bends[0].face("<Z"), base.face(">Z"), t_nut("M3", 3))


def beside(pot: Assembly, wall: Any) -> None:
    base = pot.add("base", rectangle(40, 40), Frame((0, 0, -3)))
    join(wall.bends[0].face("<Z"), base.face(">Z"), tabs())


CURVED: dict[str, tuple[Callable[[Assembly, Any], None], str]] = {
    "leaning": (leaning, "'base' is 10.000° out of square to the axis"),
    "apart": (apart, "they are 1.000 mm apart"),
    "no arc": (no_arc, "no arc about the axis of the bend"),
    "small": (small, "they are 5.000 mm apart"),
    "other face": (other_face, "look the same way; choose the bent part's other broad face"),
    "nuts": (nuts, "'wall bend 1' is bent, and t_nut need flat plates"),
    "beside": (beside, "they touch nowhere along the bend"),
}


@pytest.mark.parametrize("case", CURVED)
def test_what_cannot_be_joined_along_a_curve(case: str) -> None:
    """One finding that names both plates and says why."""
    make, says = CURVED[case]
    (message,) = curved(make)
    assert says in message
    assert "'wall bend 1'" in message


def test_what_stands_inside_a_bend_is_in_nobodys_way() -> None:
    """Slots behind the axis of a bend, as of a divider in the middle of an obround, take nothing of the bend's line."""
    caddy = Assembly("bottle caddy", stock=PLY)
    base = caddy.add("base", obround(220, 130))
    wall = caddy.add_wrap("wall", 80, obround(204, 114), Frame((0, 0, 3)))
    join(wall.faces("<Z"), base.face(">Z"), tabs(count=1))
    divider = caddy.add("divider", rectangle(90, 60), standing(base.face(">Z"), facing="+X", inset=None))
    join(divider.face("<Z"), base.face(">Z"), tabs(count=2, width=12))
    assert_sound(caddy.product())
    # what does lie under the wall is: a hole there moves the tab a web away
    for bore in (0.0, 8.0):
        shell = Assembly("shell", stock=PLY)
        outline = obround(220, 130).cut(hole(bore).at(103.5, 0)) if bore else obround(220, 130)
        ground = shell.add("base", outline)
        bent = shell.add_wrap("wall", 80, obround(204, 114), Frame((0, 0, 3))).bends[0]
        join(bent.face("<Z"), ground.face(">Z"), tabs(count=1, width=5))
        (record,) = [j for j in shell.product().joints if j.kind == "tabs"]
        (spot,) = record.numbers["positions_mm"]
        length = bent.plate.outline.bounds[2] - bent.plate.outline.bounds[0]
        assert (abs(spot - length / 2) < 1e-6) == (bore == 0.0), (spot, length)
        if bore:
            assert abs(spot - length / 2) > bore / 2 + PLY.t


def test_names_and_parts() -> None:
    """A sheet's name and its parts' names are taken; a selector that picks nothing anywhere is an error."""
    pot = Assembly("brush pot", stock=PLY)
    wall = pot.add_wrap("wall", 50, disc(120))
    for taken in ("wall", "wall 1", "wall bend 1"):
        with pytest.raises(NamingError, match="already"):
            pot.add(taken, rectangle(10, 10))
    with pytest.raises(SelectionError, match="on any part of sheet 'wall'"):
        wall.faces("|(1,1,1)")
    assert isinstance(pot["wall bend 1"], PlacedPlate)
    with pytest.raises(DesignError, match="'lid' has no stock"):
        Assembly("bare").add_wrap("lid", 50, disc(120))


def test_a_hinge_with_another_radius_is_refused() -> None:
    """A radius given to the hinge of a sheet must be the bend's own."""
    stand = Assembly("card stand", stock=PLY)
    stand.add_bent("sheet", rectangle(200, 50), bend(0, radius=45, angle_deg=60), hinge=living_hinge(40))
    (finding,) = [f for f in stand.check() if f.code == "JOINT"]
    assert "bent to an inner radius of 45.000 mm where the hinge asks for 40 mm" in finding.message


def test_parts_cover_the_outline_exactly() -> None:
    """Pieces of a sheet with windows and a wavy end have the outline's area between them, and share no more than bend lines."""
    outline = rectangle(300, 60).cut(hole(20).at(-110, 0), obround(30, 10).at(100, 5), hole(30).at(150, 0))
    rolls = [bend(-60, radius=30, angle_deg=90).roll(3.0), bend(20, radius=25, angle_deg=45).roll(3.0)]
    pieces = parts_of("sheet", outline, rolls, Frame(), 3.0)
    assert [p.roll is None for p in pieces] == [True, False, True, False, True]
    assert sum(p.outline.area for p in pieces) == pytest.approx(outline.area, abs=1e-9)


def test_wall_path_is_as_long_as_the_offset_path() -> None:
    """Along its middle a wall round a convex path is π t longer outside, π t shorter inside (Steiner's formula)."""
    for path in (PATHS["rounded rectangle"], PATHS["obround"]):
        for outside, sign in ((True, 1), (False, -1)):
            way = wall_path(path.outer, 3.0, outside=outside, seam=None, land=3.0)
            assert way.length == pytest.approx(path.outer.length + sign * math.pi * 3.0, abs=1e-9)


def test_joint_error_for_two_bent_parts() -> None:
    """Two bent walls can't be joined to each other."""
    pot = Assembly("brush pot", stock=PLY)
    inner = pot.add_wrap("inner", 50, disc(120))
    outer = pot.add_wrap("outer", 50, disc(126))
    with pytest.raises(JointError, match="both are bent"):
        tabs().meet(*(_hold(face) for face in (inner.bends[0].face("<Z"), outer.bends[0].back)))


def _hold(face: Any) -> Any:
    from panelwright.joints.joining.join import hold_of

    return hold_of(face)


@pytest.mark.parametrize("divider_first", [True, False])
def test_a_plate_inside_a_round_wall_is_joined_to_the_base(divider_first: bool) -> None:
    """A wall all round a divider takes nothing of the divider's line."""
    pot = Assembly("divided pot", stock=PLY)
    base = pot.add("base", disc(240))
    wall = pot.add_wrap("wall", 70, disc(200), Frame((0, 0, 3)))
    divider = pot.add("divider", rectangle(150, 50), standing(base.face(">Z"), facing="-Y", inset=None))
    joins = [
        lambda: join(divider.face("<Z"), base.face(">Z"), tabs(count=2)),
        # the wall's flat ends are too short for tabs and left out
        lambda: join(wall.faces("<Z"), base.face(">Z"), tabs(count=6, width=8)),
    ]
    for make in joins if divider_first else reversed(joins):
        make()
    assert_sound(pot.product())


def test_short_arcs_of_an_oval_take_single_columns() -> None:
    """`in_arcs()` without a tolerance makes arcs with room for one column only, which go on into each other."""
    lamp = Assembly("lamp shade", stock=PLY)
    oval = outline_of(cq.Sketch().ellipse(120, 75)).in_arcs()
    wall = lamp.add_wrap("wall", 60, oval)
    product = lamp.product()
    assert_sound(product)
    columns = [joint.numbers["columns"] for joint in product.joints]
    assert len(columns) == len(wall.bends) > 40
    assert min(columns) == 1


@pytest.mark.parametrize("off", [0.0, 1e-7, 5e-4])
def test_a_hole_that_touches_a_bend_line_is_named(off: float) -> None:
    """No material is left between it and the strip, though it reaches nowhere in; a little further off it may lie."""

    def sheet(gap: float) -> Assembly:
        assembly = Assembly("note holder", stock=PLY)
        assembly.add_bent("sheet", rectangle(200, 60).cut(hole(10).at(-41 - gap, 0)), bend(-36, radius=45, angle_deg=90))
        return assembly

    with pytest.raises(OutlineError, match=r"cut-out of 10.00 × 10.00 mm around \(-41.00, 0.00\) touches the bend from -36"):
        sheet(off)
    assert sheet(3.0).check() == ()


def test_a_hole_across_a_bend_line_is_named() -> None:
    """A cut-out that straddles the beginning of a bend is what the message speaks of, not the border."""
    with pytest.raises(OutlineError, match=r"cut-out of 30.00 × 30.00 mm around \(60.00, 35.00\) lies in the bend from 50.000"):
        Assembly("pot", stock=PLY).add_wrap("wall", 70, rounded_rectangle(200, 150, 50), cut=hole(30).at(60, 35))
