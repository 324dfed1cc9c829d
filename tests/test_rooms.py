"""The house: rooms of one idea each, imports one way only, names that need no folder to be told apart.

Imports inside functions and those for type checkers count like all others.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections import Counter, defaultdict
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

ORDER = (
    "plates.errors",
    "plates.tolerances",
    "plates._validate",
    "plates._kernel",
    "plates._kernel.values",
    "plates.geometry",
    "plates.materials",
    "plates._kernel.solids",
    "plates.outlines",
    "plates.placing",
    "plates._kernel.drawing",
    "plates._kernel.files",
    "plates.parameters",
    "plates",
    "joints.meeting",
    "joints.spec",
    "joints.rows",
    "joints.kinds",
    "joints.kinds.captures",
    "joints.kinds.hinges",
    "joints.joining",
    "joints",
    "assemblies.writing",
    "assemblies.design",
    "assemblies.data",
    "assemblies.nest.shapes",
    "assemblies.nest",
    "assemblies.shop",
    "assemblies.marks",
    "assemblies.resolve",
    "assemblies.proof.bends",
    "assemblies.proof.loose",
    "assemblies.proof",
    "assemblies.variation",
    "assemblies.order",
    "assemblies.pictures",
    "assemblies.product",
    "assemblies.bodies",
    "assemblies.files",
    "assemblies.cutting",
    "assemblies.paper",
    "assemblies.sheets",
    "assemblies.booklet",
    "assemblies.report",
    "assemblies.output",
    "assemblies.booking",
    "assemblies.measuring",
    "assemblies.loading",
    "assemblies.starting",
    "assemblies.compare",
    "assemblies.compare.showing",
    "assemblies.verifying",
    "assemblies",
    "assemblies.testing",
    "assemblies.processes",
    "assemblies.preview",
    "assemblies.family.tables",
    "assemblies.family",
    "assemblies.console",
    "assemblies.commands",
)
"""The order of rooms, written once: a room uses what stands above it, and nothing below."""

LARGEST = 14
"""Most modules in one room: what a newcomer can take in at a glance, with two to spare."""


def _modules() -> dict[str, Path]:
    found = {}
    for top in ("plates", "joints", "assemblies"):
        for path in sorted((ROOT / top).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


MODULES = _modules()


def _room(module: str) -> str:
    """The room of a module; the few that stand loose in `plates` and `joints` are rooms of their own."""
    if MODULES[module].name == "__init__.py":
        return module
    room = module.rpartition(".")[0]
    return room if "." in room else module


def _imports(module: str) -> set[str]:
    """Modules of ours that a module imports, wherever in its text."""
    path = MODULES[module]
    package = module if path.name == "__init__.py" else module.rpartition(".")[0]
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom):
            parts = package.split(".")
            base = ".".join(parts[: len(parts) - node.level + 1]) if node.level else ""
            full = ".".join(filter(None, (base, node.module))) if node.level else (node.module or "")
            full = full.removeprefix("panelwright.")
            names = [full, *(f"{full}.{name.name}" for name in node.names)]
        elif isinstance(node, ast.Import):
            names = [name.name.removeprefix("panelwright.") for name in node.names]
        else:
            continue
        deepest = [name for name in names[1:] if name in MODULES] or [name for name in names if name in MODULES]
        found.update(deepest)
    return found - {module}


def test_every_room_has_its_place_in_the_order() -> None:
    """No room is missing from the order, and the order names none that is not there."""
    rooms = {_room(module) for module in MODULES}
    assert rooms == set(ORDER)
    assert len(ORDER) == len(set(ORDER))


def test_rooms_import_one_way_only() -> None:
    """Whatever a module imports stands in its own room or in one above."""
    rank = {room: number for number, room in enumerate(ORDER)}
    looked, wrong = 0, []
    for module in MODULES:
        for other in sorted(_imports(module)):
            looked += 1
            if rank[_room(other)] > rank[_room(module)]:
                wrong.append(f"{module} imports {other}")
    assert looked > 800
    assert wrong == []


def test_no_two_files_import_each_other() -> None:
    """The imports of all modules have an order, so that no file waits for one that waits for it."""
    waiting = {module: set(_imports(module)) for module in MODULES}
    while free := [module for module, others in waiting.items() if not others]:
        for module in free:
            del waiting[module]
        for others in waiting.values():
            others.difference_update(free)
    assert waiting == {}


def test_no_module_stands_loose_in_the_assemblies() -> None:
    """`assemblies/` holds rooms and its own `__init__`, nothing else."""
    assert [path.name for path in (ROOT / "assemblies").glob("*.py")] == ["__init__.py"]


def test_rooms_are_small_and_files_told_apart_by_name() -> None:
    """No room holds more than can be taken in at a glance, and no two modules have the same name."""
    sizes = Counter(_room(module) for module, path in MODULES.items() if path.name != "__init__.py")
    assert {room: size for room, size in sizes.items() if size > LARGEST} == {}
    places = defaultdict(list)
    for module, path in MODULES.items():
        if path.name != "__init__.py":
            places[module.rpartition(".")[2].lstrip("_")].append(module)
    assert {name: where for name, where in places.items() if len(where) > 1} == {}


@pytest.mark.parametrize("room", [room for room in ORDER if MODULES[room].name == "__init__.py"])
def test_every_room_has_a_door_plate(room: str) -> None:
    """A room's docstring says what lives there, so that nobody has to open every file."""
    text = ast.get_docstring(ast.parse(MODULES[room].read_text("utf-8"))) or ""
    assert len(text.split()) >= 12, room
    if room.startswith("assemblies."):
        assert "omes in" in text, room
        assert "oes out" in text, room


