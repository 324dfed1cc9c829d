"""Sheets whose parts are held by bridges, judged by sweeping the beam: what is left of the sheet hangs together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest
import shapely
from panelwright.assemblies import Batch, SheetRules, lay_sheets
from panelwright.assemblies.cutting import CutPath
from panelwright.assemblies.sheets.plan import CutSheet
from panelwright.assemblies.sheets.request import Bridges
from studio import card_tray, jar_frame, studio_shop


def laid(product: Any, bridges: Bridges | None) -> tuple[CutSheet, ...]:
    rules = SheetRules(is_marked=False, effort=10, bridges=bridges)
    return lay_sheets([Batch(product)], studio_shop(), rules).sheets


def pieces_left(sheet: CutSheet, paths: Sequence[CutPath] | None = None) -> int:
    """Pieces that the sheet is in after all cuts."""
    lines = [
        shapely.LineString([*(p for s in path.segments for p in s.chords(0.002)), path.end])
        for path in (sheet.paths if paths is None else paths)
        if path.kind != "mark"
    ]
    outer, *holes = ([*loop.points(0.002)] for loop in sheet.outline)
    left = shapely.Polygon(outer, holes).difference(shapely.union_all(lines).buffer(sheet.stock.kerf / 2))
    return len(getattr(left, "geoms", [left]))


def bridged(sheet: CutSheet) -> list[str]:
    return sorted(f"{sheet.parts[path.piece].name} {path.kind}" for path in sheet.paths if not path.is_closed)


def test_a_part_in_a_window_is_held_too() -> None:
    """The disc lies in the frame's window.  Its bridges reach the waste in there, so the window has bridges as well."""
    (sheet,) = laid(jar_frame(), Bridges(3, 1.0))
    assert bridged(sheet) == ["disc outside"] * 3 + ["frame inside"] * 3 + ["frame outside"] * 3
    # the disc's bore alone falls out
    assert pieces_left(sheet) == 2
    (plain,) = laid(jar_frame(), None)
    closed = [path for path in plain.paths if path.kind == "inside" and path.length_mm > 500]
    open_ = [path for path in sheet.paths if (path.kind, sheet.parts[path.piece].name) != ("inside", "frame")]
    assert pieces_left(sheet, [*open_, *closed]) == 3  # with that window cut all round it takes the disc along


def test_large_windows_are_held_on_request() -> None:
    """The least size is that of width and height: a bore of 20 mm is held from 15 mm on, and not from 25 mm on."""
    (some,) = laid(jar_frame(), Bridges(2, 0.8, least_window_mm=25))
    (more,) = laid(jar_frame(), Bridges(2, 0.8, least_window_mm=15))
    assert [word for word in bridged(more) if word not in bridged(some)] == ["disc inside"] * 2
    assert (pieces_left(some), pieces_left(more)) == (2, 1)


@pytest.mark.parametrize(("least", "is_held"), [(20, True), (19.9, True), (20.01, False)])
def test_the_size_of_a_window_is_its_finished_one(least: float, is_held: bool) -> None:
    """A bore of 20 mm is 20 mm wide, though the beam runs half a kerf inside it all round."""
    (sheet,) = laid(jar_frame(), Bridges(2, 0.8, least_window_mm=least))
    assert ("disc inside" in bridged(sheet)) == is_held


def test_slots_stay_open_where_only_parts_are_held() -> None:
    """A tray's slots fall out, its panels don't: one piece is left for the sheet, one for each slot."""
    for sheet in laid(card_tray(), Bridges()):
        slots = sum(path.kind == "inside" for path in sheet.paths)
        assert slots == sum(path.kind == "inside" and path.is_closed for path in sheet.paths)
        assert pieces_left(sheet) == 1 + slots


def test_a_window_too_small_for_its_bridges_is_named() -> None:
    """By the panel that it is in."""
    from panelwright.plates.errors import SizeError

    with pytest.raises(SizeError, match=r"panel 'disc': a cut of 6\d\.\d mm is too short for 12 bridges of 2 mm"):
        laid(jar_frame(), Bridges(12, 2.0, least_window_mm=0))
