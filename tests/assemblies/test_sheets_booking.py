"""Booking: once, whole, together with the sheets or not at all, and only what was searched to its end unless told."""

from __future__ import annotations

import itertools
import json
import signal
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from panelwright.assemblies import Batch, SheetRules, Shop, lay_sheets
from panelwright.assemblies.booking.booking import Booking, book, bookings
from panelwright.assemblies.booking.identity import Job, job_of
from panelwright.assemblies.booking.journal import settle
from panelwright.assemblies.commands import lay_sheets as run
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.nest import Layout, NestJob, RuinAndRecreate, search
from panelwright.assemblies.output.folder import check_out
from panelwright.assemblies.sheets.request import batches_of
from panelwright.plates.errors import ShopError
from studio import SHOP, card_tray, glaze_stand, studio_shop
from writers import Writer

DESIGN = '''
from panelwright.assemblies import Assembly, stock, tray


def design(width: float = 180.0) -> Assembly:
    """A tray for glaze cards."""
    return tray("card tray", stock=stock("birch 4"), width=width, depth=120, height=50)
'''

NEST = ["nest", "card_tray.py", "--out", "batch", "--effort", "5", "--no-marks"]


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "card_tray.py").write_text(DESIGN, encoding="utf-8")
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def interrupt_after(monkeypatch: pytest.MonkeyPatch, attempts: int) -> None:
    """Ctrl-C comes once, in the search, after so many attempts over all stocks."""
    tried: list[int] = []
    attempt = search._Run._attempt

    def interrupted(self: Any, *arguments: Any) -> Any:
        tried.append(1)
        if len(tried) == attempts + 1:
            raise KeyboardInterrupt
        return attempt(self, *arguments)

    monkeypatch.setattr(search._Run, "_attempt", interrupted)


