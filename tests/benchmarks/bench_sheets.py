"""Writing the files of all sheets of a job of 100 panels, beside ezdxf writing the same entities; and marking its parts."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

from panelwright.assemblies import Batch, SheetRules, lay_sheets, tray
from panelwright.assemblies.cutting import by_layer
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.marks import label_of
from panelwright.assemblies.sheets.plan import SheetPlan
from panelwright.assemblies.sheets.sheet_files import sheet_files
from panelwright.joints import fingers, tabs
from panelwright.plates import Stock
from panelwright.plates.geometry.curves import Arc, Line
from timing import Row, milliseconds, timed, timed_beside

__all__ = ["rows"]

MOST_WRITING = 2.0
"""Times as long as ezdxf alone that all three files of every sheet may take together."""

COPIES = 20


def rows() -> Iterator[Row]:
    """Twenty trays of five panels each."""
    product = _tray()
    plan = lay_sheets([Batch(product, COPIES)], None, SheetRules(effort=0))
    parts = sum(len(sheet.parts) for sheet in plan.sheets)
    paths = sum(len(sheet.paths) for sheet in plan.sheets)
    mine, theirs = timed_beside(lambda: [sheet_files(sheet) for sheet in plan.sheets], lambda: _by_ezdxf(plan), 5)
    ratio = mine.best / theirs.best
    yield Row(
        f"12 DXF, SVG and PDF of {len(plan.sheets)} sheets, {parts} panels, {paths:,} paths",
        str(mine),
        f"ezdxf writing the same entities as DXF alone {theirs}",
        f"{ratio:.2f} x (medians {mine.median / theirs.median:.2f} x)",
        f"<= {MOST_WRITING:g} x",
        ratio <= MOST_WRITING,
    )
    panels = product.panels
    marking = timed(lambda: [label_of([f"A {panel.name}", "A"], panel.cuts) for panel in panels], 5)
    yield Row(
        f"12 a place for the lettering of {len(panels)} panels",
        str(marking),
        "nothing beside it",
        f"{milliseconds(marking.best / len(panels))} a panel",
        "none",
        None,
    )


def _tray() -> Product:
    mdf = Stock("MDF", 3.0, kerf=0.18, clearance=0.08, sheet=(600, 300))
    made = tray("tray", stock=mdf, width=150, depth=110, height=45, corner=fingers(width=9), floor=tabs(pitch=40, width=12))
    product = made.product()
    if product.errors:
        raise AssertionError(f"the tray has these errors: {product.errors}")
    return product


def _by_ezdxf(plan: SheetPlan) -> list[str]:
    """The same polylines and circles on the same layers, by a plain use of ezdxf."""
    import ezdxf

    written = []
    for sheet in plan.sheets:
        document = ezdxf.new("R2000")
        space = document.modelspace()
        for layer, paths in by_layer(sheet.paths).items():
            document.layers.add(layer)
            for path in paths:
                _add(space, path, layer)
        stream = io.StringIO()
        document.write(stream)
        written.append(stream.getvalue())
    return written


def _add(space: Any, path: Any, layer: str) -> None:
    first = path.segments[0]
    if len(path.segments) == 1 and isinstance(first, Arc) and first.is_full:
        space.add_circle(first.center, first.radius, dxfattribs={"layer": layer})
        return
    corners = []
    for segment in path.segments:
        if not isinstance(segment, Line | Arc):
            raise TypeError("the tray has lines and arcs only")
        corners.append(segment.start)
    if not path.is_closed:
        corners.append(path.end)
    space.add_lwpolyline(corners, format="xy", close=path.is_closed, dxfattribs={"layer": layer})
