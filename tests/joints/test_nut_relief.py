"""Nuts in routed pockets, judged from outside: a disc swept along the paths of the exported DXF, and nuts and screws put in.

Of each size the largest nut that its standard allows has to go in, must not turn, and bears on the whole of both shoulders.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
import shapely
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.proof.measured_gaps import measured
from panelwright.joints import dog_bone, join, t_bone, t_nut, tabs
from panelwright.joints.kinds.captures.nut_relief import LEAST_END, largest_tool
from panelwright.joints.spec.fasteners import CLEARANCE_HOLES, NUTS, SIZES, NutBody, ScrewBody
from panelwright.joints.spec.pattern import Joint
from panelwright.joints.spec.relief import Relief
from panelwright.plates import Stock, rectangle, standing
from panelwright.plates.errors import JointError
from panelwright.plates.geometry.probe import Probe
from routers import swept
from shapely import affinity

TOUCH = 2e-3
"""How near to a surface lines are laid to see whether it is there, mm: above the chords of the swept disc, below any play."""

ROUNDING = 1e-3
"""Area in mm² that chords of a disc of 64 a quarter cost."""


def router(thickness: float, kerf: float, clearance: float = 0.15) -> Stock:
    """A stock as the router cuts it."""
    return Stock("MDF", thickness, measured=thickness, kerf=kerf, clearance=clearance, cutter="router")


def stand(joint: Joint, stock: Stock, relief: Relief | None = None) -> Assembly:
    """A wall of 180 x 90 upright on a base of 200 x 100, in its middle."""
    assembly = Assembly("card stand", stock=stock, relief=relief)
    base = assembly.add("base", rectangle(200, 100))
    wall = assembly.add("wall", rectangle(180, 90), standing(base.face(">Z"), facing="-Y", inset=None))
    join(wall.face("<Z"), base.face(">Z"), joint)
    return assembly


def box(x0: float, y0: float, x1: float, y1: float) -> Any:
    return shapely.box(x0, y0, x1, y1)


def across_sheet(body: NutBody, turn_deg: float, t: float) -> Any:
    """What of a nut, turned about its screw, lies in a sheet; along the line and across the sheet."""
    reach = body.s / (2 * math.cos(math.pi / body.sides))
    angles = [(2 * i + 1) * math.pi / body.sides for i in range(body.sides)]
    nut = shapely.Polygon([(reach * math.cos(a), reach * math.sin(a)) for a in angles])
    assert nut.bounds[2] == pytest.approx(body.s / 2), "not turned, two flats face the pocket's ends"
    return affinity.rotate(nut, turn_deg, (0, 0)).intersection(box(-50, -t / 2, 50, t / 2))


def assert_holds(product: Product, tool: float) -> None:
    """Nuts and screws go in where they sit, the nut can't turn, and both shoulders bear it on all of their length."""
    assert product.findings == ()
    base, wall = product.panels
    assert base.stock.kerf == wall.stock.kerf == tool
    t = wall.stock.t
    board, _ = swept(wall)
    _, holes = swept(base)
    numbers = product.joints[0].numbers
    bolts = [b.fastener.body for b in product.bought if isinstance(b.fastener.body, ScrewBody)]
    nuts = [b.fastener.body for b in product.bought if isinstance(b.fastener.body, NutBody)]
    assert len(bolts) == len(nuts) == len(numbers["positions_mm"]) == 2
    for x, bolt, nut in zip(numbers["positions_mm"], bolts, nuts, strict=True):
        web, d, half = numbers["web_mm"], bolt.d, nut.s / 2
        # the largest nut, drawn up to the web, and the screw right to its tip, square as it is not
        for thing in (box(x - half, web, x + half, web + nut.m), box(x - d / 2, 0, x + d / 2, bolt.reach - t)):
            assert thing.intersection(board).area < ROUNDING
        assert shapely.Point(10 + x, 50).buffer(d / 2, quad_segs=64).difference(holes).area < ROUNDING
        # shoulders: all that the slot leaves of the nut's width
        bears = shapely.LineString([(x - half, web - TOUCH), (x + half, web - TOUCH)]).intersection(board)
        assert bears.length == pytest.approx(nut.s - numbers["slot_mm"][0], abs=0.01)
        # ends: what stands beside the nut's flats, and how far apart
        kept = []
        for side in (-1, 1):
            end = x + side * ((nut.s + 0.15) / 2 + TOUCH)
            kept.append(shapely.LineString([(end, web), (end, web + nut.m)]).intersection(board).length)
        assert kept == pytest.approx([nut.m - tool] * 2, abs=0.06)
        assert numbers["ends_keep_mm"] == pytest.approx(nut.m - tool)
        assert min(kept) > LEAST_END * nut.m - 0.06
        row = shapely.LineString([(x - 20, web + (tool + nut.m) / 2), (x + 20, web + (tool + nut.m) / 2)]).difference(board)
        (free,) = [piece for piece in getattr(row, "geoms", [row]) if piece.distance(shapely.Point(x, row.bounds[1])) < 1e-9]
        assert free.length == pytest.approx(nut.s + 0.15, abs=0.01)
        period = 360 / nut.sides
        for turn in (0.0, 10.0, period / 2, period - 10):
            section = across_sheet(nut, turn, t)
            wide = section.bounds[2] - section.bounds[0]
            assert (wide > free.length + 0.1) is (turn > 0), f"turned by {turn} degrees"


