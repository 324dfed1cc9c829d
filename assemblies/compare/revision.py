"""Files as they were at a revision: git's own archive of the tree, in a scratch folder that goes again.

Nothing of the repository is touched: no checkout is made, no index and no branch is written.
"""

from __future__ import annotations

import contextlib
import io
import os
import subprocess
import tarfile
import tempfile
from collections.abc import Generator
from pathlib import Path

from panelwright.plates.errors import DesignError

__all__ = ["at_revision", "split_revision"]


def split_revision(given: str) -> tuple[str, str | None]:
    """A path and the revision behind its "@", None if it names none; a file that is there by the whole name is no revision.

    >>> split_revision("tray.py@v1.2"), split_revision("tray.py")
    (('tray.py', 'v1.2'), ('tray.py', None))
    """
    path, at, revision = given.rpartition("@")
    # "@{1}" and "main@{yesterday}" are git's own
    if at and revision.startswith("{") and "@" in path:
        path, _, reflog = path.rpartition("@")
        revision = f"{reflog}@{revision}"
    if not at or not path or not revision or os.path.lexists(given):
        return given, None
    return path, revision


@contextlib.contextmanager
def at_revision(path: str, revision: str) -> Generator[Path]:
    """The file or folder as it was at a revision, with all of its repository round it, for the time of a `with` block.

    Raises `DesignError` if there is no git, the path lies in no repository, the revision is none, or it has nothing of that
    name.
    """
    home = Path(path).absolute()
    folder = next((parent for parent in home.parents if parent.is_dir()), home.parent)
    top = _git(folder, "rev-parse", "--show-toplevel")
    if top is None:
        raise DesignError(
            f"{path!r} is not in git, so it has no revision {revision!r}; give the file itself, or a folder built from it",
            value=path,
        )
    root = Path(top.decode("utf-8", "surrogateescape").rstrip("\n"))
    commit = _git(root, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}")
    if commit is None:
        raise DesignError(
            f"there is no revision {revision!r} in the repository of {path!r}; `git tag` and `git log --oneline` list them",
            value=revision,
        )
    inside = Path(os.path.relpath(folder.resolve() / home.relative_to(folder), root.resolve()))
    with tempfile.TemporaryDirectory(prefix="panelwright-") as scratch:
        _unpack(_archive(root, commit.decode("ascii").strip(), path, revision), Path(scratch))
        found = Path(scratch) / inside
        if not found.exists():
            raise DesignError(
                f"revision {revision!r} has no {inside.as_posix()!r}; it came later, went, or was called otherwise",
                value=inside.as_posix(),
            )
        yield found


def _git(folder: Path, *arguments: str) -> bytes | None:
    """What git prints, None if it refuses."""
    done = _run(folder, *arguments)
    return done.stdout if done.returncode == 0 else None


def _run(folder: Path, *arguments: str) -> subprocess.CompletedProcess[bytes]:
    environment = {**os.environ, "LC_ALL": "C", "GIT_OPTIONAL_LOCKS": "0"}
    try:
        return subprocess.run(
            ["git", "-C", str(folder), *arguments], capture_output=True, check=False, env=environment, stdin=subprocess.DEVNULL
        )
    except OSError as error:
        raise DesignError(
            f"a revision needs git, which cannot be started ({error.strerror}); install git", value="git"
        ) from error


def _archive(root: Path, commit: str, path: str, revision: str) -> bytes:
    done = _run(root, "archive", "--format=tar", commit)
    if done.returncode:
        why = done.stderr.decode("utf-8", "replace").strip()
        raise DesignError(f"git cannot read revision {revision!r} of {path!r}: {why}", value=revision)
    return done.stdout


def _unpack(data: bytes, scratch: Path) -> None:
    """Write the files of an archive; links that lead out of it are left out."""

    def inside(member: tarfile.TarInfo, where: str) -> tarfile.TarInfo | None:
        try:
            return tarfile.data_filter(member, where)
        except tarfile.FilterError:
            return None

    with tarfile.open(fileobj=io.BytesIO(data)) as archive:
        archive.extractall(scratch, filter=inside)
