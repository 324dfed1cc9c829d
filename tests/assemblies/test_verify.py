"""`panelwright verify`: a folder against its manifest, and built again; what differs, and which inputs are told for it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from panelwright.assemblies.commands.main import main

DESIGN = """
from typing import Literal
from panelwright.assemblies import Assembly
from panelwright.joints import join, tabs
from panelwright.plates import Stock, rectangle, standing
from sizes import HIGH

def design(width: float = 120, finish: Literal["oil", "wax"] = "oil", lip: bool = False, off: float | None = None) -> Assembly:
    stand = Assembly("card stand", stock=Stock("birch plywood", 3, measured=KNOWN, kerf=0.15, clearance=0.1))
    base = stand.add("base", rectangle(width, 60))
    back = stand.add("back", rectangle(width, 40 if lip else HIGH), standing(base.show, facing="-Y", inset=off))
    join(back.face("<Z"), base.show, tabs(count=2, width=15))
    return stand
"""


def wrote(folder: Path, *, known: str = "3.0", high: str = "80") -> Path:
    """A design and a module beside it."""
    folder.mkdir(exist_ok=True)
    (folder / "sizes.py").write_text(f"HIGH = {high}\n", "utf-8")
    (folder / "stand.py").write_text(DESIGN.replace("KNOWN", known), "utf-8")
    return folder / "stand.py"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the design, its module and what it builds with other than its own values, once for all tests."""
    home = tmp_path_factory.mktemp("verified")
    design = wrote(home / "studio")
    settings = ["--set", "width=140.1", "lip=yes", "finish=wax", "off=12.5"]
    assert main(["build", str(design), "--out", str(home / "out"), "--no-sheets", *settings]) == 0
    return home


