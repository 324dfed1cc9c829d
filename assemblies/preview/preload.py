"""What the server that workers are forked from imports: everything that a build takes.  Importing this builds nothing.

A process in which geometry has been computed must not fork: the child's next computation may hang for ever.  Imports alone
are safe.
"""

from __future__ import annotations

from importlib import import_module

__all__ = ["MODULES"]

MODULES = (
    "OCP",  # the slowest of all
    "shapely",
    "panelwright.joints.joining.touching",
    "panelwright.joints.kinds.captures.t_nut",
    "panelwright.joints.kinds.hinges.living_hinge",
    "panelwright.joints.kinds.pass_through",
    "panelwright.assemblies.product.assembly",
    "panelwright.assemblies.bodies.bodies",
    "panelwright.assemblies.loading.design_file",
    "panelwright.assemblies.output.manifest",
    "panelwright.assemblies.proof.prove",
    "panelwright.assemblies.report.report_page",
    "panelwright.assemblies.report.scene",
    "panelwright.assemblies.proof.stock_findings",
    "panelwright.assemblies.preview.controls",
    "panelwright.assemblies.preview.worker",
)
"""Their names: loaded below, in this order."""

for _module in MODULES:
    import_module(_module)
