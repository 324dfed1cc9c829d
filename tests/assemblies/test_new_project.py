"""`panelwright new`: a project that passes its own tests and builds at once, and what it refuses."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from panelwright.assemblies import Shop
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.product.json_documents import output_schema
from panelwright.assemblies.starting.new_project import TEMPLATES, module_name


def test_a_new_project_passes_its_tests_and_builds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its own script, as a build server runs it from elsewhere, then `build`; a quote in the name reaches the product."""
    folder = tmp_path / "studio" / "Kim's box 2"
    assert main(["new", str(folder)]) == 0
    told = capsys.readouterr().out
    assert "next: cd '" in told
    assert "panelwright preview kim_s_box_2.py --open" in told
    assert len(list(folder.iterdir())) == len(TEMPLATES)
    bin_folder = tmp_path / "bin"  # `panelwright` and `python3` as an environment has them, whatever this one is called
    bin_folder.mkdir()
    for name, arguments in (("panelwright", "-m panelwright.assemblies.commands.main"), ("python3", "")):
        (bin_folder / name).write_text(f'#!/bin/sh\nexec "{sys.executable}" {arguments} "$@"\n', "utf-8")
        (bin_folder / name).chmod(0o755)
    there = {**os.environ, "PATH": f"{bin_folder}{os.pathsep}{os.environ['PATH']}", "PYTEST_ADDOPTS": "-p no:cacheprovider"}
    there = {key: value for key, value in there.items() if not key.startswith("PYTEST_XDIST")}
    ran = subprocess.run(["sh", str(folder / "check.sh")], cwd=tmp_path, env=there, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "8 passed" in ran.stdout
    assert (folder / "proof.xml").is_file()
    assert main(["build", str(folder / "kim_s_box_2.py"), "--out", str(folder / "out"), "--effort", "1"]) == 0
    made = json.loads((folder / "out" / "manifest.json").read_text("utf-8"))
    assert made["design"]["name"] == "Kim's box 2"
    assert made["sheets"]


def test_its_files_are_what_their_readers_want(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """pyproject and shop file by readers of theirs, the script to be run, the result as JSON."""
    folder = tmp_path / "glaze box"
    assert main(["new", str(folder), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator(output_schema()).validate(said)
    assert said["design"] == "glaze_box.py"
    assert sorted(said["files"]) == sorted(file.name for file in folder.iterdir())
    project = tomllib.loads((folder / "pyproject.toml").read_text("utf-8"))
    assert project["project"]["name"] == "glaze_box"
    assert project["tool"]["setuptools"]["py-modules"] == ["glaze_box"]
    assert "birch 4" in Shop.read(folder / "shop.toml").names
    assert os.access(folder / "check.sh", os.X_OK)
    assert "$" not in (folder / "test_glaze_box.py").read_text("utf-8")


@pytest.mark.parametrize(
    ("name", "module"),
    [
        ("json", "design_json"),
        ("class", "design_class"),
        ("3 jars", "design_3_jars"),
        ("panelwright", "design_panelwright"),
        ("A-B", "a_b"),
    ],
)
def test_modules_shadow_nothing(name: str, module: str) -> None:
    """Words of Python, its own modules and ours get something before them."""
    assert module_name(name) == module


@pytest.mark.parametrize(
    ("make", "name", "says"),
    [
        (lambda at: (at / "x").mkdir() or (at / "x" / "mine.txt").write_text("mine"), "x", "is there already"),
        (lambda at: (at / "x").write_text("mine"), "x", "is there already"),
        (lambda at: None, "???", "no letter or digit|cannot"),
        (lambda at: None, "a/con", "con"),
    ],
)
def test_nothing_of_the_users_is_touched(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, make: Any, name: str, says: str
) -> None:
    """A folder with something in it, a file, and names that no file can have are refused, and nothing is left behind."""
    monkeypatch.chdir(tmp_path)
    make(tmp_path)
    before = sorted((file, file.read_bytes() if file.is_file() else b"") for file in tmp_path.rglob("*"))
    assert main(["new", name]) == 2
    assert re.search(says, capsys.readouterr().err)
    assert sorted((file, file.read_bytes() if file.is_file() else b"") for file in tmp_path.rglob("*")) == before
