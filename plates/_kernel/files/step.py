"""STEP files of assembled plates: one named, coloured product a plate, the same bytes every time.

The kernel's writer gives the geometry, the products and where they stand.  Four things it cannot promise are done on
its text, which then depends on the parts alone:

- the header: it stamps the time, so the whole of it is written here;
- occurrence numbers: it counts them through the life of the process, and breaks lines by their length;
- colours: it lists them in the order of memory addresses, turns some into names and rounds the rest to 32 bits;
- names: it writes UTF-8, where ISO 10303-21 asks for ``\\X2\\`` escapes in files of this level, so the writer sees
  placeholders and the escaped names go in here.
"""

from __future__ import annotations

import io
import os
import re
from collections.abc import Generator, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol

from panelwright.plates.errors import KernelError
from panelwright.plates.geometry.frame import Frame

__all__ = ["ColoredStock", "PlacedSolid", "escaped", "header_stamp", "step_bytes", "write_step"]

SETTINGS = {
    "write.surfacecurve.mode": "Off",  # curves in a face's own parameters say nothing new about flat parts
    "write.step.unit": "MM",
    "write.step.schema": "AP214IS",
    "write.step.assembly": "Auto",
    "write.precision.mode": "Average",
    "xstep.cascade.unit": "MM",
}
"""What the writer must be told; all are settings of the whole process, so they are put back afterwards."""

CONTINUED = re.compile(r"\n +")
ENTITY = re.compile(r"^#(\d+) ?=", re.MULTILINE)
HEADER = re.compile(r"FILE_DESCRIPTION.*?(?=FILE_SCHEMA)", re.DOTALL)
OCCURRENCE = re.compile(r"NEXT_ASSEMBLY_USAGE_OCCURRENCE\(\s*'[^']*',\s*('[^']*'),\s*'',\s*(#\d+),\s*(#\d+),\s*\$\s*\)")
PLACEHOLDER = re.compile(r"'PANEL-NAME-(\d+)'")
SOLID = re.compile(r"^#(\d+) ?=\s*MANIFOLD_SOLID_BREP\(", re.MULTILINE)
PRODUCT_OR_SHAPE = re.compile(
    r"=\s*PRODUCT\(\s*'PANEL-NAME-(?P<product>\d+)'"
    r"|=\s*(?:ADVANCED_BREP_)?SHAPE_REPRESENTATION\(\s*'',\s*\((?P<items>[^)]*)\),\s*#(?P<context>\d+)\s*\)"
)


class ColoredStock(Protocol):
    """What the writer needs to know of a stock."""

    @property
    def rgb(self) -> tuple[int, int, int]:
        """Red, green and blue from 0 to 255, sRGB."""
        ...


class PlacedSolid(Protocol):
    """What the writer needs to know of a part: `solid` stands in its own frame, `frame` says where that is."""

    @property
    def name(self) -> str:
        """Name of the product in the file."""
        ...

    @property
    def stock(self) -> ColoredStock:
        """Where the colour comes from."""
        ...

    @property
    def frame(self) -> Frame:
        """Where the part stands in the assembly."""
        ...

    @property
    def solid(self) -> Any:
        """The kernel's solid in the part's own frame."""
        ...


def header_stamp() -> str:
    """Time for file headers: SOURCE_DATE_EPOCH if it is set (UTC), the first second of 2000 otherwise.

    Raises `KernelError` if SOURCE_DATE_EPOCH is no whole number of seconds.
    """
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "").strip()
    if not epoch:
        return "2000-01-01T00:00:00"
    try:
        return datetime.fromtimestamp(int(epoch), UTC).strftime("%Y-%m-%dT%H:%M:%S")
    except (ValueError, OverflowError, OSError) as error:
        raise KernelError(f"SOURCE_DATE_EPOCH is {epoch!r}; give whole seconds since 1970 or unset it", value=epoch) from error


