"""Panels that go on a sheet or a bed only at an angle: found at all angles, by formulas, and really laid out there."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest
import shapely
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.nest.shapes.any_angle import best_turn, goes_turned, hull_of, turn_onto
from panelwright.assemblies.proof.room_on_sheets import with_room
from panelwright.assemblies.sheets.laying import lay_sheets
from panelwright.assemblies.sheets.pieces import stock_jobs
from panelwright.assemblies.sheets.plan import SheetPlan
from panelwright.assemblies.sheets.request import Batch, PieceRules, SheetRules
from panelwright.assemblies.sheets.sheet_files import sheet_files
from panelwright.assemblies.shop import Shop, using
from panelwright.plates import Frame, NestError, Stock, polygon, rectangle, rounded_rectangle
from panelwright.plates.outlines.outline import Outline
from shapely.affinity import rotate
from sheet_readers import dxf_by_ezdxf

PLY = Stock("birch plywood", 6, measured=5.9, kerf=0.22, clearance=0.1, sheet=(600, 400))
ROOM = (590.0, 390.0)
"""What 5 mm all round leave of a sheet of 600 × 400 mm."""


def ledge(shape: Outline, stock: Stock = PLY, number: int = 1) -> Product:
    """A ledge, so many times."""
    made = Assembly("jar shelf", stock=stock)
    for i in range(number):
        made.add(f"ledge {i}", shape, Frame((0, 1000.0 * i, 0)), loose=True)
    return made.product()


def told(product: Product) -> list[str]:
    """Codes of its errors."""
    return [finding.code for finding in product.errors]


def inside(plan: SheetPlan, margin: float, size: tuple[float, float] = (600, 400)) -> list[float]:
    """The least distance of finished parts from the border on each sheet, as ezdxf and shapely see its file."""
    found = []
    for sheet in plan.sheets:
        lines = dxf_by_ezdxf(sheet_files(sheet)["dxf"])["CUT-OUTSIDE"]
        border = shapely.box(0, 0, *size)
        assert all(border.covers(line) for line in lines)
        # the beam runs half a kerf outside the part, round sharp corners too
        assert len(lines) == len(sheet.parts)
        parts = [shapely.Polygon(line).buffer(-sheet.stock.kerf / 2, join_style="mitre") for line in lines]
        found.append(min(float(part.distance(border.boundary)) for part in parts))
        assert found[-1] >= margin - 0.003  # flattened curves lie 2 µm off
    return found


def room_by_sampling(hull: shapely.Polygon, size: tuple[float, float], turn_deg: float) -> float:
    """What shapely's own rotation leaves over."""
    x0, y0, x1, y1 = rotate(hull, turn_deg, origin=(0, 0)).bounds
    return min(size[0] - (x1 - x0), size[1] - (y1 - y0))


@pytest.mark.parametrize("seed", range(40))
def test_no_angle_of_many_leaves_more_room_than_the_one_that_is_found(seed: int) -> None:
    """3,600 angles by shapely: none beats it, and the best of them comes as near as its step lets it."""
    rng = random.Random(seed)
    high = rng.choice([0.5, 50, 200, 600])
    points = [(rng.uniform(0, 600), rng.uniform(0, high)) for _ in range(rng.randint(3, 14))]
    hull = shapely.MultiPoint(points).convex_hull
    size = (rng.uniform(100, 700), rng.uniform(100, 700))
    best = best_turn(list(hull.exterior.coords)[:-1], size)  # type: ignore[union-attr]  # three points at least
    assert room_by_sampling(hull, size, best.turn_deg) == pytest.approx(best.room, abs=1e-6)  # type: ignore[arg-type]  # as above
    most = max(room_by_sampling(hull, size, step / 20) for step in range(3600))  # type: ignore[arg-type]  # as above
    assert most <= best.room + 1e-6
    # no side of the box changes faster than the longest line in the hull turns
    longest = float(shapely.minimum_bounding_radius(hull)) * 2
    assert best.room - most <= longest * math.radians(0.025) + 1e-6


@pytest.mark.parametrize(("length", "width"), [(100, 10), (60, 20), (111, 1)])
def test_a_slat_lies_best_across_a_square(length: float, width: float) -> None:
    """At 45° its box is (length + width) / √2 either way: elementary."""
    best = best_turn(hull_of(rectangle(length, width).loops), (80, 80))
    assert best.turn_deg % 90 == pytest.approx(45)
    assert best.room == pytest.approx(80 - (length + width) / math.sqrt(2), abs=1e-9)


def test_the_bounds_of_what_goes() -> None:
    """A ledge goes up to the length at which its best angle leaves a hundredth of a mm, no further; not at all into nothing."""
    low, high = 640.0, 700.0
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if turn_onto(rectangle(middle, 50).loops, ROOM) is not None else (low, middle)
    shape = rectangle(low, 50).loops
    assert best_turn(hull_of(shape), ROOM).room == pytest.approx(0.01, abs=1e-4)
    turn = turn_onto(shape, ROOM)
    assert turn is not None
    assert goes_turned(hull_of(shape), turn, ROOM)
    assert turn_onto(rectangle(5, 5).loops, (-1, 3)) is None
    assert turn_onto(rectangle(640, 50).loops, ROOM) == 31.13


