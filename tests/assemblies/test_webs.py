"""Narrow places: each web between two loops is found, with its true width, and looking for them never ends a build."""

from __future__ import annotations

import itertools
from collections import Counter

import pytest
import shapely
from panelwright.assemblies import Assembly
from panelwright.plates import Stock, hole, rectangle, regular_polygon, row
from panelwright.plates.errors import PanelwrightError
from panelwright.plates.geometry import thin
from panelwright.plates.geometry.thin import thin_places

PLY = Stock("birch plywood", 6, kerf=0.2, clearance=0.1)


def test_webs_of_576_polygons_with_rows_of_holes_are_those_that_distances_tell() -> None:
    """Whatever the offsets do, a plate has a thin web exactly where two of its loops are nearer than 95 % of the thickness."""
    seen: Counter[str] = Counter()
    sizes = itertools.product(range(5, 11), (40, 60, 80, 100), (3, 4, 5, 6, 8, 10), (2, 3, 4, 5))
    for sides, across, diameter, count in sizes:
        seen["tried"] += 1
        try:
            outline = regular_polygon(sides, across_flats=across).cut(row(hole(diameter), count))
        except PanelwrightError:  # holes that run into each other, or part the plate
            continue
        found = thin_places(outline.loops, 6)
        if len(outline.loops) != count + 1:  # a hole over the border is a notch, and then distances don't tell
            continue
        rings = [shapely.LinearRing(loop.points(1e-3)) for loop in outline.loops]
        least = min(a.distance(b) for a, b in itertools.combinations(rings, 2))
        narrowest = min((width for _, _, width in found), default=None)
        assert narrowest == (pytest.approx(least, abs=0.01) if least < 0.95 * 6 else None), (sides, across, diameter, count)
        seen["thin" if found else "wide"] += 1
    assert seen["tried"] == 576
    assert seen["thin"] > 200
    assert seen["wide"] > 200


def test_the_plate_that_offsets_choked_on_is_checked_to_the_end() -> None:
    """A pentagon of 60 mm with three holes of 8 mm in 6 mm ply has 3.64 mm beside its outer holes."""
    assembly = Assembly("brush rack", stock=PLY)
    assembly.add("cheek", regular_polygon(5, across_flats=60).cut(row(hole(8), 3)))
    (finding,) = [finding for finding in assembly.check() if finding.code == "WEB"]
    assert finding.level == "warning"
    assert finding.numbers["width_mm"] == pytest.approx(3.639, abs=0.01)


@pytest.mark.parametrize(("share", "told"), [(0.61, True), (0.9, True), (0.94, True), (0.96, False), (1.1, False)])
def test_a_web_is_thin_below_95_percent_of_the_thickness(share: float, told: bool) -> None:
    """Between two slots, and in one loop between two notches, with the width that it has."""
    wide = 6 * share
    slot = rectangle(10, 20)
    between = rectangle(100, 60).cut(slot.at(-5 - wide / 2, 0), slot.at(5 + wide / 2, 0))
    notched = rectangle(100, 60).cut(slot.at(-5 - wide / 2, 30), slot.at(5 + wide / 2, 30))
    for outline in (between, notched):
        widths = [width for _, _, width in thin_places(outline.loops, 6)]
        assert widths == ([pytest.approx(wide, abs=0.04)] if told else [])


def test_sharp_corners_are_no_webs_but_narrow_nubs_are() -> None:
    """Corners come back under the brush, rounded or not; a nub 3 mm wide does not."""
    for outline in (rectangle(60, 40), rectangle(60, 40).rounded(1), regular_polygon(3, across_flats=60)):
        assert thin_places(outline.loops, 6) == []
    nub = rectangle(60, 40).joined(rectangle(3, 12).at(0, 22))
    ((kind, (x, y), width),) = thin_places(nub.loops, 6)
    assert (kind, width) == ("web", pytest.approx(3, abs=0.06))
    assert abs(x) < 2
    assert 18 < y < 28


def test_two_webs_of_one_pair_of_loops_are_two_places() -> None:
    """A window with 2 mm left and 3 mm right of it has both."""
    frame = rectangle(55, 60).cut(rectangle(50, 30).at(-0.5, 0))
    assert [width for _, _, width in thin_places(frame.loops, 6)] == [pytest.approx(2), pytest.approx(3)]


def test_what_cannot_be_measured_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Should the geometry library give up all the same, a warning says so, and the proof goes on."""

    def fails(*_: object, **__: object) -> None:
        raise shapely.errors.GEOSException("side location conflict")

    monkeypatch.setattr(thin, "_painted", fails)
    assembly = Assembly("tile tray", stock=PLY)
    assembly.add("base", rectangle(60, 40))
    (finding,) = [finding for finding in assembly.check() if finding.code == "WEB"]
    assert finding.level == "warning"
    assert "'base': its narrow places could not be measured (side location conflict)" in finding.message
