"""Panels of hinged plates: several hinges in one, what is near a strip, strokes in the files, and what the proof finds."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely
from hinges import PLY, TURNS, edge, stand
from panelwright.assemblies import Assembly, bend
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.output.folder import write_product
from panelwright.assemblies.resolve import flat_patterns
from panelwright.joints import join, living_hinge, tabs
from panelwright.joints.kinds.hinges.slits import SLOPE_DEG
from panelwright.plates import (
    Frame,
    JointError,
    OutlineError,
    Stock,
    bent_on,
    hole,
    mirrored,
    polygon,
    rectangle,
    rounded_rectangle,
)
from readers import is_valid, pairs, polygon_of_loops, shared_volume, solids_in, volume

PATTERNS = ("staggered", "obround", "chevron")


def hinged(assembly: Assembly, placed: Any, number: int, name: str, outline: Any, **options: Any) -> Any:
    """A plate beyond a bend of an edge of another one, and the hinge between them."""
    hinge = options.pop("hinge", living_hinge())
    place = bent_on(edge(placed, number), **{"radius": 45.0, "angle_deg": 90.0} | options)
    added = assembly.add(name, outline, place)
    join(edge(placed, number), added, hinge)
    return added


def only_part(product: Product) -> Part:
    (part,) = product.parts
    return part


def assert_whole(part: Part) -> None:
    """One valid solid over the flat area."""
    assert is_valid(part.solid)
    assert solids_in(part.solid) == 1
    assert volume(part.solid) == pytest.approx(part.area_mm2 * part.stock.t, rel=1e-6)


# several hinges in one panel


def cradle() -> Assembly:
    """A base with a wall on either side, like a U: three plates, two hinges."""
    assembly = Assembly("tile cradle", stock=PLY)
    base = assembly.add("base", rectangle(70, 60))
    hinged(assembly, base, 1, "right", rectangle(40, 60), toward="show")
    hinged(assembly, base, 3, "left", rectangle(30, 60), toward="show")
    return assembly


def star() -> Assembly:
    """A base with walls on all four sides and one more beyond the last of them."""
    assembly = Assembly("brush tray", stock=PLY)
    base = assembly.add("base", rectangle(60, 60))
    sides = {0: (60, 25), 1: (25, 60), 2: (60, 25), 3: (25, 60)}
    walls = [
        hinged(assembly, base, number, f"wall {number}", rectangle(*size), toward="show") for number, size in sides.items()
    ]
    hinged(assembly, walls[1], 1, "brim", rectangle(20, 60), toward="back", angle_deg=80.0)
    return assembly


@pytest.mark.parametrize(("make", "hinges"), [(cradle, 2), (star, 5)])
@pytest.mark.parametrize("turn", ["cube-0", "cube-11", "odd"])
def test_trees_of_hinges_are_one_panel(make: Any, hinges: int, turn: str) -> None:
    """All plates and strips are one part; strips add their own flat size, and the solid is whole wherever it stands."""
    inner = make()
    outer = Assembly("studio", stock=PLY)
    outer.add("it", inner, TURNS[turn])
    product = outer.product()
    assert product.findings == ()
    part = only_part(product)
    assert part.name == "+".join(placed.name for placed in outer.placed_plates())
    assert_whole(part)
    assert len(product.joints) == hinges
    strips = sum(math.prod(record.numbers["strip_mm"]) for record in product.joints)
    plates = sum(placed.plate.outline.area for placed in inner.placed_plates())
    assert part.unrolled is not None
    assert sum(loop.area for loop in part.unrolled.whole) == pytest.approx(plates + strips, abs=1e-6)
    (panel,) = product.panels
    assert panel.members == tuple(placed.name for placed in outer.placed_plates())
    assert panel.quantity == 1


def test_plates_stand_in_the_bent_solid_where_they_stand() -> None:
    """Each plate as designed lies wholly inside the bent solid: their common volume is the plate's."""
    from panelwright.plates._kernel.solids.booleans import common_of
    from panelwright.plates._kernel.solids.build import plate_solid
    from panelwright.plates.geometry.region import pieces

    assembly = star()
    part = only_part(assembly.product())
    for placed in assembly.placed_plates():
        alone = plate_solid(pieces(placed.plate.outline.loops), 3.0)
        common, _ = common_of((part.solid, part.frame), (alone, placed.frame))
        assert common == pytest.approx(placed.plate.outline.area * 3.0, rel=1e-6)


