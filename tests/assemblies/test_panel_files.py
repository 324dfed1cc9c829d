"""Panel files, read back by programs that are not ours: ezdxf, GDAL and svgelements."""

from __future__ import annotations

import hashlib
import io
import math
import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
import shapely
from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.files.dxf import CUT_INSIDE, CUT_OUTSIDE, LAYERS, MARK, circle_of, flat_dxf, panel_dxf
from panelwright.assemblies.files.svg import STROKES, panel_svg
from panelwright.plates.geometry.curves import Arc, EllipseArc, Line, Loop, Motion, Segment, Spline, loop_through
from panelwright.plates.geometry.offset import cut_paths
from panelwright.plates.materials.stock import OKABE_ITO, Stock
from panelwright.plates.outlines.dxf_outline import outline_loops_from_dxf
from panelwright.plates.outlines.svg_path import BEZIER_TOLERANCE, beziers

BIRCH = Stock("birch plywood", thickness=5, kerf=0.2, clearance=0.1)


def rectangle(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Loop:
    return loop_through([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])


def circle(radius: float, x: float, y: float) -> Loop:
    return Loop((Arc((x + radius, y), (x + radius, y), (x, y), 2 * math.pi),))


def keyhole(x: float, y: float) -> Loop:
    """A round of radius 4 with a slot below, one arc of 331°."""
    half = 1.0
    low = -math.sqrt(16 - half * half)
    right, left = (x + half, y + low), (x - half, y + low)
    sweep = 2 * math.pi - 2 * math.asin(half / 4)
    return Loop(
        (
            Arc(right, left, (x, y), sweep),
            Line(left, (x - half, y - 9)),
            Line((x - half, y - 9), (x + half, y - 9)),
            Line((x + half, y - 9), right),
        )
    )


def stadium(x: float, y: float) -> Loop:
    return Loop(
        (
            Line((x, y - 2), (x + 10, y - 2)),
            Arc((x + 10, y - 2), (x + 10, y + 2), (x + 10, y), math.pi),
            Line((x + 10, y + 2), (x, y + 2)),
            Arc((x, y + 2), (x, y - 2), (x, y), math.pi),
        )
    )


def dome(x: float, y: float) -> Loop:
    arc = EllipseArc((x, y), (8 * math.cos(0.4), 8 * math.sin(0.4)), 0.5, 0.2, math.pi)
    return Loop((arc, Line(arc.end, arc.start)))


def drop(x: float, y: float) -> Loop:
    poles = ((0.0, 0.0), (10.0, -8.0), (10.0, 8.0), (0.0, 0.0))
    return Loop((Spline(3, poles, (0.0,) * 4 + (1.0,) * 4),)).moved(Motion.shift(x, y))


OUTER = Loop(
    (
        Line((0.0, 0.0), (120.0, 0.0)),
        Line((120.0, 0.0), (120.0, 75.0)),
        Arc((120.0, 75.0), (115.0, 80.0), (115.0, 75.0), math.pi / 2),
        Line((115.0, 80.0), (0.0, 80.0)),
        Line((0.0, 80.0), (0.0, 0.0)),
    )
)
HOLES: dict[str, Loop] = {
    "slot": rectangle(12, 5, 10, 10),
    "circle": circle(6, 40, 20),
    "keyhole": keyhole(70, 30),
    "stadium": stadium(20, 50),
    "ellipse": Loop((EllipseArc((60.0, 60.0), (6.0, 6.0), 0.4, 0.0, 2 * math.pi),)),
    "drop": drop(95, 20),
    "dome": dome(95, 55),
}
MARKS: tuple[tuple[Segment, ...], ...] = (
    (Line((5.0, 70.0), (15.0, 70.0)), Line((15.0, 70.0), (15.0, 74.0))),
    (Arc((30.0, 70.0), (34.0, 70.0), (32.0, 70.0), -math.pi),),
)


def panel(*, kerf: float = 0.0, name: str = "glaze-card drawer <front> & lid") -> Panel:
    loops = (OUTER, *(hole.clockwise() for hole in HOLES.values()))
    area = sum(loop.area for loop in loops)
    return Panel(name, BIRCH, ("front",), loops, cut_paths(loops, kerf, panel=name), MARKS, area, None)


def digest() -> str:
    """SHA-256 of both files of the panel; run in other processes too."""
    subject = panel(kerf=0.2)
    return hashlib.sha256(panel_dxf(subject) + panel_svg(subject)).hexdigest()


def read(data: bytes):  # type: ignore[no-untyped-def]  # an ezdxf document
    from ezdxf.filemanagement import read as read_stream

    return read_stream(io.StringIO(data.decode("cp1252")))


def areas_by_layer(doc) -> dict[str, list[float]]:  # type: ignore[no-untyped-def]  # the reader has no types
    """Areas of the closed entities as ezdxf flattens them, and of chains end to end."""
    from ezdxf.path import make_path

    found: dict[str, list[float]] = {}
    chain: list[tuple[float, float]] = []
    for entity in doc.modelspace():
        if entity.dxf.layer == MARK:
            continue
        points = [(p.x, p.y) for p in make_path(entity).flattening(1e-4, 32)]
        if math.dist(points[0], points[-1]) > 1e-4:
            if chain and math.dist(chain[-1], points[0]) > 1e-4:
                points.reverse()
            chain.extend(points)
            if math.dist(chain[0], chain[-1]) > 1e-4:
                continue
            points, chain = chain, []
        found.setdefault(entity.dxf.layer, []).append(shapely.Polygon(points).area)
    assert not chain
    return found


def test_dxf_header_says_millimetres() -> None:
    """The file is R2000, in millimetres, metric."""
    doc = read(panel_dxf(panel()))
    assert doc.dxfversion == "AC1015"
    assert doc.header["$INSUNITS"] == 4
    assert doc.header["$MEASUREMENT"] == 1


def test_dxf_defines_all_layers_even_when_empty() -> None:
    """All three layers are defined whatever is on them, each with its own colour and weight, none a pure colour."""
    doc = read(flat_dxf([rectangle(5, 5)]))
    layers = [doc.layers.get(name) for name in (MARK, CUT_INSIDE, CUT_OUTSIDE)]
    assert len({layer.dxf.color for layer in layers}) == 3
    assert len({layer.dxf.lineweight for layer in layers}) == 3
    assert all(layer.dxf.color > 9 for layer in layers)


def test_dxf_colours_are_the_nearest_to_okabe_ito() -> None:
    """R2000 has an index of colours only: each layer has the one nearest to its colour in the SVG file."""
    from ezdxf.colors import aci2rgb

    for name, (index, _) in LAYERS.items():
        code = STROKES[name][0]
        assert code in OKABE_ITO.values()
        wanted = [int(code[i : i + 2], 16) for i in (1, 3, 5)]
        assert min(range(10, 250), key=lambda i: math.dist(aci2rgb(i), wanted)) == index


def test_dxf_entities_follow_in_cutting_order() -> None:
    """Marks come first, then what is inside, then the outline, and nothing lies on any other layer."""
    layers = [entity.dxf.layer for entity in read(panel_dxf(panel())).modelspace()]
    order = [MARK, CUT_INSIDE, CUT_OUTSIDE]
    assert set(layers) == set(order)
    assert [order.index(layer) for layer in layers] == sorted(order.index(layer) for layer in layers)


def test_dxf_entities_are_closed_and_of_the_right_kind() -> None:
    """Loops of lines and arcs are closed polylines, a circle is a CIRCLE, an ellipse an ELLIPSE, a drop one SPLINE."""
    space = read(panel_dxf(panel())).modelspace()
    kinds = [entity.dxftype() for entity in space if entity.dxf.layer == CUT_INSIDE]
    assert sorted(kinds) == sorted(["LWPOLYLINE", "LWPOLYLINE", "LWPOLYLINE", "CIRCLE", "ELLIPSE", "SPLINE", "ELLIPSE", "LINE"])
    assert all(polyline.closed for polyline in space.query(f'LWPOLYLINE[layer!="{MARK}"]'))
    (spline,) = space.query("SPLINE")
    assert spline.closed
    assert [entity.dxftype() for entity in space if entity.dxf.layer == CUT_OUTSIDE] == ["LWPOLYLINE"]


def test_dxf_splits_arcs_beyond_three_quarters() -> None:
    """The keyhole's 331° arc becomes two bulges of 165.5°, since a single one would be steeper than readers like."""
    (polyline,) = read(flat_dxf([keyhole(0, 0)])).modelspace().query("LWPOLYLINE")
    bulges = [bulge for *_, bulge in polyline.get_points("xyb") if bulge]
    sweep = 2 * math.pi - 2 * math.asin(0.25)
    assert bulges == pytest.approx([math.tan(sweep / 8)] * 2, abs=1e-9)


@pytest.mark.parametrize("kerf", [0.0, 0.2])
def test_dxf_areas_as_ezdxf_reads_them(kerf: float) -> None:
    """Each loop's area comes back, on its layer."""
    subject = panel(kerf=kerf)
    areas = areas_by_layer(read(panel_dxf(subject)))
    for layer, sign in ((CUT_INSIDE, -1), (CUT_OUTSIDE, 1)):
        wanted = sorted(abs(loop.area) for loop in subject.cuts if loop.area * sign > 0)
        # ezdxf follows circles and ellipses by cubics, which are 0.03 % too large
        assert sorted(areas[layer]) == pytest.approx(wanted, rel=4e-4)


def test_dxf_as_gdal_reads_it(tmp_path: Path) -> None:
    """GDAL finds closed rings of the right area on the right layers, at true size."""
    import pyogrio

    path = tmp_path / "front.dxf"
    subject = panel()
    path.write_bytes(panel_dxf(subject))
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.25"})
    try:
        meta, _, shapes, (layers, *_) = pyogrio.raw.read(path)
    finally:
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})
    assert meta["fields"][0] == "Layer"
    lines = shapely.from_wkb(shapes)
    assert set(layers) == {MARK, CUT_INSIDE, CUT_OUTSIDE}
    (outline,) = lines[layers == CUT_OUTSIDE]
    assert outline.is_closed
    assert outline.bounds == pytest.approx((0, 0, 120, 80), abs=1e-6)
    inside = shapely.get_parts(shapely.polygonize(shapely.set_precision(lines[layers == CUT_INSIDE], 1e-4)))
    wanted = sorted(hole.counter_clockwise().area for hole in HOLES.values())
    # GDAL follows a spline by no more than 32 chords
    assert sorted(part.area for part in inside) == pytest.approx(wanted, rel=6e-3)
    assert shapely.Polygon(outline).area == pytest.approx(OUTER.area, rel=1e-4)


