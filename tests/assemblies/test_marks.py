"""Part marks and ticks: off every cut, readable, where they say they are, on the face that lies up."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import cadquery as cq
import pytest
import shapely
from panelwright.assemblies import Assembly, Batch, SheetRules, lay_sheets
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.marks import alignment_ticks, label_of, letters_of
from panelwright.assemblies.marks.label import CLEAR, HEIGHTS
from panelwright.joints import join_touching, tabs
from panelwright.plates import Frame, Stock, disc, hole, rectangle, row, standing
from panelwright.plates.errors import SizeError
from panelwright.plates.geometry.curves import Line, Segment
from panelwright.plates.geometry.motion import Motion
from panelwright.plates.outlines.outline import Outline
from panelwright.plates.outlines.stroke_font import lettering
from studio import card_tray, glaze_stand, studio_shop

EXAMPLES = Path(__file__).parents[2] / "examples"
DESIGNS = ("tile_tray", "brush_rack", "card_drawer", "tool_pot", "kiln_timer", "display_stand", "recipe_stand")


@cache
def example(name: str) -> Product:
    design = load_design(EXAMPLES / f"{name}.py")
    with design.surroundings():
        return run(design).product()


def line_of(chain: Sequence[Segment]) -> Any:
    return shapely.LineString([*(p for s in chain for p in s.chords(0.005)), chain[-1].end])


@pytest.mark.parametrize("name", DESIGNS)
def test_marks_keep_clear_of_every_cut(name: str) -> None:
    """Measured on the paths of each sheet: no lettering nearer than the clear distance to any cut, and all of it inside."""
    plan = lay_sheets([Batch(example(name))], None, SheetRules(effort=0))
    assert plan.sheets
    marked = 0
    for sheet in plan.sheets:
        cuts = shapely.union_all([line_of(path.segments) for path in sheet.paths if path.kind != "mark"])
        for index, part in enumerate(sheet.parts):
            strokes = [line_of(p.segments) for p in sheet.paths if p.kind == "mark" and p.piece == index]
            if part.source.panel.marks or not strokes:
                continue
            marked += 1
            letters = shapely.union_all(strokes)
            assert letters.distance(cuts) >= CLEAR - 0.01
            outline = shapely.Polygon(line_of(part.source.panel.cuts[0].moved(part.motion).segments).coords)
            assert outline.contains(letters)
    panels = example(name).panels
    engraved = {panel.stock for panel in panels if panel.marks}
    told = sum("has no room for its letter" in note for note in plan.notes)
    bare = {word for note in plan.notes if ": no letters, since" in note for word in note.split(": no letters")[0].split(", ")}
    unmarked = sum(panel.quantity for panel in panels if panel.name in bare and not panel.marks)
    assert marked == sum(panel.quantity for panel in panels if not panel.marks) - told - unmarked
    assert marked
    assert bool(engraved) == any("get letters only where other plates cover them" in note for note in plan.notes)


@pytest.mark.parametrize("face_up", ["back", "show"])
def test_lettering_reads_right_as_the_sheet_lies(face_up: str) -> None:
    """Each part's strokes are those of the font, turned and moved but never mirrored, also on mirrored parts."""
    plan = lay_sheets([Batch(glaze_stand(), 2)], None, SheetRules(effort=0, face_up=face_up))  # type: ignore[arg-type]  # text of a case
    letters = letters_of(glaze_stand().panels)
    flips, names = set(), set()
    for sheet in plan.sheets:
        for index, part in enumerate(sheet.parts):
            strokes = [p.segments for p in sheet.paths if p.kind == "mark" and p.piece == index]
            panel = part.source.panel
            name = "right" if part.source.is_turned_over else panel.name
            names.add(name)
            flips.add(part.motion.flips)
            text = f"{letters[panel.name]} {name}"
            assert any(is_lettering(strokes, text, height) for height in HEIGHTS), f"{name} is not marked {text}"
    assert flips == {False, True}
    assert names == {"left", "right", "board"}


def is_lettering(strokes: Sequence[Sequence[Segment]], text: str, height: float) -> bool:
    """Whether strokes are a text of that height under some turn and shift, whichever way each stroke is travelled."""
    wanted = lettering(text, height)
    if len(strokes) != len(wanted):
        return False
    marks = shapely.union_all([line_of(chain) for chain in strokes])
    for turn in (0, 90, 180, 270):
        glyphs = shapely.union_all([line_of([line.moved(Motion.turn(turn)) for line in chain]) for chain in wanted])
        dx, dy = marks.bounds[0] - glyphs.bounds[0], marks.bounds[1] - glyphs.bounds[1]
        if shapely.transform(glyphs, lambda p, d=(dx, dy): p + d).hausdorff_distance(marks) < 1e-6:
            return True
    return False