def escaped(text: str) -> str:
    r"""Text as the inside of a string of ISO 10303-21: quotes and backslashes doubled, the rest beyond ASCII escaped.

    >>> print(escaped("Böden"), escaped("it's"), escaped("a\\b"), escaped("\N{GRINNING FACE}"))
    B\X2\00F6\X0\den it''s a\\b \X4\0001F600\X0\
    """

    def hexadecimal(match: re.Match[str]) -> str:
        run = match.group()
        if max(run) > "\uffff":
            return "\\X4\\" + "".join(f"{ord(char):08X}" for char in run) + "\\X0\\"
        return "\\X2\\" + "".join(f"{ord(char):04X}" for char in run) + "\\X0\\"

    return re.sub(r"[^ -~]+", hexadecimal, text.replace("\\", "\\\\").replace("'", "''"))


def write_step(path: Path, name: str, parts: Sequence[PlacedSolid]) -> None:
    """Write the assembly `name` of the given parts to a STEP file (AP214, mm), overwriting what is there.

    Every part becomes a product with its own name, shape and stock colour, placed by its frame.  The bytes depend on
    the name, the parts and SOURCE_DATE_EPOCH only: neither on the path nor on what the process did before.

    Raises `KernelError` if the kernel cannot write a part, and `OSError` if the file cannot be written.
    """
    path.write_bytes(step_bytes(name, parts))


def step_bytes(name: str, parts: Sequence[PlacedSolid]) -> bytes:
    """The bytes that `write_step` writes."""
    if not parts:
        raise KernelError(f"assembly {name!r} has no plates, so there is no STEP to write; add one")
    text = _written_by_kernel(name, parts)
    stamp = header_stamp()
    header = (
        "FILE_DESCRIPTION(('assembled product'),'2;1');\n"
        f"FILE_NAME('{escaped(name)}','{stamp}',(''),(''),'Open CASCADE STEP processor','Panelwright','');\n"
    )
    text, count = HEADER.subn(lambda _: header, text, count=1)
    if count != 1:
        raise KernelError(f"the STEP writer gave no header for {name!r}")
    numbers = iter(range(1, len(parts) + 1))

    def numbered(match: re.Match[str]) -> str:
        called, whole, part = match.groups()
        return f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{next(numbers)}',{called},'',{whole},{part},$)"

    text, count = OCCURRENCE.subn(numbered, text, count=len(parts))
    if count != len(parts):
        raise KernelError(f"the STEP writer placed {count} plates of {name!r}, not the {len(parts)} it was given")
    text = _with_colors(text, name, parts)
    names = [*(part.name for part in parts), name]
    text = PLACEHOLDER.sub(lambda match: f"'{escaped(names[int(match.group(1))])}'", text)
    return text.encode("ascii")


def _written_by_kernel(name: str, parts: Sequence[PlacedSolid]) -> str:
    """What the kernel writes for the parts, named by placeholders and without colours."""
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    def call(label: Any, index: int) -> None:
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(f"PANEL-NAME-{index}"))

    try:
        document = TDocStd_Document(TCollection_ExtendedString("BinXCAF"))
        shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
        top = shapes.NewShape()
        call(top, len(parts))
        for index, (part, shape) in enumerate(zip(parts, _own_shapes(parts), strict=True)):
            label = shapes.AddShape(shape.Located(TopLoc_Location()), False, False)
            call(label, index)
            place = _location(part.frame).Multiplied(shape.Location())
            call(shapes.AddComponent(top, label, place), index)
        shapes.UpdateAssemblies()
        stream = io.BytesIO()
        with _quiet(), _settings():
            writer = STEPCAFControl_Writer()
            writer.SetColorMode(False)
            writer.SetLayerMode(False)
            done = writer.Transfer(document)
            status = writer.WriteStream(stream) if done else None
    except KernelError:
        raise
    except Exception as error:  # kernel exceptions share no other base
        raise KernelError(f"the STEP of {name!r} could not be written: {error}") from error
    if status != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise KernelError(f"the STEP of {name!r} could not be written: the kernel gave up ({status})")
    # the writer breaks lines anywhere, even before a comma; one line an entity is easier to trust
    return CONTINUED.sub("", stream.getvalue().decode("ascii").replace("\r\n", "\n"))


