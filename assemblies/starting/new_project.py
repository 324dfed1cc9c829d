"""The files of a new design project, from the templates beside this module, and their way into a folder."""

from __future__ import annotations

import keyword
import re
import sys
import unicodedata
from importlib.resources import files
from pathlib import Path
from string import Template

from panelwright.assemblies.design.naming import usable_name
from panelwright.assemblies.writing.replace_folder import folder_in_waiting
from panelwright.plates._validate import text
from panelwright.plates.errors import NamingError, OutputError

__all__ = ["module_name", "project_files", "write_project"]

TEMPLATES = {
    ".gitignore": "gitignore",
    "check.sh": "check.sh",
    "pyproject.toml": "pyproject.toml",
    "shop.toml": "shop.toml",
    "test_{module}.py": "test_design.py",
    "{module}.py": "design.py",
}
"""Files of the project, and the template of each; names that begin with a dot are left out of packages by some tools."""


def module_name(name: str) -> str:
    """What Python can import of a product's name, and would not take for a module of its own.

    Raises `NamingError` for a name of which no letter can be kept.

    >>> module_name("Glaze box, 2nd"), module_name("étagère"), module_name("2 boxes")
    ('glaze_box_2nd', 'etagere', 'design_2_boxes')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii").lower()
    found = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")
    if not found:
        raise NamingError(
            f"project {name!r} has no letter or digit that a Python file's name can carry; give another", value=name
        )
    taken = found[0].isdigit() or keyword.iskeyword(found) or found in sys.stdlib_module_names or found == "panelwright"
    return f"design_{found}" if taken else found


def project_files(name: str, version: str) -> dict[str, bytes]:
    """The files of a project by their names; `version` is the toolkit's, which the project asks for at least.

    >>> sorted(project_files("glaze box", "0.2.0"))
    ['.gitignore', 'check.sh', 'glaze_box.py', 'pyproject.toml', 'shop.toml', 'test_glaze_box.py']
    """
    known = usable_name(text(name, "name of a project"), "assembly")
    fields = {"module": module_name(known), "name": known.replace("\\", "\\\\").replace('"', '\\"'), "version": version}
    folder = files("panelwright.assemblies.starting").joinpath("project")
    return {
        target.format(module=fields["module"]): Template(folder.joinpath(f"{source}.txt").read_text("utf-8"))
        .substitute(fields)
        .encode("utf-8")
        for target, source in TEMPLATES.items()
    }


def write_project(folder: str | Path, version: str) -> list[Path]:
    """Write a project named after its folder, all of it or nothing, and give its files.

    Raises `OutputError` for a folder that is there and not empty, or where the file system refuses; `NamingError` for a name
    that no product can have.
    """
    target = Path(folder)
    made = project_files(target.absolute().name, version)

    def refuse_what_is_there(_: Path | None = None) -> None:
        if target.is_symlink() or (target.exists() and (not target.is_dir() or any(target.iterdir()))):
            raise OutputError(f"{str(folder)!r} is there already; a new project wants a new folder", value=str(folder))

    refuse_what_is_there()
    with folder_in_waiting(target.absolute(), refuse_what_is_there) as fresh:
        for name, data in made.items():
            (fresh / name).write_bytes(data)
        (fresh / "check.sh").chmod(0o755)
    return [target / name for name in sorted(made)]
