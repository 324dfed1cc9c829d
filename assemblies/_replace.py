"""Replacing a folder as a whole, or not at all.

Everything is written to a new folder beside the old one.  Only when it is complete does it take the old one's place,
by two renames.  Whatever goes wrong before that, a full disk or an interrupt included, leaves the old folder as it
was and takes the new one away again.

Not guaranteed: a process killed outright, or a machine that loses power, between the two renames leaves both folders
under their temporary names.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import signal
import stat
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

from panelwright.plates.errors import OutputError

__all__ = ["carry_over", "describe_os_error", "folder_in_waiting", "one_at_a_time", "real_folder"]


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
def folder_in_waiting(target: Path, finish: Callable[[Path], None]) -> Iterator[Path]:
    """A new empty folder beside `target` to write into; when the block ends well it replaces `target`.

    `finish` is called with the new folder while other builds into the same parent wait, just before the renames: it
    may still add to the folder or raise.  Raises `OutputError` if the file system refuses; other errors pass through.
    """
    made: list[Path] = []
    fresh: Path | None = None
    try:
        with _undisturbed() as interrupted:
            made = _make_parents(target)
            fresh = _new_sibling(target, "new")
        if interrupted():
            raise KeyboardInterrupt
        yield fresh
        with one_at_a_time(target.parent):
            finish(fresh)
            if target.exists():
                shutil.copymode(target, fresh)
            _swap(fresh, target)
    except BaseException as error:
        with _undisturbed():
            if fresh is not None:
                _remove(fresh)
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


def carry_over(old: Path, fresh: Path, replaced: frozenset[str]) -> None:
    """Put everything from `old` that is not in `replaced` (paths with "/") into `fresh`, by hard links if possible.

    Raises `OutputError` if something in `fresh` stands where it would go.
    """
    for place, folders, files in os.walk(old, onerror=_raise):
        relative = Path(place).relative_to(old)
        links = [name for name in folders if Path(place, name).is_symlink()]
        for name in sorted((*files, *links)):
            if (relative / name).as_posix() not in replaced:
                _make_like(relative, old, fresh)
                if os.path.lexists(fresh / relative / name):
                    raise _in_the_way(old / relative / name)
                _link(old / relative / name, fresh / relative / name)
        if not folders and not files:
            _make_like(relative, old, fresh)


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


def _make_like(relative: Path, old: Path, fresh: Path) -> None:
    """Create a folder in `fresh` and the folders above it, with the permissions that they have in `old`."""
    for part in (*reversed(relative.parents[:-1]), relative):
        if (fresh / part).is_dir():
            continue
        if os.path.lexists(fresh / part):
            raise _in_the_way(old / part)
        (fresh / part).mkdir()
        shutil.copymode(old / part, fresh / part)


def _link(entry: Path, new: Path) -> None:
    """The same file under a second name, so that it survives either folder; a copy where that can't be."""
    if entry.is_symlink():
        new.symlink_to(os.readlink(entry))
        return
    try:
        os.link(entry, new)
    except OSError as error:
        if error.errno == errno.ENOSPC or not stat.S_ISREG(entry.stat().st_mode):
            raise
        shutil.copy2(entry, new)


def _make_parents(target: Path) -> list[Path]:
    """Create the folders above `target` that are missing; returns them, outermost first."""
    missing = [parent for parent in target.parents if not parent.exists()][::-1]
    made: list[Path] = []
    try:
        for parent in missing:
            parent.mkdir()
            made.append(parent)
    except BaseException as error:
        for parent in reversed(made):
            with contextlib.suppress(OSError):
                parent.rmdir()
        if isinstance(error, OSError):
            raise OutputError(
                f"output folder {str(target)!r} could not be written: {describe_os_error(error)}", value=str(target)
            ) from error
        raise
    return made


def _new_sibling(target: Path, what: str, *, create: bool = True) -> Path:
    for number in range(1000):
        path = target.with_name(f".{target.name[:100]}.{what}-{os.getpid()}-{number}")
        if os.path.lexists(path):
            continue
        if create:
            try:
                path.mkdir()
            except FileExistsError:
                continue
        return path
    raise OutputError(f"too many left-over folders beside {str(target)!r}; remove those named '.{target.name}.*'")


def _swap(fresh: Path, target: Path) -> None:
    """Put `fresh` in the place of `target`; interrupts wait until it is one or the other."""
    with _undisturbed() as interrupted:
        aside: Path | None = None
        stands = False
        try:
            if target.exists():
                aside = _new_sibling(target, "old", create=False)
                target.rename(aside)
            fresh.rename(target)
            stands = True
            if interrupted():
                raise KeyboardInterrupt
        except BaseException:
            if stands:
                target.rename(fresh)
            if aside is not None and aside.exists():
                aside.rename(target)
            raise
        if aside is not None and not _remove(aside):
            raise OutputError(
                f"{str(target)!r} is written, but the folder it replaced could not be removed; "
                f"remove {str(aside)!r} yourself",
                value=str(aside),
            )


def _remove(folder: Path) -> bool:
    """Remove a folder and all in it, also where a folder in it was made read-only; returns whether it is gone."""
    shutil.rmtree(folder, ignore_errors=True)
    if folder.exists():
        with contextlib.suppress(OSError):
            folder.chmod(stat.S_IRWXU)
        for place, folders, _ in os.walk(folder):
            for inner in (Path(place, name) for name in folders):
                with contextlib.suppress(OSError):
                    if not inner.is_symlink():
                        inner.chmod(stat.S_IRWXU)
        shutil.rmtree(folder, ignore_errors=True)
    return not folder.exists()


def _stands_in(target: Path) -> bool:
    try:
        here = Path.cwd()
    except OSError:
        return False
    return target == here or target in here.parents


@contextlib.contextmanager
def one_at_a_time(parent: Path) -> Iterator[None]:
    """Let no two builds exchange folders or files in the same parent at once, where the system knows such locks."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(parent, os.O_RDONLY)
    try:
        with contextlib.suppress(OSError):  # some network file systems have no locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


@contextlib.contextmanager
def _undisturbed() -> Iterator[Callable[[], bool]]:
    """Hold back Ctrl-C and a request to end for the time of the block; yields how to ask whether one came.

    An interrupt that nobody asked about is dropped: by then the work it would have stopped is done.  Signals reach the
    main thread only, so other threads need nothing.
    """
    came: list[int] = []
    if threading.current_thread() is not threading.main_thread():
        yield lambda: False
        return
    before = {
        number: signal.signal(number, lambda number, _: came.append(number))
        for number in (signal.SIGINT, signal.SIGTERM)
    }
    try:
        yield lambda: bool(came)
    finally:
        for number, handler in before.items():
            signal.signal(number, signal.SIG_DFL if handler is None else handler)