@pytest.mark.parametrize("name", ["tile wrap", None])
def test_panel_may_be_named(name: str | None) -> None:
    """A name given by any hinge of the panel names it, in the product and its files; else the plates do."""
    assembly = Assembly("tile cradle", stock=PLY)
    base = assembly.add("base", rectangle(70, 60))
    hinged(assembly, base, 1, "right", rectangle(40, 60))
    hinged(assembly, base, 3, "left", rectangle(30, 60), hinge=living_hinge(panel=name))
    product = assembly.product()
    assert [part.name for part in product.parts] == [name or "base+right+left"]
    assert [panel.name for panel in product.panels] == [name or "base+right+left"]


def test_a_ring_of_hinges_is_refused() -> None:
    """A square tube of four plates and four hinges can't be laid flat: the hinge that closes it is named."""
    assembly = Assembly("tool pot", stock=PLY)
    plates = [assembly.add("side 1", rectangle(50, 60))]
    for i in range(2, 5):
        plates.append(hinged(assembly, plates[-1], 1, f"side {i}", rectangle(50, 60)))
    assert assembly.check() == ()
    join(edge(plates[3], 1), edge(plates[0], 3), living_hinge())
    with pytest.raises(JointError, match="closes a ring, which can't be cut flat") as caught:
        assembly.resolve()
    assert set(caught.value.plates) == {"side 1", "side 4"}
    assert [f.code for f in assembly.check()] == ["JOINT"]


def test_plates_that_lie_on_each_other_when_laid_flat_are_refused() -> None:
    """Side and top apart in space, but on the same place of the sheet: all plates are named, and by how much."""

    def made(width: float) -> Assembly:
        assembly = Assembly("jar shelf", stock=PLY)
        base = assembly.add("base", rectangle(60, 60))
        hinged(assembly, base, 1, "right", rectangle(90, width))
        hinged(assembly, base, 2, "rear", rectangle(width, 90))
        return assembly

    # strips are 73.04 mm long, so the right plate begins at x = 103.04, and reaches y = 103.04 if it is wider than 206.08
    assert made(200.0).resolve().failures == ()
    with pytest.raises(JointError, match="lie on each other by") as caught:
        made(220.0).resolve()
    error = caught.value
    assert error.plates == ("base", "right", "rear")
    over = 110 - (30 + math.radians(90) * 46.5)
    assert error.value == pytest.approx(over * over, abs=1e-6)
    assert "join one of them by fingers or tabs instead" in str(error)


def test_hinges_and_other_joints_in_one_product() -> None:
    """Equal bent panels count as one kind, twice; the panel of a mirrored pair is the same where both faces are good."""
    assembly = Assembly("card stands", stock=PLY)
    fronts = [assembly.add("front 1", rectangle(80, 60)), assembly.add("front 2", rectangle(80, 60), Frame((0, 200, 0)))]
    for number, front in enumerate(fronts, start=1):
        hinged(assembly, front, 1, f"side {number}", rectangle(50, 60))
    product = assembly.product()
    assert [f.code for f in product.findings] == ["FLOATS"]
    (panel,) = product.panels
    assert panel.plates == ("front 1+side 1", "front 2+side 2")
    assert panel.members == ("front 1", "side 1")


