"""Torsion of bars of rectangular section, by Saint-Venant's series.

A bar of section b × t whose long side is L and whose short side is s twists by φ over its length l under a torque T::

    T = G · J · φ / l,    J = β · L · s³,    τ = T / (α · L · s²)

with τ the greatest shear stress, which stands in the middle of the long side.  α and β depend on L/s alone; the series are in
Timoshenko and Goodier, *Theory of Elasticity*, § 109 (from memory; tests hold them against a solution by finite elements
and one by finite differences).

Guarantees: α and β to twelve digits for any sides.  Left out: warping held back at the bar's ends, which makes bars shorter
than about two widths stiffer, and everything that is not isotropic and linear.
"""

from __future__ import annotations

import math

from panelwright.plates._validate import finite, positive

__all__ = ["shear_stress", "torsion_constant", "torsion_factors"]

ODD_FIFTH_POWERS = 1.00452376279513961
"""Σ 1/n⁵ over odd n: 31/32 of ζ(5)."""

TERMS = range(1, 25, 2)
"""What is left of each series falls like e^(-nπL/s), so by n = 25 it is far below rounding even for a square bar."""


def torsion_factors(b: float, t: float) -> tuple[float, float]:
    """The factors (α, β) of a bar of section `b` × `t` mm: for stress and for twist, in this order.

    Which side is which makes no difference.  Both tend to 1/3 for thin strips.

    Raises `SizeError` for a side that is not above 0.

    >>> [round(factor, 4) for factor in torsion_factors(3, 3)], [round(factor, 4) for factor in torsion_factors(2, 6)]
    ([0.2082, 0.1406], [0.2672, 0.2633])
    >>> [round(factor, 5) for factor in torsion_factors(1e9, 1)]
    [0.33333, 0.33333]
    """
    sides = positive(b, "width of a bar", unit=""), positive(t, "thickness of a bar", unit="")
    slenderness = max(sides) / min(sides)
    # tanh x = 1 - 2/(e^2x + 1) and 1/cosh x = 2 e^-x/(1 + e^-2x): both fall fast and neither overflows
    decays = [(n, math.exp(-n * math.pi * slenderness / 2)) for n in TERMS]
    tanh_sum = ODD_FIFTH_POWERS - sum(2 * e * e / (1 + e * e) / n**5 for n, e in decays)
    beta = (1 - 192 / math.pi**5 / slenderness * tanh_sum) / 3
    greatest = 1 - 8 / math.pi**2 * sum(2 * e / (1 + e * e) / n**2 for n, e in decays)  # stress in G · twist per length · s
    return beta / greatest, beta


def torsion_constant(b: float, t: float) -> float:
    """Torsion constant J in mm⁴ of a bar of section `b` × `t` mm.

    Raises `SizeError` for a side that is not above 0.

    >>> round(torsion_constant(3, 2), 3)
    4.698
    """
    _, beta = torsion_factors(b, t)
    return beta * max(b, t) * min(b, t) ** 3


def shear_stress(shear_modulus: float, twist_deg: float, *, b: float, t: float, length: float) -> float:
    """Greatest shear stress in MPa of a bar of section `b` × `t` mm, `length` mm long, twisted by `twist_deg` end to end.

    `shear_modulus` is in MPa.  The stress grows with the short side and hardly at all with the long one.

    Raises `SizeError` for a modulus or a size that is not above 0.

    >>> round(shear_stress(1150, 4, b=3, t=3, length=14), 2), shear_stress(1150, 0, b=3, t=3, length=14)
    (11.62, 0.0)
    """
    modulus = positive(shear_modulus, "shear modulus of a bar", unit="MPa")
    twist = math.radians(finite(twist_deg, "twist of a bar"))
    alpha, beta = torsion_factors(b, t)
    return modulus * abs(twist) * min(b, t) * beta / (alpha * positive(length, "length of a bar"))
