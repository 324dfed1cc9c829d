"""A design's own tests: what assertions pass and refuse, findings that may stand, exit codes and files for build servers."""

from __future__ import annotations

import json
from collections.abc import Callable
from importlib.metadata import entry_points
from pathlib import Path
from typing import Annotated, Any, Literal
from xml.etree import ElementTree

import pytest
from panelwright.assemblies import Assembly, tray
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.data.finding_codes import FINDING_CODES
from panelwright.assemblies.testing import assert_assembles, assert_fits, assert_proven, corners_of
from panelwright.joints import cross_lap, join, tabs
from panelwright.plates import DesignError, Frame, PanelwrightError, Range, SizeError, Stock, rectangle, standing

pytest_plugins = ["pytester"]

BIRCH = Stock("birch plywood", 3, measured=3.0, kerf=0.15, clearance=0.1, density=680, tolerance=(-0.05, 0.05))


def sign(width: Annotated[float, Range(90, 240)] = 120.0, clearance: float = 0.6) -> Assembly:
    """A foot and a board that rattles in it: one warning, `CLEARANCE`, of both plates."""
    stand = Assembly("sign", stock=BIRCH)
    foot = stand.add("foot", rectangle(width, 60))
    board = stand.add("board", rectangle(width, 80), standing(foot.show, facing="-Y", inset=None))
    join(board.face("<Z"), foot.show, tabs(count=2, width=15, clearance=clearance))
    return stand


def ring() -> Assembly:
    """A tray whose rail shares material with a wall."""
    made = tray("glaze tray", stock=BIRCH, width=120, depth=80, height=30)
    made.add("rail", rectangle(130, 20), Frame((0, 0, 15)))
    return made


SIGN = """
from panelwright.assemblies import Assembly
from panelwright.joints import join, tabs
from panelwright.plates import Stock, rectangle, standing

def design(accepts: bool = False, width: float = 120):
    stand = Assembly("sign", stock=Stock("birch plywood", 3, measured=3.0, kerf=0.15, clearance=0.1, density=680))
    foot = stand.add("foot", rectangle(width, 60))
    board = stand.add("board", rectangle(width, 80), standing(foot.show, facing="-Y", inset=None))
    join(board.face("<Z"), foot.show, tabs(count=2, width=15, clearance=0.6))
    if accepts:
        stand.accept("CLEARANCE", board, because="it is lifted out < every > day")
    return stand
"""


