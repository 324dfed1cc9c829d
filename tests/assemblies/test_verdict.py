"""What the command line says of findings all together: the same thing once, and one line at the end whatever was found."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.data.findings import Finding, Level
from panelwright.assemblies.data.verdict import NOT_PROVEN, folded, verdict
from panelwright.assemblies.proof.tool_corners import ReliefTrials
from panelwright.assemblies.resolve.other_relief import OtherRelief
from panelwright.joints import join_touching, tabs
from panelwright.plates import Stock, rectangle, standing

DESIGN = """
from panelwright.assemblies import Assembly
from panelwright.joints import dog_bone, join_touching, tabs
from panelwright.plates import Frame, Stock, rectangle, standing

PLY = Stock("birch plywood", 4.0, measured=3.97, kerf=3.175, clearance=0.1, density=680, cutter="router")


def design() -> Assembly:
    rack = Assembly("brush rack", stock=PLY, relief=RELIEF)
    base = rack.add("base", rectangle(200, 120))
    for name, way in (("front", "-Y"), ("rear", "+Y")):
        rack.add(name, rectangle(180, 60), standing(base.face(">Z"), facing=way, inset=10))
    join_touching(rack, tabs(count=2, width=20))
    return rack
"""


def checked(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], *options: str) -> list[str]:
    path = tmp_path / "rack.py"
    path.write_text(text, "utf-8")
    main(["check", str(path), *options])
    return capsys.readouterr().out.splitlines()


@pytest.mark.parametrize(
    ("kerf", "says"),
    [
        (0.2, "the proof found nothing wrong"),
        (
            None,
            "the proof found no error: 1 warning; it rests on sheet that nobody measured here",
        ),  # the design states none, so it is told as uncalibrated
        (3.175, "the proof found 4 errors"),
    ],
)
def test_the_last_line_is_the_verdict(
    kerf: float | None, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also where there are notes only, and it says what is not proven; where errors stop a build it is there too."""
    text = DESIGN.replace("kerf=3.175, ", "" if kerf is None else f"kerf={kerf}, ")
    text = text.replace("RELIEF", "None" if kerf is None or kerf < 3 else "dog_bone(3.175)")
    lines = checked(text, tmp_path, capsys)
    assert lines[-1] == f"{says}; not proven: {NOT_PROVEN}"
    main(["build", str(tmp_path / "rack.py"), "--out", str(tmp_path / "out")])
    assert capsys.readouterr().out.splitlines()[-1] == lines[-1]


def test_the_same_of_many_places_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In words; JSON lists every place."""
    text = DESIGN.replace("RELIEF", "dog_bone(3.175)")
    lines = [line for line in checked(text, tmp_path, capsys) if line.startswith("error")]
    assert len(lines) == 1
    assert lines[0].endswith("; the same at 3 more places: 'front' and 'base', 'rear' and 'base' (2)")
    found = json.loads("\n".join(checked(text, tmp_path, capsys, "--json")))["findings"]
    assert [entry["code"] for entry in found] == ["FIT-LOOSE"] * 4
    assert len({tuple(entry["place_mm"]) for entry in found}) == 4


def test_the_relief_that_is_advised_mends_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In slots as narrow as these dog-bones for the cutter meet, so T-bones are named alone; taken, nothing is wrong."""
    advised = []
    for relief in ("None", "dog_bone(3.175)", "dog_bone(2)"):
        (line,) = [x for x in checked(DESIGN.replace("RELIEF", relief), tmp_path, capsys) if x.startswith("error")]
        advised += re.findall(r"ask for relief=([\w.]+\([\d.]+\)(?: or [\w.]+\([\d.]+\))?)", line)
    assert advised == ["t_bone(3.175)"] * 3
    text = DESIGN.replace("import dog_bone", "import t_bone").replace("RELIEF", advised[0])
    assert not [line for line in checked(text, tmp_path, capsys) if line.startswith("error")]


@pytest.mark.parametrize(
    ("goes", "says"),
    [
        (2.0, "so use a cutter of 2 mm and ask for relief=dog_bone(2) or t_bone(2)"),
        (0.0, "no relief for a cutter down to 1 mm goes there, so take a thicker sheet"),
    ],
)
def test_smaller_cutters_are_tried_in_turn(goes: float, says: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no relief of the shop's own cutter goes, the largest that does is named, and what else to do if none does."""
    tried: list[float] = []

    def helps(_: ReliefTrials, other: OtherRelief, __: object) -> bool:
        tried.append(other.relief.tool)
        return other.relief.tool <= goes

    monkeypatch.setattr(ReliefTrials, "_helps", helps)
    stock = Stock("birch plywood", 4.0, measured=3.97, kerf=3.175, clearance=0.1, cutter="router")
    rack = Assembly("brush rack", stock=stock)
    base = rack.add("base", rectangle(200, 120))
    rack.add("front", rectangle(180, 60), standing(base.face(">Z"), facing="-Y", inset=10))
    join_touching(rack, tabs(count=2, width=20))
    (found,) = [finding for finding in rack.check() if finding.code == "RELIEF"]
    assert says in found.message
    assert tried[:4] == [3.175, 3.175, 3.0, 3.0]


def test_what_says_something_else_stays_apart() -> None:
    """Another code, another level or other words are another line, and two alike are both told."""
    one = Finding("warning", "WEB", ("base",), "plate 'base' has a web of 2 mm")
    other = Finding("warning", "WEB", ("wall",), "plate 'wall' has 3 webs")
    grave = Finding("error", "WEB", ("base",), "plate 'base' has a web of 2 mm")
    assert folded([one, one, other, grave]) == [str(grave), str(one), str(one), str(other)]
    assert folded([one] * 3) == [f"{one}; the same at 2 more places: 'base' (2)"]


def test_verdict_of_all_levels() -> None:
    """Errors come first, each level with its number."""
    levels: tuple[Level, ...] = ("note", "warning", "error", "note")
    found = [Finding(level, "X", (), "") for level in levels]
    assert verdict(found).startswith("the proof found 1 error, 1 warning, 2 notes; not proven: ")
