"""Slits in the panel files, read by ezdxf, GDAL and svgelements: strokes in one pass, wide ones as closed loops."""

from __future__ import annotations

import io
import math
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely
from hinges import PLY, stand
from panelwright.assemblies.data.parts import Panel
from panelwright.assemblies.files.dxf import CUT_INSIDE, CUT_OUTSIDE, panel_dxf
from panelwright.assemblies.files.svg import panel_svg
from panelwright.joints import living_hinge
from panelwright.joints.kinds.hinges.slits import SLOPE_DEG
from readers import polygon_of_loops
from shapely.affinity import affine_transform


def read_dxf(panel: Panel) -> list[Any]:
    from ezdxf.filemanagement import read

    return list(read(io.StringIO(panel_dxf(panel).decode("cp1252"))).modelspace())


def chain_of(entity: Any) -> list[tuple[float, float]]:
    from ezdxf.path import make_path

    return [(p.x, p.y) for p in make_path(entity).flattening(1e-4, 8)]


def by_ezdxf(panel: Panel, tmp_path: Path) -> tuple[list[Any], list[Any], Any]:
    """Strokes, inner rings and the outer ring of a panel's DXF file."""
    entities = read_dxf(panel)
    strokes = [shapely.LineString(chain_of(e)) for e in entities if e.dxf.layer == CUT_INSIDE and not e.closed]
    inner = [shapely.Polygon(chain_of(e)) for e in entities if e.dxf.layer == CUT_INSIDE and e.closed]
    (outer,) = [shapely.Polygon(chain_of(e)) for e in entities if e.dxf.layer == CUT_OUTSIDE]
    return strokes, inner, outer


def by_gdal(panel: Panel, tmp_path: Path) -> tuple[list[Any], list[Any], Any]:
    """The same as GDAL reads it."""
    import pyogrio

    path = tmp_path / "panel.dxf"
    path.write_bytes(panel_dxf(panel))
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "1"})
    try:
        _, _, shapes, (layers, *_) = pyogrio.raw.read(path)
    finally:
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})
    lines = shapely.from_wkb(shapes)
    inside = lines[layers == CUT_INSIDE]
    (outer,) = lines[layers == CUT_OUTSIDE]
    assert outer.is_closed
    return [s for s in inside if not s.is_closed], [shapely.Polygon(s) for s in inside if s.is_closed], shapely.Polygon(outer)


def by_svgelements(panel: Panel, tmp_path: Path) -> tuple[list[Any], list[Any], Any]:
    """The same from the SVG file, turned back to y up."""
    from svgelements import SVG as Svg  # noqa: N811 - the class is named like a format
    from svgelements import Close, Group, Line, Move, Shape
    from svgelements import Path as SvgPath

    picture = Svg.parse(io.StringIO(panel_svg(panel).decode()), ppi=25.4)
    found: dict[str, tuple[list[Any], list[Any]]] = {}
    for layer in (CUT_INSIDE, CUT_OUTSIDE):
        (group,) = (g for g in picture.select(lambda e: isinstance(e, Group)) if g.id == layer)
        strokes, rings = found.setdefault(layer, ([], []))
        for shape in group.select(lambda e: isinstance(e, Shape)):
            steps = SvgPath(shape)
            straight = all(isinstance(step, Close | Line | Move) for step in steps)
            shares = (0.0, 1.0) if straight else [i / 64 for i in range(65)]
            points = [(p.x, -p.y) for step in steps for p in (step.point(share) for share in shares) if p]
            points = [p for i, p in enumerate(points) if i == 0 or p != points[i - 1]]
            if isinstance(steps[-1], Close):
                rings.append(shapely.Polygon(points))
            else:
                strokes.append(shapely.LineString(points))
    (outer,) = found[CUT_OUTSIDE][1]
    return found[CUT_INSIDE][0], found[CUT_INSIDE][1], outer


