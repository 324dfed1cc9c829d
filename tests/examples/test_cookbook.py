"""The cookbook: its recipes are proven over their ranges, and the page shows them as they are."""

from __future__ import annotations

import ast
import importlib.util
import itertools
import json
import re
import shutil
from pathlib import Path
from types import ModuleType
from typing import Any, Literal, get_args, get_origin, get_type_hints

import pytest
from panelwright.assemblies.loading.design_file import Design, load_design, run
from panelwright.plates import DesignError, Range
from warm import warm

EXAMPLES = Path(__file__).parents[2] / "examples"
RECIPES = sorted((EXAMPLES / "recipes").glob("*.py"))
COOKBOOK = (EXAMPLES / "README.md").read_text("utf-8")

TOLD: dict[str, set[str]] = {}
"""Codes that the proof of a recipe finds, for a reason that its text tells; of all others it finds nothing."""

REFUSES = {"parameters_that_agree"}
"""Recipes that refuse some of their corners, which is what they are about."""


def choices(design: Design) -> list[dict[str, Any]]:
    """The defaults, and every corner of the ranges that the parameters state."""
    ends: dict[str, tuple[Any, ...]] = {}
    for name, hint in get_type_hints(design.function, include_extras=True).items():
        for extra in getattr(hint, "__metadata__", ()):
            if isinstance(extra, Range):
                ends[name] = (extra.low, extra.high)
        if get_origin(hint) is Literal:
            ends[name] = get_args(hint)
        elif hint is bool:
            ends[name] = (False, True)
    assert ends
    return [{}, *(dict(zip(ends, values, strict=True)) for values in itertools.product(*ends.values()))]


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_a_recipe_is_proven_over_its_ranges(path: Path) -> None:
    """At its defaults and at every corner of its ranges the proof finds what the recipe says, which is mostly nothing."""
    design = load_design(path)
    refused = 0
    for values in choices(design):
        try:
            product = run(design, values).product()
        except DesignError:
            assert path.stem in REFUSES, values
            refused += 1
            continue
        found = {finding.code for finding in product.findings}
        assert found == TOLD.get(path.stem, set()), (values, [str(finding) for finding in product.findings])
        assert product.joints
    assert (refused > 0) == (path.stem in REFUSES)


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_a_recipe_is_short_and_says_what_it_is(path: Path) -> None:
    """At most 40 lines of code, imports and docstrings apart; its first sentence fits into a table."""
    tree = ast.parse(path.read_text("utf-8"))
    doc = ast.get_docstring(tree)
    assert doc is not None
    assert len(doc.splitlines()) == 1
    texts: set[int] = set()
    for node in ast.walk(tree):
        is_text = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
        if isinstance(node, ast.stmt) and (is_text or isinstance(node, ast.Import | ast.ImportFrom)):
            texts.update(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    lines = [line for number, line in enumerate(path.read_text("utf-8").splitlines(), 1) if number not in texts]
    assert 8 <= len([line for line in lines if line.strip()]) <= 40


def cookbook() -> ModuleType:
    """The script that keeps the page up to date."""
    spec = importlib.util.spec_from_file_location("make_cookbook", EXAMPLES / "make_cookbook.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_shows_every_recipe_as_its_file_is() -> None:
    """Making the page anew changes nothing, and each recipe stands on it once."""
    assert cookbook().renewed(COOKBOOK) == COOKBOOK
    assert sorted(re.findall(r"<!-- recipes/(\w+)\.py -->\n```python\n", COOKBOOK)) == [path.stem for path in RECIPES]


def test_pictures_and_links_of_the_page_lead_somewhere() -> None:
    """Every file that the page names is there, every anchor is a heading, and each recipe has a small picture."""
    prose = re.sub(r"```.*?```", "", COOKBOOK, flags=re.DOTALL)
    named = set(re.findall(r'\]\(([^)]+)\)|src="([^"]+)"', prose))
    targets = {a or b for a, b in named}
    anchors = {f"#{cookbook().anchor_of(heading)}" for heading in re.findall(r"^#+ (.+)$", prose, re.MULTILINE)}
    assert len(anchors) > len(RECIPES)
    for target in targets:
        assert target in anchors if target.startswith("#") else (EXAMPLES / target).exists(), target
    for path in RECIPES:
        picture = f"pictures/recipes/{path.stem.replace('_', '-')}.png"
        assert f"]({picture})" in prose
        assert (EXAMPLES / picture).stat().st_size < 60_000


def test_the_job_of_the_cookbook_uses_offcuts_up_first(tmp_path: Path) -> None:
    """All its parts lie on the shop's offcut; not one sheet is begun."""
    for name in ("offcut_job.py", "offcut_job.toml", "shop.toml"):
        shutil.copy(EXAMPLES / "recipes" / name, tmp_path)
    done = warm().run("nest", "offcut_job.toml", "--out", "batch", "--effort", "1", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    sheets = json.loads((tmp_path / "batch" / "manifest.json").read_text("utf-8"))["sheets"]
    assert [(sheet["is_offcut"], len(sheet["parts"])) for sheet in sheets] == [(True, 24)]


def test_a_recipes_own_tests_pass() -> None:
    """The tests that recipes carry in their own files hold."""
    ran = 0
    for path in RECIPES:
        if "def test_" not in path.read_text("utf-8"):
            continue
        design = load_design(path)
        with design.surroundings():
            for name, made in design.function.__globals__.items():
                if name.startswith("test_"):
                    made()
                    ran += 1
    assert ran
