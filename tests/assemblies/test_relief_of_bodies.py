"""Clearance and relief said once, for ready-made bodies and for what stands in an assembly."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from panelwright.assemblies import Assembly, carcass, divider_grid, tray
from panelwright.joints import dog_bone, fingers, t_bone, tabs
from panelwright.plates import Stock

ROUTED = Stock("MDF", 6.0, measured=6.0, kerf=3.0, clearance=0.1)
BODIES: dict[str, Callable[..., Assembly]] = {
    "box": lambda **more: carcass("box", stock=ROUTED, width=160, depth=120, height=80, **more),
    "pot": lambda **more: carcass("pot", stock=ROUTED, width=160, height=80, sides=6, **more),
    "tray": lambda **more: tray("tray", stock=ROUTED, width=160, depth=120, height=60, **more),
    "cells": lambda **more: divider_grid("cells", stock=ROUTED, width=160, depth=120, height=60, columns=2, rows=2, **more),
}


def joints_of(assembly: Assembly) -> set[tuple[Any, float]]:
    return {(made.relief, made.clearance) for made in assembly.resolve().made}


@pytest.mark.parametrize("name", BODIES)
def test_a_routers_body_is_one_line(name: str) -> None:
    """Without relief nothing goes in; with it, and a clearance, all its joints have both and nothing is wrong."""
    assert "RELIEF" in {finding.code for finding in BODIES[name]().check()}
    body = BODIES[name](relief=t_bone(3.0), clearance=0.15)
    assert joints_of(body) == {(t_bone(3.0), 0.15)}
    assert not body.product().errors


def test_the_whole_assembly_means_what_stands_in_it_too() -> None:
    """What a body says itself, or a joint, comes first; then the innermost assembly; then the stock."""
    for own, relief, clearance in (
        ({}, t_bone(3.0), 0.2),
        ({"relief": dog_bone(3.0)}, dog_bone(3.0), 0.2),
        ({"clearance": 0.05}, t_bone(3.0), 0.05),
    ):
        outer = Assembly("stand", stock=ROUTED, relief=t_bone(3.0), clearance=0.2)
        middle = Assembly("drawers", stock=ROUTED)
        middle.add("drawer", BODIES["box"](**own))
        outer.add("drawers", middle)
        assert joints_of(outer) == {(relief, clearance)}
    outer = Assembly("stand", stock=ROUTED)
    outer.set_clearance(ROUTED, ROUTED, 0.3)
    outer.add("box", BODIES["box"]())
    assert joints_of(outer) == {(None, 0.3)}
    outer = Assembly("stand", stock=ROUTED, relief=t_bone(3.0), clearance=0.2)
    outer.add("box", BODIES["box"](joint=fingers(clearance=0.12, relief=dog_bone(3.0))))
    assert joints_of(outer) == {(dog_bone(3.0), 0.12)}
    alone = BODIES["tray"](floor=tabs(count=1))
    assert joints_of(alone) == {(None, 0.1)}
