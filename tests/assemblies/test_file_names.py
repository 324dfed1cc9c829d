"""Names of plates and of panels' files: one list of what some system keeps for itself, the same wherever a name enters."""

from __future__ import annotations

import ast
from dataclasses import replace
from pathlib import Path

import pytest
from panelwright.assemblies import Assembly
from panelwright.assemblies.data.product import Product
from panelwright.assemblies.output.folder import write_product
from panelwright.assemblies.writing.file_names import DEVICES, FORBIDDEN, file_name_fault
from panelwright.plates import Stock, rectangle
from panelwright.plates.errors import NamingError, OutputError

ROOT = Path(__file__).parents[2]

REFUSED = [*sorted(DEVICES), "LPT9", "Com²", "NUL ", *(f"shelf{character}" for character in FORBIDDEN), "left\u202eright", "\t"]
"""Names that some system keeps for itself (Microsoft, "Naming Files, Paths, and Namespaces") or that lead elsewhere."""


def shelf(name: str) -> Product:
    """A product of one panel that is called so, as other code than an assembly might make it."""
    assembly = Assembly("rack", stock=Stock("birch plywood", 4.0))
    assembly.add("shelf", rectangle(40, 30))
    product = assembly.product()
    return replace(product, panels=(replace(product.panels[0], name=name),))


@pytest.mark.parametrize("name", REFUSED)
def test_name_that_some_system_keeps_for_itself_is_refused_wherever_it_enters(name: str, tmp_path: Path) -> None:
    """A plate cannot have it, and no panel file gets it, whoever made the product."""
    assert file_name_fault(name)
    with pytest.raises(NamingError, match="plate name"):
        Assembly("rack", stock=Stock("birch plywood", 4.0)).add(name, rectangle(10, 10))
    with pytest.raises(OutputError, match="cannot name a file"):
        write_product(shelf(name), tmp_path / "out")


@pytest.mark.parametrize("name", ["aux shelf", "console", "com", "com10", "lpt 1", "Nullinie", "étagère"])
def test_name_that_only_begins_like_a_device_is_fine(name: str, tmp_path: Path) -> None:
    """What Windows keeps is the whole name before the first full stop, no more."""
    assert file_name_fault(name) == ""
    assert Assembly("rack", stock=Stock("birch plywood", 4.0)).add(name, rectangle(10, 10)).name == name
    assert tmp_path / "out" / "panels" / f"{name}.dxf" in write_product(shelf(name), tmp_path / "out")


def test_no_other_module_lists_such_names() -> None:
    """Nowhere else in the sources stands the name of a device or the list of characters."""
    looked, found = 0, []
    for path in sorted(path for top in ("plates", "joints", "assemblies") for path in (ROOT / top).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                looked += 1
                is_listed = node.value.casefold() in DEVICES or len(set(node.value) & set(FORBIDDEN)) >= 7 > len(node.value) - 9
                if is_listed and path.name != "file_names.py":
                    found.append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert looked > 5000
    assert found == []
