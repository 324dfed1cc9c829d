"""A folder held against its own manifest: every file that it lists is there, and is the one that was written."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from panelwright.assemblies.output.folder import MANIFEST
from panelwright.assemblies.output.manifest import read_manifest
from panelwright.plates.errors import OutputError

__all__ = ["FolderCheck", "folder_check", "manifest_in"]


@dataclass(frozen=True, slots=True)
class FolderCheck:
    """What a folder has of what its manifest lists, by paths with "/": files right, missing, changed, and others."""

    right: tuple[str, ...]
    missing: tuple[str, ...]
    changed: tuple[str, ...]
    others: tuple[str, ...]

    @property
    def is_whole(self) -> bool:
        """Whether every file listed is there as it was written; files of others take nothing away."""
        return not self.missing and not self.changed


def manifest_in(folder: Path) -> dict[str, Any]:
    """The manifest of a folder.  Raises `OutputError` where there is none, and for one that lists no files."""
    shown = repr(str(folder))
    if not folder.is_dir():
        raise OutputError(f"there is no folder {shown}; give one that `panelwright build` wrote", value=str(folder))
    file = folder / MANIFEST
    if not file.exists():
        raise OutputError(f"{shown} holds no {MANIFEST}; give a folder that `panelwright build` wrote", value=str(folder))
    found = read_manifest(file, str(folder))
    if not isinstance(found.get("files"), dict):
        raise OutputError(f"{MANIFEST} in {shown} is no manifest of a build; give a folder that was built", value=str(folder))
    return found


def folder_check(folder: Path, manifest: Mapping[str, Any]) -> FolderCheck:
    """Every file of a folder against the SHA-256 in its manifest, which cannot vouch for itself.

    Raises `OutputError` for a file that cannot be read.
    """
    right: list[str] = []
    missing: list[str] = []
    changed: list[str] = []
    listed = {str(name): digest for name, digest in manifest["files"].items()}
    for name, digest in sorted(listed.items()):
        file = folder / name
        if not file.resolve().is_relative_to(folder.resolve()):
            raise OutputError(
                f"the manifest of {str(folder)!r} lists {name!r}, which lies outside; it is not as built", value=name
            )
        if not file.is_file():
            missing.append(name)
            continue
        try:
            found = hashlib.sha256(file.read_bytes()).hexdigest()
        except OSError as error:
            raise OutputError(f"{name} in {str(folder)!r} cannot be read: {error.strerror}", value=name) from error
        (right if found == digest else changed).append(name)
    there = {file.relative_to(folder).as_posix() for file in folder.rglob("*") if file.is_file()}
    return FolderCheck(tuple(right), tuple(missing), tuple(changed), tuple(sorted(there - listed.keys() - {MANIFEST})))
