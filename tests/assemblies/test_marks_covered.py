"""Covered regions and ticks against the kernel: does a point right outside a face lie in another plate's solid?"""

from __future__ import annotations

import random
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import cadquery as cq
import pytest
import shapely
from hinges import TURNS
from panelwright.assemblies import Assembly, Batch, SheetRules, lay_sheets
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.marks import alignment_ticks, covered_regions
from panelwright.plates import Frame, Stock, disc, hole, rectangle, standing
from panelwright.plates._kernel.solids.booleans import placed_solid
from panelwright.plates.errors import JointError
from panelwright.plates.geometry.congruence import carrying, same_panel
from panelwright.plates.geometry.curves import Line
from panelwright.plates.geometry.motion import Motion
from studio import card_tray, glaze_stand

EXAMPLES = Path(__file__).parents[2] / "examples"
ABOVE = 0.15
"""How far outside a face the kernel is asked, in mm: as far as plates may be apart and still rest on each other."""


@cache
def example(name: str) -> Product:
    design = load_design(EXAMPLES / f"{name}.py")
    with design.surroundings():
        return run(design).product()


def leaning(angle_deg: float, at: Frame) -> Product:
    """A kiln timer's board whose show face carries a plate that leans, standing on one corner of its edge and half sunk in."""
    mdf = Stock("MDF", 5.0)
    made = Assembly("leaning", stock=mdf)
    made.add("board", rectangle(120, 80), at)
    # turned in its own plane first, so that it stands on a corner of its outline and both its axes are aslant
    lean = Frame.turned("Z", 20).then(Frame.turned("X", angle_deg)).then(Frame((3.0, 0.0, 5.0)))
    made.add("stay", rectangle(70, 60).cut(hole(16).at(10, 0)), lean.then(at), loose=True)
    return made.product()


def stack(at: Frame) -> Product:
    """Jar shelf boards on each other: a disc with a window on a board, turned out of square, and one board below."""
    mdf = Stock("MDF", 4.0)
    made = Assembly("stack", stock=mdf)
    made.add("board", rectangle(120, 80).cut(hole(10).at(30, 10)), at)
    made.add("ring", disc(60).cut(hole(20)), Frame((5.0, 3.0, 4.0)).then(at), loose=True)
    made.add("foot", rectangle(40, 20), Frame.turned("Z", 30).then(Frame((-10.0, 0.0, -4.0))).then(at), loose=True)
    return made.product()


SCENES: dict[str, Callable[[], Product]] = {
    "card tray": card_tray,
    "glaze stand": glaze_stand,
    "leaning 60": lambda: leaning(60, Frame()),
    "leaning 40, odd": lambda: leaning(40, TURNS["odd"]),
    "leaning 90, odder": lambda: leaning(90, TURNS["odder"]),
    "stack": lambda: stack(Frame()),
    "stack, odd": lambda: stack(TURNS["odd"]),
    **{name: (lambda name=name: example(name)) for name in ("tile_tray", "kiln_timer", "recipe_stand")},
}


def holders(product: Product, part: Part) -> Callable[[Any], set[str]]:
    """Tells which other plates' solids hold a point of the product's space."""
    solids = [
        (other.name, cq.Shape.cast(placed_solid((other.solid, other.frame))))
        for other in product.parts
        if other is not part and other.unrolled is None
    ]
    boxes = [(name, solid, solid.BoundingBox()) for name, solid in solids]

    def held(point: Any) -> set[str]:
        x, y, z = point
        return {
            name
            for name, solid, box in boxes
            if box.xmin - 1 <= x <= box.xmax + 1 and box.ymin - 1 <= y <= box.ymax + 1 and box.zmin - 1 <= z <= box.zmax + 1
            if solid.isInside(cq.Vector(x, y, z), 1e-7)
        }

    return held


def outside(part: Part, face: str, x: float, y: float) -> Any:
    return part.frame.point((x, y, part.stock.t + ABOVE if face == "show" else -ABOVE))


@pytest.mark.parametrize("name", SCENES)
def test_covered_is_what_the_kernel_finds_covered(name: str) -> None:
    """Point by point, at random and close to both sides of the region's border; never where the plate itself is cut."""
    product = SCENES[name]()
    draw = random.Random(3)
    inside = beside = 0
    for part in product.parts:
        if part.unrolled is not None:
            continue
        held = holders(product, part)
        regions = covered_regions(product, part.name)
        material = shapely.Polygon(part.loops[0].points(0.005), [loop.points(0.005) for loop in part.loops[1:]])
        for face, region in (("show", regions.show), ("back", regions.back)):
            x0, y0, x1, y1 = material.bounds
            spots = [(draw.uniform(x0, x1), draw.uniform(y0, y1)) for _ in range(25)]
            border = region.boundary
            for _ in range(0 if border.is_empty else 50):
                at = border.interpolate(draw.uniform(0, border.length))
                spots.append((at.x + draw.uniform(-1, 1), at.y + draw.uniform(-1, 1)))
            for x, y in spots:
                point = shapely.Point(x, y)
                # chords and the kernel's own tolerance leave a seam undecided
                if point.distance(border) < 0.05 or point.distance(material.boundary) < 0.05:
                    continue
                covered = material.contains(point) and bool(held(outside(part, face, x, y)))
                assert region.contains(point) == covered, f"{part.name} {face} at {x:.3f}, {y:.3f}"
                inside, beside = inside + covered, beside + (not covered)
    assert inside >= 10
    assert beside >= 10


