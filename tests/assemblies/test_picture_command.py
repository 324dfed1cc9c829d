"""`panelwright picture`: files, views and refusals as a user meets them."""

from __future__ import annotations

import io
import json
import math
import os
import re
import textwrap
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import matplotlib.image
import numpy as np
import pytest
from panelwright.assemblies.commands.design_commands import VIEW_NAMES
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.pictures.apart import taken_apart
from panelwright.assemblies.pictures.picture import VIEWS, View, line_drawing

SVG = "{http://www.w3.org/2000/svg}"

BLOCK = '''
from panelwright.assemblies import Assembly
from panelwright.plates import Stock, rectangle

BIRCH = Stock("birch plywood", thickness=12, kerf=0.2, density=680)


def design(width: float = 60) -> Assembly:
    """A block to show tiles on."""
    print("glazing")
    block = Assembly("tile block", stock=BIRCH)
    block.add("block", rectangle(width, 40))
    return block
'''

STAND = '''
from panelwright.assemblies import Assembly
from panelwright.joints import join, tabs
from panelwright.plates import Stock, rectangle, standing

BIRCH = Stock("birch plywood", thickness=4, kerf=0.2, clearance=0.1, density=680)


def design(gap: float = 0) -> Assembly:
    """A stand for glaze cards."""
    stand = Assembly("card stand", stock=BIRCH)
    base = stand.add("base", rectangle(120, 60))
    back = stand.add("back board", rectangle(120, 80), standing(on=base.face(">Z"), facing="-Y", inset=-gap))
    join(back.face("<Z"), base.face(">Z"), tabs(count=2, width=15))
    return stand
'''

Draw = Callable[..., tuple[int, str, str]]


@pytest.fixture
def draw(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Draw:
    """Runs the command in a folder with two designs; gives the exit code and what it said on both streams."""
    for name, text in (("block.py", BLOCK), ("stand.py", STAND)):
        (tmp_path / name).write_text(textwrap.dedent(text), encoding="utf-8")

    def draw(design: str, out: str, *options: str) -> tuple[int, str, str]:
        code = main(["picture", str(tmp_path / design), "--out", str(tmp_path / out), *options])
        said = capsys.readouterr()
        return code, said.out, said.err

    return draw


def lines_of(path: Path) -> list[tuple[float, float, float, float]]:
    """Every straight stroke of a drawing, from its paths' own commands."""
    found = []
    for data in ElementTree.fromstring(path.read_bytes()).iter(f"{SVG}path"):
        at = (0.0, 0.0)
        for command, x, y in re.findall(r"([ML]) ?(-?[\d.]+) (-?[\d.]+)", data.get("d") or ""):
            to = (float(x), float(y))
            if command == "L":
                found.append((*at, *to))
            at = to
    return found


def test_a_block_shows_its_nine_visible_edges_and_no_hidden_one(draw: Draw, tmp_path: Path) -> None:
    """Of a box's 12 edges, 3 meet in the corner that nobody sees: 9 lines of the lengths that foreshortening gives."""
    assert draw("block.py", "block.svg", "--view", "iso")[0] == 0
    lengths = sorted(math.dist(line[:2], line[2:]) for line in lines_of(tmp_path / "block.svg"))
    share = math.sqrt(2 / 3)
    assert lengths == pytest.approx(sorted(3 * [60 * share, 40 * share, 12 * share]), abs=2e-4)


@pytest.mark.parametrize(("view", "count"), [("front", 4), ("top", 4), ("bottom", 4), ("left", 4), ("corner", 9)])
def test_square_views_of_a_block_show_one_face(view: str, count: int, draw: Draw, tmp_path: Path) -> None:
    assert draw("block.py", "block.svg", "--view", view)[0] == 0
    assert len(lines_of(tmp_path / "block.svg")) == count


def test_the_help_knows_every_view() -> None:
    assert tuple(VIEWS) == VIEW_NAMES


def test_angles_take_the_place_of_the_views_own(draw: Draw, tmp_path: Path) -> None:
    assert draw("stand.py", "a.svg", "--view", "iso", "--azimuth", "120")[0] == 0
    assert draw("stand.py", "b.svg", "--azimuth", "120", "--elevation", str(VIEWS["iso"].elevation_deg))[0] == 0
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
    assert draw("stand.py", "c.svg", "--view", "iso")[0] == 0
    assert (tmp_path / "a.svg").read_bytes() != (tmp_path / "c.svg").read_bytes()


def test_a_turntable_writes_one_picture_for_each_angle(draw: Draw, tmp_path: Path) -> None:
    code, out, _ = draw("stand.py", "turn/stand.svg", "--view", "front", "--turntable", "12", "--json")
    assert code == 0
    told = json.loads(out)["files"]
    assert [file["azimuth_deg"] for file in told] == [30.0 * turn for turn in range(12)]
    assert [Path(file["path"]).name for file in told] == [f"stand-{number:02d}.svg" for number in range(1, 13)]
    assert {path.name for path in (tmp_path / "turn").iterdir()} == {Path(file["path"]).name for file in told}
    assert len({path.read_bytes() for path in (tmp_path / "turn").iterdir()}) == 12
    assert draw("stand.py", "side.svg", "--view", "right")[0] == 0
    assert (tmp_path / "turn" / "stand-04.svg").read_bytes() == (tmp_path / "side.svg").read_bytes()


def test_a_png_has_the_size_asked_for_and_the_highlighted_plate_in_colour(draw: Draw, tmp_path: Path) -> None:
    size = ("--width", "320", "--height", "200")
    assert draw("stand.py", "plain.png", *size)[0] == 0
    code, out, _ = draw("stand.py", "marked.png", *size, "--highlight", "back board")
    told = f"next: panelwright check {tmp_path / 'stand.py'} proves it; a picture proves nothing"
    assert (code, out.splitlines()) == (0, [f"written to {tmp_path / 'marked.png'}", told])
    plain, marked = (
        np.rint(matplotlib.image.imread(io.BytesIO((tmp_path / name).read_bytes())) * 255)[..., :3]
        for name in ("plain.png", "marked.png")
    )
    assert plain.shape == marked.shape == (200, 320, 3)

    def vermillion(picture: Any) -> int:
        near_blue = picture[..., 1] < (picture[..., 0] + picture[..., 2]) / 2
        return int((near_blue & (picture[..., 0] - picture[..., 2] > 60)).sum())

    assert vermillion(plain) == 0
    assert vermillion(marked) > 1500


def test_apart_moves_the_plates_and_the_same_call_gives_the_same_bytes(draw: Draw, tmp_path: Path) -> None:
    for name, options in (("a", ()), ("b", ("--apart", "0.7")), ("c", ("--apart", "0.7"))):
        assert draw("stand.py", f"{name}.png", *options, "--width", "200", "--height", "150")[0] == 0
    one, two, again = ((tmp_path / f"{name}.png").read_bytes() for name in "abc")
    assert one != two
    assert two == again


def test_a_design_with_a_joint_that_cannot_be_made_is_drawn_and_told(draw: Draw, tmp_path: Path) -> None:
    code, out, _ = draw("stand.py", "stand.svg", "--set", "gap=3")
    assert code == 1
    assert out.startswith("drawn without this joint: tabs between")
    assert {group[0].text for group in ElementTree.fromstring((tmp_path / "stand.svg").read_bytes())} == {
        "base",
        "back board",
    }
    code, out, _ = draw("stand.py", "stand.svg", "--set", "gap=3", "--json")
    assert (code, json.loads(out)["ok"], len(json.loads(out)["findings"])) == (1, False, 1)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--view", "fron"), "view 'fron' is not known; give one of front, right"),
        (("--elevation", "91"), "elevation of a view is 91°; give -90 (from below) to 90"),
        (("--azimuth", "nan"), "azimuth of a view is nan; give a finite number"),
        (("--azimuth", "left"), "'left' is not a valid float"),
        (("--turntable", "1"), "number of pictures of a turntable is 1; it must be 2 or more"),
        (("--turntable", "361"), "give 360 at most"),
        (("--apart", "-1"), "--apart is -1; give 0 (together) to 20"),
        (("--width", "3"), "side of a picture in pixels is 3; it must be 16 or more"),
        (("--out", "board.jpg"), "'board.jpg' is no kind of file that is written here; end it in .png or .svg"),
        (("--out", "board.svg", "--height", "100"), "the height of an SVG follows its width"),
    ],
)
def test_wrong_requests_are_refused_before_the_design_runs(
    options: tuple[str, ...], words: str, draw: Draw, tmp_path: Path
) -> None:
    code, out, err = draw("block.py", "block.png", *options)
    assert (code, out) == (2, "")
    assert words in err
    assert "glazing" not in err
    assert not list(tmp_path.glob("*.png"))


