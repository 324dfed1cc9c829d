"""The shop file: what it may say, what errors name, and which shop a design's stocks come from."""

from __future__ import annotations

import json
import pickle
import textwrap
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.shop import Machine, Sheet, Shop, stock, using
from panelwright.plates import MaterialError, SizeError, Stock, rectangle
from panelwright.plates.errors import ArgumentError

STUDIO = """\
# what lies on the studio's shelf
currency = "EUR"

[machine]
name = "the studio's laser"
bed_mm = [600, 400]
travel_mm_s = 400
acceleration_mm_s2 = 3000
edge_margin_mm = 4
part_spacing_mm = 1.5
cost_per_hour = 20

[stocks."birch 4"]          # bought in May
based_on = "birch 4"
measured_mm = 3.87
kerf_mm = 0.19
snug_mm = 0.06
grain = "x"
both_faces_good = false
mark_mm_s = 180
passes = 2

[stocks."birch 4".uncertainty]
kerf_mm = 0.004

[[stocks."birch 4".sheets]]
width_mm = 600
height_mm = 400
count = 5
price = 7.5

[[stocks."birch 4".offcuts]]
outline_mm = [[0, 0], [300, 0], [300, 100], [120, 100], [120, 250], [0, 250]]
count = 2

[stocks."grey card"]
material = "grey card"
thickness_mm = 1.5

[stocks.acrylic]
based_on = "acrylic 3"
youngs_modulus_mpa = 3100
poisson = 0.35
shear_modulus_mpa = 1100
shear_strength_mpa = 55
"""

DESIGN = """
from panelwright.assemblies import Assembly, stock
from panelwright.joints import join, tabs
from panelwright.plates import rectangle, standing

PLY = stock("birch 4")


def design(width: float = 120, height: float = 80) -> Assembly:
    stand = Assembly("card stand", stock=PLY)
    base = stand.add("base", rectangle(width, 60))
    back = stand.add("back", rectangle(width, height), standing(on=base.face(">Z"), facing="-Y", inset=None))
    join(back.face("<Z"), base.face(">Z"), tabs(count=2, width=15))
    return stand
"""


def test_everything_that_a_file_may_say() -> None:
    """Each value arrives where it belongs, the shipped ones below it."""
    shop = Shop.from_text(STUDIO)
    assert (shop.currency, shop.file) == ("EUR", "shop.toml")
    assert shop.machine == Machine("the studio's laser", "laser", (600, 400), 400, 3000, 4, 1.5, 20)
    shelf = shop.shelf("birch 4")
    ply = shelf.stock
    assert (ply.name, ply.material, ply.thickness, ply.measured, ply.t) == ("birch 4", "birch plywood", 4, 3.87, 3.87)
    assert (ply.kerf, ply.clearance, ply.press, ply.sliding) == (0.19, 0.06, -0.05, 0.2)
    assert (ply.grain, ply.both_faces_good, ply.density, ply.tolerance) == ("x", False, 660, (-0.5, 0.3))
    assert ply.is_calibrated
    assert shelf.sheets == (Sheet(600, 400, 5, 7.5),)
    assert (shelf.offcuts[0].count, shelf.offcuts[0].outline.area) == (2, 300 * 100 + 120 * 150)
    assert ply.sheet == (600, 400)
    assert (shelf.cut_mm_s, shelf.mark_mm_s, shelf.passes) == (None, 180, 2)
    assert shelf.uncertainty == {"kerf_mm": 0.004}
    sources = dict(ply.sources)
    assert sources["kerf_mm"] == "shop.toml, ±0.004 mm"
    assert sources["snug_mm"] == "shop.toml"
    assert sources["density_kg_m3"].startswith("birch plywood datasheet")
    clear = shop["acrylic"]
    assert (clear.youngs_modulus, clear.poisson, clear.shear_modulus, clear.shear_strength) == (3100, 0.35, 1100, 55)
    card = shop["grey card"]
    assert (card.kerf, card.clearance, card.is_calibrated) == (0, 0, False)


