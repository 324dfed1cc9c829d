"""What a process does first in which designs run: it hears no Ctrl-C, ends with its parent, and keeps off the terminal."""

from __future__ import annotations

import contextlib
import io
import os
import signal
import sys
import threading
import time

__all__ = ["MOST_PRINTED", "Printed", "settle_in"]

MOST_PRINTED = 20_000
"""Characters of a design's prints that are kept: as many from the beginning as from the end."""


def settle_in() -> None:
    """Make this process one that a design can run in: called once, first."""
    # Ctrl-C in the terminal reaches the whole group: the parent decides what becomes of its workers
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(AttributeError, OSError):
        os.setsid()  # so that it can be ended with all that the design starts
    threading.Thread(target=_end_with_parent, args=(os.getppid(),), daemon=True).start()
    # compiled modules are told from their sources by whole seconds and sizes: two saves in one second would be taken for one
    sys.dont_write_bytecode = True
    _leave_terminal()


class Printed(io.TextIOBase):
    """A text stream that keeps its beginning and its end."""

    def __init__(self) -> None:
        self._head = ""
        self._tail = ""
        self._lost = 0

    def writable(self) -> bool:
        return True

    def write(self, text: str) -> int:
        room = MOST_PRINTED // 2 - len(self._head)
        if room > 0:
            self._head += text[:room]
        rest = text[max(0, room) :]
        if rest:
            tail = self._tail + rest[-MOST_PRINTED // 2 :]
            self._lost += len(self._tail) + len(rest) - min(len(tail), MOST_PRINTED // 2)
            self._tail = tail[-MOST_PRINTED // 2 :]
        return len(text)

    @property
    def kept(self) -> str:
        """What is left of it, with a word on what is not."""
        return self._head + (f"\n… {self._lost} characters left out …\n" if self._lost else "") + self._tail


def _end_with_parent(parent: int) -> None:
    """End this process when the one that started it is gone, even if the design never comes to an end."""
    while os.getppid() == parent:
        time.sleep(0.5)
    os._exit(1)


def _leave_terminal() -> None:
    """Let nothing that compiled code prints, or asks for, reach the terminal."""
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        with contextlib.suppress(OSError):
            os.dup2(nowhere, stream)
