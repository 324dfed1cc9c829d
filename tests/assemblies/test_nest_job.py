"""What is to be nested: wrong values are refused in words that say what to change."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from nests import box_piece, box_ring
from panelwright.assemblies.nest import AS_DRAWN, NestJob, Piece, Pin, Sheet, nest
from panelwright.plates import disc, rectangle
from panelwright.plates.errors import NestError, OutlineError, PanelwrightError, SizeError

TILE = box_piece("tile", 48, 48)
SHEET = Sheet.rectangle("MDF", 600, 300, 2)


def job(**options: object) -> NestJob:
    return NestJob((TILE,), (SHEET,), **options)  # type: ignore[arg-type]  # options of any type


@pytest.mark.parametrize(
    ("make", "error", "words"),
    [
        (lambda: job(spacing=-1), SizeError, "spacing of the nest is -1 mm; it must be 0 or more"),
        (lambda: job(margin=-0.5), SizeError, "margin of the nest is -0.5 mm; it must be 0 or more"),
        (lambda: job(margin=float("nan")), SizeError, "margin of the nest is nan; give a finite number"),
        (lambda: job(effort=-1), SizeError, "effort of the nest is -1; it must be 0 or more"),
        (lambda: job(seed=1.5), SizeError, "seed of the nest is 1.5; give a whole number"),
        (lambda: job(time_limit_s=0), SizeError, "time limit of the nest is 0 s; it must be above 0"),
        (lambda: job(least_offcut=(0, 10)), SizeError, "least width of an offcut worth keeping is 0 mm"),
        (lambda: NestJob((), (SHEET,)), NestError, "there are no pieces to nest"),
        (lambda: NestJob((TILE,), ()), NestError, "there are no sheets to nest on"),
        (lambda: NestJob((TILE, TILE), (SHEET,)), NestError, "2 pieces are called 'tile'"),
        (lambda: NestJob((TILE,), (SHEET, SHEET)), NestError, "2 sheets are called 'MDF'"),
        (lambda: box_piece("tile", 48, 48, 0), SizeError, "quantity of piece 'tile' is 0"),
        (lambda: box_piece(" ", 48, 48), NestError, "a piece is called ' '; give it a name"),
        (lambda: box_piece("tile", 48, 48, turn_step_deg=70), SizeError, "turn step of piece 'tile' is 70°"),
        (lambda: box_piece("tile", 48, 48, turn_step_deg=0.1), SizeError, "turn step of piece 'tile' is 0.1°"),
        (lambda: Piece("tile", ()), OutlineError, "piece 'tile' has no outline"),
        (lambda: Piece.from_rings("bow", [[(0, 0), (9, 9), (9, 0), (0, 8)]]), OutlineError, "piece 'bow': "),
        (lambda: Sheet.rectangle("MDF", 600, 0), SizeError, "height of sheet 'MDF' is 0 mm"),
        (lambda: Sheet.rectangle("MDF", 600, 300, 0), SizeError, "count of sheet 'MDF' is 0"),
        (lambda: box_piece("tile", 9, 9, 2, pin=Pin("MDF", 9, 9)), SizeError, "pinned to one place but wanted 2 times"),
        (lambda: box_piece("tile", 9, 9, pin=Pin("MDF", 9, 9, turn_deg=45)), SizeError, "is pinned at 45°"),
        (lambda: box_piece("tile", 9, 9, pin=Pin("MDF", 9, 9, flipped=True)), SizeError, "is pinned turned over"),
        (
            lambda: NestJob((box_piece("tile", 9, 9, pin=Pin("oak", 9, 9)),), (SHEET,)),
            NestError,
            "pinned to sheet 'oak', which is not there; there are 'MDF'",
        ),
        (
            lambda: NestJob((box_piece("tile", 9, 9, pin=Pin("MDF", 9, 9, copy=3)),), (SHEET,)),
            NestError,
            "pinned to copy 3 of sheet 'MDF', of which there are 2",
        ),
    ],
)
def test_wrong_values_are_refused(make: Callable[[], object], error: type[PanelwrightError], words: str) -> None:
    """Each message names the thing, the value and what to change."""
    with pytest.raises(error) as caught:
        make()
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("piece", "options"),
    [
        (box_piece("tray base", 700, 50), {}),
        (box_piece("tray base", 595, 50), {}),
        (box_piece("tray base", 50, 400, turn_step_deg=180), {}),
        (box_piece("tray base", 591, 291), {}),
        (Piece("tray base", disc(301).loops), {"margin": 0}),
    ],
)
def test_a_piece_too_large_for_every_sheet_is_named(piece: Piece, options: dict[str, float]) -> None:
    """So is the largest sheet, with its size, before any time is spent."""
    small = Sheet.rectangle("scrap", 100, 100)
    with pytest.raises(NestError, match=r"piece 'tray base' .* fits on no sheet.*largest is 'MDF', 600 × 300 mm") as caught:
        nest(NestJob((TILE, piece), (small, SHEET), **options))  # type: ignore[arg-type]  # options of any type
    assert caught.value.plates == ("tray base",)


def test_pins_that_break_a_rule_are_named() -> None:
    """Two pinned pieces too near each other, and one too near the border."""
    close = (box_piece("left", 50, 50, pin=Pin("MDF", 10, 10)), box_piece("right", 50, 50, pin=Pin("MDF", 61, 10)))
    with pytest.raises(NestError, match=r"pinned piece left 1 and right 1 on sheet MDF 1 are 1 mm apart.*move the pin"):
        nest(NestJob((*close, TILE), (SHEET,)))
    with pytest.raises(NestError, match=r"pinned piece left 1 on sheet MDF 1 is 4 mm from the border"):
        nest(NestJob((box_piece("left", 50, 50, pin=Pin("MDF", 4, 10)),), (SHEET,)))


def test_what_counts_as_an_offcut() -> None:
    """Anything that is no plain rectangle, and rectangles that are called so."""
    assert not SHEET.is_offcut
    assert Sheet.rectangle("scrap", 100, 100, offcut=True).is_offcut
    assert Sheet.from_rings("corner", [[(0, 0), (300, 0), (300, 90), (110, 90), (110, 250), (0, 250)]]).is_offcut
    assert Sheet.from_rings("holed", [box_ring(0, 0, 300, 200), box_ring(50, 50, 100, 100)]).is_offcut
    assert Sheet("disc", disc(200).loops).is_offcut
    assert Sheet.from_rings("far", [box_ring(50, 20, 300, 200)]).is_offcut is False


def test_loops_are_turned_the_right_way_round() -> None:
    """However they are given, material lies to the left."""
    hole = rectangle(20, 10).loops[0]
    piece = Piece("plate", (rectangle(60, 40).loops[0].clockwise(), hole.counter_clockwise()), turn_step_deg=AS_DRAWN)
    assert [round(loop.area, 6) for loop in piece.loops] == [2400, -200]
    assert piece.area_mm2 == pytest.approx(2200)
    assert piece.turns_deg == (0.0,)