def test_calibrated_means_thickness_and_kerf_are_the_shops_own() -> None:
    """Either alone, or both from the shipped table, is not enough."""
    head = '[stocks."birch 4"]\nbased_on = "birch 4"\n'
    said = {
        lines: Shop.from_text(head + lines)["birch 4"].is_calibrated
        for lines in ("", "measured_mm = 3.9", "kerf_mm = 0.2", "measured_mm = 3.9\nkerf_mm = 0.2")
    }
    assert list(said.values()) == [False, False, False, True]
    assert not Stock("birch plywood", 4, measured=3.9, kerf=0.2).is_calibrated, "what a design states is stated, not calibrated"
    assert not Shop.from_text(head + "measured_mm = 3.9\nkerf_mm = 0")["birch 4"].is_calibrated, "no beam has a kerf of 0"
    knife = '[machine]\ncutter = "knife"\n' + head
    assert Shop.from_text(knife + "measured_mm = 3.9\nkerf_mm = 0")["birch 4"].is_calibrated, "a knife takes nothing away"


def test_shipped_fits_keep_their_order_with_measured_ones() -> None:
    """A tried snug fit looser than the shipped sliding one takes that along instead of failing."""
    head = '[stocks.ply]\nbased_on = "birch 4"\n'
    loose = Shop.from_text(head + "snug_mm = 0.3")["ply"]
    assert (loose.press, loose.clearance, loose.sliding) == (-0.05, 0.3, 0.3)
    tight = Shop.from_text(head + "sliding_mm = 0.0")["ply"]
    assert (tight.press, tight.clearance, tight.sliding) == (-0.05, 0.0, 0.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("kerf_mm", "kerf"), """shop.toml: there is no key 'kerf' of stocks."birch 4"; did you mean 'kerf_mm'?"""),
        (("measured_mm", "mesured_mm"), "did you mean 'measured_mm'?"),
        (("bed_mm", "bed"), "there is no key 'bed' of machine; did you mean 'bed_mm'?"),
        (("[machine]", "[machin]"), "there is no key 'machin'; did you mean 'machine'?"),
        (("count = 5", "coutn = 5"), """'coutn' of stocks."birch 4".sheets[0]; did you mean 'count'?"""),
        (("currency", "zzz"), "known are booked, currency, machine, prices, stocks"),
        (("kerf_mm = 0.19", "kerf_mm = -0.19"), """kerf_mm of stocks."birch 4" is -0.19 mm; it must be 0 or more"""),
        (("kerf_mm = 0.19", "kerf_mm = nan"), "give a finite number"),
        (("kerf_mm = 0.19", "kerf_mm = 19"), "give the width of one cut"),
        (("measured_mm = 3.87", "measured_mm = 0"), "above 0"),
        (("measured_mm = 3.87", 'measured_mm = "3.87 mm"'), "is '3.87 mm'; give a plain number in mm"),
        (("mark_mm_s = 180", 'mark_mm_s = "fast"'), "is 'fast'; give a plain number in mm/s"),
        (("travel_mm_s = 400", "travel_mm_s = -1"), "travel_mm_s of machine is -1 mm/s; it must be above 0"),
        (("bed_mm = [600, 400]", "bed_mm = 600"), "give two numbers"),
        (("bed_mm = [600, 400]", "bed_mm = [600, -400]"), "bed_mm of machine is -400 mm"),
        (("poisson = 0.35", "poisson = 0.6"), "above -1 and below 0.5"),
        (("youngs_modulus_mpa = 3100", "youngs_modulus_mpa = 0"), "youngs_modulus_mpa of stocks.acrylic is 0 MPa"),
        (("passes = 2", "passes = 1.5"), "give a whole number"),
        (("passes = 2", "passes = 0"), "1 or more"),
        (("count = 5", "count = -5"), "0 or more"),
        (('grain = "x"', 'grain = "along"'), "give one of 'x', 'y'"),
        (("both_faces_good = false", "both_faces_good = 0"), "give true or false"),
        (('based_on = "birch 4"', 'based_on = "birch4"'), "'birch4', which is not shipped; did you mean 'birch 4'?"),
        (('based_on = "birch 4"', ""), """stocks."birch 4" has no material and no thickness_mm; give it, or base"""),
        (("snug_mm = 0.06", "tolerance_mm = [0.1, 0.3]"), "give (least, most) about the nominal thickness"),
        (("snug_mm = 0.06", 'tolerance_standard = "EN 13986"'), "'EN 315'"),
        (("snug_mm = 0.06", 'color = "wood"'), "vermillion"),
        (("snug_mm = 0.06", "snug_mm = 0.06\npress_mm = 0.1"), "press must be the tightest"),
        (("kerf_mm = 0.004", "kerf_mm = -0.004"), """kerf_mm of stocks."birch 4".uncertainty is -0.004 mm"""),
        (("kerf_mm = 0.004", "sliding_mm = 0.004"), "but not sliding_mm"),
        (("[300, 0], [300, 100]", "[300, 100], [300, 0]"), "crosses or touches itself"),
        (("[300, 100],", "[300],"), "give two numbers"),
        (("width_mm = 600\nheight_mm = 400\ncount", "width_mm = 600\ncount"), "needs width_mm and height_mm"),
        (('[[stocks."birch 4".sheets]]', '[stocks."birch 4".sheets]'), "begin each entry with [[stocks"),
        (("[machine]", "[machine"), "this is not TOML"),
        (('[stocks."birch 4"]', "[stocks.birch 4]"), '; quote names with a space: [stocks."birch 4"]'),
        (
            ('[[stocks."birch 4".sheets]]', "[[stocks.birch 4.sheets]]"),
            '; quote names with a space: [[stocks."birch 4".sheets]]',
        ),
        (("kerf_mm = 0.19", "kerf mm = 0.19"), '; quote names with a space: "kerf mm" = …'),
        (("kerf_mm = 0.19", "kerf_mm = 0.19\nkerf_mm = 0.2"), "this is not TOML"),
    ],
)
def test_errors_name_file_table_key_value_and_what_to_give(change: tuple[str, str], words: str) -> None:
    """One thing wrong at a time; the untouched file is fine."""
    assert STUDIO.count(change[0]) >= 1
    with pytest.raises(ValueError, match=r"shop\.toml") as caught:
        Shop.from_text(STUDIO.replace(change[0], change[1], 1))
    assert words in str(caught.value)
    assert type(caught.value).__name__ == "ShopError"


