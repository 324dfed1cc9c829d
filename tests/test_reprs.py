"""What a shell, a debugger or an error message shows of a public object: one line that tells what it is."""

from __future__ import annotations

from typing import Any

import pytest
from panelwright.assemblies import Assembly
from panelwright.plates import Outline, Plate
from public_names import CASES, STOCK, Scene, bound, public_callables

LONGEST = 160
"""Longest line, characters: two of an editor's."""


def _product() -> Any:
    return Scene().assembly.product()


MADE: dict[str, tuple[Any, str]] = {
    "outline": (lambda: Scene.outline, "60.00 × 40.00 mm"),
    "outline of nothing": (lambda: Outline(()), "nothing"),
    "plate": (lambda: Plate(Scene.outline, STOCK), "birch plywood"),
    "stock": (lambda: STOCK, "birch plywood"),
    "placed plate": (lambda: Scene().base, "'base', 80.00 × 60.00 × 4 mm"),
    "face": (lambda: Scene().top, "show face (looks to +Z) of 'base'"),
    "assembly": (lambda: Scene().assembly, "'card stand', 2 plates"),
    "product": (_product, "'card stand', 2 parts, 2 panels"),
    "part": (lambda: _product().parts[0], "'base'"),
    "panel": (lambda: _product().panels[0], "'base'"),
    "finding": (lambda: _product().findings[0], "UNHELD"),
    "shop": (lambda: Scene().shop, "shop.toml"),
    "batch": (lambda: Scene().batch, "'card'"),
}


@pytest.mark.parametrize("name", list(MADE))
def test_an_object_says_what_it_is_in_one_line(name: str) -> None:
    """Its kind, its name or size, and nothing that fills a screen."""
    make, says = MADE[name]
    told = repr(make())
    assert says in told
    assert type(make()).__name__ in told
    assert "\n" not in told
    assert len(told) <= LONGEST


def test_what_public_calls_give_is_told_in_one_line() -> None:
    """All of them, as they are called in the table; what a call gives a list of is told by its first."""
    told = {}
    for name, call in public_callables():
        made = bound(call, CASES[name](Scene()))
        found = made[0] if isinstance(made, tuple) and made else made
        if type(found).__module__.startswith("panelwright.") and not type(found).__name__.startswith("_"):
            told[name] = repr(found)
    assert len(told) > 60
    assert {name: text for name, text in told.items() if "\n" in text or len(text) > LONGEST} == {}


def test_a_long_name_is_told_whole() -> None:
    """A plate of the longest name keeps it."""
    stand = Assembly("card stand", stock=STOCK)
    assert repr("b" * 40) in repr(stand.add("b" * 40, Scene.outline))
