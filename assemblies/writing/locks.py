"""Locks between runs of this toolkit: one after the other in a folder, and how to see that a run was killed.

A lock goes with the process that holds it, however that ends, so what a run writes and has under lock is abandoned as soon as
nobody holds it any more.  Where the system or the file system knows no such locks, runs don't wait for each other, and nothing
is ever taken for abandoned.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Generator
from pathlib import Path

__all__ = ["abandoned", "hold", "one_at_a_time"]


@contextlib.contextmanager
def one_at_a_time(*folders: Path) -> Generator[None]:
    """Let no two runs exchange folders or files in any of these folders at once.

    Locks are taken in one order, so none waits for ever.
    """
    try:
        import fcntl
    except ImportError:
        yield
        return
    places: dict[tuple[int, int], Path] = {}
    for folder in folders:
        found = folder.stat()
        places.setdefault((found.st_dev, found.st_ino), folder)
    with contextlib.ExitStack() as held:
        for _, folder in sorted(places.items()):
            handle = os.open(folder, os.O_RDONLY)
            held.callback(os.close, handle)
            with contextlib.suppress(OSError):  # some network file systems have no locks
                fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def hold(path: Path) -> int | None:
    """Take the lock of a new file or folder, and give the handle that holds it until it is closed, or None without locks.

    Raises `FileExistsError` if somebody took it for abandoned right after it was made: make another one.
    """
    try:
        import fcntl
    except ImportError:
        return None
    try:
        handle = os.open(path, os.O_RDONLY)
    except FileNotFoundError as error:
        raise FileExistsError(str(path)) from error
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        is_same = path.stat().st_ino == os.fstat(handle).st_ino
    except (BlockingIOError, FileNotFoundError) as error:
        os.close(handle)
        raise FileExistsError(str(path)) from error
    except OSError:
        os.close(handle)
        return None
    if not is_same:
        os.close(handle)
        raise FileExistsError(str(path))
    return handle


@contextlib.contextmanager
def abandoned(path: Path) -> Generator[bool]:
    """Whether nobody holds the lock of a file or folder any more; if so, nobody else finds that out during the block."""
    try:
        import fcntl
    except ImportError:
        yield False
        return
    try:
        handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW)
    except OSError:
        yield False
        return
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            yield False
        else:
            yield True
    finally:
        os.close(handle)
