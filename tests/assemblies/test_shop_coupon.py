"""The coupon, cut in simulation and measured: the kerf and the fits come back within what calibration says of them.

The cut is simulated by shapely: the beam removes every point within half a kerf of a path; what is left falls into pieces.
"""

from __future__ import annotations

import itertools
import json
import math
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import shapely
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.files.dxf import flat_dxf
from panelwright.assemblies.measuring.calibrate import Readings, calibrate, kerf_of_strips
from panelwright.assemblies.measuring.coupon import GAUGE, STEP, STRIP_WIDTH, STRIPS, Coupon, coupon_of
from panelwright.assemblies.shop.shelf import Shelf
from panelwright.plates import ShopError, SizeError, Stock
from panelwright.plates.geometry.curves import Loop, loop_through
from panelwright.plates.geometry.offset import cut_paths
from panelwright.plates.outlines.stroke_font import lettering, lettering_width

CASES = [
    # nominal, true thickness, kerf expected, true kerf
    (4.0, 3.87, 0.217, 0.19),
    (4.0, 4.21, 0.2, 0.26),
    (3.0, 2.95, 0.15, 0.152),
    (6.5, 6.38, 0.254, 0.2),
    (12.0, 11.8, 0.0, 0.254),
    (1.5, 1.52, 0.18, 0.12),
]


def ring(loop: Loop) -> Any:
    return shapely.LinearRing(loop.points(1e-3))


class Cut:
    """A coupon cut with a given kerf: the pieces that are left, found by where their drawn windows were."""

    def __init__(self, coupon: Coupon, kerf: float) -> None:
        paths = shapely.union_all([ring(loop).buffer(kerf / 2, join_style="mitre") for loop in coupon.loops])
        x0, y0, x1, y1 = paths.bounds
        rest = shapely.box(x0 - 5, y0 - 5, x1 + 5, y1 + 5).difference(paths)
        self.pieces = [piece for piece in rest.geoms if piece.bounds[0] > x0 - 1]
        self.windows = [loop for loop in coupon.loops if loop.area < 0]

    def piece_in(self, loop: Loop) -> Any:
        """The loose piece that falls out of a window."""
        x0, y0, x1, y1 = loop.bounds
        spot = shapely.Point((x0 + x1) / 2, (y0 + y1) / 2)
        return next(piece for piece in self.pieces if piece.contains(spot))

    def strips(self) -> list[Any]:
        return [self.piece_in(window) for window in self.windows if _wide(window, STRIP_WIDTH) and _high(window, 30.0)]

    def opening(self, loop: Loop) -> float:
        """Width of the opening where a window was, through its middle: from material of another piece to the next."""
        x0, y0, x1, y1 = loop.bounds
        cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
        far = (x1 - x0) / 2 + 4.0
        line = [(cx - far, cy), (cx + far, cy)]
        own = self.piece_in(loop)
        met = shapely.union_all([piece for piece in self.pieces if piece is not own]).intersection(shapely.LineString(line))
        left = [part.bounds[2] for part in met.geoms if part.centroid.x < cx]
        right = [part.bounds[0] for part in met.geoms if part.centroid.x > cx]
        return min(right) - max(left)

    def slots(self, coupon: Coupon) -> dict[float, float]:
        """Opening by mark."""
        found = {}
        for mark in coupon.slots:
            (loop,) = [window for window in self.windows if _wide(window, mark) and _high(window, 10.0)]
            found[mark] = self.opening(loop)
        return found

    def tabs(self, coupon: Coupon) -> dict[float, float]:
        """Width of each tab by mark, on a line half way up the tabs."""
        comb = max(self.pieces, key=lambda piece: piece.area)
        x0, _, x1, y1 = comb.bounds
        met = comb.intersection(shapely.LineString([(x0 - 1, y1 - 4), (x1 + 1, y1 - 4)]))
        widths = sorted((part.bounds[0], part.length) for part in met.geoms)
        return dict(zip(coupon.tabs, (width for _, width in widths), strict=True))

    def gauge(self) -> float:
        (loop,) = [window for window in self.windows if _wide(window, GAUGE) and not _high(window, 10.0)]
        return self.opening(loop)