class TestOneSearch:
    def test_one_interrupt_ends_the_search_for_all_stocks(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """The stocks after it get their first construction and no attempt more, and say that they were stopped."""
        batches = batches_of([(card_tray(), 1), (glaze_stand(), 2)])
        interrupt_after(monkeypatch, 3)
        plan = lay_sheets(batches, studio_shop(), SheetRules(is_marked=False, effort=50))
        assert [(use.iterations, use.interrupted, use.is_reproducible) for use in plan.uses] == [
            (3, True, False),
            (0, True, False),
        ]

    def test_a_time_limit_is_for_all_stocks(self) -> None:
        """Each of those left gets its share of what is left, so that all of them together keep the limit."""
        asked: list[float | None] = []

        class Slow:
            def lay_out(self, job: NestJob, report: Any) -> Layout:
                asked.append(job.time_limit_s)
                time.sleep(0.3 if len(asked) == 1 else 0.0)
                return RuinAndRecreate().lay_out(replace(job, effort=0), report)

        batches = batches_of([(card_tray(), 1), (glaze_stand(), 2)])
        lay_sheets(batches, studio_shop(), SheetRules(is_marked=False, time_limit_s=10.0), engine=Slow())
        first, second = asked
        assert first is not None
        assert second is not None
        assert 4.0 < first <= 5.0
        assert 5.0 < second < 9.75

    def test_the_limit_ends_a_long_search(self) -> None:
        """Two stocks, an effort that would take minutes, and one second for both; twice that with all the rest."""
        batches = batches_of([(card_tray(), 3), (glaze_stand(), 6)])
        quick = SheetRules(is_marked=False, effort=0)
        start = time.process_time()
        lay_sheets(batches, studio_shop(), quick)
        least = time.process_time() - start
        start = time.monotonic()
        plan = lay_sheets(batches, studio_shop(), replace(quick, effort=1_000_000, time_limit_s=1.0))
        assert all(use.iterations < 1_000_000 and not use.is_reproducible for use in plan.uses)
        assert time.monotonic() - start < 20.0 + 10 * least  # other work on the machine slows the rest down


class TestInterrupted:
    def test_nothing_is_booked(self, bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        """The sheets are written with the best layout so far; the shop file is as it was, which is said."""
        interrupt_after(monkeypatch, 2)
        assert main([*NEST, "--update-shop"]) == 0
        said = capsys.readouterr().out
        assert "not brought up to date, since the search was stopped; --book-stopped does it then too" in said
        assert (bench / "batch" / "sheets" / "sheet-1.dxf").exists()
        assert (bench / "shop.toml").read_text(encoding="utf-8") == SHOP

    def test_it_is_booked_when_told_to(
        self, bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """By an option of its own."""
        interrupt_after(monkeypatch, 2)
        assert main([*NEST, "--update-shop", "--book-stopped"]) == 0
        assert "taken off" in capsys.readouterr().out
        assert (bench / "shop.toml").read_text(encoding="utf-8") != SHOP

    @pytest.mark.parametrize("option", ["--again", "--book-stopped"])
    def test_options_of_booking_want_booking(self, bench: Path, capsys: pytest.CaptureFixture[str], option: str) -> None:
        """Given alone they would do nothing."""
        assert main([*NEST, option]) == 2
        assert f"{option} says how to book; give --update-shop too" in capsys.readouterr().err
        assert not (bench / "batch").exists()


class TestTheSameJobTwice:
    def test_it_is_noticed_before_anything_is_laid_out(
        self, bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Whatever the layout would be; `--again` books it once more, and the file counts it."""
        assert main([*NEST, "--update-shop"]) == 0
        after = (bench / "shop.toml").read_bytes()
        capsys.readouterr()
        with monkeypatch.context() as patch:
            patch.setattr("panelwright.assemblies.sheets.laying.lay_sheets", None)
            assert main([*NEST, "--update-shop", "--seed", "5", "--out", "elsewhere"]) == 2
        said = capsys.readouterr().err
        assert "these very parts were cut and booked already" in said
        assert "give --again" in said
        assert (bench / "shop.toml").read_bytes() == after
        assert not (bench / "elsewhere").exists()
        assert main([*NEST, "--update-shop", "--again"]) == 0
        (job,) = Shop.read(bench / "shop.toml").booked.values()
        assert (job.what, job.times) == ("card tray", 2)

    def test_the_same_parts_by_another_command_are_the_same_job(self, bench: Path) -> None:
        """`build` and `nest` of one product, one after the other; without booking nothing is asked."""
        assert main([*NEST, "--update-shop"]) == 0
        assert main(["build", "card_tray.py", "--out", "out", "--effort", "0", "--update-shop"]) == 2
        assert main(["build", "card_tray.py", "--out", "out", "--effort", "0"]) == 0

    def test_what_makes_another_job(self) -> None:
        """Copies, sizes, stocks and products do; the order of products doesn't."""
        tray, wider, stand = Batch(card_tray()), Batch(card_tray(240.0)), Batch(glaze_stand())
        thicker = replace(tray.product.panels[0].stock, measured=4.1)
        panels = tuple(replace(panel, stock=thicker) for panel in tray.product.panels)
        jobs: list[list[Batch]] = [
            [tray],
            [Batch(card_tray(), 2)],
            [wider],
            [stand],
            [tray, stand],
            [Batch(replace(tray.product, panels=panels))],
        ]
        assert len({job_of(job).id for job in jobs}) == len(jobs)
        assert job_of([tray, stand]).id == job_of([stand, tray]).id
        assert job_of([tray]) == job_of([Batch(replace(card_tray(), findings=()))])

    def test_only_the_latest_jobs_are_remembered(self, tmp_path: Path) -> None:
        """Two hundred, so that the file stays short."""
        file = tmp_path / "shop.toml"
        rows = "".join(f'{k:016x} = {{ what = "tray", times = 1 }}\n' for k in range(200))
        file.write_text(f"{SHOP}\n[booked]\n{rows}", encoding="utf-8")
        plan = lay_sheets([Batch(card_tray())], studio_shop(), SheetRules(is_marked=False, effort=0))
        shop = book(plan, file, job=Job("f" * 16, "card tray"))
        assert list(shop.booked) == [*(f"{k:016x}" for k in range(1, 200)), "f" * 16]
        assert "# bought in May" in file.read_text(encoding="utf-8")


class TestTogether:
    def test_a_booking_that_fails_leaves_the_old_folder(
        self, bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The counts went down meanwhile: nothing is booked, and nothing is written either."""
        assert main([*NEST, "--copies", "2"]) == 0
        before = (bench / "batch" / "manifest.json").read_bytes()
        emptied = SHOP.replace("count = 5", "count = 0").replace('[[stocks."birch 4".offcuts]]', '[[stocks."x".offcuts]]')
        emptied = emptied.replace('[[stocks."x".offcuts]]', '[stocks.x]\nbased_on = "birch 4"\n[[stocks.x.offcuts]]')
        laid_for = run.laid_for

        def emptied_meanwhile(*arguments: Any, **options: Any) -> Any:
            laid = laid_for(*arguments, **options)
            (bench / "shop.toml").write_text(emptied, encoding="utf-8")
            return laid

        monkeypatch.setattr(run, "laid_for", emptied_meanwhile)
        assert main([*NEST, "--copies", "3", "--update-shop"]) == 2
        assert "so nothing was changed" in capsys.readouterr().err
        assert (bench / "shop.toml").read_text(encoding="utf-8") == emptied
        assert (bench / "batch" / "manifest.json").read_bytes() == before
        assert {path.name for path in bench.iterdir()} >= {"batch", "shop.toml"}
        assert not [path.name for path in bench.iterdir() if path.name.startswith(".")]

    def test_a_shop_file_saved_in_the_last_moment_undoes_the_folder(
        self, bench: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """An editor's save after the edit was made ready: the folder has been exchanged by then, and goes back."""
        assert main([*NEST, "--copies", "2"]) == 0
        before = (bench / "batch" / "manifest.json").read_bytes()
        from panelwright.assemblies.writing import replace_folder as _replace

        put_in_place = _replace._put_in_place
        exchanged: list[bool] = []

        def saved_then(fresh: Path, target: Path) -> Any:
            found = put_in_place(fresh, target)
            exchanged.append((target / "manifest.json").read_bytes() != before)
            (bench / "shop.toml").write_text(SHOP + "# counted\n", encoding="utf-8")
            return found

        monkeypatch.setattr(_replace, "_put_in_place", saved_then)
        assert main([*NEST, "--copies", "3", "--update-shop"]) == 2
        assert "was changed by another program meanwhile" in capsys.readouterr().err
        assert exchanged == [True]
        assert (bench / "shop.toml").read_text(encoding="utf-8") == SHOP + "# counted\n"
        assert (bench / "batch" / "manifest.json").read_bytes() == before
        assert not [path.name for path in bench.iterdir() if path.name.startswith(".")]

    def test_output_and_shop_file_in_one_folder_or_in_two(self, bench: Path, tmp_path: Path) -> None:
        """Each is locked once, wherever it lies: nothing waits for itself."""
        assert main([*NEST, "--update-shop"]) == 0
        other = [*NEST, "--copies", "2", "--update-shop"]
        other[other.index("batch")] = str(tmp_path / "deep" / "er")
        assert main(other) == 0
        assert len(Shop.read(bench / "shop.toml").booked) == 2


BOOKER = """
from panelwright.assemblies.booking.booking import Booking
from panelwright.assemblies.booking.identity import Job
from panelwright.assemblies.booking.journal import BookedAlong

def write(number):
    booking = Booking({("birch 4", ("sheets", 0), (600.0, 400.0)): 1}, (("birch 4", 100.0 + number, 120.0),), Job("aa", "tray"))
    output.write_folder(
        "out",
        lambda: [("sheets/sheet-1.dxf", str(number).encode())],
        lambda digests: {"files": dict(digests), "plates": [], "versions": {"panelwright": "0"}, "number": number},
        along=BookedAlong(booking, Path("shop.toml"), again=True),
    )
"""


@pytest.fixture(params=["exchange", "renames"])
def booker(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Writer]:
    """Writes `out` and books a sheet and an offcut for it, again and again."""
    many = SHOP.replace("count = 5", "count = 5000")
    (tmp_path / "shop.toml").write_text(many[: many.index('[[stocks."birch 4".offcuts]]')], encoding="utf-8")
    writer = Writer(tmp_path, request.param, BOOKER)
    try:
        writer.begin(0, 1)
        assert writer.end() == 0
        yield writer
    finally:
        writer.close()


def test_a_kill_at_any_step_books_what_is_written(booker: Writer, tmp_path: Path) -> None:
    """After the next run has looked: one booking for each folder that was written, none for one that wasn't."""
    written, words = [1], set()
    for at in itertools.count(1):
        number = written[-1] + 1
        booker.begin(at, number)
        code = booker.end()
        if code == 0:
            break
        assert code == -signal.SIGKILL
        said = settle(tmp_path / "shop.toml")
        check_out(tmp_path / "out")
        words |= {word for word in ("now it is", "nothing is booked") if any(word in one for one in said)}
        found = json.loads((tmp_path / "out" / "manifest.json").read_text())["number"]
        assert found in (written[-1], number)
        if found == number:
            written.append(number)
        shop = Shop.read(tmp_path / "shop.toml")
        shelf = shop.shelf("birch 4")
        assert shelf.sheets[0].count == 5000 - len(written)
        assert sorted(offcut.outline.size[0] for offcut in shelf.offcuts) == [100.0 + one for one in written]
        assert shop.booked["aa"].times == len(written)
        assert not [path.name for path in tmp_path.iterdir() if path.name.startswith(".")]
    assert at > 15
    assert len(written) > 2
    assert words == {"now it is", "nothing is booked"}  # both ends were met


def test_a_booking_that_cannot_be_made_up_for_is_told(booker: Writer, tmp_path: Path) -> None:
    """The sheets are gone from the file by then: nothing stops the next run, and what to do is said."""
    shop = tmp_path / "shop.toml"
    for at in itertools.count(1):  # until a kill falls between the folder and the shop file
        booker.begin(at, at + 1)
        assert booker.end() == -signal.SIGKILL
        journal = tmp_path / ".shop.toml.booking"
        number = json.loads((tmp_path / "out" / "manifest.json").read_text())["number"] if (tmp_path / "out").exists() else 0
        if journal.exists() and number == at + 1:
            break
        settle(shop)
        check_out(tmp_path / "out")
    text = shop.read_text(encoding="utf-8")
    shop.write_text(text.replace("width_mm = 600", "width_mm = 900"), encoding="utf-8")
    (said,) = settle(shop)
    assert "cannot be made up for" in said
    assert "take off yourself what the folder's bom.csv lists" in said
    assert settle(shop) == ()


class TestEqualOffcuts:
    def test_one_of_two_equal_offcuts_is_booked(self, tmp_path: Path) -> None:
        """An entry that counts two is left with one; of two entries of one shape only the one that was used goes."""
        file = tmp_path / "shop.toml"
        text = SHOP[: SHOP.index('[[stocks."birch 4".offcuts]]')]
        square = "outline_mm = [[0, 0], [300, 0], [300, 250], [0, 250]]\n"
        for entries, left in (
            (f'[[stocks."birch 4".offcuts]]\n{square}count = 2\n', [(300.0, 250.0, 1)]),
            (f'[[stocks."birch 4".offcuts]]\n{square}' * 2, [(300.0, 250.0, 1)]),
            (f'[[stocks."birch 4".offcuts]]\n{square}count = 3\n', [(300.0, 250.0, 2)]),
        ):
            file.write_text(text + entries, encoding="utf-8")
            small = _smallest(card_tray())
            rules = SheetRules(is_marked=False, effort=0, least_offcut=(290.0, 290.0))
            plan = lay_sheets([Batch(small)], Shop.read(file), rules)
            (sheet,) = plan.sheets
            assert sheet.kind.sheet.is_offcut
            used, kept = bookings(plan)
            assert (list(used.values()), kept) == ([1], [])
            twice = replace(plan, sheets=(sheet, sheet))
            assert list(bookings(twice)[0].values()) == [2]  # each sheet of a kind counts
            shelf = book(plan, file).shelf("birch 4")
            assert [(*offcut.outline.size, offcut.count) for offcut in shelf.offcuts] == left
            assert shelf.sheets[0].count == 5

    def test_two_of_one_entry_and_one_of_the_next(self, tmp_path: Path) -> None:
        """Each entry goes down by what was taken of it, and none by what was taken of another of the same size."""
        file = tmp_path / "shop.toml"
        text = SHOP[: SHOP.index('[[stocks."birch 4".offcuts]]')]
        square = "outline_mm = [[0, 0], [300, 0], [300, 250], [0, 250]]\n"
        file.write_text(text + f'[[stocks."birch 4".offcuts]]\n{square}count = 2\n' * 2, encoding="utf-8")
        used = {("birch 4", ("offcuts", 0), (300.0, 250.0)): 2, ("birch 4", ("offcuts", 1), (300.0, 250.0)): 1}
        from panelwright.assemblies.shop.edit import edit_shop

        shelf = edit_shop(file, Booking(used, ()).change(file.name)).shelf("birch 4")  # type: ignore[arg-type]  # keys as a plan has them
        assert [offcut.count for offcut in shelf.offcuts] == [1]
        with pytest.raises(ShopError, match="nothing was changed"):
            edit_shop(file, Booking(used, ()).change(file.name))  # type: ignore[arg-type]  # keys as a plan has them


def _smallest(product: Product) -> Product:
    """The product with its smallest panel alone, once."""
    panel = min(product.panels, key=lambda panel: panel.area_mm2)
    return replace(product, panels=(replace(panel, plates=panel.plates[:1], turned_over=()),))
