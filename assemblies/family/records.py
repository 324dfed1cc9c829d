"""Rows on the disk as they are made: what a killed run leaves whole, and what tells a later run what is unchanged.

One file holds one row a line, appended as variants are finished.  A line that a kill cut off is no row; of several rows of one
variant the last one holds.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from panelwright.assemblies.output.folder import MANIFEST
from panelwright.assemblies.output.manifest import files_of, versions
from panelwright.assemblies.writing.replace_file import write_file
from panelwright.assemblies.writing.replace_folder import describe_os_error
from panelwright.plates.errors import OutputError

from .one_variant import PICTURES, VARIANTS, Asked
from .rows import Row

__all__ = ["Records", "Unchanged", "digest_of_run"]


class Records:
    """The rows of a family in its file; where each lies is kept, not what it says, so that memory stays small."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._places: dict[str, tuple[int, int]] = {}
        if path.exists():
            self._index()

    def _index(self) -> None:
        with self._path.open("rb") as file:
            place = 0
            for line in file:
                if line.endswith(b"\n"):
                    with contextlib.suppress(ValueError, KeyError, TypeError, IndexError):
                        self._places[_name_of(line)] = (place, len(line))
                place += len(line)

    def __contains__(self, name: str) -> bool:
        return name in self._places

    def tidy(self) -> None:
        """Write the file anew where most of its lines are of no use any more."""
        used = sum(size for _, size in self._places.values())
        if self._path.exists() and self._path.stat().st_size > 2 * used:
            with self._path.open("rb") as file:
                lines = [_at(file.fileno(), place) for place in self._places.values()]
            write_file(self._path, b"".join(lines))
            self._places.clear()
            self._index()

    def clear(self) -> None:
        """Forget all rows."""
        self._places.clear()
        self._path.write_bytes(b"")

    def add(self, row: Row) -> None:
        """Keep a row; once this returns, a kill leaves it whole.  Raises `OutputError` if the file system refuses."""
        line = _marked(row)
        try:
            with self._path.open("ab") as file:
                place = file.tell()
                if place and not self._ends_well(place):
                    file.write(b"\n")  # a run was killed while it wrote
                    place += 1
                file.write(line)
        except OSError as error:
            raise OutputError(
                f"{str(self._path)!r} could not be written: {describe_os_error(error)}; what is finished is whole, and "
                "--resume goes on from there",
                value=str(self._path),
            ) from error
        self._places[row.name] = (place, len(line))

    def _ends_well(self, size: int) -> bool:
        with self._path.open("rb") as file:
            file.seek(size - 1)
            return file.read(1) == b"\n"

    def row(self, name: str) -> Row | None:
        """The last row of a variant, None if there is none that can be read."""
        found = self._places.get(name)
        if found is None:
            return None
        with self._path.open("rb") as file:
            return _row_at(file.fileno(), found)

    def rows(self, names: Iterable[str]) -> Iterator[Row | None]:
        """The last rows of these variants, one after the other; None for one without."""
        if not self._path.exists():
            yield from (None for _ in names)
            return
        with self._path.open("rb") as file:
            for name in names:
                found = self._places.get(name)
                yield None if found is None else _row_at(file.fileno(), found)


def _marked(row: Row) -> bytes:
    """A line begins with the name, which the index reads alone."""
    return b"[" + json.dumps(row.name).encode("ascii") + b"," + row.line().rstrip("\n").encode("ascii") + b"]\n"


def _name_of(line: bytes) -> str:
    name, _ = json.JSONDecoder().raw_decode(line[1 : line.index(b',{"') if b',{"' in line else len(line)].decode("ascii"))
    if not line.startswith(b"[") or not line.endswith(b"}]\n") or not isinstance(name, str):
        raise ValueError("no row")
    return name


def _row_at(handle: int, place: tuple[int, int]) -> Row | None:
    line = _at(handle, place)
    try:
        return Row.of_line(line[line.index(b',{"') + 1 : -2])
    except (ValueError, TypeError, KeyError, IndexError):
        return None


def _at(handle: int, place: tuple[int, int]) -> bytes:
    os.lseek(handle, place[0], os.SEEK_SET)
    return os.read(handle, place[1])


class Unchanged:
    """Whether a recorded variant is still what its inputs make and lies whole on the disk; each file is looked at once."""

    def __init__(self, asked: Asked) -> None:
        self._asked = asked
        self._digests: dict[str, str] = {}

    def __call__(self, row: Row, settings: tuple[str, ...]) -> bool:
        """Whether a variant with these settings would come out as its row says."""
        if row.run != self._asked.run or row.settings != settings or not row.is_lasting or not row.inputs:
            return False
        if any(not digest or self._digest(path) != digest for path, digest in row.inputs):
            return False
        out = Path(self._asked.out)
        if row.picture and not (out / PICTURES / f"{row.name}.png").is_file():
            return False
        return not row.manifest or _is_whole(out / VARIANTS / row.name, row.manifest)

    def _digest(self, path: str) -> str:
        if path not in self._digests:
            self._digests[path] = ""
            with contextlib.suppress(OSError):
                self._digests[path] = hashlib.sha256(Path(path).read_bytes()).hexdigest()
        return self._digests[path]


def _is_whole(folder: Path, manifest: str) -> bool:
    """Whether a folder has the manifest that was written, and all files that it lists."""
    try:
        data = (folder / MANIFEST).read_bytes()
        if hashlib.sha256(data).hexdigest() != manifest:
            return False
        listed = files_of(data.decode("utf-8"))
        return listed is not None and all((folder / path).is_file() for path in listed)
    except (OSError, ValueError):
        return False


def digest_of_run(asked: Asked, *, shop_file: str | None) -> str:
    """A digest of what all rows of a run depend on beside their own files: options, versions, the toolkit's own text.

    `shop_file` is the shop file in force, None if there is none: one that appears changes all.
    """
    told = hashlib.sha256()
    options = (asked.is_check, asked.anyway, asked.shows_hardware, asked.has_pictures, asked.rules, asked.paper)
    stamp = os.environ.get("SOURCE_DATE_EPOCH")
    told.update(
        repr((Path(asked.design).name, options, stamp, shop_file, sorted(versions().items()))).encode("utf-8", "replace")
    )
    root = Path(__file__).resolve().parents[2]
    for top in ("plates", "joints", "assemblies"):
        for path in sorted((root / top).rglob("*")):
            if path.suffix in (".py", ".js", ".css", ".html", ".toml") and path.is_file():
                told.update(path.relative_to(root).as_posix().encode())
                told.update(hashlib.sha256(path.read_bytes()).digest())
    return told.hexdigest()[:16]
