"""What a whole process takes: memory for a hundred slotted plates, time of a cold `check` and `build`, and of `--help`."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from timing import Row, Timing, timed_beside

__all__ = ["rows"]

MOST_MEGABYTES = 400.0
MOST_HELP = 0.2
MOST_CHECK = 1.4
MOST_BUILD = 2.0
COLD_RUNS = 7

EXAMPLE = Path(__file__).parents[2] / "examples" / "brush_rack.py"
PROGRAM = [sys.executable, "-m", "panelwright.assemblies.commands.main"]

PEAK = """
import resource, sys
kilobytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if sys.platform == "darwin" else 1)
print(kilobytes / 1024)
"""

NOTHING = PEAK

STARTER = "import subprocess, sys; sys.exit(subprocess.run(sys.argv[1:]).returncode)"

ALONE = f"""
import cadquery
{PEAK}
"""

PLAIN_BOARDS = f"""
import cadquery
from panelwright.plates import Stock, grid, rectangle, Plate
from panelwright.plates._kernel.solids.read import loops_of_plate
stock = Stock("MDF", 3.0)
kept = []
for number in range(100):
    solid = Plate(rectangle(300 + number, 200).cut(grid(rectangle(3, 2), 8, 5)), stock).to_cadquery()
    kept.append((solid, loops_of_plate(solid.wrapped, 3.0)))
assert sum(len(loops) - 1 for _, loops in kept) == 4000
{PEAK}
"""

DIVIDERS = f"""
import cadquery
from panelwright.assemblies import divider_grid
from panelwright.assemblies.proof.prove import prove
from panelwright.plates import Stock
stock = Stock("MDF", 3.0, kerf=0.2, clearance=0.1)
cells = divider_grid("cells", stock=stock, width=1200, depth=500, height=40, columns=73, rows=29)
product = prove(cells)
assert len(product.parts) == 100 and 2 * len(product.joints) == 4032 and not product.errors
{PEAK}
"""
"""72 × 28 dividers cross at 2,016 places, with a slot in each of the two plates."""


def rows() -> Iterator[Row]:
    """All cases."""
    nothing, base = _megabytes(NOTHING), _megabytes(ALONE)
    if nothing > base / 4:
        raise AssertionError(f"an empty process seems to take {nothing:.0f} MB: peaks are not measured from zero")
    for what, program in (
        ("6 100 boards of 40 slots each, cut, extruded, read back and kept", PLAIN_BOARDS),
        ("6 100 cross-lapped dividers with 4,032 slots, resolved and proved", DIVIDERS),
    ):
        peak = _megabytes(program)
        yield Row(
            what,
            f"peak of {peak:.0f} MB",
            f"a process that only imports cadquery {base:.0f} MB",
            f"{peak - base:.0f} MB more",
            f"<= {MOST_MEGABYTES:g} MB more",
            peak - base <= MOST_MEGABYTES,
        )
    yield from _cold()
    yield _help()


def _cold() -> Iterator[Row]:
    """Cold runs beside the bare kernel: processor time of whole processes, since other programs stretch the clock."""
    with tempfile.TemporaryDirectory() as folder:
        # bytecode is there, as after an installation, whatever this environment says of it
        environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
        environment["PYTHONPYCACHEPREFIX"] = os.path.join(folder, "bytecode")
        kernel = [sys.executable, "-c", "import OCP"]
        check = [*PROGRAM, "check", str(EXAMPLE)]
        build = [*PROGRAM, "build", str(EXAMPLE), "--no-sheets", "--out", os.path.join(folder, "out")]
        commands = (kernel, check, build)
        for command in commands:
            _processor_seconds(command, environment)
        taken = [[_processor_seconds(command, environment) for command in commands] for _ in range(COLD_RUNS)]
    bare, *ours = (Timing(tuple(column)) for column in zip(*taken, strict=True))
    for what, mine, most in (("check", ours[0], MOST_CHECK), ("build --no-sheets", ours[1], MOST_BUILD)):
        ratio = mine.best / bare.best
        yield Row(
            f"8 panelwright {what} of the brush rack, cold, processor time",
            str(mine),
            f"importing the bare kernel {bare}",
            f"{ratio:.2f} x",
            f"<= {most:g} x",
            ratio <= most,
        )


def _processor_seconds(command: list[str], environment: dict[str, str]) -> float:
    """User and system time of a process that must end well."""
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        raise AssertionError(f"{command} ended with exit code {process.returncode}")
    return usage.ru_utime + usage.ru_stime


def _megabytes(program: str) -> float:
    """Peak memory of a fresh process in MB, as the program prints it in its last line.

    A process counts the size of the one that started it as its own peak, so a small one in between does the starting.
    """
    command = [sys.executable, "-c", STARTER, sys.executable, "-c", program]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise AssertionError(f"a measured process failed:\n{done.stderr}")
    return float(done.stdout.split()[-1])


def _help() -> Row:
    environment = dict(os.environ, COLUMNS="100")

    def ours() -> None:
        command = [sys.executable, "-m", "panelwright.assemblies.commands.main", "--help"]
        done = subprocess.run(command, capture_output=True, text=True, env=environment, check=True)
        if "Usage:" not in done.stdout:
            raise AssertionError(f"--help said {done.stdout!r}")

    def nothing() -> None:
        subprocess.run([sys.executable, "-c", "pass"], capture_output=True, env=environment, check=True)

    mine, theirs = timed_beside(ours, nothing, 10)
    more = mine.best - theirs.best
    return Row(
        "7 panelwright --help",
        str(mine),
        f"python -c pass {theirs}",
        f"{more * 1e3:.0f} ms more (medians {(mine.median - theirs.median) * 1e3:.0f} ms), {mine.best / theirs.best:.1f} x",
        f"<= {MOST_HELP * 1e3:g} ms more",
        more <= MOST_HELP,
    )
