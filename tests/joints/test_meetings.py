"""Two faces that may meet are looked at once: what they share is kept with their plates, for every later question."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from panelwright.assemblies import Assembly
from panelwright.joints import fingers, join, join_touching, tabs, touching
from panelwright.joints.meeting import edge_contacts
from panelwright.plates import Frame, Stock, rectangle, standing

README = Path(__file__).parents[2] / "README.md"
PLY = Stock("birch plywood", 4, measured=4.0, kerf=0.2, clearance=0.1)

Asked = Counter[tuple[object, ...]]


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Asked:
    """How often each edge was looked at on each other face."""
    count: Asked = Counter()
    work_out = edge_contacts.meeting

    def counted(edge: Any, mate: Any, kind: str, **options: bool) -> Any:
        count[edge.body.name, edge.place, mate.body.name, mate.place] += 1
        return work_out(edge, mate, kind, **options)

    monkeypatch.setattr(edge_contacts, "meeting", counted)
    return count


def tray(*, joined: bool = True) -> Assembly:
    """A floor and two walls on it that meet along a corner."""
    made = Assembly("tile tray", stock=PLY)
    floor = made.add("floor", rectangle(120, 80))
    made.add("rear", rectangle(120, 40), standing(floor.face(">Z"), facing="+Y", inset=0))
    side = Frame.facing((-60, 0, 24), show=(-1, 0, 0), right=(0, 1, 0))
    made.add("side", rectangle(72, 40), side)
    if joined:
        join_touching(made, tabs(count=2, width=10))
    return made


def test_the_readme_stand_asks_once_for_each_pair_of_faces(asked: Asked) -> None:
    """From the design to the proof, four joints take four looks at where two faces meet, and none twice."""
    source, *_ = re.findall(r"```python\n(.*?)```", README.read_text("utf-8"), re.DOTALL)
    names: dict[str, Any] = {}
    exec(source, names)
    product = names["design"]().product()
    assert len(product.joints) == 4
    assert sorted(asked.values()) == [1] * 4


def test_a_box_corner_is_asked_once_from_either_side(asked: Asked) -> None:
    """Listing what touches, joining it and resolving it are one look each way at a corner, and so is proving it twice."""
    box = Assembly("box", stock=PLY)
    floor = box.add("floor", rectangle(100, 60))
    box.add("wall", rectangle(100, 40), standing(floor.face(">Z"), facing="-Y", inset=0))
    listed = touching(box)
    assert join_touching(box, fingers()) == listed
    assert box.check() == box.check()
    assert asked
    assert set(asked.values()) == {1}


def test_an_assembly_that_stands_in_the_product_twice_is_asked_once(asked: Asked) -> None:
    """What two of its plates share is the same wherever it stands, and its parts come out alike to the last digit."""
    whole = Assembly("cabinet", stock=PLY)
    inner = tray()
    whole.add("upper", inner, Frame((0.1, 0.2, 300.3)), loose=True)
    whole.add("lower", inner, Frame.facing((7.7, 0, 0.3), show=(0.6, 0.0, 0.8), right=(0, 1, 0)), loose=True)
    parts = {part.name: part for part in whole.resolve().parts}
    assert len(parts) == 6
    for name in ("floor", "rear", "side"):
        assert parts[f"upper.{name}"].loops == parts[f"lower.{name}"].loops
    assert len(asked) >= 3
    assert set(asked.values()) == {1}


def test_plates_that_come_later_are_seen(asked: Asked) -> None:
    """What was found stays with its two plates: a plate added after join_touching, here or further in, is joined as well."""
    inner = tray()
    whole = Assembly("cabinet", stock=PLY)
    whole.add("tray", inner)
    join_touching(whole, tabs(count=1))
    before = len(whole.resolve().made)
    inner.add("front", rectangle(100, 40), standing(inner["floor"].face(">Z"), facing="-Y", inset=0))
    assert len(whole.resolve().made) > before
    assert set(asked.values()) == {1}


def test_the_same_names_elsewhere_are_other_plates() -> None:
    """Nothing is known of a pair by its names: two trays of other sizes each get joints of their own."""
    small, large = tray(joined=False), Assembly("tile tray", stock=PLY)
    floor = large.add("floor", rectangle(300, 80))
    large.add("rear", rectangle(300, 40), standing(floor.face(">Z"), facing="+Y", inset=0))
    spans = []
    for made in (small, large):
        join(made["rear"].face("<Z"), made["floor"].face(">Z"), tabs(count=2, width=10))
        spans.append(made.resolve().made[0].contact.stretches)
    assert spans == [((0.0, 120.0),), ((0.0, 300.0),)]


def test_a_failed_join_in_an_inner_assembly_names_the_plates_of_the_product() -> None:
    """The reason is told under the full names, though the faces were looked at under the short ones."""
    inner = Assembly("tray", stock=PLY)
    floor = inner.add("floor", rectangle(120, 80))
    wall = inner.add("wall", rectangle(120, 40), Frame.facing((0, 0, 30), show=(0, -1, 0), right=(1, 0, 0)))
    join(floor.face(">Z"), wall.face("<Z"), tabs())
    whole = Assembly("cabinet", stock=PLY)
    whole.add("drawer", inner)
    (error,) = [finding for finding in whole.check() if finding.code == "JOINT"]
    assert error.plates == ("drawer.floor", "drawer.wall")
    assert "show face (looks to +Z) of 'drawer.floor' and straight edge face" in error.message
