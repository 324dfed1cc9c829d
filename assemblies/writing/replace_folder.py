"""Replacing a folder as a whole, or not at all.

Everything is written to a new folder beside the old one.  Only when it is complete does it take the old one's place: the two
are exchanged in one step where the system can do that, else by two renames.  Whatever goes wrong before that, a full disk or an
interrupt included, leaves the old folder as it was and takes the new one away again.  A process killed outright leaves the one
or the other, or, between two renames, neither: `recover` puts back what was there, which every run does first.

Not guaranteed: what a machine that loses power has on its disk.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import signal
import threading
from collections.abc import Callable, Generator
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Protocol

from panelwright.plates.errors import OutputError

from .exchange import exchange
from .locks import hold, one_at_a_time
from .recover import discard, hidden_name, link_or_copy, make_like, remove_folder

__all__ = ["Along", "carry_over", "describe_os_error", "folder_in_waiting", "real_folder"]


class Along(Protocol):
    """A change to something else that goes with the exchange of a folder: both are made, or neither.

    `folder` is locked together with the target's parent.
    """

    @property
    def folder(self) -> Path:
        """Where that something lies."""
        ...

    def prepared(self, fresh: Path, target: Path) -> AbstractContextManager[Callable[[], None]]:
        """Make all ready before `fresh` takes the place of `target`; gives what makes the change, called right after it.

        Whatever raises, here or in what is given, leaves the folder as it was.
        """
        ...


def real_folder(out: Path) -> Path:
    """The folder that a path leads to through symbolic links; it need not exist.

    Raises `OutputError` if the path leads in a circle, to something that is no folder, or to a folder that cannot be
    replaced as a whole.
    """
    try:
        target = out.resolve()
        is_there, is_folder = target.exists(), target.is_dir()
    except (OSError, RuntimeError, ValueError) as error:
        raise OutputError(f"output folder {str(out)!r} leads nowhere: {error}", value=str(out)) from error
    if is_there and not is_folder:
        raise OutputError(f"output folder {str(out)!r} is a file; give another name", value=str(out))
    if _stands_in(target):
        raise OutputError(
            f"output folder {str(out)!r} is the folder you stand in, or holds it; give a folder below it",
            value=str(out),
        )
    for parent in target.parents:
        if parent.exists():
            if not parent.is_dir():
                raise OutputError(f"output folder {str(out)!r} would lie in a file, {str(parent)!r}", value=str(out))
            places = [parent, target] if is_there else [parent]
            for place in places:
                if not os.access(place, os.R_OK | os.W_OK | os.X_OK):
                    raise OutputError(
                        f"output folder {str(out)!r} cannot be written: no right to read and write in {str(place)!r}",
                        value=str(out),
                    )
            break
    if os.path.ismount(target):
        raise OutputError(
            f"output folder {str(out)!r} is a mount point and cannot be replaced; give a folder in it", value=str(out)
        )
    return target


@contextlib.contextmanager
def folder_in_waiting(target: Path, finish: Callable[[Path], None], along: Along | None = None) -> Generator[Path]:
    """A new empty folder beside `target` to write into; when the block ends well it replaces `target`.

    `finish` is called with the new folder while other builds into the same parent wait, just before the exchange: it
    may still add to the folder or raise.  `along` is a change that is made with it.  Raises `OutputError` if the file system
    refuses; other errors pass through.
    """
    made: list[Path] = []
    fresh: Path | None = None
    held: int | None = None
    try:
        with _undisturbed() as interrupted:
            made = _make_parents(target)
            fresh, held = _new_sibling(target)
        if interrupted():
            raise KeyboardInterrupt
        yield fresh
        with one_at_a_time(target.parent, *([] if along is None else [along.folder])):
            finish(fresh)
            if target.exists():
                shutil.copymode(target, fresh)
            with contextlib.nullcontext(_nothing) if along is None else along.prepared(fresh, target) as change:
                _swap(fresh, target, change)
    except BaseException as error:  # Ctrl-C too: nothing half made may stay
        with _undisturbed():
            if fresh is not None:
                remove_folder(fresh)
            for parent in reversed(made):
                with contextlib.suppress(OSError):
                    parent.rmdir()
        if isinstance(error, OSError) and not isinstance(error, OutputError):
            raise OutputError(
                f"output folder {str(target)!r} could not be written: {describe_os_error(error)}; "
                "what was there before is untouched",
                value=str(target),
            ) from error
        raise
    finally:
        if held is not None:
            os.close(held)


def _nothing() -> None:
    """No change goes along."""


def carry_over(old: Path, fresh: Path, replaced: frozenset[str]) -> None:
    """Put everything from `old` that is not in `replaced` (paths with "/") into `fresh`, by hard links if possible.

    Raises `OutputError` if something in `fresh` stands where it would go.
    """
    for place, folders, files in os.walk(old, onerror=_raise):
        relative = Path(place).relative_to(old)
        links = [name for name in folders if Path(place, name).is_symlink()]
        for name in sorted((*files, *links)):
            if (relative / name).as_posix() not in replaced:
                if not make_like(relative, old, fresh) or os.path.lexists(fresh / relative / name):
                    raise _in_the_way(old / relative / name)
                link_or_copy(old / relative / name, fresh / relative / name)
        if not folders and not files and not make_like(relative, old, fresh):
            raise _in_the_way(old / relative)


def describe_os_error(error: OSError) -> str:
    """Why the file system refused, in words.

    >>> describe_os_error(OSError(errno.ENOSPC, "No space left on device"))
    'the disk is full'
    """
    words = {
        errno.ENOSPC: "the disk is full",
        errno.EDQUOT: "the disk quota is used up",
        errno.EROFS: "the disk is read-only",
        errno.EACCES: "no right to write there",
        errno.EPERM: "no right to write there",
        errno.EBUSY: "it is in use, or a mount point",
        errno.ENAMETOOLONG: "a name is too long",
    }
    return words.get(error.errno or 0, error.strerror or str(error) or type(error).__name__)


def _in_the_way(entry: Path) -> OutputError:
    return OutputError(
        f"{str(entry)!r} was not written by an earlier build and would be replaced; move or rename it",
        value=str(entry),
    )


def _raise(error: OSError) -> None:
    raise error


def _make_parents(target: Path) -> list[Path]:
    """Create the folders above `target` that are missing; returns them, outermost first."""
    missing = [parent for parent in target.parents if not parent.exists()][::-1]
    made: list[Path] = []
    try:
        for parent in missing:
            parent.mkdir()
            made.append(parent)
    except BaseException as error:  # Ctrl-C too: nothing half made may stay
        for parent in reversed(made):
            with contextlib.suppress(OSError):
                parent.rmdir()
        if isinstance(error, OSError):
            raise OutputError(
                f"output folder {str(target)!r} could not be written: {describe_os_error(error)}", value=str(target)
            ) from error
        raise
    return made


def _new_sibling(target: Path) -> tuple[Path, int | None]:
    """A new folder beside another one, and the handle that tells other runs that somebody writes in it."""
    for number in range(1000):
        path = target.with_name(hidden_name(target, "new", number))
        with contextlib.suppress(FileExistsError):
            path.mkdir()
            return path, hold(path)
    raise OutputError(f"too many left-over folders beside {str(target)!r}; remove those named '.{target.name}.*'")


def _swap(fresh: Path, target: Path, change: Callable[[], None]) -> None:
    """Put `fresh` in the place of `target` and make the change; interrupts wait until both are done or neither."""
    with _undisturbed() as interrupted:
        put_back, old = _put_in_place(fresh, target)
        try:
            if interrupted():
                raise KeyboardInterrupt
            change()
        except BaseException:  # Ctrl-C too: nothing half made may stay
            put_back()
            raise
        if old is not None and not discard(old, target):
            raise OutputError(
                f"{str(target)!r} is written, but the folder it replaced could not be removed; "
                f"remove '.{target.name}.gone-…' beside it yourself",
                value=str(target),
            )


def _put_in_place(fresh: Path, target: Path) -> tuple[Callable[[], object], Path | None]:
    """Exchange the folders; gives how to undo that, and where the old one is now."""
    if not target.exists():
        fresh.rename(target)
        return lambda: target.rename(fresh), None
    if exchange(fresh, target):
        return lambda: exchange(fresh, target), fresh
    aside = _aside(target)
    target.rename(aside)
    try:
        fresh.rename(target)
    except BaseException:  # Ctrl-C too: nothing half made may stay
        aside.rename(target)
        raise

    def put_back() -> None:
        target.rename(fresh)
        aside.rename(target)

    return put_back, aside


def _aside(target: Path) -> Path:
    """A name beside the target that nothing has."""
    for number in range(1000):
        path = target.with_name(hidden_name(target, "old", number))
        if not os.path.lexists(path):
            return path
    raise OutputError(f"too many left-over folders beside {str(target)!r}; remove those named '.{target.name}.*'")


def _stands_in(target: Path) -> bool:
    try:
        here = Path.cwd()
    except OSError:
        return False
    return target == here or target in here.parents


@contextlib.contextmanager
def _undisturbed() -> Generator[Callable[[], bool]]:
    """Hold back Ctrl-C and a request to end for the time of the block; yields how to ask whether one came.

    An interrupt that nobody asked about is dropped: by then the work it would have stopped is done.  Signals reach the
    main thread only, so other threads need nothing.
    """
    came: list[int] = []
    if threading.current_thread() is not threading.main_thread():
        yield lambda: False
        return
    before = {
        number: signal.signal(number, lambda number, _: came.append(number)) for number in (signal.SIGINT, signal.SIGTERM)
    }
    try:
        yield lambda: bool(came)
    finally:
        for number, handler in before.items():
            signal.signal(number, signal.SIG_DFL if handler is None else handler)
