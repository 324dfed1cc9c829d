"""The streams and signals of a command-line program: what goes where, and what an interrupt does."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from collections.abc import Generator, Iterable
from typing import Any

__all__ = ["drop_stdout", "ending_as_interrupt", "is_terminal", "stdout_to_stderr", "tell", "write"]


def write(stream: Any, text: str) -> None:
    """Write and flush; what the stream's encoding lacks is escaped."""
    if stream is None:  # started with the stream closed
        return
    encoding = getattr(stream, "encoding", None) or "utf-8"
    stream.write(text.encode(encoding, "backslashreplace").decode(encoding))
    stream.flush()


def is_terminal(stream: Any) -> bool:
    """Whether people look at it: no file, no pipe, and not closed."""
    try:
        return bool(stream.isatty())
    except (AttributeError, ValueError):
        return False


def tell(lines: Iterable[str]) -> None:
    """Say what was put right, on standard error."""
    for line in lines:
        write(sys.stderr, f"panelwright: {line}\n")


def drop_stdout() -> None:
    """Nobody reads on: let the interpreter flush what is left into nothing instead of failing at exit."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


@contextlib.contextmanager
def stdout_to_stderr() -> Generator[None]:
    """Send what compiled code prints to standard error too: it writes to the file descriptor, past `sys.stdout`."""
    try:
        out, err = sys.stdout.fileno(), sys.stderr.fileno()
        sys.stdout.flush()
        kept = os.dup(out)
    except (OSError, ValueError, AttributeError):  # a stream without a file below it, as in a notebook
        yield
        return
    try:
        os.dup2(err, out)
        yield
    finally:
        with contextlib.suppress(OSError, ValueError):
            sys.stdout.flush()
        _flush_compiled_code()
        os.dup2(kept, out)
        os.close(kept)


def _flush_compiled_code() -> None:
    """Empty C's own buffer, or what it holds would come out later and in the wrong place."""
    import ctypes

    with contextlib.suppress(OSError, TypeError, AttributeError):
        ctypes.CDLL(None).fflush(None)


@contextlib.contextmanager
def ending_as_interrupt() -> Generator[None]:
    """Let a request to end (SIGTERM) clean up as Ctrl-C does."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, signal.SIG_DFL if before is None else before)
