"""DXF files of outlines with splines: ends that meet, extents that are true, sizes that are those of the curve."""

from __future__ import annotations

import io
import itertools
import math
from typing import Any

import cadquery as cq
import pytest
from ezdxf.filemanagement import read as read_dxf
from panelwright.assemblies import Assembly
from panelwright.assemblies.files.dxf import flat_dxf, layered_dxf
from panelwright.assemblies.proof.prove import prove
from panelwright.plates import Stock, disc, outline_of, rectangle
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Loop, Motion, Spline
from panelwright.plates.geometry.offset import cut_paths
from panelwright.plates.outlines.outline import Outline


def read(data: bytes) -> Any:
    return read_dxf(io.StringIO(data.decode("ascii")))


def leaf() -> Outline:
    """A leaf of two splines, one line and one arc: its control points stand well outside."""
    wire = (
        cq.Workplane()
        .spline([(0, 0), (90.1, 71.3), (210.7, 88.9), (320.03, 7.1)])
        .threePointArc((321.2, 0.13), (319.7, -6.9))
        .spline([(319.7, -6.9), (190.3, -90.7), (70.9, -60.1), (3.3, -9.9)], includeCurrent=False)
        .close()
    )
    return outline_of(wire)


def ends(entity: Any) -> tuple[Any, Any]:
    if entity.dxftype() == "LINE":
        return tuple(entity.dxf.start), tuple(entity.dxf.end)
    if entity.dxftype() in ("ARC", "ELLIPSE"):
        return tuple(entity.start_point), tuple(entity.end_point)
    return tuple(entity.control_points[0]), tuple(entity.control_points[-1])


@pytest.mark.parametrize("kerf", [0.0, 0.2])
def test_entities_of_one_loop_meet_within_a_millionth_of_a_millimetre(kerf: float) -> None:
    """Each entity of the leaf ends where the next one begins, all round, whichever way it is written."""
    half = EllipseArc((123.4567894, 7.6543216), (300.1000004, 33.3), 0.4, 0.0, math.pi)
    wide = Arc((0.0, 0.0), (700.0000004, 0.0), (350.0000002, 923.4567894), 2 * math.asin(350.0000002 / 987.5431))
    wide = Arc(wide.point_at(0.0), wide.point_at(0.999999999999), wide.center, wide.sweep)
    crown = Spline(2, (wide.end, (310.1, 233.3), wide.start), (0, 0, 0, 1, 1, 1))
    made = (Loop((half, Line(half.end, half.start))), Loop((wide, crown)))
    moved = [(loop.moved(Motion.shift(k * 0.1234567, k * 0.7654321)),) for loop in made for k in range(25)]
    for loops in (leaf().loops, leaf().turned(12.3).at(1234.5678, 901.2345).loops, *moved):
        paths = cut_paths(loops, kerf, panel="leaf")
        entities = list(read(flat_dxf(paths)).modelspace())
        assert len(entities) >= 2
        for one, two in itertools.pairwise([*entities, entities[0]]):
            assert min(math.dist(a[:2], b[:2]) for a in ends(one) for b in ends(two)) < 2e-8, (one, two)


def test_a_panel_is_as_large_as_its_curve() -> None:
    """The leaf's size is that of 4,000 points on it, in the outline, the panel, the sheet's limit and mirrored."""
    outline = leaf()
    points = [segment.point_at(i / 1000) for segment in outline.outer for i in range(1001)]
    size = tuple(max(p[axis] for p in points) - min(p[axis] for p in points) for axis in (0, 1))
    assert outline.size == pytest.approx(size, abs=1e-3)
    assert outline.mirrored().turned(90).size == pytest.approx(size[::-1], abs=1e-3)
    poles = [pole for segment in outline.outer for pole in getattr(segment, "poles", ())]
    assert max(p[1] for p in poles) - min(p[1] for p in poles) > size[1] + 5  # or this would show nothing
    for spare, told in ((10.01, False), (9.99, True)):  # a margin of 5 mm all round
        stock = Stock("birch plywood", 4, sheet=(size[0] + spare, size[1] + spare))
        assembly = Assembly("leaf", stock=stock)
        assembly.add("leaf", outline)
        codes = [finding.code for finding in assembly.check() if finding.level == "error"]
        assert ("SHEET" in codes) is told
        (panel,) = prove(assembly).panels
        assert panel.bbox_mm == pytest.approx(size, abs=1e-3)


def test_extents_are_those_of_all_that_is_drawn() -> None:
    """Header and model space tell the box of curves, marks and strokes; no extents anywhere are ±1e20."""
    mark = (Line((-30.0, 0.0), (-28.0, 41.5)),)
    document = read(flat_dxf([*rectangle(50, 30).loops, disc(4).outer.clockwise()], [mark]))
    for low, high in (
        (document.header["$EXTMIN"], document.header["$EXTMAX"]),
        (document.modelspace().dxf.extmin, document.modelspace().dxf.extmax),
    ):
        assert (low[0], low[1], high[0], high[1]) == (-30, -15, 25, 41.5)
    text = layered_dxf({"MARK": [mark]}, (0, 0, 600, 400))
    assert b"1e+20" not in text
    document = read(text)
    assert tuple(document.header["$EXTMIN"])[:2] == (-30, 0)
    assert tuple(document.header["$LIMMAX"])[:2] == (600, 400)
    curved = leaf()
    header = read(flat_dxf(curved.loops)).header
    found = (*header["$EXTMIN"][:2], *header["$EXTMAX"][:2])
    assert found == pytest.approx(curved.bounds, abs=1e-6)
