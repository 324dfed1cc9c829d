"""A process and our end of its connection: started from a server that has imported all, killed with all that it started."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

__all__ = ["WorkerProcess", "context_with", "death", "early_for"]


def context_with(preload: str | None, *early: str) -> Any:
    """How processes are started: forked from a server that has imported the module `preload`, afresh where there is none.

    The server imports the modules `early` after that.  None starts them afresh in any case, for what needs few imports.  A
    process in which geometry has been computed must not fork, so nothing is ever forked from this one.
    """
    has_server = preload is not None and "forkserver" in multiprocessing.get_all_start_methods()
    context: Any = multiprocessing.get_context("forkserver" if has_server else "spawn")
    if has_server:
        context.set_forkserver_preload([preload, *early])
    return context


def early_for(design: str | os.PathLike[str]) -> tuple[str, ...]:
    """Modules worth importing early for a design file: CadQuery, which takes seconds, if the file speaks of it."""
    try:
        text = Path(design).read_text("utf-8", errors="replace")
    except (OSError, ValueError):
        return ()  # told when the design is loaded
    return ("cadquery",) if "cadquery" in text else ()


@dataclass(slots=True)
class WorkerProcess:
    """A process, and our end of its connection."""

    process: Any
    pipe: Connection

    @classmethod
    def start(cls, context: Any, target: Callable[..., None], *more: Any) -> WorkerProcess:
        """Start one that runs `target` with its end of the connection and `more`."""
        ours, theirs = context.Pipe()
        process = context.Process(target=target, args=(theirs, *more), daemon=True)
        process.start()
        theirs.close()
        return cls(process, ours)

    def kill(self) -> None:
        """End it and all that it started."""
        with contextlib.suppress(OSError, TypeError, AttributeError):
            os.killpg(self.process.pid, signal.SIGKILL)
        with contextlib.suppress(OSError, ValueError):
            self.process.kill()
        self.pipe.close()
        self.process.join(5)


def death(code: int | None) -> str:
    """How a process ended, in words.

    >>> death(3)
    "the build's process ended with code 3 before it was done; a design must not end the program"
    """
    if code is not None and code < 0:
        name = signal.Signals(-code).name if -code in signal.valid_signals() else str(-code)
        return f"the build's process died of {name}: the geometry kernel or a library crashed; change what was added last"
    return f"the build's process ended with code {code} before it was done; a design must not end the program"
