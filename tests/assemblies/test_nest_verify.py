"""The verifier finds every rule that is broken: good layouts, each spoilt in one way."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest
from nests import box_piece, box_ring, second_opinion, studio_job
from panelwright.assemblies.nest import Layout, Nest, NestJob, Piece, Pin, Placement, Sheet, Unplaced, nest, verify
from panelwright.plates import disc, hole, rectangle
from panelwright.plates.errors import NestError

PINNED = box_piece("drawer front", 100, 60, pin=Pin("birch 400 × 300", 280, 230))


@pytest.fixture(scope="module")
def job() -> NestJob:
    plain = studio_job(effort=5)
    return replace(plain, pieces=(*plain.pieces, PINNED))


@pytest.fixture(scope="module")
def good(job: NestJob) -> Nest:
    return nest(job)


def test_a_good_layout_has_no_problems(job: NestJob, good: Nest) -> None:
    """And a second way of measuring agrees, on a good many pairs."""
    assert verify(job, good) == []
    assert good.is_complete
    assert second_opinion(job, good) > 30


def spoilt(placements: Sequence[Placement], name: str, **change: object) -> list[Placement]:
    """The placements with the first copy of one piece changed; the change must be one."""
    fresh = [replace(p, **change) if (p.piece, p.copy) == (name, 1) else p for p in placements]  # type: ignore[arg-type]  # options of any type
    assert fresh != list(placements)
    return fresh


@pytest.mark.parametrize(
    ("code", "name", "change"),
    [
        ("turn", "slat", lambda p: {"turn_deg": p.turn_deg + 90}),
        ("turn", "wedge", lambda p: {"turn_deg": p.turn_deg + 1e-3}),
        ("flip", "tile", lambda p: {"flipped": True}),
        ("unknown", "tile", lambda p: {"sheet_copy": 4}),
        ("unknown", "tile", lambda p: {"sheet_copy": 0}),
        ("unknown", "tile", lambda p: {"sheet": "oak"}),
        ("count", "tile", lambda p: {"copy": 2}),
        ("count", "tile", lambda p: {"copy": 7}),
        ("outside", "slat", lambda p: {"x": p.x - 400}),
        ("outside", "slat", lambda p: {"x": -1000.0, "y": -1000.0}),
        ("outside", "tile", lambda p: {"x": 4.99999, "y": 100.0, "turn_deg": 0, "sheet_copy": 3, "sheet": "birch 400 × 300"}),
        ("outside", "tile", lambda p: {"y": 247.00001, "x": 9.0, "turn_deg": 0, "sheet_copy": 3, "sheet": "birch 400 × 300"}),
        ("outside", "tile", lambda p: {"x": 105.0, "y": 45.0, "turn_deg": 0, "sheet": "corner offcut", "sheet_copy": 1}),
        ("pin", "drawer front", lambda p: {"x": p.x - 1e-6}),
        ("pin", "drawer front", lambda p: {"turn_deg": 180.0}),
        ("pin", "drawer front", lambda p: {"sheet_copy": 2}),
    ],
)
def test_each_spoilt_placement_is_found(
    job: NestJob, good: Nest, code: str, name: str, change: Callable[[Placement], dict[str, object]]
) -> None:
    """The problem has its code and speaks of the piece."""
    placement = next(p for p in good.placements if p.piece == name)
    problems = verify(job, Layout(spoilt(good.placements, name, **change(placement))))
    assert code in {problem.code for problem in problems if name in problem.pieces}
    assert all(name in problem.message for problem in problems if problem.code == code)


def test_lost_added_and_doubly_named_copies_are_found(job: NestJob, good: Nest) -> None:
    """Every copy is somewhere once."""
    lost = [p for p in good.placements if (p.piece, p.copy) != ("tile", 3)]
    assert [str(problem) for problem in verify(job, Layout(lost))] == ["tile 3 comes 0 times; it must come once"]
    assert verify(job, Layout(lost, unplaced=(Unplaced("tile", (3,), "broken"),))) == []
    named = verify(job, Layout(good.placements, unplaced=(Unplaced("tile", (3,), "broken"), Unplaced("jar", (1,), "?"))))
    assert [problem.code for problem in named] == ["unknown", "count"]
    twice = verify(job, Layout([*good.placements, good.placements[-1]]))
    assert {"count", "spacing"} == {problem.code for problem in twice}
    unpinned = verify(job, Layout([p for p in good.placements if p.piece != "drawer front"]))
    assert {"count", "pin"} == {problem.code for problem in unpinned}


GAPS = [(2.0, True), (2.0 - 5e-7, True), (2.0 - 2e-6, False), (1.999, False), (-3.0, False)]


@pytest.mark.parametrize(("gap", "is_fine"), GAPS)
def test_spacing_is_held_to_a_micrometre(gap: float, is_fine: bool) -> None:
    """Straight outlines, side by side."""
    job = NestJob((box_piece("tile", 48, 48, 2),), (Sheet.rectangle("MDF", 200, 100),), margin=0)
    laid = [Placement("tile", 1, "MDF", 1, 10, 10, 0, False), Placement("tile", 2, "MDF", 1, 58 + gap, 10, 0, False)]
    problems = verify(job, Layout(laid))
    assert (problems == []) is is_fine
    if not is_fine:
        assert [problem.code for problem in problems] == ["spacing"]
        assert ("overlap" in problems[0].message) == (gap < 0)


@pytest.mark.parametrize(("by", "is_fine"), [(0.0, True), (2e-6, False), (10.0, False), (48.0, False)])
def test_without_spacing_touching_is_fine_and_overlap_is_not(by: float, is_fine: bool) -> None:
    """Even the overlap of two that lie on top of each other, whose borders have no distance either."""
    job = NestJob((box_piece("tile", 48, 48, 2),), (Sheet.rectangle("MDF", 200, 100),), margin=0, spacing=0)
    laid = [Placement("tile", 1, "MDF", 1, 0, 0, 0, False), Placement("tile", 2, "MDF", 1, 48 - by, 0, 0, False)]
    assert (verify(job, Layout(laid)) == []) is is_fine


@pytest.mark.parametrize(("x", "codes"), [(35.0, []), (31.9, ["spacing"]), (0.0, ["spacing"])])
def test_a_window_is_room_and_its_rim_is_not(x: float, codes: list[str]) -> None:
    """A tile in a frame's window keeps the spacing from the rim; on the rim it overlaps."""
    frame = Piece.from_rings("frame", [box_ring(0, 0, 160, 120), box_ring(30, 30, 130, 90)])
    job = NestJob((frame, box_piece("tile", 20, 20)), (Sheet.rectangle("MDF", 200, 150),), margin=0)
    laid = [Placement("frame", 1, "MDF", 1, 0, 0, 0, False), Placement("tile", 1, "MDF", 1, x, 40, 0, False)]
    assert [problem.code for problem in verify(job, Layout(laid))] == codes


