"""The tables of the guides, made from the code: `python tests/support/guide_tables.py` writes them anew.

A guide says between two comments what it wants there, and whatever stands between them is replaced:

    <!-- names plates: rectangle disc -->     signatures, units and first words of public names
    <!-- codes: OVERLAP FLOATS -->            codes of findings, their levels, meanings and what mends them
    <!-- options -->                          every command with its options
    <!-- stocks -->                           the shipped stocks
    <!-- hazards -->                          materials that no laser may cut
    <!-- end -->
"""

from __future__ import annotations

import importlib
import inspect
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import click
from panelwright.assemblies import Shop
from panelwright.assemblies.commands.main import COMMANDS
from panelwright.assemblies.console.shared_options import Sheet
from panelwright.assemblies.data.finding_codes import FINDING_CODES
from panelwright.plates.materials.hazards import HAZARDS

__all__ = ["GUIDES", "MARKED", "ROOT", "anew", "asked"]

ROOT = Path(__file__).parents[2]
GUIDES = tuple(
    sorted(
        path
        for layer in ("plates", "joints", "assemblies", "examples")
        for path in (ROOT / layer).rglob("README.md")
        if "vendor" not in path.parts
    )
)
"""Every guide; what comes with a library of others is none."""

MARKED = re.compile(
    r"(?P<head><!-- (?P<what>names \w+|codes|options|stocks|hazards)(?:: (?P<words>[^>]*?))? -->\n).*?(?=<!-- end -->)", re.S
)

CALLED = ("__getitem__", "__contains__")
"""Methods with underscores that designs call all the same."""

UNITS = {
    "angle_deg": "°",
    "lean_deg": "°",
    "turn_step_deg": "°",
    "density": "kg/m³",
    "shear_modulus": "MPa",
    "shear_strength": "MPa",
    "youngs_modulus": "MPa",
    "poisson": "",
    "ratio": "share, 0 to 1",
    "time_limit_s": "s",
    "compact_s": "s",
    "low": "as the parameter",
    "high": "as the parameter",
    "prices": "",
}
"""Units of numbers that are no millimetres, by the name of the parameter."""

LENGTHS = re.compile(r"\bfloat\b|\bPoint\b")
"""Annotations of what is measured; vectors that are places are named in `PLACES`."""

PLACES = (
    "Frame.origin",
    "Frame.facing.origin",
    "Frame.local.world",
    "Frame.point.local",
    "Frame.shifted.by",
    "PlacedPlate.point.local",
)
"""Vectors in millimetres; all others are directions, whose length does not matter."""


def anew(text: str) -> str:
    """A guide's text with all its tables as the code has them now."""
    return MARKED.sub(lambda found: found["head"] + "\n".join(_table(found["what"], found["words"] or "")) + "\n", text)


def asked(text: str, what: str) -> list[str]:
    """All words behind the comments of one sort, such as every name of `names plates`."""
    return [word for found in MARKED.finditer(text) if found["what"] == what for word in (found["words"] or "").split()]


def _table(what: str, words: str) -> list[str]:
    kind, _, layer = what.partition(" ")
    if kind == "names":
        return _names(layer, words.split())
    made: dict[str, Callable[[], list[str]]] = {"options": _options, "stocks": _stocks, "hazards": _hazards}
    return _codes(words.split()) if kind == "codes" else made[kind]()


# ---- public names


def _names(layer: str, names: list[str]) -> list[str]:
    found = [_found(layer, name) for name in names]
    rows = [row for name, one in found for row in _rows(name, one)]
    lines = ["", "| name | what it is | units |", "|---|---|---|", *(f"| {' | '.join(row)} |" for row in rows), ""]
    for name, one in found:
        told = _told(one)
        if told:
            lines += [f"What `{name}` takes:", "", *told, ""]
    return lines


def _found(layer: str, name: str) -> tuple[str, Any]:
    home, _, last = f"panelwright.{layer}.{name}".rpartition(".")
    return last, getattr(importlib.import_module(home), last)


def _rows(name: str, found: Any) -> Iterator[tuple[str, str, str]]:
    if not inspect.isclass(found):
        yield _code(name, found), _said(found), _measures(name, found)
        return
    if issubclass(found, BaseException):
        bases = [base.__name__ for base in found.__mro__[1:] if base.__module__ == "builtins"]
        kind = next(base for base in bases if base not in ("BaseException", "object"))
        yield f"`{name}`, a `{kind}`", _said(found), ""
        return
    is_protocol = getattr(found, "_is_protocol", False)
    yield (f"`{name}`" if is_protocol else _code(name, found)), _said(found), "" if is_protocol else _measures(name, found)
    for key, raw in sorted(_members(found).items()):
        said = f"{name}.{key}"
        if isinstance(raw, property):
            yield f"`.{key}`", _said(raw), ""
        elif key in CALLED:
            yield {"__getitem__": f"`{name.lower()}[name]`", "__contains__": f"`name in {name.lower()}`"}[key], _said(raw), ""
        else:
            function = getattr(found, key)
            is_own = isinstance(raw, classmethod | staticmethod)
            yield _code(said if is_own else f".{key}", function, skip=not is_own), _said(function), _measures(said, function)


def _members(found: type) -> dict[str, Any]:
    """Public methods and properties that a class and those of ours below it define; its own comes last and wins."""
    ours = [kind for kind in reversed(found.__mro__) if kind.__module__.startswith("panelwright.")]
    every = {key: raw for kind in ours for key, raw in vars(kind).items()}
    return {
        key: raw
        for key, raw in every.items()
        if (not key.startswith("_") or (key in CALLED and (raw.__doc__ or "").strip()))
        and (isinstance(raw, property | classmethod | staticmethod) or inspect.isfunction(raw))
    }


