"""The last sheet made more compact by spyrrow, where that is installed: shorter, by the rules, and never worse."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from nests import second_opinion, studio_job
from panelwright.assemblies import Batch, SheetRules, lay_sheets
from panelwright.assemblies.nest import (
    LastSheetCompaction,
    NestJob,
    Piece,
    Pin,
    RuinAndRecreate,
    Sheet,
    compaction,
    nest,
    verify,
)
from panelwright.assemblies.sheets.request import PieceRules
from panelwright.plates.errors import NestError, SizeError
from studio import card_tray, studio_shop

WEDGE = [(0.0, 0.0), (90.0, 0.0), (90.0, 15.0), (0.0, 70.0)]


def wedges(width: float, height: float, **options: Any) -> NestJob:
    """Wedges that fit into each other, of which a first construction makes little."""
    piece = Piece.from_rings("wedge", [WEDGE], 7, turn_step_deg=180, **options)
    return NestJob((piece,), (Sheet.rectangle("MDF", width, height, 2),), effort=0, seed=3)


@pytest.fixture
def engine() -> LastSheetCompaction:
    pytest.importorskip("spyrrow")
    return LastSheetCompaction(2)


@pytest.mark.parametrize(("width", "height"), [(600.0, 160.0), (160.0, 600.0)])
def test_the_sheet_gets_shorter_by_the_rules(engine: LastSheetCompaction, width: float, height: float) -> None:
    """Lying and upright, with grain along x in both; measured twice, and said not to be reproducible."""
    job = wedges(width, height)
    plain, done = nest(job), nest(job, engine=engine)
    assert verify(job, done) == []
    assert second_opinion(job, done, slack=1e-5) > 0
    assert done.is_complete
    assert done.sheets[-1].extent < plain.sheets[-1].extent - 0.01
    assert not done.is_reproducible
    assert plain.is_reproducible


def test_what_it_may_not_touch_stays(engine: LastSheetCompaction) -> None:
    """Pinned pieces, offcuts, pieces in windows: the layout is the other engine's, and reproducible."""
    pinned = NestJob(
        (Piece.from_rings("wedge", [WEDGE], pin=Pin("MDF", 300.0, 40.0)),), (Sheet.rectangle("MDF", 600, 160),), effort=0
    )
    studio = studio_job(effort=0)
    for job in (pinned, studio):
        done = nest(job, engine=engine)
        assert done.placements == nest(job).placements or verify(job, done) == []
    assert nest(pinned, engine=engine).is_reproducible


def test_a_failure_of_the_library_costs_nothing(engine: LastSheetCompaction, monkeypatch: pytest.MonkeyPatch) -> None:
    """It ends a process that is not ours, and so does nonsense that it gives."""
    job = wedges(600, 160)
    plain = nest(job)
    nonsense = "import json, sys; json.dump([[str(n), 0.0, [0.0, 0.0]] for n in range(7)], sys.stdout)"
    for program in ("import os; os.abort()", "raise SystemExit(3)", nonsense):
        monkeypatch.setattr(compaction, "_PROGRAM", program)
        done = nest(job, engine=engine)
        assert done.placements == plain.placements
        assert done.is_reproducible


@pytest.mark.parametrize("spacing", [0.0, 0.005])
def test_it_works_without_room_between_pieces(engine: LastSheetCompaction, spacing: float) -> None:
    """Pieces that may touch: the layout gets shorter, and keeps all rules."""
    job = replace(wedges(600, 160), spacing=spacing)
    plain, done = nest(job), nest(job, engine=engine)
    assert verify(job, done) == []
    assert done.sheets[-1].extent < plain.sheets[-1].extent - 0.01
    assert done.notes == ()


def test_what_was_not_made_more_compact_is_told(engine: LastSheetCompaction, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each with its reason: a pin, a window, offcuts only, a failure of the library, a layout that breaks the rules."""
    pinned = NestJob(
        (Piece.from_rings("wedge", [WEDGE], pin=Pin("MDF", 300.0, 40.0)),), (Sheet.rectangle("MDF", 600, 160),), effort=0
    )
    ring = [(0.0, 0.0), (150.0, 0.0), (150.0, 150.0), (0.0, 150.0)]
    window = [(10.0, 10.0), (140.0, 10.0), (140.0, 140.0), (10.0, 140.0)]
    frame = Piece.from_rings("frame", [ring, window])
    nested = NestJob((frame, Piece.from_rings("wedge", [WEDGE])), (Sheet.rectangle("MDF", 165, 165),), effort=0)
    offcut = NestJob((Piece.from_rings("wedge", [WEDGE]),), (Sheet.rectangle("MDF", 600, 160, offcut=True),), effort=0)
    reasons = [(pinned, "a part is pinned"), (nested, "a part lies in a window"), (offcut, "all parts lie on offcuts")]
    for job, why in reasons:
        (note,) = nest(job, engine=engine).notes
        assert note.startswith("the emptiest sheet was not made more compact: ")
        assert why in note
    nonsense = "import json, sys; json.dump([[str(n), 0.0, [0.0, 0.0]] for n in range(7)], sys.stdout)"
    for program, why in (("raise SystemExit('no room')", "spyrrow failed (no room)"), (nonsense, "breaks the rules")):
        monkeypatch.setattr(compaction, "_PROGRAM", program)
        (note,) = nest(wedges(600, 160), engine=engine).notes
        assert why in note
        monkeypatch.undo()


def test_an_interrupt_keeps_the_layout(engine: LastSheetCompaction, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while the library works ends the search with what was found before."""

    def interrupted(*_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(compaction, "_packed", interrupted)
    job = wedges(600, 160)
    done = nest(job, engine=engine)
    assert done.interrupted
    assert done.placements == nest(job).placements


def test_on_sheets_of_a_product(engine: LastSheetCompaction) -> None:
    """Asked for in the rules of sheets."""
    assert engine.seconds == 2
    plan = lay_sheets([Batch(card_tray(), 2)], studio_shop(), SheetRules(effort=5, compact_s=1))
    assert sum(len(sheet.parts) for sheet in plan.sheets) == 10
    skipped = lay_sheets(
        [Batch(card_tray())],
        studio_shop(),
        SheetRules(effort=0, compact_s=1, pieces={"base": PieceRules(Pin("600 × 400", 300.0, 200.0))}),
    )
    assert any("birch 4: the emptiest sheet was not made more compact: a part is pinned" in note for note in skipped.notes)


def test_without_the_library_there_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """Which says what to install."""
    monkeypatch.setattr(compaction, "find_spec", lambda name: None)
    with pytest.raises(NestError, match=r"install panelwright\[compact\], or do without"):
        nest(wedges(600, 160), engine=LastSheetCompaction(1))


@pytest.mark.parametrize("seconds", [0, -1, 1.5])
def test_seconds_are_whole(seconds: Any) -> None:
    """At least one."""
    with pytest.raises(SizeError, match="seconds of compaction is"):
        LastSheetCompaction(seconds)


def test_the_other_engine_is_the_built_in_one() -> None:
    """Unless another is given."""
    assert LastSheetCompaction().engine == RuinAndRecreate()
