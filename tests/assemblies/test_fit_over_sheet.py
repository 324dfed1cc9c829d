"""Fits over the sheets and cuts that may come: against integrals, closed forms and every ring, and as people are told of it."""

from __future__ import annotations

import html
import itertools
import json
import math
import re
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest
from panelwright.assemblies import Assembly, Shop, carcass
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.shop.in_force import using
from panelwright.assemblies.shop.sheet_tolerance import thickness_tolerance
from panelwright.assemblies.variation.fit_chains import chains_of, least_play
from panelwright.assemblies.variation.fit_draws import drawn_sheets
from panelwright.assemblies.variation.fit_over_sheet import FitOverSheet, FitRow, fit_over_sheet
from panelwright.assemblies.variation.fit_words import fit_findings
from panelwright.assemblies.variation.limits import FEELS, limits_of
from panelwright.assemblies.variation.spreads import PUBLISHED_KERF, STATED, Spread, Unknown, spreads_of
from panelwright.joints import cross_lap, join, t_nut, tabs
from panelwright.plates import Frame, SizeError, Stock, lying, rectangle, standing
from panelwright.plates.geometry.polygons import polygon_of

KNIFE = Stock("card", 2.0, kerf=0.0, clearance=0.05, press=-0.05, sliding=0.2, cutter="knife", tolerance=(-0.3, 0.3))
BIRCH = Stock("birch plywood", 4.0, kerf=0.2, clearance=0.05, press=-0.05, sliding=0.2, tolerance=(-0.5, 0.3))
MEASURED = Stock("birch plywood", 4.0, measured=3.9, kerf=0.2, clearance=0.1, press=-0.05, sliding=0.25)


def stand(stock: Stock, *, count: int = 2, turn: Frame | None = None, names: tuple[str, str] = ("base", "wall")) -> Product:
    """A wall tabbed into a base."""
    inner = Assembly("stand", stock=stock)
    base = inner.add(names[0], rectangle(160, 60))
    wall = inner.add(names[1], rectangle(140, 40), standing(base.show, facing="-Y", inset=20))
    join(wall.face("<Z"), base.show, tabs(count=count, width=10))
    if turn is None:
        return inner.product()
    outer = Assembly("stand", stock=stock)
    outer.add("it", inner, turn)
    return outer.product()


def rows(found: FitOverSheet) -> dict[str, FitRow]:
    return {row.hangs_on: row for row in found.rows}


def test_thickness_alone_gives_the_shares_that_even_widths_have() -> None:
    """Drawn evenly over 0.6 mm and without a kerf, each feel has the part of the width between its limits."""
    found = fit_over_sheet(stand(KNIFE))
    row = rows(found)["thickness"]
    limits = limits_of(KNIFE)
    edges = [-0.25, limits.press, limits.snug, limits.sliding, limits.loose, 0.35]
    for feel, (low, high) in zip(FEELS, itertools.pairwise(edges), strict=True):
        assert row.shares[feel] == pytest.approx((high - low) / 0.6, abs=2e-4), feel
    assert (row.tightest_mm, row.loosest_mm) == (pytest.approx(-0.25), pytest.approx(0.35))
    assert rows(found)["cut"].shares["snug"] == 1.0
    assert found.jams == pytest.approx(0.2 / 0.6, abs=2e-4)


def test_kerf_and_thickness_together_agree_with_an_integral() -> None:
    """P(clearance - thickness + kerf < press), an even spread convolved with a normal one, by numerical integration."""
    shares = rows(fit_over_sheet(stand(BIRCH)))["thickness"].shares
    kerf = NormalDist(0, STATED / 1.959964)
    steps = 20_000
    thicker = [-0.5 + 0.8 * (i + 0.5) / steps for i in range(steps)]
    jams = math.fsum(kerf.cdf(-0.05 - 0.05 + t) for t in thicker) / steps
    assert shares["jams"] == pytest.approx(jams, abs=0.004)
    assert sum(shares.values()) == pytest.approx(1.0)


def test_cut_pieces_hang_on_the_kerf_twice() -> None:
    """A wider kerf widens the slot and narrows the tab, each by the whole of it."""
    row = rows(fit_over_sheet(stand(MEASURED)))["cut"]
    assert (row.tightest_mm, row.loosest_mm) == (pytest.approx(0.1 - 2 * STATED), pytest.approx(0.1 + 2 * STATED))
    below = NormalDist(0.1, 2 * STATED / 1.959964).cdf(limits_of(MEASURED).press)
    assert row.shares["jams"] == pytest.approx(below, abs=2e-4)


