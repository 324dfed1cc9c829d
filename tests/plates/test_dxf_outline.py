"""Outlines from DXF files: what is read exactly, and each thing that is refused, with its place."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from panelwright.plates.errors import OutlineError
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Loop, Spline
from panelwright.plates.outlines.dxf_outline import outline_loops_from_dxf

SQUARE = [(0, 0), (60, 0), (60, 40), (0, 40)]
Draw = Callable[[Any], None]


def drawing(path: Path, draw: Draw, *, units: int | None = 4, version: str = "R2000") -> Path:
    """A DXF file that `draw` filled; `units` is $INSUNITS, None leaves it out."""
    import ezdxf

    doc = ezdxf.new(version)
    if units is None:
        del doc.header["$INSUNITS"]
    else:
        doc.header["$INSUNITS"] = units
    draw(doc.modelspace())
    file = path / "tray.dxf"
    doc.saveas(file)
    return file


def square(space: Any, layer: str = "0", x: float = 0.0, y: float = 0.0, size: float = 60.0) -> None:
    corners = [(x, y), (x + size, y), (x + size, y + size), (x, y + size)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def lines(space: Any, corners: list[tuple[float, float]], *, closed: bool = True, layer: str = "0") -> None:
    ends = corners[1:] + corners[:1] if closed else corners[1:]
    for start, end in zip(corners, ends, strict=False):
        space.add_line(start, end, dxfattribs={"layer": layer})


def assert_closed(loop: Loop) -> None:
    for a, b in zip(loop.segments, loop.segments[1:] + loop.segments[:1], strict=True):
        assert math.dist(a.end, b.start) < 1e-7


def test_polyline_with_bulges_and_holes(tmp_path: Path) -> None:
    """A closed LWPOLYLINE with bulges is the outline; circles in it are holes, clockwise, and stay circles."""

    def draw(space: Any) -> None:
        space.add_lwpolyline([(0, 0, 0), (60, 0, 1), (60, 40, 0), (0, 40, 0)], format="xyb", close=True)
        space.add_circle((20, 20), 5)
        space.add_circle((40, 20), 3)

    outline, *holes = outline_loops_from_dxf(drawing(tmp_path, draw))
    assert outline.area == pytest.approx(2400 + math.pi * 400 / 2)
    assert [hole.is_circle for hole in holes] == [True, True]
    assert [hole.area for hole in holes] == pytest.approx([-math.pi * 25, -math.pi * 9])
    assert_closed(outline)


def test_loose_pieces_in_any_order_and_direction(tmp_path: Path) -> None:
    """LINE, ARC, ELLIPSE and SPLINE laid end to end, shuffled and some reversed, chain to one loop of exact curves."""

    def draw(space: Any) -> None:
        space.add_line((60, 40), (60, 10))
        space.add_arc((50, 10), 10, 270, 0)
        space.add_spline().control_points = [(0, 40), (0, 30), (5, 20), (0, 0)]
        space.add_line((50, 0), (0, 0))
        space.add_ellipse((30, 40), (30, 0), 0.5, 0, math.pi)

    (outline,) = outline_loops_from_dxf(drawing(tmp_path, draw))
    assert {type(segment) for segment in outline} == {Line, Arc, EllipseArc, Spline}
    assert len(outline) == 5
    assert_closed(outline)
    body = 60 * 40 - (100 - math.pi * 25) + math.pi * 30 * 15 / 2
    bite = 52.5  # −∫ x dy of the cubic with poles (0, 40), (0, 30), (5, 20), (0, 0), by its Bernstein polynomials
    assert outline.area == pytest.approx(body - bite, abs=1e-9)


def test_closed_spline_and_full_ellipse(tmp_path: Path) -> None:
    """A closed spline is an outline on its own, a full ellipse in it a hole of area πab."""

    def draw(space: Any) -> None:
        space.add_spline([(0, 0), (50, -10), (90, 30), (30, 60), (-10, 30), (0, 0)])
        space.add_ellipse((40, 25), (0, 8), 0.5)

    outline, hole = outline_loops_from_dxf(drawing(tmp_path, draw))
    assert isinstance(outline.segments[0], Spline)
    assert outline.area > 3000
    assert hole.area == pytest.approx(-math.pi * 32)


def test_periodic_spline_is_clamped(tmp_path: Path) -> None:
    """A spline with a uniform knot vector, as programs write closed ones, is the same curve with clamped ends."""
    poles = [(0, 0), (50, 0), (50, 40), (0, 40)]

    def draw(space: Any) -> None:
        space.add_spline().set_closed([(x, y, 0) for x, y in poles], degree=3)

    (outline,) = outline_loops_from_dxf(drawing(tmp_path, draw))
    (spline,) = outline.segments
    assert isinstance(spline, Spline)
    assert spline.knots[:4] == (spline.knots[0],) * 4
    # a uniform cubic B-spline passes its poles' joints at (p + 4q + r)/6
    joints = sorted((round(a[0], 6), round(a[1], 6)) for a in (spline.point_at(i / 4) for i in range(4)))
    wanted = sorted(
        (round((p[0] + 4 * q[0] + r[0]) / 6, 6), round((p[1] + 4 * q[1] + r[1]) / 6, 6))
        for p, q, r in (tuple(poles[(i + k) % 4] for k in range(3)) for i in range(4))
    )
    assert joints == wanted


def test_old_polyline_entities(tmp_path: Path) -> None:
    """POLYLINE is read too, flat ones with bulges and level three-dimensional ones."""

    def draw(space: Any) -> None:
        space.add_polyline2d([(0, 0, 0), (60, 0, 1), (60, 40, 0), (0, 40, 0)], format="xyb", close=True)
        space.add_polyline3d([(10, 10, 2), (20, 10, 2), (20, 20, 2), (10, 20, 2)], close=True)

    outline, hole = outline_loops_from_dxf(drawing(tmp_path, draw))
    assert outline.area == pytest.approx(2400 + math.pi * 200)
    assert hole.area == pytest.approx(-100)


def test_mirrored_entities(tmp_path: Path) -> None:
    """Entities seen from below (extrusion −Z), as mirroring in a drawing makes them, land where they are shown."""
    down = {"extrusion": (0, 0, -1)}

    def draw(space: Any) -> None:
        corners = [(0, 0, 0), (60, 0, 1), (60, 40, 0), (0, 40, 0)]
        space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs=down)
        space.add_circle((20, 20), 5, dxfattribs=down)
        space.add_ellipse((-40, 20), (6, 0), 0.5, 0.3, math.pi + 0.3, dxfattribs=down)
        first, last = (complex(6 * math.cos(t), -3 * math.sin(t)) - 40 + 20j for t in (0.3, math.pi + 0.3))
        space.add_line((first.real, first.imag), (last.real, last.imag))

    outline, *holes = outline_loops_from_dxf(drawing(tmp_path, draw))
    assert outline.bounds == pytest.approx((-80, 0, 0, 40))
    assert sorted(hole.area for hole in holes) == pytest.approx([-math.pi * 25, -math.pi * 9])
    assert min(hole.bounds[0] for hole in holes) == pytest.approx(-46, abs=0.5)


@pytest.mark.parametrize(("code", "factor"), [(1, 25.4), (4, 1.0), (5, 10.0), (6, 1000.0)])
def test_units_of_the_drawing_are_respected(tmp_path: Path, code: int, factor: float) -> None:
    """Inches, millimetres, centimetres and metres all come back in millimetres, arcs and ellipses too."""

    def draw(space: Any) -> None:
        square(space, size=3)
        space.add_circle((1, 1), 0.5)
        space.add_ellipse((2, 2), (0.5, 0), 0.5)

    outline, *holes = outline_loops_from_dxf(drawing(tmp_path, draw, units=code))
    assert outline.bounds == pytest.approx((0, 0, 3 * factor, 3 * factor))
    assert sum(hole.area for hole in holes) == pytest.approx(-math.pi * (0.25 + 0.125) * factor**2)


@pytest.mark.parametrize("code", [None, 0])
def test_missing_units_are_refused_unless_given(tmp_path: Path, code: int | None) -> None:
    """A drawing without units could be anything: it is refused until `unit` says what it is."""
    file = drawing(tmp_path, square, units=code)
    with pytest.raises(OutlineError, match=r'tray\.dxf.* has no units; set its units .* or pass unit="mm"'):
        outline_loops_from_dxf(file)
    assert outline_loops_from_dxf(file, unit="cm")[0].area == pytest.approx(360_000)


def test_given_unit_wins(tmp_path: Path) -> None:
    """`unit` overrides what the drawing says."""
    file = drawing(tmp_path, square, units=1)
    assert outline_loops_from_dxf(file, unit="mm")[0].area == pytest.approx(3600)


def test_unknown_units_are_refused(tmp_path: Path) -> None:
    """Units that no workshop draws in, and units that are no unit, are refused by name."""
    with pytest.raises(OutlineError, match="units of code 3, which is not known here"):
        outline_loops_from_dxf(drawing(tmp_path, square, units=3))
    with pytest.raises(OutlineError, match="unit 'furlong' is not known; give one of mm, cm, m, in"):
        outline_loops_from_dxf(drawing(tmp_path, square), unit="furlong")


def test_only_the_layer_asked_for_is_read(tmp_path: Path) -> None:
    """Another layer's lines don't matter; the layer's name is taken in any case."""

    def draw(space: Any) -> None:
        square(space, "TRAY")
        lines(space, [(5, 5), (200, 90)], closed=False, layer="NOTES")

    file = drawing(tmp_path, draw)
    assert outline_loops_from_dxf(file, layer="tray")[0].area == pytest.approx(3600)
    with pytest.raises(OutlineError, match="layer 'LID': there is nothing to read; layers in use are 'NOTES', 'TRAY'"):
        outline_loops_from_dxf(file, layer="LID")


