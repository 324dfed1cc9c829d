"""Triangles of flat plates made from their loops, held against the solid and against the kernel's own mesh."""

from __future__ import annotations

import math
from collections import Counter
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from panelwright.assemblies.data.parts import Part
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.assemblies.report.flat_meshes import flat_facets
from panelwright.plates import disc, hole, obround, outline_of, rectangle
from panelwright.plates._kernel.drawing.facets import MICROMETRES, Facets, facets_of
from readers import volume

EXAMPLES = Path(__file__).parents[2] / "examples"
DESIGNS = ("tile_tray", "brush_rack", "tool_pot", "kiln_timer", "recipe_stand")
FINE = 0.03


@cache
def example(name: str) -> Product:
    design = load_design(EXAMPLES / f"{name}.py")
    with design.surroundings():
        return run(design).product()


def flat_parts(name: str) -> list[Part]:
    return [part for part in example(name).parts if part.unrolled is None]


def corners(facets: Facets) -> Any:
    return np.array(facets.points, float) / MICROMETRES


def length_of(facets: Facets) -> float:
    points = corners(facets)
    return sum(float(np.linalg.norm(points[a] - points[b])) for edge in facets.edges for a, b in pairwise(edge))


@pytest.mark.parametrize("name", DESIGNS)
def test_the_surface_is_closed_and_holds_the_solid(name: str) -> None:
    """Each side of a triangle is met once the other way round, and the volume within is the kernel's."""
    parts = flat_parts(name)
    assert parts
    for part in parts:
        facets = flat_facets(part.loops, part.stock.t, deflection=FINE, turn_deg=18)
        assert facets is not None
        triangles = np.array([corner for face in facets.faces for corner in face]).reshape(-1, 3)
        sides = Counter((int(t[k]), int(t[(k + 1) % 3])) for t in triangles for k in range(3))
        assert set(sides.values()) == {1}
        assert all((b, a) in sides for a, b in sides)
        a, b, c = (corners(facets)[triangles[:, k]] for k in range(3))
        inside = float((a * np.cross(b, c)).sum() / 6)
        perimeter = sum(loop.length for loop in part.loops)
        assert abs(inside - volume(part.solid)) <= (FINE + 2 / MICROMETRES) * perimeter * part.stock.t


@pytest.mark.parametrize("name", DESIGNS)
def test_edges_are_the_kernels(name: str) -> None:
    """As long in all as those of the kernel's mesh, to what chords cut off, and the box round them is the same."""
    for part in flat_parts(name):
        mine = flat_facets(part.loops, part.stock.t, deflection=FINE, turn_deg=18)
        theirs = facets_of(part.solid, deflection=FINE, turn_deg=18)
        assert mine is not None
        assert length_of(mine) == pytest.approx(length_of(theirs), rel=5e-3)
        for pick in (np.min, np.max):
            assert pick(corners(mine), axis=0) == pytest.approx(pick(corners(theirs), axis=0), abs=FINE)


def test_rounds_have_no_edges_along_them() -> None:
    """A disc with a hole: four circles; an obround's straight sides run into its rounds without a crease."""
    facets = flat_facets(disc(40).cut(hole(10)).loops, 3.0, deflection=FINE, turn_deg=18)
    assert facets is not None
    assert len(facets.edges) == 4
    slot = flat_facets(obround(40, 10).loops, 3.0, deflection=FINE, turn_deg=18)
    assert slot is not None
    upright = [edge for edge in slot.edges if len(edge) == 2 and slot.points[edge[0]][:2] == slot.points[edge[1]][:2]]
    assert upright == []


def test_free_curves_are_followed() -> None:
    """An ellipse by chords no further off than asked for."""
    import cadquery as cq

    shape = outline_of(cq.Sketch().ellipse(30, 18))
    facets = flat_facets(shape.loops, 3.0, deflection=FINE, turn_deg=18)
    assert facets is not None
    rim = corners(facets)[:, :2]
    assert np.abs((rim[:, 0] / 30) ** 2 + (rim[:, 1] / 18) ** 2 - 1).max() < 1e-4
    top = corners(facets)[np.array(facets.faces[0]).reshape(-1, 3)][:, :, :2]
    u, v = top[:, 1] - top[:, 0], top[:, 2] - top[:, 0]
    area = float(np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum() / 2)
    assert area == pytest.approx(math.pi * 30 * 18, rel=2e-3)


def test_what_is_no_single_region_is_left_to_the_kernel() -> None:
    """Two outlines at once, or a hole that crosses the outline: no triangles rather than wrong ones."""
    two = (*rectangle(10, 10).loops, *rectangle(10, 10).at(30, 0).loops)
    assert flat_facets(two, 3.0, deflection=FINE, turn_deg=18) is None
    crossing = (*rectangle(10, 10).loops, rectangle(10, 10).at(5, 0).loops[0].reversed())
    assert flat_facets(crossing, 3.0, deflection=FINE, turn_deg=18) is None
