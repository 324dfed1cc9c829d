"""One preview at work: the design that is watched, its parameters, the last good model, and what there is to tell."""

from __future__ import annotations

import asyncio
import contextlib
import os
from pathlib import Path
from types import TracebackType
from typing import Any

from panelwright.assemblies.processes.files_read import changed_at
from panelwright.assemblies.processes.worker_process import early_for

from .builds import Builder
from .preview_page import shell
from .watch import Watch
from .worker import Job, Outcome

__all__ = ["Session"]

STOPPED = "stopped: the last good model is shown"


class Session:
    """Builds a design whenever a file of its or a value changes, and tells listeners.

    `given` is the path of the design file, `shop` that of the shop file or None, both as the command line has them.
    Used as an asynchronous context: builds go on within, and every process is gone afterwards.
    """

    def __init__(self, given: str, settings: dict[str, str], shop: str | None, limit_s: float | None) -> None:
        design = Path(given)
        self._design, self._shop = design, shop
        self._command = ["panelwright", "build", given, "--out", "out", *([] if shop is None else ["--shop", shop])]
        self._settings = dict(settings)
        self._builder = Builder(limit_s, early_for(design))
        self._watch = Watch(design)
        self._wanted = asyncio.Event()
        self._news = asyncio.Event()
        self._tasks: list[asyncio.Task[None]] = []
        self._last = Outcome()
        self._built_with: dict[str, str] = {}
        self._is_building = True
        self.version = 0
        self.model_number = 0
        self.model_json = "null"
        self.is_closed = False
        self.page, self.policy = shell(design.name)

    async def __aenter__(self) -> Session:
        self._builder.prepare()
        self._wanted.set()
        self._tasks = [asyncio.create_task(self._work()), asyncio.create_task(self._look())]
        return self

    def close(self) -> None:
        """Let all listeners go."""
        self.is_closed = True
        self._tell()

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
        for task in self._tasks:
            task.cancel()
        await self._builder.close()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    def set_values(self, values: dict[str, str]) -> None:
        """Build with these parameters, as texts, in place of those before."""
        self._settings = dict(values)
        self._wanted.set()

    def stop(self) -> None:
        """Stop the build at work."""
        self._builder.stop(STOPPED)

    async def changed(self) -> None:
        """Wait for the next change of state."""
        await self._news.wait()

    def state(self) -> dict[str, Any]:
        """What the page shows beside the model.

        `command` is what builds the same parts but for what is set, in words of a shell.  Values that were set since the last
        build are told as they were set.  `run` tells this preview from one that was started
        before it on the same port, whose models were numbered likewise.
        """
        last = self._last
        fresh = {
            name: self._settings.get(name)
            for name in {*self._settings, *self._built_with}
            if self._settings.get(name) != self._built_with.get(name)
        }
        return {
            "building": self._is_building,
            "command": self._command,
            "design": self._design.name,
            "error": last.error,
            "model": self.model_number,
            "parameters": [
                {**control, "value": fresh[control["name"]] or control["default"]} if control["name"] in fresh else control
                for control in last.parameters
            ],
            "printed": last.printed,
            "run": os.getpid(),
            "seconds": round(last.seconds, 3),
            "settings": self._settings,
        }

    def _tell(self) -> None:
        self.version += 1
        news, self._news = self._news, asyncio.Event()
        news.set()

    async def _look(self) -> None:
        async for _ in self._watch.changes():
            self._wanted.set()

    async def _work(self) -> None:
        while True:
            await self._wanted.wait()
            self._wanted.clear()
            self._is_building = True
            self._tell()
            settings = self._settings
            job = Job(str(self._design), tuple(f"{name}={value}" for name, value in settings.items()), self._shop)
            build = asyncio.create_task(self._builder.build(job))
            again = asyncio.create_task(self._wanted.wait())
            await asyncio.wait({build, again}, return_when=asyncio.FIRST_COMPLETED)
            if not build.done():  # a newer save makes this build stale
                self._builder.stop("")
                await build
                continue
            self._built_with = settings
            again.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await again
            self._take(build.result())

    def _take(self, outcome: Outcome) -> None:
        self._is_building = False
        if not outcome.parameters:  # a design that does not load has none to show, but those before are still right
            outcome = Outcome(
                outcome.model, outcome.error, self._last.parameters, outcome.files, outcome.printed, outcome.seconds
            )
        self._watch.look_at((path for path, _ in outcome.files), failed=outcome.model is None)
        if any(changed_at(path) != stamp for path, stamp in outcome.files):
            self._wanted.set()  # saved since it was read, maybe in a folder that nobody watched yet
        if outcome.model is not None:
            self.model_number += 1
            self.model_json = f'{{"number":{self.model_number},{outcome.model[1:]}'
        self._last = outcome
        self._tell()
