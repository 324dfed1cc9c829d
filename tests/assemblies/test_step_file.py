"""STEP files: names, colours, places and bytes, judged by two readers that are not the writer."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cadquery as cq
import gmsh
import pytest
from panelwright.plates._kernel.files.step import escaped, header_stamp, step_bytes, write_step
from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.frame import Frame
from panelwright.plates.materials.stock import Stock

BIRCH = Stock("birch plywood", 5.0, color="orange")
ACRYLIC = Stock("acrylic", 3.0, color="#0072B2")
SLATE = Stock("slate card", 1.5, color="black")


@dataclass
class Piece:
    """The least that a part must have to be written."""

    name: str
    stock: Stock
    frame: Frame
    solid: Any


def board(width: float, depth: float, thickness: float, holes: int = 0) -> Any:
    plate = cq.Workplane().rect(width, depth)
    if holes:
        plate = plate.pushPoints([(i * 8 - width / 2 + 8, 0) for i in range(holes)]).circle(2)
    solid: Any = plate.extrude(thickness).solids().vals()[0]
    return solid.wrapped


def tile_tray() -> list[Piece]:
    side = board(60, 30, 3)
    return [
        Piece("Böden", BIRCH, Frame(), board(120, 80, 5, holes=4)),
        Piece("棚", ACRYLIC, Frame((0, 0, 30), (0, 1, 0), (0, 0, 1), (1, 0, 0)), side),
        Piece("potter's mark", ACRYLIC, Frame((0, -90, 0)).then(Frame.turned((1, 1, 0), 33)), side),
        Piece("label", SLATE, Frame((0, 150, 0)), board(40, 20, 1.5)),
    ]


def volumes_by_gmsh(path: Path) -> dict[str, tuple[float, tuple[int, ...], tuple[float, ...]]]:
    """Product name to volume, colour and bounding box."""
    gmsh.initialize(interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.model.occ.importShapes(str(path))
        gmsh.model.occ.synchronize()
        return {
            gmsh.model.getEntityName(3, tag).rpartition("/")[2]: (
                gmsh.model.occ.getMass(3, tag),
                tuple(gmsh.model.getColor(3, tag)[:3]),
                gmsh.model.occ.getBoundingBox(3, tag),
            )
            for _, tag in gmsh.model.getEntities(3)
        }
    finally:
        gmsh.finalize()


def products_by_kernel(path: Path) -> dict[str, tuple[float, ...] | None]:
    """Product name to linear colour, by the kernel's own reader."""
    from OCP.Quantity import Quantity_Color
    from OCP.STEPCAFControl import STEPCAFControl_Reader
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDF import TDF_LabelSequence
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool

    document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    reader.SetColorMode(True)
    reader.ReadFile(str(path))
    assert reader.Transfer(document)
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    colors = XCAFDoc_DocumentTool.ColorTool_s(document.Main())
    labels = TDF_LabelSequence()
    shapes.GetShapes(labels)
    found: dict[str, tuple[float, ...] | None] = {}
    for index in range(1, labels.Length() + 1):
        name, color = TDataStd_Name(), Quantity_Color()
        assert labels.Value(index).FindAttribute(TDataStd_Name.GetID_s(), name)
        shape = shapes.GetShape_s(labels.Value(index))
        has = colors.GetColor(shape, XCAFDoc_ColorType.XCAFDoc_ColorSurf, color)
        found[name.Get().ToExtString()] = (color.Red(), color.Green(), color.Blue()) if has else None
    return found