@pytest.mark.parametrize(
    ("shape", "text", "height"),
    [
        (rectangle(100, 60), "A left wall", 6.0),
        (rectangle(20, 100), "A left wall", 6.0),  # on its side
        (rectangle(30, 8), "A left wall", 2.5),
        (rectangle(30, 5.4), "A left wall", 2.0),
        (rectangle(30, 5.0), "A", 2.0),  # a letter is narrower than high, so it lies on its side
        (rectangle(30, 4.2), None, None),
        (disc(14), "A", 6.0),
        (rectangle(100, 60).cut(row(hole(16), 5)), "A left wall", 6.0),
        (rectangle(60, 60).cut(rectangle(53, 53)), None, None),
    ],
)
def test_the_largest_lettering_that_fits(shape: Outline, text: str | None, height: float | None) -> None:
    """More words before larger ones; where nothing fits there is nothing."""
    found = label_of(["A left wall", "A wall", "A"], shape.loops)
    assert (text, height) == ((None, None) if found is None else (found.text, found.height))


def test_other_marks_are_kept_off() -> None:
    """A line across the middle moves the lettering to one side of it."""
    bar = [(Line((-40, 0), (40, 0)),)]
    found = label_of(["A"], rectangle(90, 30).loops, bar)
    assert found is not None
    assert shapely.union_all([line_of(chain) for chain in found.strokes]).distance(line_of(bar[0])) >= CLEAR


def test_mirrored_lettering_is_the_mirror_image_of_lettering() -> None:
    """On a shape that is its own mirror image both come out alike, one reflected in the middle."""
    plain, turned = (label_of(["R 2"], rectangle(60, 30).loops, is_mirrored=side) for side in (False, True))
    assert plain is not None
    assert turned is not None
    mirror = Motion.mirror_x()
    back = shapely.union_all([line_of([line.moved(mirror) for line in chain]) for chain in turned.strokes])
    assert back.hausdorff_distance(shapely.union_all([line_of(chain) for chain in plain.strokes])) < 1e-6


def test_letters_that_the_font_lacks() -> None:
    """Asked for plainly they are an error; on a sheet the part gets its letter alone, and a note says so."""
    with pytest.raises(SizeError, match="the lettering has no 'Ö'"):
        label_of(["Öse"], rectangle(60, 30).loops)
    mdf = Stock("MDF", 4, kerf=0.2, sheet=(300, 200))
    pot = Assembly("pot", stock=mdf)
    pot.add("Töpfe", rectangle(80, 60))
    plan = lay_sheets([Batch(pot.product())], None, SheetRules(effort=0))
    assert "the lettering lacks letters of 'Töpfe', so its parts are marked A only" in plan.notes
    strokes = [path.segments for path in plan.sheets[0].paths if path.kind == "mark"]
    assert any(is_lettering(strokes, "A", height) for height in HEIGHTS)


def test_a_part_without_room_is_told() -> None:
    """Never silently without a mark."""
    mdf = Stock("MDF", 4, kerf=0.2, sheet=(300, 200))
    rack = Assembly("rack", stock=mdf)
    rack.add("lath", rectangle(80, 4.2))
    plan = lay_sheets([Batch(rack.product())], None, SheetRules(effort=0))
    assert "lath has no room for its letter A, 2 mm high, off its cuts; tell it by its shape" in plan.notes
    assert all(path.kind != "mark" for path in plan.sheets[0].paths)


def test_several_products_have_letters_of_their_own() -> None:
    """Their number leads, so that 1A and 2A are two parts."""
    batches = [Batch(card_tray(), 1, "tray"), Batch(glaze_stand(), 1, "stand")]
    plan = lay_sheets(batches, studio_shop(), SheetRules(effort=0))
    texts = []
    for sheet in plan.sheets:
        for index, part in enumerate(sheet.parts):
            strokes = [p.segments for p in sheet.paths if p.kind == "mark" and p.piece == index]
            panel = part.source.panel
            letter = letters_of(part.source.batch.product.panels)[panel.name]
            name = panel.turned_over[0] if part.source.is_turned_over else panel.name
            number = 1 + batches.index(part.source.batch)
            texts.append(any(is_lettering(strokes, f"{number}{letter} {name}", height) for height in HEIGHTS))
    assert texts
    assert all(texts)


def ledge() -> Product:
    """A board with a ledge that only rests on it, to be glued on without tabs."""
    mdf = Stock("MDF", 5.0, sheet=(400, 300))
    stand = Assembly("ledge", stock=mdf)
    board = stand.add("board", rectangle(160, 100))
    stand.add("ledge", rectangle(80, 40), standing(on=board.face(">Z"), facing="-Y", inset=40), loose=True)
    return stand.product()


