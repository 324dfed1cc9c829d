"""Layouts that must come out: exact fits, windows, offcuts, grain, turns, pins; the same ones every time."""

from __future__ import annotations

import hashlib
import os
import random
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from nests import box_piece, box_ring, second_opinion, studio_job
from panelwright.assemblies.nest import AS_DRAWN, Nest, NestJob, Piece, Pin, Progress, Sheet, nest, search
from panelwright.assemblies.nest.filling import fill
from panelwright.assemblies.nest.ground import Ground
from panelwright.plates import disc, hole, rectangle
from panelwright.plates.errors import NestError

SUPPORT = Path(__file__).parents[1] / "support"
WINDOWED = Piece.from_rings("frame", [box_ring(0, 0, 190, 140), box_ring(20, 20, 170, 120)])


def laid(job: NestJob) -> Nest:
    """The nest of a job with straight outlines, measured a second way."""
    done = nest(job)
    assert second_opinion(job, done) >= len(done.placements) > 0
    return done


def jigsaw(cuts: int) -> list[Piece]:
    """A sheet of 240 × 160 mm cut into rectangles, again and again across the longest side of the largest."""
    boxes = [(0.0, 0.0, 240.0, 160.0)]
    shares = (0.4, 0.55, 0.35, 0.6, 0.45)
    for step in range(cuts):
        boxes.sort(key=lambda b: ((b[2] - b[0]) * (b[3] - b[1]), b))
        x0, y0, x1, y1 = boxes.pop()
        share = shares[step % len(shares)]
        if x1 - x0 >= y1 - y0:
            middle = round(x0 + share * (x1 - x0))
            boxes += [(x0, y0, middle, y1), (middle, y0, x1, y1)]
        else:
            middle = round(y0 + share * (y1 - y0))
            boxes += [(x0, y0, x1, middle), (x0, middle, x1, y1)]
    return [box_piece(f"part {n}", b[2] - b[0], b[3] - b[1], turn_step_deg=AS_DRAWN) for n, b in enumerate(boxes)]


@pytest.mark.parametrize("cuts", [0, 1, 3, 5, 7])
def test_a_jigsaw_of_rectangles_fills_its_sheet(cuts: int) -> None:
    """With no spacing and no margin all of the sheet is used, to the last micrometre."""
    done = laid(NestJob(tuple(jigsaw(cuts)), (Sheet.rectangle("MDF", 240, 160, 2),), spacing=0, margin=0, effort=300))
    assert len(done.sheets) == 1
    assert done.utilisation == pytest.approx(1.0, abs=1e-12)
    assert done.least_sheets == 1


@pytest.mark.parametrize(("spacing", "margin"), [(2, 5), (2, 0), (3, 1), (0.3, 0.1)])
def test_a_grid_fits_exactly(spacing: float, margin: float) -> None:
    """4 × 3 tiles on a sheet that is exactly large enough for them, their spacing and the margin, and no larger."""
    width, height = 4 * 48 + 3 * spacing + 2 * margin, 3 * 48 + 2 * spacing + 2 * margin
    tiles = (box_piece("tile", 48, 48, 12),)
    done = laid(NestJob(tiles, (Sheet.rectangle("MDF", width, height, 3),), spacing=spacing, margin=margin, effort=0))
    assert len(done.sheets) == 1
    smaller = (Sheet.rectangle("MDF", width - 0.002, height, 3),)
    assert len(laid(NestJob(tiles, smaller, spacing=spacing, margin=margin, effort=0)).sheets) == 2


def test_interlocking_pieces_fill_their_sheet() -> None:
    """Two Ls make a rectangle, and two wedges a square, without spacing."""
    ell = Piece.from_rings("L", [[(0, 0), (90, 0), (90, 30), (30, 30), (30, 60), (0, 60)]], 2)
    done = laid(NestJob((ell,), (Sheet.rectangle("MDF", 120, 60),), spacing=0, margin=0, effort=30))
    assert done.is_complete
    assert done.utilisation == pytest.approx(1.0, abs=1e-12)
    wedge = Piece.from_rings("wedge", [[(0, 0), (60, 0), (0, 60)]], 2)
    done = laid(NestJob((wedge,), (Sheet.rectangle("MDF", 60, 60),), spacing=0, margin=0, effort=0))
    assert done.utilisation == pytest.approx(1.0, abs=1e-12)


def test_small_pieces_go_into_windows() -> None:
    """The frame takes the sheet; six tiles lie in its window, and one more has no room."""
    job = NestJob((WINDOWED, box_piece("tile", 47, 47, 6)), (Sheet.rectangle("MDF", 200, 150),), effort=0)
    done = laid(job)
    assert done.is_complete
    more = laid(replace(job, pieces=(WINDOWED, box_piece("tile", 47, 47, 7))))
    assert [(lost.piece, len(lost.copies)) for lost in more.unplaced] == [("tile", 1)]
    assert "no room was found for 1 of 7" in more.unplaced[0].reason