def _wide(loop: Loop, width: float) -> bool:
    return math.isclose(loop.bounds[2] - loop.bounds[0], width, abs_tol=1e-9)


def _high(loop: Loop, height: float) -> bool:
    return math.isclose(loop.bounds[3] - loop.bounds[1], height, abs_tol=1e-9)


def ply(nominal: float, kerf: float, **more: Any) -> Stock:
    return Stock("birch plywood", nominal, kerf=kerf, name="birch", is_calibrated=False, **more)


@pytest.mark.parametrize(("nominal", "thickness", "expected", "kerf"), CASES)
def test_kerf_and_fits_come_back_within_their_uncertainty(
    nominal: float, thickness: float, expected: float, kerf: float
) -> None:
    """Cut, measure with a caliper that is off, try strips in slots and tabs in the gauge, calibrate: the truth is within ±."""
    stock = ply(nominal, expected)
    coupon = coupon_of(stock, thickness=round(thickness, 2))
    cut = Cut(coupon, kerf)
    strips = cut.strips()
    assert len(strips) == STRIPS
    total = sum(strip.bounds[2] - strip.bounds[0] for strip in strips)
    assert total == pytest.approx(STRIPS * (STRIP_WIDTH - kerf), abs=1e-9)
    slots, tabs, gauge = cut.slots(coupon), cut.tabs(coupon), cut.gauge()
    tried = 0
    for off in (-0.02, 0.0, 0.013, 0.02):
        # someone who calls snug what has 0.05 mm of clearance, and takes the first slot or tab that gives at least that
        by_slot = [mark for mark, opening in slots.items() if opening - thickness >= 0.05 - 1e-9]
        by_tab = [mark for mark, width in tabs.items() if gauge - width >= 0.05 - 1e-9]
        assert min(by_slot) > coupon.slots[0], "the comb must begin tighter than any snug fit"
        assert max(by_tab) < coupon.tabs[-1]
        readings = Readings(
            (round(thickness + off, 2),) * 3,
            (round(total + off, 2),) * 2,
            {"snug": min(by_slot)},
            {"press": max(by_tab)},
        )
        found = calibrate(Shelf(stock), readings).values
        truth = {"measured_mm": thickness, "kerf_mm": kerf, "snug_mm": 0.05, "press_mm": 0.05}
        assert set(found) == set(truth)
        for key, value in truth.items():
            step = STEP / 2 if key in ("snug_mm", "press_mm") else 0.0  # the first of a step is up to a whole step loose
            assert abs(found[key].value - value) <= found[key].plus_minus + step, (key, off)
            tried += 1
        assert found["kerf_mm"].plus_minus <= 0.0035
    assert tried == 16


@pytest.mark.parametrize(("nominal", "thickness", "expected", "kerf"), CASES)
def test_clearance_of_a_tried_slot_is_what_was_tried(nominal: float, thickness: float, expected: float, kerf: float) -> None:
    """Exact readings give exact clearances, for every slot and tab of the comb."""
    stock = ply(nominal, expected)
    coupon = coupon_of(stock, thickness=thickness)
    cut = Cut(coupon, kerf)
    total = STRIPS * (STRIP_WIDTH - kerf)
    gauge, tabs = cut.gauge(), cut.tabs(coupon)
    for mark, opening in cut.slots(coupon).items():
        found = calibrate(Shelf(stock), Readings((thickness,), (total,), {"snug": mark})).values["snug_mm"]
        assert found.value == pytest.approx(opening - thickness, abs=5.1e-4)
    for mark, width in tabs.items():
        found = calibrate(Shelf(stock), Readings((thickness,), (total,), None, {"snug": mark})).values["snug_mm"]
        assert found.value == pytest.approx(gauge - width, abs=5.1e-4)
    assert len(tabs) >= 9


def test_joint_with_the_three_numbers_is_drawn_as_wide_as_the_slot_tried() -> None:
    """Errors of thickness and kerf cancel: opening for the joint, less a kerf, is the mark, however wrong the caliper."""
    stock = ply(4.0, 0.2)
    for thickness, total in ((3.87, 78.1), (3.97, 77.6)):
        found = calibrate(Shelf(stock), Readings((thickness,), (total,), {"snug": 3.75})).values
        t, kerf, clearance = (found[key].value for key in ("measured_mm", "kerf_mm", "snug_mm"))
        assert t + clearance - kerf == pytest.approx(3.75, abs=1.6e-3)


