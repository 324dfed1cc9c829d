"""Every JSON that the toolkit writes or prints, held to the one schema in the package, which lets no key pass that it lacks."""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Iterator
from fnmatch import fnmatch
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from panelwright.assemblies.commands.main import main
from panelwright.assemblies.output.folder import check_out, ours_of
from panelwright.assemblies.output.manifest import files_of
from panelwright.assemblies.product.json_documents import KINDS, output_schema
from panelwright.plates.errors import OutputError

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted(path for path in (ROOT / "examples").glob("*.py") if "def design(" in path.read_text("utf-8"))

SCHEMA = output_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)

BROKEN = '''
"""A board with a lid through it and a shelf in the air."""
from panelwright.assemblies import Assembly
from panelwright.joints import join, tabs
from panelwright.plates import Frame, Stock, rectangle, standing

def design(width: float = 120) -> Assembly:
    tray = Assembly("glaze tray", stock=Stock("birch plywood", 4.0, measured=4.0, kerf=0.2, density=680))
    base = tray.add("base", rectangle(width, 80))
    wall = tray.add("wall", rectangle(width, 40), standing(base.face(">Z"), facing="+Y"))
    tray.add("lid", rectangle(60, 60), Frame((0, 0, 2)))
    tray.add("shelf", rectangle(30, 30), Frame((0, 0, 200)))
    join(wall.face("<Z"), base.face(">Z"), tabs(at=[500]))
    return tray
'''


def held(text: str, kind: str) -> dict[str, Any]:
    """The document, once it keeps to the schema and is of the kind meant."""
    found: dict[str, Any] = json.loads(text)
    problems = [f"{error.json_path}: {error.message}" for error in VALIDATOR.iter_errors(found)]
    assert problems == []
    assert found["schema"] == {"name": f"panelwright.{kind}", "version": KINDS[f"panelwright.{kind}"]}
    return found


def objects(node: Any, path: str = "$") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every part of a schema that describes an object by its keys."""
    if isinstance(node, dict):
        if isinstance(node.get("properties"), dict) and node.get("type") == "object":
            yield path, node
        for key, inner in node.items():
            yield from objects(inner, f"{path}.{key}")
    elif isinstance(node, list):
        for index, inner in enumerate(node):
            yield from objects(inner, f"{path}[{index}]")


def test_schema_is_one_and_lets_no_unknown_key_pass() -> None:
    """It is a schema of draft 2020-12, knows every kind in its version, and closes every object but its own frame."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    for kind, version in KINDS.items():
        stated = SCHEMA["$defs"][kind.removeprefix("panelwright.")]["properties"]["schema"]["properties"]
        assert (stated["name"]["const"], stated["version"]["const"]) == (kind, version)
    assert SCHEMA["properties"]["schema"]["properties"]["name"]["enum"] == list(KINDS)
    found = [path for path, node in objects(SCHEMA["$defs"]) if node.get("additionalProperties") is not False]
    assert found == []
    assert sum(1 for _ in objects(SCHEMA["$defs"])) > 25


def test_schema_is_in_the_package() -> None:
    """Whoever installs the toolkit has the file, since it is package data."""
    room = files("panelwright.assemblies.product")
    data = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]["package-data"]
    assert room.joinpath("output.schema.json").is_file()
    assert any(fnmatch("output.schema.json", pattern) for pattern in data["panelwright.assemblies.product"])