def test_the_map_for_developers_says_what_the_door_plates_say() -> None:
    """A line for each room in their order, with the first sentence of its door-plate."""
    lines = []
    for room in ORDER:
        path = MODULES[room]
        if path.name == "__init__.py":
            text = (ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "").split("\n\n")[0]
            lines.append(f"| `{room.replace('.', '/')}` | {' '.join(text.split())} |")
    assert "\n".join(lines) in (ROOT / "DEVELOPERS.md").read_text("utf-8")


def test_the_files_that_developers_are_told_of_are_there() -> None:
    """Each by its path, or by its name where the sentence tells the room."""
    told = set(re.findall(r"`([\w/]+\.py)`", (ROOT / "DEVELOPERS.md").read_text("utf-8")))
    folders = [ROOT / folder for folder in ("plates", "joints", "assemblies", "tests", "examples")]
    known = {path.relative_to(ROOT).as_posix() for folder in folders for path in folder.rglob("*.py")}
    names = {path.rpartition("/")[2] for path in known}
    assert len(told) > 60
    assert [name for name in sorted(told) if name not in (known if "/" in name else names)] == []


def test_every_room_is_installed() -> None:
    """The list of packages is that of the folders with modules."""
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]["packages"]
    folders = {module for module, path in MODULES.items() if path.name == "__init__.py"}
    assert sorted(listed) == sorted(f"panelwright.{folder}" for folder in folders)


def _public_names(module: str) -> list[str]:
    """What a module's `__all__` lists."""
    for node in ast.parse(MODULES[module].read_text("utf-8")).body:
        if isinstance(node, ast.Assign) and any(isinstance(name, ast.Name) and name.id == "__all__" for name in node.targets):
            return [str(name) for name in ast.literal_eval(node.value)]
    return []


def test_no_module_is_shadowed_by_what_its_room_exports() -> None:
    """No room exports a name that one of its modules or rooms has, so that a dotted path always leads to the module."""
    rooms = [module for module, path in MODULES.items() if path.name == "__init__.py"]
    names = {room: _public_names(room) for room in rooms}
    assert sum(map(len, names.values())) > 100
    below = {(module.rpartition(".")[0], module.rpartition(".")[2]) for module in MODULES}
    assert [f"{room}.{name}" for room in rooms for name in names[room] if (room, name) in below] == []


def test_every_dotted_path_leads_to_its_module_once_all_is_imported() -> None:
    """With all modules imported, and all that rooms export asked for, no module's place is taken by something else."""
    program = f"""
import importlib, sys
modules = [f"panelwright.{{name}}" for name in {sorted(MODULES)!r}]
for name in modules:
    importlib.import_module(name)
for name in modules:
    room = sys.modules[name]
    for exported in getattr(room, "__all__", ()):
        getattr(room, exported)
taken = []
for name in modules:
    room, _, last = name.rpartition(".")
    if room != "panelwright" and getattr(sys.modules[room], last) is not sys.modules[name]:
        taken.append(name)
print(len(modules), taken)
"""
    told = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    assert told == f"{len(MODULES)} []\n"


def _kinds() -> set[str]:
    """The names of all kinds of joints, as their classes say them."""
    return {
        node.value.value
        for module, path in MODULES.items()
        if module.startswith("joints.kinds.")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name) and node.target.id == "kind"
        if isinstance(node.value, ast.Constant) and isinstance(node.value.value, str)
    }


def _decides_by(tree: ast.AST) -> set[str]:
    """The texts by which a module tells one thing from another: compared, matched, or looked up."""
    asked: list[ast.AST | None] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            asked += [node.left, *node.comparators]
        elif isinstance(node, ast.MatchValue):
            asked.append(node.value)
        elif isinstance(node, ast.Dict):
            asked += node.keys
        elif isinstance(node, ast.Subscript):
            asked.append(node.slice)
    inside = [inner for item in asked if item is not None for inner in (item, *getattr(item, "elts", ()))]
    return {item.value for item in inside if isinstance(item, ast.Constant) and isinstance(item.value, str)}


def test_nothing_outside_their_room_decides_by_the_kinds_of_joints() -> None:
    """What is known of a kind stands with it: no other module imports one, but for the public door, or asks for its name."""
    kinds = _kinds()
    assert kinds == {"cross_lap", "fingers", "living_hinge", "pass_through", "t_nut", "tabs"}
    others = [module for module in MODULES if not f"{module}.".startswith("joints.kinds.")]
    assert [m for m in others if m != "joints" and any(name.startswith("joints.kinds") for name in _imports(m))] == []
    found = {module: _decides_by(ast.parse(MODULES[module].read_text("utf-8"))) & kinds for module in others}
    assert {module: names for module, names in found.items() if names} == {}


def test_no_module_takes_a_private_name_of_another() -> None:
    """What is used elsewhere has a name without an underscore; `_kernel` and `_validate` are rooms and modules, not names."""
    known = {module.rpartition(".")[2] for module in MODULES}
    taken = [
        f"{path.relative_to(ROOT)}: {name.name}"
        for path in MODULES.values()
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.ImportFrom)
        for name in node.names
        if name.name.startswith("_") and name.name not in known
    ]
    assert taken == []
    assert {"_kernel", "_validate"} <= known
