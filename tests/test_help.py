"""What `help()` tells of every public name: what each parameter means, its unit, what is raised, and an example that is run."""

from __future__ import annotations

import importlib
import inspect
import re
from typing import Any

import pytest

HANDED = {"Face", "PlacedPlate", "PlacedAssembly"}
"""Classes that designs are given and never make: what they are made of is no concern of theirs."""

UNIT = re.compile(r"\bmm[²]?(?!\w)|kg\b|MPa\b|[Uu]nit vector|millimetres|°|degrees|share\b|unit of the parameter")

LENGTH = re.compile(r"\bfloat\b|\bPoint\b")

MEASURED = re.compile(r"\bfloat\b|\bPoint\b|\bVector\b")


def public() -> list[tuple[str, Any]]:
    """Every public name of the three layers with what it is, errors left out: they are caught, and their message says it."""
    return [
        (f"{layer}.{name}", found)
        for layer in ("plates", "joints", "assemblies")
        for name in importlib.import_module(f"panelwright.{layer}").__all__
        for found in [getattr(importlib.import_module(f"panelwright.{layer}"), name)]
        if not (inspect.isclass(found) and issubclass(found, BaseException))
    ]


NAMES = public()


@pytest.mark.parametrize("found", [found for _, found in NAMES], ids=[name for name, _ in NAMES])
def test_help_has_an_example(found: Any) -> None:
    """One that the doctests run."""
    assert ">>> " in (inspect.getdoc(found) or "")


MADE = [(name, found) for name, found in NAMES if not getattr(found, "_is_protocol", False) and found.__name__ not in HANDED]


@pytest.mark.parametrize("found", [found for _, found in MADE], ids=[name for name, _ in MADE])
def test_help_tells_parameters_units_and_errors(found: Any) -> None:
    """Each parameter by its name, a unit where something is measured, and which errors are raised for what."""
    told = inspect.getdoc(found) or ""
    words = told.partition(">>> ")[0]
    parameters = inspect.signature(found).parameters.values()
    assert [one.name for one in parameters if not re.search(rf"\b{one.name}\b", words)] == []
    if any(LENGTH.search(str(one.annotation)) for one in parameters):
        assert UNIT.search(words)
    assert re.search(r"[Rr]aises (?:the first )?`\w+Error`", words)


MEMBERS = [
    (f"{name}.{key}", member)
    for name, found in NAMES
    if inspect.isclass(found)
    for key, member in inspect.getmembers_static(found)
    if not key.startswith("_") and (inspect.isfunction(member) or isinstance(member, property | classmethod | staticmethod))
]


@pytest.mark.parametrize("member", [member for _, member in MEMBERS], ids=[name for name, _ in MEMBERS])
def test_help_of_methods_and_properties_tells_what_comes_back_and_its_unit(member: Any) -> None:
    """Each has words of its own, with a unit where a number is given."""
    told = inspect.getdoc(member) or ""
    assert re.match(r"[A-Z`(\"].*", told)
    if isinstance(member, property):
        if MEASURED.search(str(inspect.signature(member.fget).return_annotation)):
            assert UNIT.search(told)
        return
    function = getattr(member, "__func__", member)
    if any(LENGTH.search(str(one.annotation)) for one in inspect.signature(function).parameters.values()):
        assert UNIT.search(told)


def test_there_are_names() -> None:
    """All of the three layers, so that nothing above passes by looking at nothing."""
    assert len(MADE) >= 45
    assert len(MEMBERS) >= 80
