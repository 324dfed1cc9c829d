"""The door: what the README shows works as it stands there.  What guides show, and links, `test_guides.py` holds."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")


def test_the_design_in_the_readme_is_proven(tmp_path: Path) -> None:
    """The README's design is short, builds, and its proof finds nothing; it is all the Python there."""
    (source,) = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    assert len([line for line in source.splitlines() if line.strip()]) <= 20
    path = tmp_path / "brush_stand.py"
    path.write_text(source, "utf-8")
    command = [sys.executable, "-m", "panelwright.assemblies.commands.main", "build", str(path), "--out", str(tmp_path / "out")]
    done = subprocess.run([*command, "--set", "width=300"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "found nothing wrong" in done.stdout
    assert (tmp_path / "out" / "assembly.step").exists()


def test_pictures_and_files_that_the_readme_names_exist() -> None:
    """Every picture and every path in the README is in the repository."""
    named = re.findall(r"\]\(([^)#]+)[^)]*\)|`((?:examples|tests|plates)/[^`]+)`", README)
    paths = [a or b for a, b in named]
    assert len(paths) >= 4
    for path in paths:
        assert (ROOT / path).exists(), path


@pytest.mark.parametrize(("marker", "does"), [("build", "panelwright build"), ("test", "-m pytest")])
def test_both_commands_stand_where_the_checks_find_them(marker: str, does: str) -> None:
    """Between the README's marker and the end of its block: system packages where there is apt, then one line for all."""
    block = README[README.index(f"<!-- {marker} command -->") :]
    packages, _, command = re.findall(r"```sh\n(.*?)```", block, re.DOTALL)[0].strip().rpartition("\nfi\n")
    assert packages.startswith("if command -v apt-get >/dev/null; then")
    assert "libgl1" in packages
    assert command.startswith("python3 -m venv .venv && ")
    assert does in command
