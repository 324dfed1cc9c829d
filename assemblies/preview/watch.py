"""Which saves ask for a new build: of the files that the last builds read, and of new Python files after one that failed."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterable
from pathlib import Path

__all__ = ["Watch"]

DEBOUNCE_MS = 40
"""Changes that come within this time count as one: editors save in several steps."""


class Watch:
    """The files to look at.  Folders are watched rather than files, since many editors replace a file by another one."""

    def __init__(self, design: Path) -> None:
        self._design = design.resolve()
        self._files: set[str] = {str(self._design)}
        self._after_failure = False
        self._changed = asyncio.Event()

    def look_at(self, files: Iterable[str], *, failed: bool) -> None:
        """Look at these files from now on, and at the design in any case; after a failure at new neighbours too.

        A build that failed may not have come as far as reading all files, so those of the ones before stay.
        """
        fresh = {str(Path(path).resolve()) for path in files} | {str(self._design)}
        before = self._folders()
        self._files = self._files | fresh if failed else fresh
        self._after_failure = failed
        if self._folders() != before:
            self._changed.set()

    def matters(self, path: str) -> bool:
        """Whether a change of that file asks for a new build."""
        if str(Path(path).resolve()) in self._files:
            return True
        return self._after_failure and path.endswith((".py", ".toml")) and Path(path).parent == self._design.parent

    def _folders(self) -> set[str]:
        return {str(Path(path).parent) for path in self._files if Path(path).parent.is_dir()}

    async def changes(self) -> AsyncIterator[set[str]]:
        """Sets of files that have changed and matter, for ever."""
        from watchfiles import awatch

        while True:
            self._changed.clear()
            folders = sorted(self._folders())
            if not folders:  # the design's own folder is gone; it may come back
                await asyncio.sleep(1)
                continue
            async for found in awatch(
                *folders,
                watch_filter=lambda _, path: self.matters(path),
                debounce=DEBOUNCE_MS,
                step=10,
                recursive=False,
                stop_event=self._changed,
                raise_interrupt=False,
            ):
                yield {path for _, path in found}
            if not self._changed.is_set():
                return
