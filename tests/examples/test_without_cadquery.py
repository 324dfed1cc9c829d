"""A design that hands in no CadQuery object never imports CadQuery, which would take more time than all the rest."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
WITH_CADQUERY = {"shapes_from_cadquery"}
"""The one that is about CadQuery's objects."""

RUN = """
import contextlib, io, sys
from pathlib import Path
from panelwright.assemblies.commands.main import main
sys.modules["cadquery"] = None  # whoever imports it now fails
for path in sys.argv[2:]:
    for arguments in (["check", path], ["build", path, "--no-sheets", "--out", f"{sys.argv[1]}/{Path(path).stem}"]):
        said = io.StringIO()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            code = main(arguments)
        if code != 0:
            sys.exit(f"{arguments} ended with {code}: {said.getvalue()}")
print(*sorted({name.split(".")[0] for name in sys.modules}))
"""


def designs(folder: Path) -> list[Path]:
    """All design files of a folder but those that are about CadQuery."""
    found = [path for path in sorted(folder.glob("*.py")) if "\ndef design(" in path.read_text("utf-8")]
    return [path for path in found if path.stem not in WITH_CADQUERY]


@pytest.mark.parametrize("folder", [EXAMPLES, EXAMPLES / "recipes"], ids=lambda folder: folder.name)
def test_examples_are_checked_and_built_without_cadquery(folder: Path, tmp_path: Path) -> None:
    """Every example and recipe but one, in a process in which CadQuery cannot be imported; nor is what only CadQuery needs."""
    paths = designs(folder)
    assert len(paths) >= 7
    done = subprocess.run(
        [sys.executable, "-c", RUN, str(tmp_path), *map(str, paths)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    loaded = set(done.stdout.split())
    assert {"OCP", "ezdxf", "panelwright"} <= loaded  # it has done its work
    assert not loaded & {"vtk", "vtkmodules", "casadi", "nlopt", "multimethod", "runtype", "trame"}
    assert len(list(tmp_path.glob("*/assembly.step"))) == len(paths)


def test_the_example_with_cadquery_works_too() -> None:
    """What is drawn by CadQuery is taken as ever."""
    (name,) = WITH_CADQUERY
    command = [sys.executable, "-m", "panelwright.assemblies.commands.main", "check", str(EXAMPLES / "recipes" / f"{name}.py")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_selector_and_a_wrong_shape_load_no_cadquery() -> None:
    """Corners are picked without it, and what is no shape is refused without it."""
    code = """
import sys
from panelwright.plates import OutlineError, outline_of, rectangle
rectangle(30, 20).rounded(3, ">Y and <X")
class Wrapped:
    wrapped = None
try:
    outline_of(Wrapped())
except OutlineError as error:
    print(str(error).endswith("is no flat shape; give a CadQuery Sketch, Workplane, Face or Wire"))
print("cadquery" in sys.modules, "OCP" in sys.modules)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["True", "False", "False"]
