"""Where a test's relative path leads: beside the file that names it, from whichever folder pytest is started."""

from __future__ import annotations

import sys
from pathlib import Path

__all__ = ["found_beside"]


def found_beside(path: str | Path) -> Path:
    """The file of that path beside the code that called us, if it is there; else the path as it is given.

    >>> found_beside("no such design.py").as_posix()
    'no such design.py'
    """
    given = Path(path)
    if given.is_absolute():
        return given
    frame = sys._getframe(1)  # pyright: ignore[reportPrivateUsage]  the library has no public way
    while frame.f_globals.get("__name__", "").startswith("panelwright.") and frame.f_back is not None:
        frame = frame.f_back
    beside = Path(frame.f_code.co_filename).parent / given
    return beside if beside.is_file() else given
