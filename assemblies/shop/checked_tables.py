"""Values out of TOML tables, each checked, with errors that name the file, the table and the key.

Keys say their unit.  A key that nobody knows is an error that names the nearest one, since a misspelt kerf would otherwise
be no kerf at all.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, TypeVar

from panelwright.plates._validate import finite, positive, whole
from panelwright.plates.errors import PanelwrightError, ShopError

__all__ = ["Table", "nearest", "unquoted_name"]

T = TypeVar("T")


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like another, whatever their capitals; None if none is much like it.

    >>> nearest("Kerf", ["thickness_mm", "kerf_mm"])
    'kerf_mm'
    >>> nearest("colour of the sky", ["kerf_mm"]) is None
    True
    """
    by_fold = {name.casefold(): name for name in known}
    found = difflib.get_close_matches(word.casefold(), by_fold, n=1, cutoff=0.5)
    return by_fold[found[0]] if found else None


def unquoted_name(text: str, error: Exception) -> str:
    """What to write instead, behind a semicolon, if the line that does not parse has a name in it that wants quotes, else "".

    >>> unquoted_name("[stocks.birch 6.5.sources]", ValueError("Expected ']' (at line 1, column 15)"))
    '; quote names with a space: [stocks."birch 6.5".sources]'
    """
    found = re.search(r"at line (\d+)", str(error))
    lines = text.splitlines()
    if found is None or int(found[1]) > len(lines):
        return ""
    line = re.match(r"""\s*(?:(\[{1,2})([^]["'#=]+)\]|([^]["'#=]+)=)""", lines[int(found[1]) - 1])
    if line is None:
        return ""
    # a dot between two digits belongs to a number, as in "birch 6.5"
    names = [name.strip() for name in re.split(r"(?<!\d)\.|\.(?!\d)", line[2] or line[3])]
    if not any(re.search(r"\s", name) for name in names):
        return ""
    quoted = ".".join(name if re.fullmatch(r"[\w-]+", name, re.ASCII) else f'"{name}"' for name in names)
    return (
        f"; quote names with a space: {line[1]}{quoted}{']' * len(line[1])}"
        if line[1]
        else f"; quote names with a space: {quoted} = …"
    )


