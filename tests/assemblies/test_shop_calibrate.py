"""Calibration: readings that cannot be right are refused; the shop file is edited whole, comments kept, or not at all."""

from __future__ import annotations

import json
import math
import multiprocessing
import os
import stat
import tomllib
from pathlib import Path
from typing import Any

import pytest
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.measuring.calibrate import _STUDENT, Calibration, Measured, Readings, calibrate, record
from panelwright.assemblies.shop import Shop
from panelwright.assemblies.shop.edit import edit_shop
from panelwright.assemblies.shop.shelf import Shelf
from panelwright.plates import OutputError, ShopError, SizeError, Stock
from panelwright.plates.materials.believed_thickness import believed_range

PLY = Stock("birch plywood", 4, kerf=0.217, name="birch 4", tolerance=(-0.5, 0.3), is_calibrated=False)
KERF = Calibration({"kerf_mm": Measured(0.19, 0.004, "10 strips")}, {"mark_mm_s": 150.0})

STUDIO = """\
# the studio's shelf
currency = "EUR"   # what prices are in

# bought in May
[stocks."birch 4"]
based_on = "birch 4"   # the usual
kerf_mm = 0.217        # as published
# the last sheet was thinner
measured_mm = 3.9

[[stocks."birch 4".sheets]]
width_mm = 600   # half a sheet
height_mm = 400

[machine]   # the big one
bed_mm = [600, 400]

[stocks.card]
material = "grey card"
thickness_mm = 1.5
"""