@pytest.mark.parametrize("both_good", [True, False])
@pytest.mark.parametrize("pattern", PATTERNS)
def test_mirror_image_of_a_hinged_pair(pattern: Any, both_good: bool) -> None:
    """Plates mirrored one by one are found by the same hinge; their panel is the mirror image, of the same area."""
    stock = replace(PLY, both_faces_good=both_good)
    assembly = Assembly("card stand", stock=stock)
    front = assembly.add("front", rectangle(80, 60).cut(hole(9).at(20, 11)))
    side = hinged(assembly, front, 1, "side", rectangle(50, 60).cut(hole(7).at(5, -13)), hinge=living_hinge(pattern=pattern))
    other = Assembly("image", stock=stock)
    front_image = other.add("front", front.plate, mirrored(front, about="YZ"))
    side_image = other.add("side", side.plate, mirrored(side, about="YZ"))
    join(front_image.face("<X"), side_image, living_hinge(pattern=pattern))
    one, two = assembly.product(), other.product()
    assert one.findings == two.findings == ()
    assert_whole(only_part(two))
    assert two.panels[0].area_mm2 == pytest.approx(one.panels[0].area_mm2, abs=1e-6)


# what is near a strip


def slits_in(part: Part) -> list[Any]:
    """The slits of a part as polygons: what its loops lack against the panel without them."""
    assert part.unrolled is not None
    whole, cut = polygon_of_loops(part.unrolled.whole), polygon_of_loops(part.loops)
    return [piece for piece in shapely.get_parts(whole.difference(cut)) if piece.area > 1e-4]


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("off", [0.2, 1.0, 8.0])
def test_slits_keep_a_web_from_holes_beside_the_bend_line(pattern: Any, off: float) -> None:
    """A hole in the front near the bend line: every slit stays a bridge away, and only those near it are given up."""
    assembly = Assembly("card stand", stock=PLY)
    bore = hole(10).at(40 - 5 - off, 7)
    front = assembly.add("front", rectangle(80, 60).cut(bore))
    hinged(assembly, front, 1, "side", rectangle(50, 60), hinge=living_hinge(pattern=pattern))
    product = assembly.product()
    assert {f.code for f in product.findings} <= {"WEB", "SLIVER"}
    part = only_part(product)
    assert_whole(part)
    slits = slits_in(part)
    hole_shape = shapely.Polygon(bore.loops[0].points(1e-4))
    assert min(slit.distance(hole_shape) for slit in slits) >= 3.0 - 1e-3
    # of links as wide as without the hole: left to itself the hinge takes narrower ones, to make up for those that are locked
    wide = stand(living_hinge(pattern=pattern)).product()
    (record,) = wide.joints
    plain = slits_in(only_part(wide))
    assembly = Assembly("card stand", stock=PLY)
    front = assembly.add("front", rectangle(80, 60).cut(bore))
    given = living_hinge(pattern=pattern, link=record.numbers["link_mm"] - 1e-9, slit=record.numbers["slit_mm"])
    hinged(assembly, front, 1, "side", rectangle(50, 60), hinge=given)
    again = assembly.product()
    assert ("HINGE" in {f.code for f in again.errors}) == (off < 8.0 and pattern != "obround")
    lost = sum(s.area for s in plain) - sum(s.area for s in slits_in(only_part(again)))
    if off < 8.0:
        assert 0.5 < lost < 0.1 * sum(s.area for s in plain)
    else:
        assert abs(lost) < 1e-3


BORE = 10.0


def with_a_hole(way: str, off: float, hinge: Any) -> tuple[Assembly, tuple[float, float]]:
    """A bent panel made in one of three ways, with a hole `off` mm before its first bend line, and the hole's middle."""
    made = Assembly("note holder", stock=PLY)
    if way == "two plates":
        middle = (40 - BORE / 2 - off, 7.0)
        front = made.add("front", rectangle(80, 60).cut(hole(BORE).at(*middle)))
        hinged(made, front, 1, "side", rectangle(50, 60), hinge=hinge)
    elif way == "sheet":
        middle = (-36 - BORE / 2 - off, 7.0)
        made.add_bent("sheet", rectangle(200, 60).cut(hole(BORE).at(*middle)), bend(-36, radius=45, angle_deg=90), hinge=hinge)
    else:  # a wall whose first bend begins where the straight half side of its path ends
        middle = (58 - BORE / 2 - off, 35.0)
        made.add_wrap("wall", 70, rounded_rectangle(220, 170, 52), cut=hole(BORE).at(*middle), hinge=hinge)
    return made, middle