class TestAccepting:
    """A warning that is meant becomes a note with its reason; nothing else does."""

    def test_a_warning_becomes_a_note_that_tells_why(self) -> None:
        """Level, reason and words; the proof counts no warning any more."""
        stand = sign()
        stand.accept("CLEARANCE", "board", "foot", because="it is lifted\n out every day")
        (found,) = stand.check()
        assert (found.level, found.code, found.accepted) == ("note", "CLEARANCE", "it is lifted out every day")
        assert str(found).endswith("(accepted: it is lifted out every day)")
        assert "accepted" not in found.message

    @pytest.mark.parametrize("plates", [(), ("board",), ("foot", "board")])
    def test_plates_narrow_what_is_meant(self, plates: tuple[str, ...]) -> None:
        """No plate stands for any; those that are named must all be the finding's."""
        stand = sign()
        stand.accept("CLEARANCE", *plates, because="it swings")
        assert [(found.level, found.code) for found in stand.check()] == [("note", "CLEARANCE")]

    def test_what_is_not_found_is_told_with_its_line(self) -> None:
        """Another plate, or a code that nothing has: the finding stays, and a note says which line accepts nothing."""
        stand = sign()
        stand.accept("CLEARANCE", "lid", because="it swings")
        warning, note = stand.check()
        assert (warning.level, warning.accepted) == ("warning", "")
        assert (note.level, note.code, note.plates) == ("note", "ACCEPT", ("lid",))
        assert "accepts CLEARANCE of 'lid' (test_design_tests.py, line " in note.message

    def test_errors_stay_errors(self) -> None:
        """No reason makes plates that share material fit."""
        made = ring()
        made.accept("OVERLAP", because="it is meant")
        found = made.check()
        assert {one.level for one in found if one.code == "OVERLAP"} == {"error"}
        (note,) = [one for one in found if one.code == "ACCEPT"]
        assert note.message.endswith("but it is an error here, and stays one; mend it")

    def test_a_sub_assembly_brings_what_it_accepts(self) -> None:
        """Named in full in the assembly around it."""
        inner = sign()
        inner.accept("CLEARANCE", "board", because="it swings")
        outer = Assembly("sign on a shelf", stock=BIRCH)
        outer.add("left", inner)
        found = [(one.level, one.plates) for one in outer.check() if one.code == "CLEARANCE"]
        assert found == [("note", ("left.board", "left.foot"))]

    def test_what_is_said_of_one_says_nothing_of_others(self) -> None:
        """Two signs rattle alike and are told in one finding: it stands until both are accepted, by one line or by two."""
        for accepts, level in (
            ([["left.board", "left.foot"]], "warning"),
            ([["left.board", "left.foot"], ["right.board", "right.foot"]], "note"),
        ):
            outer = Assembly("two signs")
            outer.add("left", sign())
            outer.add("right", sign(), Frame((200, 0, 0)))
            for plates in accepts:
                outer.accept("CLEARANCE", *plates, because="it swings")
            found = {one.code: one for one in outer.check()}
            assert found["CLEARANCE"].level == level
            assert len(found["CLEARANCE"].plates) == 4
            assert ("ACCEPT" in found) == (level == "warning")
        assert found["CLEARANCE"].accepted == "it swings"

    @pytest.mark.parametrize(
        ("code", "plates", "because", "says"),
        [
            ("CLEARANC", (), "why", "did you mean 'CLEARANCE'"),
            ("clearance", (), "why", "did you mean 'CLEARANCE'"),
            ("XYZZY", (), "why", "panelwright explain"),
            ("WEB", (3,), "why", "give plates by name"),
            ("WEB", (), "  ", "say why in words"),
            ("WEB", (), None, "say why in words"),
        ],
    )
    def test_what_names_nothing_is_refused(self, code: str, plates: tuple[Any, ...], because: Any, says: str) -> None:
        """A code that there is not, plates that are none, no reason."""
        with pytest.raises(DesignError, match=says):
            sign().accept(code, *plates, because=because)

    def test_fits_over_sheet_can_be_accepted_and_are_not_missed(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """MAY-RATTLE comes with --tolerance only: accepted there, and nothing is said of it without."""
        design = tmp_path / "sign.py"
        accepts = '    stand.accept("MAY-RATTLE", because="it swings")\n    return stand'
        design.write_text(SIGN.replace("    return stand", accepts), "utf-8")
        assert main(["check", str(design)]) == 0
        assert "ACCEPT" not in capsys.readouterr().out
        assert main(["check", str(design), "--tolerance", "--draws", "200"]) == 0
        said = capsys.readouterr().out
        assert "note MAY-RATTLE: " in said
        assert "(accepted: it swings)" in said
        assert "warning MAY-RATTLE" not in said


def upright(off: float) -> Frame:
    """Where a plate stands on edge, so far behind the middle."""
    return Frame.facing((0, off, 20), show=(0, -1, 0), right=(1, 0, 0))


class TestAssertions:
    """They pass what holds, and say what doesn't."""

    def test_a_sound_design_passes_all(self) -> None:
        """A tray over the corners of a range."""

        def design(width: Annotated[float, Range(90, 160)] = 120.0) -> Assembly:
            return tray("glaze tray", stock=BIRCH, width=width, depth=80, height=30)

        for values in corners_of(design):
            assert_proven(design, level="warning", **values)
            assert_assembles(design, **values)
            assert_fits(design, **values)

    @pytest.mark.parametrize(("level", "passes"), [("error", True), ("warning", False), ("note", False)])
    def test_the_level_says_what_counts(self, level: Literal["error", "warning", "note"], passes: bool) -> None:
        """One warning is none of the errors, and counts among notes and warnings."""
        if passes:
            assert_proven(sign, level=level)
            return
        with pytest.raises(AssertionError, match=r"'sign' with width=100:\nwarning CLEARANCE: "):
            assert_proven(sign, level=level, width=100)

    def test_accepted_warnings_pass(self) -> None:
        """What the design accepts is no warning."""
        stand = sign()
        stand.accept("CLEARANCE", because="it swings")
        assert_proven(stand)

    def test_errors_do_not_assemble(self) -> None:
        """The error is told, and that no order is known."""
        with pytest.raises(AssertionError, match=r"(?s)does not go together:\nerror OVERLAP.*\nno way is known"):
            assert_assembles(ring())

    def test_what_locks_does_not_assemble(self) -> None:
        """Two plates along and two across, each over one and under the other, are woven."""
        made = Assembly("jar grid", stock=BIRCH)
        along = [made.add(f"along {y}", rectangle(140, 40), upright(y)) for y in (-25, 25)]
        turn = Frame.turned("Z", 90)
        across = [made.add(f"across {x}", rectangle(140, 40), upright(x).then(turn)) for x in (-25, 25)]
        for i, first in enumerate(along):
            for k, second in enumerate(across):
                join(first, second, cross_lap(opens_up="first" if i == k else "second"))
        with pytest.raises(AssertionError, match=r"(?s)error LOCKED: .*'along -25'.* lock each other"):
            assert_assembles(made)

    def test_fits_that_do_not_hold_are_told(self) -> None:
        """Sheet that varies by more than its clearance jams; sheet of which nothing is known is no fit either."""
        rough = Stock("birch plywood", 3, kerf=0.15, clearance=0.05, tolerance=(-0.4, 0.4))
        with pytest.raises(AssertionError, match=r"% fit, 99.0% are asked for\nwarning MAY-"):
            assert_fits(tray("glaze tray", stock=rough, width=120, depth=80, height=30))
        unknown = Stock("birch plywood", 3)
        with pytest.raises(AssertionError, match="nothing is known"):
            assert_fits(tray("glaze tray", stock=unknown, width=120, depth=80, height=30))

    @pytest.mark.parametrize(
        ("call", "error", "says"),
        [
            (lambda: assert_proven(3), DesignError, "give a design file"),  # type: ignore[arg-type]  # meant
            (lambda: assert_proven("no such.py"), DesignError, "no design file"),
            (lambda: assert_proven(sign(), width=100), DesignError, "built already"),
            (lambda: assert_proven(lambda: 3), DesignError, "let it return the Assembly"),  # type: ignore[arg-type, return-value]  # meant
            (lambda: assert_proven(sign, level="grave"), PanelwrightError, "level of a test"),  # type: ignore[arg-type]  # meant
            (lambda: assert_fits(sign, share=2), SizeError, "0 to 1"),
            (lambda: assert_fits(sign, draws=1), SizeError, "number of draws"),
        ],
    )
    def test_wrong_use_is_an_error_not_a_failed_test(self, call: Callable[[], None], error: type, says: str) -> None:
        """What is no design, and numbers out of range."""
        with pytest.raises(error, match=says):
            call()


class TestCorners:
    """Every end with every other, and choices."""

    def test_corners_are_the_product_of_ends_and_choices(self) -> None:
        """Whole numbers stay whole, choices are all taken, what has no ends keeps its default."""

        def design(
            width: Annotated[float, Range(80, 600)] = 240,
            brushes: Annotated[int, Range(1, 24)] = 8,
            feet: Literal["none", "round", "square"] = "none",
            note: str = "",
        ) -> Assembly: ...

        found = corners_of(design)
        assert len(found) == 2 * 2 * 3
        assert {tuple(one) for one in found} == {("width", "brushes", "feet")}
        assert {type(one["brushes"]) for one in found} == {int}
        assert corners_of(design, "feet") == [{"feet": "none"}, {"feet": "round"}, {"feet": "square"}]
        with pytest.raises(DesignError, match="takes no parameter 'height'"):
            corners_of(design, "height")
        with pytest.raises(DesignError, match="parameter 'note' of 'design' has no ends"):
            corners_of(design, "note")

    def test_too_many_corners_ask_for_names(self) -> None:
        """Eleven ranges have 2,048 corners."""
        many = ", ".join(f"p{i}: Annotated[float, Range(1, 2)] = 1" for i in range(11))
        names: dict[str, Any] = {"Annotated": Annotated, "Range": Range}
        exec(f"def design({many}): ...", names)
        with pytest.raises(SizeError, match=r"2048 corners.*corners_of\(…, 'p0'\)"):
            corners_of(names["design"])
        assert len(corners_of(names["design"], "p0", "p1")) == 4

    def test_an_example_is_read_from_its_file(self) -> None:
        """Corners of the tool pot's ranges lie at their ends."""
        path = Path(__file__).parents[2] / "examples" / "tool_pot.py"
        found = corners_of(path)
        for name in found[0]:
            assert len({one[name] for one in found}) >= 2


class TestBuildServers:
    """Exit codes by level, and the JUnit file."""

    @pytest.mark.parametrize(
        ("options", "code"),
        [
            ([], 0),
            (["--level", "error"], 0),
            (["--level", "warning"], 1),
            (["--level", "note"], 1),
            (["--level", "warning", "--set", "accepts=yes"], 0),
            (["--level", "note", "--set", "accepts=yes"], 1),
            (["--level", "grave"], 2),
        ],
    )
    def test_exit_codes(self, tmp_path: Path, options: list[str], code: int, capsys: pytest.CaptureFixture[str]) -> None:
        """1 from the level on that is asked for; `next:` names the first finding that stops."""
        design = tmp_path / "sign.py"
        design.write_text(SIGN, "utf-8")
        assert main(["check", str(design), *options]) == code
        if code == 1:
            assert "next: panelwright explain CLEARANCE" in capsys.readouterr().out

    def test_json_tells_the_reason(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """As a key of its own; the message stays the finding's."""
        design = tmp_path / "sign.py"
        design.write_text(SIGN, "utf-8")
        assert main(["check", str(design), "--json", "--set", "accepts=yes"]) == 0
        (found,) = json.loads(capsys.readouterr().out)["findings"]
        assert (found["level"], found["accepted"]) == ("note", "it is lifted out < every > day")

    def test_the_junit_file_has_a_case_for_each_code(self, tmp_path: Path) -> None:
        """Read back by the standard library: counts agree with cases, the warning fails its own case and no other."""
        design, file = tmp_path / "sign.py", tmp_path / "deep" / "proof.xml"
        design.write_text(SIGN, "utf-8")
        assert main(["check", str(design), "--level", "warning", "--junit", str(file)]) == 1
        suite = ElementTree.fromstring(file.read_bytes()).find("testsuite")
        assert suite is not None
        cases = suite.findall("testcase")
        assert [case.get("name") for case in cases] == list(FINDING_CODES)
        assert [case.get("name") for case in cases if case.find("failure") is not None] == ["CLEARANCE"]
        assert [case.get("name") for case in cases if case.find("skipped") is not None] == ["MAY-JAM", "MAY-RATTLE"]
        assert (suite.get("tests"), suite.get("failures"), suite.get("skipped")) == (str(len(cases)), "1", "2")
        first = file.read_bytes()
        assert main(["check", str(design), "--level", "error", "--junit", str(file), "--set", "accepts=yes"]) == 0
        assert file.read_bytes() != first
        case = ElementTree.fromstring(file.read_bytes()).find(".//testcase[@name='CLEARANCE']")
        assert case is not None
        assert case.find("failure") is None
        assert "it is lifted out < every > day" in (case.findtext("system-out") or "")

    def test_a_file_that_cannot_be_written_is_refused_first(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        """Before the design is run."""
        design = tmp_path / "sign.py"
        design.write_text("print('ran')\n" + SIGN.replace("stand = ", "raise SystemExit\n    stand = "), "utf-8")
        assert main(["check", str(design), "--junit", str(tmp_path / "proof.txt")]) == 2
        assert "end it in .xml" in capsys.readouterr().err


def test_pytest_proves_a_design_once_for_all_tests(pytester: pytest.Pytester) -> None:
    """The fixture finds the design beside the test's file, and proves each set of values once."""
    folder = pytester.mkdir("rack")
    counted = SIGN.replace("    stand = A", '    open(__file__ + ".ran", "a").write("x")\n    stand = A')
    (folder / "sign.py").write_text(counted, "utf-8")
    (folder / "test_sign.py").write_text(
        "from panelwright.assemblies.testing import assert_assembles, assert_proven\n"
        "def test_first(prove_design):\n"
        "    assert_assembles(prove_design('sign.py', width=100))\n"
        "def test_second(prove_design):\n"
        "    sign = prove_design('sign.py', width=100)\n"
        "    assert_proven(sign, level='error')\n"
        "    assert [part.name for part in sign.product.parts] == ['foot', 'board']\n"
        "def test_other(prove_design):\n"
        "    assert_proven(prove_design('sign.py', width=140, accepts=True))\n"
        "def test_fails(prove_design):\n"
        "    assert_proven(prove_design('sign.py', width=100))\n"
        "def test_without_the_fixture():\n"
        "    assert_assembles('sign.py', width=100)\n",
        "utf-8",
    )
    # where the toolkit is installed pytest finds its plugin by itself, and takes no second one
    known = any(point.name == "panelwright" for point in entry_points(group="pytest11"))
    plugin = () if known else ("-p", "panelwright.assemblies.testing.pytest_plugin")
    result = pytester.runpytest_inprocess(*plugin, "-p", "no:xdist", str(folder))
    result.assert_outcomes(passed=4, failed=1)
    result.stdout.fnmatch_lines(["*warning CLEARANCE: *"])
    assert (folder / "sign.py.ran").read_text() == "xxx"
