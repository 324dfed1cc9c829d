"""The files of a sheet: DXF, SVG and PDF of all that is to be marked and cut, and the PDF on several pages of paper.

Besides paths the sheet's own outline is drawn, last and on a layer of its own, `SHEET`, which is not to be cut: it shows
which way an offcut lies.  In the DXF that layer doesn't print; the PDF, which has no layers, has it in black.  The sheet's box
is the page of the SVG and the PDF, and the limits of the DXF.  The origin is the lower left corner of the sheet as it lies on
the machine.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from panelwright.assemblies.cutting import by_layer
from panelwright.assemblies.files.dxf import SHEET, layered_dxf
from panelwright.assemblies.files.pdf import layered_pdf
from panelwright.assemblies.files.svg import layered_svg
from panelwright.plates.geometry.curves import Loop, Segment

from .plan import CutSheet, SheetPlan

if TYPE_CHECKING:
    from panelwright.assemblies.paper.press import Paper

__all__ = ["paper_pdf", "plan_files", "sheet_files"]


def plan_files(plan: SheetPlan, paper: Paper | None = None) -> Iterator[tuple[str, bytes]]:
    """Every sheet's files by their path in the output folder; with `paper` also a PDF in pages of that size."""
    for sheet in plan.sheets:
        for ending, data in sheet_files(sheet).items():
            yield f"sheets/{sheet.name}.{ending}", data
        if paper is not None:
            yield f"sheets/{sheet.name}-{paper.name}.pdf", paper_pdf(sheet, paper)


def sheet_files(sheet: CutSheet) -> dict[str, bytes]:
    """The DXF, SVG and PDF file of a sheet, by file name ending: layers in cutting order, and paths in it within each."""
    layers = _layers(sheet)
    title = f"{sheet.name}: {sheet.stock.name or sheet.stock.material}, {sheet.kind.sheet.id}"
    title += "; turn this offcut over" * sheet.kind.is_turned_over
    return {
        "dxf": layered_dxf(layers, sheet.box),
        "svg": layered_svg(title, layers, sheet.box),
        "pdf": layered_pdf(title, layers, sheet.box),
    }


def _layers(sheet: CutSheet) -> dict[str, list[Sequence[Segment]]]:
    layers: dict[str, list[Sequence[Segment]]] = {
        layer: [path.segments for path in paths] for layer, paths in by_layer(sheet.paths).items()
    }
    return {**layers, SHEET: [loop.segments for loop in sheet.outline]}


def paper_pdf(sheet: CutSheet, paper: Paper) -> bytes:
    """A sheet at 1:1 on pages of paper that overlap, each with bars of 100 mm to check the printer with.

    The sheet's own outline is drawn in black, which no path has: from its lower left corner as far as the pages go.
    """
    from panelwright.assemblies.data.parts import Panel
    from panelwright.assemblies.paper.press import GREY, MARGIN, Press
    from panelwright.assemblies.paper.templates import draw_sheet, tiled_within

    closed = [path for path in sheet.paths if path.kind != "mark" and path.is_closed]
    whole = Panel(
        sheet.name,
        sheet.stock,
        (sheet.name,),
        sheet.outline,
        tuple(_loop(path.segments, is_outer=path.kind == "outside") for path in closed),
        tuple(path.segments for path in sheet.paths if path.kind == "mark"),
        0.0,
        None,
        tuple(path.segments for path in sheet.paths if path.kind != "mark" and not path.is_closed),
    )
    title = f"{sheet.name} · {sheet.stock.name or sheet.stock.material} · {sheet.kind.sheet.id} mm"
    title += " · turn this offcut over" * sheet.kind.is_turned_over
    press = Press(paper, title)
    pages = tiled_within(whole, sheet.outline, paper)
    for number, page in enumerate(pages, 1):
        if number > 1:
            press.end_page()
        press.text(MARGIN, paper.height - 16, title, size=11, bold=True)
        press.text(paper.width - MARGIN, paper.height - 16, f"page {number} of {len(pages)}", size=9, color=GREY, align="right")
        draw_sheet(press, page, {sheet.name: ""}, number)
    return press.finished()


def _loop(segments: Sequence[Segment], *, is_outer: bool) -> Loop:
    loop = Loop(tuple(segments))
    return loop.counter_clockwise() if is_outer else loop.clockwise()