WAYS = ("two plates", "sheet", "wall")


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("off", [0.1, 2.0])
def test_slits_keep_off_holes_however_the_panel_is_made(way: str, pattern: Any, off: float) -> None:
    """A thickness stays between a hole and every slit of what is cut, in two plates, a bent sheet and a wall."""
    made, middle = with_a_hole(way, off, living_hinge(pattern=pattern))
    product = made.product()
    assert "WEB" not in {finding.code for finding in product.findings}
    part = only_part(product)
    assert_whole(part)
    hole_shape = shapely.Point(middle).buffer(BORE / 2, quad_segs=256)
    gaps = [slit.distance(hole_shape) for slit in slits_in(part)]
    assert PLY.t - 1e-3 <= min(gaps) < 3 * PLY.t


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("pattern", ["staggered", "obround"])
def test_slits_that_do_not_keep_off_holes_are_told(monkeypatch: pytest.MonkeyPatch, way: str, pattern: Any) -> None:
    """The proof measures these webs on the panel by itself: with a layout that sees no holes it tells each."""
    monkeypatch.setattr(flat_patterns, "_free_of", lambda *_: None)
    made, middle = with_a_hole(way, 1.0, living_hinge(pattern=pattern))
    product = made.product()
    (finding,) = [finding for finding in product.findings if finding.code == "WEB"]
    assert "between a cut-out and slits of its hinge" in finding.message
    hole_shape = shapely.Point(middle).buffer(BORE / 2, quad_segs=256)
    gaps = [slit.distance(hole_shape) for slit in slits_in(only_part(product))]
    assert finding.numbers["width_mm"] == pytest.approx(min(gaps), abs=0.01)
    assert finding.numbers["webs"] == sum(gap < 0.95 * PLY.t for gap in gaps)


@pytest.mark.parametrize("way", WAYS)
def test_a_hole_that_touches_a_bend_line_is_refused_in_words(way: str) -> None:
    """It leaves no material beside the strip, in whichever way the panel is made; half a thickness off it may lie."""
    with pytest.raises(OutlineError, match=r"touches the (border|bend)"):
        with_a_hole(way, 0.0, living_hinge())
    made, _ = with_a_hole(way, PLY.t / 2, living_hinge())
    assert made.product().parts


def arm(gap: float, hinge: Any = None) -> Assembly:
    """A front with an arm that, laid flat, runs along the first 40 mm of the strip's border, so far away from it."""
    assembly = Assembly("card stand", stock=PLY)
    inner = [(40, 30), (40, 30 + gap), (80, 30 + gap)] if gap else [(40, 30), (80, 30)]
    front = assembly.add("front", polygon([(-40, -30), (40, -30), *inner, (80, 55), (-40, 55)]))
    hinged(assembly, front, 1, "side", rectangle(50, 60), hinge=hinge or living_hinge())
    return assembly


def test_a_strip_that_touches_a_plate_when_laid_flat_is_refused() -> None:
    """An arm right along the strip would be cut as one with it and could not bend; apart from it all is well."""
    with pytest.raises(JointError, match="plate 'front' and the strip between 'front' and 'side' touch, so that") as caught:
        arm(0.0).resolve()
    assert caught.value.plates == ("front", "side")
    assert [f.code for f in arm(0.0).check()] == ["JOINT"]
    # a gap that the beam closes up is found by the kerf; as long as slits may not open towards the arm, it locks their links
    assert [f.code for f in arm(0.1).check()] == ["HINGE", "KERF"]
    assert [f.code for f in arm(1.0).check()] == ["HINGE"]
    assert arm(7.0).check() == ()


