"""Builds in processes of their own, one at a time: started early, stopped at once, outlived by the preview in any case."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Sequence
from multiprocessing.connection import wait

from panelwright.assemblies.processes.worker_process import WorkerProcess, context_with, death

from .worker import Job, Outcome, run_worker

__all__ = ["Builder"]

PRELOAD = "panelwright.assemblies.preview.preload"


class Builder:
    """Runs builds, each in a process that waits for it already; a new one ends the one at work.

    `limit_s` ends a build that takes longer, in seconds; None lets it go on.  `early` names modules that processes have loaded
    before a build begins, beside those that every build takes.
    """

    def __init__(self, limit_s: float | None, early: Sequence[str] = ()) -> None:
        self._context = context_with(PRELOAD, *early)
        self._limit_s = limit_s
        self._spare: asyncio.Task[WorkerProcess] | None = None
        self._is_building = False
        self._current: WorkerProcess | None = None
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
        worker: WorkerProcess | None = None
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

    async def _ready(self) -> WorkerProcess:
        """The process that waits; a fresh one if there is none, or if it has died, which is no fault of the design."""
        spare, self._spare = self._spare, None
        if spare is not None:
            with contextlib.suppress(Exception):
                worker = await spare
                if worker.process.is_alive():
                    return worker
                await asyncio.to_thread(worker.kill)
        return await asyncio.to_thread(self._started)

    def _started(self) -> WorkerProcess:
        return WorkerProcess.start(self._context, run_worker)

    def _waited(self, worker: WorkerProcess, job: Job) -> Outcome:
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
        return Outcome(error=death(worker.process.exitcode) if self._why is None else self._why)

    def _slow(self) -> str:
        return (
            f"the build took longer than {self._limit_s:g} s and was stopped; look for a loop that never ends, or allow more "
            "with --time-limit"
        )
