"""Which line of a design called us, for messages about what it asked for."""

from __future__ import annotations

import sys
from pathlib import Path

__all__ = ["design_line"]


def design_line() -> str:
    """The nearest line on the way here that is not the toolkit's own, such as "brush_stand.py, line 17".

    Empty if that line is in no file, as in a notebook.  Only the file's name is told, so that messages don't depend on where
    a design lies.
    """
    frame = sys._getframe(1)  # pyright: ignore[reportPrivateUsage]  the library has no public way
    while frame.f_globals.get("__name__", "").startswith("panelwright."):
        if frame.f_back is None:
            return ""
        frame = frame.f_back
    file = Path(frame.f_code.co_filename)
    return f"{file.name}, line {frame.f_lineno}" if file.is_file() else ""
