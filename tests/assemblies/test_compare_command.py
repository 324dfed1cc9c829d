"""`panelwright compare` on folders, designs and git revisions, and what it says of those that cannot be compared."""

from __future__ import annotations

import json
import os
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.compare.revision import split_revision
from panelwright.assemblies.product.json_documents import output_schema
from versions import DESIGN

VALIDATOR = jsonschema.Draft202012Validator(output_schema())


def git(folder: Path, *arguments: str) -> str:
    """What git prints in a folder, with a name for its commits and no settings of whoever runs the tests."""
    environment = {
        **os.environ,
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_CONFIG_SYSTEM": os.devnull,
        **{f"GIT_{who}_{what}": f"{what.lower()}@studio" for who in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")},
    }
    done = subprocess.run(["git", "-C", str(folder), *arguments], capture_output=True, text=True, check=True, env=environment)
    return done.stdout


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A repository: the stand at `v1`, its hole wider in the neighbour at `v2`, a fault at `broken`; and a folder built."""
    home = tmp_path_factory.mktemp("studio")
    git(home, "init", "-q")
    designs = home / "designs"
    designs.mkdir()
    (designs / "stand.py").write_text(DESIGN)
    (designs / "sizes.py").write_text("HOLE = 12.0\n")
    git(home, "add", "-A")
    git(home, "commit", "-qm", "A stand")
    git(home, "tag", "v1")
    (designs / "sizes.py").write_text("HOLE = 17.0\n")
    git(home, "commit", "-qam", "A wider hole")
    git(home, "tag", "v2")
    (designs / "sizes.py").write_text("HOLE = 1 / 0\n")
    git(home, "commit", "-qam", "A fault")
    git(home, "tag", "broken")
    (designs / "sizes.py").write_text("HOLE = 12.0\n")
    assert main(["build", str(designs / "stand.py"), "--out", str(home / "out"), "--no-sheets"]) == 0
    return home


Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, studio: Path) -> Run:
    """Runs `compare` in the repository: exit code, output, errors."""

    def one(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.chdir(studio)
        capsys.readouterr()
        code = main(["compare", *arguments])
        told = capsys.readouterr()
        return code, told.out, told.err

    return one


class TestWhatIsCompared:
    def test_a_revision_with_its_imports(self, run: Run, studio: Path) -> None:
        """The neighbour that the design imports is that revision's; the working tree and the index stay as they are."""
        before = git(studio, "status", "--porcelain"), sorted(path for path in studio.rglob("*") if ".git" not in path.parts)
        code, out, _ = run("designs/stand.py@v1", "designs/stand.py@v2", "--json", "--exit-code")
        found = json.loads(out)
        VALIDATOR.validate(found)
        assert [(p["before"], p["why"]) for p in found["plates"] if p["what"] == "changed"] == [("base", ["shape"])]
        (panel,) = found["panels"]
        assert panel["removed_mm2"] == pytest.approx(3.14159265 * (8.5**2 - 36), abs=0.01)
        assert (code, found["must_cut"]) == (0, 0), "the wider hole is trimmed"
        after = git(studio, "status", "--porcelain"), sorted(path for path in studio.rglob("*") if ".git" not in path.parts)
        assert after == before
        # git's own list of what changed: the design itself did not, which no look at names or text would tell
        assert git(studio, "diff", "--name-only", "v1", "v2").split() == ["designs/sizes.py"]

    def test_folder_design_and_revision_are_one(self, run: Run) -> None:
        """What was built, what is there now, and what was tagged: the same product, told so."""
        for pair in (("out", "designs/stand.py"), ("designs/stand.py@v1", "out"), ("out/manifest.json", "out")):
            code, out, _ = run(*pair, "--exit-code")
            assert (code, out.splitlines()[-1]) == (0, "the same product: nothing to cut"), pair

    def test_settings_of_both_and_of_one(self, run: Run) -> None:
        """`--set` is for designs on either side, `--set-after` for the second one."""
        code, out, _ = run("designs/stand.py", "designs/stand.py", "--set", "width=170", "--set-after", "width=180")
        assert code == 2
        assert out == ""
        code, out, _ = run("designs/stand.py", "designs/stand.py", "--set-after", "width=180", "--exit-code")
        assert code == 1
        assert "parameter width" in out
        assert "+1600 −0 mm²" in out
        assert out.splitlines()[-1] == "cut 1 piece, keep 1 piece"
        code, out, _ = run("out", "designs/stand.py", "--set", "width=160")
        assert out.splitlines()[-1] == "the same product: nothing to cut"

    def test_summary_for_a_pull_request(self, run: Run) -> None:
        """Markdown: a heading with the verdict, tables with a rule below their heads."""
        code, out, _ = run("designs/stand.py@v1", "designs/stand.py@v2", "--markdown")
        lines = out.splitlines()
        assert code == 0
        assert lines[0] == "### tool stand: trim 1 piece, keep 1 piece"
        heads = [number for number, line in enumerate(lines) if line.startswith(("|---", "|--"))]
        assert len(heads) >= 2
        for number in heads:
            assert lines[number].count("|") == lines[number - 1].count("|") == lines[number + 1].count("|")

    def test_folders_of_changed_files_only(self, run: Run, studio: Path, tmp_path: Path) -> None:
        """What `git difftool --dir-diff` lays out: folders round the built folder, with its manifest and little else."""
        for side in ("left", "right"):
            (tmp_path / side / "out").mkdir(parents=True)
            (tmp_path / side / "out" / "manifest.json").write_bytes((studio / "out" / "manifest.json").read_bytes())
        code, out, _ = run(str(tmp_path / "left"), str(tmp_path / "right"))
        assert (code, out.splitlines()[-1]) == (0, "the same product: nothing to cut")


class TestRefusals:
    @pytest.mark.parametrize(
        ("before", "words"),
        [
            ("designs/stand.py@v9", "there is no revision 'v9' in the repository of 'designs/stand.py'"),
            ("designs/stand.py@--all", "there is no revision '--all'"),
            ("designs/shelf.py@v1", "revision 'v1' has no 'designs/shelf.py'"),
            (
                "designs/stand.py@broken",
                "at revision 'broken': design 'stand.py' failed while it was loaded: ZeroDivisionError",
            ),
            ("nowhere", "there is no 'nowhere'; give a folder that was built, a design file, or DESIGN.py@REVISION"),
            ("designs", "'designs' holds no manifest.json"),
            ("designs/sizes.py@v1", "at revision 'v1': design 'sizes.py' defines no `design`"),
        ],
    )
    def test_what_is_not_there(self, before: str, words: str, run: Run) -> None:
        """Each is told in one clear sentence, without the scratch folder, and ends with exit code 2."""
        code, out, err = run(before, "out")
        assert (code, out) == (2, "")
        assert words in err
        assert "/panelwright-" not in err
        assert "Traceback" not in err

    def test_a_design_that_is_not_in_git(self, run: Run, tmp_path: Path) -> None:
        """Said so, and what to give instead."""
        (tmp_path / "stand.py").write_text(DESIGN)
        code, _, err = run(f"{tmp_path}/stand.py@v1", "out")
        assert code == 2
        assert "is not in git, so it has no revision 'v1'" in err

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            (lambda found: "{", "is no JSON"),
            (lambda found: json.dumps({"name": "somebody else's"}), "is no manifest of a build"),
            (lambda found: json.dumps({**found, "schema": {**found["schema"], "version": 9}}), "later version of the toolkit"),
            (
                lambda found: json.dumps({key: value for key, value in found.items() if key not in ("outlines", "standing")}),
                "older version of the toolkit",
            ),
            (
                lambda found: json.dumps({"plates": [], "versions": {"panelwright": "0.1.0"}}),
                "older version of the toolkit (0.1.0)",
            ),
            (lambda found: json.dumps({**found, "products": [{}]}), "several products laid out together"),
            (
                lambda found: json.dumps({**found, "outlines": [{**found["outlines"][0], "loops": ["M 0 0 Q"]}]}),
                "cannot be read",
            ),
            (lambda found: json.dumps({**found, "panels": [{"name": 5}]}), "cannot be read"),
        ],
    )
    def test_manifests_that_tell_nothing(
        self, change: Callable[[dict[str, Any]], str], words: str, run: Run, studio: Path, tmp_path: Path
    ) -> None:
        """Broken, somebody else's, of another version, of several products: told which, never compared halfway."""
        found = json.loads((studio / "out" / "manifest.json").read_text("utf-8"))
        (tmp_path / "manifest.json").write_text(change(found))
        code, out, err = run(str(tmp_path), "out")
        assert (code, out) == (2, "")
        assert words in err
        assert "Traceback" not in err

    def test_a_panel_that_somebody_changed(self, run: Run, studio: Path, tmp_path: Path) -> None:
        """What is compared is what is cut."""
        import shutil

        shutil.copytree(studio / "out", tmp_path / "out")
        with (tmp_path / "out" / "panels" / "base.dxf").open("ab") as file:
            file.write(b"999\nmine\n")
        code, _, err = run(str(tmp_path / "out"), "out")
        assert code == 2
        assert "panels/base.dxf" in err

    def test_settings_of_a_folder(self, run: Run) -> None:
        """Nothing can be set in what is built already."""
        code, _, err = run("out", "out", "--set-before", "width=200")
        assert code == 2
        assert "'out' is no design file, so nothing can be set in it" in err


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ("tray.py@v1.2", ("tray.py", "v1.2")),
        ("tray.py@main~3", ("tray.py", "main~3")),
        ("tray.py@@{1}", ("tray.py", "@{1}")),
        ("a@b/tray.py@main@{yesterday}", ("a@b/tray.py", "main@{yesterday}")),
        ("tray.py", ("tray.py", None)),
        ("tray.py@", ("tray.py@", None)),
        ("@v1", ("@v1", None)),
    ],
)
def test_what_stands_behind_the_at(given: str, expected: tuple[str, str | None]) -> None:
    """A revision, in all of git's spellings."""
    assert split_revision(given) == expected