def test_ticks_mark_where_the_ledge_is_glued() -> None:
    """Four ticks, at the corners of its footprint as the kernel's own section shows it, along its long sides."""
    product = ledge()
    (ticks,) = alignment_ticks(product)
    assert (ticks.plate, ticks.face) == ("board", "show")
    footprint = section(product, "ledge", "board")
    border = footprint.boundary
    assert len(ticks.lines) == 4
    for line in ticks.lines:
        drawn = shapely.LineString([line.start, line.end])
        assert border.buffer(1e-6).covers(drawn)
        assert drawn.length == pytest.approx(5.0)
        assert min(shapely.Point(c).distance(drawn) for c in footprint.exterior.coords) < 1e-6


def section(product: Product, standing_plate: str, face_of: str) -> Any:
    """What a plate covers of another's show face, in that one's plane: the kernel's section right above the face."""
    from panelwright.plates._kernel.solids.booleans import placed_solid

    parts = {part.name: part for part in product.parts}
    host = parts[face_of]
    solid = cq.Shape.cast(placed_solid((parts[standing_plate].solid, parts[standing_plate].frame)))
    frame = host.frame
    plane = cq.Plane(frame.point((0, 0, host.stock.t + 0.1)), frame.direction((1, 0, 0)), frame.direction((0, 0, 1)))
    face = cq.Workplane(plane).rect(1e3, 1e3).extrude(1e-3).val()
    cut = face.intersect(solid)
    points = [host.frame.local(vertex.toTuple())[:2] for vertex in cut.Vertices()]
    return shapely.MultiPoint(points).convex_hull


def test_ticks_stay_off_tabs_and_borders() -> None:
    """On a real product: every tick lies in its plate's material, off all cuts, on the border of what stands there."""
    product = card_tray()
    found = alignment_ticks(product)
    assert found
    parts = {part.name: part for part in product.parts}
    for ticks in found:
        loops = parts[ticks.plate].loops
        material = shapely.Polygon(loops[0].points(0.01), [loop.points(0.01) for loop in loops[1:]])
        for line in ticks.lines:
            drawn = shapely.LineString([line.start, line.end])
            assert material.contains(drawn)
            assert drawn.distance(material.boundary) >= 0.6 - 1e-6


def test_ticks_are_cut_on_the_face_that_lies_up_only() -> None:
    """The ledge rests on the show face: face up it is marked, face down a note says what is left out."""
    rules = (SheetRules(effort=0, ticks=True, face_up="show"), SheetRules(effort=0, ticks=True, face_up="back"))
    shown, hidden = (lay_sheets([Batch(ledge())], None, rule) for rule in rules)

    def ticks_on(plan: Any) -> int:
        (sheet,) = plan.sheets
        index = next(k for k, part in enumerate(sheet.parts) if part.name == "board")
        return sum(p.piece == index and p.length_mm == pytest.approx(5.0) and len(p.segments) == 1 for p in sheet.paths)

    assert ticks_on(shown) == 4
    assert ticks_on(hidden) == 0
    assert "board: 4 ticks belong on its show face, which lies down, and are left out" in hidden.notes


def test_a_plate_that_lies_on_another_is_marked_at_its_corners() -> None:
    """Two ticks at each corner of the smaller one's outline, on the larger one only."""
    mdf = Stock("MDF", 5.0)
    pile = Assembly("pile", stock=mdf)
    pile.add("lower", rectangle(80, 60))
    pile.add("upper", rectangle(40, 30), Frame((5, -2, 5.0)), loose=True)
    (ticks,) = alignment_ticks(pile.product())
    assert (ticks.plate, ticks.face, len(ticks.lines)) == ("lower", "show", 8)
    assert sorted({line.start for line in ticks.lines}) == [(-15.0, -17.0), (-15.0, 13.0), (25.0, -17.0), (25.0, 13.0)]
    assert all(shapely.box(-15, -17, 25, 13).exterior.covers(shapely.LineString([t.start, t.end])) for t in ticks.lines)


def test_tabs_are_no_reason_for_ticks_on_what_they_pass_through() -> None:
    """The wall's two sides get a tick at each end, and none at its tabs."""
    shelf = Assembly("shelf", stock=Stock("MDF", 5.0, clearance=0.1))
    base = shelf.add("base", rectangle(120, 80))
    shelf.add("wall", rectangle(100, 40), standing(on=base.face(">Z"), facing="-Y", inset=20))
    join_touching(shelf, tabs(count=2, width=12))
    (ticks,) = alignment_ticks(shelf.product())
    assert ticks.plate == "base"
    assert len(ticks.lines) == 4