Style = Callable[[float], Relief]


@cache
def assert_made(size: str, t: float, tool: float, style: Style) -> None:
    """The same for two nuts of a size; each case is looked at once."""
    assert_holds(stand(t_nut(size, 2, relief=style(tool)), router(t, tool)).product(), tool)


def refused(made: Assembly) -> str:
    """Why a stand can't be made."""
    with pytest.raises(JointError) as caught:
        made.resolve()
    assert caught.value.plates == ("wall", "base")
    return str(caught.value)


CASES = [(size, t) for size in SIZES for t in (4.0, 6.0, 9.0, 12.0) if (size, t) != ("M2.5", 12.0)]
"""No M2.5 screw is long enough for a mate and a web of 12 mm."""


TOOLS = (2.0, 3.0, 3.175)
STYLES = (dog_bone, t_bone)


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("tool", TOOLS)
@pytest.mark.parametrize("size", SIZES)
def test_routed_captures_hold_or_name_the_largest_tool_that_does(size: str, tool: float, style: Style) -> None:
    """For every thickness: nut and screw go in and are held, or an error names a tool and a nut with which they are.

    Thicknesses are taken by turns, so that any three of size, thickness, tool and style meet but not all four.
    """
    turn = list(SIZES).index(size) + TOOLS.index(tool) + STYLES.index(style)
    passes = {"M4": tool == 2.0, "M5": True, "M6": True}.get(size, False)
    for t in [t for known, t in CASES if known == size][turn % 2 :: 2]:
        if passes:
            assert_made(size, t, tool, style)
            continue
        message = refused(stand(t_nut(size, 2, relief=style(tool)), router(t, tool)))
        most, other = {"M2.5": 1.4, "M3": 1.68, "M4": 2.24}[size], "M4" if tool == 2.0 else "M5"
        assert f"use a tool of at most {most:g} mm, or a thicker nut, such as ISO 4032 {other} (joined" in message
        assert_made(size, t, most, style)
        assert_made(other, t, tool, style)
        refused(stand(t_nut(size, 2, relief=style(most + 0.01)), router(t, most + 0.01)))


