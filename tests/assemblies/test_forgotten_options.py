"""What is left out on the command line: --set before a parameter, --out before a folder."""

from __future__ import annotations

import pytest
from panelwright.assemblies.commands.main import main


@pytest.mark.parametrize("command", ["check", "build", "picture", "booklet", "preview"])
def test_a_parameter_without_set_is_told_how_to_give_it(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """All of them at once; a word that is no parameter is only told."""
    assert main([command, "tray.py", "width=640", "depth=3"]) == 2
    assert "did you mean --set width=640 depth=3?" in capsys.readouterr().err
    assert main([command, "tray.py", "other.py"]) == 2
    told = capsys.readouterr().err
    assert "extra argument (other.py)" in told
    assert "did you mean" not in told


@pytest.mark.parametrize("words", [["build", "tray.py"], ["family", "tray.py", "sizes.csv"], ["nest", "tray.py"]])
def test_a_missing_folder_is_asked_for_in_the_same_words(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Whichever command wants it."""
    assert main(words) == 2
    assert "give the folder to write, --out DIR" in capsys.readouterr().err
