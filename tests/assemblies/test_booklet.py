"""The booklet as another reader sees it: pages, words, pictures, and templates at true size."""

from __future__ import annotations

import ctypes
import math
import os
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.booklet import booklet
from panelwright.assemblies.booklet.booklet import booklet_pdf
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.data.product import Hardware, Product
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.marks import letters_of
from panelwright.assemblies.paper.press import Press, paper_of
from panelwright.assemblies.paper.templates import BOTTOM, LEFT, RIGHT, TOP, sheets_of
from panelwright.plates import Frame, Stock, rectangle
from panelwright.plates.geometry.curves import Line, loop_through

ROOT = Path(__file__).parents[2]
BIRCH = Stock("birch plywood", 4.0, kerf=0.2, clearance=0.1)
Points = list[tuple[float, float]]


@cache
def product_of(name: str) -> Product:
    design = load_design(ROOT / "examples" / f"{name}.py")
    with design.surroundings():
        return run(design).product()


@cache
def booklet_of(name: str, paper: str = "A4") -> bytes:
    return booklet_pdf(product_of(name), paper_of(paper), summary="Holds what it should.")


def without_pictures(product: Product, paper: str = "A4", **options: Any) -> bytes:
    """The booklet with the cover's and the steps' pictures left out: most of its time, nothing of words and templates."""
    with pytest.MonkeyPatch.context() as patch:
        for figure in ("cover_figure", "step_figure"):
            patch.setattr(booklet, figure, lambda *_: None)
        return booklet_pdf(product, paper_of(paper), summary="Holds what it should.", **options)


@cache
def words_of(name: str, paper: str = "A4") -> bytes:
    """The words and templates of an example's booklet."""
    return without_pictures(product_of(name), paper)


def texts(data: bytes) -> list[str]:
    """The text of each page, in one line."""
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pdfium.PdfDocument(data)]


def paths(page: Any) -> Iterator[tuple[Points, tuple[int, int, int]]]:
    """Stroked paths of a page as PDFium reads them: points in mm and colour; only those drawn without a transformation."""
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        if item.get_matrix().get() != pytest.approx((1, 0, 0, 1, 0, 0)):
            continue
        points = []
        for index in range(raw.FPDFPath_CountSegments(item)):
            x, y = ctypes.c_float(), ctypes.c_float()
            assert raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(item, index), x, y)
            points.append((x.value * 25.4 / 72, y.value * 25.4 / 72))
        red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
        assert raw.FPDFPageObj_GetStrokeColor(item, red, green, blue, alpha)
        yield points, (red.value, green.value, blue.value)


def box_of(points: Points) -> tuple[float, float, float, float]:
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def template_pages(data: bytes) -> list[Any]:
    document = pdfium.PdfDocument(data)
    return [document[i] for i, words in enumerate(texts(data)) if "Templates at true size" in words]


# ---- pages and words ----


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("name", ["tile_tray", "kiln_timer", "display_stand"])
def test_pages_are_counted_named_and_of_the_paper_asked_for(name: str, paper: str) -> None:
    data = words_of(name, paper)
    pages = texts(data)
    for number, words in enumerate(pages[1:], 2):
        assert f"{number} / {len(pages)}" in words
    sheets = sheets_of(product_of(name).panels, paper_of(paper))
    assert sum("Templates at true size" in words for words in pages) == len(sheets)
    size = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}[paper]
    for page in pdfium.PdfDocument(data):
        assert [side * 25.4 / 72 for side in page.get_size()] == pytest.approx(size, abs=0.01)
    assert sum("Cautions" in words and "never leave a running" in words for words in pages) == 1
    assert "never leave a running laser alone" in " ".join(pages)
    assert "Holds what it should." in pages[0]


@pytest.mark.parametrize(("name", "paper"), [("tile_tray", "A4"), ("display_stand", "letter")])
def test_pictures_take_nothing_from_words_and_templates(name: str, paper: str) -> None:
    """With its pictures a booklet has the same pages, words and templates as without, which many tests here read."""
    whole, bare = booklet_of(name, paper), words_of(name, paper)
    assert len(whole) > 2 * len(bare)
    assert texts(whole) == texts(bare)
    for drawn, alone in zip(template_pages(whole), template_pages(bare), strict=True):
        assert list(paths(drawn)) == list(paths(alone))


