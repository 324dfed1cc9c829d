"""Design files: what they may define, how their parameters are read, and what is said when they fail."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from panelwright.assemblies.loading.design_file import Design, load_design, parse_settings, run
from panelwright.assemblies.product.assembly import Assembly
from panelwright.plates.errors import DesignError, PanelwrightError, SizeError
from panelwright.plates.parameters import Range

BODY = """
    birch = Stock("birch plywood", 4)
    return Assembly("tile tray", stock=birch)
"""
HEAD = """
from enum import Enum
from typing import Annotated, Literal, Optional
from panelwright.assemblies.product.assembly import Assembly
from panelwright.plates.parameters import Range
from panelwright.plates.materials.stock import Stock

class Side(Enum):
    LEFT = "l"
    RIGHT = "r"

"""

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Writes a design file and returns its path."""

    def write(text: str, name: str = "tray.py") -> Path:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(textwrap.dedent(text), encoding="utf-8")
        return path

    return write


def with_parameters(write: Write, parameters: str, doc: str = "") -> Design:
    return load_design(write(f'{HEAD}def design({parameters}):\n    """{doc}"""{BODY}'))


class TestReading:
    @pytest.mark.parametrize(
        ("annotation", "default", "text", "value"),
        [
            ("int", "3", "12", 12),
            ("int", "3", "-4", -4),
            ("float", "3", "12", 12.0),
            ("float", "3", " 1.5e2 ", 150.0),
            ("float", "3", ".5", 0.5),
            ("bool", "True", "no", False),
            ("bool", "False", "TRUE", True),
            ("bool", "True", "0", False),
            ("str", "'a'", "b = c", "b = c"),
            ("str", "'a'", "", ""),
            ("Literal['oil', 'wax']", "'oil'", "wax", "wax"),
            ("Literal['oil', 'wax']", "'oil'", "WAX", "wax"),
            ("Literal[3, 5]", "3", "5", 5),
            ("Optional[float]", "None", "2.5", 2.5),
            ("float | None", "2", "none", None),
            ("str | None", "None", "none", None),
            ("str | None", "None", "clay", "clay"),
            ("Annotated[float, Range(10, 20)]", "12", "20", 20.0),
            ("Annotated[int, Range(1, 9)]", "2", "1", 1),
            ("Annotated[int, Range(1, 9)] | None", "None", "9", 9),
            ("Annotated[int | None, Range(1, 9)]", "None", "none", None),
            ("Annotated[float, 'a note']", "12", "-5", -5.0),
        ],
    )
    @pytest.mark.parametrize("future", ["", "from __future__ import annotations\n"])
    def test_text_becomes_the_value_that_the_annotation_says(
        self, write: Write, annotation: str, default: str, text: str, value: object, future: str
    ) -> None:
        """Every supported annotation, written as an object and as text."""
        design = load_design(write(f"{future}{HEAD}def design(gap: {annotation} = {default}):{BODY}"))
        read = parse_settings(design, [f"gap={text}"])
        assert read == {"gap": value}
        assert type(read["gap"]) is type(value)

    def test_enum_is_read_by_name_or_value(self, write: Write) -> None:
        """Members by name in any case, or by the text of their value."""
        design = with_parameters(write, "side: Side = Side.LEFT")
        read = [parse_settings(design, [f"side={text}"])["side"].name for text in ("LEFT", "right", "r")]
        assert read == ["LEFT", "RIGHT", "RIGHT"]

    @pytest.mark.parametrize(
        ("annotation", "default", "text", "words"),
        [
            ("int", "3", "3.5", ["'gap'", "int", "'3.5'", "whole number"]),
            ("int", "3", "1_0", ["'1_0'", "whole number"]),
            ("int", "3", "", ["''", "whole number"]),
            ("float", "3", "nan", ["'nan'", "finite"]),
            ("float", "3", "-inf", ["'-inf'", "finite"]),
            ("float", "3", "1e999", ["'1e999'", "finite"]),
            ("float", "3", "12mm", ["float", "'12mm'", "without a unit"]),
            ("float", "3", "1,5", ["'1,5'", "decimal point"]),
            ("bool", "True", "maybe", ["bool", "'maybe'", "true", "false"]),
            ("Literal['oil', 'wax']", "'oil'", "tar", ["'tar'", "oil | wax"]),
            ("Side", "Side.LEFT", "up", ["'up'", "LEFT | RIGHT"]),
            ("float | None", "2", "wide", ["'wide'", "no number", "none"]),
            ("Annotated[float, Range(10, 20.5)]", "12", "21", ["'gap'", "21", "10 to 20.5"]),
            ("Annotated[int, Range(1, 9)] | None", "None", "0", ["'gap'", "0", "1 to 9"]),
        ],
    )
    def test_bad_value_is_an_error_with_parameter_type_and_value(
        self, write: Write, annotation: str, default: str, text: str, words: list[str]
    ) -> None:
        """The message says which parameter, what was given and what it takes."""
        design = with_parameters(write, f"gap: {annotation} = {default}")
        with pytest.raises(DesignError) as caught:
            parse_settings(design, [f"gap={text}"])
        for word in ["gap", *words]:
            assert word in str(caught.value)

    @pytest.mark.parametrize(
        ("setting", "words"),
        [
            ("widht=3", "did you mean 'width'"),
            ("colour=3", "it takes width, depth"),
            ("width", "write name=value"),
            ("=3", "write name=value"),
        ],
    )
    def test_unknown_or_incomplete_setting_gets_a_hint(self, write: Write, setting: str, words: str) -> None:
        """A slip of the finger gets the nearest name, anything else the list of names."""
        design = with_parameters(write, "width: float = 200, depth: float = 100")
        with pytest.raises(DesignError, match=words):
            parse_settings(design, [setting])

    def test_parameter_set_twice_is_an_error(self, write: Write) -> None:
        """Which of two values was meant is not guessed."""
        design = with_parameters(write, "width: float = 200")
        with pytest.raises(DesignError, match="'width' is set twice"):
            parse_settings(design, ["width=1", "width=2"])

    def test_values_combine_settings_and_defaults(self, write: Write) -> None:
        """A default of a float parameter counts as a float, so that 240 and --set width=240 are the same."""
        design = with_parameters(write, "width: float = 240, brushes: int = 8")
        assert repr(design.values(parse_settings(design, ["brushes=9"]))) == "{'width': 240.0, 'brushes': 9}"


