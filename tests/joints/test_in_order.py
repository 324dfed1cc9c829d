"""Things of several widths in a fixed order, by hand: no kernel and no plates.

Where only the order matters the places are those of least squares under an order (isotonic regression: neighbours that press
on each other take the mean of their wishes); the rest is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest
from panelwright.joints.rows.in_order import Placeable, in_order

LINE = [(0.0, 100.0)]
HOLED = [(0.0, 18.0), (40.0, 100.0)]


@pytest.mark.parametrize(
    ("things", "places"),
    [
        ([], []),
        ([(50, 10, LINE)], [50]),
        ([(20, 10, LINE), (60, 10, LINE)], [20, 60]),
        ([(20, 10, LINE), (34, 10, LINE)], [20, 34]),  # just a web between them
        ([(20, 10, LINE), (25, 10, LINE)], [15.5, 29.5]),  # 9 mm short: 4.5 each
        ([(50, 10, LINE), (50, 20, LINE)], [40.5, 59.5]),  # half of each and a web: 19 apart
        ([(50, 10, LINE)] * 3, [36, 50, 64]),
        ([(20, 10, LINE), (20, 10, LINE), (35, 10, LINE)], [11, 25, 39]),  # mean of 20, 6 and 7
        ([(60, 10, LINE), (40, 10, LINE)], [43, 57]),  # wishes the other way round
        ([(20, 10, LINE), (70, 10, LINE), (75, 10, LINE)], [20, 65.5, 79.5]),
        # both ends of the line
        ([(2, 10, LINE)], [5]),
        ([(99, 10, LINE)], [95]),
        ([(2, 10, LINE), (3, 10, LINE)], [5, 19]),
        ([(98, 10, LINE), (99, 10, LINE)], [81, 95]),
        ([(2, 10, LINE), (3, 10, LINE), (90, 10, LINE)], [5, 19, 90]),
        # just room, and a little less
        ([(3, 10, [(0, 10)])], [5]),
        ([(3, 10, [(0, 10 - 5e-10)])], [5]),
        ([(3, 10, [(0, 10 - 5e-9)])], None),
        ([(3, 10, [(0, 24)])] * 2, [5, 19]),
        ([(3, 10, [(0, 24 - 5e-10)])] * 2, [5, 19]),
        ([(3, 10, [(0, 24 - 5e-9)])] * 2, None),
        ([(50, 60, LINE)] * 2, None),
        ([(50, 10, [])], None),
        # what is not free: to the nearer side of it, of equals the low one
        ([(12, 10, HOLED)], [12]),
        ([(20, 10, HOLED)], [13]),
        ([(28.9, 10, HOLED)], [13]),
        ([(29, 10, HOLED)], [13]),
        ([(29.1, 10, HOLED)], [45]),
        ([(50, 10, HOLED)], [50]),
        ([(50, 20, HOLED)], [50]),  # 18 mm hold no 20
        ([(10, 20, HOLED)], [50]),
        ([(20, 10, HOLED), (25, 10, LINE)], [13, 27]),
        ([(20, 10, HOLED), (25, 10, [(0.0, 26.0)])], [7, 21]),
        ([(38, 10, HOLED), (39, 10, [(0.0, 60.0)])], [13, 39]),  # at 45 the second would have no room
        # the second has 10 mm to go down, and the first, 15 mm from 45, then finds room below only
        ([(30, 10, HOLED), (44, 10, [(0.0, 39.0), (79.0, 109.0)])], [13, 34]),
        ([(30, 10, HOLED), (44, 10, HOLED)], [45, 59]),
        ([(16, 10, HOLED), (30, 10, HOLED)], [13, 45]),
        # within rounding of what is free counts as free
        ([(13 + 5e-10, 10, HOLED)], [13]),
        ([(45 - 5e-10, 10, HOLED)], [45]),
    ],
)
def test_places_in_order(things: Any, places: Any) -> None:
    """Each expected number is worked out by hand, at a web of 4 mm; and the line seen from its other end gives the same."""
    row = [Placeable(wish, width, free) for wish, width, free in things]
    found = in_order(row, 4.0)
    assert found == (None if places is None else pytest.approx(places, abs=1e-8))
    if any(wish == 29 for wish, _, _ in things):  # a tie, which goes to the low side
        return
    turned = [Placeable(-wish, width, [(-high, -low) for low, high in reversed(free)]) for wish, width, free in things]
    back = in_order(turned[::-1], 4.0)
    assert back == (None if places is None else pytest.approx([-at for at in reversed(places)], abs=1e-8))


def test_stretches_for_a_middle() -> None:
    """Half a width from both ends of each stretch that holds the thing; one that just holds it is a point."""
    thing = Placeable(0, 10, [(0.0, 9.0), (20.0, 30.0), (40.0, 60.0), (70.0, 80 - 5e-10)])
    assert thing.middles == [(25.0, 25.0), (45.0, 55.0), (75.0, 75.0)]