def test_windows_in_windows_and_round_ones_are_used() -> None:
    """A ring in a frame's window holds a disc; the disc is as large as the ring's hole less the spacing all round."""
    ring = Piece("ring", rectangle(90, 90).cut(hole(70)).loops)
    lid = Piece("disc", disc(65).loops)
    done = nest(NestJob((WINDOWED, ring, lid), (Sheet.rectangle("MDF", 200, 150),), effort=0))
    assert done.is_complete
    assert len(done.sheets) == 1


def test_windows_of_pinned_pieces_are_used() -> None:
    """A frame that has its place offers its window like any other."""
    frame = Piece.from_rings("frame", [box_ring(0, 0, 190, 140), box_ring(20, 20, 170, 120)], pin=Pin("MDF", 5, 5))
    done = laid(NestJob((frame, box_piece("tile", 47, 47, 6)), (Sheet.rectangle("MDF", 200, 150),), effort=0))
    assert done.is_complete
    (at,) = (p for p in done.placements if p.piece == "frame")
    assert (at.x, at.y, at.turn_deg) == (5, 5, 0)


def test_pins_hold_and_others_make_way() -> None:
    """Pinned pieces stay, on the copies that were named, and those of other sheets too."""
    pins = (
        box_piece("left", 100, 100, pin=Pin("MDF", 60.5, 40.25, copy=2)),
        box_piece("right", 80, 30, turn_step_deg=15, pin=Pin("MDF", 250, 60, turn_deg=30, copy=2)),
    )
    done = laid(NestJob((*pins, box_piece("tile", 48, 48, 30)), (Sheet.rectangle("MDF", 400, 200, 3),), effort=20))
    assert done.is_complete
    assert {(p.piece, p.x, p.y, p.turn_deg, p.sheet_copy) for p in done.placements if p.piece != "tile"} == {
        ("left", 60.5, 40.25, 0, 2),
        ("right", 250, 60, 30, 2),
    }
    assert {p.sheet_copy for p in done.placements if p.piece == "tile"} == {1, 2}


def test_grain_is_honoured() -> None:
    """Slats along the grain stay along it though four would fit on one sheet across; without grain they turn."""
    sheet = (Sheet.rectangle("MDF", 110, 205, 5),)
    along = laid(NestJob((box_piece("slat", 95, 48, 4, turn_step_deg=180),), sheet, effort=20))
    assert {p.turn_deg % 180 for p in along.placements} == {0}
    assert len(along.sheets) == 2
    free = laid(NestJob((box_piece("slat", 95, 48, 4),), sheet, effort=20))
    assert {p.turn_deg % 180 for p in free.placements} == {90}
    assert len(free.sheets) == 1


def test_any_angle_lets_a_long_piece_lie_diagonally() -> None:
    """A slat of 310 mm fits on 300 × 200 only across the corners: not by quarter turns, but in steps of 1° or 15°."""
    sheet = (Sheet.rectangle("MDF", 300, 200),)
    with pytest.raises(NestError, match="slat"):
        nest(NestJob((box_piece("slat", 310, 12),), sheet))
    for step in (15, 1):
        done = laid(NestJob((box_piece("slat", 310, 12, turn_step_deg=step),), sheet, effort=5))
        assert done.is_complete
        assert done.placements[0].turn_deg % 90 != 0


def test_turning_over_helps_where_it_is_allowed() -> None:
    """A wedge without symmetry and its mirror image make a rectangle; two of a kind that may not be turned don't."""
    corners = [(0.0, 0.0), (80.0, 0.0), (50.0, 40.0), (0.0, 40.0)]
    sheet = (Sheet.rectangle("MDF", 80, 80),)
    stiff = Piece.from_rings("side", [corners], 2, turn_step_deg=AS_DRAWN)
    assert laid(NestJob((stiff,), sheet, spacing=0, margin=0, effort=0)).is_complete
    narrow = (Sheet.rectangle("MDF", 130, 40),)
    assert not laid(NestJob((stiff,), narrow, spacing=0, margin=0, effort=20)).is_complete
    turned = replace(stiff, turn_step_deg=180.0)
    assert laid(NestJob((turned,), narrow, spacing=0, margin=0, effort=20)).is_complete
    over = [(0.0, 0.0), (30.0, 0.0), (60.0, 40.0), (0.0, 40.0)]
    pair = Piece.from_rings("left", [over], turn_step_deg=AS_DRAWN, may_flip=True)
    other = Piece.from_rings("right", [corners], turn_step_deg=AS_DRAWN)
    flat = (Sheet.rectangle("MDF", 110, 40),)
    assert laid(NestJob((pair, other), flat, spacing=0, margin=0, effort=20)).is_complete
    fixed = replace(pair, may_flip=False)
    assert not laid(NestJob((fixed, other), flat, spacing=0, margin=0, effort=20)).is_complete


