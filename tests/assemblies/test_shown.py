"""Words on a terminal and elsewhere: colours, lines and tables on the one, plain text everywhere else."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from panelwright.assemblies.console.shown import Progress, Table, show

FINDING = "error OVERLAP: 'base' and 'lid' share 12 mm³ [see /shop/designs/" + "long/" * 20 + "tray.py]"
STOCKS = Table((("stock", "material", "kerf"), ("coffee mug board", "birch plywood [aircraft]", "0.15")), (2,), has_head=True)


class Terminal(io.StringIO):
    """A stream that people look at."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def on_terminal(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """A terminal of 40 columns with all colours."""
    for name, value in (("TERM", "xterm-256color"), ("COLORTERM", "truecolor"), ("COLUMNS", "40")):
        monkeypatch.setenv(name, value)
    for name in ("NO_COLOR", "FORCE_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE"):
        monkeypatch.delenv(name, raising=False)
    return monkeypatch


def bare(text: str) -> str:
    return re.sub(r"\x1b\[[?\d;]*[A-Za-z]", "", text)


def test_elsewhere_it_is_plain_text(on_terminal: pytest.MonkeyPatch) -> None:
    """Neither the width of a window nor a wish for colour changes a file or a pipe."""
    on_terminal.setenv("FORCE_COLOR", "1")
    stream = io.StringIO()
    show(stream, [FINDING, STOCKS])
    head, row = "  stock             material                  kerf", "  coffee mug board  birch plywood [aircraft]  0.15"
    assert stream.getvalue() == f"{FINDING}\n{head}\n{row}\n"


def test_a_terminal_sees_what_is_wrong_in_colour(on_terminal: pytest.MonkeyPatch) -> None:
    """Okabe and Ito's vermilion, on the code only; the words are the same, and no line is broken."""
    stream = Terminal()
    show(stream, [FINDING])
    assert "\x1b[1;38;2;213;94;0merror OVERLAP\x1b[0m" in stream.getvalue()
    assert bare(stream.getvalue()) == f"{FINDING}\n"


@pytest.mark.parametrize(("name", "value"), [("NO_COLOR", "1"), ("TERM", "dumb")])
def test_who_wants_no_colour_sees_none(on_terminal: pytest.MonkeyPatch, name: str, value: str) -> None:
    """NO_COLOR, and terminals that know none (no-color.org)."""
    on_terminal.setenv(name, value)
    stream = Terminal()
    show(stream, [FINDING, STOCKS])
    assert "\x1b" not in stream.getvalue(), "no bold letters either"
    assert stream.getvalue().startswith(f"{FINDING}\n")


@pytest.mark.parametrize("term", ["xterm", "xterm-256color"])
def test_levels_differ_in_colour_too(on_terminal: pytest.MonkeyPatch, term: str) -> None:
    """On terminals of 16 colours as on those of all: the nearest to two of the palette may be one and the same."""
    on_terminal.setenv("TERM", term)
    on_terminal.delenv("COLORTERM")
    codes = []
    for level in ("error", "warning", "note"):
        stream = Terminal()
        show(stream, [f"{level} WEB: too thin"])
        (code,) = re.findall(r"\x1b\[1;([\d;]+)m\w+ WEB", stream.getvalue())
        codes.append(code)
    assert len(set(codes)) == 3


def test_a_narrow_terminal_breaks_cells_and_loses_nothing(on_terminal: pytest.MonkeyPatch) -> None:
    """Columns stay columns; brackets in a name are no markup."""
    stream = Terminal()
    show(stream, [STOCKS])
    lines = bare(stream.getvalue()).splitlines()
    assert max(map(len, lines)) <= 40
    assert len(lines) > 2
    assert sorted("".join(lines).replace(" ", "")) == sorted("".join(map("".join, STOCKS.rows)).replace(" ", ""))


def test_a_terminal_of_few_letters_gets_escapes(on_terminal: pytest.MonkeyPatch) -> None:
    """As pipes do: better an escape than a failure."""
    data = io.BytesIO()

    class Ascii(io.TextIOWrapper):
        def isatty(self) -> bool:
            return True

    stream = Ascii(data, encoding="ascii", newline="\n")
    show(stream, ["200 × 60 mm"])
    assert data.getvalue() == b"200 \\xd7 60 mm\n"


def test_prints_of_a_design_do_not_run_into_the_stage(on_terminal: pytest.MonkeyPatch) -> None:
    """They come out on lines of their own, above it."""
    on_terminal.setenv("COLUMNS", "80")
    stream = Terminal()
    on_terminal.setattr(sys, "stderr", stream)
    with Progress(("load", "write")) as progress:
        progress.next()
        print("glazing oil", file=sys.stderr)
        progress.next()
        progress.tell("half of it", 0.5)
    said = stream.getvalue()
    assert "\nglazing oil\n" in bare(said.replace("\r", "\n"))
    assert "[2/2] write: half of it" in said
    assert sys.stderr is stream


def test_rich_is_loaded_for_a_terminal_only(tmp_path: Path) -> None:
    """A check whose output goes into a pipe takes no longer for it."""
    (tmp_path / "board.py").write_text(
        "from panelwright.assemblies import Assembly\nfrom panelwright.plates import Stock, rectangle\n\n"
        "def design():\n    board = Assembly('board', stock=Stock('birch plywood', 4, kerf=0.2))\n"
        "    board.add('base', rectangle(80, 60))\n    return board\n"
    )
    script = (
        "import sys\nfrom panelwright.assemblies.commands.main import main\n"
        "code = main(['check', 'board.py'])\nprint('RICH', 'rich' in sys.modules, code)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=True, env={**os.environ}
    )
    assert done.stdout.endswith("RICH False 0\n")
