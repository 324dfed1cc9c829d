"""The reference, made by pdoc from the docstrings: `python tests/support/reference_pages.py FOLDER`.

Ends with exit code 1 if pdoc warns of anything: a name that is not there, an annotation that cannot be read.
"""

from __future__ import annotations

import importlib
import pkgutil
import sys
import warnings
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

__all__ = ["LAYERS", "write_reference"]

LAYERS = ("panelwright.plates", "panelwright.joints", "panelwright.assemblies")


def write_reference(folder: Path) -> list[str]:
    """Write one page a layer, and an index with its search; gives what pdoc warns of."""
    import pdoc

    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("ignore")
        warnings.filterwarnings("always", category=UserWarning, module=r"pdoc\.")
        for module in _modules():
            _made_readable(module)
        pdoc.render.configure(docformat="markdown", show_source=False, footer_text="lengths in mm, angles in degrees")
        pdoc.pdoc(*LAYERS, output_directory=folder)
    return [str(one.message) for one in told]


def _modules() -> Iterator[ModuleType]:
    for layer in LAYERS:
        package = importlib.import_module(layer)
        yield package
        for info in pkgutil.walk_packages(package.__path__, f"{layer}."):
            if not info.name.endswith("__main__"):
                yield importlib.import_module(info.name)


def _made_readable(module: ModuleType) -> None:
    """What pdoc cannot see by itself: names that are loaded when first used, and aliases of types that are written as text.

    An alias stands in the pages by its name; its text holds names that only type checkers know.
    """
    own: dict[str, Any] = vars(module)
    for name in getattr(module, "__all__", ()):
        own[name] = getattr(module, name)
    for name, kind in getattr(module, "__annotations__", {}).items():
        if str(kind) == "TypeAlias" and isinstance(own.get(name), str):
            alias = type(name, (), {"__module__": module.__name__, "__doc__": own[name]})
            for other in [one for key, one in sys.modules.items() if key.startswith("panelwright.")]:
                if vars(other).get(name) == own[name] and name in vars(other) and other is not module:
                    vars(other)[name] = alias
            own[name] = alias


def main() -> int:
    """Write the pages and tell what is wrong with them."""
    if len(sys.argv) != 2:
        print(__doc__, file=sys.stderr)
        return 2
    found = write_reference(Path(sys.argv[1]))
    for one in found:
        print(one, file=sys.stderr)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