class TestSignature:
    @pytest.mark.parametrize(
        ("parameters", "words"),
        [
            ("width=3", "'width' of design() has no annotation"),
            ("width: float", "'width' of design() has no default"),
            ("*sizes: float", "takes *sizes"),
            ("**sizes: float", "takes **sizes"),
            ("width: float = 3, /", "'width' of design() can only be given by position"),
            ("width: list[float] = []", "list[float], which the command line cannot read; use int, float, bool, str"),
            ("width: complex = 1j", "annotated complex, which"),
            ("width: Annotated[str, Range(1, 2)] = 'a'", "which the command line cannot read"),
            ("width: 'Missing' = 3", "name 'Missing' is not defined"),
            ("width: Annotated[float, Range(1, 5)] = 9", "default 9, which does not lie from 1 to 5"),
            ("width: int = 2.5", "default 2.5, which is no whole number"),
            ("side: Side = 'l'", "default 'l', which is none of LEFT | RIGHT"),
        ],
    )
    def test_parameter_the_command_line_cannot_set_is_named(self, write: Write, parameters: str, words: str) -> None:
        """Found while loading, with the parameter and what to write instead."""
        with pytest.raises(DesignError) as caught:
            with_parameters(write, parameters)
        assert "tray.py" in str(caught.value)
        assert words in str(caught.value)

    @pytest.mark.parametrize(
        "doc",
        [
            """A tray.

    Args:
        width: inside width, mm,
            between the rims.
        brushes (int): how many.
    """,
            """A tray.

    :param width: inside width, mm,
        between the rims.
    :param int brushes: how many.
    """,
            """A tray.

    - `width`: inside width, mm,
      between the rims.
    - `brushes`: how many.
    """,
        ],
    )
    def test_help_comes_from_the_docstring(self, write: Write, doc: str) -> None:
        """The usual notations all give each parameter its text, and the rest stays the design's own."""
        design = with_parameters(write, "width: float = 3, brushes: int = 2, lid: bool = True", doc)
        assert [parameter.help for parameter in design.parameters] == [
            "inside width, mm, between the rims.",
            "how many.",
            "",
        ]
        assert design.doc == "A tray."

    def test_kinds_read_like_annotations(self, write: Write) -> None:
        """What help shows as the type."""
        design = with_parameters(
            write, "a: Annotated[float, Range(80, 600)] = 90, b: Side | None = None, c: Literal['oil', 'wax'] = 'oil'"
        )
        kinds = [parameter.reader.kind for parameter in design.parameters]
        assert kinds == ["float from 80 to 600", "LEFT | RIGHT | none", "oil | wax"]

    def test_decorated_function_keeps_its_parameters(self, write: Write) -> None:
        """functools.wraps is looked through."""
        text = f"""{HEAD}
import functools
def logged(function):
    @functools.wraps(function)
    def wrapper(*args, **kwargs):
        return function(*args, **kwargs)
    return wrapper

@logged
def design(width: float = 3):{BODY}"""
        assert [parameter.name for parameter in load_design(write(text)).parameters] == ["width"]

    def test_name_for_type_checkers_only_may_stand_behind_the_arrow(self, write: Write) -> None:
        """Only parameters need annotations that exist when the file runs."""
        text = "from __future__ import annotations\ndef design(width: float = 3) -> Nowhere:\n    return None\n"
        assert load_design(write(text)).parameters[0].reader.kind == "float"


