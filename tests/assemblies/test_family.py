"""Families: every variant is built as `build` builds it, whoever makes it and in whichever order, and none stops the others."""

from __future__ import annotations

import csv
import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from families import HELPER, digests, studio_family
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.family.folder_of_family import held_folder, records_file
from panelwright.assemblies.family.records import Records
from panelwright.assemblies.family.rows import Row
from panelwright.plates.errors import OutputError

pytestmark = pytest.mark.skipif(not hasattr(os, "killpg"), reason="processes are ended by their group")

SIZES = ("variant,width,height,lid", "low,100,30,no", "high,100,60,no", "wide,180,30,yes", "narrow,70,30,no", "roomy,180,45,no")
COMMAND = [sys.executable, "-m", "panelwright.assemblies.commands.main", "family"]


def table(folder: Path, rows: tuple[str, ...] = SIZES, name: str = "sizes.csv") -> Path:
    """A CSV of these rows."""
    path = folder / name
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def family(design: Path, sizes: Path, out: Path, *more: str) -> int:
    """Run the command in this process; its variants are made in others."""
    return main(["family", str(design), str(sizes), "--out", str(out), *more])


def rows_of(out: Path) -> dict[str, dict[str, str]]:
    """`family.csv` by the names of variants."""
    with (out / "family.csv").open(encoding="utf-8", newline="") as file:
        return {row["variant"]: row for row in csv.DictReader(file)}


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the design, its table and the family that came of them by two processes."""
    folder = tmp_path_factory.mktemp("studio")
    design = studio_family(folder)
    assert family(design, table(folder), folder / "out", "--jobs", "2", "--effort", "5") == 0
    return folder


def test_each_variant_is_what_build_writes(studio: Path, tmp_path: Path) -> None:
    """The same bytes, file for file."""
    settings = ["--set", "width=180", "height=30", "lid=yes", "--effort", "5"]
    assert main(["build", str(studio / "stand.py"), "--out", str(tmp_path / "wide"), *settings]) == 0
    built = digests(tmp_path / "wide")
    assert len(built) > 10
    assert digests(studio / "out" / "variants" / "wide") == built


def test_the_list_tells_what_the_folders_tell(studio: Path) -> None:
    """Parameters, defaults too, and numbers as the manifests have them; sorted by name, read by Python's own reader."""
    rows = rows_of(studio / "out")
    assert list(rows) == ["high", "low", "narrow", "roomy", "wide"]
    for name, row in rows.items():
        manifest = json.loads((studio / "out" / "variants" / name / "manifest.json").read_text("utf-8"))
        assert float(row["width"]) == manifest["parameters"]["width"]
        assert row["finish"] == manifest["parameters"]["finish"] == "RAW"
        assert row["slots"] == ""
        assert row["lid"] == str(manifest["parameters"]["lid"]).lower()
        assert int(row["panels"]) == len(manifest["panels"])
        assert int(row["plates"]) == sum(panel["quantity"] for panel in manifest["panels"])
        assert int(row["sheets"]) == len(manifest["sheets"]) == 1
        assert float(row["cost"]) == pytest.approx(manifest["cost"]["total"], abs=1e-3)
        assert row["verdict"] == ("warnings" if any(c["level"] == "warning" for c in manifest["checks"]) else "fine")
        mass = sum(panel["mass_kg"] * panel["quantity"] for panel in manifest["panels"])
        assert float(row["mass_kg"]) == pytest.approx(mass, abs=1e-5)
        assert 0 < float(row["use"]) < 1
        assert float(row["cut_s"]) > 0


def test_panels_that_are_the_same_are_found_over_variants(studio: Path) -> None:
    """The base has the slots of its wall: those of walls equally wide are one panel, whatever else differs."""
    told = json.loads((studio / "out" / "family.json").read_text("utf-8"))
    by_panel = {(panel["name"], tuple(panel["serves"])): panel for panel in told["panels"]}
    assert ("base", ("high", "low")) in by_panel
    assert ("base", ("roomy", "wide")) in by_panel
    assert by_panel[("base", ("high", "low"))]["words"] == "this base serves 2 variants"
    assert sum(panel["quantity"] for panel in told["panels"]) == 11
    assert rows_of(studio / "out")["low"]["shared_panels"] == "1"
    with (studio / "out" / "panels.csv").open(encoding="utf-8", newline="") as file:
        listed = list(csv.DictReader(file))
    assert [row["panel"] for row in listed] == [panel["name"] for panel in told["panels"]]
    assert listed[0]["serves"] == "2"


