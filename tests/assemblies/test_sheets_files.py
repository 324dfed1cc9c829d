"""Sheets measured on their files by readers that are not ours: distances, areas, layers, sizes, and what comes first."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
import shapely
import shapely.affinity
from panelwright.assemblies import Batch, SheetRules, lay_sheets
from panelwright.assemblies.cutting import by_layer
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.output.bom import bom_csv
from panelwright.assemblies.paper.press import paper_of
from panelwright.assemblies.paper.templates import tiled_within
from panelwright.assemblies.sheets.plan import CutSheet, SheetPlan
from panelwright.assemblies.sheets.sheet_files import paper_pdf, sheet_files
from panelwright.plates import rectangle
from sheet_readers import (
    dxf_by_ezdxf,
    dxf_by_gdal,
    pdf_by_pdfium,
    pdf_by_pypdf,
    svg_by_svgelements,
    svg_by_svgpathtools,
)
from studio import card_tray, glaze_stand, jar_frame, studio_shop

LAYERS = ["MARK", "CUT-INSIDE", "CUT-OUTSIDE"]
PLAIN = SheetRules(is_marked=False, effort=20)

PRODUCTS: dict[str, Callable[[], Product]] = {"tray": card_tray, "stand": glaze_stand, "frame": jar_frame}


@cache
def plan_of(name: str, face_up: str = "show", copies: int = 1) -> SheetPlan:
    rules = SheetRules(is_marked=False, effort=20, face_up=face_up)  # type: ignore[arg-type]  # text of a case
    return lay_sheets([Batch(PRODUCTS[name](), copies)], studio_shop(), rules)


def rings(lines: list[Any]) -> list[Any]:
    return [shapely.Polygon(line.coords) for line in lines if line.is_closed]


def finished(sheet: CutSheet, read: Callable[[bytes], dict[str, list[Any]]]) -> list[Any]:
    """Finished parts, drawn from the cut paths in the DXF alone: outlines drawn in by half a kerf, holes let out by as much."""
    layers = read(sheet_files(sheet)["dxf"])
    half = sheet.stock.kerf / 2
    loops = [ring for layer in LAYERS[1:] for ring in rings(layers.get(layer, []))]
    loops.sort(key=lambda ring: -ring.area)
    depth = [sum(other.contains(ring) for other in loops if other is not ring) for ring in loops]
    parts = []
    for ring, deep in zip(loops, depth, strict=True):
        if deep % 2 == 0:
            holes = [o for o, d in zip(loops, depth, strict=True) if d == deep + 1 and ring.contains(o)]
            outline = ring.buffer(-half, join_style="mitre", quad_segs=64)
            grown = [hole.buffer(half, join_style="mitre", quad_segs=64) for hole in holes]
            parts.append(outline.difference(shapely.union_all(grown)))
    return parts


@pytest.mark.parametrize("face_up", ["show", "back"])
@pytest.mark.parametrize("name", PRODUCTS)
def test_parts_keep_their_distances_on_the_dxf(name: str, face_up: str) -> None:
    """No two parts nearer than the spacing, none nearer to the border than the margin, and their areas are the panels'."""
    plan = plan_of(name, face_up, copies=2)
    machine = studio_shop().machine
    areas = []
    for sheet in plan.sheets:
        parts = finished(sheet, dxf_by_ezdxf)
        assert len(parts) == len(sheet.parts) > 0
        room = shapely.Polygon(sheet.outline[0].points(0.01)).buffer(-machine.edge_margin_mm, join_style="mitre")
        for i, part in enumerate(parts):
            assert room.buffer(0.01).covers(part)
            for other in parts[:i]:
                assert part.distance(other) >= machine.part_spacing_mm - 0.01
                assert part.intersection(other).area == 0
        areas += [part.area for part in parts]
    product = PRODUCTS[name]()
    wanted = sorted(panel.area_mm2 for panel in product.panels for _ in range(2 * panel.quantity))
    assert sorted(areas) == pytest.approx(wanted, rel=3e-4)  # this reader draws a circle as four cubics, up to 2.7e-4 too wide