class TestArithmetic:
    def test_by_hand(self) -> None:
        """Three readings of 3.90, 3.92 and 3.94: mean 3.92, s 0.02, t 4.303; and 10 strips of 78.10 and 78.14."""
        found = calibrate(Shelf(PLY), Readings((3.90, 3.92, 3.94), (78.10, 78.14))).values
        assert found["measured_mm"].value == pytest.approx(3.92)
        wide = math.hypot(0.02, 4.303 * 0.02 * math.sqrt(1 + 1 / 3))
        assert wide + 0.0004 <= found["measured_mm"].plus_minus <= wide + 0.0016
        assert found["kerf_mm"].value == pytest.approx(0.188)
        s = 0.04 / math.sqrt(2)
        wide = math.hypot(0.02, 12.706 * s / math.sqrt(2)) / 10
        assert wide + 0.0004 <= found["kerf_mm"].plus_minus <= wide + 0.0016

    def test_student_t_is_what_the_distribution_says(self) -> None:
        """The quantiles, by integrating Student's density numerically: 2.5 % lies beyond on either side."""
        for freedom, t in enumerate(_STUDENT, start=1):
            scale = math.gamma((freedom + 1) / 2) / (math.sqrt(freedom * math.pi) * math.gamma(freedom / 2))
            steps = 20000
            grid = [t * i / steps for i in range(steps + 1)]
            density = [scale * (1 + x * x / freedom) ** (-(freedom + 1) / 2) for x in grid]
            inside = 2 * (sum(density) - (density[0] + density[-1]) / 2) * t / steps
            assert inside == pytest.approx(0.95, abs=1e-4)

    def test_more_readings_and_a_better_caliper_make_it_surer(self) -> None:
        """± shrinks with both."""
        readings = (78.1, 78.12, 78.08)
        few, many = (calibrate(Shelf(PLY), Readings(strips=readings * n)).values["kerf_mm"].plus_minus for n in (1, 3))
        fine = calibrate(Shelf(PLY), Readings(strips=readings * 3, caliper=0.005)).values["kerf_mm"].plus_minus
        assert few > many > fine

    def test_why_more_readings_of_the_strips_are_less_sure_is_said(self) -> None:
        """By hand: Student's 4.303 x 0.02 / √3 beside the caliper's 0.02 mm, over ten strips, is ±0.0054 mm."""
        assert calibrate(Shelf(PLY), Readings(strips=(78.1,))).remarks == ()
        assert calibrate(Shelf(PLY), Readings(strips=(78.1, 78.1, 78.1))).remarks == ()
        found = calibrate(Shelf(PLY), Readings(strips=(78.1, 78.12, 78.08)))
        assert found.values["kerf_mm"].plus_minus == 0.006  # 0.0054, and half a thousandth for rounding
        (remark,) = found.remarks
        assert "±0.006 mm, more than the ±0.003 mm of one reading alone" in remark
        assert "lie 0.04 mm apart" in remark

    def test_a_fit_by_tabs_is_as_unsure_as_half_a_step_and_two_kerfs(self) -> None:
        """By hand: kerf ±0.003, a comb of steps of 0.05: √(0.025² + (2 x 0.003)²) = 0.0257, so ±0.027 as written."""
        found = calibrate(Shelf(PLY), Readings(strips=(78.1,), thickness=(3.9,), tabs={"snug": 6.35})).values["snug_mm"]
        assert found.plus_minus == 0.027
        rough = calibrate(Shelf(PLY), Readings(strips=(78.1,), thickness=(3.9,), tabs={"snug": 6.35}, caliper=0.2))
        # kerf ±0.021 as written: √(0.025² + 0.042²) = 0.0489
        assert rough.values["snug_mm"].plus_minus == 0.05

    def test_values_measured_before_are_used(self) -> None:
        """Fits alone need no new strips where the file has thickness and kerf already, with their ±."""
        shop = Shop.from_text(
            '[stocks.ply]\nbased_on = "birch 4"\nmeasured_mm = 3.9\nkerf_mm = 0.19\nuncertainty = {kerf_mm = 0.1}\n'
        )
        found = calibrate(shop.shelf("ply"), Readings(slots={"snug": 3.75})).values
        assert list(found) == ["snug_mm"]
        assert found["snug_mm"].value == pytest.approx(0.04)
        assert found["snug_mm"].plus_minus > 0.1

    def test_slots_and_tabs_that_disagree_are_told(self) -> None:
        """The slots count; tabs that say 0.2 mm more are reported with both numbers."""
        agree = Readings((3.9,), (78.1,), {"snug": 3.75}, {"snug": 6.35})
        assert "tabs" not in " ".join(calibrate(Shelf(PLY), agree).remarks)
        found = calibrate(Shelf(PLY), Readings((3.9,), (78.1,), {"snug": 3.75}, {"snug": 6.15}))
        assert found.values["snug_mm"].value == pytest.approx(0.04)
        assert any("0.040 mm by the slots and 0.230 mm by the tabs, 0.190 mm apart" in remark for remark in found.remarks)

    def test_sheet_outside_its_standard_is_told(self) -> None:
        """3.4 mm is less than EN 315 lets a 4 mm sheet be."""
        (remark,) = calibrate(Shelf(PLY), Readings((3.4, 3.42))).remarks
        assert "3.4 mm lies outside the 3.5 to 4.3 mm" in remark
        (remark,) = calibrate(Shelf(PLY), Readings((3.9,))).remarks
        assert "one reading of the thickness" in remark

    @pytest.mark.parametrize(
        ("readings", "words"),
        [
            (Readings(), "there are no readings"),
            (Readings((39.2,)), "are the readings in mm?"),
            (Readings((0.0,)), "above 0"),
            (Readings((math.nan,)), "finite"),
            (Readings(strips=(70.2,)), "would mean a kerf of 0.98 mm; are all 10 of them in the row"),
            (Readings(strips=(80.2,)), "more than the 80 mm drawn"),
            (Readings(strips=(78.1,), slots={"snug": 3.75}), "give --thickness too"),
            (Readings((3.9,), slots={"snug": 3.75}), "give --strips too"),
            (Readings(slots={"snug": 3.75}), "give --thickness and --strips too"),
            (Readings((3.9,), (78.1,), {"snug": 3.77}), "no slot of a coupon is marked 3.77"),
            (Readings((3.9,), (78.1,), {"snug": 7.35}), "would mean a clearance of 3.64 mm"),
            (Readings((3.9,), (78.1,), {"press": 3.8, "sliding": 3.7}), "were they exchanged?"),
            (Readings((3.9,), (78.1,), None, {"press": 6.2, "snug": 6.4}), "were they exchanged?"),
            (Readings((3.9,), (78.1,), None, {"snug": 6.33}), "no tab of a coupon is marked 6.33"),
            (Readings((3.9,), mark_mm_s=-5), "mark_mm_s is -5 mm/s"),
            (Readings((3.9,), caliper=0), "limit of error of the caliper"),
        ],
    )
    def test_readings_that_cannot_be_right(self, readings: Readings, words: str) -> None:
        """Each is refused with what to look for."""
        with pytest.raises((ShopError, SizeError)) as caught:
            calibrate(Shelf(PLY), readings)
        assert words in str(caught.value)

    @pytest.mark.parametrize("nominal", [1.5, 3.0, 6.0])
    @pytest.mark.parametrize("by", ["stock", "shop file", "calibrate"])
    def test_one_range_of_thickness_is_believed(self, nominal: float, by: str) -> None:
        """Thin acrylic may be 0.55 mm off (ISO 7823-1, and a caliper): all three take it, and none takes a hair more."""

        def attempt(reading: float) -> object:
            if by == "stock":
                return Stock("cast acrylic", nominal, measured=reading)
            if by == "calibrate":
                return calibrate(Shelf(Stock("cast acrylic", nominal)), Readings((reading,)))
            rows = ("[stocks.sheet]", 'material = "cast acrylic"', f"thickness_mm = {nominal}", f"measured_mm = {reading}")
            return Shop.from_text("\n".join(rows))

        least, most = believed_range(nominal)
        assert most - nominal == pytest.approx(max(nominal / 4, 0.45 + nominal / 10))
        assert all(attempt(reading) for reading in (least, most))
        for reading in (least - 0.01, most + 0.01):
            with pytest.raises((ShopError, SizeError), match=f"from {least:g} to {most:g} mm is believed"):
                attempt(reading)

    def test_burr_on_a_knife_cut_is_kerf_nought(self) -> None:
        """Strips a hair wider than drawn, within what the caliper may be off, mean no kerf."""
        assert calibrate(Shelf(PLY), Readings(strips=(80.01,))).values["kerf_mm"].value == 0.0


