"""Products for reports: a jar shelf whose names try everything, with findings, gaps and marks, made without an assembly."""

from __future__ import annotations

from dataclasses import replace

import cadquery as cq
from panelwright.assemblies.data.findings import Finding
from panelwright.assemblies.data.parts import Panel, Part
from panelwright.assemblies.data.product import Gap, Hardware, JointRecord, Product
from panelwright.assemblies.order.planning import plan_of
from panelwright.joints import tabs
from panelwright.plates.geometry.curves import Arc, Line, Loop, loop_through
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.materials.stock import Stock

BIRCH = Stock("birch plywood <i>4</i>", 4, kerf=0.2, density=680)
ACRYLIC = Stock("cast acrylic", 3, color="sky blue")
BASE = "base</script><script>document.title='owned'</script>"
WALL = 'wall <!-- & "jars" \''
LID = "lid\ud800 \u2028 <img src=x onerror=\"document.title='owned'\">"
NAME = "jar shelf </title><b>bold</b>"


def _loops(width: float, height: float) -> tuple[Loop, ...]:
    middle, radius = (width / 2, height / 2), 6.0
    east = (middle[0] + radius, middle[1])
    hole = Loop((Arc(east, east, middle, -6.283185307179586),))
    return (loop_through([(0, 0), (width, 0), (width, height), (0, height)]), hole)


def _part(name: str, stock: Stock, width: float, height: float, frame: Frame) -> Part:
    solid = cq.Workplane().rect(width, height, centered=False).extrude(stock.t)
    bored = solid.cut(cq.Workplane().center(width / 2, height / 2).circle(6).extrude(stock.t)).val()
    return Part(name, stock, frame, bored.wrapped, _loops(width, height))


def jar_shelf() -> Product:
    """A base, a wall that stands on it at the rear, and a lid over both, with one finding of each level, and its plan."""
    product = _without_plan()
    return replace(product, plan=plan_of(product))


def _without_plan() -> Product:
    upright = Frame((0, 56, 4), (1, 0, 0), (0, 0, 1), (0, -1, 0))
    parts = (
        _part(BASE, BIRCH, 120, 60, Frame()),
        _part(WALL, BIRCH, 120, 40, upright),
        _part(LID, ACRYLIC, 120, 60, Frame((0, 0, 44))),
    )
    marks = ((Line((10, 10), (40, 10)),),)
    panels = tuple(
        Panel(part.name, part.stock, (part.name,), part.loops, part.loops, marks, part.area_mm2, part.mass_kg) for part in parts
    )
    down, up = ((0.0, 0.0, -1.0),), ((0.0, 0.0, 1.0),)
    gaps = (Gap((30, 54, 2), (1, 0, 0), 0.1), Gap((90, 54, 2), (0, 1, 0), -0.05))
    return Product(
        NAME,
        parts,
        panels,
        (
            JointRecord("tabs", (WALL, BASE), ("<Z", ">Z"), 0.1, {"tab_mm": 10.0}, down, gaps=gaps, words=tabs().words),
            JointRecord("tabs", (WALL, LID), (">Z", "<Z"), 0.1, {}, up, words=tabs().words),
        ),
        (Hardware("ISO 4762 M3 × 16 <b>", 4, 0.001, "key & more"),),
        (
            Finding("error", "OVERLAP", (WALL, BASE), f"plates {WALL!r} and {BASE!r} share 3 mm³", (10.0, 55.0, 4.0)),
            Finding("warning", "WEB", (LID,), "web of 2 mm <script>", (115.0, 5.0, 47.0), {"web_mm": 2.0}),
            Finding("note", "UNHELD", (LID,), "the lid only lies there"),
        ),
    )
