"""The work of `panelwright verify`: hold a folder against its manifest, and build it again elsewhere to compare."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from panelwright.assemblies.console.outcome import FINE, FOUND_ERRORS, Outcome
from panelwright.assemblies.console.shared_options import Chosen
from panelwright.assemblies.data.verdict import counted

if TYPE_CHECKING:
    from panelwright.assemblies.verifying.folder_check import FolderCheck
    from panelwright.assemblies.verifying.rebuild_check import RebuildCheck

__all__ = ["run_verify"]

MOST = 12
"""Files of one kind that are named; more are counted."""


def run_verify(chosen: Chosen) -> Outcome:
    """Whether the folder is whole, and with `--rebuild` whether the same comes out again; exit code 1 if not."""
    from panelwright.assemblies.verifying.folder_check import folder_check, manifest_in

    folder = Path(chosen.folder)
    manifest = manifest_in(folder)
    found = folder_check(folder, manifest)
    again = None if chosen.rebuild is None else _rebuilt(chosen, manifest)
    is_fine = found.is_whole and (again is None or again.is_identical)
    code = FINE if is_fine else FOUND_ERRORS
    return Outcome.of(_entries(chosen, is_fine, found, again), _told(chosen, found, again), as_json=chosen.json, code=code)


def _rebuilt(chosen: Chosen, manifest: dict[str, Any]) -> RebuildCheck:
    """Build the design with the parameters that the manifest tells, in a folder that goes again.

    Raises what building it raises, and `DesignError` where it fails its proof now.
    """
    from panelwright.assemblies.verifying.folder_check import manifest_in
    from panelwright.assemblies.verifying.rebuild_check import rebuild_check, settings_of
    from panelwright.plates.errors import DesignError

    from .make_command import make

    with tempfile.TemporaryDirectory(prefix="panelwright-verify-") as scratch:
        out = str(Path(scratch, "out"))
        given = {key: value for key, value in vars(chosen).items() if key not in ("folder", "rebuild", "json")}
        build = Chosen(
            **given,
            command="build",
            design=chosen.rebuild,
            settings=settings_of(manifest),
            out=out,
            update_shop=False,
            again=False,
            book_stopped=False,
        )
        made = make(build)
        if made.out is None:
            errors = made.product.errors if made.product is not None else ()
            raise DesignError(
                f"{chosen.rebuild} does not pass its proof now: {errors[0] if errors else 'see check'}; "
                "give --anyway if the folder was built so"
            )
        return rebuild_check(manifest, manifest_in(Path(out)))


def _entries(chosen: Chosen, is_fine: bool, found: FolderCheck, again: RebuildCheck | None) -> dict[str, Any]:
    from panelwright.assemblies.product.json_documents import document

    rebuilt = None
    if again is not None:
        rebuilt = {
            "differ": list(again.differ),
            "inputs": list(again.inputs),
            "is_identical": again.is_identical,
            "only_now": list(again.only_now),
            "only_then": list(again.only_then),
        }
    entries = {
        "changed": list(found.changed),
        "folder": chosen.folder,
        "missing": list(found.missing),
        "ok": is_fine,
        "others": list(found.others),
        "rebuilt": rebuilt,
        "right": len(found.right),
    }
    return document("panelwright.verification", entries)


def _told(chosen: Chosen, found: FolderCheck, again: RebuildCheck | None) -> list[str]:
    lines = [f"{chosen.folder}: {counted(len(found.right), 'file')} as written"]
    lines += _listed("missing", found.missing) + _listed("changed since", found.changed)
    lines += _listed("not of this build, and left alone", found.others)
    if again is None:
        said = "the folder is what its manifest says" if found.is_whole else "the folder is not what its manifest says"
        return [*lines, "", f"{said}; not looked at: whether the design still gives this (--rebuild DESIGN.py)"]
    inputs = [f"input: {one}" for one in again.inputs]
    if again.is_identical and found.is_whole:
        return [*lines, "", *inputs, f"{chosen.rebuild} gives the same files, to the byte"]
    lines += _listed("comes out otherwise", again.differ)
    lines += _listed("does not come out any more", again.only_then) + _listed("is new", again.only_now)
    lines += ["", *inputs]
    if not again.is_identical and not again.inputs:
        lines.append("input: none of those recorded; sheets hang on the options given to build and on what the shop had then")
    what = "gives the same files, but the folder is not what its manifest says" if again.is_identical else "gives other files"
    return [*lines, f"{chosen.rebuild} {what}"]


def _listed(what: str, names: tuple[str, ...]) -> list[str]:
    more = [f"  {what}: {len(names) - MOST} more"] if len(names) > MOST else []
    return [*(f"  {what}: {name}" for name in names[:MOST]), *more]