def test_another_order_and_one_process_give_the_same_bytes(studio: Path) -> None:
    """Rows of the table mixed, one process instead of two."""
    rows = list(SIZES[1:])
    random.Random(7).shuffle(rows)
    mixed = table(studio, (SIZES[0], *rows), "sizes.csv")
    assert family(studio / "stand.py", mixed, studio / "again", "--jobs", "1", "--effort", "5") == 0
    assert digests(studio / "again") == digests(studio / "out")


def test_what_goes_wrong_in_one_variant_stops_no_other(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Raising, never ending, eating memory, crashing, leaving: a row each with its error, and the rest are proven."""
    design = studio_family(tmp_path)
    deeds = ("raise", "loop", "eat", "die", "leave", "clash")
    rows = ("variant,deed,lid", *(f"{deed},{deed},yes" for deed in deeds), *(f"good {n},none,no" for n in range(3)))
    out = tmp_path / "out"
    limits = ("--time-limit", "10", "--memory-limit", "900", "--jobs", "2", "--check", "--no-pictures")
    assert family(design, table(tmp_path, rows), out, *limits) == 1
    found = rows_of(out)
    assert {name: row["verdict"] for name, row in found.items()} == {
        **dict.fromkeys(deeds, "failed"),
        "clash": "errors",
        **dict.fromkeys(("good 0", "good 1", "good 2"), "fine"),
    }
    for name, words in {
        "raise": "ValueError: no stand is 100 wide",
        "loop": "longer than 10 s and was stopped",
        "eat": "more than 900 MB of memory",
        "die": "died of SIGSEGV",
        "leave": "ended with code 3",
    }.items():
        assert words in found[name]["error"]
        assert found[name]["deed"] == name
        assert found[name]["plates"] == ""
    assert "\n  stand.py:" in found["raise"]["error"]
    assert str(tmp_path) not in (out / "family.csv").read_text("utf-8")
    assert "OVERLAP:" in found["clash"]["codes"]
    said = capsys.readouterr().out
    assert "9 variants: 1 errors, 5 failed, 3 fine" in said
    assert "panelwright check" in said
    assert not (out / "variants").exists()

    # what a limit ended is tried again, what fails by itself is not
    assert family(design, tmp_path / "sizes.csv", out, *limits, "--resume", "--json") == 1
    assert json.loads(capsys.readouterr().out)["kept"] == 5


def test_resuming_makes_only_what_is_missing_or_changed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A parameter, a file of a folder, an import, the shop file and the options: each asks for what it touches."""
    design = studio_family(tmp_path)
    out = tmp_path / "out"

    def kept(*options: str, rows: tuple[str, ...] = SIZES) -> int:
        assert family(design, table(tmp_path, rows), out, "--resume", "--no-sheets", "--jobs", "1", "--json", *options) == 0
        return int(json.loads(capsys.readouterr().out)["kept"])

    assert kept() == 0
    first = digests(out)
    assert kept() == 5
    assert digests(out) == first
    assert kept(rows=(*SIZES[:-1], "roomy,190,45,no")) == 4
    assert kept() == 4
    (out / "variants" / "low" / "panels" / "base.dxf").unlink()
    assert kept() == 4
    (out / "variants" / "low" / "manifest.json").write_text("{}", encoding="utf-8")
    (out / "pictures" / "high.png").unlink()
    with pytest.raises(AssertionError):  # a folder that is not ours any more is refused as `build` refuses it
        kept()
    for path in sorted((out / "variants" / "low").rglob("*"), reverse=True):
        path.rmdir() if path.is_dir() else path.unlink()
    capsys.readouterr()
    assert kept() == 4
    assert digests(out) == first
    (tmp_path / "depths.py").write_text(HELPER.replace("50", "60"), encoding="utf-8")
    assert kept() == 0
    (tmp_path / "shop.toml").write_text((tmp_path / "shop.toml").read_text("utf-8") + "\n# sharper lens\n", encoding="utf-8")
    assert kept() == 0
    assert kept("--no-hardware") == 0
    assert kept("--no-hardware") == 5


def test_a_killed_run_is_resumed_to_the_same_bytes(studio: Path) -> None:
    """`kill -9` at random moments, the leading process alone: its workers end by themselves, and nothing half made stays."""
    out = studio / "killed"
    chance = random.Random(11)
    command = [*COMMAND, str(studio / "stand.py"), str(studio / "sizes.csv"), "--out", str(out), "--effort", "5", "--resume"]
    for rows in (0, 2):
        run = subprocess.Popen([*command, "--jobs", "2"], stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
        records = records_file(out)
        while run.poll() is None and not (records.exists() and records.read_bytes().count(b"\n") > rows):
            time.sleep(0.01)
        time.sleep(chance.random() * 0.3)
        run.kill()
        run.wait()
    assert records_file(out).read_bytes()
    with records_file(out).open("ab") as file:
        file.write(b'["low",{"codes')  # what a kill in the middle of a line leaves
    assert family(studio / "stand.py", studio / "sizes.csv", out, "--effort", "5", "--resume") == 0
    assert digests(out) == digests(studio / "out")


def test_ctrl_c_leaves_what_is_finished_whole(studio: Path, tmp_path: Path) -> None:
    """And says how to go on; what is not made yet is told as waiting."""
    design = studio_family(tmp_path)
    rows = ("variant,deed", "a,none", "b,none", "c,loop", "d,loop", "e,none")
    command = [*COMMAND, str(design), str(table(tmp_path, rows)), "--out", str(tmp_path / "out"), "--no-sheets", "--jobs", "2"]
    run = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    records = records_file(tmp_path / "out")
    while run.poll() is None and not (records.exists() and records.read_bytes().count(b"\n") >= 2):
        time.sleep(0.02)
    # meanwhile nobody else may write there
    with pytest.raises(OutputError, match="another family is being written"), held_folder(tmp_path / "out"):
        pass
    run.send_signal(signal.SIGINT)
    said, complaints = run.communicate(timeout=60)
    assert run.returncode == 130, complaints
    assert "stopped; what is finished is whole, and --resume goes on from there" in said
    assert {name: row["verdict"] for name, row in rows_of(tmp_path / "out").items()} == {
        "a": "fine",
        "b": "fine",
        "c": "waiting",
        "d": "waiting",
        "e": "waiting",
    }
    assert sorted(path.name for path in (tmp_path / "out" / "variants").iterdir()) == ["a", "b"]
    assert (tmp_path / "out" / "variants" / "a" / "report.html").exists()


def test_the_leading_process_never_loads_the_kernel(studio: Path) -> None:
    """It only leads: even where all is kept, nothing heavy is imported in it."""
    program = (
        "import sys\nfrom panelwright.assemblies.commands.main import main\n"
        "if __name__ == '__main__':\n"
        f"    code = main({['family', str(studio / 'stand.py'), str(studio / 'sizes.csv'), '--out', str(studio / 'out')]!r} + "
        "['--effort', '5', '--resume', '--jobs', '2'])\n"
        "    print(code, sorted(set(sys.modules) & {'OCP', 'cadquery', 'ezdxf', 'vtkmodules'}), file=sys.stderr)\n"
    )
    path = studio / "lead.py"
    path.write_text(program, encoding="utf-8")
    done = subprocess.run([sys.executable, str(path)], capture_output=True, text=True, check=True)
    assert "5 kept from an earlier run" in done.stdout
    assert done.stderr.endswith("0 []\n")


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--jobs", "0"), "--jobs is 0"),
        (("--time-limit", "-1"), "--time-limit is -1 s; it must be above 0"),
        (("--memory-limit", "1"), "--memory-limit in MB is 1"),
        (("--bridge-width", "3"), "give --bridges N too"),
        (("--shop", "none.toml"), "none.toml"),
    ],
)
def test_options_that_make_no_sense(
    studio: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], options: tuple[str, ...], says: str
) -> None:
    """Told before anything is started, and nothing is written."""
    assert family(studio / "stand.py", studio / "sizes.csv", tmp_path / "out", *options) == 2
    assert says in capsys.readouterr().err
    assert not (tmp_path / "out" / "family.csv").exists()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_is_told_in_words(tmp_path: Path) -> None:
    """A row that cannot be kept ends the run with the reason, and with how to go on."""
    records = Records(tmp_path / "rows.jsonl")
    (tmp_path / "rows.jsonl").symlink_to("/dev/full")
    with pytest.raises(OutputError, match="the disk is full; what is finished is whole, and --resume goes on"):
        records.add(Row("low", (), {}))


def test_folders_of_others_are_refused(studio: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Files that no family wrote stay; a table that is wrong leaves an earlier family as it was."""
    (tmp_path / "notes.txt").write_text("sand the edges", encoding="utf-8")
    assert family(studio / "stand.py", studio / "sizes.csv", tmp_path) == 2
    assert "holds files but no family" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]
    before = digests(studio / "out")
    assert family(studio / "stand.py", table(studio, ("variant,widht", "a,3"), "wrong.csv"), studio / "out") == 2
    assert "did you mean 'width'" in capsys.readouterr().err
    assert digests(studio / "out") == before
