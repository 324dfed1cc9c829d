"""What to write where a design calls something of the toolkit with arguments that it doesn't take."""

from __future__ import annotations

import difflib
import inspect
import re
import sys
from collections.abc import Callable, Iterator
from typing import Any

__all__ = ["better_call"]

PACKAGES = ("panelwright.assemblies", "panelwright.joints", "panelwright.plates")
"""Where designs find what they call."""

_REFUSED = re.compile(
    r"(?P<called>[\w.<>]+)\(\) (?:got an unexpected keyword argument '(?P<unknown>\w+)'|"
    r"got multiple values for argument '(?P<twice>\w+)'|missing \d+ required|takes (?:from )?\d+ (?:to \d+ )?positional)"
)
"""How Python 3.11 to 3.14 say that a call does not suit what is called."""


def better_call(error: TypeError) -> str:
    """The error in the words of what is public, with the nearest name or all names that can be given; empty if it is another.

    >>> from panelwright.joints import tabs
    >>> try:
    ...     tabs(widht=3)
    ... except TypeError as error:
    ...     print(better_call(error))
    tabs() takes no widht=; did you mean width=?
    """
    said = _REFUSED.match(str(error))
    if said is None:
        return ""
    found = next(((name, made) for name, made in _public_calls() if made.__qualname__ == said["called"]), None)
    if found is None:
        return ""
    name, made = found
    first, by_name = _taken(made)
    if said["unknown"]:
        near = difflib.get_close_matches(said["unknown"], [*first, *by_name], n=1)
        hint = f"did you mean {near[0]}=?" if near else f"it takes {_all(first, by_name)}"
        return f"{name}() takes no {said['unknown']}=; {hint}"
    if said["twice"]:
        return f"{name}() is given {said['twice']} twice; it takes {_all(first, by_name)}"
    return f"{name}() is given too few or too many values; it takes {_all(first, by_name)}"


def _all(first: list[str], by_name: list[str]) -> str:
    words = [", ".join(first)] if first else []
    words += [f"by name {', '.join(f'{one}=' for one in by_name)}"] if by_name else []
    return ", and ".join(words) or "nothing"


def _taken(made: Callable[..., Any]) -> tuple[list[str], list[str]]:
    """What can be given in order, and what by its name only."""
    first: list[str] = []
    by_name: list[str] = []
    for name, parameter in inspect.signature(made).parameters.items():
        if name == "self" or name.startswith("_"):
            continue
        (by_name if parameter.kind is parameter.KEYWORD_ONLY else first).append(name)
    return first, by_name


def _public_calls() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Functions, constructors and methods of the packages' public names, under those names: of what is imported."""
    for package in filter(None, map(sys.modules.get, PACKAGES)):
        for public in package.__all__:
            found = getattr(package, public)
            if inspect.isfunction(found):
                yield public, found
            elif inspect.isclass(found):
                for name, member in inspect.getmembers(found, inspect.isfunction):
                    if name == "__init__":
                        yield public, member
                    elif not name.startswith("_"):
                        yield f"{public}.{name}", member
