"""Rows of cut-outs that are told where to stand: nothing that is said is lost."""

from __future__ import annotations

import pytest
from panelwright.plates import hole, rectangle, row
from panelwright.plates.errors import PlacementError


@pytest.mark.parametrize("along", ["x", "y"])
def test_one_alone_stands_where_it_is_said_to(along: str) -> None:
    """Both ways, with a pitch and without."""
    for pitch in (None, 25):
        (cut_out,) = rectangle(100, 60).cut(row(hole(10), 1, pitch=pitch, along=along, at=(20, 5))).holes
        assert cut_out.bounds == pytest.approx((15, 0, 25, 10))


@pytest.mark.parametrize(("along", "at"), [("x", (20, 0)), ("y", (0, 20))])
def test_a_row_that_is_spread_cannot_be_shifted_along_itself(along: str, at: tuple[float, float]) -> None:
    """It is told, with what to give."""
    with pytest.raises(PlacementError, match=rf"cannot shift it by 20 mm in {along}; give pitch=, or 0 there"):
        row(hole(5), 3, along=along, at=at)


def test_sideways_it_can() -> None:
    """Its holes all lie there."""
    holes = rectangle(90, 60).cut(row(hole(6), 3, at=(0, 15))).holes
    assert [cut_out.bounds[1] for cut_out in holes] == pytest.approx([12, 12, 12])