def test_random_readings_cover_the_truth_as_often_as_they_say() -> None:
    """400 seeded coupons with a scattering caliper: kerf and thickness lie within ± in at least 95 % of them."""
    chance = random.Random(7)
    hits = {"kerf_mm": 0, "measured_mm": 0}
    for _ in range(400):
        kerf, thickness = chance.uniform(0.1, 0.3), chance.uniform(3.8, 4.1)
        caliper = chance.uniform(-0.02, 0.02)
        strips = tuple(80 - 10 * kerf + caliper + chance.gauss(0, 0.03) for _ in range(3))
        places = tuple(thickness + caliper + chance.gauss(0, 0.03) for _ in range(4))
        found = calibrate(Shelf(ply(4.0, 0.2)), Readings(places, strips)).values
        hits["kerf_mm"] += abs(found["kerf_mm"].value - kerf) <= found["kerf_mm"].plus_minus
        place = thickness + chance.gauss(0, 0.03)
        hits["measured_mm"] += abs(found["measured_mm"].value - place) <= found["measured_mm"].plus_minus
    assert min(hits.values()) >= 380
    assert max(hits.values()) <= 400


def test_published_kerf_example() -> None:
    """snijlab.nl: a kerf of 0.2; drawn 2.0 × 4.0 leaves a part of 1.8 × 3.8 and an opening of 2.2 × 4.2."""
    drawn = loop_through([(0, 0), (2, 0), (2, 4), (0, 4)])
    beam = ring(drawn).buffer(0.1, join_style="mitre")
    part = shapely.Polygon(ring(drawn)).difference(beam)
    hole = shapely.Polygon(ring(drawn)).union(beam)
    assert [part.bounds[i + 2] - part.bounds[i] for i in (0, 1)] == pytest.approx([1.8, 3.8])
    assert [hole.bounds[i + 2] - hole.bounds[i] for i in (0, 1)] == pytest.approx([2.2, 4.2])
    assert kerf_of_strips(2.0, 1.8, 1) == pytest.approx(0.2)
    assert kerf_of_strips(4.0, 3.8, 1) == pytest.approx(0.2)
    # and the toolkit's own paths undo it
    (outer,) = cut_paths([drawn], 0.2, panel="tile")
    assert outer.bounds == pytest.approx((-0.1, -0.1, 2.1, 4.1))


@pytest.mark.parametrize("thickness", [1.5, 3.9, 6.0, 12.0])
def test_drawing_is_sound(thickness: float) -> None:
    """No paths cross, webs hold, every mark lies on the comb's plate clear of all cuts, and labels do not run together."""
    stock = Stock("birch plywood", thickness, kerf=0.2)
    coupon = coupon_of(stock, thickness=thickness)
    rings = [ring(loop) for loop in coupon.loops]
    nearest = min(a.distance(b) for a, b in itertools.combinations(rings, 2))
    assert nearest >= 3.9
    comb = shapely.Polygon(rings[0], [r for r in rings[1:] if shapely.Polygon(rings[0]).contains(r)])
    assert comb.is_valid
    chains = [*coupon.marks, *(chain for patch in coupon.ladder.values() for chain in patch)]
    assert len(chains) > 100
    for chain in chains:
        line = shapely.LineString([chain[0].start, *(segment.end for segment in chain)])
        assert comb.buffer(-0.8).contains(line)
    assert coupon.size[0] < 230
    assert [round(b - a, 9) for a, b in itertools.pairwise(coupon.slots)] == [STEP] * (len(coupon.slots) - 1)
    middle = thickness - 0.2
    assert coupon.slots[0] <= middle - 0.2
    assert coupon.slots[-1] >= middle + 0.35
    text = [loop for loop in coupon.loops if loop.area > 0]
    assert len(text) == 2, "the comb's plate and the gauge"


