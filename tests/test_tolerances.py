"""Tolerances: one module, each with its reason, in an order that holds, and no such number in a comparison elsewhere."""

from __future__ import annotations

import ast
from itertools import pairwise
from pathlib import Path

import pytest
from panelwright.plates import tolerances

ROOT = Path(__file__).parents[1]
HOME = "plates/tolerances.py"

SMALL = 1e-2
"""Numbers below this are tolerances by their look."""

NUMERIC = "arithmetic alone: keeps a division or a root away from zero"
PIXELS = "pixels and light of pictures: decides no geometry"

ALLOWED: dict[str, tuple[tuple[float, ...], str]] = {
    "plates/_kernel/drawing/shaded.py": ((1e-12, 1e-12, 1e-09, 1e-09, 1e-06), PIXELS),
    "assemblies/pictures/boxes.py": ((1e-09, 1e-06), "ways of parts in pictures: decides no geometry"),
    "plates/_kernel/values/place.py": ((1e-14,), "the last digits of matrix entries, which are to be whole numbers"),
    "plates/_kernel/solids/build.py": ((0.001,), "snapped ends of arcs: stands beside the reason for both of its numbers"),
    "plates/geometry/arrangement.py": ((1e-12, 1e-09), NUMERIC),
    "plates/geometry/biarcs.py": ((1e-07,), NUMERIC),
    "plates/geometry/curves.py": ((1e-12,), "last digit of a full turn, told from the float that is nearest to it"),
    "plates/geometry/offset.py": ((1e-10, 1e-06, 1e-06, 0.001), NUMERIC + "; a share of a kerf or of a path's length"),
    "plates/geometry/thin.py": ((0.0001, 0.005), "shares of an area: which pieces are worth measuring"),
    "plates/outlines/dxf_entities.py": ((1e-12,), "weights of a spline, without unit"),
    "assemblies/bodies/bodies.py": ((1e-12,), "shares of a width, without unit"),
    "assemblies/measuring/calibrate.py": ((1e-06,), "steps of a scale, without unit"),
    "assemblies/nest/nesting.py": ((0.001,), "share of an area that rounding of outlines takes"),
    "assemblies/nest/shapes/reduce.py": ((1e-12, 1e-09), NUMERIC),
    "assemblies/proof/interference.py": ((1e-12, 1e-12, 1e-10), NUMERIC + "; boxes that are looked at on the safe side"),
    "assemblies/proof/material_findings.py": ((1e-06,), "how far a plate's direction may be off its grain, as a cosine"),
}
"""Modules that may compare with small numbers of their own, these numbers, and why: none takes two things for one by them."""


def _small_in_comparisons(text: str) -> list[tuple[int, float]]:
    """Line and value of each number other than 0 and below `SMALL` that takes part in a comparison."""
    found = set()
    for node in ast.walk(ast.parse(text)):
        for part in ast.walk(node) if isinstance(node, ast.Compare) else ():
            if isinstance(part, ast.Constant) and isinstance(part.value, float) and 0 < part.value < SMALL:
                found.add((part.lineno, part.value))
    return sorted(found)


def _files() -> dict[str, str]:
    paths = [path for top in ("plates", "joints", "assemblies") for path in sorted((ROOT / top).rglob("*.py"))]
    return {path.relative_to(ROOT).as_posix(): path.read_text("utf-8") for path in paths}


def test_comparisons_take_their_tolerances_from_one_module() -> None:
    """No small number stands in a comparison but those that the list names, and it names none besides."""
    files = _files()
    assert len(files) > 200
    small = {
        name: tuple(sorted(value for _, value in _small_in_comparisons(text))) for name, text in files.items() if name != HOME
    }
    assert {name: values for name, values in small.items() if values} == {name: values for name, (values, _) in ALLOWED.items()}
    assert _small_in_comparisons("a = b < 1e-6 or c - 1e-9 > d") == [(1, 1e-9), (1, 1e-6)]
    assert _small_in_comparisons("a = 1e-6 if b < LIMIT else 0.5") == []


@pytest.mark.parametrize("chain", tolerances.ORDER, ids=lambda chain: chain[0])
def test_finer_tolerances_stay_below_coarser_ones(chain: tuple[str, ...]) -> None:
    """What one step takes for one point, line or turn is never two for a step that looks less closely."""
    values = [getattr(tolerances, name) for name in chain]
    assert len(values) >= 2
    assert all(finer < coarser for finer, coarser in pairwise(values))


def test_every_tolerance_has_a_reason_and_is_used() -> None:
    """Each is public, followed by its own text, and some module outside takes it."""
    body = ast.parse((ROOT / HOME).read_text("utf-8")).body
    elsewhere = "\n".join(text for name, text in _files().items() if name != HOME)
    names = []
    for node, after in pairwise(body):
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            assert isinstance(after, ast.Expr), node.target.id
            assert isinstance(after.value, ast.Constant)
            assert len(str(after.value.value).split()) >= 8, node.target.id
            names.append(node.target.id)
    assert len(names) > 40
    assert {*names, "is_zero"} == {*tolerances.__all__, "ORDER"}
    assert [name for name in names if name != "ORDER" and name not in elsewhere] == []
    in_chains = {name for chain in tolerances.ORDER for name in chain}
    assert in_chains <= set(names)