@pytest.mark.parametrize("name", SCENES)
def test_ticks_lie_on_the_border_of_what_is_covered(name: str) -> None:
    """A step to one side of a tick another plate stands that does not stand a step to the other; all off cuts."""
    product = SCENES[name]()
    parts = {part.name: part for part in product.parts}
    count = 0
    for ticks in alignment_ticks(product):
        part = parts[ticks.plate]
        held = holders(product, part)
        material = shapely.Polygon(part.loops[0].points(0.005), [loop.points(0.005) for loop in part.loops[1:]])
        for line in ticks.lines:
            drawn = shapely.LineString([line.start, line.end])
            assert material.contains(drawn)
            assert drawn.distance(material.boundary) >= 0.6 - 0.02
            (x0, y0), (x1, y1) = line.start, line.end
            across = ((y0 - y1) / line.length * 0.02, (x1 - x0) / line.length * 0.02)
            # the tick's very ends lie on the corner of what stands there
            for share in (0.1, 0.5, 0.9):
                x, y = x0 + (x1 - x0) * share, y0 + (y1 - y0) * share
                left, right = (held(outside(part, ticks.face, x + s * across[0], y + s * across[1])) for s in (-1, 1))
                assert left ^ right, f"{ticks.plate} {ticks.face} {line}"
            count += 1
    assert count >= 4


def test_letters_hide_on_a_show_face_that_must_lie_up() -> None:
    """The kiln timer's engraved front keeps its stock show face up: by the kernel, other plates lie on every letter."""
    product = example("kiln_timer")
    plan = lay_sheets([Batch(product)], None, SheetRules(effort=0))
    parts = {part.name: part for part in product.parts}
    hidden = 0
    for sheet in plan.sheets:
        if sheet.face_up != "show":
            continue
        for index, laid in enumerate(sheet.parts):
            panel = laid.source.panel
            assert not any(isinstance(segment, Line) for mark in panel.marks for segment in mark)  # it is a dial
            strokes = [path.segments for path in sheet.paths if path.kind == "mark" and path.piece == index]
            letters = [chain for chain in strokes if all(isinstance(segment, Line) for segment in chain)]
            for plate in panel.plates:
                part = parts[plate]
                onto = carrying(part.loops, panel.loops, is_mirrored=False, has_grain=panel.stock.grain is not None)
                assert onto is not None
                back = laid.motion.inverse.then(onto.inverse)
                held = holders(product, part)
                for chain in letters:
                    for segment in chain:
                        x, y = back.apply(segment.point_at(0.5))
                        assert held(outside(part, "show", x, y)), f"{plate} at {x:.2f}, {y:.2f}"
                        hidden += 1
    assert hidden >= 20


def base_with_lid(lid: tuple[float, float]) -> Product:
    mdf = Stock("MDF", 4.0, kerf=0.2, sheet=(400, 300))
    made = Assembly("drawer", stock=mdf)
    made.add("base", rectangle(160, 90))
    made.add("lid", rectangle(*lid), Frame((30.0, 10.0, 4.0)), loose=True)
    return made.product()


def test_letters_on_show_faces_go_under_cover_where_they_fit() -> None:
    """Asked for on the show face, they lie under the lid if that has room for the text, and else in the middle."""
    rules = SheetRules(effort=0, face_up="show")

    def letters(product: Product) -> Any:
        (sheet,) = lay_sheets([Batch(product)], None, rules).sheets
        index, base = next((k, part) for k, part in enumerate(sheet.parts) if part.name == "base")
        back = base.motion.inverse
        return shapely.union_all(
            [
                shapely.LineString([back.apply(path.segments[0].start), *(back.apply(s.end) for s in path.segments)])
                for path in sheet.paths
                if path.kind == "mark" and path.piece == index
            ]
        )

    # the panel begins at its lower left corner, the plate has its origin in the middle
    assert shapely.box(85, 45, 135, 65).contains(letters(base_with_lid((50, 20))))
    bare = letters(base_with_lid((6, 6)))
    assert not bare.is_empty
    assert not shapely.box(107, 52, 113, 58).intersects(bare)


