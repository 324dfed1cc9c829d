"""`panelwright new`: a small design project that passes its tests and builds at once."""

from __future__ import annotations

import shlex

import click
from panelwright.assemblies.console.outcome import Outcome
from panelwright.assemblies.console.shared_options import command, help_option, json_option, traceback_option
from panelwright.assemblies.product.json_documents import document

__all__ = ["new"]


@command("Write a small design project to begin with.")
@click.argument("folder", metavar="NAME")
@json_option
@traceback_option
@help_option
def new(folder: str, json: bool, traceback: bool) -> Outcome:
    """Write a new folder with a design, its test, a shop file, and what git, pip and a build server need.  NAME is the
    folder, and its last part what the product is called.
    """
    from importlib.metadata import version

    from panelwright.assemblies.starting.new_project import module_name, write_project

    files = write_project(folder, version("panelwright"))
    design = f"{module_name(files[0].absolute().parent.name)}.py"
    told = [
        f"written to {folder}: {', '.join(file.name for file in files)}",
        f"next: cd {shlex.quote(folder)}, then panelwright preview {design} --open shows it and follows every save",
    ]
    entries = {"design": design, "files": [file.name for file in files], "folder": folder, "ok": True}
    return Outcome.of(document("panelwright.project", entries), told, as_json=json)