def test_small_bed_and_other_refusals() -> None:
    """Rows wrap on a small bed; what cannot be made is said with the size."""
    stock = Stock("birch plywood", 4, measured=3.9, kerf=0.2)
    narrow = coupon_of(stock, bed=(180, 300))
    assert narrow.size[0] < 300
    assert narrow.size[1] < 180
    with pytest.raises(ShopError, match="more than the bed of 100 × 100 mm"):
        coupon_of(stock, bed=(100, 100))
    with pytest.raises(ShopError, match=r"is not measured.*--thickness"):
        coupon_of(Stock("birch plywood", 4))
    with pytest.raises(ShopError, match="cut by a router"):
        coupon_of(Stock("birch plywood", 4, measured=4, cutter="router"))
    with pytest.raises(ShopError, match="cannot be drawn"):
        coupon_of(Stock("card", 0.5, measured=0.5, kerf=0.25))
    with pytest.raises(SizeError, match="mark speed is -1 mm/s"):
        coupon_of(stock, speeds=(-1,))
    with pytest.raises(ShopError, match="9 mark speeds"):
        coupon_of(stock, speeds=range(1, 10))


def chains_in_pdf(data: bytes) -> Iterator[list[tuple[float, float]]]:
    """Paths of a PDF's one page as PDFium reads them: points in mm, arcs left out; each path ends where the next moves."""
    import ctypes

    import pypdfium2 as pdfium
    import pypdfium2.raw as raw

    document = pdfium.PdfDocument(data)
    assert len(document) == 1
    for item in document[0].get_objects():
        assert item.type == raw.FPDF_PAGEOBJ_PATH
        matrix = item.get_matrix()
        assert matrix.get() == pytest.approx((1, 0, 0, 1, 0, 0))
        points = []
        for index in range(raw.FPDFPath_CountSegments(item)):
            segment = raw.FPDFPath_GetPathSegment(item, index)
            x, y = ctypes.c_float(), ctypes.c_float()
            assert raw.FPDFPathSegment_GetPoint(segment, x, y)
            points.append((x.value * 25.4 / 72, y.value * 25.4 / 72))
        yield points
    document.close()


def test_pdf_is_true_to_size() -> None:
    """PDFium reads every drawn width within 0.01 mm, and the page is the drawing with a millimetre round it."""
    import pypdfium2 as pdfium

    coupon = coupon_of(Stock("birch plywood", 4, measured=3.9, kerf=0.2))
    data = coupon.files("c")["c.pdf"]
    page = pdfium.PdfDocument(data)[0]
    size = [side * 25.4 / 72 for side in page.get_size()]
    assert size == pytest.approx([coupon.size[0] + 2, coupon.size[1] + 2], abs=0.01)
    boxes = sorted((min(x), min(y), max(x), max(y)) for x, y in (zip(*points, strict=True) for points in chains_in_pdf(data)))
    # strokes are read point by point, so boxes of straight loops are exact; the two rounded plates follow within their corners
    drawn = sorted(tuple(v + 1.0 for v in loop.bounds) for loop in coupon.loops)
    assert len(drawn) == 27
    for box in drawn:
        near = min(boxes, key=lambda other: max(abs(a - b) for a, b in zip(box, other, strict=True)))
        assert near == pytest.approx(box, abs=0.01)
    assert data == coupon.files("c")["c.pdf"], "no time stamp"


def test_dxf_and_svg_hold_the_same_paths_on_the_layers() -> None:
    """GDAL reads the DXF: 25 windows inside, two plates outside, lettering on MARK, a layer for each speed; the SVG agrees."""
    import pyogrio

    coupon = coupon_of(Stock("birch plywood", 4, measured=3.9, kerf=0.2), speeds=(80, 120))
    files = coupon.files("c")
    rows = pyogrio.raw.read(files["c.dxf"], encoding="utf-8")
    layers = list(rows[3][list(rows[0]["fields"]).index("Layer")])
    assert set(layers) == {"MARK", "MARK-80-MM-S", "MARK-120-MM-S", "CUT-INSIDE", "CUT-OUTSIDE"}
    assert layers.count("CUT-INSIDE") == len(coupon.slots) + STRIPS + 1
    assert layers.count("CUT-OUTSIDE") == 2
    widths = sorted(
        round(geometry.bounds[2] - geometry.bounds[0], 6)
        for layer, geometry in zip(layers, map(shapely.from_wkb, rows[2]), strict=True)
        if layer == "CUT-INSIDE"
    )
    assert widths == sorted([*coupon.slots, *[STRIP_WIDTH] * STRIPS, GAUGE])
    svg = files["c.svg"].decode()
    groups = [part.split('"')[0] for part in svg.split('<g id="')[1:]]
    assert groups == ["MARK", "MARK-80-MM-S", "MARK-120-MM-S", "CUT-INSIDE", "CUT-OUTSIDE"]
    assert svg.count("<path") == len(layers)
    assert flat_dxf(coupon.loops, coupon.marks, more_marks=coupon.ladder) == files["c.dxf"]


