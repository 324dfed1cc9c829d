"""What a type checker tells the writer of a design: run by pytest for what happens, and by mypy and pyright for what they see.

Each `assert_type` fails in the checkers, not here, if a public function gives a wider type than it could: then a design would
need a cast, or a slip in it would pass unseen.
"""

from __future__ import annotations

from typing import assert_type

import cadquery as cq
import pytest
from panelwright.assemblies import Assembly, PlacedAssembly, bend, carcass, divider_grid, stock, tray
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.design.placed_sheet import PlacedSheet
from panelwright.joints import fingers, join, join_touching, living_hinge, tabs, touching
from panelwright.plates import (
    DesignError,
    Face,
    Frame,
    Outline,
    Pattern,
    PlacedPlate,
    Placement,
    Plate,
    Stock,
    cable_slot,
    disc,
    grid,
    hole,
    lying,
    outline_of,
    rectangle,
    row,
    standing,
)

PLY = Stock("birch plywood", 3, measured=3.0, kerf=0.2, clearance=0.1, density=680, shear_modulus=620, shear_strength=9.5)


def test_outlines_and_cut_outs() -> None:
    """Outlines stay outlines, and cut-outs that wait for theirs are patterns, from our own shapes and CadQuery's."""
    assert_type(hole(9), Outline)
    assert_type(disc(9), Outline)
    holes = assert_type(row(hole(9), 3), Pattern)
    assert_type(grid(cq.Sketch().rect(4, 2), 3, 2), Pattern)
    assert_type(outline_of(cq.Workplane().rect(60, 40)), Outline)
    cut = rectangle(120, 60).cut(
        holes, [hole(5).at(0, 20), cable_slot()], cq.Sketch().circle(2).moved(cq.Location((0, -15, 0)))
    )
    assert len(assert_type(cut, Outline).holes) == 5


def test_adding_gives_what_was_added() -> None:
    """A plate for an outline, a CadQuery shape or a plate; a sub-assembly for an assembly; a sheet for what is bent."""
    stand = Assembly("card stand", stock=PLY)
    base = assert_type(stand.add("base", rectangle(120, 60)), PlacedPlate)
    assert_type(stand.add("sketch", cq.Sketch().rect(40, 30), cq.Location((0, 0, 50)), loose=True), PlacedPlate)
    assert_type(stand.add("plate", Plate(disc(30), PLY), Frame((0, 0, 80)), stock=PLY), PlacedPlate)
    place = assert_type(standing(base.face(">Z"), facing="-Y", inset=10), Placement)
    rear = assert_type(stand.add("rear", rectangle(120, 40), place), PlacedPlate)
    assert_type(stand.add("top", rectangle(120, 60), lying([rear.face(">Z")])), PlacedPlate)
    box = tray("tray", stock=PLY, width=90, depth=60, height=30, cut={"front": [hole(6), row(hole(3), 2, pitch=20)]})
    drawer = assert_type(stand.add("drawer", assert_type(box, Assembly), cq.Plane((0.0, 0.0, 0.0)), loose=True), PlacedAssembly)
    assert_type(drawer["front"], PlacedPlate)
    assert_type(stand["drawer.front"].face(">X"), Face)
    pot = Assembly("pot", stock=PLY)
    sheet = assert_type(pot.add_bent("sheet", rectangle(200, 60), bend(-36, radius=45, angle_deg=90)), PlacedSheet)
    assert_type(sheet.faces("<Y"), tuple[Face, ...])
    assert_type(sheet[0], PlacedPlate)
    with pytest.raises(DesignError, match="stock"):
        stand.add("cells", divider_grid("cells", stock=PLY, width=90, depth=60, height=20, columns=2, rows=2), stock=PLY)  # type: ignore[call-overload]  # pyright: ignore[reportCallIssue, reportArgumentType]
    assert_type(stand.add("upright box", box, place), PlacedAssembly)


def test_joining_takes_every_kind_of_joint_and_every_list() -> None:
    """Faces, tuples of them, plates; each function's spec is a joint for both checkers."""
    box = Assembly("box", stock=PLY)
    base = box.add("base", rectangle(120, 60))
    rear = box.add("rear", rectangle(120, 40), standing(base.show, facing="-Y", inset=10))
    front = box.add("front", rectangle(120, 40), standing(base.show, facing="+Y", inset=10))
    lid = box.add("lid", rectangle(120, 60), lying(rear.face(">Z")), loose=True)
    join([rear.face("<Z"), front.face("<Z")], base.show, tabs(count=2))
    pairs = join_touching(box, fingers(), skip=[lid, (lid, base), *touching(box, skip=lid)])
    assert [assert_type(pair.edge, Face).placed.name for pair in pairs] == []
    assert assert_type(assert_type(box.product(), Product).findings, tuple[Finding, ...]) == box.check()
    assert all(assert_type(finding.plates, tuple[str, ...]) for finding in box.check())
    if living_hinge().clearance is None:  # a hinge is a joint like others
        assert_type(carcass("card box", stock=stock("birch 4"), width=80, height=50, depth=60), Assembly)