class TestFile:
    def test_comments_order_and_everything_else_survive(self, tmp_path: Path) -> None:
        """Only the lines that were measured change; new ones are added to their own table."""
        path = tmp_path / "shop.toml"
        path.write_text(STUDIO, encoding="utf-8")
        shop = record(path, "birch 4", KERF)
        text = path.read_text("utf-8")
        assert shop["birch 4"].kerf == 0.19
        assert shop.shelf("birch 4").uncertainty == {"kerf_mm": 0.004}
        assert dict(shop["birch 4"].sources)["kerf_mm"] == "10 strips, ±0.004 mm"
        assert shop["birch 4"].is_calibrated
        changed = STUDIO.replace("kerf_mm = 0.217        # as published", "kerf_mm = 0.19        # as published")
        old = [line for line in changed.splitlines() if line]
        assert [line for line in text.splitlines() if line in old] == old, "every old line is there, in the old order"
        plain = tomllib.loads(STUDIO)
        plain["stocks"]["birch 4"] |= {
            "kerf_mm": 0.19,
            "mark_mm_s": 150.0,
            "uncertainty": {"kerf_mm": 0.004},
            "sources": {"kerf_mm": "10 strips"},
        }
        assert tomllib.loads(text) == plain
        record(path, "birch 4", KERF)
        assert path.read_text("utf-8") == text, "the same readings again change nothing"

    @pytest.mark.parametrize(
        "text",
        [
            "",
            "# only a comment\n",
            "[machine]\nbed_mm = [600, 400]\n",
            'stocks."birch 4".based_on = "birch 4"\n',
            'stocks."birch 4".based_on = "birch 4" # dotted\nstocks."birch 4".kerf_mm = 0.3\n[machine]\n',
            '[stocks]\n"birch 4" = {based_on = "birch 4", kerf_mm = 0.2} # inline\n',
            'stocks = {"birch 4" = {based_on = "birch 4"}}\n',
            '[stocks]\n[stocks."birch 4"]\nbased_on = "birch 4"\nkerf_mm = 0.2\n[stocks."birch 4".uncertainty]\n'
            "kerf_mm = 0.1\n[machine]\n",
            '[stocks.a]\nbased_on = "MDF 3"\n[machine]\n[stocks."birch 4"]\nbased_on = "birch 4"\n[[stocks.a.sheets]]\n'
            "width_mm = 1\nheight_mm = 1\n",
            '[stocks."birch 4"]\nkerf_mm = 0.2\nmaterial = "birch"\nthickness_mm = 4\n[stocks."birch 4".sources]\n'
            'kerf_mm = "a friend"',
        ],
    )
    def test_however_the_file_is_written(self, tmp_path: Path, text: str) -> None:
        """The result holds what it held, and what was measured; or a clear refusal leaves the file as it was."""
        path = tmp_path / "shop.toml"
        path.write_text(text, encoding="utf-8")
        shop = record(path, "birch 4", KERF)
        assert (shop["birch 4"].kerf, shop.shelf("birch 4").mark_mm_s) == (0.19, 150.0)
        assert Shop.read(path) == shop
        before, after = tomllib.loads(text), tomllib.loads(path.read_text("utf-8"))
        before.setdefault("stocks", {}).setdefault("birch 4", {"based_on": "birch 4"})
        entry = before["stocks"]["birch 4"]
        entry |= {"kerf_mm": 0.19, "mark_mm_s": 150.0}
        entry["uncertainty"] = entry.get("uncertainty", {}) | {"kerf_mm": 0.004}
        entry["sources"] = entry.get("sources", {}) | {"kerf_mm": "10 strips"}
        assert after == before
        for line in text.splitlines():
            comment = line.partition("#")[2]
            assert comment in path.read_text("utf-8")

    def test_windows_line_ends_and_byte_order_mark_stay(self, tmp_path: Path) -> None:
        """As the editor left them."""
        path = tmp_path / "shop.toml"
        path.write_bytes(b"\xef\xbb\xbf" + STUDIO.replace("\n", "\r\n").encode())
        record(path, "birch 4", KERF)
        data = path.read_bytes()
        assert data.startswith(b"\xef\xbb\xbf# the studio")
        assert data.count(b"\n") == data.count(b"\r\n") > 20
        assert b"\r\r" not in data
        assert Shop.read(path)["birch 4"].kerf == 0.19

    def test_permissions_and_links_stay(self, tmp_path: Path) -> None:
        """A file that only its owner may read stays so; a link is written through."""
        real = tmp_path / "real.toml"
        real.write_text(STUDIO, encoding="utf-8")
        real.chmod(0o640)
        link = tmp_path / "shop.toml"
        link.symlink_to(real)
        record(link, "birch 4", KERF)
        assert link.is_symlink()
        assert stat.S_IMODE(real.stat().st_mode) == 0o640
        assert Shop.read(real)["birch 4"].kerf == 0.19
        assert sorted(entry.name for entry in tmp_path.iterdir()) == ["real.toml", "shop.toml"]

    def test_wrong_result_leaves_the_file(self, tmp_path: Path) -> None:
        """A press fit looser than the file's snug one is no valid stock; nothing is written, nothing left behind."""
        path = tmp_path / "shop.toml"
        text = STUDIO.replace("measured_mm = 3.9", "measured_mm = 3.9\nsnug_mm = 0.02")
        path.write_text(text, encoding="utf-8")
        press = Calibration({"press_mm": Measured(0.1, 0.03, "slot 3.80 of the coupon")}, {})
        with pytest.raises(ShopError, match="press must be the tightest"):
            record(path, "birch 4", press)
        assert path.read_text("utf-8") == text
        assert [entry.name for entry in tmp_path.iterdir()] == ["shop.toml"]

    def test_full_disk_leaves_the_file(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Whatever the file system does before the rename."""
        path = tmp_path / "shop.toml"
        path.write_text(STUDIO, encoding="utf-8")

        def fail(*_: object) -> None:
            raise OSError(28, "No space left on device")

        for name in ("fsync", "replace"):
            with monkeypatch.context() as patch:
                patch.setattr(os, name, fail)
                with pytest.raises(OutputError, match="the disk is full; what was there before is untouched"):
                    record(path, "birch 4", KERF)
            assert path.read_text("utf-8") == STUDIO
            assert [entry.name for entry in tmp_path.iterdir()] == ["shop.toml"]

    def test_edit_in_an_editor_meanwhile_is_not_lost(self, tmp_path: Path) -> None:
        """A save by somebody else between reading and writing stops the write."""
        path = tmp_path / "shop.toml"
        path.write_text(STUDIO, encoding="utf-8")

        def change(doc: Any) -> None:
            doc["currency"] = "CHF"
            path.write_text(STUDIO + "# saved meanwhile\n", encoding="utf-8")

        with pytest.raises(ShopError, match=r"changed by another program meanwhile.*run this again"):
            edit_shop(path, change)
        assert path.read_text("utf-8") == STUDIO + "# saved meanwhile\n"
        assert [entry.name for entry in tmp_path.iterdir()] == ["shop.toml"]

    def test_text_that_says_something_else_than_was_meant_is_not_written(self, tmp_path: Path) -> None:
        """Should the editing of the text ever go wrong, the file stays."""
        import tomlkit

        path = tmp_path / "shop.toml"
        path.write_text(STUDIO, encoding="utf-8")

        def change(doc: Any) -> None:
            doc["machine"]["cost_per_hour"] = tomlkit.items.Integer(20, tomlkit.items.Trivia(), "30")

        with pytest.raises(ShopError, match="cannot be edited without harm; nothing was written"):
            edit_shop(path, change)
        assert path.read_text("utf-8") == STUDIO

    def test_many_processes_at_once_lose_nothing(self, tmp_path: Path) -> None:
        """Eight calibrations of eight stocks, at the same time: all are there."""
        path = tmp_path / "shop.toml"
        path.write_text("# ours\n", encoding="utf-8")
        names = Shop.of_shipped().names[:8]
        with multiprocessing.get_context("spawn").Pool(4) as pool:
            pool.starmap(_record_one, [(str(path), name) for name in names])
        shop = Shop.read(path)
        assert set(shop.shelves) == set(names)
        assert path.read_text("utf-8").startswith("# ours\n")

    def test_unknown_stock_and_missing_folder(self, tmp_path: Path) -> None:
        """Nothing is created for either."""
        with pytest.raises(ShopError, match="did you mean 'birch 4'"):
            record(tmp_path / "shop.toml", "brich 4", KERF)
        with pytest.raises(OutputError, match="there is no folder"):
            record(tmp_path / "nowhere" / "shop.toml", "birch 4", KERF)
        assert list(tmp_path.iterdir()) == []


def _record_one(path: str, name: str) -> None:
    record(path, name, KERF)


class TestCommand:
    def test_from_coupon_to_calibrated_build(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """First thickness and strips, then fits; the file is made, the stock is calibrated, values are told with their ±."""
        monkeypatch.chdir(tmp_path)
        assert main(["calibrate", "birch 4", "--thickness", "3.9", "3.92", "3.91"]) == 0
        said = capsys.readouterr().out
        assert "thickness  3.910 ± 0.0" in said
        assert "still uncalibrated: give --strips too" in said
        assert main(["calibrate", "birch 4", "--strips", "78.1", "78.11", "--cut-speed", "14"]) == 0
        said = capsys.readouterr().out
        assert "kerf       0.190 ± 0.0" in said
        assert "uncalibrated" not in said
        assert main(["calibrate", "birch 4", "--press", "3.65", "--snug", "3.75", "--sliding", "3.9", "--json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert found["is_calibrated"] is True
        assert found["values"]["clearance_mm"]["value_mm"] == pytest.approx(3.75 + 0.1895 - 3.91, abs=1e-3)
        shelf = Shop.read("shop.toml").shelf("birch 4")
        assert shelf.stock.is_calibrated
        assert shelf.cut_mm_s == 14
        assert shelf.stock.press is not None
        assert shelf.stock.sliding is not None
        assert shelf.stock.press < shelf.stock.clearance < shelf.stock.sliding
        text = Path("shop.toml").read_text("utf-8")
        assert text.startswith("# The shop:")

    def test_dry_run_writes_nothing(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """It says the same otherwise."""
        path = tmp_path / "shop.toml"
        assert main(["calibrate", "birch 4", "--strips", "78.1", "--shop", str(path), "--dry-run"]) == 0
        assert "kerf  0.190 ± 0.003 mm (10 strips of the coupon, 1 reading)" in capsys.readouterr().out
        assert not path.exists()

    def test_failed_calibration_leaves_the_file(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Exit code 2, the reason, the same bytes."""
        path = tmp_path / "shop.toml"
        path.write_text(STUDIO, encoding="utf-8")
        for arguments, words in (
            (["--strips", "70.2"], "are all 10 of them in the row"),
            (["--snug", "3.77"], "no slot of a coupon is marked 3.77"),
            (["--strips", "78,1"], "'78,1' is not a valid float"),
            ([], "there are no readings"),
        ):
            assert main(["calibrate", "birch 4", "--shop", str(path), *arguments]) == 2
            assert words in capsys.readouterr().err
        path.write_text(STUDIO.replace("kerf_mm", "kerf"), encoding="utf-8")
        assert main(["calibrate", "birch 4", "--shop", str(path), "--strips", "78.1"]) == 2
        assert "did you mean 'kerf_mm'?" in capsys.readouterr().err
        assert path.read_text("utf-8") == STUDIO.replace("kerf_mm", "kerf")