def test_the_cover_says_what_its_mass_leaves_out() -> None:
    """Bought parts that nobody weighed are counted; with all weighed the mass stands alone; without plates there is none."""
    product = product_of("kiln_timer")
    known = replace(product, hardware=(Hardware("ISO 4762 M3 × 16", 40, 0.05),))
    some = replace(product, hardware=(*known.hardware, Hardware("hook", 3), Hardware("cord", 1)))
    mass = sum(part.mass_kg or 0.0 for part in product.parts) + 2.0
    covers = [texts(without_pictures(made, templates=False))[0] for made in (known, some)]
    assert all(f"{mass:.2f} kg" in cover for cover in covers)
    assert "unknown" not in covers[0]
    assert "without 4 bought parts of unknown mass" in covers[1]
    first, *others = product.parts
    light = replace(some, parts=(replace(first, stock=replace(first.stock, density=None)), *others))
    assert "kg" not in texts(without_pictures(light, templates=False))[0]


@pytest.mark.parametrize("name", ["tile_tray", "kiln_timer", "display_stand", "brush_rack", "recipe_stand"])
def test_every_part_is_put_in_by_one_sentence(name: str) -> None:
    """Between "Push", "Begin with" or "Put" and what follows, each part's name stands exactly once in the whole booklet."""
    words = " ".join(texts(words_of(name)))
    subjects = re.findall(r"(?:Push|Begin with|Put) (.+?)(?: into |\.(?= )| where )", words)
    told = Counter(part for subject in subjects for part in re.split(r", | and ", subject))
    assert told == Counter(part.name for part in product_of(name).parts)


def test_the_parts_page_tells_each_panel_with_its_number_and_size() -> None:
    words = texts(words_of("tile_tray"))[1]
    assert "228.0 × 183.0 mm, birch plywood 3 mm" in words
    counts = Counter(int(count) for count in re.findall(r"(\d+) ×(?! \d)", words))
    assert counts == Counter(panel.quantity for panel in product_of("tile_tray").panels)
    assert "cells.across 1, cells.across 2, cells.across 3 and cells.across 4" in words


def test_the_cover_weighs_every_screw() -> None:
    """Forty screws of 50 g add two kilograms to a board of 100 × 100 × 4 mm, which has none of its own."""
    made = Assembly("note board", stock=Stock("birch plywood", 4.0, density=680))
    made.add("board", rectangle(100, 100))
    product = replace(made.product(), hardware=(Hardware("ISO 4762 M3 × 16", 40, 0.05),))
    assert "2.03 kg" in texts(booklet_pdf(product, paper_of("A4")))[0]
    assert "0.03 kg" in texts(booklet_pdf(replace(product, hardware=()), paper_of("A4")))[0]


def test_hardware_is_listed_with_its_key_and_at_the_step_that_needs_it() -> None:
    pages = texts(words_of("kiln_timer"))
    assert "8 × ISO 7380-1 M3 × 12 screw, hex key 2 mm" in pages[1]
    (step,) = [words for words in pages if "You need" in words]
    assert "Push lid into front, rear, left and right." in step
    assert "You need 8 × ISO 4032 M3 and 8 × ISO 7380-1 M3 × 12." in step


def test_warnings_of_the_proof_are_among_the_cautions() -> None:
    """A press fit beyond the usual is warned of in the manifest and in the booklet alike."""
    loose = Assembly("tile board", stock=Stock("birch plywood", 4.0, kerf=0.2))
    loose.add("board", rectangle(100, 60).cut(rectangle(95, 20)))
    product = loose.product()
    warnings = [finding.message for finding in product.findings if finding.level == "warning"]
    assert warnings
    words = " ".join(texts(booklet_pdf(product, paper_of("A4"))))
    for warning in warnings:
        assert " ".join(warning.split())[1:] in words


