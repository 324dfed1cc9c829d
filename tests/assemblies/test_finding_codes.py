"""The table of finding codes: held against the sources, the guide to the proof and the command that prints it."""

from __future__ import annotations

import ast
import json
import re
from collections import defaultdict
from pathlib import Path

import pytest
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.data.finding_codes import FINDING_CODES

ROOT = Path(__file__).parents[2]
LAYERS = ("plates", "joints", "assemblies")
CARRIED = {"remark.code"}
"""Codes that are handed on: those of remarks, which are raised elsewhere."""

UNSAID = {"level", "remark.level"}
"""Levels that are handed on."""

PLACE = {"Finding": (1, 0), "Remark": (0, 4)}
"""Where code and level stand among the arguments."""


def _words(node: ast.expr | None, tree: ast.AST) -> set[str]:
    """All texts that an argument may be: itself, either side of a choice, or what its name is given in that file."""
    match node:
        case ast.Constant(value=str(text)):
            return {text}
        case ast.IfExp():
            return _words(node.body, tree) | _words(node.orelse, tree)
        case ast.Name(id=name):
            given = [one for one in ast.walk(tree) if isinstance(one, ast.Assign | ast.AnnAssign)]
            return {word for one in given for word in _given(one, name, tree)}
    return set()


def _given(assigned: ast.Assign | ast.AnnAssign, name: str, tree: ast.AST) -> set[str]:
    if isinstance(assigned, ast.AnnAssign):
        return _words(assigned.value, tree) if isinstance(assigned.target, ast.Name) and assigned.target.id == name else set()
    (target,) = assigned.targets
    if isinstance(target, ast.Name) and target.id == name:
        return _words(assigned.value, tree)
    if not isinstance(target, ast.Tuple):
        return set()
    spots = [spot for spot, one in enumerate(target.elts) if isinstance(one, ast.Name) and one.id == name]
    sides = [assigned.value.body, assigned.value.orelse] if isinstance(assigned.value, ast.IfExp) else [assigned.value]
    return {word for spot in spots for side in sides if isinstance(side, ast.Tuple) for word in _words(side.elts[spot], tree)}


def raised() -> dict[str, set[str]]:
    """Every code that a source file gives to a finding or a remark, with the levels that stand beside it."""
    found: dict[str, set[str]] = defaultdict(set)
    for path in sorted(path for layer in LAYERS for path in (ROOT / layer).rglob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        for node in ast.walk(tree):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in PLACE):
                continue
            named = {word.arg: word.value for word in node.keywords}
            code, level = (
                node.args[spot] if spot < len(node.args) else named.get(word)
                for spot, word in zip(PLACE[node.func.id], ("code", "level"), strict=True)
            )
            codes = _words(code, tree)
            assert codes or (code is not None and ast.unparse(code) in CARRIED), f"{path.name}, line {node.lineno}"
            levels = _words(level, tree)
            if node.func.id == "Remark" and level is None:
                levels = {"warning"}
            assert levels or (level is not None and ast.unparse(level) in UNSAID), f"{path.name}, line {node.lineno}"
            for one in codes:
                found[one] |= levels
    return found


def test_the_table_has_every_code_that_is_raised_and_no_other() -> None:
    """In alphabetical order, each with levels, what it means and what mends it in whole sentences."""
    assert set(raised()) == set(FINDING_CODES)
    assert list(FINDING_CODES) == sorted(FINDING_CODES)
    for code, entry in FINDING_CODES.items():
        assert entry.code == code
        assert all(re.fullmatch(r"[A-Z`].*[.]", words) for words in (entry.meaning, entry.mend))


def test_levels_are_those_that_are_raised() -> None:
    """For hinges, whose levels are handed on, those of their remarks as well."""
    found = raised()
    hinge = (ROOT / "joints/kinds/hinges/hinge_findings.py").read_text("utf-8")
    found["HINGE"] |= {level for level in ("error", "warning") if f'"{level}",' in hinge}
    assert {code: set(entry.levels) for code, entry in FINDING_CODES.items()} == found


def test_the_guide_tells_every_code_and_no_other() -> None:
    """Each under a heading of its own, with the words for its levels; code that is shown there raises none but these."""
    guide = (ROOT / "assemblies/proof/README.md").read_text("utf-8")
    told = dict(re.findall(r"^#### ([A-Z]+(?:-[A-Z]+)*)\n\n\*([a-z ]+)\.\*", guide, re.MULTILINE))
    assert told == {code: " or ".join(entry.levels) for code, entry in FINDING_CODES.items()}


@pytest.mark.parametrize("given", ["OVERLAP", "overlap", " Overlap "])
def test_a_code_is_explained(given: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Its level, what it means and what mends it, however it is spelt."""
    assert main(["explain", given]) == 0
    *lines, following = capsys.readouterr().out.splitlines()
    said = " ".join(" ".join(lines).split())
    entry = FINDING_CODES["OVERLAP"]
    assert following.startswith("next: ")
    assert said == f"OVERLAP (error) {entry.meaning} {entry.mend}"


def test_all_codes_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    """With what they mean; as JSON with everything."""
    assert main(["explain"]) == 0
    *said, following = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in said if line[0] != " "] == list(FINDING_CODES)
    assert max(map(len, [*said, following])) <= 100
    assert following.startswith("next: ")
    assert main(["explain", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [entry["code"] for entry in told["codes"]] == list(FINDING_CODES)
    assert all(entry["levels"] and entry["meaning"] and entry["mend"] for entry in told["codes"])


@pytest.mark.parametrize(
    ("given", "hint"), [("OVRLAP", "did you mean OVERLAP?"), ("fit", "`panelwright explain` lists all"), ("", "lists all")]
)
def test_a_code_that_there_is_not_names_the_nearest(given: str, hint: str, capsys: pytest.CaptureFixture[str]) -> None:
    """And is wrong use."""
    assert main(["explain", given]) == 2
    said = capsys.readouterr().err
    assert f"no finding has the code {given!r}" in said
    assert hint in said