@pytest.mark.parametrize("lean", [0, 30, -30, 45])
def test_slots_for_leaning_sheets_grow_as_the_gap_says(lean: float) -> None:
    """The slot that is drawn for a sheet 0.01 mm thicker is wider by just the shares that the gap states.

    Measured with shapely on the base's loops: both plates are of the stock, so both shares count.
    """

    def slot(thickness: float) -> tuple[float, float]:
        a = Assembly("desk", stock=Stock("birch plywood", 5, measured=thickness, kerf=0.2, clearance=0.1))
        base = a.add("base", rectangle(200, 120))
        c, s = math.cos(math.radians(lean)), math.sin(math.radians(lean))
        wall = a.add(
            "wall", rectangle(120, 60), Frame.facing((0, 30 * s, thickness + 30 * c), show=(0, -c, s), right=(1, 0, 0))
        )
        join(wall.face("<Z"), base.show, tabs(count=1, width=20))
        product = a.product()
        part = next(part for part in product.parts if part.name == "base")
        (hole,) = (polygon_of(loop) for loop in part.loops if loop.area < 0)
        x0, y0, x1, y1 = hole.bounds
        gap = next(gap for gap in product.joints[0].gaps if gap.per_thickness)
        assert x1 - x0 == pytest.approx(20.1)
        return y1 - y0, sum(share for _, share in gap.per_thickness)

    (thin, share), (thick, _) = slot(5.0), slot(5.01)
    assert (thick - thin) / 0.01 == pytest.approx(share, abs=1e-4)


