"""Checks on what comes from outside, each in one place, with messages that say what to change.

Whatever a design gives to the toolkit passes one of these functions before anything is computed with it.  They raise the
toolkit's errors only, whatever is given.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

from .errors import ArgumentError, PanelwrightError, SizeError
from .tolerances import LARGEST

__all__ = [
    "MOST",
    "MOST_IN_A_ROW",
    "file_path",
    "finite",
    "flag",
    "instance",
    "items",
    "mapping",
    "numbers",
    "one_of",
    "optional",
    "point",
    "positive",
    "shown",
    "text",
    "vector",
    "whole",
]

MOST = 100_000
"""Most of anything that is counted, unless a place says less: what a sheet of a square metre has room for at 3 mm apart."""

MOST_OF_UNIT = {"mm": LARGEST, "°": 1e5, "s": 1e9, "MPa": 1e9, "kg/m³": 1e6}
"""Largest value by unit: beyond any machine, any working day, any metal."""

_SHOWN = 80
"""Longest text of a value in a message, characters."""

T = TypeVar("T")

MOST_IN_A_ROW = 10_000
"""Most things in one row: more than a machine cuts in a day, and few enough that a slip of the pen doesn't take all memory."""


def shown(value: object) -> str:
    """A value as a message tells it: short, and whatever its own text does.

    >>> shown("3 mm"), len(shown(10**5000)) < 100
    ("'3 mm'", True)
    """
    if isinstance(value, int) and not isinstance(value, bool) and value.bit_length() > 256:
        return f"a whole number of {math.floor(value.bit_length() * math.log10(2)) + 1} digits"
    try:
        said = repr(value)
    except Exception:  # a value from outside may do anything when asked for its text
        return f"an object of {type(value).__name__}"
    return said if len(said) <= _SHOWN else f"{said[: _SHOWN - 1]}…"


def finite(value: Any, what: str, *, unit: str = "mm", most: float | None = None) -> float:
    """Return `value` as a float if it is a number no further from 0 than its unit can mean; raise `SizeError` otherwise."""
    limit = MOST_OF_UNIT.get(unit, 1e12) if most is None else most
    # text has no __float__; a truth value is a slip, and so is an array of numbers
    if isinstance(value, bool) or not hasattr(value, "__float__") or isinstance(value, type):
        raise SizeError(f"{what} is {shown(value)}; give a number", value=value)
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    except Exception as error:  # a value from outside may do anything when asked for its number
        raise SizeError(f"{what} is {shown(value)}; give a number", value=value) from error
    if not math.isfinite(number):
        given = shown(value) if isinstance(value, int) else f"{number}"
        raise SizeError(f"{what} is {given}; give a finite number", value=value)
    if abs(number) > limit:
        raise SizeError(
            f"{what} is {number:g} {unit}; at most {limit:,.0f} {unit} is possible".replace(" ;", ";").replace("  ", " "),
            value=value,
            limit=limit,
        )
    return number


def positive(value: Any, what: str, *, unit: str = "mm", zero_is_fine: bool = False) -> float:
    """Return `value` as a float if it is above zero (or not below, on request); raise `SizeError` otherwise."""
    number = finite(value, what, unit=unit)
    if number < 0 or (number == 0 and not zero_is_fine):
        bound = "0 or more" if zero_is_fine else "above 0"
        raise SizeError(f"{what} is {number:g} {unit}; it must be {bound}".replace(" ;", ";"), value=value, limit=0)
    return number


def whole(value: Any, what: str, *, least: int = 1, most: int = MOST) -> int:
    """Return `value` if it is a whole number from `least` to `most`; raise `SizeError` otherwise."""
    number = value
    if not isinstance(value, int | float) and hasattr(value, "__index__") and not isinstance(value, type):
        try:
            number = value.__index__()  # numpy's whole numbers, as they come from an array
        except Exception:  # and when asked for its place in a list
            number = None
    if isinstance(number, bool) or not (isinstance(number, int) or (isinstance(number, float) and number.is_integer())):
        raise SizeError(f"{what} is {shown(value)}; give a whole number", value=value)
    if number < least:
        raise SizeError(f"{what} is {shown(value)}; it must be {least} or more", value=value, limit=least)
    if number > most:
        raise SizeError(f"{what} is {shown(value)}; it must be {most} or less", value=value, limit=most)
    return int(number)


