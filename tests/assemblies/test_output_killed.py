"""Runs that are killed outright: at every step of writing, and at random; the next run puts right what they left."""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from panelwright.assemblies.output.folder import check_out, ours_of, write_folder
from panelwright.assemblies.writing.exchange import exchange
from panelwright.assemblies.writing.recover import hidden_name, recover
from panelwright.assemblies.writing.replace_file import write_file
from writers import Writer

WRITER = """
def write(number):
    files = {f"sheets/sheet-{k}.dxf": str(number).encode() for k in range(1, 4)}
    output.write_folder(
        "out",
        lambda: list(files.items()),
        lambda digests: {"files": dict(digests), "plates": [], "versions": {"panelwright": "0"}, "number": number},
    )
"""


@pytest.fixture(params=["exchange", "renames"])
def writer(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Writer]:
    """Writes in a folder that holds `out`, with files of the user's in it."""
    writer = Writer(tmp_path, request.param, WRITER)
    try:
        writer.begin(0, 1)
        assert writer.end() == 0
        (tmp_path / "out" / "notes.txt").write_text("sand the edges")
        (tmp_path / "out" / "photos").mkdir()
        (tmp_path / "out" / "photos" / "june.jpg").write_bytes(b"\xff\xd8")
        yield writer
    finally:
        writer.close()


def number_in(out: Path) -> int:
    """Which run wrote the folder, after a look that all of it is of the same run and that nothing of the user's is lost."""
    number = int(json.loads((out / "manifest.json").read_text())["number"])
    sheets = sorted(path.name for path in (out / "sheets").glob("*.dxf"))
    assert sheets == ["sheet-1.dxf", "sheet-2.dxf", "sheet-3.dxf"]
    assert {(out / "sheets" / name).read_text() for name in sheets} == {str(number)}
    assert (out / "notes.txt").read_text() == "sand the edges"
    assert (out / "photos" / "june.jpg").read_bytes() == b"\xff\xd8"
    return number


