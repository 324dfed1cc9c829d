"""Ready-made bodies with cut-outs: a hole or a notch changes nothing about which edges are joined."""

from __future__ import annotations

import pytest
from panelwright.assemblies import Assembly, carcass, tray
from panelwright.plates import Stock, hole, rectangle, row
from panelwright.plates.errors import SizeError

PLY = Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, clearance=0.1)
HOLES = {"one hole": hole(10), "a row": row(hole(4), count=2, pitch=8), "off centre": hole(8).at(3, 9)}


def joints(made: Assembly) -> list[tuple[str, tuple[str, str]]]:
    product = made.product()
    assert product.errors == ()
    return [(record.kind, record.plates) for record in product.joints]


@pytest.mark.parametrize("sides", [3, 4, 5, 6, 8])
@pytest.mark.parametrize("lean_deg", [-10.0, 0.0, 10.0, 35.0])
def test_a_regular_carcass_takes_cut_outs_in_every_plate(sides: int, lean_deg: float) -> None:
    """Upright, inwards and outwards: the joints are those of the body without cut-outs."""

    def made(cut: dict[str, object] | None) -> Assembly:
        return carcass("pot", stock=PLY, sides=sides, width=140, height=90, lean_deg=lean_deg, cut=cut)

    plain = joints(made(None))
    assert len(plain) == 2 * sides
    names = ["base", *(f"side {i + 1}" for i in range(sides))]
    kinds = list(HOLES.values())
    assert joints(made({name: kinds[i % len(kinds)] for i, name in enumerate(names)})) == plain
    assert joints(made({"side 1": hole(10)})) == plain


@pytest.mark.parametrize("hole", list(HOLES))
def test_boxes_and_trays_take_cut_outs_in_every_plate(hole: str) -> None:
    """So do rectangular ones, with a lid and without."""
    shape = HOLES[hole]
    box = {"stock": PLY, "width": 90.0, "depth": 70.0, "height": 50.0}
    names = ("base", "front", "rear", "left", "right")
    for lid in (False, True):
        every = dict.fromkeys((*names, *(["lid"] if lid else [])), shape)
        assert joints(carcass("box", **box, lid=lid, cut=every)) == joints(carcass("box", **box, lid=lid))
    assert joints(tray("tray", **box, cut=dict.fromkeys(names, shape))) == joints(tray("tray", **box))


def test_a_notch_in_a_joined_edge_leaves_two_joints_there() -> None:
    """What is left of the edge on either side is joined."""
    notched = carcass("box", stock=PLY, width=120, depth=90, height=60, cut={"front": rectangle(20, 20).at(0, -30)})
    found = [plates for _, plates in joints(notched)]
    assert found.count(("front", "base")) == 2
    assert len(found) == 9


@pytest.mark.parametrize(("sides", "most"), [(8, 45.0), (9, 40.8), (10, 33.1), (11, 23.2), (12, 0.0)])
def test_walls_lean_as_far_as_their_corners_are_joined_and_no_further(sides: int, most: float) -> None:
    """Up to the limit that is told nothing is wrong, either way; beyond it the angle and the limit are named at once."""

    def made(lean_deg: float) -> Assembly:
        return carcass("pot", stock=PLY, sides=sides, width=300, height=60, lean_deg=lean_deg)

    for lean_deg in {most, -min(most, 30.0)}:
        assert made(lean_deg).product().errors == ()
    for lean_deg in (most + 0.2, -most - 0.2):
        if -30.0 <= lean_deg <= 45.0:
            says = rf"meet at 15[0-9.]+°, and joints are made up to 150°; lean them by {most:g}° at most"
            with pytest.raises(SizeError, match=says) as caught:
                made(lean_deg)
            assert caught.value.limit == (-most, most)
