"""A rack for bucket lids that carries its own test: `pytest design_with_a_test.py` tells whoever changes it next."""

from typing import Annotated

from panelwright.assemblies import Assembly, stock
from panelwright.assemblies.testing import assert_assembles
from panelwright.joints import join_touching, tabs
from panelwright.plates import Range, rectangle, rounded_rectangle, standing

BIRCH = stock("birch 6")
LID = 22.0  # how thick a bucket's lid is, in mm


def design(lids: Annotated[int, Range(3, 8)] = 5, depth: Annotated[float, Range(140, 240)] = 200.0) -> Assembly:
    """A rack for bucket lids.

    Args:
        lids: how many it holds.
        depth: from front to rear, in mm.
    """
    pitch = LID + 4 + BIRCH.t
    rack = Assembly("lid rack", stock=BIRCH)
    floor = rack.add("floor", rectangle(lids * pitch + 4 * BIRCH.t, depth))
    fin = rounded_rectangle(depth - 40, 110, [0, 0, 40, 40])
    for i in range(lids + 1):
        rack.add(f"fin {i + 1}", fin, standing(floor.face(">Z"), facing="-X", inset=1.5 * BIRCH.t + i * pitch))
    join_touching(rack, tabs(count=2, width=24))
    return rack


def test_every_lid_has_room() -> None:
    """Between two fins there is room for a lid, and the proof finds nothing wrong."""
    rack = design(lids=4)
    gaps = [rack[f"fin {i + 1}"].frame.origin[0] - rack[f"fin {i}"].frame.origin[0] - BIRCH.t for i in range(1, 5)]
    assert min(gaps) >= LID + 2
    assert rack.check() == ()
    assert_assembles(rack)
