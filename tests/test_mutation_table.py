"""The mutation tester's table knows every module it should, and its list of excuses speaks of lines that are there."""

from __future__ import annotations

import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]
TABLE = ROOT / "tests" / "mutation"


def test_every_module_of_the_three_areas_has_owners() -> None:
    """All of joints, of the geometry of plates and of the proof; and the tests named are there."""
    owners = tomllib.loads((TABLE / "owners.toml").read_text(encoding="utf-8"))
    modules = {
        path.relative_to(ROOT).as_posix()
        for area in ("joints", "plates/geometry", "assemblies/proof")
        for path in (ROOT / area).rglob("*.py")
        if path.name != "__init__.py"
    }
    assert len(modules) > 50
    assert sorted(modules - set(owners)) == []
    assert sorted(set(owners) - modules) == []
    tests = {test for entry in owners.values() for test in entry["tests"]}
    assert [test for test in sorted(tests) if not (ROOT / test).is_file()] == []


def test_survivors_that_are_explained_can_still_happen() -> None:
    """The line is in the module, and the reason is a sentence."""
    survivors = tomllib.loads((TABLE / "survivors.toml").read_text(encoding="utf-8"))
    assert survivors
    for module, entries in survivors.items():
        text = " ".join((ROOT / module).read_text(encoding="utf-8").split())
        for entry in entries:
            assert entry["was"].partition(" # ")[0] in text
            assert entry["becomes"] != entry["was"]
            assert entry["why"].endswith(".")