@pytest.mark.parametrize("face_up", ["back", "show"])
@pytest.mark.parametrize("size", [(600.0, 400.0), (400.0, 600.0)])
def test_a_ledge_longer_than_its_sheet_is_laid_across_it(face_up: str, size: tuple[float, float]) -> None:
    """640 × 50 on 600 × 400: the proof passes it, and the file of its one sheet keeps it inside the margins."""
    product = ledge(rectangle(640, 50), replace(PLY, sheet=size))
    assert told(product) == []
    rules = SheetRules(effort=2, face_up=face_up)  # type: ignore[arg-type]  # from a table
    plan = lay_sheets([Batch(product)], rules=rules)
    assert len(plan.sheets) == 1
    inside(plan, 5, size)
    (part,) = plan.sheets[0].parts
    assert math.degrees(math.atan2(part.motion.b, part.motion.a)) % 90 not in (0, 90)
    again = lay_sheets([Batch(product)], rules=rules)
    assert sheet_files(again.sheets[0]) == sheet_files(plan.sheets[0])


def test_what_fits_by_little_is_laid_out_too() -> None:
    """Room between parts does not stick out of their boxes: with a few hundredths left over, whatever the shape."""
    least = math.inf
    tapered = polygon([(0, 0), (648, 0), (648, 30), (0, 60)])
    for shape in (rectangle(657, 50), rounded_rectangle(662.5, 50, 12), tapered):
        for margin in (4.0, 5.0, 1.0):
            loops = shape.loops
            size = (600 - 2 * margin, 400 - 2 * margin)
            spare = best_turn(hull_of(loops), size).room
            # the sheet as narrow as it may be: as much room as is asked for, and a little
            stock = replace(PLY, sheet=(600 - spare + 0.03, 400 - spare + 0.03))
            product = with_room(ledge(shape, stock), None, margin=margin)
            plan = lay_sheets([Batch(product)], rules=SheetRules(effort=1, spacing=4, margin=margin))
            least = min(least, *(gap - margin for gap in inside(plan, margin, stock.sheet or (0, 0))))
    assert least < 0.03


def test_several_on_several_sheets() -> None:
    """Ledges that go at an angle only lie beside each other."""
    product = ledge(rectangle(605, 20), number=4)
    plan = lay_sheets([Batch(product)], rules=SheetRules(effort=5))
    assert sum(len(sheet.parts) for sheet in plan.sheets) == 4
    assert len(plan.sheets) < 4
    inside(plan, 5)
    (job,), _ = stock_jobs([Batch(product)], None, SheetRules())
    assert {source.turn_deg for source in job.sources.values()} == {turn_onto(rectangle(605, 20).loops, ROOM)}


def test_the_angle_at_which_most_sheets_take_it_is_chosen() -> None:
    """Of one large sheet and five smaller ones, which both take a ledge at an angle only, the five count."""
    shop = Shop.from_text("""
[stocks.board]
material = "MDF"
thickness_mm = 4
measured_mm = 4
kerf_mm = 0.2
[[stocks.board.sheets]]
width_mm = 600
height_mm = 400
count = 1
[[stocks.board.sheets]]
width_mm = 500
height_mm = 500
count = 5
""")
    with using(shop):
        product = ledge(rectangle(630, 40), shop["board"], 3)
    assert told(product) == []
    (job,), _ = stock_jobs([Batch(product)], shop, SheetRules())
    assert {source.turn_deg for source in job.sources.values()} == {45.0}


def test_no_turn_where_none_is_wanted_or_allowed() -> None:
    """What goes by quarter turns stays as it is, and so does what may be turned by half turns only."""
    (job,), _ = stock_jobs([Batch(ledge(rectangle(590, 50)))], None, SheetRules())
    assert [source.turn_deg for source in job.sources.values()] == [0.0]
    long = Batch(ledge(rectangle(640, 50)))
    with pytest.raises(NestError, match="turned in steps of 180°"):
        lay_sheets([long], rules=SheetRules(turn_step_deg=180))
    with pytest.raises(NestError, match="not turned"):
        lay_sheets([long], rules=SheetRules(pieces={"ledge 0": PieceRules(turn_step_deg=360)}))


def test_what_goes_at_no_angle_is_refused_and_says_so() -> None:
    """By how much as drawn, and how much at the best angle, where that is better."""
    (found,) = ledge(rectangle(700, 50)).errors
    assert found.code == "SHEET"
    assert "and does not go, at any angle, on a sheet of birch plywood of 600 × 400 mm, by 100.0 mm" in found.message
    best = best_turn(hull_of(rectangle(700, 50).loops), (600, 400))
    assert f"along the first, and turned by {best.turn_deg:.2f}° still by {-best.room:.1f} mm; make it" in found.message
    (found,) = ledge(rectangle(640, 300)).errors
    assert "still by" not in found.message


def test_a_margin_alone_may_keep_it_off_at_every_angle() -> None:
    """670 × 50 goes on 600 × 400 across, but not with 5 mm all round."""
    (found,) = ledge(rectangle(670, 50)).errors
    assert "with a margin of 5 mm all round, which leaves 590 × 390 mm; lower the margin" in found.message
    assert found.numbers["margin_mm"] == 5


def test_grain_forbids_angles() -> None:
    """Along the grain the ledge is 40 mm too long, and nothing is said of angles."""
    (found,) = ledge(rectangle(640, 50), replace(PLY, grain="x")).errors
    assert found.code == "SHEET"
    assert "and does not go on a sheet of birch plywood of 600 × 400 mm, by 40.0 mm along the first; make it" in found.message


@pytest.mark.parametrize(("length", "grain", "found"), [(640, None, []), (740, None, ["BED"]), (640, "x", ["BED"])])
def test_the_bed_takes_a_panel_at_an_angle(length: float, grain: str | None, found: list[str]) -> None:
    """Unless it has grain: its sheet lies square on the bed, and it on the sheet."""
    shop = Shop.from_text("[machine]\nbed_mm = [400, 600]")
    stock = replace(PLY, sheet=None, grain=grain)  # type: ignore[arg-type]  # from a table
    with using(shop):
        assert told(ledge(rectangle(length, 50), stock)) == found
