"""`panelwright explain`: what the code of a finding means and what mends it, or the list of all codes."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import click
from panelwright.assemblies.console.outcome import Outcome
from panelwright.assemblies.console.shared_options import command, help_option, json_option, traceback_option
from panelwright.assemblies.product.json_documents import document

if TYPE_CHECKING:
    from panelwright.assemblies.data.finding_codes import FindingCode

__all__ = ["explain"]

_WIDTH = 100
"""Characters to a line."""


@command("Tell what the code of a finding means, or list all codes.")
@click.argument("code", required=False, metavar="[CODE]")
@json_option
@traceback_option
@help_option
def explain(code: str | None, json: bool, traceback: bool) -> Outcome:
    """Tell what the code of a finding, such as OVERLAP, in capitals or not, means and what mends it; without a code, list
    all of them.
    """
    from panelwright.assemblies.data.finding_codes import FINDING_CODES

    entries = list(FINDING_CODES.values()) if code is None else [_entry(code)]
    found = [
        {"code": entry.code, "levels": list(entry.levels), "meaning": entry.meaning, "mend": entry.mend} for entry in entries
    ]
    if code is None:
        wide = max(map(len, FINDING_CODES))
        told = [_wrapped(f"{entry.code:<{wide}}  ", entry.meaning) for entry in entries]
    else:
        (entry,) = entries
        head = f"{entry.code} ({' or '.join(entry.levels)})"
        told = [head, _wrapped("  ", entry.meaning), _wrapped("  ", entry.mend)]
    told.append(
        "next: panelwright explain CODE tells what mends one of these"
        if code is None
        else "next: mend it in the design, then panelwright check DESIGN.py shows whether it is gone"
    )
    return Outcome.of(document("panelwright.codes", {"codes": found, "ok": True}), told, as_json=json)


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


def _wrapped(lead: str, words: str) -> str:
    return textwrap.fill(words, _WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))