def test_many_parts_and_long_names_break_to_further_pages_and_stay_between_the_margins() -> None:
    shelf = Assembly("jar shelf", stock=BIRCH)
    for number in range(30):
        name = f"a very long name for a plain board number {number} Я"
        shelf.add(name, rectangle(60 + number, 40), Frame((0, 0, 10.0 * number)), loose=True)
    for number in range(15):
        name = f"jar label {number} {'of many words, ' * 2}too"
        shelf.add(name, rectangle(30, 20), Frame((0, 100, 10.0 * number)), loose=True)
    product = shelf.product()
    data = without_pictures(product, "letter", templates=False)
    pages = texts(data)
    cards = [words for words in pages if "birch plywood 4 mm" in words]
    assert len(cards) == 3
    assert sum(words.count("birch plywood 4 mm") for words in cards) == 31
    told = [len(re.findall(r"jar label \d+ of", words.partition("Step by step")[2])) for words in pages]
    assert sum(told) == 15
    assert list(letters_of(product.panels).values())[25:28] == ["Z", "AA", "AB"]
    assert "\\u042f" in " ".join(pages)
    for page in pdfium.PdfDocument(data):
        for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            left, bottom, right, _ = (side * 25.4 / 72 for side in item.get_bounds())
            assert left >= 14.5
            assert right <= 215.9 - 14.5
            assert bottom > 5


# ---- pictures ----


def test_new_parts_are_in_colour_and_arrows_lead_in() -> None:
    """Of the tray's steps all that begin nothing have arrows, one for each part or group; what is new is vermillion."""
    data = booklet_of("tile_tray")
    document = pdfium.PdfDocument(data)
    arrows, steps = 0, 0
    for page, words in zip(document, texts(data), strict=True):
        steps += len(re.findall(r"\d × [A-Z] (?:Push|Begin|What|Turn)", words))
        for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
            width = ctypes.c_float()
            raw.FPDFPageObj_GetStrokeWidth(item, width)
            is_blue = [channel.value for channel in _stroke(item)] == [0, 114, 178]
            arrows += is_blue and width.value * 25.4 / 72 == pytest.approx(1.1, abs=0.01)
        if "Push" in words or "Begin" in words:
            picture = page.render(scale=1).to_numpy().astype(int)[..., ::-1]
            vermillion = (picture[..., 0] - picture[..., 2] > 60) & (picture[..., 1] * 2 < picture[..., 0] + picture[..., 2])
            assert vermillion.sum() > 3000
    assert (steps, arrows) == (8, 1 + 2 + 3 + 1 + 2 + 2)


def _stroke(item: Any) -> list[ctypes.c_uint]:
    channels = [ctypes.c_uint() for _ in range(4)]
    assert raw.FPDFPageObj_GetStrokeColor(item, *channels)
    return channels[:3]


def test_the_cover_shows_the_product_in_the_middle() -> None:
    page = pdfium.PdfDocument(booklet_of("tile_tray"))[0]
    picture = page.render(scale=1).to_numpy().astype(int)[..., ::-1]
    orange = np.argwhere((picture[..., 0] - picture[..., 2] > 80) & (picture[..., 1] * 2 > picture[..., 0] + picture[..., 2]))
    assert len(orange) > 20_000
    rows, columns = orange.mean(axis=0) / picture.shape[:2]
    assert 0.4 < rows < 0.7
    assert columns == pytest.approx(0.5, abs=0.05)


# ---- templates ----


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("name", ["tile_tray", "kiln_timer", "display_stand", "card_drawer"])
def test_templates_are_true_to_size(name: str, paper: str) -> None:
    """PDFium reads every straight cut path of every page to 0.01 mm, corner by corner; round ones by their boxes."""
    product, checked = product_of(name), 0
    sheets = sheets_of(product.panels, paper_of(paper))
    pages = template_pages(words_of(name, paper))
    assert Counter(laid.panel.name for sheet in sheets if sheet.tile == (0, 0) for laid in sheet.laid) == Counter(
        panel.name for panel in product.panels
    )
    for sheet, page in zip(sheets, pages, strict=True):
        read = [points for points, _ in paths(page)]
        for laid in sheet.laid:
            for chain in (*(loop.segments for loop in laid.panel.cuts), *laid.panel.strokes):
                corners = [laid.motion.apply(segment.start) for segment in chain]
                if all(isinstance(segment, Line) for segment in chain):
                    near = [points for points in read if math.dist(points[0], corners[0]) < 0.01]
                    fits = [points for points in near if len(points) >= len(corners)]
                    assert any(max(math.dist(a, b) for a, b in zip(points, corners, strict=False)) < 0.01 for points in fits)
                    checked += 1
    assert checked >= len(product.panels)


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_every_template_page_has_a_bar_of_100_mm_each_way(paper: str) -> None:
    for page in template_pages(words_of("display_stand", paper)):
        boxes = [box_of(points) for points, color in paths(page) if color == (0, 0, 0) and len(points) == 2]
        sizes = [(right - left, top - bottom) for left, bottom, right, top in boxes]
        assert sum(w == pytest.approx(100, abs=0.01) and h == pytest.approx(0, abs=0.01) for w, h in sizes) == 1
        assert sum(h == pytest.approx(100, abs=0.01) and w == pytest.approx(0, abs=0.01) for w, h in sizes) == 1
        words = " ".join(page.get_textpage().get_text_range().split())
        assert "100 mm Measure both bars" in words
        assert "Print at 100 %" in words