def test_texts_and_dimensions_are_ignored(tmp_path: Path) -> None:
    """Texts, points and dimensions carry no outline and are passed over."""

    def draw(space: Any) -> None:
        square(space)
        space.add_text("tile tray")
        space.add_mtext("glaze side up")
        space.add_point((3, 3))
        space.add_linear_dim(base=(0, -10), p1=(0, 0), p2=(60, 0)).render()

    assert len(outline_loops_from_dxf(drawing(tmp_path, draw))) == 1


def test_blocks_are_exploded(tmp_path: Path) -> None:
    """A block's lines count where the block stands, scaled, and its layer-0 content to the block's layer."""

    def draw(space: Any) -> None:
        block = space.doc.blocks.new("slot")
        lines(block, [(0, 0), (4, 0), (4, 2), (0, 2)])
        square(space, "TRAY")
        space.add_blockref("slot", (10, 10), dxfattribs={"layer": "TRAY", "xscale": 2, "yscale": 3})
        space.add_blockref("slot", (40, 40), dxfattribs={"layer": "TRAY", "rotation": 30})
        space.add_blockref("slot", (400, 400), dxfattribs={"layer": "SPARE"})

    outline, *holes = outline_loops_from_dxf(drawing(tmp_path, draw), layer="TRAY")
    assert outline.area == pytest.approx(3600)
    assert sorted(hole.area for hole in holes) == pytest.approx([-48, -8])


