"""What beginners write, and the message from which they can mend it: one design each, wrong in one thing."""

from __future__ import annotations

from pathlib import Path

import pytest
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.plates import DesignError

START = """
from panelwright.assemblies import Assembly, stock
from panelwright.joints import cross_lap, join, join_touching, tabs
from panelwright.plates import *

BIRCH = Stock("birch plywood", 4, measured=4, kerf=0.2, clearance=0.1)

def design(width: float = 120):
    box = Assembly("box", stock=BIRCH)
    base = box.add("base", rectangle(width, 80))
"""
WALL = """
    wall = box.add("wall", rectangle(width, 60), standing(base.face(">Z"), facing="-Y", inset=10))
"""
BY_HAND = """
    wall = box.add("wall", rectangle(width, 60), Frame.facing((0, -20, {z}), show=(0, -1, 0), right=(1, 0, 0)))
"""


def told(tmp_path: Path, lines: str, *, end: str = "return box") -> str:
    """What is said of a design that ends with these lines: the error, or all findings."""
    path = tmp_path / "box.py"
    path.write_text(f"{START.strip()}\n{lines.strip(chr(10))}\n    {end}\n", "utf-8")
    try:
        return "\n".join(str(finding) for finding in run(load_design(path)).product().findings)
    except DesignError as error:
        return str(error)