@pytest.fixture
def studio(built: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """A copy of it to spoil; what was printed so far is forgotten."""
    shutil.copytree(built / "studio", tmp_path / "studio")
    shutil.copytree(built / "out", tmp_path / "out")
    capsys.readouterr()
    return tmp_path


def verified(studio: Path, capsys: pytest.CaptureFixture[str], *options: str, code: int) -> tuple[str, dict[str, Any]]:
    """What is told in words and as JSON, of one exit code."""
    said = []
    for more in ([], ["--json"]):
        assert main(["verify", str(studio / "out"), *options, *more]) == code
        said.append(capsys.readouterr().out)
    found: dict[str, Any] = json.loads(said[1])
    assert found["ok"] == (code == 0)
    return said[0], found


def rebuild(studio: Path) -> tuple[str, ...]:
    """The options that build it as the fixture did."""
    return ("--rebuild", str(studio / "studio" / "stand.py"), "--no-sheets")


def test_a_folder_as_built_is_whole_and_comes_out_again(studio: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every file listed is right; built again with all kinds of parameters the bytes are the same, the folder untouched."""
    before = {file: file.read_bytes() for file in studio.rglob("*") if file.is_file() and "__pycache__" not in file.parts}
    words, found = verified(studio, capsys, *rebuild(studio), code=0)
    manifest = json.loads((studio / "out" / "manifest.json").read_text("utf-8"))
    assert found["right"] == len(manifest["files"]) >= 7
    assert found["rebuilt"] == {"differ": [], "inputs": [], "is_identical": True, "only_now": [], "only_then": []}
    assert words.endswith("gives the same files, to the byte\n")
    assert sorted(manifest["sources"]) == ["sizes.py", "stand.py"]
    after = {file: file.read_bytes() for file in studio.rglob("*") if file.is_file() and "__pycache__" not in file.parts}
    assert after == before


def test_every_kind_of_damage_is_named(studio: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A byte more, a file less, and a file that somebody put there, which is no damage."""
    out = studio / "out"
    (out / "notes.txt").write_text("oiled twice", "utf-8")
    words, found = verified(studio, capsys, code=0)
    assert found["others"] == ["notes.txt"]
    assert "not looked at: whether the design still gives this" in words
    (out / "bom.csv").write_bytes((out / "bom.csv").read_bytes() + b" ")
    (out / "panels" / "back.dxf").unlink()
    words, found = verified(studio, capsys, code=1)
    assert (found["changed"], found["missing"], found["others"]) == (["bom.csv"], ["panels/back.dxf"], ["notes.txt"])
    assert "  changed since: bom.csv\n" in words
    assert "  missing: panels/back.dxf\n" in words


@pytest.mark.parametrize(
    ("known", "high", "inputs", "differ"),
    [
        (
            "2.9",
            "80",
            [
                "stand.py is not as it was",
                "stock 'birch plywood' sold as 3 mm: measured_thickness_mm was 3.0 and is 2.9",
                "stock 'birch plywood' sold as 3 mm: thickness_mm was 3.0 and is 2.9",
            ],
            True,
        ),
        ("3.0", "81", ["sizes.py is not as it was"], False),  # with a lip the height is the design's own
    ],
)
def test_what_differs_is_told_with_the_inputs_that_do(
    studio: Path, capsys: pytest.CaptureFixture[str], known: str, high: str, inputs: list[str], differ: bool
) -> None:
    """Another thickness changes design, stock and panels; a module that this variant does not feel changes only itself."""
    wrote(studio / "studio", known=known, high=high)
    words, found = verified(studio, capsys, *rebuild(studio), code=1 if differ else 0)
    told = found["rebuilt"]["inputs"]
    assert all(any(one.startswith(start) for one in told) for start in inputs), told
    assert len(told) == len(inputs)
    assert ("panels/base.dxf" in found["rebuilt"]["differ"]) == differ
    assert all(f"input: {one}\n" in words for one in told)


def test_versions_and_older_folders_are_told(studio: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Another version of what it stands on, and a manifest without the design's checksum."""
    file = studio / "out" / "manifest.json"
    manifest = json.loads(file.read_text("utf-8"))
    manifest["versions"]["ezdxf"] = "1.0"
    del manifest["sources"]
    manifest["files"]["panels/lid.dxf"] = manifest["files"]["bom.csv"]
    file.write_text(json.dumps(manifest), "utf-8")
    _, found = verified(studio, capsys, *rebuild(studio), code=1)
    assert found["rebuilt"]["only_then"] == found["missing"] == ["panels/lid.dxf"]
    first, second = found["rebuilt"]["inputs"]
    assert first.startswith("the folder does not tell of which design file it was built")
    assert second.startswith("ezdxf was 1.0 and is ")


@pytest.mark.parametrize(
    ("spoil", "options", "says"),
    [
        (lambda out: shutil.rmtree(out), (), "there is no folder"),
        (lambda out: (out / "manifest.json").unlink(), (), "holds no manifest.json"),
        (lambda out: (out / "manifest.json").write_text("{", "utf-8"), (), "is broken"),
        (lambda out: (out / "manifest.json").write_bytes(b"\xff"), (), "is broken"),
        (lambda out: (out / "manifest.json").write_text("[]", "utf-8"), (), "no manifest of a build"),
        (
            lambda out: (out / "manifest.json").write_text(
                json.dumps({"schema": {"name": "panelwright.manifest"}, "files": {"../x": "0"}}), "utf-8"
            ),
            (),
            "lies outside",
        ),
        (lambda out: None, ("--rebuild", "nothing.py"), "there is no design file"),
        (lambda out: None, ("--rebuild", "stand.py", "--effort", "-1"), "effort"),
    ],
)
def test_what_cannot_be_verified_is_refused(
    studio: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    spoil: Any,
    options: tuple[str, ...],
    says: str,
) -> None:
    """Folders that are none, manifests that are none, designs and options that are none."""
    monkeypatch.chdir(studio / "studio")
    spoil(studio / "out")
    assert main(["verify", str(studio / "out"), *options]) == 2
    assert says in capsys.readouterr().err


def test_a_design_that_fails_its_proof_now_is_told(studio: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With the finding; `--anyway` compares all the same."""
    design = studio / "studio" / "stand.py"
    broken = design.read_text("utf-8").replace(
        "    return stand", '    stand.add("lid", rectangle(width, 60))\n    return stand'
    )
    design.write_text(broken, "utf-8")
    assert main(["verify", str(studio / "out"), *rebuild(studio)]) == 2
    assert "does not pass its proof now: error OVERLAP" in capsys.readouterr().err
    _, found = verified(studio, capsys, *rebuild(studio), "--anyway", code=1)
    assert found["rebuilt"]["only_now"] == ["panels/lid.dxf", "panels/lid.svg"]
