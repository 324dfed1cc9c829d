"""Which files a design reads: heard from Python's audit events, so that its imports and data are among them."""

from __future__ import annotations

import contextlib
import importlib.util
import os
import sys
from collections.abc import Generator
from pathlib import Path
from typing import Any

__all__ = ["FilesRead", "changed_at"]

MOST_FILES = 2_000
"""Files that one build is watched to read, at most."""


def changed_at(path: str) -> int:
    """When a file was last changed, in ns as its file system tells it; -1 if it is not there."""
    try:
        return os.stat(path).st_mtime_ns
    except (OSError, ValueError):
        return -1


class FilesRead:
    """Hears of files that are read, other than the toolkit's, Python's and the system's, and than those that are written.

    Made once in a process: what listens cannot be taken away again, so it is switched on and off.
    """

    def __init__(self) -> None:
        toolkit = [str(Path(folder).resolve()) for package in _packages() for folder in package.__path__]
        installed = [folder for folder in sys.path if folder.endswith(("site-packages", "dist-packages"))]
        folders = [*toolkit, *installed, sys.prefix, sys.base_prefix, "/usr", "/lib", "/etc", "/proc", "/sys", "/dev"]
        self._ours = tuple(folder + os.sep for folder in folders)
        self._read: dict[str, int] | None = None
        self._written: set[str] = set()
        sys.addaudithook(self._hear)

    @contextlib.contextmanager
    def noted(self, read: dict[str, int]) -> Generator[None]:
        """Note in `read` what is read during the block, each with what `changed_at` told then."""
        self._read, self._written = read, set()
        try:
            yield
        finally:
            self._read = None

    def is_ours(self, path: str) -> bool:
        """Whether a file is the toolkit's, Python's or the system's."""
        return path.startswith(self._ours)

    def _hear(self, event: str, arguments: tuple[Any, ...]) -> None:
        read = self._read
        if read is None or event not in ("open", "os.rename"):
            return
        if event == "os.rename":  # how careful programs put a file that they have written in its place
            arguments = (arguments[1], "w", 0)
        if not isinstance(arguments[0], str | bytes | os.PathLike):
            return
        path = os.path.realpath(_source_of(os.path.abspath(os.fsdecode(arguments[0]))))
        mode, flags = arguments[1], arguments[2]
        is_write = bool(set(mode or "") & set("wax+")) or bool(flags & (os.O_WRONLY | os.O_RDWR))
        if is_write:
            self._written.add(path)
            read.pop(path, None)
        elif path not in self._written and len(read) < MOST_FILES and not self.is_ours(path):
            read.setdefault(path, changed_at(path))


def _packages() -> list[Any]:
    import panelwright.assemblies
    import panelwright.joints
    import panelwright.plates

    return [panelwright.plates, panelwright.joints, panelwright.assemblies]


def _source_of(path: str) -> str:
    """The source of a compiled module, other paths as they are."""
    if path.endswith(".pyc"):
        with contextlib.suppress(ValueError):
            return importlib.util.source_from_cache(path)
    return path
