"""Segments as commands of an SVG path: one module writes them, and a reader of its own finds the same curves."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from panelwright.plates import Plate, Stock, disc, obround, rectangle
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Segment, Spline
from panelwright.plates.outlines.svg_path import Pen

ROOT = Path(__file__).parents[2]


def _centre(start: tuple[float, float], words: list[float]) -> tuple[float, float]:
    """Centre of a round arc command on the page, by the formulas of SVG 1.1, F.6.5."""
    radius, _, _, large, sweep, x, y = words
    half = ((start[0] - x) / 2, (start[1] - y) / 2)
    short = half[0] ** 2 + half[1] ** 2
    factor = math.sqrt(max(0.0, (radius**2 - short) / short)) * (1 if large != sweep else -1)
    return (factor * half[1] + (start[0] + x) / 2, -factor * half[0] + (start[1] + y) / 2)


def _commands(text: str) -> list[tuple[str, list[float]]]:
    return [(word[0], [float(part) for part in word[1:].split()]) for word in re.findall(r"[A-Z][^A-Z]*", text)]


def test_one_module_writes_arc_commands() -> None:
    """No other source builds an arc or curve command of a path by hand."""
    pattern = re.compile(r"""["'][ACL] ?\{""")
    files = [path for top in ("plates", "joints", "assemblies") for path in (ROOT / top).rglob("*.py")]
    assert len(files) > 200
    assert {path.name for path in files if pattern.search(path.read_text("utf-8"))} == {"svg_path.py"}


@pytest.mark.parametrize(("digits", "radius"), [(3, 50.0), (6, 5.0), (6, 500.0)])
@pytest.mark.parametrize("sweep_deg", [-359, -180, -90, 30, 120, 179.99, 180, 180.01, 270, 300, 360])
def test_arcs_keep_their_centre(sweep_deg: float, digits: int, radius: float) -> None:
    """Split into thirds of a turn, the centre that a reader works out is off by a few units of the last decimal only."""
    turn = math.radians(sweep_deg)
    at = [(radius * math.cos(a), radius * math.sin(a)) for a in (0.3, 0.3 + turn)]
    arc = Arc(at[0], at[0] if abs(sweep_deg) == 360 else at[1], (0.0, 0.0), turn)
    (_, here), *steps = _commands(Pen(0.0, 0.0, digits).trail([arc]))
    assert 1 <= len(steps) <= 3
    spot = (here[0], here[1])
    for letter, words in steps:
        assert letter == "A"
        assert math.dist(_centre(spot, words), (0.0, 0.0)) < 3 * 10**-digits
        spot = (words[5], words[6])
    assert spot == pytest.approx((arc.end[0], -arc.end[1]), abs=10**-digits)


def test_trail_lifts_only_where_it_must() -> None:
    """Three lines, the second where the first ends, the third elsewhere: two moves and nothing closed."""
    chain: list[Segment] = [Line((0.0, 0.0), (1.0, 0.0)), Line((1.0, 0.0), (1.0, 2.0)), Line((5.0, 5.0), (0.0, 0.0))]
    assert Pen(0.0, 0.0).trail(chain) == "M 0 0 L 1 0 L 1 -2 M 5 -5 L 0 0"
    assert Pen(0.0, 0.0).trail([]) == ""


def test_ellipses_lean_the_other_way_and_splines_are_cubics() -> None:
    """y points down on the page, so the long axis is told mirrored; a parabola needs one cubic."""
    leaning = EllipseArc((0.0, 0.0), (3.0, 3.0), 0.5, 0.0, math.pi / 2)
    assert Pen(0.0, 0.0, 3).steps(leaning) == ["A 4.243 2.121 -45 0 0 -1.5 -1.5"]
    parabola = Spline(2, ((0.0, 0.0), (1.0, 2.0), (2.0, 0.0)), (0.0, 0.0, 0.0, 1.0, 1.0, 1.0))
    assert Pen(0.0, 0.0, 3).steps(parabola) == ["C 0.667 -1.333 1.333 -1.333 2 0"]


def test_small_drawing_of_a_plate_shows_its_curves() -> None:
    """What a notebook shows of a plate has arcs for arcs, and one closed path for each loop."""
    plate = Plate(rectangle(40, 20).cut(disc(8), obround(12, 4).at(0, 6)), Stock("card", 2))
    (path,) = re.findall(r'<path d="([^"]*)"', plate._repr_svg_())
    letters = [letter for letter, _ in _commands(path)]
    assert letters.count("M") == letters.count("Z") == 3
    assert letters.count("A") == 3 + 2 * 2