def _own_shapes(parts: Sequence[PlacedSolid]) -> Iterator[Any]:
    """The parts' solids, copied where two parts share one: equal shapes would become one product under one name."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
    from OCP.TopAbs import TopAbs_ShapeEnum

    seen: list[Any] = []
    for part in parts:
        solid = getattr(part.solid, "wrapped", part.solid)
        kinds = (TopAbs_ShapeEnum.TopAbs_SOLID, TopAbs_ShapeEnum.TopAbs_COMPOUND)
        if solid is None or solid.IsNull() or solid.ShapeType() not in kinds:
            raise KernelError(f"plate {part.name!r} is no solid, so it has no place in a STEP", plates=(part.name,))
        if any(solid.IsPartner(other) for other in seen):
            solid = BRepBuilderAPI_Copy(solid, True, False).Shape()
        seen.append(solid)
        yield solid


def _location(frame: Frame) -> Any:
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf
    from OCP.TopLoc import TopLoc_Location

    transform = gp_Trsf()
    place = gp_Ax3(gp_Pnt(*frame.origin), gp_Dir(*frame.z), gp_Dir(*frame.x))
    transform.SetTransformation(place, gp_Ax3())
    return TopLoc_Location(transform)


def _with_colors(text: str, name: str, parts: Sequence[PlacedSolid]) -> str:
    """The text with a style for every solid, in the order of the parts; equal colours share their definition."""
    solids = set(SOLID.findall(text))
    found: dict[int, tuple[list[str], str]] = {}
    product = -1
    for match in PRODUCT_OR_SHAPE.finditer(text):
        if match["product"] is not None:
            product = int(match["product"])
            continue
        of_product = [item for item in re.findall(r"#(\d+)", match["items"]) if item in solids]
        if not of_product:
            continue  # the assembly's own, which holds places only
        if product in found:
            raise KernelError(f"the STEP writer mixed up the solids of {name!r}")
        found[product] = (of_product, match["context"])
    if sorted(found) != list(range(len(parts))):
        lost = tuple(part.name for index, part in enumerate(parts) if index not in found)
        raise KernelError(f"the STEP writer left out {', '.join(map(repr, lost)) or 'a plate'}", plates=lost)

    lines: list[str] = []
    first = max(int(number) for number in ENTITY.findall(text)) + 1

    def add(entity: str) -> str:
        lines.append(f"#{first + len(lines)} = {entity};\n")
        return f"#{first + len(lines) - 1}"

    styles: dict[tuple[int, int, int], str] = {}
    for index, part in enumerate(parts):
        of_part, context = found[index]
        if part.stock.rgb not in styles:
            shares = ",".join(f"{channel / 255:.12f}".rstrip("0") for channel in part.stock.rgb)
            color = add(f"COLOUR_RGB('',{shares})")
            fill = add(f"FILL_AREA_STYLE_COLOUR('',{color})")
            area = add(f"FILL_AREA_STYLE('',({fill}))")
            side = add(f"SURFACE_SIDE_STYLE('',({add(f'SURFACE_STYLE_FILL_AREA({area})')}))")
            styles[part.stock.rgb] = add(f"PRESENTATION_STYLE_ASSIGNMENT(({add(f'SURFACE_STYLE_USAGE(.BOTH.,{side})')}))")
        items = ",".join(add(f"STYLED_ITEM('color',({styles[part.stock.rgb]}),#{solid})") for solid in of_part)
        add(f"MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',({items}),#{context})")
    data_end = text.rindex("ENDSEC;")
    return text[:data_end] + "".join(lines) + text[data_end:]


@contextmanager
def _settings() -> Generator[None]:
    """The writer's settings for the time of one export."""
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_Controller

    STEPControl_Controller.Init_s()
    before = {key: Interface_Static.CVal_s(key) for key in SETTINGS}
    try:
        for key, value in SETTINGS.items():
            if not Interface_Static.SetCVal_s(key, value):
                raise KernelError(f"the STEP writer does not know {key} = {value}", value=value)
        yield
    finally:
        for key, value in before.items():
            Interface_Static.SetCVal_s(key, value)


@contextmanager
def _quiet() -> Generator[None]:
    """No statistics on standard output for the time of one export; failures are still told."""
    from OCP.Message import Message, Message_Gravity

    printers = [(printer, printer.GetTraceLevel()) for printer in Message.DefaultMessenger_s().Printers()]
    try:
        for printer, _ in printers:
            printer.SetTraceLevel(Message_Gravity.Message_Fail)
        yield
    finally:
        for printer, level in printers:
            printer.SetTraceLevel(level)