@pytest.mark.parametrize("pattern", PATTERNS)
def test_slits_do_not_open_towards_what_lies_beside_the_strip(pattern: Any) -> None:
    """Along the arm slits end a bridge inside the border; elsewhere and at the other border every second column opens."""
    part = only_part(arm(1.0, living_hinge(pattern=pattern)).product())
    assert_whole(part)
    opened = {"beside": 0, "beyond": 0, "below": 0}
    for slit in slits_in(part):
        x0, y0, x1, y1 = slit.bounds
        opened["below"] += y0 < -30 + 1e-6
        if y1 > 30 - 1e-6:
            opened["beside" if x0 < 80 else "beyond"] += 1
        elif x1 < 80:
            # the ends of chevrons lean
            assert y1 <= 27 + 0.1 * math.sin(math.radians(SLOPE_DEG)) + 1e-6
    assert opened["beside"] == 0
    assert opened["beyond"] > 1
    assert opened["below"] >= opened["beyond"] + 4


def test_strokes_and_members_stand_in_the_manifest(tmp_path: Path) -> None:
    """The manifest says which plates a panel is, how many strokes it has, and its numbers; builds repeat to the byte."""
    product = cradle().product()
    for folder in ("one", "two"):
        write_product(cradle().product(), tmp_path / folder, file="cradle.py")
    manifest = json.loads((tmp_path / "one" / "manifest.json").read_text("utf-8"))
    (entry,) = manifest["panels"]
    assert entry["name"] == "base+right+left"
    assert entry["members"] == ["base", "right", "left"]
    assert entry["instances"] == ["base+right+left"]
    assert entry["strokes"] == len(product.panels[0].strokes) > 80
    assert entry["quantity"] == 1
    assert entry["area_mm2"] == pytest.approx(product.panels[0].area_mm2, abs=1e-6)
    assert [joint["kind"] for joint in manifest["joints"]] == ["living_hinge"] * 2
    assert manifest["joints"][0]["numbers"]["pattern"] == "staggered"
    first = {path.relative_to(tmp_path / "one"): path.read_bytes() for path in (tmp_path / "one").rglob("*") if path.is_file()}
    again = {path.relative_to(tmp_path / "two"): path.read_bytes() for path in (tmp_path / "two").rglob("*") if path.is_file()}
    assert first == again
    assert Path("panels/base+right+left.dxf") in first


# the proof


def with_shelf(at: Frame, *, loose: bool = False, size: tuple[float, float] = (30.0, 30.0)) -> Assembly:
    """The card stand, whose strip bends from (40, ·, 0) about the axis (40, ·, −45), and a small shelf somewhere."""
    assembly = stand()
    assembly.add("shelf", rectangle(*size), at, loose=loose)
    return assembly


def test_a_plate_through_the_strip_is_found() -> None:
    """OVERLAP names the strip's two plates and the third, with the kernel's volume; moved away it is gone."""
    # upright in the plane x = 70…73, across the strip
    through = Frame.facing((70.0, 0.0, -10.0), show=(1, 0, 0), right=(0, 1, 0))
    found = [f for f in with_shelf(through).check() if f.code == "OVERLAP"]
    (finding,) = found
    assert finding.level == "error"
    assert finding.plates == ("front", "side", "shelf")
    assert "the bent strip between 'front' and 'side' and plate 'shelf' share" in finding.message

    # the ring from R to R + t between x = 70 and 73, over 30 mm
    def under(radius: float, x: float) -> float:
        return (x * math.sqrt(radius**2 - x**2) + radius**2 * math.asin(x / radius)) / 2

    area = (under(48, 33) - under(48, 30)) - (under(45, 33) - under(45, 30))
    assert finding.numbers["volume_mm3"] == pytest.approx(area * 30.0, rel=1e-5)
    assert finding.place is not None
    assert math.hypot(finding.place[0] - 40, finding.place[2] + 45) == pytest.approx(46.5, abs=0.5)
    away = with_shelf(through.shifted((20.0, 0.0, 0.0)), loose=True)
    assert [finding.code for finding in away.check()] == ["FLOATS"]


