"""The numbers of even rows, by hand: how many fit, how wide they may be, where they go.  No kernel and no plates.

There is no outside source for the rules, which are common practice; each expected number is worked out beside its case.
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from panelwright.joints.rows.even_places import largest_share, room_for, spread, widest


@pytest.mark.parametrize(
    ("free", "width", "gap", "count"),
    [
        ([(0, 30)], 10, None, 2),  # 10, a gap of 10, 10
        ([(0, 29.9)], 10, None, 1),
        ([(0, 30 - 5e-10)], 10, None, 2),  # rounding
        ([(0, 30 - 5e-9)], 10, None, 1),
        ([(0, 30)], 10, 0, 3),
        ([(5, 35)], 10, 0, 3),
        ([(0, 34)], 10, 2, 3),
        ([(0, 9)], 10, 2, 0),
        ([(0, 9), (20, 30), (40, 62)], 10, 2, 3),
        ([(0, 2), (20, 30)], 10, 2, 1),
        ([(0, 20), (30, 16), (40, 50)], 10, 2, 2),  # a stretch that others have eaten up counts as none, not as less
        ([], 10, None, 0),
    ],
)
def test_room(free: Any, width: float, gap: float | None, count: int) -> None:
    """n things and n - 1 gaps between them."""
    assert room_for(free, width, gap) == count


@pytest.mark.parametrize(
    ("free", "count", "web", "wanted", "width"),
    [
        ([(0, 40)], 1, 4, [], 40),
        ([(10, 50)], 2, 4, [], 18),  # (40 - 4) / 2
        ([(10, 50)], 3, 4, [], 32 / 3),
        ([(10, 50)], 2, 4, [(3, 1)], 16),  # (36 - 4) / 2
        ([(0, 40), (60, 80)], 2, 4, [], 20),  # one on each: the shorter decides
        ([(0, 40), (60, 70)], 2, 4, [], 18),  # both on the longer
        ([(0, 40), (60, 72)], 3, 4, [], 12),  # 40 holds two of 18, 12 one: three on 40 would be 10.67
        ([(0, 40), (60, 80)], 3, 4, [(0, 0), (0, 5)], 15),
        ([(0, 6)], 2, 8, [], -1),  # a web more than there is
        ([(0, 6)], 0, 8, [], math.inf),
        ([], 2, 8, [], 0),
    ],
)
def test_widest(free: Any, count: int, web: float, wanted: Any, width: float) -> None:
    """What is left between the webs, on the stretch that has least of it."""
    assert widest(free, count, web, wanted) == pytest.approx(width)


@pytest.mark.parametrize(
    ("free", "count", "width", "web", "wanted", "share"),
    [
        ([(0, 10)], 1, 4, 3, [], 2.5),
        ([(5, 27)], 2, 4, 3, [], 2),  # 22 / (4 + 3 + 4)
        ([(5, 27)], 2, 4, 3, [(5, 6)], 1),
        ([(5, 27)], 3, 4, 3, [(5, 6)], 22 / 29),
        ([(0, 18), (20, 24)], 2, 4, 10, [], 1),  # 18 / (4 + 10 + 4), as 4 / 4
        ([(0, 40), (50, 52)], 2, 4, 10, [], 40 / 18),
    ],
)
def test_share(free: Any, count: int, width: float, web: float, wanted: Any, share: float) -> None:
    """Length over what all things, webs and ends would take in full."""
    assert largest_share(free, count, width, web, wanted) == pytest.approx(share)


@pytest.mark.parametrize(
    ("free", "count", "width", "web", "wanted", "middles"),
    [
        # equal shares: gaps at the ends half of those between
        ([(0, 100)], 1, 10, 0, [], [50]),
        ([(20, 120)], 2, 10, 0, [], [45, 95]),
        ([(0, 90)], 3, 10, 4, [], [15, 45, 75]),
        # just the webs: 30 + 2 · 4 = 38
        ([(0, 38)], 3, 10, 4, [], [5, 19, 33]),
        ([(0, 40)], 3, 10, 4, [], [6, 20, 34]),  # webs first, the rest half and half: 1 at each end
        ([(10, 50)], 3, 10, 4, [], [16, 30, 44]),
        # not all webs have room: 36 - 30 = 6 for two
        ([(0, 36)], 3, 10, 4, [], [5, 18, 31]),
        # 4 wanted at one end only, of a slack of 8: 4 there, the other end gets 4
        ([(0, 18)], 1, 10, 0, [(4, 0)], [9]),
        ([(0, 16)], 1, 10, 0, [(4, 0)], [9]),  # slack 6: 4 and 2
        ([(0, 16)], 1, 10, 0, [(0, 4)], [7]),
        ([(0, 13)], 1, 10, 0, [(4, 0)], [8]),  # slack 3: all of it
        ([(0, 14)], 1, 10, 0, [(4, 4)], [7]),  # 2 and 2
        ([(0, 16)], 1, 10, 0, [(4, 8)], [7]),  # 6 as 1 to 2
        # ends wanted before the gap between is more than its web: slack 20 = 4 + 12 + 4
        ([(0, 40)], 2, 10, 4, [(4, 4)], [10, 30]),
        ([(0, 32)], 2, 10, 4, [(4, 4)], [9, 23]),  # slack 12: 4, 4 and 4
        ([(0, 30)], 2, 10, 4, [(4, 4)], [25 / 3, 65 / 3]),  # slack 10: a third of 10 each
        ([(0, 60)], 2, 10, 4, [(16, 0)], [21, 47]),  # slack 40: 16, then 24 as 16 and 8
        ([(0, 60)], 2, 10, 4, [(0, 16)], [13, 39]),
        ([(0, 26)], 2, 10, 4, [(2, 0)], [7, 21]),  # slack 6: 2 and 4
        # exact fits
        ([(0, 10)], 1, 10, 4, [], [5]),
        ([(0, 20)], 2, 10, 4, [], [5, 15]),
        ([(0, 10 - 5e-10)], 1, 10, 0, [], [5]),
        ([(0, 10 - 5e-9)], 1, 10, 0, [], None),
        ([(0, 20 - 5e-10)], 2, 10, 0, [], [5, 15]),
        ([(0, 20 - 5e-9)], 2, 10, 0, [], None),
        ([(0, 19)], 2, 10, 0, [], None),
        ([], 1, 10, 0, [], None),
        ([(0, 5)], 1, 10, 0, [], None),
        ([(100, 105)], 1, 10, 0, [], None),
        ([(0, 5)], 0, 10, 0, [], None),
        ([(0, 50)], 0, 10, 0, [], []),
    ],
)
def test_places_on_one_stretch(free: Any, count: int, width: float, web: float, wanted: Any, middles: Any) -> None:
    """Middles of an equal share each; webs, and what is wanted at the ends, come first."""
    found = spread(free, count, width, web, wanted)
    assert found == (None if middles is None else pytest.approx(middles, abs=1e-8))


def stretches(*lengths: float) -> list[tuple[float, float]]:
    """Stretches of these lengths, 100 mm from one beginning to the next."""
    return [(100.0 * i, 100.0 * i + length) for i, length in enumerate(lengths)]


@pytest.mark.parametrize(
    ("lengths", "count", "numbers"),
    [
        ((60, 30), 3, (2, 1)),  # by length
        ((60, 30), 2, (2, 0)),  # shares of 30 either way: of equals the low one, by rule
        ((60, 30), 1, (1, 0)),
        ((30, 60), 1, (0, 1)),
        ((60, 20), 8, (6, 2)),
        ((61, 9, 20), 8, (6, 0, 2)),  # what is shorter than a thing gets none
        ((20, 20, 20), 1, (0, 1, 0)),  # alike from both ends
        ((20, 20, 20), 2, (1, 0, 1)),
        ((20, 20, 20), 3, (1, 1, 1)),
        ((20, 20, 20), 4, (1, 2, 1)),
        ((20, 20, 20), 5, (2, 1, 2)),
        ((20, 20, 20), 6, (2, 2, 2)),
        ((20, 20, 20), 7, None),
        ((20, 20), 1, (1, 0)),  # nothing in the middle: the low end, by rule
        ((20, 20), 2, (1, 1)),
        ((20, 20), 3, (2, 1)),
        ((40, 12, 40), 3, (1, 1, 1)),
        ((40, 9, 40), 3, (2, 0, 1)),
        ((40, 12, 40), 5, (2, 1, 2)),
        ((40, 60, 40), 4, (1, 2, 1)),
        ((40, 60, 40), 7, (2, 3, 2)),
        ((20, 20, 20, 20), 2, (1, 0, 0, 1)),
        ((20, 20, 20, 20), 6, (2, 1, 1, 2)),
        ((20, 20, 20, 20, 20), 3, (1, 0, 1, 0, 1)),
        ((20, 20, 20, 20, 20), 2, (1, 0, 0, 0, 1)),
        ((20, 20, 20, 20, 20), 1, (0, 0, 1, 0, 0)),
        ((12, 30, 30, 12), 2, (0, 1, 1, 0)),
        ((12, 60, 12), 4, (0, 4, 0)),  # 0.57 and 2.86: two more on 60 have 15 each, one on each 12 has 12
        ((20, 20, 20, 20, 20, 20), 2, (0, 1, 0, 0, 1, 0)),  # the middle pair of three
        ((20, 20, 20, 20, 20, 20, 15), 3, (1, 0, 1, 0, 0, 1, 0)),  # not alike: evenly, outwards from the middle of the six
    ],
)
def test_how_many_go_on_each_stretch(lengths: Any, count: int, numbers: Any) -> None:
    """By length, the rest to the largest shares left, alike from both ends where the stretches are."""
    found = spread(stretches(*lengths), count, 10)
    told = None if found is None else tuple(sum(100 * i <= m < 100 * i + 100 for m in found) for i in range(len(lengths)))
    assert told == numbers


@pytest.mark.parametrize(
    ("length", "middles"),
    [
        (28, [15, 107, 121]),  # 2, 10, a web of 4, 10, 2
        (24, [13, 105, 119]),  # just two and a web
        (24 - 5e-10, [13, 105, 119]),
        (24 - 5e-9, [7, 19, 112]),
    ],
)
def test_webs_come_before_shares(length: float, middles: list[float]) -> None:
    """A stretch 2 mm longer, but with 4 mm wanted at both ends, holds one of 10 mm with its webs, and the other one two.

    Where all webs have no room anywhere, lengths decide again: the longer one holds two, with 2, 2 and 2 mm of webs.
    """
    found = spread([(0, length + 2), (100, 100 + length)], 3, 10, 4, [(4, 4), (0, 0)])
    assert found == pytest.approx(middles, abs=1e-6)


def test_what_is_wanted_at_the_ends_limits_how_many_go_there() -> None:
    """30 mm with 8 wanted at both ends hold one of 10; the second goes on 12 mm, though its share there is smaller."""
    assert spread([(0, 30), (100, 112)], 2, 10, 0, [(8, 8), (0, 0)]) == pytest.approx([15, 106])