def test_dxf_passes_ezdxf_audit() -> None:
    """ezdxf's own audit finds nothing to fix."""
    auditor = read(panel_dxf(panel())).audit()
    assert not auditor.errors
    assert not auditor.fixes


def test_dxf_round_trip(tmp_path: Path) -> None:
    """What is written is read back as an outline: the same areas, the same kinds of curve."""
    path = tmp_path / "front.dxf"
    subject = panel()
    path.write_bytes(flat_dxf(subject.cuts))
    loops = outline_loops_from_dxf(path)
    assert sorted(loop.area for loop in loops) == pytest.approx(sorted(loop.area for loop in subject.cuts), abs=1e-4)
    kinds = {type(segment) for loop in loops for segment in loop}
    assert kinds == {Line, Arc, EllipseArc, Spline}


def test_dxf_writes_no_negative_zero() -> None:
    """Numbers are rounded to 1e-6 and there is no −0."""
    text = flat_dxf([rectangle(4, 3).moved(Motion.turn(180)), circle(1, -1e-9, -1e-9).reversed()]).decode()
    assert "-0.0\n" not in text
    assert "e-" not in text


def test_dxf_leaves_ezdxf_as_it_was() -> None:
    """Writing changes no option of ezdxf, which other code in the process may rely on."""
    import ezdxf

    before = io.StringIO()
    ezdxf.options.write(before)
    panel_dxf(panel())
    after = io.StringIO()
    ezdxf.options.write(after)
    assert before.getvalue() == after.getvalue()