def test_strips_that_run_into_each_other_are_found() -> None:
    """Two hinges of two products that cross; apart they are fine."""

    def crossing(by: float) -> Assembly:
        both = Assembly("stands", stock=PLY)
        both.add("a", stand())
        both.add("b", stand(), Frame((by, 15.0, 0.0)))
        return both

    overlaps = [f for f in crossing(4.0).check() if f.code == "OVERLAP"]
    strips = [f for f in overlaps if f.message.startswith("the bent strip between 'a.front' and 'a.side' and the bent strip")]
    assert len(strips) == 1
    assert strips[0].numbers["volume_mm3"] > 100
    assert [f.code for f in crossing(300.0).check()] == ["FLOATS"]


def test_a_plate_that_only_touches_the_strip_does_not_float() -> None:
    """A shelf resting on the crest of the bend touches the product; a millimetre higher it floats."""
    top = Frame((40.0 + 20.0, 0.0, 3.0))
    # the strip leaves the plane of the front at x = 40, so that a shelf beyond it rests on the line where it does
    touching = with_shelf(Frame.facing((88.0, 0.0, -40.0), show=(1, 0, 0), right=(0, 1, 0)))
    assert [f.code for f in touching.check()] == ["UNHELD"]
    floats = with_shelf(Frame.facing((89.0, 0.0, -40.0), show=(1, 0, 0), right=(0, 1, 0)))
    (finding,) = floats.check()
    assert finding.code == "FLOATS"
    assert finding.plates == ("shelf",)
    raised = with_shelf(top.shifted((0.0, 0.0, 1.0)))
    assert [f.code for f in raised.check()] == ["FLOATS"]


@pytest.mark.parametrize("angle_deg", [100.0, 200.0, 230.0, 300.0])
def test_strip_and_plates_of_one_panel_do_not_run_into_each_other_unseen(angle_deg: float) -> None:
    """Bent so far that the side meets the front: OVERLAP, as plane geometry says."""
    product = stand(radius=30.0, angle_deg=angle_deg, side=(120.0, 60.0)).product()
    overlaps = {f.plates for f in product.findings if f.code == "OVERLAP"}
    # the side leaves the bend at (40 + 31.5 sin θ, −31.5 (1 − cos θ)), and goes on along (cos θ, −sin θ) for 120 mm
    theta = math.radians(angle_deg)
    run = 31.5 * (1 - math.cos(theta)) / -math.sin(theta)
    meets = 0 < run < 120 and -40 < 40 + 31.5 * math.sin(theta) + run * math.cos(theta) < 40
    assert (("front", "side") in overlaps) is meets
    assert bool(overlaps) is meets is (angle_deg > 200)


def test_unrelated_plates_share_nothing_with_a_bent_panel() -> None:
    """The pieces of a card stand and a base under it are disjoint, by the kernel's booleans on the parts themselves."""
    assembly = stand()
    assembly.add("base", rectangle(200, 100), Frame((20.0, 0.0, -200.0)), loose=True)
    product = assembly.product()
    assert product.findings == ()
    assert [shared_volume(a, b) for a, b in pairs(product.parts)] == [0.0]


def test_stress_that_no_stock_lets_judge_is_told_once_for_each_stock() -> None:
    """A note with the hinges' plates, what their stock lacks, and the stress where that is known; none where it is judged."""
    bare = Stock("birch plywood", 3.0, measured=3.0, kerf=0.2, density=680)
    assembly = Assembly("card stands", stock=bare)
    for number in (1, 2):
        front = assembly.add(f"front {number}", rectangle(80, 60), Frame((0.0, 300.0 * number, 0.0)), loose=True)
        hinged(assembly, front, 1, f"side {number}", rectangle(50, 60))
    (note,) = [f for f in assembly.check() if f.code == "HINGE"]
    assert (note.level, note.numbers) == ("note", {"hinges": 2.0})
    assert note.plates == ("front 1", "side 1", "front 2", "side 2")
    assert "states no shear modulus and no shear strength; state shear_modulus= and shear_strength= in MPa" in note.message
    half = stand(stock=replace(bare, shear_modulus=620))
    (note,) = [f for f in half.check() if f.code == "HINGE"]
    assert note.numbers["shear_stress_mpa"] == pytest.approx(half.product().joints[0].numbers["shear_stress_mpa"])
    assert "states no shear strength; state shear_strength= in MPa" in note.message
    judged = stand(stock=replace(bare, shear_modulus=620, shear_strength=9.5))
    assert [f for f in judged.check() if f.code == "HINGE"] == []