def test_curves_are_measured_as_curves() -> None:
    """Two discs 2 mm apart are fine, at 1.95 mm not, though a box or a coarse polygon would say otherwise."""
    lid = Piece("lid", disc(80).loops, 2)
    job = NestJob((lid,), (Sheet.rectangle("MDF", 300, 300),), margin=0)
    for gap, is_fine in ((2.0, True), (1.95, False)):
        reach = (80 + gap) * 0.5**0.5
        places = ((1, 60.0), (2, 60 + reach))
        laid = [Placement("lid", copy, "MDF", 1, at, at, 0, False) for copy, at in places]
        assert (verify(job, Layout(laid)) == []) is is_fine


def test_holes_in_a_sheet_keep_their_margin() -> None:
    """A tile over a hole, and one too near to it."""
    sheet = Sheet("holed", rectangle(300, 200).cut(hole(60)).loops)
    job = NestJob((box_piece("tile", 40, 40),), (sheet,))
    for x, is_fine in ((-20.0, False), (34.9, False), (35.1, True)):
        assert (verify(job, Layout([Placement("tile", 1, "holed", 1, x, -20, 0, False)])) == []) is is_fine


class Careless:
    """An engine that puts everything in one place."""

    def lay_out(self, job: NestJob, report: object) -> Layout:
        sheet = job.sheets[0].id
        return Layout([Placement(p.id, n, sheet, 1, 10, 10, 0, False) for p in job.pieces for n in range(1, p.quantity + 1)])


class Lazy:
    """An engine that lays only the first piece, by the book."""

    def lay_out(self, job: NestJob, report: object) -> Layout:
        return Layout([Placement(job.pieces[0].id, 1, job.sheets[0].id, 1, 10, 10, 0, False)], iterations=1)


def test_no_engine_is_believed() -> None:
    """A layout that breaks rules is refused whoever made it; one that keeps them is taken, and what it left out is named."""
    job = NestJob((box_piece("tile", 48, 48, 3),), (Sheet.rectangle("MDF", 300, 200),))
    with pytest.raises(NestError, match="tile 1 and tile 2 on sheet MDF 1 overlap"):
        nest(job, engine=Careless())
    lazy = nest(job, engine=Lazy())
    assert [(lost.piece, lost.copies) for lost in lazy.unplaced] == [("tile", (2, 3))]
    assert lazy.iterations == 1
