"""The examples as a stranger builds them: files read back by gmsh, GDAL and svgelements, over the ranges they state."""

from __future__ import annotations

import csv
import fcntl
import hashlib
import io
import itertools
import json
import math
import subprocess
from pathlib import Path
from typing import Any, get_type_hints

import pytest
from panelwright.assemblies.loading.design_file import load_design, run
from panelwright.plates import Range
from step_volumes import step_volumes
from warm import warm

EXAMPLES = sorted(path for path in (Path(__file__).parents[2] / "examples").glob("*.py") if not path.stem.startswith("make_"))
assert len(EXAMPLES) >= 3


def build(path: Path, out: Path, *, seed: str = "0") -> subprocess.CompletedProcess[str]:
    """Build a design in a process of its own."""
    return warm(seed).run("build", path, "--out", out, "--json")


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def built(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, worker_id: str
) -> tuple[Path, dict[str, Any]]:
    """One example, built at its defaults, once for all processes of the session: the folder and its manifest."""
    base = tmp_path_factory.getbasetemp()
    shared = base if worker_id == "master" else base.parent
    out = shared / "examples built" / request.param.stem
    out.parent.mkdir(exist_ok=True)
    with out.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (out / "manifest.json").exists():  # a build puts its folder in place whole, or not at all
            done = build(request.param, out)
            assert done.returncode == 0, done.stdout + done.stderr
    return out, json.loads((out / "manifest.json").read_text("utf-8"))


def test_no_finding_at_the_defaults(built: tuple[Path, dict[str, Any]]) -> None:
    """The proof of an example finds nothing, and it has something to prove."""
    _, manifest = built
    assert manifest["checks"] == []
    assert len(manifest["joints"]) >= 8
    assert manifest["panels"]


def test_step_volume_is_area_times_thickness(built: tuple[Path, dict[str, Any]]) -> None:
    """gmsh finds one named solid for each plate, as large as the manifest's area times the thickness."""
    import gmsh

    out, manifest = built
    gmsh.initialize(interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setString("Geometry.OCCTargetUnit", "MM")
        gmsh.model.occ.importShapes(str(out / "assembly.step"), highestDimOnly=True)
        gmsh.model.occ.synchronize()
        found = {
            gmsh.model.getEntityName(dim, tag).split("/")[-1]: gmsh.model.occ.getMass(dim, tag)
            for dim, tag in gmsh.model.getEntities(3)
        }
    finally:
        gmsh.finalize()
    expected = {name: panel["area_mm2"] * panel["thickness_mm"] for panel in manifest["panels"] for name in panel["instances"]}
    plates = {name: volume for name, volume in found.items() if name in expected}
    assert set(plates) == set(expected)
    for name, volume in plates.items():
        # the manifest rounds areas to 1e-6 mm²
        assert volume == pytest.approx(expected[name], abs=1e-4), name


def test_step_text_alone_gives_the_same_volumes(built: tuple[Path, dict[str, Any]]) -> None:
    """Parsed by steputils and integrated face by face, without any CAD kernel: area times thickness of every plate."""
    out, manifest = built
    expected = {name: panel["area_mm2"] * panel["thickness_mm"] for panel in manifest["panels"] for name in panel["instances"]}
    # the manifest rounds areas to 1e-6 mm²
    assert step_volumes(out / "assembly.step", expected) == pytest.approx(expected, abs=1e-5)


def test_dxf_area_less_half_a_kerf_is_the_panel(built: tuple[Path, dict[str, Any]]) -> None:
    """GDAL reads closed rings in mm; their area, moved back by half a kerf, less single strokes, is the panel's."""
    import pyogrio
    import shapely

    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.25})
    out, manifest = built
    for panel in manifest["panels"]:
        path = next(out / name for name in panel["files"] if name.endswith(".dxf"))
        rows = pyogrio.raw.read(path, encoding="utf-8")
        layers = list(rows[3][list(rows[0]["fields"]).index("Layer")])
        rings = [shapely.from_wkb(geometry) for geometry in rows[2]]
        assert set(layers) <= {"MARK", "CUT-INSIDE", "CUT-OUTSIDE"}
        outside, inside, strokes = [], [], []
        half = panel["kerf_mm"] / 2
        for layer, ring in zip(layers, rings, strict=True):
            if layer == "CUT-INSIDE" and not ring.is_ring:
                strokes.append(ring.buffer(half, cap_style="square", join_style="mitre"))
                continue
            assert ring.is_ring, (panel["name"], layer)
            polygon = shapely.Polygon(ring)
            assert polygon.is_valid
            if layer == "CUT-OUTSIDE":
                outside.append(polygon.buffer(-half, join_style="mitre"))
            elif layer == "CUT-INSIDE":
                inside.append(polygon.buffer(half, join_style="mitre"))
        assert len(strokes) == panel["strokes"]
        left = shapely.union_all(outside).difference(shapely.union_all([*inside, *strokes]))
        # GDAL draws arcs by chords, so curved panels come out a little small
        assert left.area == pytest.approx(panel["area_mm2"], rel=2e-4), panel["name"]


