"""Variants of a design: a name and the parameters that are set, gathered from any kind of table and checked one by one."""

from __future__ import annotations

import enum
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from panelwright.assemblies.loading.design_file import Design
from panelwright.assemblies.loading.signature import Parameter
from panelwright.assemblies.writing.file_names import file_name_fault
from panelwright.plates.errors import DesignError

__all__ = ["MOST_VARIANTS", "Gathered", "Variant", "natural_order", "setting_text"]

MOST_VARIANTS = 100_000
"""Variants of one table at most: what has been tried, and more than anybody looks through."""

MOST_TOLD = 8
"""Faults of a table that are told at once; there may be one in every row."""

LONGEST_NAME = 120
"""Most bytes of a variant's name: room for what is written beside its folder while it is replaced, on every file system."""


@dataclass(frozen=True, slots=True)
class Variant:
    """One variant: its name, which names its folder, and its parameters as `--set` takes them, in the design's order.

    Parameters that are not set keep the design's defaults.
    """

    name: str
    settings: tuple[str, ...]


def natural_order(name: str) -> tuple[tuple[int, int, str], ...]:
    """What variants are sorted by: letters as they are, numbers by their value, so that the order of a table decides nothing.

    >>> sorted(["10 cells", "9 cells", "deep"], key=natural_order)
    ['9 cells', '10 cells', 'deep']
    """
    pieces = re.split(r"([0-9]+)", name)
    # the spelling last, so that 07 and 7 are told apart
    keys = [(0, int(piece), piece) if piece.isdecimal() else (1, 0, piece) for piece in pieces if piece]
    return tuple(keys)


def setting_text(value: Any) -> str:
    """A parameter's value as `--set` takes it, so that reading it gives the same value again.

    >>> [setting_text(value) for value in (240.0, True, None, "oak")]
    ['240.0', 'true', 'none', 'oak']
    """
    if isinstance(value, enum.Enum):
        return value.name
    if isinstance(value, bool):
        return "true" if value else "false"
    return "none" if value is None else repr(value) if isinstance(value, float) else str(value)


class Gathered:
    """Variants as they are read from a table of that name; faults are kept, so that several are told at once."""

    def __init__(self, table: str, design: Design) -> None:
        self._table, self._design = table, design
        self._found: list[Variant] = []
        self._by_folded: dict[str, str] = {}
        self._faults: list[str] = []
        self._given: dict[str, Parameter] = {}

    def parameter(self, name: str) -> Parameter:
        """The design's parameter of that name.  Raises `DesignError` with the nearest name if there is none."""
        if name not in self._given:
            try:
                self._given[name] = self._design.parameter(name)
            except DesignError as error:
                raise self.error(str(error)) from error
        return self._given[name]

    def add(self, where: str, name: Any, given: Mapping[str, Any], *, is_text: bool = False) -> None:
        """Take one variant: `where` it stands in the table, its name, and its parameters as texts or as values.

        Raises `DesignError` for more variants or more faults than anybody wants.
        """
        if len(self._found) >= MOST_VARIANTS:
            raise self.error(
                f"more than {MOST_VARIANTS} variants are asked for; part the table into several families", value=MOST_VARIANTS
            )
        fault = self._name_fault(name)
        if fault:
            return self._keep(where, fault)
        values: dict[str, Any] = {}
        is_fine = True
        for key, value in given.items():
            parameter = self.parameter(key)
            try:
                values[key] = parameter.read(value) if is_text else _value_of(parameter, value)
            except DesignError as error:
                is_fine = False
                self._keep(f"{where}, {name!r}", str(error))
        if is_fine:
            self._by_folded[_folded(name)] = name
            ordered = (parameter.name for parameter in self._design.parameters if parameter.name in values)
            self._found.append(Variant(name, tuple(f"{key}={setting_text(values[key])}" for key in ordered)))
        return None

    def fault(self, where: str, what: str) -> None:
        """Keep a fault of the table that is no fault of a value."""
        self._keep(where, what)

    def variants(self) -> list[Variant]:
        """All of them, sorted by name.  Raises `DesignError` with the faults that were found, and if there are none at all."""
        if self._faults:
            raise self._all_faults()
        if not self._found:
            raise self.error("there are no variants in it; give at least one row, with a name")
        return sorted(self._found, key=lambda variant: natural_order(variant.name))

    def error(self, message: str, *, value: object = None) -> DesignError:
        """An error that names the table."""
        return DesignError(f"{self._table}: {message}", value=value)

    def _keep(self, where: str, what: str) -> None:
        self._faults.append(f"{where}: {what}")
        if len(self._faults) >= MOST_TOLD:
            raise self._all_faults(" (reading stopped here; there may be more)")

    def _all_faults(self, more: str = "") -> DesignError:
        if len(self._faults) == 1:
            return self.error(self._faults[0])
        return self.error(f"{len(self._faults)} faults{more}" + "".join(f"\n  {fault}" for fault in self._faults))

    def _name_fault(self, name: Any) -> str:
        if not isinstance(name, str):
            return f"the name of a variant is {name!r}; give a text"
        fault = file_name_fault(name)
        if fault:
            return f"the name {name!r} cannot name a folder: it {fault}"
        if len(name.encode("utf-8", "replace")) > LONGEST_NAME:
            return f"the name {name[:20]!r}… is longer than {LONGEST_NAME} bytes; shorten it"
        other = self._by_folded.get(_folded(name))
        if other is None:
            return ""
        if other == name:
            return f"there are two variants {name!r}; give each a name of its own"
        return f"variants {other!r} and {name!r} would be one folder on some systems; rename one"


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()


def _value_of(parameter: Parameter, value: Any) -> Any:
    """A value of a TOML table or a function, checked; names of choices may be written as texts.  Raises `DesignError`."""
    try:
        return parameter.check(value)
    except DesignError:
        if not isinstance(value, str):
            raise
        # tables know neither None nor members of an Enum, but a number in quotes is a slip
        try:
            read = parameter.read(value)
        except DesignError:
            read = 0
        if isinstance(read, int | float):
            raise
        return read
