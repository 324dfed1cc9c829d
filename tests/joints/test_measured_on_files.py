"""Fit and layout of tabs, fingers, laps and passages, measured from outside: on the DXF as written, by shapely.

Each expected shape is derived by hand from the sizes in the design, step by step beside it, and shares no code with the
toolkit.  All plates are of a sheet 5 mm thick that measures 4.8, clearance 0.1, kerf 0.2.  Coordinates are those of the panel,
from its lower left corner.
"""

from __future__ import annotations

import io
from typing import Any

import ezdxf
import pytest
import shapely
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.files.dxf import panel_dxf
from panelwright.joints import cross_lap, fingers, join, pass_through, tabs
from panelwright.plates import Frame, Stock, rectangle, standing
from shapely import box

STOCK = Stock("birch plywood", 5, measured=4.8, kerf=0.2, clearance=0.1)
HALF_KERF = 0.1
MITRE: dict[str, Any] = {"join_style": "mitre", "mitre_limit": 10.0}


def left_by_the_beam(product: Product, plate: str) -> Any:
    """What the machine leaves of a plate: its cut paths as written, half a kerf off either side, from the lower left corner."""
    (panel,) = [panel for panel in product.panels if plate in panel.plates]
    drawing = ezdxf.read(io.StringIO(panel_dxf(panel).decode()))  # type: ignore[attr-defined]  # known to be there
    outside, inside = [], []
    for entity in drawing.modelspace():
        assert entity.dxftype() == "LWPOLYLINE"
        assert entity.closed
        corners = [(x, y) for x, y, bulge in entity.get_points("xyb") if not bulge]
        assert len(corners) == len(entity)
        (outside if entity.dxf.layer == "CUT-OUTSIDE" else inside).append(shapely.Polygon(corners))
    (path,) = outside
    shape = path.buffer(-HALF_KERF, **MITRE)
    for hole in inside:
        shape = shape.difference(hole.buffer(HALF_KERF, **MITRE))
    x, y, *_ = shape.bounds
    return shapely.affinity.translate(shape, -x, -y)


def assert_same(found: Any, expected: Any) -> None:
    """Nowhere more than a micrometre apart."""
    assert shapely.hausdorff_distance(found.boundary, expected.boundary) < 1e-3
    assert found.symmetric_difference(expected).area < 1e-3 * expected.length


def test_tabs() -> None:
    """Two tabs of 20 on 120 mm: quarters at 30 and 90; slots 20.1 × 4.9 about (10 + 30, 30) and (10 + 90, 30)."""
    made = Assembly("tray", stock=STOCK)
    base = made.add("base", rectangle(140, 60))
    wall = made.add("wall", rectangle(120, 50), standing(base.face(">Z"), facing="-Y", inset=None))
    join(wall.face("<Z"), base.face(">Z"), tabs(count=2, width=20))
    product = made.product()
    assert product.findings == ()
    # the wall stands on its shoulders; tabs go 4.8 mm down, through the base
    body = box(0, 4.8, 120, 54.8)
    assert_same(left_by_the_beam(product, "wall"), shapely.union_all([body, box(20, 0, 40, 4.8), box(80, 0, 100, 4.8)]))
    slots = [box(m - 10.05, 30 - 2.45, m + 10.05, 30 + 2.45) for m in (40, 100)]
    assert_same(left_by_the_beam(product, "base"), box(0, 0, 140, 60).difference(shapely.union_all(slots)))


def test_tabs_that_choose_and_a_hole() -> None:
    """Three tabs of 10 on 120 mm with a hole 20 wide in the middle of the base, webs of 4.8.

    Free are 0 to 45.2 and 74.8 to 120, alike, so the odd one goes to the first: quarters of 45.2 there, the other's middle.
    """
    made = Assembly("tray", stock=STOCK)
    base = made.add("base", rectangle(140, 60).cut(rectangle(20, 20)))
    wall = made.add("wall", rectangle(120, 50), standing(base.face(">Z"), facing="-Y", inset=None))
    join(wall.face("<Z"), base.face(">Z"), tabs(count=3, width=10))
    product = made.product()
    assert product.findings == ()
    middles = (10 + 11.3, 10 + 33.9, 10 + 97.4)
    taken = [box(60, 20, 80, 40), *(box(m - 5.05, 27.55, m + 5.05, 32.45) for m in middles)]
    assert_same(left_by_the_beam(product, "base"), box(0, 0, 140, 60).difference(shapely.union_all(taken)))


def corner(joint: Any, length: float = 100.0) -> Product:
    """A base and a front that share the corner along the base's front edge."""
    made = Assembly("tray", stock=STOCK)
    base = made.add("base", rectangle(length, 60))
    front = made.add("front", rectangle(length, 40), Frame.facing((0, -30 + 4.8, 20), show=(0, -1, 0), right=(1, 0, 0)))
    join(base.face("<Y"), front.face("<Z"), joint)
    return made.product()