def test_play_of_a_row_is_its_least_right_and_least_left() -> None:
    """Two plates in many openings: the closed form, over random gaps and shifts."""
    chance = np.random.default_rng(5)
    gaps, shifts = chance.uniform(0, 0.2, (9, 50)), chance.normal(0, 0.05, (9, 50))
    (row,) = chains_of([("rail", "board", (0.0, 1.0, 0.0))] * 9)
    by_hand = np.min(gaps / 2 + shifts, axis=0) + np.min(gaps / 2 - shifts, axis=0)
    assert least_play(row, gaps, shifts) == pytest.approx(by_hand, abs=1e-12)
    assert np.all(least_play(row, gaps, shifts) <= np.min(gaps, axis=0) + 1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_play_of_a_chain_is_that_of_its_tightest_ring(seed: int) -> None:
    """Against every simple ring of four and five plates, one by one."""
    chance = np.random.default_rng(seed)
    names = "abcde"[: 4 + seed % 2]
    pairs = [pair for pair in itertools.combinations(names, 2) if chance.random() < 0.8] or [("a", "b")]
    openings = [(*(pair if chance.random() < 0.5 else pair[::-1]), (1.0, 0.0, 0.0)) for pair in pairs * 2]
    turned = [(a, b, (way[0] * (-1) ** i, 0.0, 0.0)) for i, (a, b, way) in enumerate(openings)]
    for chain in chains_of(turned):
        gaps = chance.uniform(-0.1, 0.2, (len(chain.openings), 3))
        shifts = chance.normal(0, 0.1, gaps.shape)
        edges: dict[tuple[str, str], np.ndarray] = {}
        for row, number in enumerate(chain.openings):
            a, b, way = turned[number]
            shift = shifts[row] * way[0]
            for edge, bound in (((a, b), gaps[row] / 2 + shift), ((b, a), gaps[row] / 2 - shift)):
                edges[edge] = np.minimum(edges.get(edge, bound), bound)
        plates = sorted({plate for edge in edges for plate in edge})
        rings = [
            ring
            for size in range(2, len(plates) + 1)
            for ring in itertools.permutations(plates, size)
            if all((p, q) in edges for p, q in zip(ring, (*ring[1:], ring[0]), strict=True))
        ]
        means = [np.mean([edges[p, q] for p, q in zip(ring, (*ring[1:], ring[0]), strict=True)], axis=0) for ring in rings]
        # the chain's own direction may be turned against x: rings run both ways, so the least is the same
        assert least_play(chain, gaps, shifts) == pytest.approx(2 * np.min(means, axis=0), abs=1e-12)


def test_two_tabs_off_their_places_jam_as_a_normal_sum_says() -> None:
    """Play = gap - |d|, d the difference of two places, each of a slot's and a tab's errors: P(play < press) in closed form."""
    shop = Shop.from_text(
        "[machine]\nposition_error_mm = 0.06\n"
        '[stocks.card]\nmaterial = "card"\nthickness_mm = 2\nmeasured_mm = 2\nkerf_mm = 0.2\nsnug_mm = 0.05\npress_mm = -0.05\n'
        "[stocks.card.uncertainty]\nmeasured_mm = 0\nkerf_mm = 0\n"
    )
    with using(shop):
        product = stand(shop["card"])
    row = rows(fit_over_sheet(product, shop))["cut"]
    apart = NormalDist(0, 0.06 / 1.959964 * 2)  # of four places: two slots and two tabs
    assert row.shares["jams"] == pytest.approx(2 * apart.cdf(-0.1), abs=0.01)  # three standard errors of 10,000 draws
    one = rows(fit_over_sheet(stand(shop["card"], count=1), shop))["cut"]
    assert one.shares["jams"] == 0.0  # a tab alone finds its slot wherever that is


def test_kerf_that_differs_over_the_bed_counts_for_each_opening() -> None:
    """One tab: its own kerf twice, the slot's and the tab's, as a normal sum."""
    text = (
        '[stocks.card]\nmaterial = "card"\nthickness_mm = 2\nmeasured_mm = 2\nkerf_mm = 0.2\nsnug_mm = 0.05\npress_mm = -0.05\n'
        "kerf_spread_mm = 0.1\n[stocks.card.uncertainty]\nmeasured_mm = 0\nkerf_mm = 0\n"
    )
    shop = Shop.from_text(text)
    row = rows(fit_over_sheet(stand(shop["card"], count=1), shop))["cut"]
    below = NormalDist(0.05, 0.1 / 1.959964 * math.sqrt(2)).cdf(-0.05)
    assert row.shares["jams"] == pytest.approx(below, abs=0.012)  # 10,000 draws: three standard errors


def test_numbers_stay_when_the_product_is_turned_renamed_or_put_together_in_another_order() -> None:
    """Only names may differ."""

    def told(product: Product) -> list[tuple[object, ...]]:
        found = fit_over_sheet(product, draws=500)
        return [(r.kind, r.hangs_on, r.openings, round(r.tightest_mm, 9), r.shares) for r in found.rows] + [(found.jams,)]

    plain = told(stand(BIRCH))
    assert told(stand(BIRCH, turn=Frame.facing((5, 6, 7), show=(1, 2, 3), right=(3, 0, -1)))) == plain
    assert told(stand(BIRCH, names=("zwei", "eins"))) == plain


def test_sheets_are_drawn_one_from_each_range_and_the_same_each_time() -> None:
    """Latin hypercube: sorted, the draws are the quantiles; another seed only shuffles them."""
    spread = Spread("thickness", BIRCH, -0.1, 0.1, is_even=False, is_measured=True, why="measured")
    first, again, other = (drawn_sheets([spread, spread], 1000, seed) for seed in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)
    assert np.array_equal(np.sort(first[0]), np.sort(other[0]))
    assert not np.array_equal(first[0], first[1])
    assert abs(np.corrcoef(first)[0, 1]) < 0.1
    assert np.std(first[0]) == pytest.approx(0.1 / 1.959964, rel=0.01)
    assert np.std(first[0]) ** 2 == pytest.approx(spread.variance, rel=0.01)


def test_where_spreads_come_from() -> None:
    """The shop's readings, else a standard's tolerance (EN 315 as shipped), else what is said to be assumed."""
    shop = Shop.from_text(
        '[stocks."birch 4"]\nbased_on = "birch 4"\nmeasured_mm = 3.9\nkerf_mm = 0.18\n'
        '[stocks."birch 4".uncertainty]\nmeasured_mm = 0.03\nkerf_mm = 0.004\n'
    )
    measured = spreads_of([shop["birch 4"]], shop)
    assert [(s.low, s.high, s.is_even) for s in measured if isinstance(s, Spread)] == [
        (-0.03, 0.03, False),
        (-0.004, 0.004, False),
    ]
    shipped = spreads_of([Shop.of_shipped()["birch 4"]], None)
    low, high = thickness_tolerance("EN 315", 4)
    assert [(s.low, s.high, s.is_even) for s in shipped if isinstance(s, Spread)] == [
        (low, high, True),
        (-PUBLISHED_KERF, PUBLISHED_KERF, True),
    ]
    nobody = spreads_of([Stock("birch plywood", 4)], None)
    assert [type(s) for s in nobody] == [Unknown, Unknown]
    altered = Stock("birch plywood", 4, measured=3.8, kerf=0.18, name="birch 4")
    assert [s.high for s in spreads_of([altered], shop) if isinstance(s, Spread)] == [STATED, PUBLISHED_KERF]


def test_what_nobody_knows_is_told_and_not_counted() -> None:
    """Without a tolerance and without a kerf there are no shares; with the kerf alone those of cut pieces."""
    bare = fit_over_sheet(stand(Stock("birch plywood", 4, clearance=0.05)))
    assert (bare.rows, bare.jams, bare.rattles) == ((), None, None)
    assert any("thickness of 'birch plywood'" in said for said in bare.not_counted)
    assert any("4 openings" in said for said in bare.not_counted)
    assert fit_findings(bare) == []
    half = fit_over_sheet(stand(Stock("birch plywood", 4, kerf=0.2, clearance=0.05)))
    assert set(rows(half)) == {"cut"}
    assert any("2 openings" in said for said in half.not_counted)


def test_remedies_do_what_they_say() -> None:
    """The clearance that is proposed, given, makes jams as seldom as told; so does the thickness, measured."""
    found = fit_over_sheet(stand(BIRCH))
    assert found.jams is not None
    assert found.jams > 0.2
    measure = next(remedy for remedy in found.remedies if remedy.what.startswith("measure the thickness"))
    as_measured = Stock("birch plywood", 4, measured=4.0, kerf=0.2, clearance=0.05, press=-0.05, sliding=0.2)
    done = fit_over_sheet(stand(as_measured))
    assert (done.jams, done.rattles) == (pytest.approx(measure.jams, abs=1e-9), pytest.approx(measure.rattles, abs=1e-9))
    more = next(remedy for remedy in done.remedies if "clearance" in remedy.what)
    added = float(more.what.split()[0])
    changed = Assembly(
        "stand", stock=Stock("birch plywood", 4, measured=4.0, kerf=0.2, clearance=0.05, press=-0.05, sliding=0.2)
    )
    base = changed.add("base", rectangle(160, 60))
    wall = changed.add("wall", rectangle(140, 40), standing(base.show, facing="-Y", inset=20))
    join(wall.face("<Z"), base.show, tabs(count=2, width=10, clearance=0.05 + added))
    then = fit_over_sheet(changed.product())
    assert then.jams == pytest.approx(more.jams, abs=1e-9)
    assert then.jams is not None
    assert then.jams <= 0.01


def test_every_kind_of_joint_is_counted() -> None:
    """Tabs, nuts, laps and fingers; how deep laps seat is no fit."""
    a = Assembly("case", stock=MEASURED)
    base = a.add("base", rectangle(200, 150))
    front = a.add("front", rectangle(160, 60), standing(base.show, facing="-Y", inset=20))
    lid = a.add("lid", rectangle(200, 150), lying([front.face(">Z")]))
    join(front.face("<Z"), base.show, tabs(count=1))
    join(front.face(">Z"), lid.face("<Z"), t_nut("M3", count=1))
    held = fit_over_sheet(a.product(), draws=200)
    assert {(row.kind, row.hangs_on) for row in held.rows} == {("tabs", "cut"), ("tabs", "thickness"), ("t_nut", "bought")}

    grid = Assembly("grid", stock=MEASURED)
    one = grid.add("one", rectangle(100, 40), Frame.facing((0, 0, 20), show=(0, -1, 0), right=(1, 0, 0)))
    two = grid.add("two", rectangle(100, 40), Frame.facing((0, 0, 20), show=(1, 0, 0), right=(0, 1, 0)))
    join(one, two, cross_lap())
    laps = fit_over_sheet(grid.product(), draws=200)
    assert [(row.kind, row.hangs_on, row.openings) for row in laps.rows] == [("cross_lap", "thickness", 2)]

    box = fit_over_sheet(carcass("box", stock=MEASURED, width=120, depth=90, height=60).product(), draws=200)
    assert {(row.kind, row.hangs_on) for row in box.rows} == {("fingers", "cut")}


SHELF = (
    "from panelwright.assemblies import Assembly, stock\n"
    "from panelwright.joints import join, tabs\n"
    "from panelwright.plates import rectangle, standing\n"
    'def design(width: float = 160) -> Assembly:\n    """A shelf for jars."""\n'
    '    a = Assembly("shelf", stock=stock("birch 4"))\n'
    '    base = a.add("base", rectangle(width, 60))\n'
    '    wall = a.add("wall", rectangle(140, 40), standing(base.show, facing="-Y", inset=20))\n'
    '    join(wall.face("<Z"), base.show, tabs(count=2, width=10))\n    return a\n'
)


def test_check_tells_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`check --tolerance` prints the table and the warnings, `--json` the same numbers; without it nothing of the kind."""
    design = tmp_path / "shelf.py"
    design.write_text(SHELF, "utf-8")
    assert main(["check", str(design), "--tolerance", "--draws", "1000"]) == 0
    told = capsys.readouterr().out
    assert "fits over 1,000 sheets and runs by chance (seed 1):" in told
    assert "evenly from -0.500 to +0.300 mm (not measured; tolerance as sold" in told
    assert "warning MAY-JAM: of 100 products" in told
    assert "warning MAY-RATTLE: of 100 products" in told
    assert main(["check", str(design), "--tolerance", "--draws", "1000", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["fits"]["draws"] == 1000
    assert {row["hangs_on"] for row in said["fits"]["rows"]} == {"thickness", "cut"}
    assert {"MAY-JAM", "MAY-RATTLE"} <= {finding["code"] for finding in said["findings"]}
    assert main(["check", str(design), "--json"]) == 0
    assert "fits" not in json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--draws", "1000"], "--draws and --draw-seed go with --tolerance"),
        (["--tolerance", "--draws", "5"], "number of draws is 5"),
        (["--tolerance", "--draws", "2000000"], "number of draws is 2000000; it must be 100000 or less"),
        (["--tolerance", "--draw-seed", "-1"], "seed is -1"),
    ],
)
def test_numbers_that_make_no_sense_are_refused(options: list[str], told: str, capsys: pytest.CaptureFixture[str]) -> None:
    """With the limit, and before anything is drawn."""
    example = Path(__file__).parents[2] / "examples" / "brush_rack.py"
    assert main(["check", str(example), *options]) == 2
    assert told in capsys.readouterr().err


def test_draws_are_limited_in_code_too() -> None:
    """As on the command line."""
    with pytest.raises(SizeError, match="100000 or less"):
        fit_over_sheet(stand(KNIFE), draws=10**7)


def test_a_build_tells_it_in_the_report(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`build --tolerance` writes causes, rows and remedies into a section of the report, as `check` tells them; else none."""
    design = tmp_path / "shelf.py"
    design.write_text(SHELF, "utf-8")
    asked = ["--tolerance", "--draws", "500", "--draw-seed", "3"]
    assert main(["check", str(design), *asked]) == 0
    told = capsys.readouterr().out
    assert main(["build", str(design), *asked, "--no-sheets", "--out", str(tmp_path / "out")]) == 0
    page = html.unescape((tmp_path / "out" / "report.html").read_text("utf-8"))
    section = page[page.index('<section id="fits"') :].partition("</section>")[0]
    fits = told[told.index("fits over 500 sheets") :].partition("\n\nwarning")[0]
    said = [line.strip() for line in fits.splitlines() if line and not re.match(r"  (joint|tabs) ", line)]
    assert len(said) >= 5
    assert all(f"<p>{line}</p>" in section or f"<li>{line}</li>" in section for line in said)
    rows = [re.split(r" {2,}", line.strip()) for line in fits.splitlines() if line.startswith("  tabs ")]
    cells = re.findall(r"<t[hd][^>]*>([^<]*)</t[hd]>", section.partition("<tbody>")[2])
    assert rows
    assert cells == [cell for row in rows for cell in row]
    assert main(["build", str(design), "--no-sheets", "--out", str(tmp_path / "out")]) == 0
    assert '<section id="fits"' not in (tmp_path / "out" / "report.html").read_text("utf-8")