@pytest.mark.parametrize("name", PRODUCTS)
def test_two_readers_each_see_the_same_paths(name: str) -> None:
    """DXF by ezdxf and GDAL, SVG by svgelements and svgpathtools, PDF by PDFium and pypdf: same places within 0.01 mm."""
    for sheet in plan_of(name, "back").sheets:
        files = sheet_files(sheet)
        lines = [[*(p for s in path.segments for p in s.chords(1e-4)), path.end] for path in sheet.paths]
        lines += [loop.points(1e-4) for loop in sheet.outline]
        lines[-len(sheet.outline) :] = [[*line, line[0]] for line in lines[-len(sheet.outline) :]]
        whole = shapely.union_all([shapely.LineString(line) for line in lines])
        count = {layer: len(paths) for layer, paths in by_layer(sheet.paths).items() if paths}
        count["SHEET"] = len(sheet.outline)
        for read, data, tolerance in (
            (dxf_by_ezdxf, files["dxf"], 0.03),  # four cubics to a circle
            (dxf_by_gdal, files["dxf"], 0.07),  # GDAL's own chords, 4° each
            (svg_by_svgelements, files["svg"], 0.01),
            (svg_by_svgpathtools, files["svg"], 0.01),
        ):
            seen = read(data)
            assert {layer: len(lines) for layer, lines in seen.items()} == count
            every = shapely.union_all([line for some in seen.values() for line in some])
            assert every.hausdorff_distance(whole) < tolerance
        size, drawn = pdf_by_pypdf(files["pdf"])
        assert size == pytest.approx(sheet.size, abs=1e-3)
        assert len(drawn) == len(sheet.paths) + len(sheet.outline)
        assert shapely.union_all(drawn).hausdorff_distance(whole) < 0.01
        size, drawn = pdf_by_pdfium(files["pdf"])
        assert size == pytest.approx(sheet.size, abs=0.01)
        box = shapely.union_all(drawn).bounds
        assert box == pytest.approx(whole.bounds, abs=0.01)


def test_svg_and_pdf_are_as_large_as_the_sheet() -> None:
    """The page is the sheet, in millimetres, its lower left corner the origin."""
    sheet = plan_of("stand").sheets[0]
    files = sheet_files(sheet)
    assert b'width="400mm" height="300mm" viewBox="0 0 400 300"' in files["svg"]
    (width, height), _ = pdf_by_pypdf(files["pdf"])
    assert (width, height) == pytest.approx((400, 300), abs=1e-3)


def test_layers_come_in_cutting_order() -> None:
    """Groups of the SVG and entities of the DXF: marks, inside cuts, outside cuts, and last what is not cut."""
    sheet = plan_of("tray").sheets[0]
    files = sheet_files(sheet)
    places = [files["svg"].index(f'id="{layer}"'.encode()) for layer in (*LAYERS, "SHEET")]
    assert places == sorted(places)
    assert list(svg_by_svgelements(files["svg"])) == [*LAYERS[1:], "SHEET"]
    assert list(dxf_by_gdal(files["dxf"])) == [*LAYERS[1:], "SHEET"]


@pytest.mark.parametrize("face_up", ["show", "back"])
def test_every_file_shows_the_sheets_own_outline(face_up: str) -> None:
    """The L of the shop's offcut as it lies on the machine, on a layer that is not printed and in a colour that no cut has."""
    sheet = next(sheet for sheet in plan_of("tray", face_up).sheets if sheet.kind.sheet.is_offcut)
    files = sheet_files(sheet)
    corners = [(0, 0), (300, 0), (300, 120), (140, 120), (140, 260), (0, 260)]
    wanted = shapely.Polygon([(x if face_up == "show" else 300 - x, y) for x, y in corners])
    for seen in (dxf_by_ezdxf(files["dxf"]), dxf_by_gdal(files["dxf"]), svg_by_svgelements(files["svg"])):
        (line,) = seen["SHEET"]
        assert shapely.Polygon(line.coords).symmetric_difference(wanted).area < 0.5  # 0.0005 mm all round
    for _, drawn in (pdf_by_pypdf(files["pdf"]), pdf_by_pdfium(files["pdf"])):
        assert shapely.Polygon(drawn[-1].coords).symmetric_difference(wanted).area < 1.0
    import io

    import ezdxf

    layers = ezdxf.read(io.StringIO(files["dxf"].decode("ascii"))).layers
    assert layers.get("SHEET").dxf.plot == 0
    assert layers.get("SHEET").dxf.color not in {layers.get(layer).dxf.color for layer in LAYERS}
    turn = b"turn this offcut over" in files["svg"]
    assert turn == (face_up == "back")


def test_a_part_in_a_window_is_cut_before_the_window() -> None:
    """The disc lies in the frame's window, so all of it is on the inside layer, and before the window."""
    (sheet,) = plan_of("frame").sheets
    layers = dxf_by_ezdxf(sheet_files(sheet)["dxf"])
    inside, outside = rings(layers["CUT-INSIDE"]), rings(layers["CUT-OUTSIDE"])
    assert len(inside) == 3  # the disc's hole, the disc, the window
    assert len(outside) == 1
    hole, disc, window = inside
    assert hole.area < disc.area < window.area < outside[0].area
    assert window.contains(disc)
    assert disc.contains(hole)


def test_drawn_from_the_back_all_is_mirrored() -> None:
    """Each part on the sheet that lies show face down is the mirror image of its panel; on the other it is not."""
    product = glaze_stand()
    cheek = next(panel for panel in product.panels if panel.quantity == 2)
    assert len(cheek.turned_over) == 1
    shape = shapely.Polygon(cheek.loops[0].points(0.01))
    for face_up in ("show", "back"):
        rules = SheetRules(face_up=face_up, effort=20)  # type: ignore[arg-type]  # text of a case
        plan = lay_sheets([Batch(product)], None, rules)
        flips = [part.motion.flips for sheet in plan.sheets for part in sheet.parts if part.source.panel is cheek]
        # one of the two is the mirror image of the other, and marks have to be on the same face of both
        assert sorted(flips) == [False, True]
        board = [part.motion.flips for sheet in plan.sheets for part in sheet.parts if part.source.panel.name == "board"]
        assert board == [face_up == "back"]
    assert shape.area > 0


