"""Drawings whose header names another unit than their numbers are in: told with both readings, and what to pass."""

from __future__ import annotations

import re
from pathlib import Path

import ezdxf
import pytest
from panelwright.plates import OutlineError, cutouts_from_dxf, outline_from_dxf, rectangle

CODES = {"in": 1, "mm": 4, "cm": 5, "m": 6}
"""$INSUNITS of the DXF reference."""


def board(folder: Path, says: str, *, scale: float = 1.0) -> Path:
    """A circuit board of 85 × 56 drawing units times `scale` with four holes 3.5 units off its borders."""
    doc = ezdxf.new(units=CODES[says])
    space = doc.modelspace()
    space.add_lwpolyline([(x * scale, y * scale) for x, y in ((0, 0), (85, 0), (85, 56), (0, 56))], close=True)
    for x in (3.5, 81.5):
        for y in (3.5, 52.5):
            space.add_circle((x * scale, y * scale), 1.6 * scale, dxfattribs={"layer": "HOLES"})
    file = folder / "board.dxf"
    doc.saveas(file)
    return file


@pytest.mark.parametrize(
    ("says", "scale", "pass_unit", "as_read", "as_meant"),
    [
        ("m", 1.0, "mm", "81,200 × 52,200 mm", "81.2 × 52.2 mm"),
        ("mm", 0.001, "m", "0.0812 × 0.0522 mm", "81.2 × 52.2 mm"),
    ],
)
def test_holes_a_thousand_times_too_far_apart_or_too_near_are_told_with_the_unit_that_fits(
    tmp_path: Path, says: str, scale: float, pass_unit: str, as_read: str, as_meant: str
) -> None:
    """No such thing is cut of sheet; what the message says to pass reads the board as it is."""
    file = board(tmp_path, says, scale=scale)
    with pytest.raises(OutlineError, match=re.escape(as_read)) as told:
        cutouts_from_dxf(file, layers="HOLES")
    assert as_meant in str(told.value)
    assert f'pass unit="{pass_unit}"' in str(told.value)
    holes = cutouts_from_dxf(file, layers="HOLES", unit=pass_unit)
    assert holes[0].bounds == pytest.approx((1.9, 1.9, 5.1, 5.1))
    with pytest.raises(OutlineError, match=f'pass unit="{pass_unit}"'):
        outline_from_dxf(file, layer="0")
    assert outline_from_dxf(file, layer="0", unit=pass_unit).size == pytest.approx((85, 56))


def test_a_unit_that_the_call_names_is_meant(tmp_path: Path) -> None:
    """Whoever says metres gets metres."""
    assert outline_from_dxf(board(tmp_path, "mm"), layer="0", unit="m").size == pytest.approx((85_000, 56_000))


@pytest.mark.parametrize("moved", [False, True])
def test_cut_outs_in_inches_that_find_no_room_are_told_with_both_sizes(tmp_path: Path, moved: bool) -> None:
    """85 in is 2159 mm, which a sheet may have; the plate of 100 × 70 mm that they are cut into has not."""
    holes = cutouts_from_dxf(board(tmp_path, "in"), layers="HOLES")
    if moved:
        holes = tuple(hole.at(-42.5, -28) for hole in holes)
    plate = rectangle(100, 70).at(50, 35)
    with pytest.raises(OutlineError, match="lies outside the outline") as told:
        plate.cut(holes)
    assert "'board.dxf' says inches, by which its cut-outs span 2062 × 1326 mm" in str(told.value)
    assert 'in millimetres they span 81.2 × 52.2 mm: pass unit="mm"' in str(told.value)
    assert len(plate.cut(cutouts_from_dxf(board(tmp_path, "in"), layers="HOLES", unit="mm")).holes) == 4


def test_cut_outs_that_are_only_misplaced_are_told_as_such(tmp_path: Path) -> None:
    """Of the right size beside the plate, their unit is not what is wrong."""
    holes = cutouts_from_dxf(board(tmp_path, "mm"), layers="HOLES")
    with pytest.raises(OutlineError, match="move it or leave it out") as told:
        rectangle(100, 70).at(500, 0).cut(holes)
    assert "unit" not in str(told.value)
