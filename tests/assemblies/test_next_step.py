"""The first five minutes: each step says what to do next, and what it says works when it is copied."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from panelwright.assemblies.commands.main import main

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")


@pytest.fixture(autouse=True)
def _in_a_fresh_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The README's design, copied to a file of its own."""
    monkeypatch.chdir(tmp_path)
    (source,) = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    Path("brush stand.py").write_text(source, "utf-8")


def next_line(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    """The line that says what to do next: one, and right before the verdict."""
    assert main(words) == code
    lines = capsys.readouterr().out.splitlines()
    (line,) = [line for line in lines if line.startswith("next: ")]
    assert lines[lines.index(line) + 1].startswith("the proof found")
    return line


def commands(line: str) -> list[list[str]]:
    """The commands that a line tells, as words."""
    found = re.findall(r"panelwright .*?(?= tells | shows | writes )", line)
    return [shlex.split(one)[1:] for one in found]


def test_from_check_to_the_files(capsys: pytest.CaptureFixture[str]) -> None:
    """A check names the build with the same settings, which names the report and the panels that it wrote."""
    line = next_line(capsys, "check", "brush stand.py", "--set", "width=300", "depth=110")
    (build,) = commands(line)
    assert build == ["build", "brush stand.py", "--out", "out", "--set", "width=300", "depth=110"]
    line = next_line(capsys, *build)
    assert "open out/report.html" in line
    assert line.endswith("cut what lies in out/panels")
    assert Path("out/report.html").exists()
    assert Path("out/panels/base.dxf").exists()


def test_sheets_are_what_is_cut_where_there_are_some(capsys: pytest.CaptureFixture[str]) -> None:
    """Where sheets are known, and with an unmeasured stock, what to measure comes first."""
    design = Path("brush stand.py")
    design.write_text(design.read_text("utf-8").replace("density=680", "density=680, sheet=(600, 400)"), "utf-8")
    line = next_line(capsys, "build", design.name, "--out", "my out", "--effort", "0")
    assert line.endswith("cut what lies in 'my out'/sheets")
    assert Path("my out/sheets/sheet-1.dxf").exists()
    design.write_text(design.read_text("utf-8").replace("measured=4.85, ", ""), "utf-8")
    line = next_line(capsys, "build", design.name, "--out", "out", "--effort", "0")
    assert "measure the sheet, as UNCALIBRATED tells, before you cut" in line


@pytest.mark.parametrize("command", ["check", "build"])
def test_errors_lead_to_what_mends_them_and_where_they_are(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The first error's code is explained, and the preview shows the design; a booklet and a build say so too."""
    design = Path("brush stand.py")
    wrong = design.read_text("utf-8").replace('facing="+Y", inset=10', 'facing="-Y", inset=12')
    design.write_text(wrong, "utf-8")
    out = ["--out", "out"] if command == "build" else []
    line = next_line(capsys, command, design.name, *out, code=1)
    explain, preview = commands(line)
    assert preview == ["preview", design.name, "--open"]
    assert main(explain) == 0
    assert capsys.readouterr().out.startswith(explain[1])


def test_a_test_piece_leads_to_its_calibration_and_that_to_designs(capsys: pytest.CaptureFixture[str]) -> None:
    """From the list of stocks to numbers that designs take."""
    assert main(["stocks"]) == 0
    assert "panelwright coupon NAME --thickness" in capsys.readouterr().out.splitlines()[-1]
    assert main(["coupon", "birch 4", "--thickness", "3.86", "--out", "test"]) == 0
    (line,) = [line for line in capsys.readouterr().out.splitlines() if line.startswith("next: ")]
    assert 'panelwright calibrate "birch 4"' in line
    assert main(["calibrate", "birch 4", "--thickness", "3.86", "3.88", "--strips", "78.10", "--snug", "3.75"]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == (
        'next: designs beside shop.toml that say stock("birch 4") take these numbers from now on'
    )