def test_offcuts_are_used_first() -> None:
    """What fits on an L-shaped offcut goes there, into both of its arms; the rest on full sheets."""
    corner = Sheet.from_rings("corner", [[(0, 0), (320, 0), (320, 60), (60, 60), (60, 220), (0, 220)]])
    full = Sheet.rectangle("MDF", 400, 300, 4)
    slats = box_piece("slat", 200, 44, 2)
    done = laid(NestJob((slats,), (full, corner), effort=20))
    assert {use.sheet for use in done.sheets} == {"corner"}
    more = laid(NestJob((slats, box_piece("base", 350, 250)), (full, corner), effort=20))
    assert [(use.sheet, use.pieces) for use in more.sheets] == [("corner", 2), ("MDF", 1)]


def test_holes_in_offcuts_are_left_alone() -> None:
    """Pieces lie round a hole that is cut out already, at the margin."""
    sheet = Sheet.from_rings("holed", [box_ring(0, 0, 300, 200), box_ring(100, 60, 200, 140)])
    done = laid(NestJob((box_piece("tile", 48, 48, 14),), (sheet,), effort=20))
    assert len(done.placements) == 14 - sum(len(lost.copies) for lost in done.unplaced) >= 12


def test_a_narrow_margin_on_a_concave_offcut_is_kept() -> None:
    """With a margin of nothing and wide spacing a wedge must not cut the inner corner of an L."""
    corner = Sheet.from_rings("corner", [[(0, 0), (100, 0), (100, 50), (50, 50), (50, 100), (0, 100)]])
    wedge = Piece.from_rings("wedge", [[(0, 0), (70, 0), (0, 70)]])
    job = NestJob((wedge, box_piece("chip", 8, 8, 3)), (corner,), spacing=12, margin=0, effort=20)
    assert laid(job).placements


def test_fewest_sheets_then_the_smaller_kind() -> None:
    """The piece that needs the large sheet gets it; what a small one holds doesn't begin a second large one."""
    large, small = Sheet.rectangle("large", 600, 300, 3), Sheet.rectangle("small", 200, 150, 3)
    pieces = (box_piece("base", 590, 290), box_piece("lid", 180, 130))
    done = laid(NestJob(pieces, (small, large), effort=20))
    assert sorted(use.sheet for use in done.sheets) == ["large", "small"]


def test_curved_pieces_keep_their_spacing() -> None:
    """Discs on a sheet that holds two rows of five with half a millimetre each to spare, and the verifier has measured them."""
    lid = Piece("lid", disc(50).loops, 10)
    sheet = Sheet.rectangle("MDF", 5 * 52.6 + 8, 2 * 52.6 + 8, 2)
    done = nest(NestJob((lid,), (sheet,), effort=20))
    assert len(done.sheets) == 1
    assert done.is_complete


def test_what_is_left_over_is_kept_track_of() -> None:
    """The empty end of the sheet is one rectangle, which keeps the spacing; a sheet too full has none."""
    done = laid(NestJob((box_piece("base", 200, 290),), (Sheet.rectangle("MDF", 600, 300),), effort=0))
    (use,) = done.sheets
    ((x, y, width, height),) = ((rest.x, rest.y, rest.width, rest.height) for rest in use.leftovers)
    assert (x, y, width, height) == (207, 0, 393, 300)
    assert use.extent == pytest.approx(205 / 600)
    full = laid(NestJob((box_piece("base", 590, 290),), (Sheet.rectangle("MDF", 600, 300),), effort=0))
    assert full.sheets[0].leftovers == ()


MICRON_SPACINGS = [*range(13), 25, 50, 101, 999, 1000, 1999, 2000]


