"""What silences a checker or catches everything says why, in the line itself or the next one."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]

BARE_IGNORE = re.compile(r"#\s*type:\s*ignore(\[[\w, -]+\])?\s*$")
BROAD = re.compile(r"^\s*except( \(?(Base)?Exception\)?( as \w+)?)?:\s*$")


def _without_reason(text: str) -> list[int]:
    lines = text.splitlines()
    found = [i for i, line in enumerate(lines, 1) if BARE_IGNORE.search(line)]
    for i, (line, after) in enumerate(zip(lines, [*lines[1:], ""], strict=True), 1):
        if BROAD.match(line) and not after.lstrip().startswith("#"):
            found.append(i)
    return sorted(found)


def test_ignored_types_and_broad_excepts_tell_their_reason() -> None:
    """All of the sources, tests and examples."""
    tops = ("plates", "joints", "assemblies", "tests", "examples")
    files = [path for top in tops for path in sorted((ROOT / top).rglob("*.py"))]
    assert len(files) > 350
    found = {path.relative_to(ROOT).as_posix(): _without_reason(path.read_text("utf-8")) for path in files}
    assert {name: lines for name, lines in found.items() if lines} == {}


def test_the_search_finds_what_it_should() -> None:
    """With a reason each is fine."""
    assert _without_reason("a = b()  # type: ignore" + "[misc]\n") == [1]
    assert _without_reason("a = b()  # type: ignore" + "[misc]  # refused on purpose\n") == []
    assert _without_reason("try:\n    a()\nexcept Exception" + ":\n    pass\n") == [3]
    assert _without_reason("try:\n    a()\nexcept Exception" + ":\n    # it may do anything\n    pass\n") == []
