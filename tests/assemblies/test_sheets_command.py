"""Sheets from the command line: with a build, by `nest`, from a job file; what goes wrong leaves the old output as it was."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.nest import search
from panelwright.assemblies.shop.shop_file import Shop
from studio import SHOP

DESIGN = '''
from typing import Annotated

from panelwright.assemblies import Assembly, stock, tray
from panelwright.plates import Range


def design(width: Annotated[float, Range(80, 500)] = 180.0, lid: bool = False) -> Assembly:
    """A tray for glaze cards."""
    return tray("card tray", stock=stock("birch 4"), width=width, depth=120, height=60 if lid else 50)
'''

JOB = """
[[products]]
design = "card_tray.py"
copies = 2
set = { width = 220, lid = true }

[[products]]
design = "card_tray.py"

[[pins]]
panel = "card tray 2/base"
sheet = "600 X 400"
x_mm = 250
y_mm = 120
turn_deg = 90
"""


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "card_tray.py").write_text(DESIGN, encoding="utf-8")
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "march.toml").write_text(JOB, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def manifest(folder: Path) -> dict[str, Any]:
    return dict(json.loads((folder / "manifest.json").read_text(encoding="utf-8")))


def files_in(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_a_build_writes_sheets_and_tells_of_them(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Files, manifest, bill, report and console all say the same."""
    assert main(["build", "card_tray.py", "--out", "out", "--effort", "20"]) == 0
    said = capsys.readouterr().out
    told = manifest(bench / "out")
    names = [sheet["name"] for sheet in told["sheets"]]
    assert names == [f"sheet-{n}" for n in range(1, len(names) + 1)]
    assert {f"sheets/{name}.{ending}" for name in names for ending in ("dxf", "svg", "pdf")} <= files_in(bench / "out")
    assert all(sheet["files"] for sheet in told["sheets"])
    assert {path for sheet in told["sheets"] for path in sheet["files"]} <= set(told["files"])
    assert sum(len(sheet["parts"]) for sheet in told["sheets"]) == sum(plate["quantity"] for plate in told["panels"])
    assert {part["label"] for sheet in told["sheets"] for part in sheet["parts"]} >= {"A base"}
    assert told["cost"]["currency"] == "EUR"
    assert told["cost"]["total"] == pytest.approx(told["cost"]["sheets"] + told["cost"]["machine"])
    assert all(sheet["time"]["total_s"] > 0 for sheet in told["sheets"])
    assert "cost: sheets" in said
    assert "show face down" in said
    bill = (bench / "out" / "bom.csv").read_bytes()
    assert b"\r\nsheet," in bill
    page = (bench / "out" / "report.html").read_text(encoding="utf-8")
    assert all(f'id="panel-{name}"' in page for name in names)
    assert 'href="sheets/sheet-1.dxf"' in page


def test_the_same_bytes_twice(bench: Path) -> None:
    """Every file, the report among them."""
    for out in ("a", "b"):
        assert main(["build", "card_tray.py", "--out", out, "--effort", "20", "--ticks", "--paper", "A4"]) == 0
    first, second = ({name: (bench / out / name).read_bytes() for name in sorted(files_in(bench / out))} for out in ("a", "b"))
    assert first == second
    assert any(name.endswith("-A4.pdf") for name in first)


