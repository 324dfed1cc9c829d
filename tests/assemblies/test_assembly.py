"""Assemblies: names, sub-assemblies, clearance, what touches, what is shared, and CadQuery's view of it all."""

from __future__ import annotations

import itertools

import pytest
from panelwright.assemblies import Assembly, carcass, divider_grid, tray
from panelwright.joints import cross_lap, fingers, join, join_touching, tabs, touching
from panelwright.plates import (
    DesignError,
    ForeignFaceError,
    Frame,
    JointError,
    NamingError,
    OutlineError,
    Plate,
    SelectionError,
    SizeError,
    Stock,
    hole,
    mirrored,
    rectangle,
    standing,
)

PLY = Stock("plywood", 4.0, measured=4.0, cutter="knife", clearance=0.1)


def stand(name: str = "stand", **options: object) -> Assembly:
    """A back standing on a base, not joined yet."""
    assembly = Assembly(name, stock=PLY, **options)  # type: ignore[arg-type]  # options of any type
    base = assembly.add("base", rectangle(120, 60))
    assembly.add("back", rectangle(120, 80), standing(base.face(">Z"), facing="-Y", inset=None))
    return assembly


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("", "is empty"),
        ("  ", "is empty"),
        ("a/b", "holds '/'"),
        ("..", "holds '.'"),
        ("a\\b", "holds"),
        ("tab\there", "unprintable character U\\+0009"),
        ("null\0", "unprintable character U\\+0000"),
        ("right\u202eleft", "U\\+202E"),
        ("x" * 300, "has 300 characters; 60 is the most"),
        (" edge", "begins or ends with a space"),
        ("con", "reserved"),
        ("what?", "holds '\\?'"),
        (7, "give text"),
    ],
)
def test_names_that_no_file_can_carry(name: object, says: str) -> None:
    """A name that cannot be a file's is refused with its reason, and nothing is added."""
    assembly = Assembly("rack", stock=PLY)
    with pytest.raises(NamingError, match=says):
        assembly.add(name, rectangle(10, 10))  # type: ignore[arg-type]  # wrong on purpose
    assert assembly.placed_plates() == ()


@pytest.mark.parametrize("name", ["Rückwand", "棚板", "полка 2", "étagère", "rear wall (upper)"])
def test_names_in_other_scripts(name: str) -> None:
    """Names in any script are kept."""
    assembly = Assembly("rack", stock=PLY)
    assembly.add(name, rectangle(10, 10))
    assert assembly[name].name == name


def test_a_name_is_taken_once() -> None:
    """A second plate of the same name, composed or decomposed, is refused."""
    assembly = Assembly("rack", stock=PLY)
    assembly.add("é", rectangle(10, 10))
    with pytest.raises(NamingError, match="already"):
        assembly.add("e\u0301", rectangle(10, 10))
    with pytest.raises(NamingError, match="no plate 'x'; it has é"):
        assembly["x"]


def test_a_plate_needs_stock_from_somewhere() -> None:
    """Stock comes from the plate, from add() or from the assembly, in that order of need."""
    assembly = Assembly("rack")
    with pytest.raises(DesignError, match="'wall' has no stock"):
        assembly.add("wall", rectangle(10, 10))
    card, board = Stock("card", 1.5, measured=1.5, cutter="knife"), Stock("board", 9, measured=9, cutter="knife")
    assert assembly.add("a", rectangle(10, 10), stock=card).plate.stock is card
    assert assembly.add("b", Plate(rectangle(10, 10), board)).plate.stock is board
    assert assembly.add("c", Plate(rectangle(10, 10), board), stock=card).plate.stock is card


def test_leaving_a_join_out_leaves_the_plates_as_designed() -> None:
    """Nothing is cut by a join that isn't there, and resolving twice gives the same."""
    assembly = stand()
    for _ in range(2):
        areas = {part.name: part.area_mm2 for part in assembly.resolve().parts}
        assert areas == {"base": 7200, "back": 9600}
    join(assembly["back"].face("<Z"), assembly["base"].face(">Z"), tabs(count=2, width=10))
    for _ in range(2):
        areas = {part.name: part.area_mm2 for part in assembly.resolve().parts}
        assert areas["back"] == pytest.approx(9600 + 2 * 10 * 4)
        assert areas["base"] == pytest.approx(7200 - 2 * 10.1 * 4.1)