@pytest.mark.parametrize("upright", [False, True])
@pytest.mark.parametrize("effort", [0, 30])
def test_no_spacing_is_special(effort: int, *, upright: bool) -> None:
    """Sloping pieces are all laid out at every spacing, half micrometres and corners that rounding makes one among them.

    Each time by the first construction, and no further along the sheet than the spacing alone explains.
    """
    wedge = Piece.from_rings("wedge", [[(0.0, 0.0), (90.0, 0.0), (90.0, 15.0), (0.0, 70.0)]], 7, turn_step_deg=180)
    sheet = Sheet.rectangle("MDF", 160, 600, 2) if upright else Sheet.rectangle("MDF", 600, 160, 2)
    spacings = MICRON_SPACINGS if effort == 0 else (0, 5, 10, 11)
    extents = []
    for spacing in spacings:
        job = NestJob((wedge,), (sheet,), effort=effort, seed=3, spacing=spacing / 1000)
        done = laid(job)
        assert done.is_complete, spacing
        assert len(done.sheets) == 1
        extents.append(done.sheets[0].extent)
    # what the spacings add, seven side by side at most, and a few steps of the grid; wide ones ask for another layout
    allowed = [extents[0] + (7 * 1.5 * spacing + 60) / 1000 / 600 for spacing in spacings]
    found = [extent for extent, spacing in zip(extents, spacings, strict=True) if spacing <= 50]
    assert effort or all(extent <= most for extent, most in zip(found, allowed, strict=False))


@pytest.mark.parametrize("step", [90, 45, 30])
def test_first_constructions_keep_the_rules_at_any_turn(step: float) -> None:
    """With sloping pieces, half micrometres and turned margins: the search has nothing to throw away for a rounding."""
    rng = random.Random(5)
    checked = 0
    for spacing in (0.001, 0.005, 0.01, 2.001):
        pieces = tuple(Piece.from_rings(f"p{n}", [_hull_of(rng)], 3, turn_step_deg=step) for n in range(3))
        ground = Ground(NestJob(pieces, (Sheet.rectangle("MDF", 300, 200, 3),), spacing=spacing))
        ways = {item.piece: item.variants for item in ground.items}
        filled, _ = fill(ground.table, ground.items, {}, ground.sheets, "long", ways)
        for sheet, on in filled.items():
            checked += len(on)
            assert ground.is_clear(sheet, on), spacing
    assert checked == 36


def _hull_of(rng: random.Random) -> list[tuple[float, float]]:
    """A convex outline with sloping sides."""
    spots = [(round(rng.uniform(0, 80), 3), round(rng.uniform(0, 50), 3)) for _ in range(6)]
    hull = shapely.orient_polygons(shapely.MultiPoint(spots).convex_hull)
    return [(x, y) for x, y in hull.exterior.coords[:-1]]


def test_reports_tell_of_each_improvement() -> None:
    """The first report comes with the first layout, each further one with a better one."""
    seen: list[Progress] = []
    done = nest(studio_job(effort=30), report=seen.append)
    assert seen
    assert [step.iterations for step in seen] == sorted(step.iterations for step in seen)
    assert seen[-1].sheets == len(done.sheets)
    assert all(step.effort == 30 for step in seen)


def digest(seed: int) -> str:
    """A digest of a nest's repr, which has every digit."""
    return hashlib.sha256(repr(nest(studio_job(effort=15, seed=seed))).encode()).hexdigest()


def test_the_same_job_gives_the_same_nest_in_every_process() -> None:
    """To the byte, whatever the seed of the interpreter's hashes."""
    code = (
        "import hashlib; from nests import studio_job; from panelwright.assemblies.nest import nest; "
        "print(hashlib.sha256(repr(nest(studio_job(effort=15, seed=7))).encode()).hexdigest())"
    )
    paths = os.pathsep.join([str(SUPPORT), *(path for path in sys.path if path)])
    seen = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONPATH": paths, "PYTHONHASHSEED": hash_seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
        for hash_seed in ("1", "2")
    }
    assert seen == {digest(7)}


def test_other_seeds_give_other_nests() -> None:
    """Of six seeds, not all give the same."""
    assert len({digest(seed) for seed in range(1, 7)}) > 1


def test_a_time_limit_is_owned_up_to() -> None:
    """With a limit the search may end early and the nest says that it is not reproducible."""
    done = nest(studio_job(effort=100_000, time_limit_s=0.2))
    assert done.iterations < 100_000
    assert not done.is_reproducible
    assert not done.interrupted
    assert nest(studio_job(effort=1)).is_reproducible


def test_ctrl_c_gives_the_best_so_far() -> None:
    """Interrupted after the first layouts, the nest is whole, verified and says so; before them, the interrupt goes on."""
    calls = 0

    def stop(progress: Progress) -> None:
        nonlocal calls
        calls += 1
        raise KeyboardInterrupt

    done = nest(studio_job(effort=1000), report=stop)
    assert calls == 1
    assert done.interrupted
    assert not done.is_reproducible
    assert done.is_complete
    assert done.iterations < 1000


def test_ctrl_c_before_the_first_layout_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """There is nothing to give back yet."""

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(search, "fill", interrupted)
    with pytest.raises(KeyboardInterrupt):
        nest(studio_job())