def test_small_gaps_are_closed(tmp_path: Path) -> None:
    """Ends less than 1e-4 mm apart are joined to one point, at lines, arcs, splines and ellipses."""
    off = 6e-5

    def draw(space: Any) -> None:
        space.add_line((0, 0), (50, off))
        space.add_arc((50, 10), 10, 270, 0)
        space.add_line((60, 10 - off), (60, 40 + off))
        space.add_ellipse((30, 40), (30, 0), 0.5, 0, math.pi)
        space.add_spline().control_points = [(off / 2, 40), (0, 30), (5, 20), (0, off)]

    (outline,) = outline_loops_from_dxf(drawing(tmp_path, draw))
    assert_closed(outline)
    assert len(outline) == 5


def test_order_of_entities_makes_no_difference(tmp_path: Path) -> None:
    """The loops come back in canonical order however the drawing was made."""

    def draw(reverse: bool) -> Draw:
        def inner(space: Any) -> None:
            jobs = [lambda: square(space), lambda: space.add_circle((20, 20), 5), lambda: space.add_circle((40, 20), 5)]
            for job in jobs[::-1] if reverse else jobs:
                job()

        return inner

    first = outline_loops_from_dxf(drawing(tmp_path, draw(False)))
    assert outline_loops_from_dxf(drawing(tmp_path, draw(True))) == first


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (b"", "the file"),
        (b"\x00\xff\xfe garbage" * 50, "the file"),
        (b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n 10\nnot a number\n", "the file"),
        (b"%PDF-1.7\n...", "the file"),
    ],
    ids=["empty", "binary", "cut short", "another format"],
)
def test_garbage_is_refused(tmp_path: Path, content: bytes, text: str) -> None:
    """A file that is no DXF is refused with its name, not with the reader's own exception."""
    file = tmp_path / "garbage.dxf"
    file.write_bytes(content)
    with pytest.raises(OutlineError, match=rf"DXF file 'garbage\.dxf': {text}"):
        outline_loops_from_dxf(file)