def test_order_of_joins_makes_no_difference() -> None:
    """All orders of four joins around one post give the same solids."""
    outcomes = set()
    for order in itertools.permutations(range(4)):
        assembly = Assembly("shelf", stock=PLY)
        base = assembly.add("base", rectangle(160, 100))
        rear = assembly.add("rear", rectangle(160, 70), standing(base.face(">Z"), facing="+Y"))
        post = assembly.add("post", rectangle(96, 70), Frame.facing((2, -2, 39), show=(1, 0, 0), right=(0, 1, 0)))
        shelf = assembly.add("shelf", rectangle(100, 60), Frame((0, -20, 40)))
        joins = [
            (rear.face("<Z"), base.face(">Z"), tabs(pitch=50, width=12)),
            (post.face("<Z"), base.face(">Z"), tabs(count=2, width=10)),
            (post.face(">Y"), rear.face("<Y"), tabs(count=2, width=10)),
            (shelf, post, cross_lap()),
        ]
        for i in order:
            join(*joins[i])
        outcomes.add(tuple((p.name, round(p.area_mm2, 6), len(p.loops)) for p in assembly.resolve().parts))
    assert len(outcomes) == 1


def test_clearance_from_the_nearest_source() -> None:
    """The joint's own clearance wins over the pair's, the pair's over the assembly's, that over the stock's."""
    thick = Stock("board", 6.0, measured=6.0, cutter="knife", clearance=0.25)
    for pair, whole, own, expected in [
        (None, None, None, 0.25),
        (None, 0.15, None, 0.15),
        (0.05, 0.15, None, 0.05),
        (0.05, 0.15, -0.03, -0.03),
    ]:
        assembly = Assembly("x", stock=PLY, clearance=whole)
        base = assembly.add("base", rectangle(100, 50), stock=thick)
        wall = assembly.add("wall", rectangle(100, 50), standing(base.face(">Z"), facing="-Y", inset=None))
        if pair is not None:
            assembly.set_clearance(thick, PLY, pair)
        join(wall.face("<Z"), base.face(">Z"), tabs(count=1, width=20, clearance=own))
        product = assembly.product()
        assert product.findings == ()
        assert product.joints[0].clearance_mm == expected
        assert product.joints[0].numbers["measured_clearance_mm"] == pytest.approx([expected, expected], abs=1e-9)


def test_sub_assemblies_keep_their_joints_wherever_they_stand() -> None:
    """Two turned copies of a joined sub-assembly give the same panels twice, and joins reach across levels."""
    inner = stand("inner")
    join(inner["back"].face("<Z"), inner["base"].face(">Z"), tabs(at=[20, 70], width=10))
    outer = Assembly("outer", stock=PLY)
    floor = outer.add("floor", rectangle(300, 300))
    left = outer.add("left", inner, Frame((-80, 0, 4)))
    turned = outer.add("right", inner, _turned_to((80, 0, 4)))
    post = outer.add("post", rectangle(40, 84), Frame.facing((-80, -20, 46), show=(0, -1, 0), right=(1, 0, 0)))
    join(post.face("<Z"), floor.face(">Z"), tabs(count=1, width=12))
    assert left["base"].name == "left.base"
    assert turned["back"].frame.y == pytest.approx((0, 0, 1))
    product = outer.product()
    panels = {panel.name: panel.quantity for panel in product.panels}
    assert panels["left.back"] == 2
    assert panels["left.base"] == 2
    with pytest.raises(NamingError, match="sub-assembly 'left' has no plate 'lid'"):
        left["lid"]
    with pytest.raises(DesignError, match="would hold itself"):
        inner.add("outer", outer)


def _turned_to(origin: tuple[float, float, float]) -> Frame:
    turn = Frame.turned("Z", 90)
    return Frame(origin, turn.x, turn.y, turn.z)


def test_faces_of_another_assembly_are_refused() -> None:
    """Faces that stand in different assemblies can't be joined, and the error names both."""
    one, two = stand("one"), stand("two")
    with pytest.raises(ForeignFaceError, match=r"'one'.*'two'"):
        join(one["back"].face("<Z"), two["base"].face(">Z"), tabs())


