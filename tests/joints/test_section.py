"""The plane across a joint line against polygons that shapely clips, and against plane trigonometry.  No kernel, no plates."""

from __future__ import annotations

import math
from typing import Any

import pytest
import shapely
from panelwright.joints.meeting.section import Reach, Section, clip, shadow

FAR = 1000.0
"""Far enough for a strip to go on without end, mm."""


HEXAGON = [(round(5 * math.cos(math.tau * k / 6), 9), round(5 * math.sin(math.tau * k / 6), 9)) for k in range(6)]


@pytest.mark.parametrize("degrees", [0, 17, 90, 135, 200, 270, 351])
@pytest.mark.parametrize(("low", "high"), [(-9, 9), (-1, 2), (0, 4), (4.99, 9), (-9, -2.5), (-4, -3)])
def test_clipping_agrees_with_shapely(degrees: float, low: float, high: float) -> None:
    """The clipped hexagon has the area of the one that shapely clips, runs the same way, and names each corner once."""
    normal = (math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))
    across = (-normal[1], normal[0])
    slab = [
        (s * across[0] + h * normal[0], s * across[1] + h * normal[1])
        for s, h in ((-99, low), (99, low), (99, high), (-99, high))
    ]
    expected = shapely.Polygon(HEXAGON).intersection(shapely.Polygon(slab))
    found = clip(HEXAGON, normal, low, high)
    if expected.area == 0:
        assert found == []
        return
    assert shapely.Polygon(found).symmetric_difference(expected).area < 1e-9
    assert shapely.LinearRing(found).is_ccw
    assert all(math.dist(a, b) > 1e-6 for a, b in zip(found, found[1:] + found[:1], strict=True))
    assert found[0] == min(found, key=lambda spot: (spot[1], spot[0]))
    edge = shapely.Polygon(slab).intersection(shapely.Polygon(HEXAGON))
    along = [x * across[0] + y * across[1] for x, y in edge.exterior.coords]
    assert shadow(HEXAGON, normal, low, high, across) == pytest.approx((min(along), max(along)), abs=1e-6)


@pytest.mark.parametrize(
    ("polygon", "low", "high", "left"),
    [
        # a limit through a corner, or along a side: the corner stays, and stays one
        ([(0, 0), (4, 0), (0, 4)], 0, 9, [(0, 0), (4, 0), (0, 4)]),
        ([(0, 0), (4, 0), (0, 4)], 4, 9, [(4, 0)]),
        ([(0, 0), (4, 0), (0, 4)], -9, 0, [(0, 0), (0, 4)]),
        ([(0, 0), (4, 0), (0, 4)], 4.1, 9, []),
        ([(0, 0), (4, 0), (0, 4)], -9, -0.1, []),
        ([(0, 0), (4, 0), (0, 4)], 1, 1, [(1, 0), (1, 3)]),
        ([(0, 0), (4, 0), (0, 4)], 3, 9, [(3, 0), (4, 0), (3, 1)]),
        # corners that are one but for rounding
        ([(0, 0), (4, 0), (4, 1e-10), (0, 4)], -9, 9, [(0, 0), (4, 0), (0, 4)]),
        ([(0, 0), (4, 0), (4, 1e-8), (0, 4)], -9, 9, [(0, 0), (4, 0), (4, 1e-8), (0, 4)]),
        ([(0, 0), (4, 0), (0, 4), (0, 1e-10)], -9, 9, [(0, 0), (4, 0), (0, 4)]),
        ([(2, 3), (0, 3), (0, 1), (2, 1)], -9, 9, [(0, 1), (2, 1), (2, 3), (0, 3)]),  # from the lowest, then leftmost
    ],
)
def test_clipping_at_corners(polygon: Any, low: float, high: float, left: Any) -> None:
    """By hand, across x."""
    assert clip(polygon, (1.0, 0.0), low, high) == left


