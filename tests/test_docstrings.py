"""Every example in a docstring is executed."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import panelwright.assemblies
import panelwright.joints
import panelwright.plates
import pytest

MODULES = sorted(
    info.name
    for package in (panelwright.plates, panelwright.joints, panelwright.assemblies)
    for info in pkgutil.walk_packages(package.__path__, package.__name__ + ".")
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name: str) -> None:
    """The examples of one module give what they say."""
    result = doctest.testmod(importlib.import_module(name), optionflags=doctest.IGNORE_EXCEPTION_DETAIL)
    assert result.failed == 0


def test_there_are_examples() -> None:
    """Examples are found at all: a good many of them, over most modules."""
    finder = doctest.DocTestFinder(exclude_empty=True)
    found = [test for name in MODULES for test in finder.find(importlib.import_module(name)) if test.examples]
    assert len(MODULES) > 50
    assert len(found) > 60
    assert sum(len(test.examples) for test in found) > 120