def test_missing_file_is_refused(tmp_path: Path) -> None:
    """A path that leads nowhere is refused with the file's name."""
    with pytest.raises(OutlineError, match=r"DXF file 'none\.dxf': the file can't be read \(FileNotFoundError\)"):
        outline_loops_from_dxf(tmp_path / "none.dxf")


def open_chain(space: Any) -> None:
    lines(space, [(0, 0), (60, 0), (60, 40), (0, 40), (0, 0.35)], closed=False)


def stray_end(space: Any) -> None:
    lines(space, SQUARE)
    space.add_line((0, 0), (-5, -5))


def overlapping_part(space: Any) -> None:
    lines(space, SQUARE)
    space.add_line((10, 0), (30, 0))


def doubled_arcs(space: Any) -> None:
    square(space)
    space.add_arc((30, 30), 5, 0, 180)
    space.add_arc((30, 30), 5, 90, 270)


def doubled_spline(space: Any) -> None:
    square(space)
    for _ in range(2):
        space.add_spline([(10, 10), (30, 12), (30, 30), (10, 28), (10, 10)])


def crossing_loops(space: Any) -> None:
    square(space)
    square(space, x=50, y=20, size=20)


def touching_loops(space: Any) -> None:
    square(space)
    space.add_circle((30, 5), 5)