@pytest.mark.parametrize("turn", ["cube-5", "odd"])
@pytest.mark.parametrize("toward", ["show", "back"])
def test_a_hinge_finding_is_placed_in_the_middle_of_its_bend(turn: str, toward: str) -> None:
    """Half-way along, round and through the strip, by the circle that both plates' middles are tangent to."""
    at = TURNS[turn]
    (found,) = [f for f in stand(living_hinge(link=3), radius=20, toward=toward, at=at).check() if f.code == "HINGE"]
    assert found.place is not None
    middle, way = 20 + 1.5, 1 if toward == "show" else -1
    half = math.sqrt(0.5)
    expected = at.point((40 + middle * half, 0.0, 1.5 + way * middle * (1 - half)))
    assert found.place == pytest.approx(expected, abs=1e-6)


STRONG = {"shear_modulus": 620, "shear_strength": 9.5, "density": 680}
BIRCH = Stock("birch plywood", 3.0, measured=3.0, kerf=0.2, clearance=0.1, **STRONG)
BESIDE = Frame.facing((25, -33, -47), show=(0, 1, 0), right=(1, 0, 0))
"""Where a plate lies along the lower edges of both plates of a card stand."""


def springs_of(assembly: Assembly) -> list[Finding]:
    return [f for f in assembly.check() if f.code == "SPRINGS"]


def test_a_bend_that_nothing_holds_is_told_with_its_torque_and_the_weight_against_it() -> None:
    """The weight by hand: 80 × 60 and 50 × 60 mm of sheet, each at its lever about the bend's middle; the lesser counts."""
    (found,) = springs_of(stand(stock=BIRCH))
    r, half = 46.5, math.sqrt(0.5)
    middle = (40 + r * half, 1.5 - r * (1 - half))
    levers = {80: math.dist((0.0, 1.5), middle), 50: math.dist((40 + r, 1.5 - r - 25), middle)}
    weights = [length * 60 * 3e-9 * 680 * 9.80665 * lever for length, lever in levers.items()]
    assert (found.level, found.plates) == ("warning", ("front", "side"))
    assert found.numbers["weight_nmm"] == pytest.approx(min(weights))
    assert found.numbers["spring_back_nmm"] == pytest.approx(46.3, abs=0.1)
    assert found.place == pytest.approx((middle[0], 0.0, middle[1]))
    assert "springs back with 46.3 Nmm, against 3.6 Nmm of weight at most" in found.message
    # flat, the side would lie in line with the front: its lower edge moves from below the bend to beyond it
    flat = 40 + r * math.pi / 2 + 50
    opens = max(math.dist((40 + r + out, 1.5 - r - 50), (flat, 1.5 + out)) for out in (-1.5, 1.5))
    assert found.numbers["opens_mm"] == pytest.approx(opens)
    assert f"let go, it opens by up to {opens:.0f} mm" in found.message