@pytest.mark.parametrize("design", EXAMPLES, ids=lambda path: str(path.stem))
def test_output_of_every_example(design: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its manifest, and what `build --json` prints; a key more or less anywhere in them is noticed."""
    out = tmp_path / "out"
    code = main(["build", str(design), "--out", str(out), "--effort", "2", "--json"])
    said = held(capsys.readouterr().out, "result")
    made = held((out / "manifest.json").read_text("utf-8"), "manifest")
    assert code == 0
    assert said["findings"] == made["checks"]
    assert said["cautions"] == made["cautions"]
    assert [{**panel, "files": None} for panel in said["panels"]] == [{**panel, "files": None} for panel in made["panels"]]
    stocks = {(stock["stock"], stock["thickness_mm"]) for stock in made["stocks"]}
    assert {(panel["stock"], panel["thickness_mm"]) for panel in made["panels"]} == stocks
    assert {(sheet["stock"], sheet["thickness_mm"]) for sheet in made["sheets"]} == stocks
    for node, key in ((made, "plates"), (made["panels"][0], "note"), (made["sheets"][0]["parts"][0], "z_mm")):
        node[key] = 1
        assert not VALIDATOR.is_valid(made)
        del node[key]
    del made["panels"][0]["stock"]
    assert not VALIDATOR.is_valid(made)


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    """A design that fails its proof in several ways."""
    path = tmp_path / "glaze_tray.py"
    path.write_text(BROKEN)
    return path


def test_findings_are_the_same_objects_everywhere(broken: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`check`, `build --anyway`, `nest`, `picture`, the manifest and the report's data tell the same list."""
    assert main(["check", str(broken), "--json"]) == 1
    found = held(capsys.readouterr().out, "result")["findings"]
    assert {"OVERLAP", "FLOATS", "JOINT"} <= {finding["code"] for finding in found}
    out = broken.with_name("out")
    assert main(["build", str(broken), "--out", str(out), "--anyway", "--json"]) == 1
    said = held(capsys.readouterr().out, "result")
    made = held((out / "manifest.json").read_text("utf-8"), "manifest")
    page = (out / "report.html").read_text("utf-8")
    scene = json.loads(page.partition('id="data">')[2].partition("</script>")[0])
    in_page = [{key: value for key, value in finding.items() if key != "parts"} for finding in scene["findings"]]
    without_sheets = [finding for finding in found if finding["code"] not in ("SHEET", "BED", "SUPPLY")]
    for told in (said["findings"], made["checks"], in_page):
        assert [finding for finding in told if finding["code"] not in ("SHEET", "BED", "SUPPLY")] == without_sheets
    assert main(["nest", str(broken), "--out", str(broken.with_name("batch")), "--json"]) == 1
    nested = held(capsys.readouterr().out, "result")
    assert (nested["ok"], nested["out"], nested["product"]) == (False, None, "glaze tray")
    assert nested["findings"] == found
    assert main(["picture", str(broken), "--out", str(broken.with_name("tray.svg")), "--json"]) == 1
    drawn = held(capsys.readouterr().out, "picture")
    assert drawn["findings"] == [finding for finding in found if finding["code"] == "JOINT"]


def test_nest_of_two_designs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What it prints and its manifest; panels, and what findings name, are told apart by their products."""
    two = [str(ROOT / "examples" / name) for name in ("card_drawer.py", "brush_rack.py")]
    code = main(["nest", *two, "--copies", "1", "2", "--out", str(tmp_path / "batch"), "--effort", "2", "--json"])
    said = held(capsys.readouterr().out, "result")
    made = held((tmp_path / "batch" / "manifest.json").read_text("utf-8"), "manifest")
    assert code == 0
    assert [product["copies"] for product in made["products"]] == [1, 2]
    assert [panel["name"] for panel in said["panels"]] == [panel["name"] for panel in made["panels"]]
    named = {plate for panel in made["panels"] for plate in panel["instances"]}
    assert all("/" in plate for plate in named)
    assert {plate for finding in made["checks"] for plate in finding["plates"]} <= named


def test_findings_of_a_nest_name_plates_as_its_panels_do(broken: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two designs that fail: one list, every plate with its product before it."""
    other = broken.with_name("other.py")
    other.write_text(BROKEN.replace("glaze tray", "brush tray"))
    assert main(["nest", str(broken), str(other), "--out", str(broken.with_name("batch")), "--json"]) == 1
    said = held(capsys.readouterr().out, "result")
    named = {plate for finding in said["findings"] for plate in finding["plates"]}
    assert named == {plate for panel in said["panels"] for plate in panel["instances"]}
    assert {plate.partition("/")[0] for plate in named} == {"glaze tray", "brush tray"}


def test_shop_commands_and_codes(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Stocks, coupon, calibration and codes; a stock's numbers have one word each in all of them."""
    monkeypatch.chdir(tmp_path)
    told: dict[str, dict[str, Any]] = {}
    readings = ["--thickness", "3.91", "--strips", "78.1", "--snug", "3.75", "--cut-speed", "15"]
    for kind, line in (
        ("calibration", ["calibrate", "birch 4", *readings]),
        ("stocks", ["stocks"]),
        ("coupon", ["coupon", "birch 4", "--out", "coupon"]),
        ("codes", ["explain"]),
        ("codes", ["explain", "OVERLAP"]),
    ):
        assert main([*line, "--json"]) == 0
        told[kind] = held(capsys.readouterr().out, kind)
    assert [entry["code"] for entry in told["codes"]["codes"]] == ["OVERLAP"]
    values = told["calibration"]["values"]
    assert set(values) == {"measured_thickness_mm", "kerf_mm", "clearance_mm"}
    (birch,) = [stock for stock in told["stocks"]["stocks"] if stock["stock"] == "birch 4" and stock["is_calibrated"]]
    for key, measured in values.items():
        assert birch[key] == pytest.approx(measured["value_mm"], abs=1e-6)
        assert birch["uncertainty"][key] == pytest.approx(measured["plus_minus_mm"], abs=1e-6)
        assert key in birch["sources"]
    assert (birch["nominal_thickness_mm"], birch["thickness_mm"]) == (4.0, birch["measured_thickness_mm"])


@pytest.mark.parametrize(
    "line", [["check", "missing.py"], ["build", "glaze_tray.py"], ["explain", "OVERLAPS"], ["coupon", "brich 4", "--out", "x"]]
)
def test_failures(line: list[str], broken: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the command, what failed is told by the same object."""
    monkeypatch.chdir(broken.parent)
    assert main([*line, "--json"]) == 2
    said = held(capsys.readouterr().out, "result")
    assert (said["ok"], said["product"], said["findings"]) == (False, None, [])
    assert said["error"]["message"]


OLD = {"checks": [], "files": {"bom.csv": "0"}, "plates": [], "units": "mm", "versions": {"panelwright": "0.1.0"}}
"""What a manifest of version 0.1.0 tells, as far as it matters whose it is."""


def test_folder_of_an_earlier_version_is_known_as_ours(broken: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It is replaced as a whole, files of the user's carried over; a later version's manifest is known as well."""
    out = broken.with_name("out")
    out.mkdir()
    for name, text in (("manifest.json", json.dumps(OLD)), ("bom.csv", "old"), ("notes.txt", "mine")):
        (out / name).write_text(text)
    assert ours_of(out) == {"bom.csv", "manifest.json"}
    assert main(["build", str(broken), "--out", str(out), "--anyway", "--json"]) == 1
    capsys.readouterr()
    held((out / "manifest.json").read_text("utf-8"), "manifest")
    assert (out / "notes.txt").read_text() == "mine"
    assert (out / "bom.csv").read_text() != "old"
    later = {"schema": {"name": "panelwright.manifest", "version": 9}, "files": {"a.dxf": "0"}}
    assert files_of(json.dumps(later)) == {"a.dxf"}


@pytest.mark.parametrize("change", ["schema", "plates", "versions", "files"])
def test_manifest_of_somebody_else_is_not_ours(change: str, tmp_path: Path) -> None:
    """Without what tells ours, a folder is left alone."""
    found: dict[str, Any] = copy.deepcopy(OLD)
    if change == "schema":
        found["schema"] = {"name": "somebody.else", "version": 1}
    else:
        del found[change]
    (tmp_path / "manifest.json").write_text(json.dumps(found))
    assert ours_of(tmp_path) is None
    with pytest.raises(OutputError, match="no manifest"):
        check_out(tmp_path)


def test_verification_and_family(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A folder verified and built again, and a family as printed and as written."""
    design = tmp_path / "stand.py"
    design.write_text(BROKEN.replace('    tray.add("lid', '    return tray\n    tray.add("lid'), "utf-8")
    assert main(["build", str(design), "--out", str(tmp_path / "out"), "--no-sheets", "--anyway"]) in (0, 1)
    capsys.readouterr()
    again = ["--rebuild", str(design), "--no-sheets", "--anyway"]
    assert main(["verify", str(tmp_path / "out"), *again, "--json"]) == 0
    assert held(capsys.readouterr().out, "verification")["rebuilt"]["is_identical"]
    (tmp_path / "out" / "bom.csv").unlink()
    assert main(["verify", str(tmp_path / "out"), "--json"]) == 1
    assert held(capsys.readouterr().out, "verification")["missing"] == ["bom.csv"]
    (tmp_path / "sizes.csv").write_text("variant,width\nlow,90\nhigh,120\n", "utf-8")
    family = ["family", str(design), str(tmp_path / "sizes.csv"), "--out", str(tmp_path / "all"), "--check", "--jobs", "1"]
    main([*family, "--json"])
    printed = held(capsys.readouterr().out, "family")
    written = held((tmp_path / "all" / "family.json").read_text("utf-8"), "family")
    assert printed["variants"] == written["variants"]
