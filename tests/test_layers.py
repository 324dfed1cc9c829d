"""The architecture holds: imports go one way, the kernel has one seam, and nothing heavy loads before it is needed."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
MAY_IMPORT = {
    "plates": {"plates"},
    "joints": {"plates", "joints"},
    "assemblies": {"plates", "joints", "assemblies"},
}
HEAVY = ("OCP", "cadquery", "vtk", "ezdxf", "shapely", "pyclipper")


def modules(layer: str) -> list[Path]:
    """All source files of a layer."""
    return sorted((ROOT / layer).rglob("*.py"))


def imports(path: Path) -> Iterator[tuple[str, bool]]:
    """Every absolute module name that a file imports, and whether that happens as the module loads."""
    tree = ast.parse(path.read_text("utf-8"))
    guarded = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
        for inner in ast.walk(node)
    }
    late = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names = [node.module]
        for name in names:
            if id(node) not in guarded:
                yield name, id(node) not in late


@pytest.mark.parametrize("layer", MAY_IMPORT)
def test_imports_go_one_way(layer: str) -> None:
    """plates knows nothing of joints and assemblies, joints nothing of assemblies."""
    seen = 0
    for path in modules(layer):
        for name, _ in imports(path):
            if name.startswith("panelwright."):
                seen += 1
                assert name.split(".")[1] in MAY_IMPORT[layer], f"{path.relative_to(ROOT)} imports {name}"
            assert name.split(".")[0] not in MAY_IMPORT, f"{path.relative_to(ROOT)} imports {name} by its folder"
    assert seen > 10 or layer == "plates"


@pytest.mark.parametrize("layer", MAY_IMPORT)
def test_the_kernel_has_one_seam(layer: str) -> None:
    """OCP and CadQuery are called in plates/_kernel only, ezdxf where DXF is read and written, pyclipper in one module."""
    dxf = {"plates/outlines/dxf_entities.py", "assemblies/files/dxf.py"}
    kernel = 0
    for path in modules(layer):
        place = path.relative_to(ROOT).as_posix()
        for name, _ in imports(path):
            root = name.split(".")[0]
            if root in ("OCP", "cadquery"):
                kernel += 1
                assert place.startswith("plates/_kernel/") or place == "plates/placing/plate.py", f"{place} imports {name}"
            if root == "ezdxf":
                assert place in dxf, f"{place} imports {name}"
            if root == "pyclipper":
                assert place == "assemblies/nest/shapes/paths.py", f"{place} imports {name}"
    assert kernel > 20 or layer != "plates"


@pytest.mark.parametrize("layer", MAY_IMPORT)
def test_heavy_libraries_are_imported_inside_functions(layer: str) -> None:
    """No module loads the kernel, ezdxf or shapely just by being imported."""
    for path in modules(layer):
        for name, at_load in imports(path):
            assert not (at_load and name.split(".")[0] in HEAVY), f"{path.relative_to(ROOT)} loads {name}"


@pytest.mark.parametrize(
    "code",
    [
        "from panelwright.joints import tabs, fingers, cross_lap; tabs(count=2, width=10); fingers(); cross_lap(0.4)",
        "from panelwright.plates import Stock, rectangle; Stock('MDF', 3); rectangle(30, 20)",
    ],
)
def test_specs_load_nothing_heavy(code: str) -> None:
    """A joint spec or a rectangle in a fresh interpreter loads no kernel, no VTK, no ezdxf."""
    check = f"{code}; import sys; print([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_joint_loads_no_other_kind() -> None:
    """Tabs load neither hinges nor captures: kinds are loaded when a design first names them."""
    code = "from panelwright.joints import tabs; tabs(); import sys; print([m for m in sys.modules if '.kinds.' in m])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['panelwright.joints.kinds.tabs']"


def test_modules_stay_small() -> None:
    """One idea a module: none is longer than 450 lines, and each says what it offers."""
    for layer in MAY_IMPORT:
        for path in modules(layer):
            text = path.read_text("utf-8")
            assert len(text.splitlines()) <= 450, path
            assert path.name == "__init__.py" or "__all__" in text, path
