"""Planar motions against complex numbers: z goes to m·z + s, or to m·z̄ + s where the map turns left into right."""

from __future__ import annotations

import cmath
import itertools
import math

import pytest
from panelwright.plates.geometry.motion import TURN, Motion, cos_sin_deg

SPOTS = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (3.0, -7.0)]


def complex_of(angle_deg: float, x: float, y: float, *, is_mirrored: bool) -> tuple[complex, complex, bool]:
    """A motion as complex numbers: mirrored first (x becomes −x), then turned, then shifted."""
    turn = cmath.exp(1j * math.radians(angle_deg))
    return (-turn if is_mirrored else turn), complex(x, y), is_mirrored


def motion_of(angle_deg: float, x: float, y: float, *, is_mirrored: bool) -> Motion:
    first = Motion.mirror_x() if is_mirrored else Motion()
    return first.then(Motion.turn(angle_deg)).then(Motion.shift(x, y))


CASES = [(0, 0, 0, False), (0, 2, 5, True), (90, 1, -2, False), (37, 4, 9, False), (37, 4, 9, True), (200, -3, 1, True)]


@pytest.mark.parametrize(("angle", "x", "y", "is_mirrored"), CASES)
def test_where_points_and_directions_go(angle: float, x: float, y: float, is_mirrored: bool) -> None:
    """As the complex numbers say; directions are not shifted; the inverse takes both back."""
    motion = motion_of(angle, x, y, is_mirrored=is_mirrored)
    m, s, bar = complex_of(angle, x, y, is_mirrored=is_mirrored)
    assert motion.flips == is_mirrored
    for spot in SPOTS:
        z = complex(*spot)
        turned = m * (z.conjugate() if bar else z)
        assert motion.turned(spot) == pytest.approx((turned.real, turned.imag), abs=1e-12)
        assert motion.apply(spot) == pytest.approx(((turned + s).real, (turned + s).imag), abs=1e-12)
        assert motion.inverse.apply(motion.apply(spot)) == pytest.approx(spot, abs=1e-12)
        assert motion.apply(motion.inverse.apply(spot)) == pytest.approx(spot, abs=1e-12)
    assert motion.inverse.flips == is_mirrored


@pytest.mark.parametrize(("first", "second"), list(itertools.product(CASES, CASES)))
def test_one_after_the_other(first: tuple[float, float, float, bool], second: tuple[float, float, float, bool]) -> None:
    """`then` reads in order, and mirroring twice is no mirroring."""
    one, two = (motion_of(*case[:3], is_mirrored=case[3]) for case in (first, second))
    both = one.then(two)
    assert both.flips == (first[3] != second[3])
    for spot in SPOTS:
        assert both.apply(spot) == pytest.approx(two.apply(one.apply(spot)), abs=1e-12)


def test_quarter_turns_are_exact_and_others_are_near() -> None:
    """Every quarter, forwards and backwards; a ten-thousandth beside one is not a quarter."""
    exact = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
    for quarter in range(-9, 10):
        assert cos_sin_deg(90.0 * quarter) == exact[quarter % 4]
        for beside in (-1e-4, 1e-4, 45, 89):
            radians = math.radians(90 * quarter + beside)
            assert cos_sin_deg(90.0 * quarter + beside) == (math.cos(radians), math.sin(radians))


def test_what_leaves_everything_in_place() -> None:
    """No motion; and a motion that only mirrors."""
    assert math.tau == TURN
    assert Motion() == Motion(1, 0, 0, 1, 0, 0)
    assert Motion().apply((3.0, 4.0)) == (3.0, 4.0)
    assert Motion.mirror_x().apply((3.0, 4.0)) == (-3.0, 4.0)
    assert Motion.shift(1, 2) == Motion(1, 0, 0, 1, 1, 2)
    assert not Motion(1, 0, 0, 0).flips  # one that flattens everything turns nothing round
