"""Builds in processes of their own, one at a time: started early, stopped at once, outlived by the preview in any case."""

from __future__ import annotations

import asyncio
import contextlib
import multiprocessing
import os
import signal
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from typing import Any

from .worker import Job, Outcome, run_worker

__all__ = ["Builder"]

PRELOAD = "panelwright.assemblies.preview.preload"


@dataclass(slots=True)
class _Worker:
    """A process, and our end of its connection."""

    process: Any
    pipe: Connection

    def kill(self) -> None:
        """End it and all that it started."""
        with contextlib.suppress(OSError, TypeError, AttributeError):
            os.killpg(self.process.pid, signal.SIGKILL)
        with contextlib.suppress(OSError, ValueError):
            self.process.kill()
        self.pipe.close()
        self.process.join(5)


class Builder:
    """Runs builds, each in a process that waits for it already; a new one ends the one at work.

    `limit_s` ends a build that takes longer, in seconds; None lets it go on.
    """

    def __init__(self, limit_s: float | None) -> None:
        has_server = "forkserver" in multiprocessing.get_all_start_methods()
        self._context: Any = multiprocessing.get_context("forkserver" if has_server else "spawn")
        if has_server:
            self._context.set_forkserver_preload([PRELOAD])
        self._limit_s = limit_s
        self._spare: asyncio.Task[_Worker] | None = None
        self._is_building = False
        self._current: _Worker | None = None
        self._why: str | None = None

    def prepare(self) -> None:
        """Start a process for the next build, if there is none."""
        if self._spare is None:
            self._spare = asyncio.create_task(asyncio.to_thread(self._started))

    def stop(self, why: str) -> None:
        """End the build at work, if there is one; its outcome says why."""
        if self._is_building:
            self._why = why
            if self._current is not None:
                self._current.kill()

    async def build(self, job: Job) -> Outcome:
        """Build a job.  An outcome without a model tells what went wrong, also if the process died or never started."""
        self._is_building, self._why = True, None
        worker: _Worker | None = None
        try:
            worker = await self._ready()
            if self._why is not None:  # stopped before it began
                return Outcome(error=self._why)
            self._current = worker
            return await asyncio.to_thread(self._waited, worker, job)
        except Exception as problem:  # what the system refuses is told in the page, and the next save tries again
            return Outcome(error=f"the build's process could not be started or heard: {problem}; save to try again")
        finally:
            self._is_building, self._current = False, None
            if worker is not None:
                await asyncio.to_thread(worker.kill)
            self.prepare()

    async def close(self) -> None:
        """End all processes."""
        self.stop("the preview ends")
        if self._spare is not None:
            with contextlib.suppress(Exception):
                (await self._spare).kill()
            self._spare = None

    async def _ready(self) -> _Worker:
        """The process that waits; a fresh one if there is none, or if it has died, which is no fault of the design."""
        spare, self._spare = self._spare, None
        if spare is not None:
            with contextlib.suppress(Exception):
                worker = await spare
                if worker.process.is_alive():
                    return worker
                await asyncio.to_thread(worker.kill)
        return await asyncio.to_thread(self._started)

    def _started(self) -> _Worker:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=run_worker, args=(theirs,), daemon=True)
        process.start()
        theirs.close()
        return _Worker(process, ours)

    def _waited(self, worker: _Worker, job: Job) -> Outcome:
        """Send the job and wait for the answer, for the end of the process, or for the end of the time."""
        try:
            answers = 0
            while wait([worker.pipe, worker.process.sentinel], self._limit_s if answers else None):
                if not worker.pipe.poll():
                    break  # the process has ended without an answer
                told = worker.pipe.recv()
                if isinstance(told, Outcome):
                    return told
                answers += 1
                worker.pipe.send(job)
            else:
                return Outcome(error=self._slow())
        except (EOFError, OSError, ValueError):
            pass  # its end of the connection is gone, or ours was closed to stop it
        worker.process.join(5)
        return Outcome(error=_death(worker.process.exitcode) if self._why is None else self._why)

    def _slow(self) -> str:
        return (
            f"the build took longer than {self._limit_s:g} s and was stopped; look for a loop that never ends, or allow more "
            "with --time-limit"
        )


def _death(code: int | None) -> str:
    """How a process ended, in words."""
    if code is not None and code < 0:
        name = signal.Signals(-code).name if -code in signal.valid_signals() else str(-code)
        return f"the build's process died of {name}: the geometry kernel or a library crashed; change what was added last"
    return f"the build's process ended with code {code} before it was done; a design must not end the program"