@pytest.mark.parametrize("loops", [[], [rectangle(5, 5).reversed()]], ids=["nothing", "hole only"])
def test_dxf_of_little_is_still_a_file(loops: list[Loop]) -> None:
    """No loops, or no outline, still make a readable file with all layers."""
    assert {MARK, CUT_INSIDE, CUT_OUTSIDE} <= {layer.dxf.name for layer in read(flat_dxf(loops)).layers}


def test_half_circles_make_one_circle() -> None:
    """Two half circles are recognised as a circle; two halves of different circles are not."""
    a = Arc((1.0, 0.0), (-1.0, 0.0), (0.0, 0.0), math.pi)
    b = Arc((-1.0, 0.0), (1.0, 0.0), (0.0, 0.0), math.pi)
    bent = Arc((-1.0, 0.0), (1.0, 0.0), (0.0, 1.0), math.pi / 2)
    assert circle_of((a, b)) is not None
    assert circle_of((a, bent)) is None
    assert [e.dxftype() for e in read(flat_dxf([Loop((a, b))])).modelspace()] == ["CIRCLE"]


def test_order_of_loops_makes_no_difference() -> None:
    """The same loops in another order give the same bytes."""
    subject = panel()
    assert flat_dxf(subject.cuts, MARKS) == flat_dxf(subject.cuts[::-1], MARKS[::-1])


