"""A pool of processes that make variants, in which nothing that a variant does can stop the others.

One that fails, never ends, eats memory or dies of a signal becomes a row with its error, and a fresh process takes the place of
the one that it ran in.
"""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any

from panelwright.assemblies.processes.worker_process import WorkerProcess, context_with, death, early_for
from panelwright.plates.errors import DesignError

from .one_variant import Asked, Work
from .pool_worker import TableRead, serve_table, serve_variants
from .rows import Row

__all__ = ["Limits", "Pool", "memory_share"]

PRELOAD = "panelwright.assemblies.family.family_preload"

LOOK_S = 0.2
"""How often time and memory of the processes are looked at."""

MOST_MADE = 200
"""Variants that one process makes: what a library forgets to give back is given back then."""

MOST_FALSE_STARTS = 3
"""Processes that may end before they begin, one after the other, until it is said that none can be started."""

USABLE = 0.8
"""Share of the machine's memory that all processes may take together."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What one variant may take: seconds, and bytes of memory; None for no limit."""

    seconds: float | None
    memory: int | None


def memory_share(jobs: int) -> int | None:
    """Bytes that each of so many processes may take of what this machine, or its group of processes, has; None if unknown."""
    known: list[int] = []
    with contextlib.suppress(ValueError, OSError, AttributeError):
        known.append(os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES"))
    with contextlib.suppress(ValueError, OSError):  # "max" is no number
        known.append(int(Path("/sys/fs/cgroup/memory.max").read_text("ascii")))
    return int(USABLE * min(known) / jobs) if known else None


@dataclass(slots=True)
class _Slot:
    """One place in the pool: its process, the variant at work, since when, and how many it has made."""

    worker: WorkerProcess | None = None
    is_ready: bool = False
    work: Work | None = None
    since: float = 0.0
    made: int = 0


class Pool:
    """So many processes for one run.  Used as a context, all of them are gone afterwards, whatever happens."""

    def __init__(self, asked: Asked, jobs: int, limits: Limits) -> None:
        self._asked, self._limits = asked, limits
        self._context = context_with(PRELOAD, *early_for(self._asked.design))
        self._slots = [_Slot() for _ in range(jobs)]
        self._false_starts = 0

    def __enter__(self) -> Pool:
        return self

    def __exit__(self, *_: object) -> None:
        for slot in self._slots:
            self._drop(slot)

    def read_table(self, table: str, spool: Path) -> TableRead:
        """Have the table read by a process of its own into the file `spool`.

        Raises `DesignError` if the table, or the design, is not as it should be.
        """
        worker = WorkerProcess.start(
            context_with(None), serve_table, self._asked.design, self._asked.shop, table, os.fspath(spool)
        )
        try:
            answers = 0
            while wait([worker.pipe, worker.process.sentinel], self._limits.seconds if answers else None):
                told = worker.pipe.recv()
                if isinstance(told, TableRead):
                    if "error" in told:
                        raise DesignError(told["error"])
                    return told
                answers += 1
            raise DesignError(
                f"reading table {table!r} took longer than {self._limits.seconds:g} s; allow more with --time-limit"
            )
        except EOFError:
            worker.process.join(5)
            raise DesignError(f"reading table {table!r} failed: {death(worker.process.exitcode)}") from None
        finally:
            worker.kill()

    def rows(self, works: Iterator[Work]) -> Iterator[Row]:
        """The rows of all variants as they are made, in whichever order that is.  Only as many are taken as are at work.

        Raises `DesignError` if processes cannot be started at all.
        """
        waiting = self._fill(works)
        while any(slot.work is not None for slot in self._slots):
            for slot in self._slots:
                if slot.worker is None and slot.work is not None:
                    slot.worker, slot.is_ready = WorkerProcess.start(self._context, serve_variants, self._asked), False
            heard: dict[Any, _Slot] = {}
            for slot in self._slots:
                if slot.worker is not None:
                    heard[slot.worker.pipe] = heard[slot.worker.process.sentinel] = slot
            ready = wait(list(heard), LOOK_S)
            for slot in {id(heard[item]): heard[item] for item in ready}.values():
                row = self._heard(slot)
                if row is not None:
                    yield row
            for slot in self._slots:
                row = self._overdue(slot)
                if row is not None:
                    yield row
            waiting = self._fill(works) if waiting else False

    def _fill(self, works: Iterator[Work]) -> bool:
        """Give work to whoever has none; whether there may be more."""
        for slot in self._slots:
            if slot.work is None:
                slot.work = next(works, None)
                if slot.work is None:
                    return False
                self._begin(slot)
        return True

    def _begin(self, slot: _Slot) -> None:
        if slot.worker is not None and slot.is_ready and slot.work is not None:
            slot.since = time.monotonic()
            with contextlib.suppress(OSError, ValueError):  # it has died; that is heard soon
                slot.worker.pipe.send(slot.work)

    def _heard(self, slot: _Slot) -> Row | None:
        """What a process has to say: that it is ready, a row, or nothing any more."""
        assert slot.worker is not None
        told: Any
        try:
            if not slot.worker.pipe.poll():
                raise EOFError
            told = slot.worker.pipe.recv()
        except (EOFError, OSError):
            return self._died(slot)
        if told is None:
            slot.is_ready, self._false_starts = True, 0
            self._begin(slot)
            return None
        slot.work = None
        slot.made += 1
        if slot.made >= MOST_MADE:
            self._drop(slot)
        row: Row = told
        return row

    def _died(self, slot: _Slot) -> Row | None:
        assert slot.worker is not None
        slot.worker.process.join(5)
        why = death(slot.worker.process.exitcode)
        if not slot.is_ready:
            self._false_starts += 1
            if self._false_starts >= MOST_FALSE_STARTS:
                raise DesignError(f"no process for variants could be started: {why}")
        work, is_ready = slot.work, slot.is_ready
        self._drop(slot)
        if work is None or not is_ready:
            return None  # nothing was at work in it; another one takes its place
        slot.work = None
        return self._lost(work, why)

    def _overdue(self, slot: _Slot) -> Row | None:
        """The row of a variant that takes more time or memory than it may; its process is ended."""
        if slot.worker is None or slot.work is None or not slot.is_ready or slot.worker.pipe.poll():
            return None
        limits = self._limits
        why = ""
        if limits.seconds is not None and time.monotonic() - slot.since > limits.seconds:
            why = (
                f"it took longer than {limits.seconds:g} s and was stopped; look for a loop that never ends, or allow more "
                "with --time-limit"
            )
        elif limits.memory is not None and _memory_of(slot.worker.process.pid) > limits.memory:
            why = (
                f"it took more than {limits.memory // 2**20} MB of memory and was stopped; allow more with --memory-limit, "
                "or run fewer at once with --jobs"
            )
        if not why:
            return None
        work, slot.work = slot.work, None
        self._drop(slot)
        return self._lost(work, why)

    def _lost(self, work: Work, why: str) -> Row:
        return Row(work.name, work.settings, work.parameters, error=why, is_lasting=False, run=self._asked.run)

    def _drop(self, slot: _Slot) -> None:
        """End the process of a slot; what is at work stays to be made by the next one."""
        worker, slot.worker = slot.worker, None
        slot.is_ready, slot.made = False, 0
        if worker is not None:
            worker.kill()


def _memory_of(pid: int) -> int:
    """Bytes of memory that a process takes, 0 where the system does not tell."""
    try:
        with open(f"/proc/{pid}/statm", encoding="ascii") as file:
            return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, ValueError, IndexError, AttributeError):
        return 0