def test_no_sheets_on_request(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Neither files nor words nor a section of the report."""
    assert main(["build", "card_tray.py", "--out", "out", "--no-sheets"]) == 0
    assert not any(name.startswith("sheets") for name in files_in(bench / "out"))
    assert "sheets" not in manifest(bench / "out")
    assert "sheet-1" not in capsys.readouterr().out
    assert 'id="sheets"' not in (bench / "out" / "report.html").read_text(encoding="utf-8")


def test_nest_of_a_job_file(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two sizes of one design, three trays, and the base of the last one where its pin says."""
    assert main(["nest", "march.toml", "--out", "batch", "--effort", "20", "--no-marks", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    told = manifest(bench / "batch")
    assert [(p["label"], p["copies"], p["parameters"]["width"]) for p in told["products"]] == [
        ("card tray", 2, 220),
        ("card tray 2", 1, 180),
    ]
    assert sum(len(sheet["parts"]) for sheet in told["sheets"]) == 15
    assert sum(plate["quantity"] for plate in told["panels"]) == 15
    (pinned,) = [part for sheet in told["sheets"] for part in sheet["parts"] if part["panel"] == "card tray 2/base"]
    # the panel's own corner, mirrored first: it lies one width up from the pin, since the pin turns it by a quarter
    (base,) = [plate for plate in told["panels"] if plate["name"] == "card tray 2/base"]
    place = (pinned["x_mm"], pinned["y_mm"], pinned["turn_deg"], pinned["is_mirrored"])
    assert place == (250.0, pytest.approx(120.0 + base["bbox_mm"][0]), 90.0, True)
    assert said["sheets"][0]["name"] == "sheet-1"
    assert said["ok"] is True
    assert "assembly.step" not in files_in(bench / "batch")


def test_nest_of_designs_with_copies(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One number of copies for all, or one for each; settings go to a single design."""
    assert main(["nest", "card_tray.py", "--copies", "3", "--set", "width=140", "--out", "batch", "--effort", "5"]) == 0
    assert "card tray × 3: 15 parts" in capsys.readouterr().out
    assert main(["nest", "card_tray.py", "card_tray.py", "--copies", "2", "1", "--out", "batch", "--effort", "5"]) == 0
    assert [p["copies"] for p in manifest(bench / "batch")["products"]] == [2, 1]


def test_the_shop_file_is_brought_up_to_date(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Only on request, after everything is written; the next run takes what is left."""
    before = (bench / "shop.toml").read_bytes()
    assert main(["nest", "card_tray.py", "--copies", "3", "--out", "batch", "--effort", "5"]) == 0
    assert (bench / "shop.toml").read_bytes() == before
    assert main(["nest", "card_tray.py", "--copies", "3", "--out", "batch", "--effort", "5", "--update-shop"]) == 0
    assert "sheets taken off" in capsys.readouterr().out
    after = Shop.read(bench / "shop.toml").shelf("birch 4")
    assert after.sheets[0].count is not None
    assert after.sheets[0].count < 5
    assert "# bought in May" in (bench / "shop.toml").read_text(encoding="utf-8")


WRONG: list[tuple[list[str], str]] = [
    (["--time-limit", "0"], "time limit of the sheets is 0 s; it must be above 0"),
    (["--effort", "-3"], "effort of the sheets is -3"),
    (["--spacing", "0.1"], "less than the kerf"),
    (["--spacing", "900"], "more than the longer side"),
    (["--turn-step", "7"], "give one of 0.5° or more that divides 360°"),
    (["--bridge-width", "2"], "give --bridges N too"),
    (["--bridge-windows", "40"], "give --bridges N too"),
    (["--bridges", "2", "--bridge-windows", "-1"], "least size of windows with holding bridges is -1 mm"),
    (["--bridges", "400"], "too short for 400 bridges"),
    (["--shared-cuts", "--spacing", "3"], "give one of the two"),
    (["--paper", "A9"], "paper 'A9' is not known; give A4 or letter"),
    (["--least-offcut", "0", "50"], "least width of an offcut"),
    (["--set", "width=500"], "fits on no sheet"),
    (["--margin", "250"], "fits on no sheet"),
]


@pytest.mark.parametrize(("options", "says"), WRONG, ids=[" ".join(options) for options, _ in WRONG])
def test_wrong_options_leave_the_old_output(
    bench: Path, capsys: pytest.CaptureFixture[str], options: list[str], says: str
) -> None:
    """Told in one sentence, exit code 2, and the folder of the build before is as it was."""
    assert main(["build", "card_tray.py", "--out", "out", "--effort", "0"]) == 0
    before = {name: (bench / "out" / name).read_bytes() for name in files_in(bench / "out")}
    capsys.readouterr()
    bed = SHOP.replace("bed_mm = [650, 450]\n", "")  # so that a wide panel is a matter of sheets only
    (bench / "shop.toml").write_text(bed.replace("width_mm = 600", "width_mm = 400"), encoding="utf-8")
    assert main(["build", "card_tray.py", "--out", "out", *options]) in (1, 2)
    out, err = capsys.readouterr()
    assert says in err or "SHEET" in out
    assert {name: (bench / "out" / name).read_bytes() for name in files_in(bench / "out")} == before


JOBS: list[tuple[Callable[[str], str], str]] = [
    (lambda text: text.replace("copies = 2", "copies = 0"), "march.toml: copies of products[0] is 0"),
    (lambda text: text.replace("copies = 2", "copies = 90000"), "at most 20000 can be laid out together"),
    (lambda text: text.replace("copies", "copys"), "there is no key 'copys'"),
    (lambda text: text.replace("card_tray.py", "cord_tray.py"), "there is no design file"),
    (lambda text: text.replace("width = 220", "wide = 220"), "did you mean 'width'?"),
    (lambda text: text.replace("x_mm = 250", ""), "needs panel, sheet, x_mm and y_mm"),
    (lambda text: text.replace("600 X 400", "9 x 9"), "which is not there"),
    (lambda text: text.replace("2/base", "2/lid"), "there is no panel 'card tray 2/lid'"),
    (lambda text: text.replace("turn_deg = 90", "turn_deg = 45"), "it may only be turned in steps of 90°"),
    (lambda text: text.replace("x_mm = 250", "x_mm = 599"), "is 1 mm from the border; it must be 6 mm or more"),
    (lambda _: "", "there are no [[products]]"),
    (lambda _: "[[products]", "this is not TOML"),
]


@pytest.mark.parametrize(("change", "says"), JOBS, ids=[says[:40] for _, says in JOBS])
def test_wrong_job_files(bench: Path, capsys: pytest.CaptureFixture[str], change: Callable[[str], str], says: str) -> None:
    """Named with the file and the key; nothing is written."""
    (bench / "march.toml").write_text(change(JOB), encoding="utf-8")
    assert main(["nest", "march.toml", "--out", "batch", "--effort", "0"]) == 2
    assert says in capsys.readouterr().err
    assert not (bench / "batch").exists()


def test_a_product_that_fails_its_proof_is_not_nested(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its errors are told, nothing is written."""
    bad = DESIGN.replace("return tray", "made = tray").replace("import Range", "import Frame, Range, rectangle")
    bad += "    made.add('loose end', rectangle(20, 20), Frame((0, 0, 300)))\n    return made\n"
    (bench / "card_tray.py").write_text(bad, encoding="utf-8")
    assert main(["nest", "card_tray.py", "--out", "batch"]) == 1
    out = capsys.readouterr().out
    assert "FLOATS" in out
    assert "nothing written" in out
    assert not (bench / "batch").exists()


def test_an_interrupted_search_gives_its_best(
    bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C in the search ends the search only: everything is written, and said not to be reproducible."""
    tried: list[int] = []
    attempt = search._Run._attempt

    def interrupted(self: Any, *arguments: Any) -> Any:
        tried.append(1)
        if len(tried) > 3:
            raise KeyboardInterrupt
        return attempt(self, *arguments)

    monkeypatch.setattr(search._Run, "_attempt", interrupted)
    assert main(["build", "card_tray.py", "--out", "out"]) == 0
    assert "stopped from the keyboard after 3 attempts; another run may give another layout" in capsys.readouterr().out
    nests = manifest(bench / "out")["nests"]
    assert [(nest["interrupted"], nest["is_reproducible"]) for nest in nests] == [(True, False)]


def test_a_time_limit_is_said_not_to_be_reproducible(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """However long it is."""
    assert main(["build", "card_tray.py", "--out", "out", "--time-limit", "3600", "--effort", "3"]) == 0
    assert "ended by the clock" in capsys.readouterr().out
    assert manifest(bench / "out")["nests"][0]["is_reproducible"] is False


@pytest.mark.parametrize(("cutter", "says"), [("laser", "light that blinds"), ("router", "chips fly"), ("knife", "chips fly")])
def test_the_caution_is_that_of_the_cutter(bench: Path, capsys: pytest.CaptureFixture[str], cutter: str, says: str) -> None:
    """On the console of a build, of a nest and of a coupon."""
    shop = SHOP.replace("[machine]\n", f'[machine]\ncutter = "{cutter}"\n')
    (bench / "shop.toml").write_text(shop, encoding="utf-8")
    commands = [
        ["build", "card_tray.py", "--out", "out", "--no-sheets"],
        ["nest", "card_tray.py", "--out", "batch", "--effort", "0"],
    ]
    if cutter != "router":  # whose kerf is its tool's width, so it has no coupon
        commands.append(["coupon", "birch 4", "--thickness", "3.9", "--out", "test"])
    for command in commands:
        assert main(command) == 0
        assert says in capsys.readouterr().out


def test_a_nest_that_lays_nothing_out_is_an_error_that_says_what_to_write(
    bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No sheet is known of a shipped stock: nothing is written; what the error says to write into the shop file mends it."""
    (bench / "shop.toml").unlink()
    assert main(["nest", "card_tray.py", "--out", "batch"]) == 2
    said = capsys.readouterr().err
    assert "nothing could be laid out: no sheet size is known for birch 4" in said
    assert '[[stocks."birch 4".sheets]] with width_mm and height_mm, after [stocks."birch 4"] with based_on = "birch 4"' in said
    assert not (bench / "batch").exists()
    shop = '[stocks."birch 4"]\nbased_on = "birch 4"\n\n[[stocks."birch 4".sheets]]\nwidth_mm = 600\nheight_mm = 400\n'
    (bench / "shop.toml").write_text(shop, encoding="utf-8")
    assert main(["nest", "card_tray.py", "--out", "batch"]) == 0
    assert manifest(bench / "batch")["sheets"]


def test_what_was_not_laid_out_has_no_cost_yet(bench: Path) -> None:
    """A build whose stock has no sheets tells its costs as unknown, not as nothing, and what is missing."""
    (bench / "shop.toml").unlink()
    assert main(["build", "card_tray.py", "--out", "out"]) == 0
    cost = manifest(bench / "out")["cost"]
    assert {cost[key] for key in ("total", "sheets", "machine")} == {None}
    assert "sheet size of birch 4" in cost["missing"]
