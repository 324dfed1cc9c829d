"""Run the benchmarks: `python tests/benchmarks [--full] [GROUP …]`; the groups are listed by `--help`.

Each case prints one line: what was measured, our time, the thing run beside it in the same process, the ratio, the
target and whether it is met.  The exit code is 1 if a target is missed.
"""

from __future__ import annotations

import argparse
import os
import platform
from collections.abc import Callable, Iterator
from functools import partial

import bench_compare
import bench_cutting
import bench_family
import bench_growth
import bench_hinge
import bench_nest
import bench_order
import bench_pages
import bench_plate
import bench_process
import bench_reading
import bench_sheets
import bench_tray
from timing import Row


def main() -> int:
    """Run what the command line asks for."""
    groups = (
        "plate",
        "tray",
        "hinge",
        "growth",
        "nest",
        "order",
        "compare",
        "cutting",
        "sheets",
        "pages",
        "process",
        "reading",
        "family",
    )
    parser = argparse.ArgumentParser(prog="python tests/benchmarks", description="Benchmarks, as ratios.")
    parser.add_argument("--full", action="store_true", help="measure CadQuery on 320 slots (minutes), not extrapolate")
    parser.add_argument("groups", nargs="*", metavar="GROUP", help=f"any of {', '.join(groups)}; all by default")
    arguments = parser.parse_args()
    unknown = sorted(set(arguments.groups) - set(groups))
    if unknown:
        parser.error(f"group {unknown[0]!r} is not known; give any of {', '.join(groups)}")
    run: dict[str, Callable[[], Iterator[Row]]] = {
        "plate": partial(bench_plate.rows, full=arguments.full),
        "tray": bench_tray.rows,
        "hinge": bench_hinge.rows,
        "growth": bench_growth.rows,
        "nest": bench_nest.rows,
        "order": bench_order.rows,
        "compare": bench_compare.rows,
        "cutting": bench_cutting.rows,
        "sheets": bench_sheets.rows,
        "pages": bench_pages.rows,
        "process": bench_process.rows,
        "reading": bench_reading.rows,
        "family": bench_family.rows,
    }
    _print_machine("before")
    missed = 0
    for group in groups:
        if arguments.groups and group not in arguments.groups:
            continue
        for row in run[group]():
            print(row, flush=True)
            missed += row.is_met is False
    _print_machine("after")
    return 1 if missed else 0


def _print_machine(when: str) -> None:
    """How busy the machine is: a load above the number of cores makes every time here too long."""
    load = f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores" if hasattr(os, "getloadavg") else "load unknown"
    print(f"{when}: {load}, Python {platform.python_version()}, {platform.machine()}", flush=True)


if __name__ == "__main__":
    raise SystemExit(main())
