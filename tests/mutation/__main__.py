"""Put small faults into a module, one at a time, and see whether the tests that own it fail.

    .venv/bin/python tests/mutation joints/rows/even_places.py [--every 5] [--minutes 20]
    .venv/bin/python tests/mutation --list

The faults are cosmic-ray's (MIT): a plus for a minus, a limit that moves to the other side, a number one off, a loop that
never runs.  `owners.toml` says which tests own which module, `survivors.toml` which faults no test can see, and why.  Any other
fault that survives ends the run with exit code 1.  Everything happens in a copy in a temporary folder.

Each fault runs in a process forked from this one, which has imported the heavy libraries and nothing of ours.
"""

from __future__ import annotations

import argparse
import compileall
import difflib
import doctest
import importlib
import os
import py_compile
import shutil
import signal
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
LAYERS = ("plates", "joints", "assemblies")

OPERATORS = (
    *(f"ReplaceBinaryOperator_{pair}" for pair in ("Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul", "FloorDiv_Mul", "Mod_Mul")),
    "ReplaceBinaryOperator_Pow_Mul",
    *(f"ReplaceComparisonOperator_{pair}" for pair in ("Eq_NotEq", "NotEq_Eq", "Is_IsNot", "IsNot_Is")),
    *(f"ReplaceComparisonOperator_{pair}" for pair in ("Lt_LtE", "LtE_Lt", "Gt_GtE", "GtE_Gt")),
    *(f"ReplaceComparisonOperator_{pair}" for pair in ("Lt_GtE", "LtE_Gt", "Gt_LtE", "GtE_Lt")),
    *("ReplaceUnaryOperator_Delete_USub", "ReplaceUnaryOperator_Delete_Not", "ReplaceAndWithOr", "ReplaceOrWithAnd"),
    *("ReplaceTrueWithFalse", "ReplaceFalseWithTrue", "ReplaceBreakWithContinue", "ReplaceContinueWithBreak"),
    *("NumberReplacer", "ZeroIterationForLoop", "AddNot"),
)
"""Every kind of fault that is tried, by cosmic-ray's names."""

SKIPPED = ("@dataclass", "__all__", "assert ")
"""Beginnings of lines that are left as they are: whether data is frozen shows in no result, and an assertion is a test."""

PRELOADED = ("numpy", "shapely", "ezdxf", "hypothesis", "pytest", "cadquery")


@dataclass(frozen=True)
class Fault:
    """One line as it is and as it becomes; `code` is the whole module with it."""

    line: int
    was: str
    becomes: str
    code: str

    def __str__(self) -> str:
        return f"  line {self.line}\n    was:     {self.was}\n    becomes: {self.becomes}"


def faults(source: str) -> Iterator[Fault]:
    """All faults of a module, each once."""
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator

    seen = {source}
    for name in OPERATORS:
        operator = get_operator(f"core/{name}")()
        occurrence = 0
        while (code := mutate_code(source, operator, occurrence)) is not None:
            occurrence += 1
            fault = _told(source, code)
            is_bare_star = "/, " in fault.becomes and "*, " in fault.was  # of a signature, which cosmic-ray takes for a product
            if code not in seen and not is_bare_star and not fault.was.startswith(SKIPPED):
                seen.add(code)
                yield fault


def _told(source: str, code: str) -> Fault:
    old, new = source.splitlines(), code.splitlines()
    for tag, i, i_end, j, j_end in difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag != "equal":
            return Fault(i + 1, " ".join(" ".join(old[i:i_end]).split()), " ".join(" ".join(new[j:j_end]).split()), code)
    return Fault(0, "", "", code)


