"""Exchanging two folders in one step that nothing can come between, where the system has such a step."""

from __future__ import annotations

import sys
from pathlib import Path

__all__ = ["exchange"]

AT_FDCWD = -100
"""Stands for the folder of the process, from which paths that are not absolute lead.  Source: Linux, `fcntl.h`."""

RENAME_EXCHANGE = 2
"""Exchange both names at once.  Source: Linux, `renameat2(2)` and `linux/fs.h`."""


def exchange(one: Path, other: Path) -> bool:
    """Give each of two folders the other's name, at once; False, and nothing done, where that can't be.

    Linux can since 3.15 on its own file systems; network ones often can't.  After a False two plain renames will tell what is
    wrong, if anything is.
    """
    if not sys.platform.startswith("linux"):
        return False
    import ctypes
    import os

    try:
        rename = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError):  # a C library from before 2018
        return False
    rename.argtypes = (ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_uint)
    rename.restype = ctypes.c_int
    return bool(rename(AT_FDCWD, os.fsencode(one), AT_FDCWD, os.fsencode(other), RENAME_EXCHANGE) == 0)
