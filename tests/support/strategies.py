"""Hypothesis strategies for what people build: boxes, divider grids, rows of tabs, and flat shapes."""

from __future__ import annotations

from typing import Any

from boxes import PLATES, STYLES, Box
from hypothesis import strategies as st
from panelwright.assemblies import Assembly
from panelwright.joints import cross_lap, fingers, join, tabs
from panelwright.plates import Frame, Outline, Stock, disc, hole, obround, rectangle

ENDS = st.sampled_from(["first", "second", "mixed"])
CLEARANCES = st.sampled_from([0.0, 0.05, 0.1, 0.2])
THICKNESSES = st.sampled_from([1.5, 3.0, 4.0, 6.2])


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    """Any box that a sheet could be cut for, some plates thicker than others."""
    if draw(st.booleans()):
        thickness: Any = draw(THICKNESSES)
    else:
        thickness = {name: draw(THICKNESSES) for name in PLATES}
    length = st.floats(30, 180).map(lambda value: round(value, 2))
    return Box(draw(length), draw(length), draw(length), thickness, draw(st.sampled_from(STYLES)), draw(st.booleans()))


@st.composite
def finger_joints(draw: st.DrawFn) -> Any:
    """Fingers by width or by count."""
    if draw(st.booleans()):
        return fingers(width=draw(st.floats(3, 40)), ends=draw(ENDS))
    return fingers(draw(st.integers(1, 6)), ends=draw(ENDS))


@st.composite
def divider_grids(draw: st.DrawFn) -> tuple[Assembly, int]:
    """n × m dividers that cross at many places, 10 mm apart at least; and the number of crossings."""
    height = draw(st.floats(20, 80))
    t = draw(THICKNESSES)
    assembly = Assembly("divider grid", stock=Stock("MDF", t, measured=t, cutter="knife", clearance=draw(CLEARANCES)))
    columns, rows = draw(st.integers(1, 4)), draw(st.integers(1, 4))
    places = st.integers(-7, 7).map(lambda value: 10.0 * value)
    xs = draw(st.lists(places, min_size=columns, max_size=columns, unique=True))
    ys = draw(st.lists(places, min_size=rows, max_size=rows, unique=True))
    across = [
        assembly.add(f"across {i}", rectangle(160, height), Frame.facing((0, y, 0), show=(0, -1, 0), right=(1, 0, 0)))
        for i, y in enumerate(ys)
    ]
    lift = draw(st.sampled_from([0.0, 5.0, -8.0]))
    along = [
        assembly.add(f"along {i}", rectangle(160, height), Frame.facing((x, 0, lift), show=(1, 0, 0), right=(0, 1, 0)))
        for i, x in enumerate(xs)
    ]
    joint = cross_lap(draw(st.floats(0.1, 0.9)), opens_up=draw(st.sampled_from(["first", "second"])))
    for one in along:
        for other in across:
            join(one, other, joint)
    return assembly, columns * rows


@st.composite
def tab_layouts(draw: st.DrawFn) -> tuple[Assembly, int]:
    """Walls on a base with holes, with tabs wanted in all ways that the spec allows; and the number of walls."""
    t = draw(THICKNESSES)
    base_shape = rectangle(200, 150)
    for column in draw(st.lists(st.integers(-4, 4), max_size=3, unique=True)):
        x, y = 20.0 * column + draw(st.floats(-2, 2)), draw(st.floats(-55, 55))
        size = draw(st.floats(3, 15))
        base_shape = base_shape.cut(hole(size).at(x, y))
    assembly = Assembly("brush rack", stock=Stock("birch plywood", t, measured=t, cutter="knife", clearance=draw(CLEARANCES)))
    base = assembly.add("base", base_shape)
    count = draw(st.integers(1, 3))
    for i in range(count):
        x, y = draw(st.floats(-70, 70)), -60 + 50 * i + draw(st.floats(-8, 8))
        length = draw(st.floats(20, 150))
        wall = assembly.add(
            f"wall {i}",
            rectangle(length, 40),
            Frame.facing((x, y, t + 20), show=(0, -1, 0), right=(1, 0, 0)),
        )
        options: dict[str, Any] = draw(
            st.fixed_dictionaries(
                {},
                optional={
                    "width": st.floats(2, 40),
                    "margin": st.floats(0, 30),
                    "proud": st.floats(0, 10),
                },
            )
        )
        kind = draw(st.sampled_from(["count", "pitch", "at", "none"]))
        if kind == "count":
            options["count"] = draw(st.integers(1, 6))
        elif kind == "pitch":
            options["pitch"] = draw(st.floats(10, 60))
        elif kind == "at":
            options["at"] = draw(st.lists(st.floats(0, 150), min_size=1, max_size=3))
        join(wall.face("<Z"), base.face(">Z"), tabs(**options))
    return assembly, count


def flat_shapes(kinds: str = "rectangle circle turned obround") -> st.SearchStrategy[Outline]:
    """Rectangles, circles, turned rectangles and obrounds on a coarse grid, so that edges often coincide."""
    grid = st.integers(-6, 6).map(lambda value: 5.0 * value)
    size = st.integers(1, 6).map(lambda value: 5.0 * value)
    known: dict[str, st.SearchStrategy[Outline]] = {
        "rectangle": st.builds(lambda w, h, x, y: rectangle(w, h).at(x, y), size, size, grid, grid),
        "circle": st.builds(lambda d, x, y: disc(d).at(x, y), size, grid, grid),
        "turned": st.builds(
            lambda w, h, a, x, y: rectangle(w, h).turned(a).at(x, y),
            size,
            size,
            st.sampled_from([15.0, 30.0, 45.0, 60.0, 71.3]),
            grid,
            grid,
        ),
        "obround": st.builds(lambda w, x, y: obround(w + 5, w).at(x, y), size, grid, grid),
    }
    return st.one_of([known[kind] for kind in kinds.split()])