class TestRange:
    def test_limits_are_included(self) -> None:
        """Both ends count, and what is no number does not."""
        assert 80 in Range(80, 600)
        assert 600 in Range(80, 600)
        assert 79.999 not in Range(80, 600)
        assert float("nan") not in Range(80, 600)

    @pytest.mark.parametrize(("low", "high"), [(5, 1), (float("nan"), 3), (0, float("inf")), ("a", 3)])
    def test_range_that_holds_nothing_is_refused(self, low: Any, high: Any) -> None:
        """Limits the wrong way round or no numbers are an error where they are written."""
        with pytest.raises(SizeError):
            Range(low, high)


class TestLoading:
    def test_missing_file_gets_the_nearest_name(self, write: Write) -> None:
        """A slip in the file's name is pointed out."""
        path = write("", "brush_rack.py")
        with pytest.raises(DesignError, match=r"no design file .*brushrack\.py.*did you mean .*brush_rack\.py"):
            load_design(path.with_name("brushrack.py"))

    def test_folder_is_refused(self, tmp_path: Path) -> None:
        """A folder is told apart from a missing file."""
        with pytest.raises(DesignError, match="is a folder"):
            load_design(tmp_path)

    def test_other_encoding_is_refused_with_its_line(self, tmp_path: Path) -> None:
        """Latin-1 is no UTF-8; the line of the first such byte is named."""
        path = tmp_path / "tray.py"
        path.write_bytes("# one\n# Böden\n".encode("latin-1"))
        with pytest.raises(DesignError, match="is not UTF-8: byte 0xF6 in line 2"):
            load_design(path)

    def test_byte_order_mark_is_no_obstacle(self, tmp_path: Path) -> None:
        """Some editors write one."""
        path = tmp_path / "tray.py"
        path.write_bytes(f"\ufeff{HEAD}def design(width: float = 3):{BODY}".encode())
        assert len(load_design(path).parameters) == 1

    def test_syntax_error_shows_file_line_and_text(self, write: Write) -> None:
        """Enough to find the place without a traceback."""
        path = write("x = 1\ndef design(:\n    pass\n")
        with pytest.raises(DesignError) as caught:
            load_design(path)
        assert f"{path}:2: invalid syntax" in str(caught.value)
        assert "def design(:" in str(caught.value)
        assert isinstance(caught.value.__cause__, SyntaxError)

    def test_null_byte_is_refused(self, write: Write) -> None:
        """A binary file is no design."""
        with pytest.raises(DesignError, match="does not parse"):
            load_design(write("x = 1\0"))

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("x = 1", "defines no `design`"),
            ("def desing():\n    pass", "rename 'desing'"),
            ("design = 3", "`design` in 'tray.py' is an int and cannot be called"),
            ("design = None", "is None and cannot be called"),
        ],
    )
    def test_file_without_a_design_function_is_refused(self, write: Write, text: str, words: str) -> None:
        """What is there instead is named."""
        with pytest.raises(DesignError, match=words):
            load_design(write(text))

    def test_failure_while_loading_is_chained_and_placed(self, write: Write) -> None:
        """Type, message, file, line and text of the design's own lines, and the error itself as the cause."""
        path = write("def check(width):\n    return 1 / width\n\ncheck(0)\n")
        with pytest.raises(DesignError) as caught:
            load_design(path)
        assert "failed while it was loaded: ZeroDivisionError: division by zero" in str(caught.value)
        assert f"{path}:4: check(0)" in str(caught.value)
        assert f"{path}:2 in check: return 1 / width" in str(caught.value)
        assert isinstance(caught.value.__cause__, ZeroDivisionError)

    @pytest.mark.parametrize("ending", ["raise SystemExit(3)", "import sys; sys.exit('bye')", "exit()"])
    def test_ending_the_program_is_a_failure(self, write: Write, ending: str) -> None:
        """A design that calls exit does not end the command line without a word."""
        with pytest.raises(DesignError, match="ended the program"):
            load_design(write(ending))

    def test_interrupt_goes_through(self, write: Write) -> None:
        """Ctrl-C is no fault of the design."""
        with pytest.raises(KeyboardInterrupt):
            load_design(write("raise KeyboardInterrupt"))

    def test_neighbours_are_imported_and_forgotten(self, write: Write, tmp_path: Path) -> None:
        """Two designs in two folders each get their own neighbour of the same name; the path is as before."""
        before, modules = list(sys.path), set(sys.modules)
        found = {}
        for folder in ("studio", "shop"):
            write(f"NAME = {folder!r}\n", f"{folder}/shelf_sizes.py")
            path = write(
                f"{HEAD}import shelf_sizes\ndef design(width: float = 3):\n"
                "    import shelf_sizes as again\n    assert again is shelf_sizes\n"
                '    return Assembly(again.NAME, stock=Stock("birch", 4))\n',
                f"{folder}/tray.py",
            )
            found[folder] = load_design(path)
        assert {folder: run(design).name for folder, design in found.items()} == {"studio": "studio", "shop": "shop"}
        assert sys.path == before
        assert "shelf_sizes" not in sys.modules
        assert not [name for name in set(sys.modules) - modules if "tray" in name]

    def test_dataclass_with_text_annotations_loads(self, write: Write) -> None:
        """Dataclasses look their module up while they are made."""
        text = (
            "from __future__ import annotations\nfrom dataclasses import dataclass\nfrom typing import ClassVar\n"
            f"@dataclass\nclass Tile:\n    side: float = 50\n    kind: ClassVar[str] = 'test'\n{HEAD}"
            f"def design(width: float = 3):{BODY}"
        )
        assert load_design(write(text)).parameters[0].default == 3.0