def test_no_cut_path_crosses_another(built: tuple[Path, dict[str, Any]]) -> None:
    """Closed cut paths of one panel are apart, as svgelements reads them; strokes meet a border at most."""
    import shapely
    from svgelements import SVG, Circle, Close
    from svgelements import Path as SvgPath

    out, manifest = built
    for panel in manifest["panels"]:
        path = next(out / name for name in panel["files"] if name.endswith(".svg"))
        rings, strokes = [], []
        for element in SVG.parse(str(path), ppi=25.4).elements():
            if isinstance(element, SvgPath | Circle):
                shape = SvgPath(element)
                points = [shape.point(i / 400) for i in range(400)]
                corners = [segment.end for segment in shape if segment.end is not None]
                if not isinstance(element, Circle) and not isinstance(shape[-1], Close):
                    strokes.append(shapely.LineString([(p.x, p.y) for p in corners]))
                    continue
                rings.append(shapely.LinearRing([(p.x, p.y) for p in (corners if len(corners) > 8 else points)]))
        assert rings
        for a, b in itertools.combinations(rings, 2):
            assert not a.intersects(b), panel["name"]
        assert len(strokes) == panel["strokes"]
        tree = shapely.STRtree(strokes)
        for number, stroke in enumerate(strokes):
            assert set(tree.query(stroke, predicate="intersects").tolist()) == {number}, panel["name"]
            assert not any(stroke.crosses(ring) for ring in rings), panel["name"]


def test_checksums_and_bill(built: tuple[Path, dict[str, Any]]) -> None:
    """The manifest's checksums are those of the files, and the bill lists every panel with its quantity."""
    out, manifest = built
    listed = {name: value for panel in manifest["panels"] for name, value in panel["files"].items()}
    assert len(listed) == 2 * len(manifest["panels"])
    for name, checksum in listed.items():
        assert hashlib.sha256((out / name).read_bytes()).hexdigest() == checksum
    rows = list(csv.DictReader(io.StringIO((out / "bom.csv").read_text("utf-8"))))
    panels = {row["name"]: int(row["quantity"]) for row in rows if row["kind"] == "panel"}
    assert panels == {panel["name"]: panel["quantity"] for panel in manifest["panels"]}


def test_same_bytes_in_another_process_and_folder(built: tuple[Path, dict[str, Any]], tmp_path: Path) -> None:
    """A second build, with another hash seed and in another place, gives the same files to the byte."""
    out, manifest = built
    source = next(path for path in EXAMPLES if path.name == manifest["design"]["file"])
    again = tmp_path / "elsewhere" / "again"
    assert build(source, again, seed="4711").returncode == 0
    first = {path.relative_to(out): path.read_bytes() for path in sorted(out.rglob("*")) if path.is_file()}
    second = {path.relative_to(again): path.read_bytes() for path in sorted(again.rglob("*")) if path.is_file()}
    assert first == second
    assert len(first) > 4


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_no_finding_over_the_stated_ranges(path: Path) -> None:
    """At the corners of the ranges that the parameters state, and in the middle, the proof finds nothing.

    Of all corners half are taken: those with an even number of parameters at their least, and the least of all.  Any choice of
    ends for all parameters but one is among them, so every three parameters meet in all ways.
    """
    design = load_design(path)
    hints = get_type_hints(design.function, include_extras=True)
    ranges: dict[str, Range] = {}
    for name, hint in hints.items():
        for extra in getattr(hint, "__metadata__", ()):
            if isinstance(extra, Range):
                ranges[name] = extra
    assert len(ranges) >= 4
    ends = [at for at in itertools.product((0, 1), repeat=len(ranges)) if at.count(0) % 2 == 0 or 1 not in at]
    for left_out in range(len(ranges)):
        assert len({at[:left_out] + at[left_out + 1 :] for at in ends}) == 2 ** (len(ranges) - 1)
    choices = [tuple((r.low, r.high)[end] for r, end in zip(ranges.values(), at, strict=True)) for at in ends]
    choices.append(tuple(type(r.low)((r.low + r.high) / 2) for r in ranges.values()))
    for values in choices:
        assembly = run(design, dict(zip(ranges, values, strict=True)))
        findings = assembly.check()
        assert not findings, (values, [str(finding) for finding in findings])


def test_mass_of_a_plate_by_hand() -> None:
    """The tray's base, 228 × 183 mm of 3 mm plywood at 680 kg/m³ with its tabs, weighs what arithmetic says."""
    product = run(load_design(next(p for p in EXAMPLES if p.stem == "tile_tray")), {}).product()
    base = next(part for part in product.parts if part.name == "base")
    tabs = next(j for j in product.joints if j.plates == ("base", "front")).numbers["count"]
    side_tabs = next(j for j in product.joints if j.plates == ("base", "left")).numbers["count"]
    area = 222 * 177 + 2 * (tabs + side_tabs) * 15 * 3
    assert base.mass_kg == pytest.approx(area * 3 * 1e-9 * 680)
    assert math.isclose(base.area_mm2, area)
