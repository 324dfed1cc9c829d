"""The order in which a design joins its plates changes no byte of what is written."""

from __future__ import annotations

import random

import pytest
from panelwright.assemblies import Assembly, carcass
from panelwright.plates import Stock
from panelwright.plates._kernel.files.step import step_bytes

PLY = Stock("birch plywood", 4.0, measured=3.87, kerf=0.2, clearance=0.1)


def box(seed: int | None, sides: int | None, lean_deg: float) -> Assembly:
    """A carcass whose joins are shuffled after they were noted down."""
    size = {"depth": 71.3} if sides is None else {"sides": sides, "lean_deg": lean_deg}
    made = carcass("box", stock=PLY, width=120.7, height=63.1, lid=lean_deg == 0, **size)
    if seed is not None:
        random.Random(seed).shuffle(made._joins)
    return made


@pytest.mark.parametrize(("sides", "lean_deg"), [(None, 0.0), (5, 0.0), (6, 10.0)])
def test_the_step_is_the_same_to_the_byte(sides: int | None, lean_deg: float) -> None:
    """Shuffled four ways, the joins of a carcass give one file."""
    plain = step_bytes("box", box(None, sides, lean_deg).product().parts)
    for seed in range(4):
        assert step_bytes("box", box(seed, sides, lean_deg).product().parts) == plain
