"""Tabs that choose their width never come out as slivers."""

from __future__ import annotations

import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.product import Product
from panelwright.joints import join, tabs
from panelwright.joints.kinds.tabs import Tabs
from panelwright.plates import Stock, rectangle, standing


def shelf(free: float, joint: Tabs) -> Product:
    """A rib of the given length on a base."""
    made = Assembly("shelf", stock=Stock("MDF", 4.0, measured=4.0, cutter="knife", clearance=0.1))
    base = made.add("base", rectangle(120, 80))
    rib = made.add("rib", rectangle(free, 30), standing(on=base.face(">Z"), facing="-Y", inset=30))
    join(rib.face("<Z"), base.face(">Z"), joint)
    return made.product()


@pytest.mark.parametrize(("free", "count"), [(3.9, 1), (3.9, None), (7.9, 2), (11.9, 3)])
def test_too_little_room_is_told(free: float, count: int | None) -> None:
    """Half the plate's thickness a tab is the least, and as much between two: 4 mm of line for each."""
    found = [finding for finding in shelf(free, tabs(count=count)).findings if finding.code == "JOINT"]
    assert len(found) == 1
    assert found[0].plates == ("rib", "base")
    assert f"only {free:.2f} mm of the line is free" in found[0].message
    assert "less than 2 mm, half of the 4 mm that the plate is thick, holds nothing" in found[0].message


@pytest.mark.parametrize(("free", "count"), [(4.0, 1), (8.0, 2), (12.1, 3)])
def test_just_enough_room_is_taken(free: float, count: int) -> None:
    """Then they are half as wide as the plate is thick."""
    product = shelf(free, tabs(count=count))
    assert not product.errors
    assert product.joints[0].numbers["width_mm"] == pytest.approx(free / (2 * count))


@pytest.mark.parametrize("free", [4.0, 7.9, 8.0, 15.9])
def test_tabs_that_choose_their_number_are_one_where_two_would_be_slivers(free: float) -> None:
    """Two of a thickness with gaps as wide need 16 mm; on less it is one of half the edge."""
    numbers = shelf(free, tabs()).joints[0].numbers
    assert (numbers["count"], numbers["width_mm"]) == (1, pytest.approx(free / 2))


def test_a_width_that_is_given_is_kept() -> None:
    """Who says how wide may have any width."""
    product = shelf(7.0, tabs(count=1, width=1.5))
    assert product.joints[0].numbers["width_mm"] == 1.5