def _parameters(found: Any) -> list[inspect.Parameter]:
    return [one for one in inspect.signature(found).parameters.values() if one.name not in ("self", "cls")]


def _code(name: str, found: Any, *, skip: bool = False) -> str:
    """A call as one would write it: names and defaults, without types."""
    words, has_star = [], False
    for one in _parameters(found):
        if one.kind is one.KEYWORD_ONLY and not has_star:
            words.append("*")
            has_star = True
        star = {one.VAR_POSITIONAL: "*", one.VAR_KEYWORD: "**"}.get(one.kind, "")
        has_star = has_star or one.kind is one.VAR_POSITIONAL
        words.append(f"{star}{one.name}" + ("" if one.default is one.empty else f"={_default(one.default)}"))
    return _cell(f"`{name}({', '.join(words)})`")


def _default(value: object) -> str:
    text = repr(value)
    return "…" if text.startswith("<") else text.replace("'", '"')


def _said(found: Any) -> str:
    """The first paragraph of a docstring, without what it raises."""
    first = (inspect.getdoc(found) or "").split("\n\n")[0].replace("\n", " ")
    sentences = re.split(r"(?<=[.:]) +(?=[A-Z`\"])", first)
    return _cell(" ".join(one for one in sentences if not one.startswith("Raises")))


def _told(found: Any) -> list[str]:
    """The list of parameters in a docstring, as it stands there."""
    lines: list[str] = []
    for line in (inspect.getdoc(found) or "").splitlines():
        if line.startswith("- `") or (lines and lines[-1] and line.startswith("  ")):
            lines.append(line)
        elif lines:
            lines.append("")
    return [line for line in lines if line]


def _measures(name: str, found: Any) -> str:
    """The units of what is measured: `mm: width, height`."""
    units: dict[str, list[str]] = {}
    for one in _parameters(found):
        is_place = f"{name}.{one.name}" in PLACES
        if not is_place and not LENGTHS.search(str(one.annotation)) and not one.name.endswith("_s"):
            continue
        unit = "mm" if is_place else UNITS.get(one.name, "mm")
        if unit:
            units.setdefault(unit, []).append(one.name)
    return _cell("; ".join(f"{unit}: {', '.join(f'`{name}`' for name in names)}" for unit, names in units.items()))


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


# ---- what else is made from the code


def _codes(codes: list[str]) -> list[str]:
    lines = []
    for code in codes:
        entry = FINDING_CODES[code]
        levels = " or ".join(entry.levels)
        lines += ["", f"#### {code}", "", f"*{levels}.*  {entry.meaning}", "", f"What mends it: {entry.mend}"]
    return [*lines, ""]


def _options() -> list[str]:
    lines = []
    build = COMMANDS[0]
    sheet = [one for one in build.params if isinstance(one, Sheet)]
    for command in COMMANDS:
        told = " ".join((command.help or "").split())
        arguments = [str(one.metavar) for one in command.params if isinstance(one, click.Argument)]
        lines += [
            "",
            f"### panelwright {command.name}",
            "",
            " ".join([f"`panelwright {command.name}", *arguments]) + "`.  " + told,
            "",
        ]
        own = [one for one in command.params if isinstance(one, click.Option)]
        lines += _option_rows(command, [one for one in own if not isinstance(one, Sheet)])
        laid = {one.name for one in own if isinstance(one, Sheet)}
        if laid:
            without = ", ".join(f"`{one.opts[0]}`" for one in sheet if one.name not in laid)
            lines += ["", f"And all [sheet options](#sheet-options){f' but {without}' if without else ''}."]
    lines += ["", "### Sheet options", "", "Of `build`, `nest` and `family`; [sheets](sheets/README.md) tells more.", ""]
    return [*lines, *_option_rows(build, sheet), ""]


def _option_rows(command: click.Command, options: list[click.Option]) -> list[str]:
    with click.Context(command) as context:
        records = [record for record in (one.get_help_record(context) for one in options) if record]
    return [
        "| option | what it does |",
        "|---|---|",
        *(f"| `{_cell(name)}` | {_cell(' '.join(told.split()))} |" for name, told in records),
    ]


def _stocks() -> list[str]:
    shop = Shop.of_shipped()
    rows = ["", "| stock | material | thickness | kerf | press, snug, sliding | hinges |", "|---|---|---|---|---|---|"]
    for name in shop.names:
        stock = shop[name]
        fits = ", ".join("?" if fit is None else f"{fit:g}" for fit in (stock.press, stock.clearance, stock.sliding))
        judged = "judged" if stock.rigidity and stock.shear_strength else "not judged"
        rows.append(f"| `{name}` | {stock.material} | {stock.thickness:g} mm | {stock.kerf or '?'} mm | {fits} mm | {judged} |")
    return [*rows, ""]


def _hazards() -> list[str]:
    rows = ["", "| material | why | source |", "|---|---|---|"]
    return [*rows, *(f"| {_cell(one.material)} | {_cell(one.reason)} | {_cell(one.source)} |" for one in HAZARDS), ""]


def main() -> None:
    """Write every guide's tables anew, and say which guides changed."""
    for path in GUIDES:
        before = path.read_text("utf-8")
        after = anew(before)
        if after != before:
            path.write_text(after, "utf-8")
            print(path.relative_to(ROOT))


if __name__ == "__main__":
    main()
