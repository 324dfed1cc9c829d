"""What the README shows works as it stands there."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")


def test_the_design_in_the_readme_is_proven(tmp_path: Path) -> None:
    """The README's design is short, builds, and its proof finds nothing."""
    source, *_ = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    assert len([line for line in source.splitlines() if line.strip()]) <= 20
    path = tmp_path / "brush_stand.py"
    path.write_text(source, "utf-8")
    command = [sys.executable, "-m", "panelwright.assemblies.commands.main", "build", str(path), "--out", str(tmp_path / "out")]
    done = subprocess.run([*command, "--set", "width=300"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "found nothing wrong" in done.stdout
    assert (tmp_path / "out" / "assembly.step").exists()


def test_other_assemblies_in_the_readme_are_proven() -> None:
    """Every further piece of Python in the README runs, and the proof of what it makes finds nothing."""
    from panelwright.assemblies import Assembly

    _, *others = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    looked = 0
    for source in others:
        names: dict[str, object] = {}
        exec(source, names)
        for made in names.values():
            if isinstance(made, Assembly):
                assert made.check() == ()
                looked += 1
    assert looked >= 3


def test_every_name_in_the_readme_exists() -> None:
    """Functions that the README names can be imported from where it says."""
    import panelwright.assemblies
    import panelwright.joints
    import panelwright.plates

    public = {
        *panelwright.plates.__all__,
        *panelwright.joints.__all__,
        *panelwright.assemblies.__all__,
    }
    outlines = README[README.index("Outlines: ") : README.index("## Joints")]
    named = set(re.findall(r"`([a-z_]+)`", outlines))
    assert len(named) > 15
    assert named <= public


def test_pictures_and_files_that_the_readme_names_exist() -> None:
    """Every picture and every path in the README is in the repository."""
    named = re.findall(r"\]\(([^)]+)\)|`((?:examples|tests|plates)/[^`]+)`", README)
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


def test_the_shop_file_in_the_readme_is_read() -> None:
    """It has no key that nobody knows, and what it says arrives."""
    from panelwright.assemblies import Shop

    text = next(block for block in re.findall(r"```toml\n(.*?)```", README, re.DOTALL) if block.startswith("# shop.toml"))
    shop = Shop.from_text(text)
    assert shop["birch 4"].is_calibrated
    assert (shop["birch 4"].t, shop["birch 4"].density) == (3.87, 660)
    assert shop.shelf("birch 4").offcuts[0].outline.area == 48000
    assert shop.price_of("ISO 4762 M3 × 16") == 0.06


def test_the_nests_in_the_readme_run(tmp_path: Path) -> None:
    """Both commands as they stand there, beside the examples and their shop file, with the job file as it stands there."""
    job = next(block for block in re.findall(r"```toml\n(.*?)```", README, re.DOTALL) if block.startswith("# march.toml"))
    (tmp_path / "march.toml").write_text(job, encoding="utf-8")
    for name in ("brush_rack.py", "tile_tray.py", "shop.toml"):
        shutil.copy(ROOT / "examples" / name, tmp_path)
    block = next(block for block in re.findall(r"```sh\n(.*?)```", README, re.DOTALL) if "panelwright nest" in block)
    for line in block.strip().splitlines():
        done = subprocess.run(
            [sys.executable, "-m", "panelwright.assemblies.commands.main", *shlex.split(line)[1:], "--effort", "5"],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
    assert "sheets taken off" in done.stdout
    assert len(list((tmp_path / "batch" / "sheets").iterdir())) >= 3


def test_the_shop_commands_in_the_readme_run(tmp_path: Path) -> None:
    """As they stand there, one after the other, in an empty folder."""
    block = next(block for block in re.findall(r"```sh\n(.*?)```", README, re.DOTALL) if "panelwright calibrate" in block)
    commands = [shlex.split(line, comments=True) for line in block.strip().splitlines()]
    assert [command[:2] for command in commands] == [["panelwright", name] for name in ("stocks", "coupon", "calibrate")]
    for command in commands:
        done = subprocess.run(
            [sys.executable, "-m", "panelwright.assemblies.commands.main", *command[1:]],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
    assert 'based_on = "birch 4"' in (tmp_path / "shop.toml").read_text("utf-8")
    assert len(list((tmp_path / "test").iterdir())) == 3