def test_a_pair_of_faces_is_joined_once() -> None:
    """Joining the same two faces again, in either order, is an error."""
    assembly = stand()
    join(assembly["back"].face("<Z"), assembly["base"].face(">Z"), tabs())
    with pytest.raises(JointError, match="joined already"):
        join(assembly["base"].show, assembly["back"].face("<Z"), fingers())


def test_touching_lists_what_has_no_joint() -> None:
    """Pairs are listed before they are joined, and explicit joins win even if they come later."""
    assembly = stand()
    side = assembly.add("side", rectangle(30, 80), Frame.facing((-2, 15 + 2, 44), show=(1, 0, 0), right=(0, 1, 0)))
    listed = touching(assembly)
    assert [(pair.edge.placed.name, pair.broad.placed.name) for pair in listed] == [
        ("back", "base"),
        ("side", "base"),
        ("side", "back"),
    ]
    assert [str(pair) for pair in join_touching(assembly, tabs(count=1, width=8))] == [str(pair) for pair in listed]
    join(assembly["back"].face("<Z"), assembly["base"].face(">Z"), tabs(count=3, width=10))
    counts = {record.plates: record.numbers["count"] for record in assembly.product().joints}
    assert counts == {("back", "base"): 3, ("side", "base"): 1, ("side", "back"): 1}
    assert side.name == "side"
    with pytest.raises(JointError, match="once is all it takes"):
        join_touching(assembly, tabs())


def test_one_plate_against_several_mates_in_one_call() -> None:
    """A shelf between two walls is joined to both at once, each with its own joint if they differ."""

    def shelf() -> Assembly:
        assembly = Assembly("shelf", stock=PLY)
        assembly.add("board", rectangle(100, 60), Frame((0, 0, 20)))
        for name, x, look in (("left", -50, (-1, 0, 0)), ("right", 50, (1, 0, 0))):
            assembly.add(name, rectangle(60, 60), Frame.facing((x, 0, 30), show=look, right=(0, -look[0] * -1, 0)))
        return assembly

    assembly = shelf()
    board = assembly["board"]
    join([board.face("<X"), board.face(">X")], [assembly["left"].back, assembly["right"].back], tabs(count=2, width=8))
    assert len(assembly.resolve().made) == 2
    assembly = shelf()
    board = assembly["board"]
    join(
        [board.face("<X"), board.face(">X")],
        [assembly["left"].back, assembly["right"].back],
        [tabs(count=2, width=8), tabs(count=3, width=6)],
    )
    assert [made.layout.numbers["count"] for made in assembly.resolve().made] == [2, 3]
    with pytest.raises(JointError, match="give as many of each"):
        join([board.face("<X"), board.face(">X")], [assembly["left"].back], [tabs(), tabs(), tabs()])
    assembly = shelf()
    board = assembly["board"]
    with pytest.raises(JointError, match="none of the faces given"):
        join([board.face("<Y"), board.face("<X")], [assembly["left"].back], tabs())


def test_mirrored_and_turned_plates_share_a_panel() -> None:
    """A mirrored plate is the same panel where both faces are good, another where they are not; grain limits turning."""
    for stock, same in (
        (Stock("a", 4.0, measured=4.0, cutter="knife"), True),
        (Stock("b", 4.0, measured=4.0, cutter="knife", both_faces_good=False), False),
    ):
        assembly = Assembly("pair", stock=stock)
        base = assembly.add("base", rectangle(200, 100))
        left = assembly.add(
            "left",
            rectangle(60, 40).cut(hole(6).at(20, 10)),
            standing(base.face(">Z"), facing="-X", inset=0),
        )
        assembly.add("right", left.plate, mirrored(left, about="YZ"))
        panels = {panel.name: panel.plates for panel in assembly.product().panels}
        assert (panels["left"] == ("left", "right")) is same
    for grain, same in ((None, True), ("x", False)):
        assembly = Assembly("pair", stock=Stock("c", 4.0, measured=4.0, cutter="knife", grain=grain))  # type: ignore[arg-type]  # text of a case
        assembly.add("one", rectangle(60, 40), Frame((0, 0, 0)))
        assembly.add("two", rectangle(40, 60), Frame((100, 0, 0)))
        panels = assembly.product().panels
        assert (len(panels) == 1) is same