def test_fingers() -> None:
    """Three fingers of the base, five cells of 20 mm; the base keeps its nominal width, the front's openings grow by 0.05.

    At the bottom of every opening facing surfaces stand 0.05 apart: openings are 4.85 deep.
    """
    product = corner(fingers(count=3))
    assert product.findings == ()
    base = box(0, 0, 100, 60).difference(shapely.union_all([box(20, 0, 40, 4.85), box(60, 0, 80, 4.85)]))
    assert_same(left_by_the_beam(product, "base"), base)
    openings = [box(0, 0, 20.05, 4.85), box(39.95, 0, 60.05, 4.85), box(79.95, 0, 100, 4.85)]
    assert_same(left_by_the_beam(product, "front"), box(0, 0, 100, 40).difference(shapely.union_all(openings)))


@pytest.mark.parametrize(
    ("length", "ends", "cells"),
    [
        (12, "first", 1),  # shorter than the 14.4 mm that a finger would be: the first plate keeps it all
        (12, "second", 3),  # the second has both ends, so there must be one between
        (12, "mixed", 2),
        (42, "first", 3),  # 42 / 14.4 = 2.92
        (42, "second", 3),
        (42, "mixed", 2),
        (60, "mixed", 4),  # 4.17
        (60, "first", 5),  # 4.17 lies between 3 and 5, a little nearer to 5
    ],
)
def test_least_number_of_fingers(length: float, ends: Any, cells: int) -> None:
    """About three thicknesses wide, of the right parity, and never fewer than both plates need to interlock at all.

    Counted on the base's file: each cell of the front is an opening 4.85 mm deep in the base's front edge.
    """
    product = corner(fingers(ends=ends), length)
    assert product.joints[0].numbers["count"] == cells
    shape = left_by_the_beam(product, "base")
    x0, _, x1, _ = shape.bounds
    edge = shape.intersection(shapely.LineString([(x0 - 1, 2.4), (x1 + 1, 2.4)]))
    owned = len(getattr(edge, "geoms", [edge]))
    assert owned == {"first": (cells + 1) // 2, "second": cells // 2, "mixed": cells // 2}[ends]
    assert edge.length == pytest.approx(owned * length / cells, abs=1e-3)


@pytest.mark.parametrize(("ratio", "low"), [(0.5, 20.0), (0.25, 10.0)])
def test_cross_lap(ratio: float, low: float) -> None:
    """Two plates of 100 × 40 cross in their middles: slots 4.9 wide, which together take 40 mm and the clearance."""
    made = Assembly("grid", stock=STOCK)
    one = made.add("one", rectangle(100, 40), Frame.facing((0, 2.4, 20), show=(0, -1, 0), right=(1, 0, 0)))
    other = made.add("other", rectangle(100, 40), Frame.facing((2.4, 0, 20), show=(-1, 0, 0), right=(0, -1, 0)))
    join(one, other, cross_lap(ratio=ratio))
    product = made.product()
    slots = {name: box(0, 0, 100, 40).difference(left_by_the_beam(product, name)) for name in ("one", "other")}
    for slot in slots.values():
        x0, y0, x1, y1 = slot.bounds
        assert (x0, x1) == pytest.approx((47.55, 52.45), abs=1e-3)
        assert slot.area == pytest.approx((x1 - x0) * (y1 - y0), abs=1e-2)
        assert y0 == pytest.approx(0, abs=1e-3) or y1 == pytest.approx(40, abs=1e-3)
    depths = {name: slot.bounds[3] - slot.bounds[1] for name, slot in slots.items()}
    assert sum(depths.values()) == pytest.approx(40.1, abs=1e-3)
    assert min(depths.values()) == pytest.approx(low + 0.05, abs=1e-3)
    # one opens up and the other down; at half the height they are the same panel, turned
    assert {slot.bounds[1] < 1 for slot in slots.values()} == ({True, False} if ratio != 0.5 else {False})
    assert len(product.panels) == (2 if ratio != 0.5 else 1)


def test_passage() -> None:
    """A rail of 20 × 4.8 goes through a rib whose middle stands 5 - 2.4 = 2.6 mm above the rail's: an opening of 20.1 × 4.9."""
    made = Assembly("stand", stock=STOCK)
    rail = made.add("rail", rectangle(160, 20))
    rib = made.add("rib", rectangle(60, 50), Frame.facing((0, 0, 5), show=(1, 0, 0), right=(0, 1, 0)))
    join(rail, rib, pass_through())
    product = made.product()
    assert product.findings == ()
    assert_same(left_by_the_beam(product, "rail"), box(0, 0, 160, 20))
    hole = box(30 - 10.05, 25 - 2.6 - 2.45, 30 + 10.05, 25 - 2.6 + 2.45)
    assert_same(left_by_the_beam(product, "rib"), box(0, 0, 60, 50).difference(hole))