READERS = {"ezdxf": by_ezdxf, "GDAL": by_gdal, "svgelements": by_svgelements}
HINGES: dict[str, tuple[Any, float]] = {
    "strokes": (living_hinge(), 0.2),
    "chevron strokes": (living_hinge(pattern="chevron"), 0.2),
    "wide staggered": (living_hinge(slit=0.7), 0.2),
    "wide chevron": (living_hinge(pattern="chevron", slit=0.7), 0.2),
    "obround": (living_hinge(pattern="obround"), 0.2),
    "kerf 0": (living_hinge(), 0.0),
    "kerf 0, obround": (living_hinge(pattern="obround"), 0.0),
    "kerf 0, chevron": (living_hinge(pattern="chevron"), 0.0),
}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("name", HINGES)
def test_a_beam_along_the_files_paths_leaves_the_finished_part(name: str, reader: str, tmp_path: Path) -> None:
    """Closed paths moved back by half a kerf, less strokes as wide as the kerf, are the part, but for the beam's roundness."""
    hinge, kerf = HINGES[name]
    cutter = PLY.cutter if kerf else "knife"  # all else has a kerf, and the proof says so
    product = stand(hinge, stock=replace(PLY, kerf=kerf, cutter=cutter)).product()
    assert product.findings == ()
    (panel,) = product.panels
    strokes, inner, outer = READERS[reader](panel, tmp_path)
    ends = [shapely.Point(stroke.coords[i]) for stroke in strokes for i in (0, -1)]
    closed_ends = sum(outer.buffer(-0.01 - kerf).covers(end) for end in ends)
    in_one_pass = kerf > 0 and name in ("strokes", "chevron strokes")
    assert len(strokes) == len(panel.strokes)
    assert (len(strokes) > 40) is in_one_pass
    assert (len(inner) > 10) is not in_one_pass
    half = kerf / 2
    made = shapely.union_all([outer]).buffer(-half, join_style="mitre") if kerf else outer
    holes = [ring.buffer(half, join_style="mitre") if kerf else ring for ring in inner]
    made = made.difference(shapely.union_all(holes))
    if in_one_pass:
        made = made.difference(shapely.union_all(strokes).buffer(half, quad_segs=16))
    x0, y0, x1, _ = made.bounds
    # svgelements takes millimetres as inches over 25.4 with seven digits
    scale = panel.bbox_mm[0] / (x1 - x0)
    assert abs(scale - 1) < 1e-6
    made = affine_transform(made, [scale, 0, 0, scale, -x0 * scale, -y0 * scale])
    part = polygon_of_loops(panel.loops, 1e-4)
    apart = made.symmetric_difference(part)
    # corners of strokes, two at each end, keep what a round beam leaves there; the rest is what readers round arcs to
    lean = math.radians(SLOPE_DEG)
    turns = sum(len(stroke.coords) - 2 for stroke in strokes) * (math.tan(lean) - lean)
    corners = (2 * closed_ends * (1 - math.pi / 4) + turns) * half**2
    assert (corners > 0.2) is in_one_pass
    assert apart.area == pytest.approx(corners, abs=0.35 if "obround" in name else 0.005)
    assert apart.buffer(-0.03).is_empty


@pytest.mark.parametrize("name", HINGES)
def test_strokes_come_before_what_frees_the_panel(name: str) -> None:
    """In both files strokes and inner loops come before the outline, strokes first, and all strokes are open."""
    hinge, kerf = HINGES[name]
    (panel,) = stand(hinge, stock=replace(PLY, kerf=kerf)).product().panels
    order = [(e.dxf.layer, bool(e.closed)) for e in read_dxf(panel)]
    ranks = [[(CUT_INSIDE, False), (CUT_INSIDE, True), (CUT_OUTSIDE, True)].index(item) for item in order]
    assert ranks == sorted(ranks)
    assert Counter(ranks)[0] == len(panel.strokes)
    text = panel_svg(panel).decode()
    inside = text[text.index(f'id="{CUT_INSIDE}"') : text.index(f'id="{CUT_OUTSIDE}"')]
    closed = [line.endswith('Z"/>') for line in inside.splitlines() if line.startswith("<path")]
    assert closed == sorted(closed)
    assert closed.count(False) == len(panel.strokes)
