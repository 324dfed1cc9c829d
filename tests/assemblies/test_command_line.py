"""The command line: exit codes, what goes to which stream, and what a failure or an interrupt leaves behind."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import gmsh
import pytest
from panelwright.assemblies.commands.main import CAUTION, main
from panelwright.assemblies.console.outcome import DEBIAN_PACKAGES

PROGRAM = [sys.executable, "-m", "panelwright.assemblies.commands.main"]

SHELF = '''
from typing import Annotated, Literal

from panelwright.assemblies import Assembly
from panelwright.plates import Stock, rectangle
from panelwright.plates.parameters import Range

BIRCH = Stock("birch plywood", thickness=4, kerf=0.2, density=680)


def design(
    width: Annotated[float, Range(60, 600)] = 120,
    depth: float = 60,
    finish: Literal["oil", "wax"] = "oil",
    lid: bool = False,
) -> Assembly:
    """A board for test tiles.

    Args:
        width: along the shelf, mm.
        lid: whether a second board lies in the first,
            which no proof lets pass.
    """
    print("glazing", finish)
    board = Assembly("tile board", stock=BIRCH)
    board.add("base", rectangle(width, depth))
    if lid:
        board.add("lid", rectangle(width, depth))
    return board
'''

STAND = '''
from panelwright.assemblies import Assembly
from panelwright.joints import join, tabs
from panelwright.plates import Stock, rectangle, standing

BIRCH = Stock("birch plywood", thickness=4, kerf=0.2, clearance=0.1, density=680)


def design(width: float = 120, height: float = 80) -> Assembly:
    """A stand for glaze cards."""
    stand = Assembly("card stand", stock=BIRCH)
    base = stand.add("base", rectangle(width, 60))
    back = stand.add("back", rectangle(width, height), standing(on=base.face(">Z"), facing="-Y", inset=None))
    join(back.face("<Z"), base.face(">Z"), tabs(count=2, width=15))
    return stand
'''

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Writes a design file and returns its path."""

    def write(text: str = SHELF, name: str = "board.py") -> Path:
        path = tmp_path / name
        path.write_text(textwrap.dedent(text), encoding="utf-8")
        return path

    return write


