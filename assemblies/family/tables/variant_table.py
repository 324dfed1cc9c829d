"""Tables of variants: CSV, TOML, or a function that yields them.

CSV has a row a variant: a column `variant` for its name, and one for each parameter that is set.  The others are told in
`grid_table`.  Tables are read row by row, and refused with what is wrong in words before anything is built.
"""

from __future__ import annotations

import csv
import io
import types
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from panelwright.assemblies.loading.design_file import Design, blaming
from panelwright.assemblies.shop.checked_tables import nearest
from panelwright.plates.errors import DesignError

from .gathered import Gathered, Variant
from .grid_table import gather_toml

__all__ = ["NAME_COLUMN", "read_variants", "table_files"]

NAME_COLUMN = "variant"
"""The column of names in a CSV, here and in `family.csv`."""

DELIMITERS = (",", ";", "\t")


def read_variants(table: str, design: Design) -> list[Variant]:
    """All variants that a table asks for, sorted by name.

    `table` is the path of a .csv or .toml file, or `FILE.py:function`, where the function takes nothing and yields pairs of a
    name and the parameters as a dict.  Raises `DesignError` for a table that cannot be read, for names and values that cannot
    be, and for none or too many.
    """
    path, function = _parted(table)
    gathered = Gathered(path.name, design)
    if function:
        _gather_function(path, function, design, gathered)
    elif path.suffix.lower() == ".csv":
        _gather_csv(path, gathered)
    elif path.suffix.lower() == ".toml":
        gather_toml(_text_of(path), gathered)
    else:
        raise DesignError(f"table {table!r} is of no kind that is read; give a .csv, a .toml, or FILE.py:function", value=table)
    return gathered.variants()


def table_files(table: str) -> Path:
    """The file that a table lies in, whether it is there or not."""
    return _parted(table)[0]


def _parted(table: str) -> tuple[Path, str]:
    """The file, and the function in it, "" for a table that is a file.

    >>> _parted("sizes.py:all_of_them")[1], _parted("sizes.csv")[1]
    ('all_of_them', '')
    """
    file, colon, function = table.rpartition(":")
    if colon and file.lower().endswith(".py"):
        return Path(file), function
    return Path(table), ""


def _text_of(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise DesignError(f"table {str(path)!r} is not UTF-8; save it as UTF-8", value=str(path)) from error
    except (OSError, ValueError) as error:
        raise _unreadable(path, error) from error


def _unreadable(path: Path, error: Exception) -> DesignError:
    if isinstance(error, FileNotFoundError):
        return DesignError(f"there is no table {str(path)!r}", value=str(path))
    reason = getattr(error, "strerror", None) or error
    return DesignError(f"table {str(path)!r} cannot be read: {reason}", value=str(path))


def _gather_csv(path: Path, gathered: Gathered) -> None:
    """A row after the other: however long the file is, only what is asked for is kept."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            _gather_rows(file, gathered)
    except UnicodeDecodeError as error:
        raise DesignError(f"table {str(path)!r} is not UTF-8; save it as UTF-8", value=str(path)) from error
    except (OSError, ValueError) as error:
        if isinstance(error, DesignError):
            raise
        raise _unreadable(path, error) from error


def _gather_rows(file: Iterable[str], gathered: Gathered) -> None:
    lines = iter(file)
    first = next((line for line in lines if line.strip()), "")
    if not first:
        return
    # spreadsheets write what their country has; a name with that sign in it would be in quotes
    delimiter = max(DELIMITERS, key=first.count)
    rows = csv.reader(_together(first, lines), delimiter=delimiter, strict=True)
    try:
        head = [cell.strip() for cell in next(rows)]
        _check_head(head, gathered)
        for row in rows:
            if any(cell.strip() for cell in row):
                _take_row(f"line {rows.line_num}", head, row, gathered)
    except csv.Error as error:
        raise gathered.error(f"line {rows.line_num}: this is not CSV: {error}") from error


def _together(first: str, rest: Iterator[str]) -> Iterator[str]:
    yield first
    yield from rest


def _check_head(head: list[str], gathered: Gathered) -> None:
    twice = next((name for name in head if head.count(name) > 1), None)
    if twice is not None:
        raise gathered.error(f"there are two columns {twice!r}; leave one out", value=twice)
    if NAME_COLUMN not in head:
        near = nearest(NAME_COLUMN, [name for name in head if name])
        hint = f"; is it {near!r}?" if near else ""
        raise gathered.error(f"there is no column {NAME_COLUMN!r} for the names of variants{hint}", value=head)
    for name in head:
        if name != NAME_COLUMN:
            gathered.parameter(name)


def _take_row(where: str, head: list[str], row: list[str], gathered: Gathered) -> None:
    if len(row) != len(head):
        return gathered.fault(where, f"{len(row)} values are given for {len(head)} columns; give one for each")
    cells = dict(zip(head, row, strict=True))
    name = cells.pop(NAME_COLUMN).strip()
    empty = [key for key, cell in cells.items() if not cell.strip() and gathered.parameter(key).reader.kind != "str"]
    if empty:
        return gathered.fault(
            where, f"{empty[0]} of {name!r} is missing; give it, or leave the column out if all keep the default"
        )
    return gathered.add(where, name, {key: cell.strip() for key, cell in cells.items()}, is_text=True)


def _gather_function(path: Path, function: str, design: Design, gathered: Gathered) -> None:
    source = _text_of(path)
    module = types.ModuleType(f"_panelwright_table_{path.stem}")
    module.__file__ = str(path.resolve())
    # what the table imports lies beside the table, wherever the design lies
    around = Design(path, design.function, design.parameters, "", design.shop, {module.__name__: module})
    with blaming(path, "failed", "table"), around.surroundings():
        exec(compile(source, module.__file__, "exec", dont_inherit=True), module.__dict__)
        made: Any = module.__dict__.get(function)
        if not callable(made):
            near = nearest(function, [name for name, value in module.__dict__.items() if isinstance(value, types.FunctionType)])
            hint = f"; did you mean {near!r}?" if near else ""
            raise DesignError(f"there is no function {function!r} in table {path.name!r}{hint}", value=function)
        yielded: Any = made()
        for number, pair in enumerate(yielded, start=1):
            if not isinstance(pair, tuple | list) or len(pair) != 2 or not isinstance(pair[1], Mapping):
                raise DesignError(
                    f"table {path.name!r}: {function}() yielded {_short(pair)} as its variant {number}; "
                    "yield a name and a dict of parameters",
                    value=pair,
                )
            gathered.add(f"variant {number}", pair[0], {str(key): value for key, value in pair[1].items()})


def _short(value: Any) -> str:
    text = io.StringIO(repr(value)).read(60)
    return text if len(text) < 60 else f"{text}…"