@pytest.mark.parametrize(("standard", "size"), [(standard, size) for standard in NUTS for size in NUTS[standard]])
def test_every_kind_of_nut_is_held_after_its_largest_tool(standard: str, size: str) -> None:
    """Squares and thin nuts too; no such tool is as wide as the narrowest slot, nor as a shoulder is far from the tip's end."""
    tool = largest_tool(NUTS[standard][size])
    assert tool < min(series[size] for series in CLEARANCE_HOLES.values())
    assert_holds(stand(t_nut(size, 2, nut=standard, relief=t_bone(tool)), router(6.0, tool)).product(), tool)


def test_relief_for_the_whole_assembly_reaches_captures() -> None:
    """It needn't be the joint's own, and where no nut is thick enough none is named."""
    assert_holds(stand(t_nut("M5", 2), router(6.0, 3.175), dog_bone(3.175)).product(), 3.175)
    (finding,) = stand(t_nut("M4", 2), router(6.0, 3.175), dog_bone(3.175)).check()[:1]
    assert (finding.level, finding.code) == ("error", "JOINT")
    assert "leaves 0.03 mm of the pocket's ends to keep nut ISO 4032 M4, 3.2 mm thick" in finding.message
    message = refused(stand(t_nut("M6", 2), router(12.0, 6.0), t_bone(6.0)))
    assert "takes 1.56 mm; use a tool of at most 3.64 mm (joined" in message, "there is no nut for such a tool"


def test_what_is_advised_without_relief_helps() -> None:
    """A router without relief is told of relief where that will do, and of a smaller cutter where it won't."""
    (finding,) = stand(t_nut("M5", 2), router(6.0, 3.175)).check()
    assert (finding.code, "ask for relief=dog_bone(3.175) or t_bone(3.175)" in finding.message) == ("RELIEF", True)
    (finding,) = stand(t_nut("M3", 2), router(6.0, 3.175)).check()
    assert finding.code == "RELIEF"
    assert "use a cutter of at most 1.68 mm and ask for relief=dog_bone or t_bone of its diameter" in finding.message
    (finding,) = stand(t_nut("M3", 2, relief=t_bone(1.5)), router(6.0, 3.175)).check()
    assert finding.code == "RELIEF"
    assert "cut with a tool of at most 1.68 mm" in finding.message
    assert "3.175)" not in finding.message


def test_tabs_between_nuts_keep_the_relief_asked_for() -> None:
    """Dog-bones at the tabs, bores at the nuts, and webs that the proof doesn't find thin however many there are room for."""
    stock = router(4.0, 2.0)
    for count in (1, 2, 3):
        joint = t_nut("M4", count, tabs=tabs(count + 1, width=10), relief=dog_bone(2.0))
        assert stand(joint, stock).check() == ()
    crowded = t_nut("M4", 11, relief=dog_bone(2.0))
    assert stand(crowded, stock).check() == ()


def test_nothing_is_said_of_reliefs_where_a_nut_is_loose() -> None:
    """A loose pocket isn't mended by another relief; a loose slot of the tabs beside it may be."""
    resolved = stand(t_nut("M5", 1, tabs=tabs(2, width=20), relief=dog_bone(3.0)), router(6.0, 3.0)).resolve()
    (made,) = resolved.made
    probes = {part.name: Probe(part.loops) for part in resolved.parts}
    assert measured(made, probes)[1] == []

    def told(fits: Sequence[Any]) -> list[str]:
        loose = [replace(fit, clearance=fit.clearance - 0.05) for fit in fits]
        found = measured(replace(made, layout=replace(made.layout, fits=tuple(loose))), probes)[1]
        assert {finding.code for finding in found} == {"FIT-LOOSE"}
        return [finding.message for finding in found]

    nuts = told([fit for fit in made.layout.fits if isinstance(fit.insert, float) and fit.is_spared])
    assert len(nuts) == 5
    assert not any("relief" in message for message in nuts)
    beside = told([fit for fit in made.layout.fits if not fit.is_spared])
    assert beside
    assert all(message.endswith("use a smaller tool or t_bone()") for message in beside)
