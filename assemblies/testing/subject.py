"""What is tested: a design file, a design's function or an assembly, proven with the values that a test gives."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from panelwright.assemblies.data.product import Product
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.product.assembly import Assembly
from panelwright.assemblies.shop.in_force import shop_in_force
from panelwright.plates._validate import shown
from panelwright.plates.errors import DesignError

from .beside_test import found_beside

if TYPE_CHECKING:
    from panelwright.assemblies.shop.shop_file import Shop

__all__ = ["Subject", "Tested", "subject_of"]

Tested: TypeAlias = "str | Path | Callable[..., Assembly] | Assembly | Subject"
"""A design file, the function of one, what it gave, or what the fixture `prove_design` gave."""


@dataclass(frozen=True)
class Subject:
    """A proven product, what it is called in messages, and the shop that its numbers come from."""

    name: str
    product: Product
    shop: Shop | None


def subject_of(tested: Tested, parameters: dict[str, Any]) -> Subject:
    """What a test looks at, proven.  Raises `DesignError` for something else, and what the design raises."""
    if isinstance(tested, Subject):
        if parameters:
            raise DesignError(f"{tested.name} is proven already; give its parameters to prove_design()", value=parameters)
        return tested
    said = ", ".join(f"{name}={value!r}" for name, value in parameters.items())
    if isinstance(tested, str | Path):
        design = load_design(found_beside(tested))
        assembly = run(design, parameters)
        with design.surroundings():
            return Subject(f"{design.path.name} with {said}" if said else design.path.name, assembly.product(), design.shop)
    if isinstance(tested, Assembly):
        if parameters:
            raise DesignError(f"assembly {tested.name!r} is built already; give its parameters to the design", value=parameters)
        return Subject(repr(tested.name), tested.product(), shop_in_force())
    if not callable(tested):
        raise DesignError(f"a test is given {shown(tested)}; give a design file, its function, or an Assembly", value=tested)
    made = tested(**parameters)
    if not isinstance(made, Assembly):
        raise DesignError(f"the design that is tested gives {shown(made)}; let it return the Assembly", value=made)
    return Subject(f"{made.name!r} with {said}" if said else repr(made.name), made.product(), shop_in_force())
