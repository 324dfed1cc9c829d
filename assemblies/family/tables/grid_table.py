"""Variants in TOML: one by one, and every combination of lists and ranges.

[all]                                      # what all variants have
height = 40

[variants]                                 # a line a variant
small = { columns = 3, rows = 2 }
wide = { columns = 8, rows = 2 }

[[grid]]                                   # every combination
name = "{columns} by {rows}"
set = { columns = [4, 6], rows = { from = 2, to = 6, step = 2 } }
"""

from __future__ import annotations

import itertools
import math
import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from panelwright.assemblies.shop.checked_tables import nearest, unquoted_name
from panelwright.plates.tolerances import RELATIVE_ROUNDING

from .gathered import MOST_VARIANTS, Gathered, setting_text

__all__ = ["gather_toml"]


def gather_toml(text: str, gathered: Gathered) -> None:
    """Take all variants of a TOML table.  Raises `DesignError` for what cannot be read as one."""
    try:
        top = tomllib.loads(text.replace("\r\n", "\n"))
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise gathered.error(f"this is not TOML: {error}{unquoted_name(text, error)}") from error
    _only(top, ("all", "variants", "grid"), "", gathered)
    common = _table(top.get("all", {}), "all", gathered)
    for name in common:
        gathered.parameter(name)
    for name, own in _table(top.get("variants", {}), "variants", gathered).items():
        gathered.add("variants", name, {**common, **_table(own, f"variants.{name}", gathered)})
    grids = top.get("grid", [])
    if not isinstance(grids, list):
        raise gathered.error("grid is no list; begin each grid with [[grid]]")
    for number, grid in enumerate(grids, start=1):
        where = f"grid {number}"
        table = _table(grid, where, gathered)
        _only(table, ("name", "set"), where, gathered)
        _gather_grid(where, table.get("name"), {**common, **_table(table.get("set", {}), where, gathered)}, gathered)


def _only(table: Mapping[str, Any], known: Sequence[str], where: str, gathered: Gathered) -> None:
    for key in table:
        if key not in known:
            near = nearest(key, known)
            hint = f"did you mean {near!r}?" if near else f"known are {', '.join(known)}"
            raise gathered.error(f"there is no key {key!r}{f' of {where}' if where else ''}; {hint}", value=key)


def _table(value: Any, where: str, gathered: Gathered) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise gathered.error(f"{where} is {value!r}; give parameters, {{ name = value, … }}", value=value)
    return value


def _gather_grid(where: str, name: Any, given: Mapping[str, Any], gathered: Gathered) -> None:
    axes = {key: _axis(key, value, where, gathered) for key, value in given.items()}
    many = [key for key, values in axes.items() if len(values) > 1]
    if not isinstance(name, str | None):
        raise gathered.error(f'name of {where} is {name!r}; give a text such as "{{width}} wide"', value=name)
    pattern = ", ".join(f"{key} {{{key}}}" for key in many) if name is None else name
    for field in re.findall(r"\{(\w*)\}", pattern):
        if field not in axes:
            near = nearest(field, list(axes))
            hint = f"did you mean {{{near}}}?" if near else f"it sets {', '.join(axes) or 'nothing'}"
            raise gathered.error(f"name of {where} speaks of {{{field}}}, which the grid does not set; {hint}", value=name)
    count = math.prod(len(values) for values in axes.values())
    if count > MOST_VARIANTS:
        raise gathered.error(
            f"{where} comes to {count} variants; {MOST_VARIANTS} are the most of a table, so take larger steps", value=count
        )
    for values in itertools.product(*axes.values()):
        chosen = dict(zip(axes, values, strict=True))
        filled = re.sub(r"\{(\w+)\}", _Filler(chosen), pattern)
        gathered.add(where, filled, chosen)


class _Filler(dict[str, Any]):
    """Gives for a field of a name the value that it stands for."""

    def __call__(self, found: re.Match[str]) -> str:
        value = self[found[1]]
        return f"{value:.12g}" if isinstance(value, float) else setting_text(value)


def _axis(key: str, value: Any, where: str, gathered: Gathered) -> list[Any]:
    """The values that a parameter takes in a grid: a list, a range with both its ends, or one for all."""
    gathered.parameter(key)
    if isinstance(value, list):
        if not value:
            raise gathered.error(f"{key} of {where} is an empty list; give its values", value=value)
        return value
    if not isinstance(value, Mapping):
        return [value]
    _only(value, ("from", "to", "step"), f"{key} of {where}", gathered)
    low, high, step = value.get("from"), value.get("to"), value.get("step", 1)
    for number in (low, high, step):
        if isinstance(number, bool) or not isinstance(number, int | float) or not math.isfinite(number):
            raise gathered.error(f"{key} of {where} needs numbers, {{ from = 2, to = 8, step = 2 }}", value=dict(value))
    assert low is not None
    assert high is not None
    if step <= 0 or high < low:
        raise gathered.error(f"{key} of {where} must go up, by a step over 0", value=dict(value))
    count = math.floor((high - low) / step * (1 + RELATIVE_ROUNDING)) + 1
    if count > MOST_VARIANTS:
        raise gathered.error(f"{key} of {where} has {count} values; {MOST_VARIANTS} are the most, so take a larger step")
    # a sum of tenths is no tenth: what is written in decimals is meant in decimals
    return [
        low + step * i if isinstance(low, int) and isinstance(step, int) else round(low + step * i, 9) for i in range(count)
    ]