def test_a_folder_a_file_in_the_way_and_a_locked_folder_are_refused(
    draw: Draw, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "shelf.png").mkdir()
    assert "is a folder; give the name of a file" in draw("block.py", "shelf.png")[2]
    assert "would lie in a file" in draw("block.py", "stand.py/block.png")[2]
    (tmp_path / "locked").mkdir(mode=0o500)
    # whoever runs the tests as root may write everywhere, so the question itself is answered here
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path).name != "locked")
    assert "no right to write in" in draw("block.py", "locked/block.png")[2]


def test_an_unknown_plate_is_told_with_the_nearest_name_and_the_old_picture_stays(draw: Draw, tmp_path: Path) -> None:
    (tmp_path / "stand.png").write_bytes(b"old")
    code, _, err = draw("stand.py", "stand.png", "--highlight", "bak board")
    assert code == 2
    assert "there is no plate 'bak board' to highlight; did you mean 'back board'?" in err
    assert (tmp_path / "stand.png").read_bytes() == b"old"
    assert {path.name for path in tmp_path.iterdir()} == {"block.py", "stand.py", "stand.png"}


def test_the_file_to_write_is_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["picture", "tray.py"]) == 2
    assert "give the file to write, --out FILE" in capsys.readouterr().err


def test_the_command_draws_what_the_function_draws(draw: Draw, tmp_path: Path) -> None:
    """Plates apart stand where the report's slider takes them."""
    from panelwright.assemblies.loading.design_file import load_design, run

    assert draw("stand.py", "stand.svg", "--azimuth", "10", "--elevation", "40", "--apart", "1", "--width", "500")[0] == 0
    product = run(load_design(tmp_path / "stand.py")).product()
    parts = taken_apart(product.shown, product.plan, 1.0)
    assert any(moved.frame != part.frame for moved, part in zip(parts, product.shown, strict=True))
    assert (tmp_path / "stand.svg").read_bytes() == line_drawing(parts, view=View(10, 40), width=500)