@pytest.fixture(scope="module")
def step(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("studio") / "tray.step"
    write_step(path, "Kachelablage 棚", tile_tray())
    return path


def test_every_plate_is_a_volume_of_its_own_name_size_colour_and_place(step: Path) -> None:
    """Another reader finds one volume a plate, area × thickness big, in its stock's colour, in its place."""
    found = volumes_by_gmsh(step)
    assert sorted(found) == sorted(piece.name for piece in tile_tray())
    four_holes = 4 * 3.141592653589793 * 4
    assert found["Böden"][0] == pytest.approx((120 * 80 - four_holes) * 5, rel=1e-9)
    assert found["棚"][0] == pytest.approx(60 * 30 * 3, rel=1e-9)
    assert found["potter's mark"][0] == pytest.approx(60 * 30 * 3, rel=1e-9)
    assert found["Böden"][1] == BIRCH.rgb
    assert found["棚"][1] == ACRYLIC.rgb
    assert found["label"][1] == (0, 0, 0)
    assert found["棚"][2] == pytest.approx((0, -30, 15, 3, 30, 45), abs=1e-5)
    assert found["label"][2] == pytest.approx((-20, 140, 0, 20, 160, 1.5), abs=1e-5)


def test_names_and_colours_survive_the_kernels_own_reader(step: Path) -> None:
    """Products and the assembly come back under the names given, and sRGB comes back as the same sRGB."""
    found = products_by_kernel(step)
    assert set(found) == {"Kachelablage 棚", "Böden", "棚", "potter's mark", "label"}
    linear = found["Böden"]
    assert linear is not None
    back = [12.92 * c if c <= 0.0031308 else 1.055 * c ** (1 / 2.4) - 0.055 for c in linear]
    assert [round(255 * c) for c in back] == list(BIRCH.rgb)


def test_colours_stand_in_the_file_as_srgb_shares(step: Path) -> None:
    """COLOUR_RGB holds each stock's sRGB value over 255, once a colour, also for black."""
    text = step.read_text("ascii")
    colors = re.findall(r"COLOUR_RGB\('',([\d.]+),([\d.]+),([\d.]+)\)", text)
    expected = [[channel / 255 for channel in stock.rgb] for stock in (BIRCH, ACRYLIC, SLATE)]
    assert [[float(share) for share in color] for color in colors] == [pytest.approx(e, abs=1e-11) for e in expected]
    assert text.count("STYLED_ITEM(") == 4


def test_units_are_millimetres_and_planes_carry_no_curves_of_their_own(step: Path) -> None:
    """The length unit is the millimetre, and no p-curves blow up the file."""
    text = step.read_text("ascii")
    assert "SI_UNIT(.MILLI.,.METRE.)" in text
    assert "PCURVE" not in text
    assert text.count("MANIFOLD_SOLID_BREP(") == 4


def test_header_names_no_time_no_path_and_no_person(step: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The header holds the product's name and a stamp that SOURCE_DATE_EPOCH sets; nothing of the machine."""
    header = step.read_text("ascii").partition("DATA;")[0]
    assert "FILE_NAME('Kachelablage \\X2\\68DA\\X0\\','2000-01-01T00:00:00',(''),(''),'" in header
    assert str(step.parent) not in header
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert b"'2023-11-14T22:13:20'" in step_bytes("tray", tile_tray()[:1])


def test_stamp_that_is_no_number_of_seconds_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A wrong SOURCE_DATE_EPOCH is named, not ignored."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "yesterday")
    with pytest.raises(KernelError, match="SOURCE_DATE_EPOCH is 'yesterday'"):
        header_stamp()


def test_second_export_in_one_process_gives_the_same_bytes() -> None:
    """Neither counters nor addresses of the process show."""
    pieces = tile_tray()
    first = step_bytes("tray", pieces)
    step_bytes("something else", pieces[:2])
    assert step_bytes("tray", pieces) == first
    assert step_bytes("tray", tile_tray()) == first
    assert step_bytes("tray", pieces[:3]) != first


def test_other_processes_and_folders_give_the_same_bytes(tmp_path: Path) -> None:
    """Two fresh interpreters with other hash seeds and pasts, in other folders, write the same file."""
    script = (
        "import importlib.util as u, sys, pathlib\n"
        f"spec = u.spec_from_file_location('made', {str(Path(__file__).resolve())!r})\n"
        "made = u.module_from_spec(spec); sys.modules['made'] = made; spec.loader.exec_module(made)\n"
        "for _ in range(int(sys.argv[1])):\n"
        "    made.step_bytes('before', made.tile_tray())\n"
        "made.write_step(pathlib.Path('tray.step'), 'tray', made.tile_tray())\n"
    )
    digests = set()
    for seed in ("0", "5"):
        folder = tmp_path / f"bench {seed}"
        folder.mkdir()
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        done = subprocess.run(
            [sys.executable, "-c", script, seed], cwd=folder, env=environment, capture_output=True, check=True
        )
        assert done.stdout == b""
        digests.add(hashlib.sha256((folder / "tray.step").read_bytes()).hexdigest())
    assert len(digests) == 1
    assert digests == {hashlib.sha256(step_bytes("tray", tile_tray())).hexdigest()}


def test_writing_prints_nothing_and_puts_the_global_settings_back(capfd: pytest.CaptureFixture[str]) -> None:
    """The kernel's statistics stay silent, and its process-wide settings are as before."""
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_Controller

    STEPControl_Controller.Init_s()
    Interface_Static.SetCVal_s("write.surfacecurve.mode", "On")
    Interface_Static.SetCVal_s("write.step.unit", "INCH")
    try:
        text = step_bytes("tray", tile_tray()[:1]).decode("ascii")
        assert Interface_Static.CVal_s("write.surfacecurve.mode") == "On"
        assert Interface_Static.CVal_s("write.step.unit") == "INCH"
    finally:
        Interface_Static.SetCVal_s("write.step.unit", "MM")
    assert "INCH" not in text
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("name", ["x" * 300, "é" * 150, "it's 2\\3", "\\X2\\", "mug 🍵 shelf", "a\tb"])
def test_any_name_comes_back(name: str, tmp_path: Path) -> None:
    """Long names, quotes, backslashes and signs beyond 16 bits come back as they went in."""
    path = tmp_path / "one.step"
    write_step(path, "studio", [Piece(name, BIRCH, Frame(), board(20, 10, 5))])
    assert set(products_by_kernel(path)) == {"studio", name}


def test_escapes_are_those_of_the_standard() -> None:
    """ISO 10303-21, 6.4.3: runs of 16-bit or 32-bit signs between X2 or X4 and X0."""
    assert escaped("Böden 棚") == "B\\X2\\00F6\\X0\\den \\X2\\68DA\\X0\\"
    assert escaped("") == ""


def test_solid_moved_by_a_location_lands_where_it_was(tmp_path: Path) -> None:
    """A location inside the solid counts, and does not make a product without a name."""
    moved = cq.Shape.cast(board(20, 10, 5)).moved(cq.Location(cq.Vector(100, 0, 0))).wrapped
    path = tmp_path / "moved.step"
    write_step(path, "shelf", [Piece("shelf", BIRCH, Frame((0, 50, 0)), moved)])
    found = volumes_by_gmsh(path)
    assert found["shelf"][2] == pytest.approx((90, 45, 0, 110, 55, 5), abs=1e-5)


def test_what_is_no_solid_is_refused_by_name() -> None:
    """A face in place of a solid, or no parts at all, is an error that says so."""
    face = cq.Face.makePlane(10, 10).wrapped
    with pytest.raises(KernelError, match="plate 'lid' is no solid") as caught:
        step_bytes("tray", [Piece("lid", BIRCH, Frame(), face)])
    assert caught.value.plates == ("lid",)
    with pytest.raises(KernelError, match="'tray' has no plates"):
        step_bytes("tray", [])


def test_writer_that_gives_up_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """When the kernel says that it could not transfer, nothing pretends otherwise."""
    from OCP.STEPCAFControl import STEPCAFControl_Writer

    monkeypatch.setattr(STEPCAFControl_Writer, "Transfer", lambda *_: False)
    with pytest.raises(KernelError, match="could not be written: the kernel gave up"):
        step_bytes("tray", tile_tray())
