"""`panelwright explain`: what the code of a finding means and what mends it, or the list of all codes."""

from __future__ import annotations

import json
import textwrap
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import argparse

    from panelwright.assemblies.data.finding_codes import FindingCode

__all__ = ["add_explain", "explained"]

_WIDTH = 100
"""Characters to a line."""


def add_explain(commands: Any) -> None:
    """Add the command's parser to a set of subparsers."""
    explain = commands.add_parser(
        "explain",
        usage="panelwright explain [CODE] [--json]",
        help="tell what the code of a finding means and what mends it; without a code, list all",
        description="Tell what the code of a finding means and what mends it; without a code, list all of them.",
        allow_abbrev=False,
    )
    explain.add_argument("code", nargs="?", metavar="CODE", help="such as OVERLAP, in capitals or not")
    explain.add_argument("--json", action="store_true", help="print JSON instead of text")
    explain.add_argument("--traceback", action="store_true", help="show where a failure came from, in full")


def explained(chosen: argparse.Namespace) -> str:
    """What the command says.  Raises `ArgumentError`, with the nearest code, for one that there is not."""
    from panelwright.assemblies.data.finding_codes import FINDING_CODES

    entries = list(FINDING_CODES.values()) if chosen.code is None else [_entry(chosen.code)]
    if chosen.json:
        told = [
            {"code": entry.code, "levels": list(entry.levels), "meaning": entry.meaning, "mend": entry.mend}
            for entry in entries
        ]
        return json.dumps(told, indent=2, ensure_ascii=False) + "\n"
    if chosen.code is None:
        wide = max(map(len, FINDING_CODES))
        return "".join(_wrapped(f"{entry.code:<{wide}}  ", entry.meaning) for entry in entries)
    (entry,) = entries
    head = f"{entry.code} ({' or '.join(map(_level, entry.levels))})\n"
    return head + _wrapped("  ", entry.meaning) + _wrapped("  ", entry.mend)


def _entry(given: str) -> FindingCode:
    from panelwright.assemblies.data.finding_codes import FINDING_CODES
    from panelwright.plates.errors import ArgumentError

    code = given.strip().upper().replace("_", "-").replace(" ", "-")
    if code in FINDING_CODES:
        return FINDING_CODES[code]
    import difflib

    near = difflib.get_close_matches(code, FINDING_CODES, n=1)
    hint = f"did you mean {near[0]}?" if near else "`panelwright explain` lists all"
    raise ArgumentError(f"no finding has the code {given!r}; {hint}", value=given)


def _level(level: str) -> str:
    return "note" if level == "info" else level


def _wrapped(lead: str, words: str) -> str:
    return textwrap.fill(words, _WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead)) + "\n"