def snapshot(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def result(capsys: pytest.CaptureFixture[str]) -> Any:
    return json.loads(capsys.readouterr().out)


class TestBuild:
    def test_folder_is_written_and_told(self, write: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Exit code 0, the table, where it went and the caution; the design's prints on the other stream."""
        out = tmp_path / "out"
        assert main(["build", str(write()), "--out", str(out), "--set", "width=200", "finish=wax"]) == 0
        said = capsys.readouterr()
        assert re.search(r"base +birch plywood +1 +200\.00 × 60\.00 × 4", said.out)
        assert "tile board: 1 plate, 0 joints" in said.out
        assert f"written to {out}" in said.out
        assert CAUTION in said.out
        assert "glazing wax" in said.err
        assert "glazing" not in said.out
        assert set(snapshot(out)) == {
            "assembly.step",
            "bom.csv",
            "manifest.json",
            "panels/base.dxf",
            "panels/base.svg",
            "report.html",
        }
        manifest = json.loads((out / "manifest.json").read_text("utf-8"))
        assert manifest["design"] == {"file": "board.py", "name": "tile board"}
        assert manifest["parameters"] == {"depth": 60.0, "finish": "wax", "lid": False, "width": 200.0}

    def test_json_is_one_object_on_standard_output(
        self, write: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """Nothing else is on that stream, whatever the design prints."""
        out = tmp_path / "out"
        assert main(["build", str(write()), "--out", str(out), "--json"]) == 0
        found = result(capsys)
        always = {"schema", "ok", "out", "product", "panels", "joints", "findings", "cautions", "error"}
        assert set(found) == always | {"cost", "nests", "sheet_notes", "sheets", "booked"}
        assert (found["ok"], found["out"], found["product"], found["error"]) == (True, str(out), "tile board", None)
        assert found["panels"][0]["bbox_mm"] == [120.0, 60.0]

    def test_errors_found_write_nothing_and_exit_1(
        self, write: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """The old folder stays; each error is a line."""
        design, out = write(), tmp_path / "out"
        assert main(["build", str(design), "--out", str(out)]) == 0
        before = snapshot(out)
        capsys.readouterr()
        assert main(["build", str(design), "--out", str(out), "--set", "lid=yes"]) == 1
        said = capsys.readouterr().out
        assert re.search(r"^error [A-Z-]+: .*'base'.*'lid'", said, re.MULTILINE)
        assert "nothing written" in said
        assert snapshot(out) == before
        assert main(["build", str(design), "--out", str(out), "--set", "lid=yes", "--json"]) == 1
        found = result(capsys)
        assert (found["ok"], found["out"], found["error"]) == (False, None, None)
        assert "error" in [finding["level"] for finding in found["findings"]]

    def test_anyway_writes_the_errors_too_and_still_exits_1(
        self, write: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """Who insists gets the files, with the errors in the manifest."""
        out = tmp_path / "out"
        assert main(["build", str(write()), "--out", str(out), "--set", "lid=yes", "--anyway"]) == 1
        said = capsys.readouterr().out
        assert f"written to {out}" in said
        levels = [check["level"] for check in json.loads((out / "manifest.json").read_text("utf-8"))["checks"]]
        assert "error" in levels

    def test_folder_of_somebody_elses_is_refused_before_the_design_runs(
        self, write: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """The long work is not begun for a folder that cannot be written."""
        (tmp_path / "thesis").mkdir()
        (tmp_path / "thesis" / "chapter.txt").write_text("one")
        assert main(["build", str(write()), "--out", str(tmp_path / "thesis")]) == 2
        said = capsys.readouterr()
        assert said.out == ""
        assert "holds files but no manifest.json" in said.err
        assert "glazing" not in said.err


class TestCheck:
    def test_check_proves_and_writes_nothing(self, write: Write, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """The same report and exit codes as build, without a folder."""
        design = write()
        assert main(["check", str(design)]) == 0
        assert "written" not in capsys.readouterr().out
        assert main(["check", str(design), "--set", "lid=on", "--json"]) == 1
        assert result(capsys)["out"] is None
        assert {path.name for path in tmp_path.iterdir()} == {"board.py"}

    def test_check_of_errors_says_nothing_of_writing(self, write: Write, capsys: pytest.CaptureFixture[str]) -> None:
        """What was not going to be written is not said to be missing; what is wrong is told with the design's line."""
        text = STAND.replace("inset=None", "inset=-3")
        number = next(i for i, line in enumerate(text.splitlines(), 1) if line.startswith("    join("))
        assert main(["check", str(write(text, "card stand.py"))]) == 1
        said = capsys.readouterr().out
        assert "written" not in said
        assert "error JOINT: tabs between straight edge face at (0.0, -31.0, 4.0) of 'back'" in said
        assert f"or make 'base' larger (joined in card stand.py, line {number})\n" in said


class TestWrongUse:
    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            ([], "give a command"),
            (["bild"], "No such command 'bild'"),
            (["build"], "give a design file"),
            (["build", "DESIGN"], "--out DIR"),
            (["check", "DESIGN", "--out", "x"], "No such option"),
            (["check", "DESIGN", "--shpo", "x"], "--shop"),
            (["build", "DESIGN", "--out"], "Option '--out' requires an argument"),
            (["build", "DESIGN", "--out", "--anyway"], "Option '--out' requires an argument"),
            (["check", "nowhere.py"], "no design file 'nowhere.py'"),
            (["check", "DESIGN", "--set", "widht=3"], "did you mean 'width'"),
            (["check", "DESIGN", "--set", "width=5"], "'width' is 5; it must lie from 60 to 600"),
            (["check", "DESIGN", "--set", "width=wide"], "'wide' is no number"),
        ],
    )
    @pytest.mark.parametrize("as_json", [False, True])
    def test_exit_code_2_and_a_reason(
        self, write: Write, capsys: pytest.CaptureFixture[str], arguments: list[str], words: str, as_json: bool
    ) -> None:
        """In words on standard error, or in the JSON object on standard output."""
        design = str(write())
        given = [design if argument == "DESIGN" else argument for argument in arguments]
        assert main([*given, "--json"] if as_json and given else given) == 2
        said = capsys.readouterr()
        if as_json and given:
            found = json.loads(said.out)
            assert found["ok"] is False
            assert words in found["error"]["message"]
        else:
            assert said.out == ""
            assert words in said.err
            assert "Traceback" not in said.err

    def test_setting_before_the_file_does_not_swallow_it(self, write: Write, capsys: pytest.CaptureFixture[str]) -> None:
        """`--set width=80 board.py` means what it looks like."""
        assert main(["check", "--json", "--set", "width=80", str(write())]) == 0
        assert result(capsys)["panels"][0]["bbox_mm"] == [80.0, 60.0]


class TestFailingDesign:
    def test_only_lines_of_the_design_are_shown(self, write: Write, capsys: pytest.CaptureFixture[str]) -> None:
        """Type, message, file, line and text; the whole traceback only if asked for."""
        text = SHELF.replace('print("glazing", finish)', "board = 1 / 0")
        path = write(text)
        line = text.splitlines().index("    board = 1 / 0") + 1
        assert main(["check", str(path)]) == 2
        said = capsys.readouterr()
        assert said.out == ""
        assert "ZeroDivisionError: division by zero" in said.err
        assert f"{path}:{line} in design: board = 1 / 0" in said.err
        assert "Traceback" not in said.err
        assert main(["check", str(path), "--traceback"]) == 2
        assert "Traceback (most recent call last)" in capsys.readouterr().err

    def test_exit_in_a_design_does_not_end_the_program(self, write: Write, capsys: pytest.CaptureFixture[str]) -> None:
        """sys.exit(0) in a design is a failure, not a success."""
        assert main(["check", str(write("import sys\nsys.exit(0)\n")), "--json"]) == 2
        assert "ended the program" in result(capsys)["error"]["message"]

    @pytest.mark.parametrize(("library", "package"), sorted(DEBIAN_PACKAGES.items()))
    def test_missing_shared_library_names_its_package(
        self, write: Write, capsys: pytest.CaptureFixture[str], library: str, package: str
    ) -> None:
        """On a bare system the kernel cannot load; the package to install is named."""
        text = f'raise ImportError("{library}.6: cannot open shared object file: No such file or directory")'
        assert main(["check", str(write(text))]) == 2
        said = capsys.readouterr().err
        assert f"cannot load {library}.6" in said
        assert f"sudo apt install {package}\n" in said

    def test_library_nobody_foresaw_is_named_too(self, write: Write, capsys: pytest.CaptureFixture[str]) -> None:
        """Then with the way to find its package."""
        text = 'raise ImportError("libfoo-2.so.1: cannot open shared object file: No such file or directory")'
        assert main(["check", str(write(text))]) == 2
        assert "apt-file search libfoo-2.so.1" in capsys.readouterr().err

    def test_further_errors_noted_on_the_first_are_shown(
        self, write: Write, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Several joints that cannot be made are told at once, wherever the design asks."""
        from panelwright.assemblies.product.assembly import Assembly
        from panelwright.plates.errors import JointError

        def fail(*_: object) -> None:
            error = JointError("no room for tabs on 'base'", plates=("base",))
            error.add_note("also: no room for tabs on 'lid'")
            raise error

        monkeypatch.setattr(Assembly, "product", fail)
        inside = SHELF.replace("    return board", "    board.product()\n    return board")
        for text in (SHELF, inside):
            assert main(["check", str(write(text)), "--json"]) == 2
            error = result(capsys)["error"]
            assert error["plates"] == ["base"]
            assert error["message"].splitlines()[:2] == [
                "no room for tabs on 'base'",
                "also: no room for tabs on 'lid'",
            ]

    def test_failure_while_proving_is_told_without_a_traceback(
        self, write: Write, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A fault of our own is admitted as one."""
        from panelwright.assemblies.product.assembly import Assembly

        def fail(*_: object) -> None:
            raise RuntimeError("lost a face")

        monkeypatch.setattr(Assembly, "product", fail)
        assert main(["check", str(write())]) == 2
        said = capsys.readouterr().err
        assert "RuntimeError: lost a face" in said
        assert "a fault of the toolkit" in said
        assert "Traceback" not in said


class TestHelp:
    def test_help_lists_the_designs_own_parameters(self, write: Write, capsys: pytest.CaptureFixture[str]) -> None:
        """Name, default, type with range, and what the docstring says; for both commands and without --out."""
        for command in ("build", "check"):
            assert main([command, str(write()), "--help"]) == 0
            said = capsys.readouterr().out
            assert f"Usage: panelwright {command} [OPTIONS] DESIGN.py" in said
            assert "A board for test tiles." in said
            assert "width=120  (float from 60 to 600)\n      along the shelf, mm." in said
            assert "finish=oil  (oil | wax)" in said
            assert "lid=false  (bool)\n      whether a second board lies in the first, which no proof lets" in said

    def test_help_and_version_exit_with_0(self, capsys: pytest.CaptureFixture[str]) -> None:
        """With and without a command."""
        for arguments, words in (
            (["--help"], "--version"),
            (["build", "--help"], "--anyway"),
            (["--version"], "panelwright "),
        ):
            assert main(arguments) == 0
            assert words in capsys.readouterr().out

    @pytest.mark.parametrize("arguments", [["--help"], ["build", "--help"], ["--version"], ["explain"]])
    def test_help_loads_nothing_heavy(self, arguments: list[str]) -> None:
        """In a fresh interpreter, none of the libraries that take their time are imported."""
        script = (
            "import sys\nfrom panelwright.assemblies.commands.main import main\n"
            f"code = main({arguments!r})\n"
            "heavy = {'rich', 'numpy', 'OCP', 'cadquery', 'ezdxf', 'shapely', 'vtkmodules'} & set(sys.modules)\n"
            "print('HEAVY', sorted(heavy), code)\n"
        )
        done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
        assert "HEAVY [] 0" in done.stdout


SLOW = """
import time
from pathlib import Path


def design(seconds: float = 60):
    Path("started").touch()
    time.sleep(seconds)
"""


class TestProcess:
    def run(self, *arguments: str, cwd: Path, **more: Any) -> subprocess.CompletedProcess[str]:
        return subprocess.run([*PROGRAM, *arguments], cwd=cwd, capture_output=True, text=True, check=False, **more)

    def test_two_processes_build_the_same_bytes(self, write: Write, tmp_path: Path) -> None:
        """Other hash seeds and other folders change nothing, and pipes see no progress."""
        write()
        for seed in ("1", "2"):
            environment = {**os.environ, "PYTHONHASHSEED": seed}
            done = self.run("build", "board.py", "--out", f"out{seed}/deep", cwd=tmp_path, env=environment)
            assert (done.returncode, done.stderr) == (0, "glazing oil\n")
            assert "\r" not in done.stdout
        first = snapshot(tmp_path / "out1" / "deep")
        assert len(first) == 6
        assert first == snapshot(tmp_path / "out2" / "deep")

    def test_joined_product_is_whole_for_another_reader(self, write: Write, tmp_path: Path) -> None:
        """The STEP holds each plate as a volume of the manifest's area × thickness, under its name."""
        write(STAND, "stand.py")
        done = self.run("build", "stand.py", "--out", "out", "--set", "width=160", cwd=tmp_path)
        assert (done.returncode, done.stderr) == (0, "")
        assert "card stand: 2 plates, 1 joint\n" in done.stdout
        manifest = json.loads((tmp_path / "out" / "manifest.json").read_text("utf-8"))
        assert [joint["plates"] for joint in manifest["joints"]] == [["back", "base"]]
        expected = {plate["name"]: plate["area_mm2"] * plate["thickness_mm"] for plate in manifest["panels"]}
        assert set(expected) == {"base", "back"}
        gmsh.initialize(interruptible=False)
        try:
            gmsh.option.setNumber("General.Terminal", 0)
            gmsh.model.occ.importShapes(str(tmp_path / "out" / "assembly.step"))
            gmsh.model.occ.synchronize()
            found = {
                gmsh.model.getEntityName(3, tag).rpartition("/")[2]: gmsh.model.occ.getMass(3, tag)
                for _, tag in gmsh.model.getEntities(3)
            }
        finally:
            gmsh.finalize()
        assert found == pytest.approx(expected, rel=1e-7)
        assert found["base"] < 160 * 60 * 4 - 1
        assert found["back"] > 160 * 80 * 4 + 1

    def test_prints_of_compiled_code_stay_out_of_the_result(self, write: Write, tmp_path: Path) -> None:
        """Also what is written to the file descriptor, past Python, goes to standard error."""
        past_python = "import ctypes, os; os.write(1, b'raw'); ctypes.CDLL(None).puts(b'c')"
        write(SHELF.replace('print("glazing", finish)', past_python))
        done = self.run("check", "board.py", "--json", cwd=tmp_path)
        assert json.loads(done.stdout)["ok"] is True
        assert sorted(done.stderr.replace("raw", "raw ").split()) == ["c", "raw"]

    @pytest.mark.parametrize(("number", "name"), [(signal.SIGINT, "Ctrl-C"), (signal.SIGTERM, "kill")])
    def test_interrupt_exits_130_and_leaves_the_old_folder(
        self, write: Write, tmp_path: Path, number: signal.Signals, name: str
    ) -> None:
        """Stopped in the middle of a build: one line, no traceback, the old output as it was."""
        write()
        assert self.run("build", "board.py", "--out", "out", cwd=tmp_path).returncode == 0, name
        before = snapshot(tmp_path / "out")
        write(SLOW, "slow.py")
        running = subprocess.Popen(
            [*PROGRAM, "build", "slow.py", "--out", "out"],
            cwd=tmp_path,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        deadline = time.monotonic() + 60
        while not (tmp_path / "started").exists() and time.monotonic() < deadline:
            time.sleep(0.02)
        running.send_signal(number)
        said, complaint = running.communicate(timeout=60)
        assert (running.returncode, said) == (130, "")
        assert complaint == "panelwright: stopped; old output untouched\n"
        assert snapshot(tmp_path / "out") == before
        assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]

    def test_reader_that_hangs_up_is_no_traceback(self, write: Write, tmp_path: Path) -> None:
        """`panelwright check … | head -0` keeps the exit code and says nothing."""
        write()
        reading, writing = os.pipe()
        os.close(reading)
        try:
            done = subprocess.run(
                [*PROGRAM, "check", "board.py"], cwd=tmp_path, stdout=writing, stderr=subprocess.PIPE, check=False
            )
        finally:
            os.close(writing)
        assert (done.returncode, done.stderr) == (0, b"glazing oil\n")

    def test_output_that_cannot_be_printed_is_a_failure(self, write: Write, tmp_path: Path) -> None:
        """A full device behind standard output is told on the other stream."""
        full = Path("/dev/full")
        if not full.exists():
            pytest.skip("needs a device that is always full")
        write()
        with full.open("w") as device:
            done = subprocess.run(
                [*PROGRAM, "check", "board.py"], cwd=tmp_path, stdout=device, stderr=subprocess.PIPE, check=False
            )
        assert done.returncode == 2
        assert b"the result could not be printed: No space left on device" in done.stderr
        assert b"Traceback" not in done.stderr

    def test_progress_shows_on_a_terminal_only(self, write: Write, tmp_path: Path) -> None:
        """A terminal sees the stages one after the other and a clean line at the end."""
        pty = pytest.importorskip("pty")
        write()
        ours, theirs = pty.openpty()
        done = subprocess.run(
            [*PROGRAM, "build", "board.py", "--out", "out"],
            cwd=tmp_path,
            stdout=subprocess.PIPE,
            stderr=theirs,
            check=False,
        )
        os.close(theirs)
        said = os.read(ours, 100_000).decode()
        os.close(ours)
        assert done.returncode == 0
        stages = ["[1/4] load", "[2/4] resolve and prove", "[3/4] lay out sheets", "[4/4] write"]
        assert list(dict.fromkeys(re.findall(r"\[./4\] [a-z ]*[a-z]", said))) == stages
        end = said.rpartition("write")[2]
        assert "\x1b[2K" in end, "the last line is taken back"
        assert not re.search(r"\w", re.sub(r"\x1b\[[?\d;]*[A-Za-z]", "", end.rpartition("\x1b[2K")[2]))

    def test_narrow_encodings_get_escapes(self, write: Write, tmp_path: Path) -> None:
        """A terminal that knows ASCII only still shows the report."""
        write()
        environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
        done = self.run("check", "board.py", cwd=tmp_path, env=environment)
        assert done.returncode == 0
        assert "120.00 \\xd7 60.00" in done.stdout