def sloped(degrees: float, a: float, b: float, base: float = 0.0, *, turned: bool = False) -> Section:
    """The first plate level and `a` thick, the second `b` thick at a dihedral angle; with its normal either way round."""
    normal = (math.sin(math.radians(degrees)), math.cos(math.radians(degrees)))
    if turned:
        return Section(a, b, (-normal[0], -normal[1]), -base - b)
    return Section(a, b, normal, base)


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("degrees", "a", "b", "base"), [(60, 3, 5, 2), (120, 3, 5, -1), (75, 6, 4, 0), (105, 4, 4, 7), (90, 3, 5, 2)]
)
def test_numbers_of_a_section(degrees: float, a: float, b: float, base: float, turned: bool) -> None:
    """Trigonometry by hand, whichever way the second plate's normal looks."""
    section = sloped(degrees, a, b, base, turned=turned)
    phi = math.radians(degrees)
    sine, cosine = math.sin(phi), math.cos(phi)
    assert section.angle_deg == pytest.approx(degrees)
    assert section.axis == pytest.approx((-cosine, sine))
    assert section.cotangent == pytest.approx(cosine / sine)
    assert section.wedge_gap == pytest.approx(a * abs(cosine))
    # the near face is v · sin φ + z · cos φ = base; the first plate's leading corner is its lower one where cos φ < 0
    lead = a if cosine > 0 else 0
    assert section.passage == pytest.approx(((base - lead * cosine) / sine, (base + b - lead * cosine) / sine))
    for z in (0.0, 1.3, a):
        assert section.crossing(z) == pytest.approx(((base - z * cosine) / sine, (base + b - z * cosine) / sine))
    # measured along the second plate, from the foot of the first one's own origin
    corners = [-v * cosine + z * sine for z in (0.5, 2.0) for v in section.crossing(z)]
    assert section.band(0.5, 2.0) == pytest.approx((min(corners), max(corners)))
    assert section.shadow_in_first[1] - section.shadow_in_first[0] == pytest.approx(b / sine + a * abs(cosine / sine))
    assert section.shadow_in_first == pytest.approx(
        (min(section.crossing(0)[0], section.crossing(a)[0]), max(section.crossing(0)[1], section.crossing(a)[1]))
    )
    assert section.shadow_in_second == pytest.approx(section.band(0, a))


def test_a_strip_that_does_not_arrive_casts_nothing() -> None:
    """The footprint of a plate that ends before the other one begins."""
    assert sloped(90, 3, 5, 2).footprint(1.0) == (0.0, 0.0)
    assert sloped(90, 3, 5, 2).footprint(4.0) == pytest.approx((0.0, 3.0))


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("degrees", [60, 75, 90, 105, 120])
@pytest.mark.parametrize("rises", [True, False])
@pytest.mark.parametrize("short", [-4e-4, 0.0, 1.5])
def test_a_plate_that_ends_at_the_line(degrees: float, rises: bool, short: float, turned: bool) -> None:
    """It is drawn out until both its corners are flush with the first plate's far face, or beyond; and bites from there on."""
    a, b, base = 4.0, 5.0, 1.0
    section = sloped(degrees, a, b, base, turned=turned)
    phi = math.radians(degrees)
    sine, cosine = math.sin(phi), math.cos(phi)
    foot = section.footprint(section.passage[1])
    # a corner of the second plate at w along it and h through it lies at z = w · sin φ + h · cos φ
    heights = (base * cosine, (base + b) * cosine)
    end = (a - max(heights)) / sine if rises else -min(heights) / sine
    border = end - short if rises else end + short
    column = (-500.0, border) if rises else (border, 500.0)
    found = section.reach(column, foot)
    assert found is not None
    assert (found.border, found.rises) == (border, rises)
    assert found.end == pytest.approx(end, abs=1e-9)
    if short > 0:
        assert found.missing == pytest.approx((border, end) if rises else (end, border))
    else:
        assert found.missing is None
    furthest = max(border, end) if rises else min(border, end)
    drawn = found.beyond(foot)
    assert drawn == pytest.approx((foot[0], max(foot[1], furthest)) if rises else (min(foot[0], furthest), foot[1]))
    # what of the second plate lies in the first one's way, clipped by shapely
    lows = (-FAR, furthest) if rises else (furthest, FAR)
    strip = [
        (w * -cosine + h * sine, w * sine + h * cosine)
        for w, h in ((lows[0], base), (lows[1], base), (lows[1], base + b), (lows[0], base + b))
    ]
    inside = shapely.Polygon(strip).intersection(shapely.box(-FAR, 0, FAR, a))
    least = inside.bounds[0] if not inside.is_empty else -math.inf
    assert section.bite(found) == pytest.approx(max(least, section.passage[0]), abs=1e-6)


def test_a_plate_that_goes_on_has_no_reach() -> None:
    """To both sides, or to neither; within a thousandth of a mm it ends."""
    section = sloped(90, 4, 5)
    foot = (0.0, 4.0)
    assert section.reach((-50, 50), foot) is None
    assert section.reach((0, 4), foot) is None
    assert section.reach((-0.0009, 4.0009), foot) is None
    assert section.reach((-0.0011, 4.0011), foot) is None  # goes on to both
    for column, rises in (((-0.0011, 4.0009), True), ((-0.0009, 4.0011), False)):
        found = section.reach(column, foot)
        assert found is not None
        assert found.rises == rises
    assert section.bite(None) == section.passage[0]


def test_rounding_is_no_shortfall() -> None:
    """What is missing by less than a millionth of a µm is there."""
    assert Reach(4 - 5e-10, 4, rises=True).missing is None
    assert Reach(4 - 5e-9, 4, rises=True).missing == (4 - 5e-9, 4)
    assert Reach(4, 4, rises=False).missing is None
    assert Reach(1.0, 0.5, rises=False).missing == (0.5, 1.0)