@pytest.mark.parametrize("line", ["kerf_mm = ", 'kerf_mm = 0.1 "mm"', '[stocks."birch 5"', "[stocks.birch", "= 3"])
def test_no_quotes_are_asked_for_where_none_are_missing(line: str) -> None:
    """Other lines that do not parse are told by what the parser says only."""
    with pytest.raises(ValueError, match="this is not TOML") as caught:
        Shop.from_text(STUDIO + line + "\n")
    assert "quote" not in str(caught.value)


def test_a_stock_that_no_laser_may_cut(tmp_path: Path) -> None:
    """Refused by the file's table, unless the machine is no laser."""
    text = '[stocks.sign]\nmaterial = "PVC foam"\nthickness_mm = 5\n'
    with pytest.raises(ValueError, match=r"stocks\.sign.*chlorine / HCl; corrodes optics") as caught:
        Shop.from_text(text)
    assert isinstance(caught.value.__cause__, MaterialError)
    router = Shop.from_text('[machine]\ncutter = "router"\n' + text)
    assert router["sign"].cutter == "router"
    assert router["birch 4"].cutter == "router", "shipped stocks are cut by the shop's machine too"


def test_unknown_stock_names_the_nearest() -> None:
    """Among the shop's own and the shipped ones."""
    with pytest.raises(ValueError, match="did you mean 'grey card'"):
        Shop.from_text(STUDIO)["gray card"]
    with pytest.raises(ValueError, match=r"no shop\.toml is in force; did you mean 'acrylic 3'"):
        stock("acryl 3")