def numbers(value: Any, what: str, count: int, form: str, *, unit: str = "mm") -> tuple[float, ...]:
    """Return `count` numbers as a tuple of floats; `form` is how to write them.  Raises `SizeError` for anything else."""
    found = value if type(value) is tuple else _listed(value)
    if found is None or len(found) != count:
        raise SizeError(f"{what} is {shown(value)}; give {form}", value=value)
    return tuple(finite(number, what, unit=unit) for number in found)


def point(value: Any, what: str) -> tuple[float, float]:
    """Return a place or a shift in a plane, in mm, as two floats; raise `SizeError` otherwise."""
    x, y = numbers(value, what, 2, "(x, y) in mm")
    return (x, y)


def vector(value: Any, what: str, form: str = "(x, y, z) in mm") -> tuple[float, float, float]:
    """Return a place or a direction in space as three floats; raise `SizeError` otherwise."""
    x, y, z = numbers(value, what, 3, form)
    return (x, y, z)


def one_of(value: Any, known: Sequence[str], what: str, error: type[PanelwrightError] = SizeError) -> str:
    """Return `value` if it is one of the words that are known; raise `error`, with the nearest one, otherwise."""
    if isinstance(value, str) and value in known:
        return value
    near = difflib.get_close_matches(value, known, n=1) if isinstance(value, str) else []
    listed = f"{', '.join(map(repr, known[:-1]))} or {known[-1]!r}"
    raise error(
        f"{what} is {shown(value)}; " + (f"did you mean {near[0]!r}? give {listed}" if near else f"give {listed}"),
        value=value,
        limit=tuple(known),
    )


def text(value: Any, what: str, give: str = "give text", error: type[PanelwrightError] = ArgumentError) -> str:
    """Return `value` if it is text; raise `error` otherwise."""
    return instance(value, str, what, give, error)


def file_path(value: Any, what: str, error: type[PanelwrightError] = ArgumentError) -> Path:
    """Return where a file lies as a `Path`; raise `error` for what is neither text nor a path."""
    if isinstance(value, str | Path):
        return Path(value)
    raise error(f"{what} is {shown(value)}; give a path as text or as a Path", value=value)


def flag(value: Any, what: str) -> bool:
    """Return `value` if it is True or False (numpy's too); raise `ArgumentError` otherwise."""
    if isinstance(value, bool):
        return value
    if type(value).__name__ in ("bool", "bool_") and type(value).__module__ == "numpy":
        return bool(value)
    raise ArgumentError(f"{what} is {shown(value)}; give True or False", value=value)


def instance(
    value: Any, kind: type[T] | tuple[type[T], ...], what: str, give: str, error: type[PanelwrightError] = ArgumentError
) -> T:
    """Return `value` if it is of that kind; raise `error`, saying what to give, otherwise."""
    if isinstance(value, kind):
        return value
    raise error(f"{what} is {shown(value)}; {give}", value=value)


def items(value: Any, what: str, give: str, error: type[PanelwrightError] = ArgumentError) -> tuple[Any, ...]:
    """Return what a list, a tuple or another iterable holds as a tuple; raise `error` for text and for anything else."""
    found = _listed(value)
    if found is None:
        raise error(f"{what} is {shown(value)}; {give}", value=value)
    return found


def mapping(value: Any, what: str, give: str, error: type[PanelwrightError] = ArgumentError) -> dict[str, Any]:
    """Return a mapping whose keys are names as a dict; raise `error` otherwise."""
    if not isinstance(value, Mapping) or not all(isinstance(key, str) for key in value):
        raise error(f"{what} is {shown(value)}; {give}", value=value)
    return dict(value)


def optional(check: Callable[..., T], value: Any, what: str, **rules: Any) -> T | None:
    """Return None for None, and what `check` makes of anything else.

    >>> optional(positive, None, "measured thickness") is None, optional(positive, 3, "measured thickness")
    (True, 3.0)
    """
    return None if value is None else check(value, what, **rules)


def _listed(value: Any) -> tuple[Any, ...] | None:
    """What an iterable holds; None for text, mappings, classes and what cannot be gone through."""
    if isinstance(value, str | bytes | Mapping | type) or not isinstance(value, Iterable):
        return None
    try:
        return tuple(value)
    except Exception:  # such as an array without dimensions
        return None
