"""What the server that family processes are forked from imports: all that a build takes.  Importing this builds nothing."""

from __future__ import annotations

from importlib import import_module

from panelwright.assemblies.preview.preload import MODULES as SHARED

__all__ = ["MODULES"]

MODULES = (
    *SHARED,
    "ezdxf",
    "reportlab.pdfgen.canvas",
    "PIL.Image",
    "panelwright.assemblies.files.dxf",
    "panelwright.assemblies.output.folder",
    "panelwright.assemblies.sheets.laying",
    "panelwright.assemblies.sheets.sheet_files",
    "panelwright.assemblies.booking.identity",
    "panelwright.assemblies.family.thumbnail",
    "panelwright.assemblies.family.pool_worker",
)
"""Their names: loaded below, in this order."""

for _module in MODULES:
    import_module(_module)
