"""Marks of which nothing is left or nothing is seen are told; those that show aren't, and those over a bend line stay whole."""

from __future__ import annotations

import pytest
from panelwright.assemblies import Assembly, bend
from panelwright.assemblies.data.findings import Finding
from panelwright.joints import join, tabs
from panelwright.plates import Frame, Stock, disc, lying, obround, rectangle, standing

MDF = Stock("MDF", 4.0, measured=4.0, kerf=0.1, clearance=0.1)
PLY = Stock("birch plywood", 3.0, measured=3.0, kerf=0.2, clearance=0.1)


def told(assembly: Assembly) -> list[Finding]:
    return [finding for finding in assembly.product().findings if finding.code == "MARK"]


def test_a_mark_in_a_cut_out_or_beyond_the_border_is_told() -> None:
    """Two of three marks of a lid have no material under them; the finding counts them and shows the first."""
    lid = Assembly("lid", stock=MDF)
    outline = rectangle(100, 60).cut(rectangle(40, 20)).marked(disc(6).at(200, 0), disc(3).at(-40, 0), disc(5))
    lid.add("lid", outline, Frame((10, 20, 30)))
    (finding,) = told(lid)
    assert (finding.level, finding.plates, finding.numbers) == ("warning", ("lid",), {"marks": 2.0})
    assert finding.place == pytest.approx((210, 20, 34))
    assert "plate 'lid': 2 marks, the first around (200.00, 0.00), lie where the plate is cut away" in finding.message


def test_a_mark_where_a_joint_cuts_is_told() -> None:
    """A mark that the slot of a joint swallows is lost, though the plate as designed has material there."""
    base_marks = (disc(2).at(0, 2), obround(20, 6).at(0, -20))
    rack = Assembly("rack", stock=MDF)
    base = rack.add("base", rectangle(100, 60).marked(*base_marks))
    wall = rack.add("wall", rectangle(60, 40), standing(facing="-Y", on=base.face(">Z"), inset=30))
    join(wall.face("<Z"), base.face(">Z"), tabs(count=1, width=20))
    (finding,) = told(rack)
    assert finding.plates == ("base",)
    assert "the mark around (0.00, 2.00) lies where the plate is cut away" in finding.message


def test_marks_that_show_are_not_told() -> None:
    """Marks on material, and those that run out over a border or under another plate, are as designed."""
    rack = Assembly("rack", stock=MDF)
    base = rack.add("base", rectangle(100, 60).marked(disc(8).at(30, -20), disc(20).at(50, 0), disc(30)))
    wall = rack.add("wall", rectangle(60, 40), standing(facing="-Y", on=base.face(">Z"), inset=30))
    join(wall.face("<Z"), base.face(">Z"), tabs(count=2, width=10))
    assert told(rack) == []


def stack(*, loose: bool = False, turned: bool = False) -> Assembly:
    """A plate with three marks, one of them under a block that lies on it."""
    pile = Assembly("pile", stock=MDF)
    where = Frame.facing((0, 0, 4), show=(0, 0, -1), right=(1, 0, 0)) if turned else Frame()
    pile.add("base", rectangle(100, 60).marked(disc(4), disc(4).at(30, 0), disc(20).at(0, 8)), where)
    pile.add("block", rectangle(30, 20), Frame((0, 0, 4)), loose=loose)
    return pile


def test_a_mark_under_another_plate_is_told() -> None:
    """A block glued on a show face hides the one mark that lies wholly under it; the finding names both and the place."""
    (finding,) = told(stack())
    assert (finding.level, finding.plates, finding.numbers) == ("warning", ("base", "block"), {"marks": 1.0})
    assert finding.place == pytest.approx((0, 0, 4))
    assert "the mark around (0.00, 0.00) lies on the show face, under 'block', where nobody sees it" in finding.message


def test_what_is_loose_or_on_the_back_hides_nothing() -> None:
    """A loose block is lifted off, and marks on a show face that looks down are seen from below."""
    assert told(stack(loose=True)) == []
    assert told(stack(turned=True)) == []


def test_a_mark_under_the_edge_of_an_upright_plate_is_told() -> None:
    """A glued wall hides a line along its foot, seen as thick as the wall; a longer line shows at its ends."""
    for length, hidden in ((50, 1), (80, 0)):
        rack = Assembly("rack", stock=MDF)
        line = rectangle(length, 1).at(0, 2)
        base = rack.add("base", rectangle(100, 60).marked(line))
        rack.add("wall", rectangle(60, 40), standing(facing="-Y", on=base.face(">Z"), inset=30))
        assert len(told(rack)) == hidden


def test_two_plates_together_hide_a_mark() -> None:
    """A mark under two tops that meet over it is hidden by both."""
    rack = Assembly("rack", stock=MDF)
    rack.add("base", rectangle(100, 60).marked(disc(10)))
    rack.add("left", rectangle(40, 40), Frame((-20, 0, 4)))
    rack.add("right", rectangle(40, 40), Frame((20, 0, 4)))
    (finding,) = told(rack)
    assert finding.plates == ("base", "left", "right")


def test_lying_tops_hide_nothing_of_their_own() -> None:
    """What a lid shows upwards is seen, though walls stand under it."""
    box = Assembly("box", stock=MDF)
    base = box.add("base", rectangle(100, 60))
    wall = box.add("wall", rectangle(60, 40), standing(facing="-Y", on=base.face(">Z"), inset=30))
    box.add("lid", rectangle(100, 60).marked(disc(6)), lying([wall.face(">Z")]))
    assert told(box) == []


def test_marks_over_bend_lines_stay_whole() -> None:
    """A bent sheet keeps each mark once, as it was drawn, be it on a flat part, in the bend, or over the line between."""
    marks = [disc(5).at(-80, 0), disc(7).at(-36, 10), disc(6).at(0, -10), obround(190, 20), disc(9).at(80, 0)]
    stand = Assembly("card stand", stock=PLY)
    stand.add_bent("sheet", rectangle(200, 60).marked(*marks), bend(-36, radius=45, angle_deg=90))
    (panel,) = stand.product().panels
    found = sorted(tuple(round(v, 6) for v in _bounds(mark)) for mark in panel.marks)
    assert found == sorted(tuple(round(v, 6) for v in mark.at(100, 30).bounds) for mark in marks)
    assert told(stand) == []


def test_a_mark_off_a_bent_sheet_is_told() -> None:
    """Beyond the border of a flat part as beside the bend there is nothing to engrave."""
    stand = Assembly("card stand", stock=PLY)
    outline = rectangle(200, 60).marked(disc(5).at(-80, 50), disc(5).at(0, 50))
    stand.add_bent("sheet", outline, bend(-36, radius=45, angle_deg=90))
    assert [finding.plates for finding in told(stand)] == [("sheet 1",), ("sheet bend 1",)]


def _bounds(mark: object) -> tuple[float, float, float, float]:
    boxes = [segment.bounds for segment in mark]  # type: ignore[attr-defined]  # known to be there
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return (min(x0), min(y0), max(x1), max(y1))