def copy_into(folder: Path) -> None:
    """What tests need, with bytecode that is checked against the source's own text and not against its time."""
    for name in (*LAYERS, "tests", "examples"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", "pictures"))
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        shutil.copy(ROOT / name, folder / name)
    (folder / "panelwright").mkdir()
    for name in LAYERS:
        (folder / "panelwright" / name).symlink_to(folder / name)
        compileall.compile_dir(folder / name, quiet=2, invalidation_mode=py_compile.PycInvalidationMode.CHECKED_HASH)


def run(folder: Path, module: str, tests: list[str], limit: float, *, keep_bytecode: bool = False) -> tuple[str, float]:
    """How the tests end, in a process of its own: "passed", "failed" or "out of time"; and after how many seconds."""
    began = time.monotonic()
    child = os.fork()
    if child == 0:
        os.setpgid(0, 0)
        _tested(folder, module, tests, keep_bytecode=keep_bytecode)
    while time.monotonic() - began < limit:
        pid, status = os.waitpid(child, os.WNOHANG)
        if pid:
            code = os.waitstatus_to_exitcode(status)
            if code == 99:
                raise SystemExit("the copy is not what was imported")
            return ("passed" if code == 0 else "failed"), time.monotonic() - began
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return "out of time", time.monotonic() - began


def _tested(folder: Path, module: str, tests: list[str], *, keep_bytecode: bool) -> None:
    """Run the module's examples and its tests in this process, and leave it."""
    code = 98
    try:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        os.chdir(folder)
        sys.path.insert(0, str(folder))
        sys.dont_write_bytecode = not keep_bytecode
        os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
        import pytest

        examples = importlib.import_module("panelwright." + module.removesuffix(".py").replace("/", "."))
        if doctest.testmod(examples, optionflags=doctest.IGNORE_EXCEPTION_DETAIL).failed:
            os._exit(1)
        code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", "--tb=no", *tests]))
        if not Path(str(examples.__file__)).resolve().is_relative_to(folder):
            code = 99
    finally:
        os._exit(code)


def examine(module: str, tests: list[str], explained: list[dict[str, str]], every: int, until: float) -> bool:
    """Try one module's faults and print what came of it.  True if all that survive are explained."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary).resolve()
        copy_into(folder)
        path = folder / module
        source = path.read_text(encoding="utf-8")
        end, seconds = run(folder, module, tests, 600, keep_bytecode=True)
        if end != "passed":
            raise SystemExit(f"{module}: its tests do not pass without a fault ({end}): {' '.join(tests)}")
        limit = max(20.0, 4 * seconds)
        known = {(entry["was"], entry["becomes"]) for entry in explained}
        counts = {"passed": 0, "failed": 0, "out of time": 0}
        unseen: list[Fault] = []
        for fault in list(faults(source))[::every]:
            if time.monotonic() > until:
                print(f"{module}: the time is up before all faults were tried")
                break
            path.write_text(fault.code, encoding="utf-8")
            end, _ = run(folder, module, tests, limit)
            counts[end] += 1
            if end == "passed" and (fault.was, fault.becomes) not in known:
                unseen.append(fault)
                print(fault, flush=True)
        tried, survived = sum(counts.values()), counts["passed"]
        print(
            f"{module}: {tried} faults, {tried - survived} noticed ({counts['out of time']} by time), {survived} survived, "
            f"{survived - len(unseen)} of them explained; {seconds:.1f} s a run",
            flush=True,
        )
        return not unseen


def main() -> int:
    words = argparse.ArgumentParser(prog="tests/mutation", description="Put faults into modules and see whether tests notice.")
    words.add_argument("modules", nargs="*", help="paths as in owners.toml")
    words.add_argument("--every", type=int, default=1, help="try every nth fault only")
    words.add_argument("--minutes", type=float, default=60.0, help="stop after so many minutes")
    words.add_argument("--list", action="store_true", help="list the modules and the tests that own them")
    given = words.parse_args()
    owners = tomllib.loads((HERE / "owners.toml").read_text(encoding="utf-8"))
    explained = tomllib.loads((HERE / "survivors.toml").read_text(encoding="utf-8"))
    if given.list:
        print("\n".join(f"{module}: {' '.join(entry['tests'])}" for module, entry in owners.items()))
        return 0
    unknown = [module for module in given.modules if module not in owners]
    if unknown or not given.modules:
        words.error(f"no tests own {', '.join(unknown)}; see --list" if unknown else "give modules, or --list")
    for name in PRELOADED:
        importlib.import_module(name)
    until = time.monotonic() + 60 * given.minutes
    results = [
        examine(module, owners[module]["tests"], explained.get(module, []), given.every, until) for module in given.modules
    ]
    return 0 if all(results) else 1


if __name__ == "__main__":
    sys.exit(main())