BAD: dict[str, tuple[Draw, list[str]]] = {
    "nothing": (lambda space: None, ["there is nothing to read; model space is empty"]),
    "only text": (lambda space: space.add_text("tray"), ["there is nothing to read; layers in use are '0'"]),
    "open chain": (open_chain, ["the outline is open at (0, 0)", "handle", "0.35 mm", "(0, 0.35)", "close the gap"]),
    "stray end": (stray_end, ["LINE (handle", "ends at (-5, -5) and leads nowhere; remove it"]),
    "one line": (lambda space: space.add_line((0, 0), (9, 0)), ["the outline is open at (0, 0)", "9 mm"]),
    "three ends": (
        lambda space: (lines(space, SQUARE), lines(space, [(0, 0), (-9, 0), (-9, -9), (60, 40)], closed=False)),
        ["3 ends meet at (0, 0)", "leave two"],
    ),
    "duplicate line": (
        lambda space: (lines(space, SQUARE), space.add_line((60, 0), (0, 0))),
        ["run along each other at (30, 0)", "delete one of them"],
    ),
    "overlapping part": (overlapping_part, ["run along each other at (20, 0)"]),
    "duplicate circle": (
        lambda space: (square(space), space.add_circle((20, 20), 5), space.add_circle((20, 20), 5)),
        ["CIRCLE (handle", "run along each other"],
    ),
    "duplicate polyline": (lambda space: (square(space), square(space)), ["LWPOLYLINE", "run along each other at"]),
    "overlapping arcs": (doubled_arcs, ["run along each other at (30, 35)"]),
    "duplicate spline": (doubled_spline, ["SPLINE (handle", "run along each other"]),
    "bow tie": (
        lambda space: space.add_lwpolyline([(0, 0), (60, 40), (60, 0), (0, 40)], close=True),
        ["crosses itself at (30, 20)", "draw it without the crossing"],
    ),
    "crossing loops": (crossing_loops, ["meet at (60, ", "keep them apart"]),
    "touching loops": (touching_loops, ["meet at (30", "keep them apart"]),
    "two outlines": (
        lambda space: (square(space, size=10), square(space, x=20, size=10)),
        ["there are 2 outlines", "10 × 10 mm around (5, 5); 10 × 10 mm around (25, 5)"],
    ),
    "island in a hole": (
        lambda space: (square(space), square(space, x=10, y=10, size=30), space.add_circle((25, 25), 5)),
        ["there are 2 outlines", "10 × 10 mm around (25, 25)"],
    ),
    "hatch": (lambda space: (square(space), space.add_hatch()), ["HATCH (handle", "can't be part of an outline"]),
    "solid": (
        lambda space: space.add_solid([(0, 0), (1, 0), (0, 1), (1, 1)]),
        ["SOLID (handle", "layer '0') can't be part of an outline"],
    ),
    "leaning line": (lambda space: space.add_line((0, 0, 0), (9, 0, 3)), ["LINE (handle", "is not flat"]),
    "leaning circle": (
        lambda space: space.add_circle((0, 0), 5, dxfattribs={"extrusion": (0, 1, 1)}),
        ["CIRCLE (handle", "is not flat"],
    ),
    "negative radius": (lambda space: space.add_circle((0, 0), -5), ["CIRCLE (handle", "has a radius of -5"]),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_drawings_are_refused_with_their_place(tmp_path: Path, name: str) -> None:
    """Each thing that can't be cut is refused, and the message names the file and what is wrong where."""
    draw, texts = BAD[name]
    file = drawing(tmp_path, draw)
    with pytest.raises(OutlineError) as caught:
        outline_loops_from_dxf(file)
    message = str(caught.value)
    assert message.startswith("DXF file 'tray.dxf': ")
    for text in texts:
        assert text in message


def test_coordinates_that_are_no_number_are_refused(tmp_path: Path) -> None:
    """NaN, which some readers pass through, is refused by handle."""
    file = drawing(tmp_path, square)
    text = file.read_text()
    assert text.count("\n60.0\n") >= 2
    file.write_text(text.replace("\n60.0\n", "\nnan\n", 1))
    with pytest.raises(OutlineError, match=r"LWPOLYLINE \(handle .* not a number"):
        outline_loops_from_dxf(file)


def wavy(space: Any, count: int) -> None:
    """A ring of short lines that hardly turn from one to the next."""
    turns = [2 * math.pi * i / count for i in range(count)]
    lines(space, [((50 + 2 * math.sin(9 * t)) * math.cos(t), (50 + 2 * math.sin(9 * t)) * math.sin(t)) for t in turns])


def test_lines_of_a_smooth_ring_are_not_looked_at_pair_by_pair(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neighbours lie on each other's line but share only an end: the exact question is asked of none of them."""
    from panelwright.plates.outlines import dxf_outline

    asked: list[tuple[Any, Any]] = []
    exact = dxf_outline._shared
    monkeypatch.setattr(dxf_outline, "_shared", lambda a, b: asked.append((a, b)) or exact(a, b))
    (loop,) = outline_loops_from_dxf(drawing(tmp_path, lambda space: wavy(space, 20_000)))
    assert len(loop) == 20_000
    assert asked == []

    def twice(space: Any) -> None:
        wavy(space, 400)
        x0, y0, x1, y1 = 49.0, 0.0, 55.0, 0.0
        space.add_line((x0, y0), (x1, y1))
        space.add_line((50.0, 0.0), (54.0, 0.0))

    with pytest.raises(OutlineError, match="run along each other"):
        outline_loops_from_dxf(drawing(tmp_path, twice))
    assert asked