def test_a_kill_at_any_step_loses_nothing(writer: Writer, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """Before each call that changes the disk in turn: then the folder is the old or the new one, once a run has looked."""
    is_exchange = "[exchange]" in request.node.name
    out, seen, last = tmp_path / "out", set(), 1
    for at in range(1, 200):
        first = last + 1
        writer.begin(at, first)
        code = writer.end()
        if code == 0:
            break
        assert code == -signal.SIGKILL
        if is_exchange:
            assert out.is_dir()  # not for a moment is there no folder
        said = check_out(out)
        assert [path.name for path in tmp_path.iterdir()] == ["out"]
        number = number_in(out)
        assert number in (last, first)
        seen.add((number == first, bool(said)))
        last = number
    else:
        raise AssertionError("the writing has more steps than were tried")
    assert at > 10
    assert {is_new for is_new, _ in seen} == {True, False}
    # only where it takes two renames is there anything to bring back
    assert any(said for _, said in seen) != is_exchange


def test_kills_at_random_lose_nothing(writer: Writer, tmp_path: Path) -> None:
    """A run that writes again and again, killed after random times, each time followed by another run."""
    rng = random.Random(10)
    out, first = tmp_path / "out", 2
    for _ in range(15):
        process = writer.begin(0, first, 100_000)
        time.sleep(rng.uniform(0.02, 0.1))
        os.kill(process, signal.SIGKILL)
        assert writer.end() == -signal.SIGKILL
        check_out(out)
        first = number_in(out) + 1
        assert [path.name for path in tmp_path.iterdir()] == ["out"]
    assert first > 15


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """A folder with an `out` that has been written, and files of the user's in it."""
    written(tmp_path, 1)
    (tmp_path / "out" / "notes.txt").write_text("sand the edges")
    (tmp_path / "out" / "photos").mkdir()
    (tmp_path / "out" / "photos" / "june.jpg").write_bytes(b"\xff\xd8")
    return tmp_path


def written(folder: Path, number: int) -> None:
    """What one run writes."""
    write_folder(
        folder / "out",
        lambda: [(f"sheets/sheet-{k}.dxf", str(number).encode()) for k in range(1, 4)],
        lambda digests: {"files": dict(digests), "plates": [], "versions": {"panelwright": "0"}, "number": number},
    )


class TestRecovery:
    def test_a_folder_put_aside_comes_back_and_that_is_said(self, bench: Path) -> None:
        """As a run killed between two renames leaves it: under a hidden name, and nothing in its place."""
        out = bench / "out"
        out.rename(bench / ".out.old-7-0")
        (said,) = check_out(out)
        assert "was killed while it replaced" in said
        assert number_in(out) == 1

    def test_files_of_the_users_come_along_from_a_folder_that_was_replaced_since(self, bench: Path) -> None:
        """A build after the kill that knew nothing of it wrote a new folder: the user's files join it."""
        out = bench / "out"
        out.rename(bench / ".out.old-7-0")
        fresh = bench / "elsewhere"
        fresh.mkdir()
        written(fresh, 2)
        (fresh / "out").rename(out)
        fresh.rmdir()
        assert check_out(out) == ()
        assert number_in(out) == 2
        assert [path.name for path in bench.iterdir()] == ["out"]

    def test_a_file_that_differs_keeps_the_old_folder(self, bench: Path) -> None:
        """Nothing of the user's is ever dropped: the old folder stays, and is named until somebody looks."""
        out = bench / "out"
        out.rename(bench / ".out.old-7-0")
        out.mkdir()
        (out / "manifest.json").write_bytes((bench / ".out.old-7-0" / "manifest.json").read_bytes())
        (out / "notes.txt").write_text("oil the edges")
        (said,) = check_out(out)
        assert ".out.old-7-0" in said
        assert "'notes.txt'" in said
        assert (bench / ".out.old-7-0" / "notes.txt").read_text() == "sand the edges"
        assert (out / "notes.txt").read_text() == "oil the edges"

    def test_nothing_of_another_name_is_touched(self, bench: Path) -> None:
        """Neither the leftovers of another folder nor what merely looks alike."""
        others = [".outer.new-7-0", ".out.new-7", ".out.new-7-0.txt", "out.new-7-0", ".out.newer-7-0"]
        for name in others:
            (bench / name).mkdir()
        check_out(bench / "out")
        assert sorted(path.name for path in bench.iterdir()) == sorted([*others, "out"])

    def test_long_names_are_told_apart(self, tmp_path: Path) -> None:
        """Two folders that begin with the same hundred letters have leftovers of their own."""
        one, other = (tmp_path / ("drawer " * 20 + end) for end in ("a", "b"))
        assert hidden_name(one, "old", 0) != hidden_name(other, "old", 0)
        (tmp_path / hidden_name(one, "old", 0)).mkdir()
        assert recover(other, ours_of) == ()
        assert not other.exists()
        assert len(recover(one, ours_of)) == 1
        assert one.is_dir()

    def test_an_unfinished_file_goes_at_the_next_write(self, tmp_path: Path) -> None:
        """A shop file that a killed run was about to replace."""
        (tmp_path / ".shop.toml.new-7-0").write_text("half of")
        (tmp_path / ".shop.toml.new-7-1").mkdir()
        write_file(tmp_path / "shop.toml", b"# all of it\n")
        assert sorted(path.name for path in tmp_path.iterdir()) == [".shop.toml.new-7-1", "shop.toml"]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="other systems have no such step")
def test_two_folders_change_places_at_once(tmp_path: Path) -> None:
    """Both keep their contents; a name that is missing is told by False, and nothing is done."""
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "name").write_text(name)
    if not exchange(tmp_path / "a", tmp_path / "b"):
        pytest.skip("this file system cannot exchange folders")
    assert (tmp_path / "a" / "name").read_text() == "b"
    assert (tmp_path / "b" / "name").read_text() == "a"
    assert not exchange(tmp_path / "a", tmp_path / "none")
    assert sorted(os.listdir(tmp_path)) == ["a", "b"]