def test_fits_by_name() -> None:
    """`Stock.fit` gives what was tried, and says what to do where nothing was."""
    ply = Shop.from_text(STUDIO)["birch 4"]
    assert [ply.fit("press"), ply.fit("snug"), ply.fit("sliding")] == [-0.05, 0.06, 0.2]
    with pytest.raises(SizeError, match="'grey card' has no press fit"):
        Shop.from_text(STUDIO)["grey card"].fit("press")
    with pytest.raises(SizeError, match="give one of press, snug, sliding"):
        ply.fit("loose")  # type: ignore[arg-type]  # wrong on purpose


class TestInForce:
    @pytest.fixture
    def design(self, tmp_path: Path) -> Path:
        path = tmp_path / "stand.py"
        path.write_text(textwrap.dedent(DESIGN), encoding="utf-8")
        return path

    def thickness(self, design: Path, **more: Any) -> float:
        return run(load_design(design, **more)).product().parts[0].stock.t

    def test_shop_beside_the_design_given_or_shipped(self, design: Path, tmp_path: Path) -> None:
        """--shop goes before the file beside the design, and that before the shipped stocks."""
        assert self.thickness(design) == 4.0
        (tmp_path / "shop.toml").write_text(STUDIO, encoding="utf-8")
        assert self.thickness(design) == 3.87
        other = tmp_path / "other.toml"
        other.write_text(STUDIO.replace("3.87", "4.02"), encoding="utf-8")
        assert self.thickness(design, shop=other) == 4.02
        assert stock("birch 4").t == 4.0, "nothing stays in force after a design has run"

    def test_blocks_nest_and_end(self) -> None:
        """`using` puts back what was in force before, also after an error."""
        outer = Shop.from_text(STUDIO)
        inner = Shop.from_text(STUDIO.replace("3.87", "4.02"))
        with using(outer):
            with using(inner):
                assert stock("birch 4").t == 4.02
            with pytest.raises(ZeroDivisionError), using(inner):
                _ = 1 / 0
            assert stock("birch 4").t == 3.87
        assert stock("birch 4").t == 4.0

    def test_missing_and_wrong_files(self, design: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """In words, with exit code 2."""
        assert main(["check", str(design), "--shop", str(tmp_path / "none.toml")]) == 2
        assert "there is no shop file" in capsys.readouterr().err
        (tmp_path / "shop.toml").write_bytes("[machine]\nname = 'Käthe'".encode("latin-1"))
        assert main(["check", str(design)]) == 2
        assert "not UTF-8" in capsys.readouterr().err
        design.write_text(DESIGN.replace("birch 4", "brich 4"), encoding="utf-8")
        (tmp_path / "shop.toml").write_text(STUDIO, encoding="utf-8")
        assert main(["check", str(design)]) == 2
        said = capsys.readouterr().err
        assert "shop.toml has no stock 'brich 4', nor is one shipped; did you mean 'birch 4'?" in said
        assert "stand.py:6: PLY = stock(" in said

    def test_build_says_what_is_uncalibrated(self, design: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """With shipped stock: a warning and a note in the output and the manifest; with a measured one: neither."""
        assert main(["build", str(design), "--out", str(tmp_path / "out")]) == 0
        said = capsys.readouterr().out
        assert "note UNCALIBRATED: stock 'birch 4' is uncalibrated: 4 mm thick as sold, cut with a kerf of 0.217 mm" in said
        assert "warning MEASURE-FIRST: stock 'birch 4' is not measured: sheets sold as 4 mm are 3.50 to 4.30 mm" in said
        assert "measure first" in said
        manifest = json.loads((tmp_path / "out" / "manifest.json").read_text("utf-8"))
        assert [check["code"] for check in manifest["checks"]] == ["MEASURE-FIRST", "UNCALIBRATED"]
        assert manifest["checks"][0]["plates"] == ["base", "back"]
        (entry,) = manifest["stocks"]
        assert (entry["stock"], entry["is_calibrated"], entry["measured_thickness_mm"]) == ("birch 4", False, None)
        assert entry["sources"]["kerf_mm"].startswith("laserengravingservice.co.uk")
        (tmp_path / "shop.toml").write_text(STUDIO, encoding="utf-8")
        assert main(["build", str(design), "--out", str(tmp_path / "out")]) == 0
        assert "found nothing wrong" in capsys.readouterr().out
        manifest = json.loads((tmp_path / "out" / "manifest.json").read_text("utf-8"))
        assert manifest["checks"] == []
        assert manifest["stocks"][0]["sources"]["kerf_mm"] == "shop.toml, ±0.004 mm"
        assert manifest["panels"][0]["thickness_mm"] == 3.87

    def test_cautions_are_in_the_manifest(self, design: Path, tmp_path: Path) -> None:
        """Fire, fumes, eyes, and who has the last word."""
        assert main(["build", str(design), "--out", str(tmp_path / "out")]) == 0
        cautions = json.loads((tmp_path / "out" / "manifest.json").read_text("utf-8"))["cautions"]
        text = " ".join(cautions)
        for word in ("fire", "fumes", "eyes", "the machine's manual", "rules of your place"):
            assert word in text, word

    def test_panel_larger_than_the_bed(self, design: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """It may lie either way round, but it has to lie on it; the sheet may be larger than the bed."""
        text = STUDIO.replace("width_mm = 600\nheight_mm = 400", "width_mm = 1220\nheight_mm = 2440")
        (tmp_path / "shop.toml").write_text(text, encoding="utf-8")
        assert main(["check", str(design), "--set", "width=585", "height=376"]) == 0  # the margin of what the bed takes is kept
        capsys.readouterr()
        assert main(["check", str(design), "--set", "width=410", "height=590"]) == 1
        assert "error BED: panel 'back' is 410.0 × 593.9 mm" in capsys.readouterr().out


def test_a_design_cannot_get_round_the_refusal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Not even with --anyway: there is no product to write."""
    path = tmp_path / "sign.py"
    path.write_text(DESIGN.replace('stock("birch 4")', '__import__("panelwright.plates").plates.Stock("P.V.C.", 3)'))
    assert main(["build", str(path), "--out", str(tmp_path / "out"), "--anyway"]) == 2
    assert "must not be cut by laser: chlorine / HCl; corrodes optics (UIC fab lab" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({}, "no measured thickness is stated, and its kerf is 0 mm, which no laser has, so parts come out smaller"),
        ({"kerf": 0.2}, "no measured thickness is stated; state measured= as measured"),
        ({"measured": 3.9}, "which no laser has, so parts come out smaller and slots wider; state kerf= as measured"),
        ({"measured": 3.9, "cutter": "router"}, "its kerf is 0 mm, which no router has"),
        ({"cutter": "knife"}, "no measured thickness is stated; state measured= as measured"),
        ({"measured": 3.9, "cutter": "knife"}, ""),
        ({"measured": 3.9, "kerf": 0.2}, ""),
    ],
)
def test_what_a_design_leaves_unmeasured_is_told_and_never_called_calibrated(given: dict[str, Any], says: str) -> None:
    """A stock that a design states is stated in the design: uncalibrated where it gives no measured thickness or no kerf."""
    from panelwright.assemblies import Assembly
    from panelwright.assemblies.output.manifest import manifest_of
    from panelwright.assemblies.report import report_html
    from panelwright.plates import rectangle

    board = Assembly("tile board", stock=Stock("birch plywood", 4, **given))
    board.add("board", rectangle(120, 80))
    product = board.product()
    assert [finding.code for finding in product.findings] == (["UNCALIBRATED"] if says else [])
    level = "warning" if "which no" in says else "note"  # then every fit is wrong by it
    assert all(says in finding.message and finding.level == level for finding in product.findings)
    manifest = manifest_of(product, {})
    assert (manifest["stocks"][0]["is_calibrated"], manifest["stocks"][0]["sources"]) == (False, {})
    assert "<td>stated in the design</td>" in report_html(product, manifest).decode()


CALIBRATED = """
[stocks."birch 4"]
based_on = "birch 4"
measured_mm = 3.87
kerf_mm = 0.19
snug_mm = 0.05
"""


class TestCopies:
    """What a design changes of a stock of the shop is the design's own, and told so."""

    def test_an_altered_number_is_stated_in_the_design(self) -> None:
        """The sources of all others stay; one that had no source gets one."""
        shelf = Shop.from_text(CALIBRATED)["birch 4"]
        before = dict(shelf.sources)
        for change, key in (
            ({"kerf": 0.3}, "kerf_mm"),
            ({"measured": 3.9}, "measured_mm"),
            ({"clearance": 0.06}, "snug_mm"),
            ({"sliding": 0.25}, "sliding_mm"),
            ({"density": 700}, "density_kg_m3"),
            ({"youngs_modulus": 9000}, "youngs_modulus_mpa"),
        ):
            copy = replace(shelf, **change)
            assert dict(copy.sources) == {**before, key: "stated in the design"}
            assert copy.is_calibrated == (key not in ("kerf_mm", "measured_mm"))
        tolerance = replace(shelf, tolerance=(-0.1, 0.1))
        assert [key for key, said in tolerance.sources if said == "stated in the design"] == ["tolerance_standard"]

    def test_copies_that_change_no_number_are_as_they_were(self) -> None:
        """Nor does a change back make a number the shop's again, or a second copy lose what the first has said."""
        shelf = Shop.from_text(CALIBRATED)["birch 4"]
        assert replace(shelf, color="blue").sources == shelf.sources
        assert replace(shelf, kerf=0.19) == shelf
        assert replace(shelf, color="blue").is_calibrated
        twice = replace(replace(shelf, kerf=0.3), color="blue")
        assert dict(twice.sources)["kerf_mm"] == "stated in the design"
        assert not twice.is_calibrated
        assert pickle.loads(pickle.dumps(twice)) == twice

    def test_whoever_changes_number_and_source_together_is_believed(self) -> None:
        """The words given stay."""
        shelf = Shop.from_text(CALIBRATED)["birch 4"]
        told = replace(shelf, kerf=0.3, sources=tuple({**dict(shelf.sources), "kerf_mm": "gauge of May"}.items()))
        assert dict(told.sources)["kerf_mm"] == "gauge of May"
        assert told.is_calibrated

    def test_the_proof_says_what_the_design_has_altered(self) -> None:
        """An uncalibrated stock, though the shop has measured the one that it is made of."""
        shelf = Shop.from_text(CALIBRATED)["birch 4"]
        codes = []
        for sheet in (shelf, replace(shelf, kerf=0.3)):
            tray = Assembly("tray", stock=sheet)
            tray.add("base", rectangle(60, 40))
            codes.append([f for f in tray.product().findings if f.code == "UNCALIBRATED"])
        assert codes[0] == []
        (finding,) = codes[1]
        assert "the design states its kerf_mm itself: leave that to the shop file" in finding.message

    @pytest.mark.parametrize("given", [None, "kerf", [], (1,), (("kerf", "x", 1.0),), (([], "x", 1.0),)])
    def test_what_a_copy_carries_is_not_to_be_given(self, given: object) -> None:
        """Anything but what a stock has made itself is refused."""
        with pytest.raises(ArgumentError, match="leave it out"):
            Stock("card", 2, vouched=given)  # type: ignore[arg-type]  # wrong on purpose
