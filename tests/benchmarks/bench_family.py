"""Families: two processes beside one, what the pool adds to bare proofs, and how soon all that is kept is looked through."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from timing import Row, milliseconds

__all__ = ["rows"]

ROOT = Path(__file__).resolve().parents[2]
TRAY = ROOT / "examples" / "tile_tray.py"

VARIANTS = 500

BARE = """
import sys, time
from panelwright.assemblies.family.family_preload import MODULES
from panelwright.assemblies.loading.design_file import load_design, parse_settings, run
seconds = time.perf_counter()
for number in range(int(sys.argv[2])):
    design = load_design(sys.argv[1])
    assembly = run(design, parse_settings(design, ["columns=2", "rows=2", f"tile={30 + number * 0.05}"]))
    with design.surroundings():
        assembly.product()
print(time.perf_counter() - seconds)
"""
"""The same proofs one after the other, without a pool."""


def rows(count: int = VARIANTS) -> Iterator[Row]:
    """All cases, with so many variants."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        table = folder / "sizes.csv"
        lines = [f"v{number},2,2,{30 + number * 0.05}" for number in range(count)]
        table.write_text("\n".join(["variant,columns,rows,tile", *lines]) + "\n", encoding="utf-8")
        bare = float(
            subprocess.run([sys.executable, "-c", BARE, str(TRAY), str(count)], capture_output=True, check=True).stdout
        )
        start = _family(table, folder / "few", 1, "--resume", first=1)
        one = _family(table, folder / "one", 1)
        two = _family(table, folder / "two", 2)
        kept = _family(table, folder / "two", 2, "--resume")
    if (os.cpu_count() or 1) > 1:
        yield _row(f"13 {count} trays proven by two processes, beside one", two, "one process", one, most=1 / 1.85)
    yield _row(f"13 {count} trays proven by one process, beside the bare proofs", one - start, "bare proofs", bare, most=1.08)
    yield _row(f"13 {count} unchanged trays looked through", kept, "what is asked for", 2.0, most=1.0)


def _row(what: str, ours: float, beside: str, theirs: float, *, most: float) -> Row:
    ratio = ours / theirs
    told = f"{beside} {milliseconds(theirs)}"
    return Row(what, milliseconds(ours), told, f"{ratio:.3f}", f"at most {most:.3f}", ratio <= most)


def _family(table: Path, out: Path, jobs: int, *more: str, first: int | None = None) -> float:
    """Seconds that the command takes; with `first`, for so many rows of the table."""
    if first is not None:
        lines = table.read_text("utf-8").splitlines()[: first + 1]
        table = table.with_name("few.csv")
        table.write_text("\n".join(lines) + "\n", encoding="utf-8")
    command = [sys.executable, "-m", "panelwright.assemblies.commands.main", "family", str(TRAY), str(table), "--out", str(out)]
    begun = time.perf_counter()
    done = subprocess.run(
        [*command, "--check", "--no-pictures", "--jobs", str(jobs), "--json", *more], capture_output=True, check=True
    )
    seconds = time.perf_counter() - begun
    found = json.loads(done.stdout)
    if found["variants"] != sum(found["verdicts"].values()) or "failed" in found["verdicts"]:
        raise AssertionError(found["verdicts"])
    return seconds
