"""The page of a comparison and its drawings: areas as told, told apart without colour, no network, nothing for axe to find."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import jsonschema
import pytest
import shapely
from axes import faults
from browsers import chromium
from panelwright.assemblies.compare.differences import Comparison, compare
from panelwright.assemblies.compare.showing.compare_folder import write_comparison
from panelwright.assemblies.compare.showing.overlay_drawing import overlay_svg
from panelwright.assemblies.product.json_documents import output_schema
from panelwright.plates.errors import OutputError
from versions import stand, version

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def found() -> Comparison:
    """A base made longer with a hole elsewhere, a shelf that is higher, and a version whose label looks like HTML."""
    after = stand(width=170.0, base_hole=(50.0, 12.0), shelf_at=75.0)
    return compare(version(stand(), "last <b>week</b>"), version(after, "now"))


def drawn_area(root: Any, name: str) -> float:
    """What the path of that class encloses, each ring once more turning in and out."""
    (path,) = [path for path in root.iter(f"{SVG}path") if path.get("class") == name]
    assert path.get("fill-rule") == "evenodd"
    area: Any = shapely.Polygon()
    for ring in path.get("d").split("Z"):
        points = re.findall(r"(-?[\d.]+) (-?[\d.]+)", ring)
        if points:
            area = area.symmetric_difference(shapely.Polygon([(float(x), float(y)) for x, y in points]))
    return float(area.area)


def test_a_drawing_shows_the_areas_told(found: Comparison) -> None:
    """What is added, removed and kept, read back from the SVG; each with a border and a filling of its own kind."""
    (panel,) = found.panels
    root = ElementTree.fromstring(overlay_svg(panel))
    assert drawn_area(root, "added") == pytest.approx(panel.added_mm2, abs=0.5)
    assert drawn_area(root, "removed") == pytest.approx(panel.removed_mm2, abs=0.5)
    assert drawn_area(root, "kept") == pytest.approx(float(panel.overlay.kept.area), abs=0.5)
    looks = {path.get("class"): path for path in root.iter(f"{SVG}path") if path.get("class")}
    assert looks["removed"].get("stroke-dasharray")
    assert not looks["added"].get("stroke-dasharray")
    assert float(looks["added"].get("stroke-width")) > float(looks["removed"].get("stroke-width"))
    patterns = {pattern.get("id") for pattern in root.iter(f"{SVG}pattern")}
    assert {looks[name].get("fill") for name in ("added", "removed")} == {f"url(#{name})" for name in patterns}
    assert root.get("width") == f"{root.get('viewBox').split()[2]}mm"  # true size


def test_the_folder_is_whole_and_the_same_each_time(found: Comparison, tmp_path: Path) -> None:
    """Its document keeps to the schema and tells every file; a second run gives the same bytes; other folders are refused."""
    written = write_comparison(found, tmp_path / "a")
    made = json.loads((tmp_path / "a" / "manifest.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(output_schema()).validate(made)
    assert set(made["files"]) == {path.relative_to(tmp_path / "a").as_posix() for path in written} - {"manifest.json"}
    assert "overlays/base.svg" in made["files"]
    digests = {name: sha256((tmp_path / "a" / name).read_bytes()).hexdigest() for name in made["files"]}
    assert digests == made["files"]
    before = {path.name: path.read_bytes() for path in written}
    assert {path.name: path.read_bytes() for path in write_comparison(found, tmp_path / "a")} == before
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "notes.txt").write_text("keep")
    with pytest.raises(OutputError, match=r"no manifest\.json of an earlier build"):
        write_comparison(found, tmp_path / "mine")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as started:
        yield started


@pytest.mark.parametrize(("width", "scheme"), [(1200, "light"), (390, "dark")])
def test_the_page_in_a_browser(found: Comparison, browser: Any, width: int, scheme: str, tmp_path: Path) -> None:
    """It opens from disk, asks for nothing else, runs no script, and shows labels as text; axe finds nothing."""
    write_comparison(found, tmp_path / "out")
    context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme, bypass_csp=True, offline=True)
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto((tmp_path / "out" / "compare.html").as_uri())
    assert len(asked) == 1
    assert page.locator("script").count() == 0
    shown = page.inner_text("main")
    assert "cut 1 piece, keep 2 pieces" in shown
    assert "last <b>week</b>" in page.inner_text("header")
    drawing = page.locator("figure svg").first.bounding_box()
    assert drawing["width"] > 200
    assert drawing["height"] > 80
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert faults(page) == []
    context.close()