class TestLettering:
    def test_every_figure_keeps_to_its_cell(self) -> None:
        """Strokes stay within the width that the text claims, and on the height asked for; no two letters touch."""
        for char in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,:-+=×/()":
            points = [p for chain in lettering(char, 6.0) for line in chain for p in (line.start, line.end)]
            assert points, char
            assert min(x for x, _ in points) >= 0
            assert max(x for x, _ in points) <= max(lettering_width(char, 6.0), 1e-9), char
            assert min(y for _, y in points) >= 0
            assert max(y for _, y in points) <= 6

    def test_figures_differ(self) -> None:
        """No two figures are drawn alike, turned upside down 6 and 9 apart."""
        drawn = {char: frozenset(lettering(char, 6.0)) for char in "0123456789"}
        assert len(set(drawn.values())) == 10

    def test_small_letters_are_capitals_and_others_refused(self) -> None:
        """What the font lacks is never dropped in silence."""
        assert lettering("ply", 3.0) == lettering("PLY", 3.0)
        with pytest.raises(SizeError, match="has no 'é'"):
            lettering("clé", 3.0)


class TestCommand:
    def test_files_are_written_with_how_to_use_them(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Three files, what to do with each row, and the caution."""
        arguments = ["coupon", "birch 4", "--thickness", "3.9", "3.94", "--out", str(tmp_path / "out")]
        assert main(arguments) == 0
        said = capsys.readouterr().out
        assert "test piece for birch 4, 3.92 mm thick" in said
        assert "cut right on the lines" in said
        assert "caution: cutting makes fire, fumes and light" in said
        names = {path.name for path in (tmp_path / "out").iterdir()}
        assert names == {"coupon-birch-4.dxf", "coupon-birch-4.svg", "coupon-birch-4.pdf"}
        before = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()}
        assert main([*arguments, "--json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert found["ok"] is True
        assert found["slots_mm"][0] == 3.45
        assert any("fumes" in caution for caution in found["cautions"])
        assert before == {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()}, "the same bytes"

    def test_unmeasured_stock_and_wrong_use(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Exit code 2 and a reason; nothing is written."""
        monkeypatch.chdir(tmp_path)
        assert main(["coupon", "birch 4", "--out", "out"]) == 2
        assert "measure it with a caliper" in capsys.readouterr().err
        assert main(["coupon", "birch 5", "--out", "out", "--thickness", "5", "--json"]) == 2
        assert "did you mean" in json.loads(capsys.readouterr().out)["error"]["message"]
        assert main(["coupon", "birch 4"]) == 2
        assert "--out" in capsys.readouterr().err
        assert list(tmp_path.iterdir()) == []

    def test_stocks_lists_what_designs_can_name(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Own and shipped, which is which, and what the tolerance does."""
        monkeypatch.chdir(tmp_path)
        (tmp_path / "shop.toml").write_text('[stocks.ply]\nbased_on = "birch 4"\nmeasured_mm = 3.9\nkerf_mm = 0.2\n')
        assert main(["stocks"]) == 0
        lines = capsys.readouterr().out.splitlines()
        assert next(line for line in lines if line.startswith("  ply")).split()[:5] == ["ply", "birch", "plywood", "3.9", "of"]
        assert any(line.startswith("  birch 4 ") and line.endswith("uncalibrated, shipped") for line in lines)
        assert any(line.startswith("  birch 4: 3.50 to 4.30 mm thick") and line.endswith("measure first") for line in lines)
        assert main(["stocks", "--json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert [stock["stock"] for stock in found["stocks"]][:2] == ["ply", "birch 3"]
        assert (found["stocks"][0]["is_calibrated"], found["stocks"][1]["is_calibrated"]) == (True, False)
