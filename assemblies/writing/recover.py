"""What runs that were killed have left beside a file or folder: found by its name, put back or cleared away at the next run.

While something is written it has a hidden name beside its target, `.NAME.new-PROCESS-NUMBER`.  The folder that it replaces is
called `.NAME.old-…` for as long as two renames take, where the system cannot exchange folders at once, and `.NAME.gone-…` once
all that is in it may go.
"""

from __future__ import annotations

import contextlib
import filecmp
import hashlib
import os
import re
import shutil
import stat
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Literal, get_args

from .locks import abandoned, one_at_a_time

__all__ = ["clear_files", "discard", "hidden_name", "link_or_copy", "make_like", "recover", "recover_locked", "remove_folder"]

Kind = Literal["new", "old", "gone"]

LONGEST = 100
"""Longest name that is part of a hidden one as it is: what is added must not make it too long for a file system (255 bytes)."""


def hidden_name(target: Path, kind: Kind, number: int) -> str:
    """The name beside `target` of what this process writes, or puts aside.

    >>> hidden_name(Path("out"), "new", 0) == f".out.new-{os.getpid()}-0"
    True
    """
    return f"{_stem(target)}.{kind}-{os.getpid()}-{number}"


def recover(target: Path, ours: Callable[[Path], frozenset[str] | None]) -> tuple[str, ...]:
    """Put right what runs that were killed have left beside an output folder, and say what was done, if it is worth saying.

    A folder that was put aside and never replaced comes back.  Unfinished folders and old ones go, but for files that the
    toolkit did not write: those come to `target` if they are missing there.  `ours` tells which files of a folder an earlier
    run listed, None if it has no list.  Nothing is done to what a run that goes on is writing.
    """
    if not target.parent.is_dir():
        return ()
    if not any(_leftovers(target, kind) for kind in get_args(Kind)):
        return ()
    with one_at_a_time(target.parent):
        return recover_locked(target, ours)


def recover_locked(target: Path, ours: Callable[[Path], frozenset[str] | None]) -> tuple[str, ...]:
    """The same for whoever holds the lock of the folder that `target` lies in already."""
    said: list[str] = []
    # whoever exchanges folders has this lock, so what is aside now was left there
    for folder in _leftovers(target, "gone"):
        remove_folder(folder)
    aside = sorted(_leftovers(target, "old"), key=lambda path: path.stat().st_mtime_ns)
    if aside and not target.exists():
        aside.pop().rename(target)
        said.append(f"a run was killed while it replaced {str(target)!r}; what was there before is back")
    for folder in aside:
        said += _cleared(folder, target, ours(folder))
    for folder in _leftovers(target, "new"):
        with abandoned(folder) as nobodys:
            if nobodys:
                said += _cleared(folder, target, ours(folder) or frozenset(_files(folder)))
    return tuple(said)


def clear_files(target: Path) -> None:
    """Take away unfinished files that runs which were killed have left beside a file."""
    for path in _hidden(target, "new"):
        with abandoned(path) as nobodys, contextlib.suppress(OSError):
            if nobodys and stat.S_ISREG(path.lstat().st_mode):
                path.unlink()


def discard(folder: Path, target: Path) -> bool:
    """Remove a folder beside `target` of which nothing is wanted any more; whether it is gone.

    It gets a name first that tells other runs to finish this, should this one be killed.
    """
    for number in range(1000):
        gone = target.with_name(hidden_name(target, "gone", number))
        if not os.path.lexists(gone):
            folder.rename(gone)
            return remove_folder(gone)
    return remove_folder(folder)


def remove_folder(folder: Path) -> bool:
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


def make_like(relative: Path, old: Path, fresh: Path) -> bool:
    """Create a folder in `fresh` and those above it, with the permissions that they have in `old`; False if a file is there."""
    for part in (*reversed(relative.parents[:-1]), relative):
        if (fresh / part).is_dir():
            continue
        if os.path.lexists(fresh / part):
            return False
        (fresh / part).mkdir()
        shutil.copymode(old / part, fresh / part)
    return True


def link_or_copy(entry: Path, new: Path) -> None:
    """The same file under a second name, so that it survives either folder; a copy where that can't be."""
    import errno

    if entry.is_symlink():
        new.symlink_to(os.readlink(entry))
        return
    try:
        os.link(entry, new)
    except OSError as error:
        if error.errno == errno.ENOSPC or not stat.S_ISREG(entry.stat().st_mode):
            raise
        shutil.copy2(entry, new)


def _cleared(folder: Path, target: Path, listed: frozenset[str] | None) -> list[str]:
    """Remove a leftover once the user's own files in it are in `target`; words if that could not be."""
    stuck = [name for name in _files(folder) if name not in (listed or ()) and not _kept(folder, target, name)]
    if stuck or not discard(folder, target):
        why = f"holds {stuck[0]!r}, which {str(target)!r} does not hold as it is there" if stuck else "cannot be removed"
        return [f"{str(folder)!r} was left by a run that was killed and {why}; look at it and remove it yourself"]
    return []


def _kept(folder: Path, target: Path, name: str) -> bool:
    """Whether a file of the user's lies in `target` as well, after it was put there if it was missing."""
    mine, there = folder / name, target / name
    try:
        if not os.path.lexists(there):
            if not target.is_dir() or not make_like(Path(name).parent, folder, target):
                return False
            link_or_copy(mine, there)
        if mine.is_symlink() or there.is_symlink():
            return mine.is_symlink() and there.is_symlink() and os.readlink(mine) == os.readlink(there)
        return mine.samefile(there) or filecmp.cmp(mine, there, shallow=False)
    except OSError:
        return False


def _files(folder: Path) -> Iterator[str]:
    """Everything in a folder that is no folder, as paths with "/"."""
    for place, folders, files in os.walk(folder):
        links = [name for name in folders if Path(place, name).is_symlink()]
        for name in sorted((*files, *links)):
            yield (Path(place).relative_to(folder) / name).as_posix()


def _leftovers(target: Path, kind: Kind) -> list[Path]:
    return [path for path in _hidden(target, kind) if path.is_dir() and not path.is_symlink()]


def _hidden(target: Path, kind: Kind) -> list[Path]:
    pattern = re.compile(rf"{re.escape(_stem(target))}\.{kind}-\d+-\d+")
    try:
        return sorted(path for path in target.parent.iterdir() if pattern.fullmatch(path.name))
    except OSError:
        return []


def _stem(target: Path) -> str:
    """What hidden names begin with: the name itself, or if it is long, enough of it and a mark that no other name has."""
    name = target.name
    if len(os.fsencode(name)) > LONGEST:
        name = f"{name[:20]}-{hashlib.sha256(os.fsencode(name)).hexdigest()[:16]}"
    return f".{name}"