class TestRunning:
    def test_assembly_comes_back(self, write: Write) -> None:
        """The value set arrives, and what the design returns is returned."""
        design = load_design(
            write(f'{HEAD}def design(label: str = "a"):\n    return Assembly(label, stock=Stock("birch", 4))\n')
        )
        made = run(design, parse_settings(design, ["label=glaze rack"]))
        assert isinstance(made, Assembly)
        assert made.name == "glaze rack"
        assert run(design).name == "a"

    def test_prints_go_to_standard_error(self, write: Write, capsys: pytest.CaptureFixture[str]) -> None:
        """Both while loading and while running."""
        text = f'print("loading")\n{HEAD}def design(width: float = 3):\n    print("running"){BODY}'
        design = load_design(write(text))
        run(design)
        assert capsys.readouterr() == ("", "loading\nrunning\n")

    def test_values_are_checked_for_callers_from_python_too(self, write: Write) -> None:
        """A value that --set would refuse is refused here."""
        design = with_parameters(write, "width: Annotated[float, Range(10, 20)] = 12")
        with pytest.raises(DesignError, match="'width' is 30; it must lie from 10 to 20"):
            run(design, {"width": 30})
        with pytest.raises(DesignError, match="no parameter 'depth'"):
            run(design, {"depth": 30})

    def test_error_of_the_toolkit_keeps_its_message_and_attributes(self, write: Write) -> None:
        """The message says what to change already; the place in the design is added."""
        path = write(f'{HEAD}def design(width: float = 3):\n    return Stock("birch", 0)\n')
        with pytest.raises(DesignError) as caught:
            run(load_design(path))
        lines = str(caught.value).splitlines()
        assert lines[0] == "thickness of stock 'birch' is 0 mm; it must be above 0"
        assert lines[1].startswith(f"  {path}:")
        assert len(lines) == 2
        assert caught.value.limit == 0
        assert isinstance(caught.value.__cause__, PanelwrightError)

    def test_recursion_without_end_is_told_in_few_lines(self, write: Write) -> None:
        """A thousand equal frames are one line."""
        path = write(f"{HEAD}def deeper():\n    deeper()\ndef design(width: float = 3):\n    deeper()\n")
        with pytest.raises(DesignError, match="RecursionError") as caught:
            run(load_design(path))
        assert len(str(caught.value).splitlines()) == 3

    @pytest.mark.parametrize(
        ("returned", "words"),
        [
            ("None", "returned None, not an Assembly"),
            ("[1]", "returned a list, not an Assembly"),
            ("Assembly", "returned the class Assembly, not an Assembly"),
            ("3", "returned an int"),
        ],
    )
    def test_other_results_are_named(self, write: Write, returned: str, words: str) -> None:
        """A forgotten return and a wrong object are told apart."""
        with pytest.raises(DesignError, match=words):
            run(load_design(write(f"{HEAD}def design(width: float = 3):\n    return {returned}\n")))


def test_a_design_that_changes_directory_moves_nobody_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While it is loaded and while it runs; relative paths lead where they led."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "board.py").write_text(
        "import os\nos.chdir('/')\nfrom panelwright.assemblies import Assembly\n"
        "from panelwright.plates import Stock, rectangle\n"
        "def design() -> Assembly:\n    os.chdir('/')\n    made = Assembly('board', stock=Stock('MDF', 3))\n"
        "    made.add('board', rectangle(40, 20))\n    return made\n",
        encoding="utf-8",
    )
    design = load_design("board.py")
    assert Path.cwd() == tmp_path
    assert run(design).product().name == "board"
    assert Path.cwd() == tmp_path