def large(width: float, height: float) -> Panel:
    edge = loop_through([(0, 0), (width, 0), (width, height), (0, height)])
    return Panel("back", BIRCH, ("back",), (edge,), (edge,), (), width * height, None)


@pytest.mark.parametrize("size", [(500.0, 400.0), (186.0, 900.0), (900.0, 100.0), (1200.0, 600.0)])
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_tiles_cover_a_large_panel_and_their_crosses_meet(size: tuple[float, float], paper: str) -> None:
    """In the panel's own coordinates windows leave no gap, and each seam's crosses lie in the same places on both pages."""
    page_size, panel = paper_of(paper), large(*size)
    sheets = sheets_of([panel], page_size)
    assert len(sheets) == math.prod(sheets[0].tiles) > 1
    press = Press(page_size, "templates")
    from panelwright.assemblies.paper.templates import draw_sheet

    for number, sheet in enumerate(sheets, 1):
        draw_sheet(press, sheet, {"back": "A"}, number)
        press.canvas.showPage()
    document = pdfium.PdfDocument(press.finished())
    assert len(document) == len(sheets)
    import shapely

    windows, crosses = [], Counter[tuple[float, float]]()
    seams = 0
    for sheet, page in zip(sheets, document, strict=True):
        back = sheet.laid[0].motion.inverse
        corners = [(LEFT, BOTTOM), (page_size.width - RIGHT, page_size.height - TOP)]
        windows.append(shapely.box(*(value for corner in corners for value in back.apply(corner))))
        windows[-1] = shapely.box(*shapely.MultiPoint([back.apply(corner) for corner in corners]).bounds)
        marks = [box_of(points) for points, color in paths(page) if color == (204, 121, 167)]
        level = [mark for mark in marks if mark[2] - mark[0] == pytest.approx(8, abs=0.01)]
        seams += len(level)
        for left, bottom, right, top in level:
            x, y = back.apply(((left + right) / 2, (bottom + top) / 2))
            crosses[(round(x, 1) + 0.0, round(y, 1) + 0.0)] += 1
        assert f"page {2 if sheet.tile == (0, 0) and sheet.tiles[0] > 1 else ''}" in page.get_textpage().get_text_range()
    assert shapely.union_all(windows).buffer(1e-6).covers(shapely.box(0, 0, *size))
    assert seams > 0
    assert set(crosses.values()) == {2}


def test_a_panel_that_fits_only_when_turned_is_turned_and_not_tiled() -> None:
    (sheet,) = sheets_of([large(240, 120)], paper_of("A4"))
    assert sheet.tiles == (1, 1)
    left, bottom, right, top = sheet.laid[0].box
    assert (right - left, top - bottom) == (120, 240)


def test_small_panels_share_a_page_without_touching() -> None:
    panels = [large(70 + step, 50 + 3 * step) for step in range(12)]
    sheets = sheets_of(panels, paper_of("A4"))
    assert sum(len(sheet.laid) for sheet in sheets) == 12
    assert len(sheets) == 2
    for sheet in sheets:
        boxes = [laid.box for laid in sheet.laid]
        for index, (l0, b0, r0, t0) in enumerate(boxes):
            assert l0 >= LEFT
            assert r0 <= 210 - RIGHT
            assert b0 >= BOTTOM + 6
            assert t0 <= 297 - TOP + 1e-9
            for l1, b1, r1, t1 in boxes[:index]:
                assert r0 < l1 or r1 < l0 or t0 < b1 or t1 < b0