def test_a_panel_for_two_plates_is_lettered_where_both_are_covered() -> None:
    """Pieces that are alike are interchangeable: under the left ledge of one and the right ledge of the other is no hiding."""
    mdf = Stock("MDF", 4.0, kerf=0.2, sheet=(500, 400))

    def shelf(*lids: float) -> Any:
        made = Assembly("shelf", stock=mdf)
        made.add("front", rectangle(160, 60).cut(hole(9).at(70, 20)), Frame(), loose=True)
        made.add("rear", rectangle(160, 60).cut(hole(9).at(70, 20)), Frame((0.0, 100.0, 0.0)), loose=True)
        for number, x in enumerate(lids):
            # numbers make outlines of their own, so that no two lids are one panel
            made.add(f"lid {number}", rectangle(50 + number, 20), Frame((x, 100.0 * number, 4.0)), loose=True)
        (sheet,) = lay_sheets([Batch(made.product())], None, SheetRules(effort=0, face_up="show")).sheets
        index, part = next((k, part) for k, part in enumerate(sheet.parts) if part.name == "front")
        assert part.source.panel.plates == ("front", "rear")
        back = part.motion.inverse
        strokes = [path.segments for path in sheet.paths if path.kind == "mark" and path.piece == index]
        # the cutting order may have turned a stroke round
        ends = {back.apply(end) for chain in strokes for line in chain for end in (line.start, line.end)}
        return shapely.MultiPoint(sorted({(round(x, 6), round(y, 6)) for x, y in ends}))

    # the panel begins at its lower left corner, the plates have their origins in the middle
    left = shapely.box(15, 20, 65, 40)
    assert left.contains(shelf(-40.0, -40.0))
    bare = shelf()
    assert not left.contains(bare)
    assert shelf(-40.0, 40.0).equals(bare)
    assert shelf(-40.0).equals(bare)


def test_mirror_images_get_the_ticks_of_their_own_plate() -> None:
    """A shelf that stands on the right cheek only: the left one, cut as the same panel, has none."""
    mdf = Stock("MDF", 4.0, kerf=0.18, sheet=(400, 300))
    made = Assembly("cheeks", stock=mdf)
    cheek = rectangle(120, 80).cut(hole(14).at(40, 20))
    made.add("left", cheek.mirrored(), Frame((-100.0, 0.0, 0.0)), loose=True)
    right = made.add("right", cheek, Frame((100.0, 0.0, 0.0)), loose=True)
    made.add("ledge", rectangle(60, 30), standing(on=right.face(">Z"), facing="-Y", inset=20), loose=True)
    product = made.product()
    (panel, _) = product.panels
    assert panel.turned_over == ("right",)
    plan = lay_sheets([Batch(product)], None, SheetRules(effort=0, ticks=True, face_up="show", is_marked=False))
    counts = {}
    for sheet in plan.sheets:
        for index, part in enumerate(sheet.parts):
            key = "right" if part.source.is_turned_over else part.name
            marks = [path for path in sheet.paths if path.kind == "mark" and path.piece == index]
            counts[key] = len(marks)
            if key == "right":
                # back to the plate through its own mirror image
                (own,) = (p for p in product.parts if p.name == "right")
                onto = carrying(own.loops, panel.loops, is_mirrored=True, has_grain=False)
                assert onto is not None
                back = part.motion.inverse.then(onto.inverse)
                (ticks,) = (t for t in alignment_ticks(product) if t.plate == "right")
                wanted = shapely.union_all([shapely.LineString([t.start, t.end]) for t in ticks.lines])
                drawn = [[back.apply(p) for p in (m.segments[0].start, m.segments[-1].end)] for m in marks]
                assert shapely.union_all([shapely.LineString(ends) for ends in drawn]).hausdorff_distance(wanted) < 1e-6
    assert counts["right"] == 4
    assert counts["left"] == 0


def test_a_plate_that_is_not_there() -> None:
    """The names that there are come with the refusal."""
    with pytest.raises(JointError, match="there is no plate 'roof'; there are base, lid"):
        covered_regions(base_with_lid((50, 20)), "roof")


def test_the_motion_between_like_panels() -> None:
    """By the least turn, exact at quarter turns, and none where only a mirror image would do."""
    shape = rectangle(60, 40).cut(hole(8).at(20, 10)).loops
    for turn in (0.0, 90.0, 180.0, 270.0, 33.0):
        for mirror in (Motion(), Motion.mirror_x()):
            there = mirror.then(Motion.turn(turn)).then(Motion.shift(5, -7))
            other = [loop.moved(there) for loop in shape]
            found = carrying(shape, other, is_mirrored=there.flips, has_grain=False)
            assert found is not None
            for spot in ((0.0, 0.0), (30.0, 20.0), (-11.0, 3.0)):
                assert found.apply(spot) == pytest.approx(there.apply(spot), abs=1e-6)
            assert carrying(shape, other, is_mirrored=not there.flips, has_grain=False) is None
            assert same_panel(shape, other, may_flip=True, has_grain=False)
    square = rectangle(30, 30).loops
    least = carrying(square, square, is_mirrored=False, has_grain=False)
    assert least is not None
    assert least.apply((3.0, 1.0)) == pytest.approx((3.0, 1.0))
