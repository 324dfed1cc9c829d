"""Volumes that square plates share where both taper at once, against integrals done by hand.

One plate fills a(x) of the other's thickness at each x, the other b(x) of the first one's, so they share ∫ a(x)·b(x) dx.
Where both are linear that is h/6·(a₀·b₀ + (a₀ + a₁)·(b₀ + b₁) + a₁·b₁), Simpson's rule, which is exact for a parabola.
"""

from __future__ import annotations

import pytest
from panelwright.assemblies.proof.interference import Slab, common_volume
from panelwright.plates import Frame, polygon
from panelwright.plates._kernel.solids.build import plate_solid
from panelwright.plates.geometry.probe import Probe
from panelwright.plates.geometry.region import pieces

Heights = list[tuple[float, float]]
TURNS = [Frame(), Frame.turned((1, 2, 3), 77), Frame.turned("X", 90)]


def slab(heights: Heights, frame: Frame, thickness: float) -> Slab:
    """A plate that goes from far below y = 0 up to the given (x, y)."""
    left, right = heights[0][0], heights[-1][0]
    loops = polygon([(left, -20), (right, -20), *reversed(heights)]).loops
    return Slab("x", frame, thickness, Probe(loops), plate_solid(pieces(loops), thickness))


def crossed(first: Heights, second: Heights, thick: tuple[float, float], whole: Frame) -> float:
    """What two plates share that cross at right angles along x: the second stands upright on the first one's back, y = 0."""
    upright = Frame((0, thick[1], 0), (1, 0, 0), (0, 0, 1), (0, -1, 0))
    volume, place = common_volume(slab(first, whole, thick[0]), slab(second, upright.then(whole), thick[1]))
    assert (place is None) == (volume == 0)
    return volume


@pytest.mark.parametrize("whole", TURNS)
def test_two_wedges_that_rise_together_share_a_pyramid(whole: Frame) -> None:
    """Both from nothing to full over 60 mm: a pyramid of base 4 × 6 and height 60, a third of the box."""
    assert crossed([(0, 0), (60, 6)], [(0, 0), (60, 4)], (4, 6), whole) == pytest.approx(60 * 4 * 6 / 3, rel=1e-12)


@pytest.mark.parametrize("whole", TURNS)
def test_two_wedges_that_rise_against_each_other_share_a_tetrahedron(whole: Frame) -> None:
    """The one from nothing to full, the other from full to nothing: a sixth of the box."""
    assert crossed([(0, 0), (60, 6)], [(0, 4), (60, 0)], (4, 6), whole) == pytest.approx(60 * 4 * 6 / 6, rel=1e-12)


@pytest.mark.parametrize("whole", TURNS)
def test_two_blunt_wedges_share_what_simpsons_rule_says(whole: Frame) -> None:
    """From 1 to 5 mm and from 3 to 0.5 mm over 48 mm: 48/6·(1·3 + 6·3.5 + 5·0.5) = 212 mm³."""
    assert crossed([(0, 1), (48, 5)], [(0, 3), (48, 0.5)], (4, 6), whole) == pytest.approx(212, rel=1e-12)


@pytest.mark.parametrize("whole", TURNS)
def test_stretches_between_corners_add_up(whole: Frame) -> None:
    """A roof over a ramp: each plate's corners part the line, and one rises beyond the other's thickness, where it stays full.

    The roof fills 0, 4, 0 at x = 0, 30, 60.  The ramp rises 8 mm over these 60 and is cut off at the first plate's 4 mm: it
    fills 0, 4, 4 at x = 0, 30, 60.  30/6·(0 + 16 + 16) + 30/6·(16 + 4·8 + 0) = 160 + 240 = 400 mm³.
    """
    assert crossed([(0, 0), (30, 4), (60, 0)], [(0, 0), (60, 8)], (4, 6), whole) == pytest.approx(400, rel=1e-12)