# ---- bytes, and the command ----


def test_two_runs_give_the_same_bytes_and_source_date_epoch_sets_the_date(monkeypatch: pytest.MonkeyPatch) -> None:
    code = (
        "import sys; from test_booklet import booklet_of; import hashlib; "
        "sys.stdout.write(hashlib.sha256(booklet_of('kiln_timer')).hexdigest())"
    )
    folders = [str(Path(__file__).parent), *sys.path]
    env = {**os.environ, "PYTHONHASHSEED": "7", "PYTHONPATH": os.pathsep.join(folder for folder in folders if folder)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=env)
    import hashlib

    data = booklet_of("kiln_timer")
    assert done.stdout == hashlib.sha256(data).hexdigest()
    assert pdfium.PdfDocument(data).get_metadata_dict()["CreationDate"].startswith("D:20000101")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    dated = without_pictures(product_of("kiln_timer"), templates=False)
    assert pdfium.PdfDocument(dated).get_metadata_dict()["CreationDate"].startswith("D:20231114")
    assert pdfium.PdfDocument(dated).get_metadata_dict()["Title"] == "kiln timer"


DESIGN = '''
from panelwright.assemblies import Assembly
from panelwright.plates import Stock, rectangle


def design(width: float = 120, lid: bool = False) -> Assembly:
    """A board for test tiles.

    With more to say.
    """
    print("glazing")
    board = Assembly("tile board", stock=Stock("birch plywood", thickness=4, kerf=0.2, density=680))
    board.add("base", rectangle(width, 60))
    if lid:
        board.add("lid", rectangle(width, 60))
    return board
'''


class TestCommand:
    @pytest.fixture
    def design(self, tmp_path: Path) -> str:
        """A design file in a folder of its own."""
        path = tmp_path / "board.py"
        path.write_text(DESIGN, encoding="utf-8")
        return str(path)

    def test_the_booklet_is_written_and_told(self, design: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Missing folders are made; the cover tells the first paragraph and the parameters."""
        out = tmp_path / "print" / "board.pdf"
        assert main(["booklet", design, "--out", str(out), "--set", "width=150", "--paper", "Letter"]) == 0
        said = capsys.readouterr()
        assert f"written to {out}" in said.out
        assert "glazing" in said.err
        pages = texts(out.read_bytes())
        assert len(pages) == 4
        assert pages[0].startswith("Tile board A board for test tiles. Size 150 × 60 × 4 mm")
        assert "Made with width 150, lid no." in pages[0]
        assert "more to say" not in pages[0]
        assert main(["booklet", design, "--out", str(out), "--no-templates", "--json"]) == 0
        assert len(texts(out.read_bytes())) == 3

    def test_errors_found_keep_the_old_booklet(self, design: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Templates invite cutting: nothing is written unless asked for, and then the errors are among the cautions."""
        out = tmp_path / "board.pdf"
        out.write_bytes(b"old")
        assert main(["booklet", design, "--out", str(out), "--set", "lid=yes"]) == 1
        assert "nothing written: mend the errors first" in capsys.readouterr().out
        assert out.read_bytes() == b"old"
        assert main(["booklet", design, "--out", str(out), "--set", "lid=yes", "--anyway"]) == 1
        assert "Plates 'base' and 'lid' share" in " ".join(texts(out.read_bytes()))

    @pytest.mark.parametrize(
        ("options", "words"),
        [
            (("--paper", "A5"), "paper 'A5' is not known; give A4 or letter"),
            (("--out", "board.txt"), "'board.txt' is no kind of file that is written here; end it in .pdf"),
            (("--set", "widht=3"), "no parameter 'widht'; did you mean 'width'?"),
        ],
    )
    def test_wrong_requests_are_refused_before_the_design_runs(
        self, options: tuple[str, ...], words: str, design: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """Exit code 2, the reason, and no file."""
        assert main(["booklet", design, "--out", str(tmp_path / "board.pdf"), *options]) == 2
        said = capsys.readouterr()
        assert words in said.err
        assert "glazing" not in said.err
        assert {path.name for path in tmp_path.iterdir()} == {"board.py"}
