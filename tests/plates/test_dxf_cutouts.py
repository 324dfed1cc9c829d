"""Cut-outs from DXF files: every closed loop of the layers that were asked for, where it was drawn, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from panelwright.plates import OutlineError, cutouts_from_dxf, outline_from_dxf

Draw = Callable[[Any], None]


def drawing(folder: Path, draw: Draw, *, units: int = 4) -> Path:
    """A DXF file that `draw` filled."""
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = units
    draw(document.modelspace())
    document.saveas(folder / "rack.dxf")
    return folder / "rack.dxf"


def on(layer: str) -> dict[str, str]:
    return {"layer": layer}


def rack(space: Any) -> None:
    """A plate with three brush holes and a slot of loose pieces, whose straight half is on a layer of its own."""
    space.add_lwpolyline([(0, 0), (120, 0), (120, 60), (0, 60)], close=True, dxfattribs=on("plate"))
    for x in (90, 30, 60):
        space.add_circle((x, 45), 5, dxfattribs=on("brushes"))
    space.add_line((40, 10), (80, 10), dxfattribs=on("straight"))
    space.add_line((80, 20), (40, 20), dxfattribs=on("straight"))
    space.add_arc((80, 15), 5, -90, 90, dxfattribs=on("round"))
    space.add_arc((40, 15), 5, 90, 270, dxfattribs=on("round"))
    space.add_text("rack", dxfattribs=on("brushes"))


def test_holes_come_in_order_of_place_and_stay_where_they_are(tmp_path: Path) -> None:
    """Three circles on a layer are three cut-outs, from left to right, whatever the order in the file."""
    holes = cutouts_from_dxf(drawing(tmp_path, rack), layers="Brushes")
    assert [hole.bounds for hole in holes] == [(x - 5, 40, x + 5, 50) for x in (30, 60, 90)]
    assert all(hole.outer.is_circle and hole.area == pytest.approx(25 * math.pi) and not hole.holes for hole in holes)


def test_a_loop_may_lie_on_several_layers(tmp_path: Path) -> None:
    """Pieces on two of the layers that are read make one loop, whose lines and arcs stay lines and arcs."""
    (slot,) = cutouts_from_dxf(drawing(tmp_path, rack), layers=["straight", "round"])
    assert sorted(type(segment).__name__ for segment in slot.outer) == ["Arc", "Arc", "Line", "Line"]
    assert slot.area == pytest.approx(40 * 10 + 25 * math.pi)


def test_cut_outs_go_into_the_outline_of_the_same_file(tmp_path: Path) -> None:
    """The plate less its cut-outs has their area less, and each as a hole, inches told by the file or by hand."""
    for units, unit, scale in ((1, None, 25.4), (4, "cm", 10.0)):
        file = drawing(tmp_path, rack, units=units)
        plate = outline_from_dxf(file, layer="plate", unit=unit)
        whole = plate.cut(cutouts_from_dxf(file, layers=("brushes", "straight", "round"), unit=unit))
        assert len(whole.holes) == 4
        assert whole.area == pytest.approx(scale**2 * (120 * 60 - 400 - 4 * 25 * math.pi))


def test_all_layers_are_read_unless_some_are_named(tmp_path: Path) -> None:
    """A drawing of holes only needs no layer, on however many they are."""

    def holes(space: Any) -> None:
        for number in range(200):
            space.add_circle((10.0 * number, 0), 3, dxfattribs=on(f"row {number % 3}"))

    assert len(cutouts_from_dxf(drawing(tmp_path, holes))) == 200


def test_a_loop_in_another_is_refused(tmp_path: Path) -> None:
    """What lies in a cut-out falls out with it, so the message tells both loops and where they are."""
    text = r"CIRCLE \(handle .* lies in the loop of LWPOLYLINE .* around \(60, 30\).* would fall out with that cut-out"
    with pytest.raises(OutlineError, match=text):
        cutouts_from_dxf(drawing(tmp_path, rack))


@pytest.mark.parametrize(
    ("layers", "text"),
    [
        ("lids", r"layer 'lids': there is nothing to read; layers in use are 'brushes', 'plate', 'round', 'straight'"),
        (["brushes", "lids"], r"layers 'brushes', 'lids': there is nothing to read on layer 'lids'; layers in use"),
        ("straight", r"layer 'straight': the outline is open at \(40, 10\)"),
    ],
)
def test_layers_without_a_closed_loop_are_refused(tmp_path: Path, layers: Any, text: str) -> None:
    """A name that is on no layer is refused beside others that are, and so is a layer with an open chain."""
    with pytest.raises(OutlineError, match=text):
        cutouts_from_dxf(drawing(tmp_path, rack), layers=layers)


def test_loops_that_cross_or_are_doubled_are_refused(tmp_path: Path) -> None:
    """Two cut-outs that meet could be read in two ways, and one drawn twice is cut twice."""

    def crossing(space: Any) -> None:
        space.add_circle((0, 0), 5)
        space.add_circle((8, 0), 5)

    def doubled(space: Any) -> None:
        space.add_circle((0, 0), 5)
        space.add_circle((0, 0), 5)

    with pytest.raises(OutlineError, match="meet at"):
        cutouts_from_dxf(drawing(tmp_path, crossing))
    with pytest.raises(OutlineError, match="run along each other"):
        cutouts_from_dxf(drawing(tmp_path, doubled))


@pytest.mark.parametrize("layers", [[], 3, [3], [None], {"rack": 3}.items(), ""])
def test_layers_must_be_names(tmp_path: Path, layers: Any) -> None:
    """Whatever is no name or list of names is refused by the toolkit's own error."""
    with pytest.raises(OutlineError, match=r"layer"):
        cutouts_from_dxf(drawing(tmp_path, rack), layers=layers)