def test_bytes_are_equal_in_other_processes() -> None:
    """Two processes with different hash seeds write the same bytes as this one."""
    script = f"import runpy; print(runpy.run_path({str(Path(__file__))!r})['digest']())"
    found = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
        for seed in ("1", "2")
    }
    assert found == {digest()}


SVG = "{http://www.w3.org/2000/svg}"


def test_svg_is_true_size_with_a_margin() -> None:
    """Width and height are the cut paths' in mm plus 1 mm all round, and one user unit is one mm."""
    root = ElementTree.fromstring(panel_svg(panel(kerf=0.2)))
    assert (root.get("width"), root.get("height")) == ("122.2mm", "82.2mm")
    assert root.get("viewBox") == "0 0 122.2 82.2"


def test_svg_names_the_panel_and_its_layers() -> None:
    """The title carries the panel's name, escaped; groups carry the layer names, in cutting order, without fill."""
    root = ElementTree.fromstring(panel_svg(panel()))
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text == "glaze-card drawer <front> & lid"
    groups = root.findall(f"{SVG}g")
    assert [group.get("id") for group in groups] == [MARK, CUT_INSIDE, CUT_OUTSIDE]
    assert all(group.get("fill") == "none" for group in groups)
    assert {group.get("stroke") for group in groups} <= set(OKABE_ITO.values())
    for key in ("stroke", "stroke-width"):
        assert len({group.get(key) for group in groups}) == 3
    assert b"dash" not in panel_svg(panel()), "a cutter might cut dashes"
    assert [len(group) for group in groups] == [2, 7, 1]
    assert len(groups[1].findall(f"{SVG}circle")) == 1


@pytest.mark.parametrize("kerf", [0.0, 0.2])
def test_svg_areas_as_svgelements_reads_them(kerf: float) -> None:
    """Each loop's area comes back in mm², closed, in its group."""
    from svgelements import SVG as Svg  # noqa: N811 - the class is named like a format
    from svgelements import Group, Shape
    from svgelements import Path as SvgPath

    subject = panel(kerf=kerf)
    picture = Svg.parse(io.StringIO(panel_svg(subject).decode()), ppi=25.4)
    for layer, sign in ((CUT_INSIDE, -1), (CUT_OUTSIDE, 1)):
        (group,) = (g for g in picture.select(lambda e: isinstance(e, Group)) if g.id == layer)
        found = []
        for shape in group.select(lambda e: isinstance(e, Shape)):
            outline = SvgPath(shape)
            points = [(p.x, p.y) for piece in outline for p in (piece.point(i / 200) for i in range(201)) if p]
            assert math.dist(points[0], points[-1]) < 1e-5
            found.append(shapely.Polygon(points).area)
        wanted = sorted(abs(loop.area) for loop in subject.cuts if loop.area * sign > 0)
        assert sorted(found) == pytest.approx(wanted, rel=2e-4)


def test_svg_shows_the_panel_the_right_way_up() -> None:
    """As seen from the show face: what lies low and left on the panel is low and left on the page, not mirrored."""
    from svgelements import SVG as Svg  # noqa: N811 - the class is named like a format
    from svgelements import Circle

    picture = Svg.parse(io.StringIO(panel_svg(panel()).decode()), ppi=25.4)
    (round_hole,) = picture.select(lambda e: isinstance(e, Circle))
    left, top, right, bottom = round_hole.bbox()
    assert ((left + right) / 2, (top + bottom) / 2) == pytest.approx((40 + 1, 80 + 1 - 20), abs=1e-4)
    root = ElementTree.fromstring(panel_svg(panel()))
    outline = root.findall(f"{SVG}g")[2][0].get("d") or ""
    # the panel's upper right corner is round: there the arc ends at (115, 80), on the page at (116, 1)
    assert "A 5 5 0 0 0 116 1 " in outline