def test_an_open_seam_is_told_by_how_far_it_opens_and_weight_is_no_hold_of_an_upright_wall() -> None:
    """Beyond the one tab all four bends spring open; two could be held by weight, if the wall lay down, which is said."""

    def found(joined: slice) -> list[Finding]:
        pot = Assembly("brush pot", stock=BIRCH)
        base = pot.add("base", rounded_rectangle(230, 180, 52))
        wall = pot.add_wrap("wall", 70, rounded_rectangle(200, 150, 45), Frame((0, 0, 3)))
        join(wall.faces("<Z")[joined], base.face(">Z"), tabs(count=1))
        return springs_of(pot)

    assert found(slice(None)) == []
    told = {f.plates[0]: f for f in found(slice(1))}
    assert {name: f.level for name, f in told.items()} == {
        "wall bend 1": "note",
        "wall bend 2": "note",
        "wall bend 3": "warning",
        "wall bend 4": "warning",
    }
    assert all(f.numbers["weight_nmm"] < 10 * f.numbers["spring_back_nmm"] for f in told.values())
    assert "upright by none" in told["wall bend 1"].message
    # the last bend, a quarter turn of 45 mm inside, carries half of the side with the seam, 55 mm
    r = 46.5
    opens = max(math.dist((r + out, -r - 55), (r * math.pi / 2 + 55, out)) for out in (-1.5, 1.5))
    assert told["wall bend 4"].numbers["opens_mm"] == pytest.approx(opens)


def test_a_bend_is_held_by_a_plate_that_both_sides_are_joined_to_and_not_by_one_on_one_side() -> None:
    """A base along both plates; a base along one of them; and a flap that is loose may swing."""
    for joined, count in ((("front", "side"), 0), (("front",), 1), ((), 1)):
        assembly = Assembly("card stand", stock=BIRCH)
        front = assembly.add("front", rectangle(80, 60))
        side = hinged(assembly, front, 1, "side", rectangle(50, 60))
        base = assembly.add("base", rectangle(150, 120), BESIDE, loose=not joined)
        for plate in (front, side):
            if plate.name in joined:
                join(plate.face("<Y"), base.show, tabs(count=1))
        assert len(springs_of(assembly)) == count, joined
    swinging = Assembly("card stand", stock=BIRCH)
    front = swinging.add("front", rectangle(80, 60))
    flap = swinging.add("flap", rectangle(50, 60), bent_on(front.face(">X"), radius=45, angle_deg=90), loose=True)
    join(front.face(">X"), flap, living_hinge())
    assert springs_of(swinging) == []


@pytest.mark.parametrize(("on_the_flats", "on_the_bend", "count"), [(0, 0, 1), (1, 0, 0), (0, 1, 1), (0, 2, 1), (1, 2, 0)])
def test_a_bend_laid_into_a_sheet_is_held_by_its_neighbours_and_not_by_two_tabs_of_its_own(
    on_the_flats: int, on_the_bend: int, count: int
) -> None:
    """Tabs on both flat parts hold it; two on the bend leave what goes on beyond them, and swings with a flat part, free."""
    assembly = Assembly("note holder", stock=BIRCH)
    sheet = assembly.add_bent("sheet", rectangle(200, 60), bend(-36, radius=45, angle_deg=90))
    base = assembly.add("base", rectangle(190, 140), BESIDE, loose=not (on_the_flats or on_the_bend))
    if on_the_flats:
        join([part.face("<Y") for part in sheet.flats], base.show, tabs(count=1))
    if on_the_bend:
        join([part.face("<Y") for part in sheet.bends], base.show, tabs(count=on_the_bend, width=5))
    assert len(springs_of(assembly)) == count


def test_whether_an_unheld_bend_springs_back_is_not_proven_without_modulus_or_density() -> None:
    """A note that says what the stock doesn't state; nothing where the torque is less than either side's weight."""
    (found,) = springs_of(stand(stock=replace(BIRCH, shear_modulus=None)))
    assert found.level == "note"
    assert "not proven, as its stock states no shear modulus;" in found.message
    (found,) = springs_of(stand(stock=replace(BIRCH, density=None)))
    assert (found.level, list(found.numbers)) == ("note", ["spring_back_nmm", "opens_mm"])
    assert "with 46.3 Nmm; whether weight holds it is not proven, as its stock states no density;" in found.message
    assert springs_of(stand(stock=PLY)) == []