class Table:
    """One table of a TOML file: `file` is the file's name, `where` the table's path in it ("" for the whole file).

    >>> stocks = Table("shop.toml", 'stocks."birch 4"', {"kerf_mm": -0.1})
    >>> stocks.number("kerf_mm", zero_is_fine=True)
    Traceback (most recent call last):
    ...
    panelwright.plates.errors.ShopError: shop.toml: kerf_mm of stocks."birch 4" is -0.1 mm; it must be 0 or more
    """

    def __init__(self, file: str, where: str, data: object) -> None:
        self.file, self.where = file, where
        if not isinstance(data, Mapping):
            raise self.error(f"{where} is {data!r}; write it as a table, [{where}]", value=data)
        self.data: Mapping[str, Any] = data

    def error(self, message: str, *, value: object = None, limit: object = None) -> ShopError:
        """An error that names the file."""
        return ShopError(f"{self.file}: {message}", value=value, limit=limit)

    def what(self, key: str) -> str:
        """A key of this table as errors call it."""
        return f"{key} of {self.where}" if self.where else key

    def only(self, known: Sequence[str]) -> None:
        """Raise `ShopError` for the first key that is not known, with the nearest that is."""
        for key in self.data:
            if key not in known:
                near = nearest(key, known)
                hint = f"did you mean {near!r}?" if near else f"known are {', '.join(known)}"
                raise self.error(f"there is no key {self.what(repr(key))}; {hint}", value=key, limit=tuple(known))

    def _checked(self, key: str, check: Callable[[Any], T]) -> T | None:
        if key not in self.data:
            return None
        value = self.data[key]
        if isinstance(value, str):
            raise self.error(f"{self.what(key)} is {value!r}; give a plain number{_unit_of(key, ' in ')}", value=value)
        return self._told(check, value)

    def _told(self, check: Callable[[Any], T], value: Any) -> T:
        try:
            return check(value)
        except ShopError:
            raise
        except PanelwrightError as error:
            raise self.error(str(error), value=error.value, limit=error.limit) from error

    def number(self, key: str, *, zero_is_fine: bool = False, may_be_negative: bool = False) -> float | None:
        """A number above 0, or from 0, or any; None if the key is missing."""
        if may_be_negative:
            return self._checked(key, lambda value: finite(value, self.what(key)))
        unit = _unit_of(key)
        return self._checked(key, lambda value: positive(value, self.what(key), unit=unit, zero_is_fine=zero_is_fine))

    def count(self, key: str, *, least: int = 1) -> int | None:
        """A whole number; None if the key is missing."""
        return self._checked(key, lambda value: whole(value, self.what(key), least=least))

    def pair(self, key: str, *, may_be_negative: bool = False) -> tuple[float, float] | None:
        """Two numbers, above 0 unless they may be negative; None if the key is missing."""
        return self._checked(key, lambda value: self._pair(value, self.what(key), may_be_negative))

    def _pair(self, value: Any, what: str, may_be_negative: bool) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            raise self.error(f"{what} is {value!r}; give two numbers, [first, second]", value=value)
        if may_be_negative:
            return (finite(value[0], what), finite(value[1], what))
        return (positive(value[0], what), positive(value[1], what))

    def points(self, key: str) -> list[tuple[float, float]] | None:
        """A list of [x, y]; None if the key is missing."""

        def check(value: Any) -> list[tuple[float, float]]:
            if not isinstance(value, list):
                raise self.error(f"{self.what(key)} is {value!r}; give its corners, [[x, y], …]", value=value)
            return [self._pair(point, f"a corner in {self.what(key)}", True) for point in value]

        return self._checked(key, check)

    def text(self, key: str, choices: Sequence[str] = ()) -> str | None:
        """A text, one of the choices if there are any; None if the key is missing."""
        value = self.data.get(key)
        if value is None:
            return None
        if not isinstance(value, str) or not value.strip():
            raise self.error(f"{self.what(key)} is {value!r}; give a text in quotes", value=value)
        if choices and value not in choices:
            listed = ", ".join(repr(choice) for choice in choices)
            raise self.error(f"{self.what(key)} is {value!r}; give one of {listed}", value=value, limit=tuple(choices))
        return value

    def flag(self, key: str) -> bool | None:
        """true or false; None if the key is missing."""
        value = self.data.get(key)
        if value is not None and not isinstance(value, bool):
            raise self.error(f"{self.what(key)} is {value!r}; give true or false", value=value)
        return value

    def table(self, key: str) -> Table:
        """The table under a key, empty if the key is missing."""
        return Table(self.file, self._path(key), self.data.get(key, {}))

    def tables(self, key: str) -> list[Table]:
        """The tables of an array under a key, none if the key is missing."""
        value = self.data.get(key, [])
        if not isinstance(value, list):
            raise self.error(f"{self.what(key)} is no list; begin each entry with [[{self._path(key)}]]", value=value)
        return [Table(self.file, f"{self._path(key)}[{i}]", entry) for i, entry in enumerate(value)]

    def _path(self, key: str) -> str:
        name = key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else '"' + key.replace('"', '\\"') + '"'
        return f"{self.where}.{name}" if self.where else name


def _unit_of(key: str, lead: str = "") -> str:
    """The unit that the end of a key says.

    >>> _unit_of("kerf_mm"), _unit_of("cut_mm_s"), _unit_of("passes")
    ('mm', 'mm/s', '')
    """
    units = {"_mm_s2": "mm/s²", "_mm_s": "mm/s", "_kg_m3": "kg/m³", "_mpa": "MPa", "_mm": "mm"}
    unit = next((unit for end, unit in units.items() if key.endswith(end)), "")
    return lead + unit if unit else ""