@pytest.mark.parametrize("clockwise", [False, True])
@pytest.mark.parametrize("name", [*HOLES, "outer"])
def test_svg_follows_the_curves(name: str, clockwise: bool) -> None:
    """Every point of every loop lies on what the picture shows, whichever way it runs."""
    from svgelements import SVG as Svg  # noqa: N811 - the class is named like a format
    from svgelements import Path as SvgPath
    from svgelements import Shape

    loop = HOLES.get(name, OUTER)
    loop = loop.clockwise() if clockwise else loop.counter_clockwise()
    alone = Panel("one", BIRCH, ("one",), (loop,), (loop,), (), abs(loop.area), None)
    picture = Svg.parse(io.StringIO(panel_svg(alone).decode()), ppi=25.4)
    (shape,) = picture.select(lambda e: isinstance(e, Shape))
    x0, _, _, y1 = loop.bounds
    pieces = list(SvgPath(shape))
    points = [(p.x + x0 - 1, y1 + 1 - p.y) for piece in pieces for p in (piece.point(i / 400) for i in range(401)) if p]
    drawn = shapely.LineString(points)
    far = [drawn.distance(shapely.Point(s.point_at(i / 9))) for s in loop for i in range(10)]
    assert max(far) < 1e-3


CURVES = {
    "line": Spline(1, ((0.0, 0.0), (4.0, 1.0), (6.0, -2.0)), (0.0, 0.0, 0.4, 1.0, 1.0)),
    "quadratic": Spline(2, ((0.0, 0.0), (4.0, 8.0), (6.0, -2.0), (9.0, 0.0)), (0.0, 0.0, 0.0, 0.3, 1.0, 1.0, 1.0)),
    "cubic": Spline(
        3,
        ((0.0, 0.0), (4.0, 8.0), (6.0, -2.0), (9.0, 0.0), (12.0, 5.0), (15.0, 1.0)),
        (0.0, 0.0, 0.0, 0.0, 0.3, 0.3, 1.0, 1.0, 1.0, 1.0),
    ),
    "quartic": Spline(4, ((0.0, 0.0), (4.0, 8.0), (6.0, -2.0), (9.0, 0.0), (12.0, 5.0)), (0.0,) * 5 + (1.0,) * 5),
    "rational": Spline(2, ((5.0, 0.0), (5.0, 5.0), (0.0, 5.0)), (0.0,) * 3 + (1.0,) * 3, (1.0, math.sqrt(0.5), 1.0)),
}


@pytest.mark.parametrize("name", CURVES)
def test_splines_become_cubics(name: str) -> None:
    """Splines of up to degree three become the very same curve, others stay within 1e-4 mm."""
    spline = CURVES[name]
    cubics = beziers(spline)
    assert cubics[0][0] == pytest.approx(spline.start, abs=1e-12)
    assert cubics[-1][3] == pytest.approx(spline.end, abs=1e-12)
    as_splines = [Spline(3, net, (0.0,) * 4 + (1.0,) * 4) for net in cubics]
    points = [piece.point_at(i / 40) for piece in as_splines for i in range(41)]
    true = shapely.LineString([*spline.chords(1e-7), spline.end])
    exact = spline.degree <= 3 and spline.weights is None
    limit = 5e-7 if exact else BEZIER_TOLERANCE
    assert max(true.distance(shapely.Point(point)) for point in points) < limit
    if exact:
        assert len(cubics) == len(set(spline.knots)) - 1


def test_ezdxf_still_calls_what_is_overridden(monkeypatch: pytest.MonkeyPatch) -> None:
    """The stamps are kept out by two private methods of ezdxf: if they are gone or no longer called, files would tell the time.

    What ezdxf writes by itself is looked at too, or there would be nothing to keep out.
    """
    from ezdxf.document import Drawing
    from panelwright.assemblies.files.dxf import FIXED_STAMP, _blank

    plain = Drawing.new("AC1015")
    plain.write(io.StringIO())
    assert plain.header["$TDUPDATE"] != FIXED_STAMP
    assert "WRITTEN_BY_EZDXF" in plain.ezdxf_metadata()

    called = []
    ours = _blank()
    assert "CREATED_BY_EZDXF" not in ours.ezdxf_metadata()
    update = type(ours)._update_metadata
    monkeypatch.setattr(type(ours), "_update_metadata", lambda self: called.append(update(self)))
    ours.write(io.StringIO())
    assert called == [None]
    assert ours.header["$TDCREATE"] == ours.header["$TDUPDATE"] == FIXED_STAMP
    assert "WRITTEN_BY_EZDXF" not in ours.ezdxf_metadata()