FACES = {
    "the upper edge for the lower one": (
        WALL + '    join(wall.face(">Z"), base.face(">Z"), tabs())',
        [
            "the edge looks away from 'base', which lies 60.000 mm behind it",
            "choose the edge that looks at it",
            "(joined in box.py, line 11)",
        ],
    ),
    "an edge where the broad face is meant": (
        WALL + '    join(wall.face("<Z"), base.face("<Y"), tabs())',
        ["both are edge faces; one must be the broad face that takes the slots"],
    ),
    "a broad face where the edge is meant": (
        WALL + "    join(wall.show, base.show, tabs())",
        ["both are broad faces; one must be the edge face that arrives there"],
    ),
    "a selector that means two edges": (
        WALL + '    join(wall.face("|Z"), base.face(">Z"), tabs())',
        ["selector '|Z' on plate 'wall' picks 2 faces", "narrow it with 'and', or take all with faces()"],
    ),
    "a plate where a face is wanted": (
        '    box.add("wall", rectangle(width, 60), standing(base, facing="-Y"))',
        ["plate 'base' is given where one of its faces is wanted", 'base.face(">Z")'],
    ),
    "an outline kept for the plate": (
        '    wall = rectangle(width, 60)\n    join(wall.face("<Z"), base.face(">Z"), tabs())',
        ["an outline has no face, since it stands nowhere yet", "take the plate that add() gives", "in design: join(wall.face"],
    ),
    "a name in other letters": (
        WALL + '    join(box["Wall"].face("<Z"), base.face(">Z"), tabs())',
        ["assembly 'box' has no plate 'Wall'; it has base, wall"],
    ),
}
PLACES = {
    "sunk by the thickness": (
        BY_HAND.format(z=30) + "    join_touching(box, tabs())",
        ["'wall' is sunk into 'base' by all its 4 mm; to stand on it, it begins at the show face"],
    ),
    "the thickness counted twice": (
        BY_HAND.format(z=38) + "    join_touching(box, tabs())",
        ["'wall' touches nothing", "it stands 4.00 mm off 'base', as much as that is thick", "loose=True"],
    ),
    "a join where nothing touches": (
        BY_HAND.format(z=60) + '    join(wall.face("<Z"), base.face(">Z"), tabs())',
        ["they are 26.000 mm apart; move one of the plates so that they touch"],
    ),
    "a direction in words": (
        '    box.add("wall", rectangle(width, 60), standing(base.face(">Z"), facing="front"))',
        ["direction 'front' is not known; give one of +X, -X, +Y, -Y, +Z, -Z or a vector"],
    ),
    "standing that looks up": (
        '    box.add("wall", rectangle(width, 60), standing(base.face(">Z"), facing="+Z"))',
        ["looks to '+Z', which does not lie along that face; give '+X', '-X', '+Y', '-Y'"],
    ),
    "a mirror named by one axis": (
        WALL + '    box.add("other", rectangle(width, 60), mirrored(wall, about="Y"))',
        ["mirror plane 'Y' is not known; give 'XY', 'XZ' or 'YZ'", "swap top and bottom, front and rear, left and right"],
    ),
    "a side mirrored onto itself": (
        WALL + '    box.add("other", rectangle(width, 60), mirrored(wall, about="YZ"))\n    join_touching(box, tabs())',
        ["plates 'wall' and 'other' share", "28800.000 mm³"],
    ),
    "no joint at all": (
        WALL,
        ["no faces are joined at all: 'wall' touches 'base' but no joint holds it", "join_touching(assembly, tabs())"],
    ),
}
SIZES = {
    "a negative size": (
        '    box.add("wall", rectangle(-width, 60))',
        ["width of a rectangle is -120 mm; it must be above 0", "in design: box.add"],
    ),
    "a size as text": (
        '    box.add("wall", rectangle("120 mm", 60))',
        ["width of a rectangle is '120 mm'; give a number"],
    ),
    "inches for millimetres": (
        '    wall = box.add("wall", rectangle(4.75, 2.5), standing(base.face(">Z"), facing="-Y", inset=10))\n'
        '    join(wall.face("<Z"), base.face(">Z"), tabs(count=2))',
        ["only 4.75 mm of the line is free, and 2 tabs would be 1.19 mm wide", "ask for fewer"],
    ),
    "tabs wider than the edge": (
        WALL + '    join(wall.face("<Z"), base.face(">Z"), tabs(count=2, width=80))',
        ["2 tabs of 80 mm don't fit", "contact of 120.000 mm; use fewer or narrower tabs"],
    ),
    "a kerf for a clearance": (
        WALL + '    join(wall.face("<Z"), base.face(">Z"), tabs(clearance=2))',
        ["clearance is 2 mm, beyond 0.5 mm either way", "give the gap of one joint, usually 0 to 0.3 mm"],
    ),
    "a hole beside the plate": (
        '    box.add("wall", rectangle(width, 60).cut(hole(8).at(100, 0)))',
        ["the cut-out at (100.00, 0.00)", "lies outside the outline, which spans x -60.00 to 60.00"],
    ),
    "an outline that crosses itself": (
        '    box.add("wall", polygon([(0, 0), (40, 30), (40, 0), (0, 30)]))',
        ["the outline crosses or touches itself at (20, 15)"],
    ),
}
CALLS = {
    "the outline before the name": (
        '    box.add(rectangle(width, 60), "wall")',
        ["the name comes first: add('wall', …)"],
    ),
    "the joint before the faces": (
        WALL + '    join(tabs(), wall.face("<Z"), base.face(">Z"))',
        ["tabs is given where a face is wanted; the joint comes last: join(face, face, tabs(…))"],
    ),
    "a joint that is not called": (
        WALL + '    join(wall.face("<Z"), base.face(">Z"), tabs)',
        ["is no joint; give one such as tabs(count=2)"],
    ),
    "the same name twice": (
        WALL + '    box.add("wall", rectangle(width, 60), standing(base.face(">Z"), facing="+Y", inset=10))',
        ["assembly 'box' has a plate 'wall' already; give this one another name"],
    ),
    "the name of a stock for the stock": (
        '    other = Assembly("lid", stock="birch 4")',
        ["stock of assembly 'lid' is 'birch 4'; give a Stock, such as stock('birch 4')"],
    ),
    "no stock": (
        '    Assembly("lid").add("lid", rectangle(width, 80))',
        ["plate 'lid' has no stock; give stock= here or to Assembly('lid', …)"],
    ),
    "faces of two assemblies": (
        '    lid = Assembly("lid", stock=BIRCH).add("lid", rectangle(width, 80))\n'
        '    join(lid.face("<Y"), base.face(">Z"), tabs())',
        ["belongs to assembly 'lid'", "pick both faces from one assembly"],
    ),
    "plates that meet for a lap": (
        WALL + "    join(wall, base, cross_lap())",
        ["'wall' ends 0.000 mm before it comes to 'base'; move them so that they pass through each other"],
    ),
}
MISTAKES = {**FACES, **PLACES, **SIZES, **CALLS}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_the_message_says_what_to_mend(mistake: str, tmp_path: Path) -> None:
    """It names the plates, the numbers and what to write instead."""
    lines, parts = MISTAKES[mistake]
    message = told(tmp_path, lines)
    for part in parts:
        assert part in message


def test_there_are_many_mistakes() -> None:
    """More than twenty, in every part of a design."""
    assert len(MISTAKES) == len(FACES) + len(PLACES) + len(SIZES) + len(CALLS) >= 25


@pytest.mark.parametrize(
    ("end", "reason"),
    [
        ("pass", "returned None, not an Assembly; end it with `return` and the assembly"),
        ("return box.product()", "returned a Product, not an Assembly; return the Assembly itself"),
        ("return [box]", "returned a list, not an Assembly"),
    ],
)
def test_what_design_returns_is_told(end: str, reason: str, tmp_path: Path) -> None:
    """A design that forgets to return, and those that return something else."""
    assert reason in told(tmp_path, WALL, end=end)


@pytest.mark.parametrize(
    "lines",
    [
        '    wall = box.add("wall", polygon([(0, 0), (0, 60), (60, 60), (60, 0)]), standing(base.show, facing="-Y", inset=10))',
        BY_HAND.format(z=30),
    ],
)
def test_what_is_no_mistake_is_proven(lines: str, tmp_path: Path) -> None:
    """An outline drawn clockwise; a plate that reaches into the one it is joined to."""
    assert told(tmp_path, lines + '\n    join(wall.face("<Z"), base.face(">Z"), tabs())') == ""