def test_to_cadquery_has_every_plate_where_it_stands() -> None:
    """The CadQuery assembly names the plates, and its total volume is that of the parts."""
    assembly = carcass("box", stock=Stock("exact", 4.0, measured=4.0, cutter="knife"), width=80, depth=60, height=40, lid=True)
    whole = assembly.to_cadquery()
    assert [child.name for child in whole.children] == ["base", "front", "rear", "left", "right", "lid"]
    box = whole.toCompound().BoundingBox()
    assert (box.xmin, box.ymin, box.zmin, box.xmax, box.ymax, box.zmax) == pytest.approx((-40, -30, 0, 40, 30, 40), abs=1e-5)
    assert whole.toCompound().Volume() == pytest.approx(80 * 60 * 40 - 72 * 52 * 32, rel=1e-9)


def test_selections_stay_good_whatever_is_joined() -> None:
    """Faces are those of plates as designed: picking after joins, and after resolving, gives the same face."""
    assembly = stand()
    base, back = assembly["base"], assembly["back"]
    before = [base.face(">X"), base.face(">Y"), back.face(">Z")]
    join(back.face("<Z"), base.face(">Z"), tabs(count=4, width=10))
    assembly.resolve()
    after = [base.face(">X"), base.face(">Y"), back.face(">Z")]
    assert [face.place for face in before] == [face.place for face in after]
    with pytest.raises(SelectionError, match="picks 4 faces"):
        base.face("#Z")
    with pytest.raises(SelectionError, match="picks no face"):
        base.face(">Z and <Z")
    assert len(base.faces("#Z")) == 4


def test_a_notebook_sees_the_product() -> None:
    """The drawing for a notebook is SVG and names the plates; a plate's shows its outline."""
    assembly = stand()
    assert "<title>back</title>" in assembly._repr_svg_()
    assert assembly["base"].plate._repr_svg_().startswith("<svg")
    assert assembly["base"]._repr_svg_() == assembly["base"].plate._repr_svg_()


@pytest.mark.parametrize(
    ("make", "error", "says"),
    [
        (lambda: carcass("c", stock=PLY, width=8, depth=60, height=40), SizeError, "two thicknesses"),
        (lambda: carcass("c", stock=PLY, width=80, depth=60, height=4), SizeError, "height of a carcass"),
        (lambda: carcass("c", stock=PLY, width=80, depth=60, height=40, sides=5), SizeError, "takes a depth"),
        (lambda: carcass("c", stock=PLY, width=80, height=40, sides=13), SizeError, "12 is the most"),
        (lambda: carcass("c", stock=PLY, width=80, height=40, sides=6, lean_deg=60), SizeError, "-30 to 45"),
        (
            lambda: carcass("c", stock=PLY, width=80, depth=60, height=40, cut={"top": hole(5)}),
            DesignError,
            "'top'; the plates are base, front",
        ),
        (
            lambda: carcass("c", stock=PLY, width=80, depth=60, height=40, cut={"base": hole(5).at(99, 0)}),
            OutlineError,
            "outside the outline",
        ),
        (lambda: tray("t", stock=PLY, width=80, depth=60, height=8), SizeError, "no room above a base"),
        (lambda: divider_grid("g", stock=PLY, width=80, depth=60, height=20, columns=1, rows=1), SizeError, "two cells"),
        (lambda: divider_grid("g", stock=PLY, width=8, depth=60, height=20, columns=9, rows=1), SizeError, "cells of"),
        (lambda: Assembly("a", stock="ply"), DesignError, "give a Stock"),
    ],
)
def test_bodies_that_cannot_be(make: object, error: type[Exception], says: str) -> None:
    """A body of impossible size is refused with the size and the limit."""
    with pytest.raises(error, match=says):
        make()  # type: ignore[operator]  # object: anything may be given


@pytest.mark.parametrize(("columns", "rows"), [(2, 1), (1, 3), (3, 2), (5, 4)])
def test_divider_grids(columns: int, rows: int) -> None:
    """A grid of n × m cells has one cross-lap for each crossing, and equal cells."""
    grid = divider_grid("cells", stock=PLY, width=200, depth=150, height=30, columns=columns, rows=rows)
    resolved = grid.resolve()
    assert len(resolved.parts) == columns - 1 + rows - 1
    assert len(resolved.made) == (columns - 1) * (rows - 1)
    errors = [f for f in grid.check() if f.code != "FLOATS"]
    assert errors == []