def test_paper_pages_show_every_path_at_its_size() -> None:
    """Tiled on A4, the check bars measure 100 mm and the whole sheet is there: page by page, paths only move."""
    sheet = plan_of("stand").sheets[0]
    data = paper_pdf(sheet, paper_of("A4"))
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    assert len(document) >= 2
    assert document[0].get_size() == pytest.approx((210 / 25.4 * 72, 297 / 25.4 * 72), abs=0.01)
    words = [document[page].get_textpage().get_text_range() for page in range(len(document))]
    assert all("100 mm" in page for page in words)
    assert f"page 1 of {len(document)}" in words[0]
    _, lines = pdf_by_pypdf(data)
    bars = [line for line in lines if math.isclose(line.length, 100.0, abs_tol=0.01)]
    assert len(bars) >= 2
    longest = max(panel.bbox_mm[0] for panel in glaze_stand().panels)
    assert any(math.isclose(line.bounds[2] - line.bounds[0], longest + 0.18, abs_tol=0.01) for line in lines) or any(
        math.isclose(line.bounds[3] - line.bounds[1], longest + 0.18, abs_tol=0.01) for line in lines
    )


@pytest.mark.parametrize("face_up", ["show", "back"])
def test_paper_pages_show_the_outline_of_the_sheet(face_up: str) -> None:
    """The L of an offcut as it lies on the machine, round the parts on it, and what to do with it in the heading."""
    import pypdfium2

    sheet = next(sheet for sheet in plan_of("tray", face_up).sheets if sheet.kind.sheet.is_offcut)
    data = paper_pdf(sheet, paper_of("A4"))
    corners = [(0, 0), (300, 0), (300, 120), (140, 120), (140, 260), (0, 260)]
    wanted = shapely.Polygon([(x if face_up == "show" else 300 - x, y) for x, y in corners])
    _, lines = pdf_by_pypdf(data)  # of the first page
    drawn = [shapely.Polygon(line.coords) for line in lines if line.is_closed]
    (ell,) = (ring for ring in drawn if math.isclose(ring.area, wanted.area, abs_tol=1.0))
    x, y = ell.bounds[:2]
    placed = shapely.affinity.translate(wanted, x, y)
    assert ell.symmetric_difference(placed).area < 1.0
    parts = [ring for ring in drawn if ring.area < wanted.area / 2 and placed.contains(ring)]
    assert len(parts) >= len(sheet.parts)
    heading = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_range()
    assert ("turn this offcut over" in heading) == (face_up == "back")


def test_the_outline_of_a_sheet_costs_paper_only_where_it_is_cut() -> None:
    """A large sheet with one small part on it is one page, from its lower left corner; one that a page holds is shown whole."""
    part = glaze_stand().panels[0]
    chip = replace(part, loops=(), cuts=rectangle(40, 30).at(30, 25).loops, strokes=(), marks=())
    for width, high in ((1200.0, 800.0), (180.0, 240.0), (180.0, 800.0)):
        border = rectangle(width, high).at(width / 2, high / 2).loops
        (page,) = tiled_within(chip, border, paper_of("A4"))
        (laid,) = page.laid
        assert laid.border == border
        assert laid.box[2] - laid.box[0] == pytest.approx(width if width < 200 else 50)
        assert laid.box[3] - laid.box[1] == pytest.approx(high if high < 250 else 40)


def test_the_bill_of_materials_says_which_offcuts_to_turn_over() -> None:
    """In the row of that offcut, and in no other; never where sheets lie show face up."""
    for face_up in ("show", "back"):
        sheets = plan_of("tray", face_up).sheets
        rows = [row for row in csv.DictReader(io.StringIO(bom_csv(card_tray(), sheets))) if row["kind"] == "sheet"]
        told = [row["name"] for row in rows if "turn this offcut over" in row["notes"]]
        assert told == [sheet.kind.sheet.id for sheet in sheets if sheet.kind.is_turned_over]
        assert len(told) == (face_up == "back")
        assert all(row["notes"].startswith("as sheet-") for row in rows)


def test_the_same_plan_gives_the_same_bytes() -> None:
    """Twice laid out, twice written."""
    first, second = (
        [sheet_files(sheet) for sheet in lay_sheets([Batch(card_tray(), 2)], studio_shop(), PLAIN).sheets] for _ in range(2)
    )
    assert first == second
    other = lay_sheets([Batch(card_tray(), 2)], studio_shop(), SheetRules(is_marked=False, effort=20, seed=9))
    assert [len(sheet.parts) for sheet in other.sheets]
